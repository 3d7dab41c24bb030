"""The offset of each level from the thermocouple, learned from packs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from wareboard.errors import OutOfRange
from wareboard.kiln.cone import equivalent
from wareboard.kiln.offset import (
    Prior,
    corrected,
    learned_offset,
    offset_seen_c,
    offsets_by_level,
    shrunken_mean,
    temp_of_position_c,
    usual_prior,
)
from wareboard.kiln.witness import ConePack, position_at_c, read_pack, review_packs
from wareboard.working import worked_out

BARS = [12.4, 12.9, 12.3, 12.8]


def ramp(peak_c: float) -> tuple[list[float], list[float]]:
    return [0.0, (peak_c - 20.0) * 60.0], [20.0, peak_c]


def pack(level: str, peak_c: float) -> ConePack:
    felt = equivalent(*ramp(peak_c))
    return ConePack(level, {cone: felt.bend(cone) for cone in ("5", "6", "7")})


def test_a_normal_mean_is_updated_as_worked() -> None:
    """Prior 12.0 ± 0.5, spread 0.3, four bars: 12.550459 ± 0.143674, one more bar ± 0.332629, P(above 13) 0.088271.

    Formulas of gelman-bda, ch. 2; numbers worked beforehand with scipy, in double precision.
    """
    found = shrunken_mean(BARS, 0.3, 12.0, 0.5)
    assert found.mean == pytest.approx(12.550459, abs=5e-7)
    assert found.sd == pytest.approx(0.143674, abs=5e-7)
    assert found.one_more_sd == pytest.approx(0.332629, abs=5e-7)
    assert norm.sf(13.0, found.mean, found.one_more_sd) == pytest.approx(0.088271, abs=5e-7)


def test_one_at_a_time_gives_the_same() -> None:
    """12.294118/0.257248, 12.550847/0.195283, 12.476190/0.163663, 12.550459/0.143674, worked beforehand."""
    mean, sd = 12.0, 0.5
    for bar, want in zip(
        BARS,
        [(12.294118, 0.257248), (12.550847, 0.195283), (12.476190, 0.163663), (12.550459, 0.143674)],
        strict=True,
    ):
        found = shrunken_mean([bar], 0.3, mean, sd)
        mean, sd = found.mean, found.sd
        assert (mean, sd) == pytest.approx(want, abs=5e-7)


@given(st.lists(st.floats(-40.0, 40.0), min_size=1, max_size=20))
def test_the_learned_offset_lies_between_the_prior_and_what_was_seen(seen: list[float]) -> None:
    found = learned_offset("test kiln (invented)", "top", seen)
    ends = sorted([0.0, float(np.mean(seen))])
    assert ends[0] - 1e-9 <= found.c.value <= ends[1] + 1e-9
    assert found.c.low <= found.c.value <= found.c.high
    assert found.one_more_c > found.c.high - found.c.value


def test_the_prior_is_stated_and_comes_back_without_firings() -> None:
    """Control within 25 °F, 14 °C (kiln-control), taken as the range that holds nine in ten."""
    prior = usual_prior()
    assert prior.sd_c * norm.ppf(0.95) == pytest.approx(14.0, abs=0.01)
    none = learned_offset("test kiln (invented)", "top", [])
    assert (none.c.value, none.firings, none.drift, none.prior) == (0.0, 0, None, prior)
    assert none.c.source.startswith("default: kiln-control")


def test_many_firings_outweigh_the_prior_and_few_do_not() -> None:
    halfway = [learned_offset("k", "top", [12.0] * count).c.value for count in (1, 3, 10, 100)]
    assert halfway == sorted(halfway)
    assert halfway[0] < 10.0
    assert halfway[-1] == pytest.approx(12.0, abs=0.1)


def test_ranges_hold_the_truth_and_the_next_firing_nine_times_in_ten() -> None:
    """2000 invented kilns drawn from the prior, five firings each, fixed seed; within three standard errors.

    The scatter is drawn too, from the scaled inverse chi-square that a prior of four firings amounts to (gelman-bda, ch. 3).
    """
    rng, prior = np.random.default_rng(8), usual_prior()
    truth = next_one = 0
    for _ in range(2000):
        scatter = prior.scatter_c * np.sqrt(4.0 / rng.chisquare(4.0))
        true_c = rng.normal(prior.mean_c, prior.sd_c)
        found = learned_offset("k", "top", list(true_c + rng.normal(0.0, scatter, 5)))
        truth += found.c.low <= true_c <= found.c.high
        next_one += abs(true_c + rng.normal(0.0, scatter) - found.c.value) <= found.one_more_c
    assert truth / 2000 == pytest.approx(0.90, abs=0.025)
    assert next_one / 2000 == pytest.approx(0.90, abs=0.025)


def test_a_thermocouple_that_reads_low_is_found_level_by_level() -> None:
    """Invented: cones at the top stand 12 °C over the thermocouple and at the bottom 6 °C under it, firing after firing."""
    firings = [
        (
            review_packs([pack("bottom", peak - 6.0), pack("top", peak + 12.0)], "6"),
            equivalent(*ramp(peak)),
        )
        for peak in (1214.0, 1218.0, 1216.0, 1217.0, 1215.0, 1219.0, 1216.5, 1217.5)
    ]
    found = offsets_by_level("test kiln (invented)", firings)
    assert set(found) == {"bottom", "top"}
    assert found["top"].c.low < 12.0 < found["top"].c.high
    assert found["bottom"].c.low < -6.0 < found["bottom"].c.high
    assert found["top"].cones.value > 0.0 > found["bottom"].cones.value
    assert "from 8 firings" in found["top"].words
    assert found["top"].drift is not None


def test_a_drifting_thermocouple_is_told() -> None:
    """A line of 2 °C a firing with 1 °C of scatter, fixed seed; slope by numpy's polyfit."""
    seen = 2.0 * np.arange(8) + np.random.default_rng(3).normal(0.0, 1.0, 8)
    drift = learned_offset("k", "middle", list(seen)).drift
    assert drift is not None
    assert drift.per_firing == pytest.approx(float(np.polyfit(np.arange(8), seen, 1)[0]))
    assert "offset on middle: rising by" in drift.words


@given(st.floats(-25.0, 25.0), st.floats(1190.0, 1240.0))
def test_correcting_heat_work_is_firing_hotter_by_the_offset(offset_c: float, peak_c: float) -> None:
    """A second road: the whole log moved by the offset, and its heat work counted anew."""
    prior = Prior(offset_c, 1e-6, 5.0, "given")
    offset = learned_offset("k", "top", [], prior=prior)
    seen, moved = corrected(equivalent(*ramp(peak_c)), offset), equivalent(*ramp(peak_c + offset_c))
    assert seen.position == pytest.approx(moved.position, abs=0.1)
    assert seen.peak_c == pytest.approx(moved.peak_c)
    assert seen.bend("6") == pytest.approx(moved.bend("6"), abs=6.0)


@given(st.lists(st.floats(-20.0, 20.0), max_size=12), st.floats(1190.0, 1240.0))
def test_a_corrected_range_is_wider_and_holds_its_value(seen: list[float], peak_c: float) -> None:
    plain = equivalent(*ramp(peak_c))
    after = corrected(plain, learned_offset("k", "top", seen))
    assert after.low <= after.position <= after.high
    assert after.position - after.low > plain.position - plain.low
    assert after.high - after.position > plain.high - plain.position
    assert after.edition == plain.edition


def test_a_pack_that_only_bounds_its_level_teaches_nothing() -> None:
    logged = equivalent(*ramp(1222.0))
    flat = read_pack(ConePack("top", {"5": 90.0, "6": 90.0}))
    assert offset_seen_c(flat, logged) is None
    packs = review_packs([ConePack("top", {"5": 90.0, "6": 90.0}), pack("bottom", 1222.0)], "6")
    found = offsets_by_level("k", [(packs, logged)])
    assert (found["top"].firings, found["bottom"].firings) == (0, 1)


@given(st.floats(-10.0, 12.0), st.sampled_from([15.0, 60.0, 150.0]))
def test_degrees_and_positions_turn_into_each_other(position: float, rate: float) -> None:
    assert position_at_c(temp_of_position_c(position, rate, "self-supporting"), rate) == pytest.approx(position)


def test_the_working_works_out() -> None:
    for seen in ([], [4.0], [4.0, 9.0, 7.5]):
        found = learned_offset("k", "top", seen)
        assert len(found.steps) == 2
        for step in found.steps:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, abs=1e-12)


def test_firings_for_different_cones_are_not_thrown_together() -> None:
    logged = equivalent(*ramp(1222.0))
    both = [(review_packs([pack("top", 1222.0)], cone), logged) for cone in ("5", "6")]
    with pytest.raises(OutOfRange, match="cone 5, self-supporting and cone 6"):
        offsets_by_level("k", both)
    with pytest.raises(OutOfRange, match="no firings"):
        offsets_by_level("k", [])
    with pytest.raises(OutOfRange, match="not a number"):
        learned_offset("k", "top", [1.0, float("nan")])
    with pytest.raises(OutOfRange, match="sd_c of the prior"):
        Prior(0.0, 0.0, 5.0, "given")
    with pytest.raises(OutOfRange, match="deviation above 0"):
        shrunken_mean(BARS, 0.0, 12.0, 0.5)
