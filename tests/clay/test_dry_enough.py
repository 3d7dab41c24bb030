"""Dry enough by weight: against the trade's rule, hand arithmetic and an exact first-order tail."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.clay.working import meets_its_working
from wareboard.clay.dry_enough import DAMP, DRY, TOO_NEAR, by_dry_weight, by_three_weighings, by_two_weighings
from wareboard.errors import OutOfRange
from wareboard.working import Estimate


def test_two_weighings_a_day_apart_that_agree_within_half_a_per_cent_are_dry_enough() -> None:
    """Less than 0.5 % in 24 h: common practice. 1000 to 998 g is 0.2 %; 1000 to 990 is 1 %."""
    dry, damp = by_two_weighings(1000, 998), by_two_weighings(1000, 990)
    assert (dry.verdict, damp.verdict) == (DRY, DAMP)
    assert dry.measure.value == pytest.approx(0.002)
    assert damp.measure.value == pytest.approx(0.010)
    meets_its_working(dry.steps + damp.steps)


def test_a_small_cup_on_a_coarse_scale_is_too_near_to_tell_and_gets_the_mend() -> None:
    """Two readings off by up to 1 g each on 200 g: 1.645 sqrt(2/3) / 200 = 0.67 %, more than the limit; by hand."""
    found = by_two_weighings(200, 199.8)
    assert found.verdict == TOO_NEAR
    assert found.measure.high - found.measure.value == pytest.approx(1.6449 * math.sqrt(2 / 3) / 200, rel=1e-4)
    assert "several pieces together" in found.words
    assert by_two_weighings(200, 199.8, scale_g=0.1).verdict == DRY


def test_two_days_count_as_two() -> None:
    """Arithmetic: 8 g of 1000 g over 48 h is 0.004 a day."""
    assert by_two_weighings(1000, 992, hours=48).measure.value == pytest.approx(0.004)


def test_it_warns_of_steam_of_wrapped_ware_and_offers_the_candle() -> None:
    for found in (by_two_weighings(1000, 990), by_two_weighings(1000, 999)):
        assert "steam" in found.words
        assert "candle" in found.words
        assert "wrapped ware" in found.words
        assert "safe" not in found.words


def test_against_a_known_dry_weight_two_per_cent_is_the_limit() -> None:
    """Below 2 % of the dry weight without a long soak: common practice. By hand: 303/300 is 1 %, 315/300 5 %."""
    known = Estimate(300, 299, 301, "own records")
    dry, damp = by_dry_weight(303, known, scale_g=0.5), by_dry_weight(315, known)
    assert (dry.verdict, damp.verdict) == (DRY, DAMP)
    assert dry.measure.value == pytest.approx(0.01)
    meets_its_working(dry.steps + damp.steps)


def test_a_dry_weight_that_is_only_reckoned_cannot_decide() -> None:
    found = by_dry_weight(304, Estimate(300, 285, 315, "reckoned"))
    assert found.verdict == TOO_NEAR
    assert "twice" in found.words


@given(
    end_g=st.floats(50, 5000), left=st.floats(0.02, 0.2), half_h=st.floats(6, 72), hours=st.sampled_from([12.0, 24.0])
)
def test_three_weighings_of_an_exact_tail_give_its_end_and_the_day(
    end_g: float, left: float, half_h: float, hours: float
) -> None:
    """Closed form: weight = end + left 0.5^(t / half); the day's loss meets the limit at the day told."""

    def weight(at_h: float) -> float:
        return float(end_g * (1.0 + left * 0.5 ** (at_h / half_h)))

    found = by_three_weighings(weight(0), weight(hours), weight(2 * hours), hours)
    assert found.end_g == pytest.approx(end_g, rel=1e-6)
    assert found.half_time_h == pytest.approx(half_h, rel=1e-5)
    then = 2 * hours + found.days_to_go * 24
    lost = weight(then) - weight(then + 24)
    assert lost <= 0.005 * end_g * (1 + 1e-4)
    if found.days_to_go > 0:
        assert lost == pytest.approx(0.005 * end_g, rel=1e-4)
    meets_its_working(found.steps)


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: by_two_weighings(300, 299, hours=3), "3 h between"),
        (lambda: by_two_weighings(300, 310), "does not gain"),
        (lambda: by_two_weighings(0, 310), "earlier weight"),
        (lambda: by_two_weighings(300, float("nan")), "later weight"),
        (lambda: by_dry_weight(250, Estimate(300, 297, 303, "own records")), "lighter than bone dry"),
        (lambda: by_three_weighings(300, 290, 280), "smaller than the one before"),
        (lambda: by_three_weighings(300, 300, 300), "smaller than the one before"),
    ],
)
def test_weights_that_cannot_be_are_refused_with_the_mend(make: object, match: str) -> None:
    with pytest.raises(OutOfRange, match=match):
        make()  # type: ignore[operator]
