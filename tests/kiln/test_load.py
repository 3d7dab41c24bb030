"""Loads: every plan is read again by a plain second checker; counts against sums done by hand.

Rules: Loading a kiln - L&L Kilns, n.d.; Loading glazeware guidelines - 3rd Coast Clay, n.d.; common practice.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.kiln.layout_check import faults_of_plan
from wareboard.errors import OutOfRange
from wareboard.kiln.load import (
    HalfRoundShelf,
    KilnInside,
    LoadPiece,
    OctagonalShelf,
    RectangularShelf,
    RoundShelf,
    plan_loads,
)
from wareboard.working import worked_out

KILN = KilnInside(RoundShelf(530.0, 19.0), 680.0)
CUP = LoadPiece("cup", 60, 92.0, 88.0)
BOWL = LoadPiece("bowl", 20, 150.0, 70.0, nests=True)
PLATE = LoadPiece("plate", 8, 230.0, 28.0, nests=True)
JUG = LoadPiece("jug", 5, 120.0, 200.0, handle_reach_mm=40.0, handle_width_mm=20.0)
SET = [CUP, BOWL, PLATE, JUG]


def counts(pieces: list[LoadPiece]) -> dict[str, int]:
    return {piece.form: piece.count for piece in pieces}


@pytest.mark.parametrize("kind", ["bisque", "glaze"])
@pytest.mark.parametrize(
    "kiln",
    [
        KILN,
        KilnInside(RoundShelf(530.0, 19.0), 680.0, halves=True),
        KilnInside(RectangularShelf(600.0, 450.0, 19.0), 700.0),
        KilnInside(RectangularShelf(620.0, 560.0, 19.0), 700.0, halves=True),
        KilnInside(OctagonalShelf(530.0, 19.0), 680.0),
        KilnInside(OctagonalShelf(560.0, 19.0), 680.0, halves=True),
    ],
    ids=["round", "half rounds", "rectangle", "half rectangles", "octagon", "half octagons"],
)
def test_every_piece_stands_somewhere_and_none_touches_what_it_must_not(kiln: KilnInside, kind: str) -> None:
    plan = plan_loads(SET, kiln, kind)  # type: ignore[arg-type]
    assert not faults_of_plan(plan, counts(SET))
    assert plan.firings == len(plan.loads) >= plan.bound_firings >= 1


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(st.tuples(st.integers(0, 30), st.floats(60.0, 220.0), st.floats(15.0, 240.0)), min_size=1, max_size=4),
    st.sampled_from(["bisque", "glaze"]),
)
def test_any_mixed_order_is_loaded_soundly(sizes: list[tuple[int, float, float]], kind: str) -> None:
    pieces = [LoadPiece(f"form {i}", n, wide, tall, nests=i % 2 == 0) for i, (n, wide, tall) in enumerate(sizes)]
    plan = plan_loads(pieces, KILN, kind)  # type: ignore[arg-type]
    assert not faults_of_plan(plan, counts(pieces))
    assert plan.firings >= plan.bound_firings


def test_a_kiln_of_three_shelves_of_seven_takes_twenty_one() -> None:
    """By hand: ratio 3 holds seven; 3 shelves of 19 + 102 twice, then 19 + 88 + 13, need 362 and 25 below."""
    kiln = KilnInside(
        RoundShelf(312.0, 19.0),
        387.0,
        thermocouple=None,
        cone_pack=None,
        post_width_mm=0.0,
        post_inset_mm=0.0,
        wall_gap_mm=0.0,
    )
    plan = plan_loads([LoadPiece("tumbler", 22, 100.0, 88.0)], kiln, "glaze", 6.0)
    assert plan.pieces_in_a_load("tumbler") == 21
    assert plan.firings == 2
    assert {layout.post_mm for load in plan.loads for layout in load} == {102.0, 0.0}


def test_a_millimetre_less_height_takes_a_shelf_away() -> None:
    tight = KilnInside(RoundShelf(530.0, 19.0), 25.0 + 19.0 + 102.0 + 19.0 + 88.0 + 13.0)
    less = KilnInside(RoundShelf(530.0, 19.0), tight.usable_height_mm - 1.0)
    one_shelf = plan_loads([CUP], less).pieces_in_a_load("cup")
    assert plan_loads([CUP], tight).pieces_in_a_load("cup") == 2 * one_shelf


def test_nested_bisque_takes_about_one_and_a_half_times_the_glaze_load() -> None:
    """Common practice: bisque load over glaze load 1.5, usual range 1.2 to 2 (a rule of thumb, so a loose check)."""
    bowl = LoadPiece("bowl", 60, 150.0, 70.0, nests=True)
    glaze = plan_loads([bowl], KILN, "glaze").pieces_in_a_load("bowl")
    bisque = plan_loads([bowl], KILN, "bisque").pieces_in_a_load("bowl")
    assert 1.2 <= bisque / glaze <= 2.0


def test_glazed_pieces_never_stand_in_one_another() -> None:
    plan = plan_loads([BOWL, PLATE], KILN, "glaze")
    assert all((layout.stacked == 1).all() for load in plan.loads for layout in load)


def test_a_form_has_its_shelves_to_itself_but_for_the_remainders() -> None:
    plan = plan_loads(SET, KILN)
    shared = [layout for load in plan.loads for layout in load if len(layout.counts) > 1]
    assert len(shared) <= len(SET) - 1


@pytest.mark.parametrize("kind", ["bisque", "glaze"])
def test_no_form_is_strewn_over_more_shelves_than_it_would_need_alone(kind: str) -> None:
    plan = plan_loads(SET, KILN, kind)  # type: ignore[arg-type]
    for piece, alone in zip(SET, plan.by_form, strict=True):
        holding = sum(piece.form in layout.counts for load in plan.loads for layout in load)
        assert holding == math.ceil(piece.count / alone.pieces_on_a_shelf)


def test_a_set_over_two_firings_stands_on_like_levels() -> None:
    """S24: every level in equal numbers per setting; here two equal firings must look alike from the floor up."""
    alone = plan_loads([CUP, PLATE], KILN)
    cups, plates = (alone.by_form[k].pieces_on_a_shelf for k in (0, 1))
    pieces = [LoadPiece("cup", 6 * cups, 92.0, 88.0), LoadPiece("plate", 6 * plates, 230.0, 28.0)]
    plan = plan_loads(pieces, KILN)
    assert plan.firings == 2
    levels = [[tuple(layout.counts) for layout in load] for load in plan.loads]
    assert levels[0] == levels[1]


def test_a_platter_that_leaves_no_room_for_posts_goes_on_top() -> None:
    plan = plan_loads([LoadPiece("platter", 2, 420.0, 40.0), CUP], KILN)
    assert not faults_of_plan(plan, {"platter": 2, "cup": 60})
    for load in plan.loads:
        assert all("platter" not in layout.counts for layout in load[:-1])


def test_each_step_works_out_to_its_value() -> None:
    plan = plan_loads(SET, KILN)
    formulas = [step for step in plan.steps if step.formula]
    assert len(formulas) >= 8
    for step in formulas:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    assert all(step.formula or step.how for step in plan.steps)


def test_no_pieces_are_no_firings() -> None:
    plan = plan_loads([], KILN)
    assert (plan.firings, plan.bound_firings, plan.loads) == (0, 0, ())
    assert plan_loads([LoadPiece("cup", 0, 92.0, 88.0)], KILN).firings == 0


@pytest.mark.parametrize(
    ("piece", "kiln", "said"),
    [
        (LoadPiece("charger", 1, 540.0, 40.0), KILN, "charger is 540 mm wide.*larger kiln"),
        (LoadPiece("vase", 1, 120.0, 640.0), KILN, "vase is 640 mm tall.*taller kiln"),
        (
            LoadPiece("charger", 1, 400.0, 40.0),
            KilnInside(RoundShelf(530.0, 19.0), 680.0, halves=True),
            "charger is 400 mm wide.*whole shelves",
        ),
    ],
)
def test_what_does_not_go_in_is_refused_with_the_mend(piece: LoadPiece, kiln: KilnInside, said: str) -> None:
    with pytest.raises(OutOfRange, match=said):
        plan_loads([piece], kiln)


def test_glaze_without_a_gap_is_refused() -> None:
    with pytest.raises(OutOfRange, match="melt together"):
        plan_loads([CUP], KILN, "glaze", 0.0)


def test_bisque_may_touch() -> None:
    plan = plan_loads([CUP], KILN, "bisque", 0.0)
    assert not faults_of_plan(plan, {"cup": 60})


def test_a_form_given_twice_is_refused() -> None:
    with pytest.raises(OutOfRange, match="given twice"):
        plan_loads([CUP, CUP], KILN)


@pytest.mark.parametrize("bad", [-1.0, 0.0, math.nan, math.inf])
def test_odd_sizes_are_refused_by_name(bad: float) -> None:
    with pytest.raises(OutOfRange, match="the width of cup"):
        LoadPiece("cup", 1, bad, 88.0)
    with pytest.raises(OutOfRange, match="usable height"):
        KilnInside(HalfRoundShelf(530.0, 19.0), bad)


def test_the_same_order_gives_the_same_plan() -> None:
    first, second = plan_loads(SET, KILN), plan_loads(SET, KILN)
    for one, other in zip(first.loads, second.loads, strict=True):
        for a, b in zip(one, other, strict=True):
            assert a.forms == b.forms
            assert (a.centres_mm == b.centres_mm).all()
