"""Rough drying times against the published accounts that they stand on."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.clay.working import meets_its_working
from wareboard.clay.drying import COVERS, HUMIDITIES, rough_drying
from wareboard.errors import OutOfRange
from wareboard.working import Estimate


def ends(of: Estimate) -> tuple[float, float, float]:
    return (round(of.value, 6), round(of.low, 6), round(of.high, 6))


def test_a_mug_takes_its_published_week() -> None:
    """Mug 7 days, 3 to 21: Drying time, a ceramics forum; September already, 2010."""
    assert ends(rough_drying(6.0).bone_dry_days) == (7.0, 3.0, 21.0)


def test_a_plate_takes_its_ten_days_and_half_an_inch_its_three_weeks() -> None:
    """Plate under boards 10 days, 7 to 21: common practice. Walls of 12 mm and more 21 to 28: a question digest."""
    assert ends(rough_drying(9.0, flat=True).bone_dry_days) == (10.0, 7.0, 21.0)
    assert ends(rough_drying(12.0).bone_dry_days) == (21.0, 21.0, 28.0)
    assert ends(rough_drying(12.0, flat=True).bone_dry_days) == (21.0, 21.0, 28.0)


def test_leather_hard_takes_hours_open_days_covered_and_weeks_wrapped() -> None:
    """15 h, 6 to 24, open; 3 days, 2 to 7, lightly covered; 14 days, 7 to 28, tight: a public forum, 2025."""
    assert ends(rough_drying(6.0, "open").leather_hard_h) == (15.0, 6.0, 24.0)
    assert ends(rough_drying(6.0, "light").leather_hard_h) == (72.0, 48.0, 168.0)
    assert ends(rough_drying(6.0, "tight").leather_hard_h) == (336.0, 168.0, 672.0)


def test_an_open_bowl_is_dry_in_two_days_and_two_to_four_lie_in_its_range() -> None:
    """Small bowl, open, 2 days, 2 to 4: a published account."""
    found = rough_drying(6.0, "open").bone_dry_days
    assert found.value == pytest.approx(2.0)
    assert found.low <= 2.0 < 4.0 <= found.high


def test_leather_hard_overnight_agrees_with_the_evaporation_reckoned_from_heat_and_mass() -> None:
    """A 292 g (dry) mug loses its first 23 g in 7.3 to 10.7 h at 20 C, 50 %, open: worked apart from mass transfer."""
    found = rough_drying(5.0, "open").leather_hard_h
    assert found.low < 7.3
    assert found.high > 10.7


def test_damp_weather_adds_half_to_as_much_again() -> None:
    """Factor 1.5, 1.5 to 2.0: common practice."""
    usual, damp = rough_drying(6.0), rough_drying(6.0, humidity="damp")
    assert damp.bone_dry_days.value == pytest.approx(1.5 * usual.bone_dry_days.value)
    assert damp.bone_dry_days.high == pytest.approx(2.0 * usual.bone_dry_days.high)


@given(
    thin=st.floats(2.0, 25.0),
    more=st.floats(0.0, 10.0),
    cover=st.sampled_from(COVERS),
    humidity=st.sampled_from(HUMIDITIES),
    flat=st.booleans(),
)
def test_thicker_ware_never_dries_sooner(thin: float, more: float, cover: str, humidity: str, flat: bool) -> None:
    first = rough_drying(thin, cover, humidity, flat)
    second = rough_drying(min(25.0, thin + more), cover, humidity, flat)
    for early, late in (
        (first.leather_hard_h, second.leather_hard_h),
        (first.bone_dry_days, second.bone_dry_days),
    ):
        assert early.low <= early.value <= early.high
        assert early.value <= late.value * (1 + 1e-12)
        assert early.high <= late.high * (1 + 1e-12)
    assert first.leather_hard_h.value < first.bone_dry_days.value * 24
    meets_its_working(first.steps)


def test_it_says_that_it_is_rough_and_how_to_tell_dry() -> None:
    found = rough_drying(6.0)
    assert found.rough
    assert "rough" in found.bone_dry_days.source
    assert all("rough" in step.name for step in found.steps)
    assert "weighings" in found.words


@pytest.mark.parametrize("bad", [0.0, 1.0, 26.0, float("nan")])
def test_a_wall_outside_the_figures_is_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match="thickest wall"):
        rough_drying(bad)


def test_words_that_are_no_cover_or_weather_are_refused() -> None:
    with pytest.raises(OutOfRange, match="open, light, tight"):
        rough_drying(6.0, cover="box")
    with pytest.raises(OutOfRange, match="dry, usual, damp"):
        rough_drying(6.0, humidity="rain")
