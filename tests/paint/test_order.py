"""The order of coats: every rule kept, or the rules in the way named. Tiles and rules are invented."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.paint.invented_tiles import TILES, tile
from wareboard.errors import OutOfRange
from wareboard.paint.coats import Coat, coats_needed
from wareboard.paint.order import (
    Before,
    KeptOff,
    NeverOver,
    Order,
    Reach,
    order_of_coats,
    reaches,
    usual_rules,
)

COATS = coats_needed(TILES)


def glazes(order: Order) -> list[str]:
    return [coat.glaze for coat in order.coats]


def test_what_lies_beneath_goes_on_first_and_light_before_dark() -> None:
    found = order_of_coats(COATS, TILES)
    names = glazes(found)
    assert names.index("iron red") < names.index("celadon")
    assert names.index("sky") < names.index("black")
    assert len(found.why) == len(names)
    assert "lies over iron red" in found.why[names.index("celadon")]
    assert not found.broken


def test_the_workshops_rules_are_kept() -> None:
    rules = [Before("black", "honey"), NeverOver("leaf", "deep blue", "it crawls there")]
    names = glazes(order_of_coats(COATS, TILES, rules))
    assert names.index("black") < names.index("honey")
    assert names.index("leaf") < names.index("deep blue"), "where they lap, leaf then lies beneath"


GLAZES = [coat.glaze for coat in COATS]
PAIRS = st.lists(st.tuples(st.sampled_from(GLAZES), st.sampled_from(GLAZES)).filter(lambda p: p[0] != p[1]), max_size=8)


@given(PAIRS)
def test_an_order_keeps_every_rule_or_there_is_none(pairs: list[tuple[str, str]]) -> None:
    """By closing the rules here: an order exists when, followed on, they never lead back to themselves."""
    rules = [Before(first, then) for first, then in pairs]
    found = order_of_coats(COATS, TILES, rules)
    wanted = {(first, then) for first, then in pairs} | {("iron red", "celadon")}
    reached = {glaze: {glaze} for glaze in GLAZES}
    for _ in GLAZES:
        for first, then in wanted:
            for sources in reached.values():
                if first in sources:
                    sources.add(then)
    circle = any(first in reached[then] for first, then in wanted)
    if circle:
        assert not found.coats
        assert "Strike one" in found.broken[-1].mend
    else:
        names = glazes(found)
        assert sorted(names) == sorted(GLAZES)
        assert all(names.index(first) < names.index(then) for first, then in wanted)


def test_rules_that_chase_one_another_are_named() -> None:
    rules = [Before("honey", "sky", "it bleeds"), Before("sky", "leaf"), Before("leaf", "honey", "our habit")]
    found = order_of_coats(COATS, TILES, rules)
    assert found.coats == ()
    said = found.broken[-1]
    for rule in rules:
        assert rule.words in said.rule
    assert "iron red" not in said.rule


def test_a_tile_stacked_the_forbidden_way_is_named_and_the_rest_still_ordered() -> None:
    found = order_of_coats(COATS, TILES, [NeverOver("celadon", "iron red", "it blisters")])
    assert len(found.coats) == len(COATS)
    assert "celadon over iron red" in found.broken[0].how


def test_what_runs_is_kept_off_rim_and_foot_by_the_figures_of_the_trade() -> None:
    """Glaze line 3 to 6 mm above the foot: common practice."""
    running = [tile("blue", (34, 8, -40), runs=True), tile("honey", (60, 15, 48))]
    coats = coats_needed(running)
    rules = usual_rules(running)
    assert {(rule.glaze, rule.part) for rule in rules if isinstance(rule, KeptOff)} == {
        ("blue", "rim"),
        ("blue", "foot"),
    }
    near = [Reach(2.0, 40.0) if coat.glaze == "blue" else Reach(0.0, 0.0) for coat in coats]
    (only,) = order_of_coats(coats, running, rules, near).broken
    assert "within 2.0 mm of the foot" in only.how
    assert "4.0 mm away" in only.mend
    assert not order_of_coats(coats, running, rules, [Reach(30, 30)] * 2).broken
    assert not order_of_coats(coats, running, rules).broken


def test_runny_over_runny_is_said() -> None:
    both = [tile("a", (50, 0, 0), runs=True), tile("ba", (60, 0, 0), glaze="b", over="a", over_coats=3, runs=True)]
    assert any("runs" in each.rule for each in order_of_coats(coats_needed(both), both).broken)


def test_how_near_a_coat_comes_is_read_off_the_map() -> None:
    """Ten rows of 2 mm, the coat in rows 3 to 6, the artwork 5 mm above the foot and 1 mm below the rim: by hand."""
    two = [tile("ground", (80, 0, 0)), tile("blue", (34, 8, -40))]
    labels = np.zeros((10, 4), dtype=np.int32)
    labels[3:7, 1] = 1
    ground, blue = reaches(coats_needed(two), two, labels, 2.0, 5.0, 1.0)
    assert blue == Reach(5.0 + 3 * 2.0, 1.0 + 3 * 2.0)
    assert ground == Reach(5.0, 1.0)
    (nowhere,) = reaches([Coat("none", 1, (), ("absent",))], two, labels, 2.0, 5.0, 1.0)
    assert nowhere.foot_mm == np.inf


def test_a_part_that_there_is_not_is_refused() -> None:
    with pytest.raises(OutOfRange, match="belly"):
        KeptOff("blue", "belly", 5.0)
    with pytest.raises(OutOfRange, match="kept off"):
        KeptOff("blue", "foot", -1.0)
