"""Forms of different sizes together on a shelf: against a published table, published loads, and the second checker.

Sources: radii 1 to N in a circle: the iterated tabu search for unequal circles (Zeng, Yu, He, Huang, Fu 2016, authors from
memory), table 4, and for N = 10 a computer-assisted proof, 22.00019301; plates in a load: 10 (8-12), derived by arithmetic
from L. Fagella, 2009 (30 plates took three firings).
"""

from __future__ import annotations

import math
import threading

import numpy as np
import pytest

from tests.kiln.layout_check import faults_of_plan
from wareboard.kiln.footprint import Footprint
from wareboard.kiln.load import KilnInside, LoadPiece, RectangularShelf, RoundShelf, plan_loads
from wareboard.kiln.piece_search import search_for_more_pieces
from wareboard.working import worked_out

BEST_KNOWN_RADIUS = {5: 9.00139774, 6: 11.05704039, 7: 13.46211067, 8: 16.22174667, 9: 19.2331939, 10: 22.00019301}
KILN = KilnInside(RoundShelf(530.0, 19.0), 680.0)
FOUR_SHELVES = KilnInside(RoundShelf(530.0, 19.0), 25.0 + 3 * (19.0 + 89.0) + 19.0 + 65.0 + 13.0)
# Invented: 120 pieces of four small forms.
SMALL_FORMS = [
    LoadPiece("dip bowl", 30, 70.0, 60.0),
    LoadPiece("beaker", 30, 78.0, 65.0),
    LoadPiece("egg cup", 30, 66.0, 62.0),
    LoadPiece("pinch pot", 30, 84.0, 58.0),
]
# Invented: plates that leave a rim of shelf free, and saucers that fit it.
PLATES_AND_SAUCERS = [
    LoadPiece("plate", 30, 265.0, 28.0),
    LoadPiece("cup", 60, 80.0, 60.0),
    LoadPiece("saucer", 60, 120.0, 22.0),
]


def counts(pieces: list[LoadPiece]) -> dict[str, int]:
    return {piece.form: piece.count for piece in pieces}


@pytest.mark.parametrize("n", BEST_KNOWN_RADIUS)
def test_discs_of_radius_one_to_n_go_into_the_best_known_circle(n: int) -> None:
    """A thousandth larger than the table; largest disc first."""
    shapes = [Footprint((0.0,), (float(radius),)) for radius in range(n, 0, -1)]
    floor = RoundShelf(2.0 * BEST_KNOWN_RADIUS[n] * 1.001, 19.0).floor()
    nothing = np.empty((0, 3))
    places, kinds = search_for_more_pieces(shapes, floor, 0.0, nothing, nothing, [], range(n), 5.0)
    assert sorted(kinds) == list(range(n))
    radius = np.array([shapes[kind].radius_mm[0] for kind in kinds])
    assert (np.hypot(places[:, 0], places[:, 1]) + radius <= floor.radius_mm + 1e-6).all()
    for i in range(n):
        for j in range(i):
            assert math.dist(places[i, :2], places[j, :2]) >= radius[i] + radius[j] - 1e-6


def test_a_hundred_and_twenty_mixed_pieces_stand_on_four_shelves() -> None:
    """One firing, which is also the bound; one form to a shelf needs two."""
    apart = plan_loads(SMALL_FORMS, FOUR_SHELVES)
    mixed = plan_loads(SMALL_FORMS, FOUR_SHELVES, seconds=0.2, mix=True)
    assert not faults_of_plan(mixed, counts(SMALL_FORMS))
    assert (apart.firings, mixed.firings, mixed.bound_firings) == (2, 1, 1)
    assert len(mixed.loads[0]) == 4


def test_mixing_takes_fewer_firings_where_one_form_leaves_room() -> None:
    apart = plan_loads(PLATES_AND_SAUCERS, KILN, seconds=0.05)
    mixed = plan_loads(PLATES_AND_SAUCERS, KILN, seconds=0.05, mix=True)
    assert not faults_of_plan(mixed, counts(PLATES_AND_SAUCERS))
    assert mixed.bound_firings <= mixed.firings < apart.firings
    assert mixed.bound_firings == apart.bound_firings


def test_mixed_handled_and_nested_pieces_are_sound_in_bisque() -> None:
    pieces = [
        LoadPiece("cup", 40, 92.0, 88.0, handle_reach_mm=32.0, handle_width_mm=20.0),
        LoadPiece("bowl", 30, 150.0, 70.0, nests=True),
        LoadPiece("saucer", 40, 140.0, 22.0, nests=True),
        LoadPiece("platter", 2, 380.0, 40.0),
    ]
    kiln = KilnInside(RectangularShelf(560.0, 480.0, 19.0), 600.0)
    plan = plan_loads(pieces, kiln, "bisque", seconds=0.05, mix=True)
    assert not faults_of_plan(plan, counts(pieces))
    for step in plan.steps:
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)


def test_plates_in_a_glaze_load_are_as_many_as_potters_report() -> None:
    """10.5 in (267 mm) plates, published range 8 to 12 a load; the kiln is the usual one of the defaults."""
    plan = plan_loads([LoadPiece("plate", 30, 262.0, 28.0)], KILN, "glaze")
    assert 8 <= plan.pieces_in_a_load("plate") <= 12
    assert plan.firings in (3, 4)


def test_told_to_stop_it_still_gives_a_whole_plan() -> None:
    stop = threading.Event()
    stop.set()
    seen: list[tuple[int, int]] = []
    plan = plan_loads(
        SMALL_FORMS, KILN, seconds=5.0, mix=True, stop=stop, progress=lambda done, of: seen.append((done, of))
    )
    assert not plan.complete
    assert seen[-1] == (4, 4)
    assert not faults_of_plan(plan, counts(SMALL_FORMS))
