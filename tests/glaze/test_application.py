"""Pick-up, thickness and how far the bucket reaches.

Growth with the square root of dwell: filter-cake law, 2 s to 4 s is 1.414 (from memory). Thickness: J. Sankey, a 2 s dip
laid 0.41 mm raw and 0.20 mm fired; with a fired density of 2.4 and 10 % loss that is 0.053 g/cm2 and a raw bulk density
of about 1.3 (arithmetic). Regression and its intervals: against scipy.stats.linregress and the textbook formula for the
prediction interval of a straight line.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from wareboard.errors import OutOfRange
from wareboard.glaze.application import Weighing, fit_pick_up, picked_up, reach, thickness
from wareboard.working import Estimate, worked_out

DWELLS = [1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 2.0, 3.0]


def _invented(exponent: float, scatter: float = 0.06, seed: int = 3) -> list[Weighing]:
    rng = np.random.default_rng(seed)
    return [Weighing(t, 0.037 * t**exponent * math.exp(scatter * rng.standard_normal())) for t in DWELLS]


def test_a_piece_weighed_before_and_after_gives_its_pick_up() -> None:
    assert picked_up(210.0, 224.6, 27600) == pytest.approx(14.6 / 276)
    with pytest.raises(OutOfRange, match="heavier"):
        picked_up(210, 209, 27600)


def test_the_fitted_power_meets_ordinary_regression_on_logarithms() -> None:
    weighings = _invented(0.45)
    found = fit_pick_up(weighings, exponent=None)
    line = stats.linregress(np.log(DWELLS), np.log([one.dry_g_per_cm2 for one in weighings]))
    assert found.exponent == pytest.approx(line.slope)
    assert found.coefficients[0] == pytest.approx(line.intercept)
    assert math.sqrt(found.covariance[1][1]) == pytest.approx(line.stderr)


def test_the_range_is_the_textbook_prediction_interval() -> None:
    weighings = _invented(0.5)
    found = fit_pick_up(weighings, exponent=None)
    x, y = np.log(DWELLS), np.log([one.dry_g_per_cm2 for one in weighings])
    line = stats.linregress(x, y)
    left = y - line.intercept - line.slope * x
    n, at = len(x), math.log(2.5)
    s = math.sqrt(left @ left / (n - 2))
    off = s * math.sqrt(1 + 1 / n + (at - x.mean()) ** 2 / ((x - x.mean()) @ (x - x.mean())))
    told = found.pick_up_g_per_cm2(2.5)
    centre = line.intercept + line.slope * at
    assert told.value == pytest.approx(math.exp(centre))
    assert told.high == pytest.approx(math.exp(centre + stats.t.ppf(0.95, n - 2) * off))
    assert told.low == pytest.approx(math.exp(centre - stats.t.ppf(0.95, n - 2) * off))


def test_twice_the_dwell_lays_1_414_times_as_much() -> None:
    """Closed form: sqrt(4 / 2) is 1.414 by the filter-cake law, from memory."""
    found = fit_pick_up(_invented(0.5))
    assert found.pick_up_g_per_cm2(4).value / found.pick_up_g_per_cm2(2).value == pytest.approx(1.414, abs=5e-4)


def test_the_dwell_for_a_pick_up_goes_there_and_back() -> None:
    found = fit_pick_up(_invented(0.5))
    assert found.dwell_s(found.pick_up_g_per_cm2(2.7).value) == pytest.approx(2.7)


def test_density_and_absorption_count_only_where_the_weighings_differ_in_them() -> None:
    plain = fit_pick_up(_invented(0.5))
    assert plain.terms == ("whole",)
    assert len(plain.notes) == 2
    rng = np.random.default_rng(5)
    varied = [
        Weighing(t, 0.05 * t**0.5 * (gravity - 1) / 0.45 * soak / 0.15, gravity, 2.6, soak)
        for t, gravity, soak in zip(
            DWELLS, rng.uniform(1.40, 1.55, len(DWELLS)), rng.uniform(0.10, 0.20, len(DWELLS)), strict=True
        )
    ]
    found = fit_pick_up(varied)
    assert found.terms == ("whole", "solids", "absorption")
    by_name = dict(zip(found.terms, found.coefficients, strict=True))
    assert by_name["absorption"] == pytest.approx(1.0, abs=0.05)
    thin = found.pick_up_g_per_cm2(3, 1.42, absorption_share=0.15).value
    thick = found.pick_up_g_per_cm2(3, 1.50, absorption_share=0.15).value
    assert thick / thin == pytest.approx(0.50 / 0.42, rel=0.02)


def test_nine_pieces_in_ten_fall_in_the_range() -> None:
    """Simulation with known scatter, seed fixed: 400 fits of eight weighings, one more piece each."""
    rng, inside = np.random.default_rng(11), 0
    for _ in range(400):
        made = [Weighing(t, 0.037 * math.sqrt(t) * math.exp(0.08 * rng.standard_normal())) for t in DWELLS]
        told = fit_pick_up(made).pick_up_g_per_cm2(3)
        inside += told.low <= 0.037 * math.sqrt(3) * math.exp(0.08 * rng.standard_normal()) <= told.high
    assert 0.86 <= inside / 400 <= 0.94


def test_too_few_weighings_and_far_dwells_are_refused() -> None:
    with pytest.raises(OutOfRange, match="Weigh more"):
        fit_pick_up([Weighing(2, 0.05), Weighing(3, 0.06)])
    with pytest.raises(OutOfRange, match="run from 1 to 6 s"):
        fit_pick_up(_invented(0.5)).pick_up_g_per_cm2(20)
    with pytest.raises(OutOfRange, match="pick-up"):
        fit_pick_up([Weighing(2, 0.0), Weighing(3, 0.06), Weighing(3, 0.06)])
    same = [
        Weighing(1.0 + k, 0.05, 1.40 + 0.01 * k, 2.6, 0.10 * (Weighing(1, 1, 1.40 + 0.01 * k).dry_to_water))
        for k in range(6)
    ]
    with pytest.raises(OutOfRange, match="told apart"):
        fit_pick_up(same)


def test_the_layer_meets_the_measured_pair() -> None:
    """J. Sankey: a 2 s dip laid 0.41 mm raw and 0.20 mm fired."""
    found = thickness(Estimate(0.053, 0.040, 0.090, "sankey"), dry_g_per_ml=0.73125)
    assert found.raw_mm == pytest.approx(0.41, abs=0.005)
    assert found.fired_mm == pytest.approx(0.20, abs=0.005)
    assert found.wet_mm > found.raw_mm > found.fired_mm
    for step in found.steps:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
        assert step.low is not None
        assert step.high is not None
        assert step.low < step.value < step.high


def test_after_five_pieces_the_bucket_says_how_many_more() -> None:
    """By hand: (5000 - 700) / 99 = 43.4."""
    found = reach(5000, [95, 102, 98, 110, 90], dead_g=700)
    assert found.more == 43
    assert found.low < 43 < found.high
    assert found.words.startswith("This bucket does 43 more")
    for step in found.steps:
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    together = reach(5000, 495, 5, dead_g=700)
    assert together.more == 43
    assert together.low < 43


def test_the_words_say_whether_it_will_last() -> None:
    used = [95, 102, 98, 110, 90]
    assert "it should last" in reach(5000, used, dead_g=700, still_to_do=30).words
    assert "may just last" in reach(5000, used, dead_g=700, still_to_do=43).words
    assert "falls 17 short" in reach(5000, used, dead_g=700, still_to_do=60).words
    assert reach(500, used, dead_g=700).more == 0


def test_the_forecast_holds_nine_times_in_ten() -> None:
    """Simulation, seed fixed: pieces differ by 12 %; five are weighed, then the bucket is used up."""
    rng, inside = np.random.default_rng(2), 0
    for _ in range(500):
        takes = np.maximum(20, rng.normal(100, 12, 80))
        told = reach(3000, list(takes[:5]))
        lasts = int(np.searchsorted(np.cumsum(takes[5:]), 3000, side="right"))
        inside += told.low <= lasts <= told.high
    assert 0.88 <= inside / 500 <= 0.97


def test_forecasts_that_cannot_be_are_refused() -> None:
    with pytest.raises(OutOfRange, match="weighed pieces"):
        reach(5000, [95])
    with pytest.raises(OutOfRange, match="pieces"):
        reach(5000, 495)
    with pytest.raises(OutOfRange, match="stock"):
        reach(-1, [95, 96])
