"""Leach limits, laboratory figures, and when a result lapses.

Printed limits: US, WAC 246-215-04110 (lead: plates 3.0, small hollowware 2.0, cups, mugs, pitchers 0.5, large 1.0 mg/l);
FDA CPG 545.400 (cadmium 0.5, large 0.25 ug/ml); EU, Directive 84/500/EEC Art. 2.4 (0.8 and 0.07 mg/dm2; 4.0 and 0.3 mg/l;
1.5 and 0.1 mg/l) and Art. 2.5 (over by half at most, three articles averaging within). Flat is 25 mm deep or less in both.
"""

from __future__ import annotations

import pytest

from wareboard.errors import NotInTable, OutOfRange
from wareboard.glaze import contact
from wareboard.glaze.contact import (
    CALIFORNIA,
    EU,
    ISO,
    NO_RIM_LIMIT,
    US,
    Combination,
    LeachLimit,
    Recorded,
    Use,
    compared,
    laboratory_test,
    leach_limits,
    limits_for,
    newest_standing,
    places,
    release_mg_per_dm2,
    rim_test,
    standing,
)
from wareboard.reference import sources

MUG = (95.0, 350.0)
PLATE = (20.0, 400.0)
BOWL = (60.0, 700.0)
TUREEN = (120.0, 3500.0)


@pytest.mark.parametrize(
    ("place", "size", "use", "lead", "cadmium"),
    [
        (US, PLATE, "table", 3.0, 0.5),
        (US, BOWL, "table", 2.0, 0.5),
        (US, MUG, "cup", 0.5, 0.5),
        (US, (180.0, 1500.0), "jug", 0.5, 0.25),
        (US, TUREEN, "table", 1.0, 0.25),
        (EU, PLATE, "table", 0.8, 0.07),
        (EU, (25.0, 300.0), "table", 0.8, 0.07),
        (EU, (25.1, 300.0), "table", 4.0, 0.3),
        (EU, MUG, "cup", 4.0, 0.3),
        (EU, BOWL, "cooking", 1.5, 0.1),
        (EU, TUREEN, "storage", 1.5, 0.1),
        (EU, (120.0, 3000.0), "storage", 4.0, 0.3),
        (ISO, MUG, "cup", 0.5, 0.25),
        (ISO, BOWL, "cooking", 0.5, 0.05),
        (ISO, TUREEN, "table", 1.0, 0.25),
        (CALIFORNIA, PLATE, "table", 0.226, None),
        (CALIFORNIA, MUG, "cup", 0.100, None),
    ],
)
def test_an_article_finds_its_printed_limits(
    place: str, size: tuple[float, float], use: Use, lead: float, cadmium: float | None
) -> None:
    found = {limit.metal: limit.limit for limit in limits_for(place, *size, use)}
    assert found == ({"lead": lead} if cadmium is None else {"lead": lead, "cadmium": cadmium})


def test_every_limit_has_a_unit_a_source_and_a_test() -> None:
    assert len(leach_limits()) == 26
    for limit in leach_limits():
        assert limit.unit in ("mg/l", "mg/dm2")
        assert limit.source in sources()
        assert laboratory_test(limit.place).samples >= 4
    assert laboratory_test(US).samples == 6
    assert laboratory_test(US).method == "ASTM C738"


def _limit(place: str, metal: str, named: str) -> LeachLimit:
    return next(one for one in leach_limits() if (one.place, one.metal, one.article_class) == (place, metal, named))


def test_flat_ware_in_the_us_is_read_by_its_average_and_a_cup_by_its_worst() -> None:
    flat, cup = _limit(US, "lead", "flatware"), _limit(US, "lead", "cups and mugs")
    assert compared(flat, [2.0, 2.0, 2.0, 2.0, 2.0, 5.0]).within
    assert not compared(flat, [3.0, 3.0, 3.0, 3.0, 3.0, 3.6]).within
    assert not compared(cup, [0.1, 0.1, 0.1, 0.1, 0.1, 0.6]).within
    with pytest.raises(OutOfRange, match="6 articles"):
        compared(cup, [0.1])


def test_the_eu_lets_one_of_three_be_over_by_half() -> None:
    flat = _limit(EU, "lead", "flatware")
    assert compared(flat, [0.7]).within
    assert not compared(flat, [0.9]).within
    assert compared(flat, [0.5, 0.5, 1.2]).within
    assert not compared(flat, [0.5, 0.5, 1.21]).within
    assert not compared(flat, [0.9, 0.9, 0.7]).within


def test_release_by_surface_is_arithmetic() -> None:
    """0.5 l at 0.4 mg/l over 2 dm2 is 0.1 mg/dm2."""
    assert release_mg_per_dm2(0.4, 500, 20000) == pytest.approx(0.1)


NOW = Combination("buff stoneware (invented)", "B7", "weir white (invented)", "G3", "cone 6")
RESULT = Recorded(NOW, "lead and cadmium, ASTM C738", "2026-03-02", "an invented laboratory", "R-1", "lead 0.02 mg/l")


def test_a_result_stands_while_nothing_has_changed() -> None:
    found = standing(RESULT, NOW)
    assert found.stands
    assert "report R-1" in found.words


@pytest.mark.parametrize("changed", ["body", "body_lot", "glaze", "glaze_lot", "cone"])
def test_a_result_lapses_when_anything_it_rests_on_changes(changed: str) -> None:
    given = {name: getattr(NOW, name) for name in ("body", "body_lot", "glaze", "glaze_lot", "cone")}
    for other in ("another", ""):
        found = standing(RESULT, Combination(**{**given, changed: other}))
        assert not found.stands
        assert list(found.changed) == [changed]
        assert "Test again" in found.words


def test_the_last_result_that_speaks_is_the_one_told() -> None:
    old = Recorded(NOW, "vinegar", "2025-01-01", "own bench", "1", "no change")
    other = Recorded(
        Combination("porcelain", "P1", "weir white (invented)", "G3", "cone 6"), "C738", "2026-01-01", "x", "2", "y"
    )
    assert "2026-03-02" in newest_standing([old, RESULT, other], NOW).words
    assert newest_standing([], NOW).words == "Not tested."
    assert not newest_standing([other], NOW).stands


def test_nothing_of_it_says_that_ware_is_safe() -> None:
    told = [contact.WHO_JUDGES, contact.HOME_TESTS, standing(RESULT, NOW).words, str(laboratory_test(EU))]
    told += [compared(_limit(EU, "lead", "flatware"), [0.1]).words]
    assert not any("safe" in words.lower() for words in told)


def test_places_and_uses_that_are_not_known_are_refused() -> None:
    with pytest.raises(NotInTable, match="Atlantis"):
        limits_for("Atlantis", *MUG)
    with pytest.raises(OutOfRange, match="use"):
        limits_for(US, *MUG, "hat")  # type: ignore[arg-type]
    with pytest.raises(OutOfRange, match="depth"):
        limits_for(US, -1, 300)


def test_every_place_says_how_its_rim_is_tested_and_claims_no_limit() -> None:
    """The names of the tests are the shipped table's; that no limit was found is said in words."""
    for place in places():
        found = rim_test(place)
        assert bool(found.method) == (found.samples > 0), place
        assert found.words, place
        assert found.source, place
    assert rim_test(US).method == "ASTM C927"
    assert "safe" not in NO_RIM_LIMIT
