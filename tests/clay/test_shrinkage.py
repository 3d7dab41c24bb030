"""Shrinkage against worked figures and the laws that it must keep."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.clay.working import meets_its_working
from wareboard.clay.shrinkage import (
    HALF_WIDTH_OF_90_PER_CENT,
    STAGES,
    StageLoss,
    combined,
    composed,
    from_measures,
    lengths_by_stage,
    stage_loss,
    usual_stage_loss,
    volume_shrinkage,
    wet_length_mm,
    wrong_rule_error,
)
from wareboard.errors import OutOfRange
from wareboard.working import Estimate


def estimate(mean: float, deviation: float, source: str = "own records") -> Estimate:
    half = HALF_WIDTH_OF_90_PER_CENT * deviation
    return Estimate(mean, mean - half, mean + half, source)


def deviation(of: Estimate) -> float:
    return (of.high - of.low) / (2 * HALF_WIDTH_OF_90_PER_CENT)


@pytest.mark.parametrize(
    ("fired_mm", "shrinkage", "wet_mm"),
    [(95.0, 0.12, 107.95), (250.0, 0.12, 284.09), (80.0, 0.119, 90.806), (1.0, 0.13, 1.149425)],
)
def test_wet_length_meets_the_worked_figures(fired_mm: float, shrinkage: float, wet_mm: float) -> None:
    """By arithmetic from the definition of shrinkage on the plastic length (ASTM C326 style), as printed to that digit."""
    printed = len(str(wet_mm).split(".")[1])
    assert wet_length_mm(fired_mm, shrinkage) == pytest.approx(wet_mm, abs=0.51 * 10**-printed)


def test_the_stages_of_a_test_bar_compose_and_do_not_add() -> None:
    """Bar of 100.00 mm, dry 93.60, fired 88.10: 6.400 %, 5.876 %, 11.900 %; the sum 12.276 % is wrong (ASTM C326 style)."""
    drying, firing = 1 - 93.60 / 100, 1 - 88.10 / 93.60
    assert drying == pytest.approx(0.06400, abs=5e-6)
    assert firing == pytest.approx(0.05876, abs=5e-6)
    assert composed(drying, firing) == pytest.approx(0.11900, abs=5e-6)
    assert drying + firing == pytest.approx(0.12276, abs=5e-6)
    assert volume_shrinkage(0.119) == pytest.approx(0.31620, abs=5e-6)


def test_four_stages_compose_to_the_worked_total() -> None:
    """4.5 %, 2.0 %, 0.7 % and 5.3 %, each on the length before it, make 11.9907 % (arithmetic on the definition)."""
    assert composed(0.045, 0.02, 0.007, 0.053) == pytest.approx(0.119907, abs=5e-7)


@pytest.mark.parametrize(("shrinkage", "error"), [(0.10, 0.01), (0.12, 0.0144), (0.13, 0.0169), (0.15, 0.0225)])
def test_the_common_wrong_rule_fires_small_by_the_square(shrinkage: float, error: float) -> None:
    """-1.0 % at 10 %, -1.44 % at 12 %, -1.69 % at 13 %, -2.25 % at 15 %: arithmetic on a rule that potters publish."""
    assert wrong_rule_error(shrinkage) == pytest.approx(error, abs=5e-7)
    fires_to = 100 * (1 + shrinkage) * (1 - shrinkage)
    assert 1 - fires_to / 100 == pytest.approx(error, abs=5e-7)


def test_the_wrong_rule_on_a_bar_of_11_9_per_cent() -> None:
    """80 x 1.119 = 89.520 mm, which fires to 78.867 mm, 1.42 % small (arithmetic)."""
    assert 80 * (1 - wrong_rule_error(0.119)) == pytest.approx(78.867, abs=5e-4)
    assert wrong_rule_error(0.119) == pytest.approx(0.0142, abs=5e-5)


def test_a_mark_at_leather_hard_is_drawn_larger_by_what_is_still_to_go() -> None:
    """20 mm fired, 12 % in all, 3 % gone at leather-hard: 22.05 mm (arithmetic on the definition)."""
    lengths = lengths_by_stage(20.0, stage_loss(0.12, leather_hard=0.03))
    assert lengths.leather_hard_mm == pytest.approx(22.05, abs=0.005)
    assert lengths.at("leather-hard") == lengths.leather_hard_mm


def test_the_usual_pattern_is_the_published_one() -> None:
    """4 %, 2 %, 0.5 % and 5.5 %, each on the length before it: common practice; 5.92 % wet to dry, 11.539 % in all."""
    usual = usual_stage_loss()
    assert usual.leather_hard == pytest.approx(0.04)
    assert usual.between("leather-hard", "dry") == pytest.approx(0.02)
    assert usual.between("dry", "bisque") == pytest.approx(0.005)
    assert usual.between("bisque", "fired") == pytest.approx(0.055)
    assert 0.05 <= usual.dry <= 0.08
    assert usual.fired == pytest.approx(1 - 0.96 * 0.98 * 0.995 * 0.945)


def test_a_measured_stage_is_kept_and_the_rest_fall_in_with_it() -> None:
    loss = stage_loss(0.12, dry=0.065)
    assert (loss.dry, loss.fired) == (0.065, 0.12)
    share_up_to_leather_hard = math.log(0.96) / math.log(0.96 * 0.98)
    assert math.log(1 - loss.leather_hard) / math.log(1 - 0.065) == pytest.approx(share_up_to_leather_hard)
    assert loss.dry < loss.bisque < loss.fired


shares = st.floats(0.0, 0.4)


@given(total=shares, fired_mm=st.floats(1.0, 1000.0))
def test_wet_to_fired_by_stages_comes_back(total: float, fired_mm: float) -> None:
    loss = stage_loss(total)
    lengths = lengths_by_stage(fired_mm, loss)
    assert lengths.wet_mm * (1 - total) == pytest.approx(fired_mm)
    by_steps = lengths.wet_mm
    for earlier, later in pairwise(STAGES):
        by_steps *= 1 - loss.between(earlier, later)
        assert by_steps == pytest.approx(lengths.at(later))
    assert [lengths.at(stage) for stage in STAGES] == sorted((lengths.at(stage) for stage in STAGES), reverse=True)


@given(parts=st.lists(shares, min_size=4, max_size=4), which=st.sets(st.sampled_from([0, 1, 2])))
def test_whatever_is_measured_the_total_is_met_and_nothing_grows_back(parts: list[float], which: set[int]) -> None:
    gone = [composed(*parts[: place + 1]) for place in range(4)]
    known = [gone[place] if place in which else None for place in range(3)]
    loss = stage_loss(gone[3], *known)
    assert loss.fired == gone[3]
    for place, given_share in enumerate(known):
        if given_share is not None:
            assert loss.cumulative[place + 1] == given_share


def test_every_step_of_a_length_meets_its_working_and_the_wet_one_has_its_range() -> None:
    lengths = lengths_by_stage(95.0, stage_loss(0.12), "height", "own records", shrinkage_low=0.11, shrinkage_high=0.13)
    meets_its_working(lengths.steps)
    wet = lengths.steps[0]
    assert (wet.low, wet.high) == (pytest.approx(95 / 0.89), pytest.approx(95 / 0.87))
    assert wet.name == "height, wet"


@pytest.mark.parametrize("bad", [12.0, 1.0, -0.01, float("nan"), float("inf")])
def test_a_shrinkage_that_is_no_fraction_is_refused_with_the_mend(bad: float) -> None:
    with pytest.raises(OutOfRange, match=r"Write 12 % as 0\.12"):
        wet_length_mm(95.0, bad)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_a_length_that_cannot_be_is_refused_by_name(bad: float) -> None:
    with pytest.raises(OutOfRange, match="fired length"):
        wet_length_mm(bad, 0.12)


def test_stages_that_fall_or_pass_the_total_are_refused() -> None:
    with pytest.raises(OutOfRange, match="shrinkage by dry"):
        stage_loss(0.12, leather_hard=0.07, dry=0.05)
    with pytest.raises(OutOfRange, match="shrinkage by fired"):
        stage_loss(0.12, bisque=0.13)
    with pytest.raises(OutOfRange, match="shrinkage by bisque"):
        StageLoss(0.04, 0.06, 0.05, 0.12)
    with pytest.raises(OutOfRange, match="no such stage"):
        stage_loss(0.12).by("soft")


def test_a_hundred_millimetre_bar_read_to_half_a_millimetre_is_known_to_about_half_a_point() -> None:
    """A rule of the trade says +-0.5 point (one reading, greatest error); two readings at 90 % give 0.63 (JCGM 100)."""
    seen = from_measures(100.0, 88.0, 0.5)
    assert seen.value == pytest.approx(0.12)
    assert 0.005 <= (seen.high - seen.low) / 2 <= 0.007
    half = 1.6448536 * 0.5 / math.sqrt(3) * math.hypot(1 / 100, 88 / 100**2)
    assert (seen.high - seen.low) / 2 == pytest.approx(half, rel=1e-6)


def test_the_range_of_one_bar_holds_nine_in_ten_of_simulated_readings() -> None:
    """Both marks read with an even error in +-0.5 mm: a simulation with numpy, seed given."""
    import numpy as np

    draw = np.random.default_rng(11).uniform(-0.5, 0.5, (2, 40_000))
    wet, fired = 100 + draw[0], 88 + draw[1]
    seen = from_measures(100.0, 88.0, 0.5)
    inside = (np.abs((wet - fired) / wet - 0.12) <= (seen.high - seen.low) / 2).mean()
    # The sum of two even errors is a little flatter than a normal one: 89 in a hundred.
    assert inside == pytest.approx(0.90, abs=0.015)


def test_a_piece_that_grew_is_refused() -> None:
    with pytest.raises(OutOfRange, match="wrong way round"):
        from_measures(88.0, 100.0)


def test_four_bars_on_a_prior_meet_the_worked_bayesian_example() -> None:
    """12.0 +/- 0.5 and bars 12.4 12.9 12.3 12.8 with sigma 0.3 make 12.550459 +/- 0.143674.

    Normal prior, known sigma: Gelman and others, Bayesian Data Analysis, ch. 2 (formula from memory), worked out apart.
    """
    bars = [estimate(value, 0.3) for value in (12.4, 12.9, 12.3, 12.8)]
    pooled = combined(bars, prior=estimate(12.0, 0.5, "a maker's sheet"))
    assert pooled.value == pytest.approx(12.550459, abs=5e-7)
    assert deviation(pooled) == pytest.approx(0.143674, abs=5e-7)
    assert "a maker's sheet" in pooled.source


def test_one_bar_at_a_time_gives_the_same_as_all_at_once() -> None:
    """12.294118/0.257248, 12.550847/0.195283, 12.476190/0.163663, 12.550459/0.143674: the same example in sequence."""
    belief = estimate(12.0, 0.5)
    worked = [(12.294118, 0.257248), (12.550847, 0.195283), (12.476190, 0.163663), (12.550459, 0.143674)]
    for value, (mean, spread) in zip((12.4, 12.9, 12.3, 12.8), worked, strict=True):
        belief = combined([estimate(value, 0.3)], prior=belief)
        assert belief.value == pytest.approx(mean, abs=5e-7)
        assert deviation(belief) == pytest.approx(spread, abs=5e-7)


def test_scatter_beyond_the_ranges_widens_the_answer() -> None:
    """Random effects by hand: Q = sum w (y - mean)^2, between = (Q - df) / (sum w - sum w^2 / sum w).

    Source: DerSimonian and Laird, Controlled Clinical Trials 7 (1986), formula from memory, worked here apart.
    """
    values, variances = [0.110, 0.125, 0.140], [0.001**2, 0.002**2, 0.001**2]
    weights = [1 / each for each in variances]
    mean = sum(w * y for w, y in zip(weights, values, strict=True)) / sum(weights)
    q = sum(w * (y - mean) ** 2 for w, y in zip(weights, values, strict=True))
    between = (q - 2) / (sum(weights) - sum(w * w for w in weights) / sum(weights))
    wide = [1 / (each + between) for each in variances]
    pooled = combined([estimate(y, math.sqrt(each)) for y, each in zip(values, variances, strict=True)])
    assert pooled.value == pytest.approx(sum(w * y for w, y in zip(wide, values, strict=True)) / sum(wide))
    assert deviation(pooled) == pytest.approx(sum(wide) ** -0.5)
    assert deviation(pooled) > 5 * sum(weights) ** -0.5


def test_estimates_that_agree_narrow_by_the_square_root_of_their_number() -> None:
    """Closed form: the mean of n alike has 1/sqrt(n) of one's deviation; 0.004 / sqrt(4) is 0.002."""
    pooled = combined([estimate(0.12, 0.004)] * 4)
    assert pooled.value == pytest.approx(0.12)
    assert deviation(pooled) == pytest.approx(0.002)


def test_one_estimate_alone_comes_back_and_a_prior_alone_as_well() -> None:
    one = Estimate(0.12, 0.118, 0.125, "own records")
    assert combined([one]) is one
    assert combined([], prior=one) is one
    with pytest.raises(OutOfRange, match="nothing to combine"):
        combined([])


def test_an_estimate_without_a_range_is_refused() -> None:
    with pytest.raises(OutOfRange, match="some width"):
        combined([Estimate(0.12, 0.12, 0.12, "x"), estimate(0.12, 0.01)])
