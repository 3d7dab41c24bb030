"""Odd entries, and the slips that would explain them. The cups are invented."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.book_reckoning.working import meets_its_working
from wareboard.book.reckoning.learned import prior
from wareboard.book.reckoning.odd_entry import UNIT_SLIPS, look_at, look_over
from wareboard.errors import OutOfRange

WEIGHTS_G = [345.0, 350.0, 338.0, 342.0, 360.0, 347.0, 339.0, 352.0, 344.0, 341.0, 349.0, 346.0]
HEIGHTS_MM = [90.0, 91.0, 89.5, 90.5, 92.0, 90.0, 88.5, 91.5, 90.0, 89.0]
WIDTHS_MM = [80.0, 81.0, 80.5, 79.0, 81.5, 80.0, 79.5, 80.0, 81.0, 80.5]


@pytest.mark.parametrize(
    ("value", "slip", "meant"),
    [
        (3450.0, "a decimal place", 345.0),
        (34.5, "a decimal place", 345.0),
        (0.345, "kilograms for grams", 345.0),
        (12.2, "ounces entered as grams", 12.2 * 28.349523125),
        (435.0, "4 and 3 in each other's place", 345.0),
        (3345.0, "a figure struck twice", 345.0),
    ],
)
def test_a_slip_in_a_weight_is_named_first(value: float, slip: str, meant: float) -> None:
    look = look_at("weight", value, WEIGHTS_G, "g")
    assert look.odd
    assert slip in look.slips[0].words
    assert look.slips[0].meant == pytest.approx(meant)
    meets_its_working(look.steps)


def test_the_words_say_what_is_usual_and_what_may_have_happened() -> None:
    words = look_at("weight", 3450.0, WEIGHTS_G, "g").words
    assert words.startswith("weight: 3,450 g where 345.5 g is usual")
    assert "12 records" in words
    assert words.endswith("Perhaps a decimal place? 345 g would be usual.")


@pytest.mark.parametrize(
    ("name", "unit", "usual", "value", "slip"),
    [
        ("width", "mm", WIDTHS_MM, 3.2, "inches entered as millimetres"),
        ("width", "mm", WIDTHS_MM, 8.0, "centimetres for millimetres"),
        ("width", "mm", WIDTHS_MM, 40.0, "a radius"),
        ("peak", "°C", [1220.0, 1225.0, 1218.0], 2230.0, "degrees Fahrenheit entered as Celsius"),
        ("peak", "°C", [1220.0, 1225.0, 1218.0], 660.0, "turned to Celsius twice"),
        ("capacity", "ml", [300.0, 305.0, 298.0, 302.0], 10.2, "fluid ounces (US) entered as millilitres"),
        ("throwing", "min", [2.4, 2.5, 2.2, 2.6], 145.0, "seconds entered as minutes"),
    ],
)
def test_slips_of_unit_are_named(name: str, unit: str, usual: list[float], value: float, slip: str) -> None:
    look = look_at(name, value, usual, unit)
    assert look.odd
    assert any(slip in each.words for each in look.slips)


def test_the_factors_meet_pint() -> None:
    """Ounce, pound, inch and US fluid ounce of the general units library."""
    import pint

    units = pint.UnitRegistry()
    factors = {words.split(" entered")[0]: factor for slips in UNIT_SLIPS.values() for words, factor in slips}
    assert factors["ounces"] == pytest.approx(units("1 oz").to("g").magnitude)
    assert factors["pounds"] == pytest.approx(units("1 lb").to("g").magnitude)
    assert factors["inches"] == pytest.approx(units("1 inch").to("mm").magnitude)
    assert factors["fluid ounces (US)"] == pytest.approx(units("1 fluid_ounce").to("ml").magnitude)


def test_the_score_meets_its_definition() -> None:
    """Iglewicz and Hoaglin: distance from the median over 1.4826 median absolute deviations, here of logarithms."""
    logs = np.log(WEIGHTS_G)
    middle = np.median(logs)
    deviation = np.median(np.abs(logs - middle)) / 0.6744897501960817
    look = look_at("weight", 370.0, WEIGHTS_G, "g")
    assert look.score == pytest.approx((math.log(370.0) - middle) / deviation)


def test_usual_values_are_let_through_and_true_oddities_kept_without_a_guess() -> None:
    for value in WEIGHTS_G:
        assert not look_at("weight", value, WEIGHTS_G, "g").odd
    look = look_at("weight", 500.0, WEIGHTS_G, "g")
    assert look.odd
    assert look.slips == ()
    assert look.words.endswith("Keep it if it is right.")


def test_one_old_slip_among_the_records_does_not_hide_the_next() -> None:
    """The point of a median: mean and deviation of these records would call 3,450 usual."""
    spoilt = [*WEIGHTS_G, 3450.0]
    logs = np.log(spoilt)
    assert abs(math.log(3450.0) - logs.mean()) / logs.std(ddof=1) < 3.5
    assert look_at("weight", 3450.0, spoilt, "g").odd


def test_height_and_width_in_each_others_place_are_seen() -> None:
    records, units = {"height": HEIGHTS_MM, "width": WIDTHS_MM}, {"height": "mm", "width": "mm"}
    height, width = look_over({"height": 80.0, "width": 90.0}, records, units)
    assert height.odd
    assert width.odd
    assert height.slips[0].words == "height and width swapped"
    assert height.slips[0].meant == 90.0
    assert "height and width swapped" in width.words
    right = look_over({"height": 90.0, "width": 80.0}, records, units)
    assert not any(look.odd for look in right)


def test_a_swap_is_not_claimed_across_units_nor_where_it_would_not_mend() -> None:
    records = {"height": HEIGHTS_MM, "weight": WEIGHTS_G}
    found = look_over({"height": 345.0, "weight": 90.0}, records, {"height": "mm", "weight": "g"})
    assert not any("swapped" in slip.words for look in found for slip in look.slips)
    both = {"height": HEIGHTS_MM, "width": WIDTHS_MM}
    found = look_over({"height": 900.0, "width": 80.0}, both, {"height": "mm", "width": "mm"})
    assert [look.odd for look in found] == [True, False]


def test_without_records_the_default_is_the_measure() -> None:
    figure = prior("minutes.throw.cup")
    assert not look_at("throwing", 3.0, [], "min", figure).odd
    look = look_at("throwing", 150.0, [], "min", figure)
    assert look.odd
    assert "the default" in look.words
    assert any("seconds" in slip.words for slip in look.slips)
    assert not look_at("width", 85.0, []).odd


def test_a_single_record_asks_only_about_what_is_far_off() -> None:
    assert not look_at("weight", 400.0, [345.0], "g").odd
    assert look_at("weight", 3450.0, [345.0], "g").odd


def test_like_records_do_not_make_the_next_odd() -> None:
    """Scales that show whole fives give like readings; a hundredth of scatter is always allowed."""
    assert not look_at("weight", 350.0, [345.0] * 9, "g").odd


@given(st.integers(20, 900), st.sampled_from([10.0, 100.0, 0.1, 0.01]))
def test_any_slipped_decimal_place_is_found(weight: int, factor: float) -> None:
    records = [weight * share for share in (0.99, 1.0, 1.01, 0.985, 1.015, 1.0)]
    look = look_at("weight", weight * factor, records, "g")
    assert look.odd
    assert any(slip.meant == pytest.approx(weight) for slip in look.slips)


@given(st.lists(st.floats(50.0, 60.0), min_size=3, max_size=12), st.floats(0.1, 10_000.0))
def test_only_slips_that_mend_are_named(records: list[float], value: float) -> None:
    look = look_at("weight", value, records, "g")
    assert all(abs(slip.score) <= 3.5 for slip in look.slips)
    assert look.odd or not look.slips


def test_honest_entries_are_seldom_asked_about() -> None:
    """Lognormal scatter of 3 %: with twenty records fewer than one in fifty is asked about."""
    chance = np.random.default_rng(12)
    asked = 0
    for _ in range(500):
        values = 345.0 * np.exp(chance.normal(0.0, 0.03, 21))
        asked += look_at("weight", float(values[-1]), list(values[:-1]), "g").odd
    assert asked / 500 < 0.02


def test_impossible_entries_are_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="weight is -3"):
        look_at("weight", -3.0, WEIGHTS_G, "g")
    with pytest.raises(OutOfRange, match="record of weight"):
        look_at("weight", 345.0, [0.0], "g")
    with pytest.raises(OutOfRange, match="weight"):
        look_at("weight", float("nan"), [], "g")
