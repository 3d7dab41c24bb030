"""Witness cones read level by level, and one next change."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from wareboard.errors import NotInTable, OutOfRange
from wareboard.kiln.cone import equivalent
from wareboard.kiln.log import FiringLog
from wareboard.kiln.log_review import review
from wareboard.kiln.schedule import glaze_schedule
from wareboard.kiln.thermal import BRICK_23, KilnModel, Layer, simulate
from wareboard.kiln.witness import ConePack, drifts, lean_from_clock, position_at_c, read_pack, review_packs, trend
from wareboard.working import worked_out


def pack_of_a_ramp(level: str, peak_c: float, cones: tuple[str, ...] = ("5", "6", "7")) -> ConePack:
    """What a pack shows after 60 °C/h to a peak, by the heat work of the ramp."""
    felt = equivalent([0.0, (peak_c - 20.0) * 60.0], [20.0, peak_c])
    return ConePack(level, {cone: felt.bend(cone) for cone in cones})


def test_half_a_cone_under_six_is_eighteen_degrees_and_half_a_cone_over_eight_and_a_half() -> None:
    """Large cones at 60 °C/h, printed 1184, 1220 and 1237 °C (kiln-s4)."""
    assert position_at_c(1220.0 - 18.0, form="large") == pytest.approx(5.5)
    assert position_at_c(1220.0 + 8.5, form="large") == pytest.approx(6.5)


def test_a_cone_at_its_end_point_is_that_cone() -> None:
    """End point: a bend of 90°, six o'clock (kiln-s24); just short of it the cone still tells, beside a standing guard."""
    seen = read_pack(ConePack("middle", {"5": 90.0, "6": 86.0, "7": 8.0}))
    assert seen.temp_c == pytest.approx(1222.0, abs=3.0)
    assert seen.position == pytest.approx(6.0, abs=0.15)
    assert seen.low < 6.0 < seen.high
    assert seen.words in {"middle: cone 6", "middle: cone 6 -0.1"}
    assert (seen.bound, seen.told_by) == ("", "6 at 86°")


@given(st.floats(1206.0, 1235.0))
def test_a_pack_is_read_back_as_the_ramp_that_bent_it(peak_c: float) -> None:
    seen = read_pack(pack_of_a_ramp("middle", peak_c))
    assert seen.low_c <= peak_c <= seen.high_c
    assert seen.temp_c == pytest.approx(peak_c, abs=8.0)


def test_a_flat_guide_and_a_standing_target_lie_between() -> None:
    seen = read_pack(ConePack("bottom", {"5": 90.0, "6": 8.0, "7": 8.0}))
    assert 5.0 < seen.position < 6.0
    assert seen.bound == ""
    assert 1186.0 <= seen.temp_c <= 1222.0 - 19.0


def test_cones_that_all_lie_or_all_stand_only_bound_the_level() -> None:
    over, under = ConePack("top", {"5": 90.0, "6": 90.0, "7": 90.0}), ConePack("bottom", {"5": 8.0, "6": 8.0})
    assert read_pack(over).words == "top: at least cone 7"
    assert read_pack(under).bound == "at most"
    assert read_pack(under).temp_c < 1186.0


def test_a_clock_face_runs_from_upright_to_six() -> None:
    """Six o'clock is the end point, a bend of 90° (kiln-s24)."""
    assert (lean_from_clock(12.0), lean_from_clock(0.0), lean_from_clock(6.0)) == (8.0, 8.0, 90.0)
    assert lean_from_clock(3.0) == pytest.approx(49.0)
    by_eye = ConePack.by_clock_face("top", {"5": 6, "6": 4, "7": 12})
    with_template = ConePack("top", dict(by_eye.leans_deg))
    eye, template = read_pack(by_eye), read_pack(with_template)
    assert eye.temp_c == template.temp_c
    assert eye.high_c - eye.low_c > template.high_c - template.low_c
    with pytest.raises(OutOfRange, match="7 o'clock"):
        lean_from_clock(7.0)


def test_an_even_kiln_on_target_is_left_alone() -> None:
    seen = review_packs([pack_of_a_ramp(level, 1221.0) for level in ("bottom", "middle", "top")], "6")
    assert seen.advice.change == "Change nothing"
    assert seen.uneven_c == pytest.approx(0.0, abs=0.1)
    assert seen.off_c == pytest.approx(-1.0, abs=5.0)


def test_one_pack_alone_does_not_tell_that_the_kiln_is_even() -> None:
    """Common practice: a pack stands on every level."""
    seen = review_packs([pack_of_a_ramp("bottom", 1222.0)], "6")
    assert seen.advice.change == "Stand a pack on every level"
    assert "one pack" in seen.advice.why


def test_a_cold_bottom_is_opened_up_before_the_end_point_is_touched() -> None:
    """Arithmetic on what was put in: 1231 less 1204 °C is 27."""
    seen = review_packs([pack_of_a_ramp("bottom", 1204.0), pack_of_a_ramp("top", 1231.0)], "6")
    assert "bottom" in seen.advice.change
    assert seen.advice.by_c == 0.0
    # Cone 6 has only just not moved on the bottom, so that level is known to some 9 °C and no better.
    assert seen.uneven_c == pytest.approx(27.0, abs=12.0)
    assert seen.uneven_c_low < 27.0 < seen.uneven_c_high
    assert 0.5 < seen.uneven_cones < 1.7


def test_levels_equally_off_are_a_matter_of_calibration() -> None:
    """Arithmetic on what was put in: the chart's 1222 °C for cone 6 at 60 °C/h less 1208 is 14."""
    seen = review_packs([pack_of_a_ramp(level, 1208.0) for level in ("bottom", "middle", "top")], "6")
    assert seen.advice.change.startswith("Raise the end")
    assert seen.advice.by_c == pytest.approx(14.0, abs=6.0)
    hot = review_packs([pack_of_a_ramp(level, 1233.0) for level in ("bottom", "top")], "6")
    assert hot.advice.change.startswith("Lower the end")


def test_a_pack_that_no_longer_measures_is_mended_first() -> None:
    flat = ConePack("top", {"5": 90.0, "6": 90.0})
    seen = review_packs([pack_of_a_ramp("bottom", 1204.0), flat], "6")
    assert seen.advice.change == "Set a guard of cone 7 or harder on top"
    standing = ConePack("bottom", {"6": 8.0, "7": 8.0})
    assert "softer guide" in review_packs([standing], "6").advice.change


def test_only_one_change_is_ever_given() -> None:
    both = review_packs([pack_of_a_ramp("bottom", 1204.0), pack_of_a_ramp("top", 1236.0)], "5")
    assert both.advice.change.count(":") <= 1
    assert "offset" not in both.advice.change


def test_the_working_works_out() -> None:
    seen = review_packs([pack_of_a_ramp(level, peak) for level, peak in (("bottom", 1210.0), ("top", 1228.0))], "6")
    worked = [step for step in seen.steps if step.formula]
    assert len(worked) == 2
    for step in worked:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, abs=1e-9)
    one = review_packs([pack_of_a_ramp("middle", 1210.0)], "6")
    assert all(worked_out(step.formula, step.inputs) == pytest.approx(step.value) for step in one.steps if step.formula)


def test_a_drift_is_told_only_where_it_can_be_seen() -> None:
    """Against scipy's Theil-Sen slope, an independent estimator."""
    rng = np.random.default_rng(3)
    drifting = 1.2 * np.arange(12) + rng.normal(0.0, 2.0, 12)
    steady = rng.normal(0.0, 4.0, 8)
    seen = trend(list(drifting), "offset")
    assert seen.low < 1.2 < seen.high
    assert seen.per_firing == pytest.approx(float(theilslopes(drifting)[0]), abs=0.3)
    assert "rising by" in seen.words
    assert "no drift" in trend(list(steady), "offset").words
    with pytest.raises(OutOfRange, match="at least three"):
        trend([1.0, 2.0], "offset")


def test_calibration_and_evenness_drift_apart() -> None:
    """A thermocouple that reads higher every firing lowers all levels together and leaves the kiln as even as it was."""
    firings = [
        review_packs([pack_of_a_ramp("bottom", peak), pack_of_a_ramp("top", peak + 4.0)], "6")
        for peak in (1230.0, 1227.0, 1223.5, 1221.0, 1218.0, 1214.5)
    ]
    off, uneven = drifts(firings)
    assert off.per_firing == pytest.approx(-3.1, abs=1.0)
    assert off.words.startswith("mean of the levels less the target: falling by")
    assert abs(uneven.per_firing) < 1.0


def test_hours_over_the_last_hundred_degrees_tell_of_wear() -> None:
    """An invented kiln whose elements wear by 3 % a firing takes ever longer over the last 100 °C."""
    kiln = KilnModel(8.0, (Layer(BRICK_23, 64.0),), 2.2, 30.0, 25.0)
    glaze = glaze_schedule("6")
    hours = []
    for firing in range(5):
        fired = simulate(replace(kiln, wear=0.03 * firing), glaze, cool_to_c=1100.0)
        log = FiringLog(fired.times_s, fired.chamber_c, ("model",), "0", range(len(fired.times_s)), ())
        hours.append(review(log, glaze).last_100_h)
    assert hours == sorted(hours)
    assert "rising by" in trend(hours, "hours over the last 100 °C", "h").words
    assert "h a firing" in trend(hours, "hours over the last 100 °C", "h").words


def test_the_range_of_a_trend_holds_the_true_drift_nine_times_in_ten() -> None:
    """400 invented sets of six firings from a fixed seed: coverage of the 90 % range, to three standard errors."""
    rng = np.random.default_rng(11)
    within = 0
    for _ in range(400):
        seen = trend(list(0.5 * np.arange(6) + rng.normal(0.0, 3.0, 6)), "offset")
        within += seen.low < 0.5 < seen.high
    assert within / 400 == pytest.approx(0.9, abs=0.045)


def test_swapped_cones_and_odd_leans_are_refused() -> None:
    with pytest.raises(OutOfRange, match="swapped"):
        read_pack(ConePack("top", {"5": 20.0, "6": 80.0}))
    with pytest.raises(OutOfRange, match="200"):
        ConePack("top", {"6": 200.0})
    with pytest.raises(OutOfRange, match="no cone"):
        ConePack("top", {})
    with pytest.raises(NotInTable, match="99"):
        ConePack("top", {"99": 40.0})
    with pytest.raises(OutOfRange, match="there are none"):
        review_packs([], "6")
