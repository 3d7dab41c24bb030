"""Loads over several kilns: every piece once, in a kiln that holds it and gets hot enough, for no more money than in one."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from wareboard.book.boards.course import course_of, read, written
from wareboard.errors import Problems, WareboardError
from wareboard.plan.brief import Brief
from wareboard.plan.compiling import compile
from wareboard.plan.result import FiringPlan, Plan
from wareboard.plan.workshop import Workshop
from wareboard.reference import default

TODAY = date(2026, 11, 25)
LARGE = {"name": "Large", "shelf_diameter": "560 mm", "usable_height": "680 mm", "power_kw": 12}
SMALL = {"name": "Small", "shelf_diameter": "400 mm", "usable_height": "450 mm", "power_kw": 4}


def plan_with(kilns: list[dict[str, Any]], count: int = 116, height: str = "95 mm", **more: Any) -> Plan:
    brief = {
        "due": "2027-04-01",
        "clay": {},
        "forms": [{"name": "cup", "count": count, "height": height, "rim": "85 mm"}],
        "kilns": kilns,
        **more,
    }
    return compile(Brief.model_validate(brief), Workshop(today=TODAY), seconds=0.5)


def counted(firing: FiringPlan) -> int:
    return sum(layout.pieces for load in firing.loads.loads for layout in load)


def test_the_last_load_goes_to_the_small_kiln_where_that_costs_less() -> None:
    plan = plan_with([LARGE, SMALL])
    alone = plan_with([LARGE])
    firing = plan.glaze_firing
    assert "Large (" in firing.in_kilns
    assert "Small (" in firing.in_kilns
    assert counted(firing) == counted(alone.glaze_firing)
    assert float(plan.price.cost.amount) < float(alone.price.cost.amount)


def test_each_load_stands_within_its_own_kiln() -> None:
    """Geometry: no body reaches past the edge of its kiln's shelf, nor above its roof."""
    firing = plan_with([LARGE, SMALL]).glaze_firing
    for number, load in enumerate(firing.loads.loads, 1):
        kiln = firing.home(number).kiln
        for layout in load:
            reach = (layout.centres_mm**2).sum(axis=1) ** 0.5 + layout.diameters_mm / 2.0
            assert reach.max() <= (kiln.shelf_diameter or 0.0) / 2.0 + 1e-6
            assert layout.level_mm + layout.heights_mm.max() <= (kiln.usable_height or 0.0)


def test_the_calendar_fires_each_load_in_its_own_kiln() -> None:
    plan = plan_with([LARGE, SMALL])
    firing = plan.glaze_firing
    places = {entry.key: entry.place for entry in plan.calendar.entries if entry.stage == "glaze"}
    assert places == {f"glaze-load-{at}": firing.home(at).kiln.name for at in range(1, firing.firings + 1)}


def test_energy_of_all_loads_is_the_sum_over_their_kilns() -> None:
    firing = plan_with([LARGE, SMALL]).glaze_firing
    whole = next(step for step in firing.steps if step.name == "energy of all glaze firings")
    assert whole.value == pytest.approx(sum(firing.home(at).energy.kwh for at in range(1, firing.firings + 1)))
    assert firing.loads.bound_firings <= firing.firings


def test_a_kiln_that_may_not_go_so_hot_is_left_to_the_bisque() -> None:
    plan = plan_with([LARGE | {"hottest_cone": "04"}, SMALL | {"hottest": "1290 C"}], count=12)
    assert plan.glaze_firing.in_kilns == "Small"
    assert not [notice for notice in plan.notices if "may go to" in notice.what]


@pytest.mark.parametrize(("limit", "words"), [({"hottest_cone": "04"}, "cone 04"), ({"hottest": "1100 C"}, "1100 °C")])
def test_a_kiln_fired_past_its_limit_for_want_of_another_is_told(limit: dict[str, str], words: str) -> None:
    plan = plan_with([LARGE | limit], count=12)
    told = [notice for notice in plan.notices if "may go to" in notice.what]
    assert [notice.weight for notice in told] == ["stop"]
    assert words in told[0].what


def test_a_piece_too_tall_for_the_small_kiln_goes_in_the_large_one() -> None:
    plan = plan_with([SMALL, LARGE], count=4, height="430 mm")
    assert plan.glaze_firing.in_kilns == "Large"
    with pytest.raises((WareboardError, Problems)):
        plan_with([SMALL], count=4, height="430 mm")


def test_the_bench_is_told_the_kiln_of_each_load_and_an_older_course_still_reads() -> None:
    plan = plan_with([LARGE, SMALL])
    kept = written(course_of(plan))
    course = read(kept)
    assert course is not None
    firing = course.firings["fired"]
    assert [firing.kiln_of(at) for at in range(1, plan.glaze_firing.firings + 1)] == [
        plan.glaze_firing.home(at).kiln.name for at in range(1, plan.glaze_firing.firings + 1)
    ]
    assert firing.kiln_of(0) == firing.kiln_of(99) == firing.kiln == "Large"
    for each in kept["firings"].values():
        del each["kilns"]
    older = read(kept)
    assert older is not None
    assert older.firings["fired"].kiln_of(1) == "Large"


def test_what_the_second_kilns_few_shelves_cost_is_told_as_the_firsts_is() -> None:
    """Count and arithmetic: with one shelf the small kiln is fired more often, each firing at its own energy and wear."""
    wear, wage = {"wear_per_firing": "30"}, {"wage_per_hour": "1"}
    cheap = SMALL | {"wear_per_firing": "1"}
    plan = plan_with([LARGE | wear, cheap | {"shelves": 1}], count=80, prices=wage)
    firing = plan.bisque
    small = [home for home in map(firing.home, range(1, firing.firings + 1)) if home.kiln.name == "Small"]
    assert firing.kiln.name == "Large"  # the kiln whose shelves were looked at alone
    assert len(small) > len(small[0].unstocked) > 0
    (told,) = (each for each in plan.notices if "kept within" in each.what)
    assert told.what.startswith("Loads in Small are kept within its shelves and posts")
    assert f"{len(small)} bisque firings, where {len(small[0].unstocked)} would do" in told.what
    assert "1 more shelf would be needed" in told.why
    more = len(small) - len(small[0].unstocked)
    hands_h = (default("minutes.load_bisque").value + default("minutes.unload").value) / 60.0
    each = small[0].energy.kwh * default("prices.energy_per_kwh").value + 1.0 + hands_h
    assert f"firing more often costs some {more * each:.2f} " in told.why
    enough = plan_with([LARGE | wear, cheap], count=80, prices=wage)
    assert not [each for each in enough.notices if "kept within" in each.what]


def test_shared_loads_that_are_cooled_slowly_show_the_energy_of_the_load_that_stays() -> None:
    """Definition: the working's lines are those of one load in the roomiest kiln, what holds its cooling back among them."""
    plan = plan_with([LARGE, SMALL], firing={"slow_cooling": True})
    firing = plan.glaze_firing
    assert firing.homes
    assert firing.energy.held is not None
    shown = [step for step in firing.steps if step.key in ("heating_kwh", "held_kwh", "firing_kwh")]
    assert shown == list(firing.energy.steps[-3:])
    assert {home.energy.held is not None for home in firing.homes} == {True}
