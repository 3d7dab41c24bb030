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


def plan_with(**kiln: Any) -> Plan:
    brief = {
        "due": "2027-04-01",
        "clay": {},
        "forms": [{"name": "cup", "count": 60, "height": "95 mm"}],
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


def test_too_few_shelves_are_told_and_two_half_ones_do_for_one() -> None:
    most = max(len(load) for load in plan_with().glaze_firing.loads.loads)
    assert any(
        f"wants {most} shelves, and there are {most - 1}" in words for words in wants(plan_with(shelves=most - 1))
    )
    assert not [words for words in wants(plan_with(shelves=most - 1, half_shelves=2)) if words.startswith("Glaze")]
    assert not wants(plan_with())


def test_half_shelves_are_counted_in_a_kiln_of_halves() -> None:
    assert any(
        "half shelves, and there are 1" in words for words in wants(plan_with(shape="half-round", half_shelves=1))
    )


def test_posts_are_counted_three_to_a_shelf_by_length() -> None:
    """Common practice: three posts carry a shelf."""
    plan = plan_with(posts_owned=["3 x 130 mm"])
    load = max(plan.glaze_firing.loads.loads, key=len)
    carried = sum(layout.post_mm == 130.0 for layout in load)
    assert carried >= 2
    assert any(f"wants {3 * carried} posts of 130 mm, and there are 3" in words for words in wants(plan))
    assert not wants(plan_with(posts_owned=["60 x 130 mm"]))


def test_a_height_made_of_two_posts_wants_both() -> None:
    plan = plan_with(posts_owned=["3 x 65 mm"])
    carried = sum(layout.post_mm == 130.0 for layout in max(plan.glaze_firing.loads.loads, key=len))
    assert carried >= 2
    assert any(f"wants {6 * carried} posts of 65 mm, and there are 3" in words for words in wants(plan))
