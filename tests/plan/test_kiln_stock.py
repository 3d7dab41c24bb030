"""Witness cones by level, and shelves and posts counted against what the kiln has."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from wareboard.plan.brief import Brief
from wareboard.plan.compiling import compile
from wareboard.plan.kiln_stock import packs_on
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop
from wareboard.working import worked_out


def plan_with(**kiln: Any) -> Plan:
    brief = {
        "due": "2027-04-01",
        "clay": {},
        "forms": kiln.pop("forms", [{"name": "cup", "count": 60, "height": "95 mm"}]),
        "prices": kiln.pop("prices", {}),
        "kilns": [{"name": "Round", "usable_height": "680 mm", **kiln}],
    }
    return compile(Brief.model_validate(brief), Workshop(today=date(2026, 11, 25)), seconds=0.2)


def wants(plan: Plan) -> list[str]:
    return [notice.what for notice in plan.notices if " wants " in notice.what]


@pytest.mark.parametrize(
    ("levels", "kept"),
    [(["top", "bottom"], {"bottom", "top"}), (["middle"], {"middle"}), (["every"], None), (["none"], set())],
)
def test_packs_stand_on_the_wanted_levels_alone(levels: list[str], kept: set[str] | None) -> None:
    load = max(plan_with(cone_packs=levels).glaze_firing.loads.loads, key=len)
    assert len(load) >= 3
    with_packs = {layout.level for layout in load if layout.cone_packs}
    top = max(layout.level for layout in load)
    at = {"bottom": 0, "middle": top // 2, "top": top}
    assert with_packs == (set(range(top + 1)) if kept is None else {at[name] for name in kept})


def test_a_load_of_one_level_has_its_pack_whichever_is_asked() -> None:
    load = plan_with().glaze_firing.loads.loads[0][:1]
    for level in ("top", "middle", "bottom"):
        assert packs_on(load, [level])[0].cone_packs


def kept(plan: Plan) -> list[str]:
    return [str(notice.what) for notice in plan.notices if "kept within" in notice.what]


def test_loads_stay_within_the_shelves_and_two_half_ones_do_for_one() -> None:
    free = plan_with()
    most = max(len(load) for load in free.glaze_firing.loads.loads)
    tight = plan_with(shelves=most - 1)
    for firing in (tight.bisque, tight.glaze_firing):
        assert max(len(load) for load in firing.loads.loads) <= most - 1
    assert counted(tight) == counted(free)
    more = tight.glaze_firing.firings - free.glaze_firing.firings
    assert more >= 1
    (told,) = kept(tight)
    assert f"{tight.glaze_firing.firings} glaze firings, where {free.glaze_firing.firings} would do" in told
    assert not [words for words in kept(plan_with(shelves=most - 1, half_shelves=2)) if "glaze" in words]
    assert not kept(free)


def counted(plan: Plan) -> int:
    return sum(layout.pieces for load in plan.glaze_firing.loads.loads for layout in load)


def test_half_shelves_are_counted_in_a_kiln_of_halves() -> None:
    plan = plan_with(shape="half-round", half_shelves=3)
    assert max(len(load) for load in plan.glaze_firing.loads.loads) <= 3
    assert counted(plan) == counted(plan_with(shape="half-round"))


def test_no_shelf_at_all_is_told_and_the_loads_are_as_with_enough() -> None:
    plan = plan_with(shelves=0)
    assert any("shelves, and there are 0" in words for words in wants(plan))


def test_the_cheaper_way_out_of_a_shortage_is_the_one_that_costs_less() -> None:
    """Arithmetic: energy, wear and hands of the firings more, against so many shelves at their usual price."""
    dear = plan_with(shelves=1, wear_per_firing="900")
    notice = next(each for each in dear.notices if "kept within" in each.what)
    assert notice.mend.startswith("Buying them costs less")
    most = max(len(load) for load in plan_with().glaze_firing.loads.loads)
    low = {"wage_per_hour": "1.00", "energy_per_kwh": "0.05"}
    cheap = plan_with(shelves=most - 1, wear_per_firing="1", prices=low)
    notice = next(each for each in cheap.notices if "kept within" in each.what)
    assert notice.mend.startswith("Firing more often costs less")
    assert "1 more shelves" not in notice.why


def test_the_bound_counts_the_shelves_owned_and_is_never_over_what_is_planned() -> None:
    """Law: fewer shelves never make fewer firings possible; with one a load, firings are at least pieces over the most."""
    free = plan_with().glaze_firing.loads
    for shelves in (1, 2, 3):
        tight = plan_with(shelves=shelves).glaze_firing
        assert free.bound_firings <= tight.loads.bound_firings <= tight.firings
        for step in tight.loads.steps:
            assert not step.formula or worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    assert plan_with(shelves=1).glaze_firing.loads.bound_firings > free.bound_firings


def test_posts_are_counted_three_to_a_shelf_by_length_and_taller_ones_taken_where_they_run_out() -> None:
    """Common practice: three posts carry a shelf."""
    plan = plan_with(posts_owned=["3 x 130 mm", "6 x 140 mm"])
    for load in plan.glaze_firing.loads.loads:
        posts = [layout.post_mm for layout in load if layout.post_mm]
        assert posts.count(130.0) <= 1
        assert posts.count(140.0) <= 2
        assert set(posts) <= {130.0, 140.0}
    assert not wants(plan)
    assert not kept(plan_with(posts_owned=["60 x 130 mm"]))


def test_a_height_made_of_two_posts_takes_both() -> None:
    plan = plan_with(posts_owned=["6 x 65 mm"])
    load = max(plan.glaze_firing.loads.loads, key=len)
    assert [layout.post_mm for layout in load] == [130.0, 0.0]
    assert any("more posts of 65 mm" in notice.why for notice in plan.notices)


def test_a_firing_is_shared_over_what_stands_on_the_shelves_that_there_are() -> None:
    """Count: with two shelves a kiln of nothing else holds two shelves of it, low cups and tall jars alike, so that a firing
    is shared by how many go on a shelf alone; with three posts no more than two shelves stand either.
    """
    forms = [{"name": "cup", "count": 40, "height": "80 mm"}, {"name": "jar", "count": 12, "height": "180 mm"}]
    free, two, posts = (
        plan_with(forms=forms, **owned) for owned in ({}, {"shelves": 2}, {"posts_owned": ["3 x 250 mm"]})
    )
    for name in ("cup", "jar"):
        on_one = next(each for each in two.glaze_firing.loads.by_form if each.form == name).pieces_on_a_shelf
        assert two.glaze_firing.loads.pieces_in_a_load(name) == 2 * on_one
        assert posts.glaze_firing.loads.pieces_in_a_load(name) == 2 * on_one
        assert free.glaze_firing.loads.pieces_in_a_load(name) >= 2 * on_one
    for plan in (free, two, posts):
        for step in plan.glaze_firing.loads.steps:
            assert not step.formula or worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    assert _share_of_cups(two) > _share_of_cups(
        free
    )  # on two shelves the low ones no longer gain by standing close above one another


def _share_of_cups(plan: Plan) -> float:
    loads = plan.glaze_firing.loads
    cup, jar = (count / loads.pieces_in_a_load(name) for name, count in (("cup", 40), ("jar", 12)))
    return cup / (cup + jar)
