"""Handled pieces: bodies and straps never touch, read again with shapely; more stand than their circles would allow."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point
from shapely.ops import unary_union

from tests.kiln.layout_check import faults_of_plan, outline
from tests.kiln.layout_check import footprint as drawn
from wareboard.kiln.footprint import footprint
from wareboard.kiln.load import (
    HalfRoundShelf,
    HandledStanding,
    KilnInside,
    LoadPiece,
    RectangularShelf,
    RoundShelf,
    most_handled_that_fit,
    plan_loads,
)

CUPS = [(92.0, 32.0, 20.0), (80.0, 38.0, 15.0), (110.0, 40.0, 25.0)]
SHELVES = [RoundShelf(530.0, 19.0), RectangularShelf(600.0, 450.0, 19.0), HalfRoundShelf(560.0, 19.0)]


def faults(standing: HandledStanding, cup: tuple[float, float, float], gap_mm: float) -> list[str]:
    """Pairs too close and pieces over the edge, by shapely and from the pieces' own measurements."""
    n = standing.count
    layout = SimpleNamespace(
        centres_mm=standing.centres_mm,
        handle_angles_deg=standing.handle_angles_deg,
        diameters_mm=np.full(n, cup[0]),
        handle_reach_mm=np.full(n, cup[1]),
        handle_width_mm=np.full(n, cup[2]),
    )
    shapes = [drawn(layout, i) for i in range(n)]  # type: ignore[arg-type]
    found = [
        f"{i} is over the edge"
        for i, shape in enumerate(shapes)
        if not outline(standing.shelf).buffer(5e-3).contains(shape)
    ]
    for i in range(n):
        for j in range(i):
            gap = shapes[i].distance(shapes[j])
            if gap < gap_mm - 5e-3:
                found.append(f"{j} and {i} are {gap} mm apart")
    return found


@pytest.mark.parametrize("cup", CUPS, ids=str)
@pytest.mark.parametrize("shelf", SHELVES, ids=lambda shelf: shelf.name)
@pytest.mark.parametrize("seconds", [0.0, 0.2])
def test_a_tenth_more_stand_than_their_circles_and_none_touch(
    cup: tuple[float, float, float], shelf: RoundShelf, seconds: float
) -> None:
    standing = most_handled_that_fit(*cup, shelf, 6.0, seconds)
    assert standing.count >= 1.1 * standing.as_circles
    assert standing.count <= standing.bound
    assert not faults(standing, cup, 6.0)


@given(st.floats(30.0, 200.0), st.floats(0.5, 80.0), st.floats(3.0, 60.0))
@settings(max_examples=40, deadline=None)
def test_the_discs_cover_body_and_strap(body: float, reach: float, width: float) -> None:
    """Union of the discs against body and round-ended strap drawn by shapely; the reach is exact."""
    shape = footprint(body, reach, width)
    discs = unary_union(
        [Point(out, 0).buffer(r, quad_segs=64) for out, r in zip(shape.out_mm, shape.radius_mm, strict=True)]
    )
    half = min(width, body) / 2.0
    strap = LineString([(0.0, 0.0), (body / 2.0 + reach - half, 0.0)]).buffer(half, quad_segs=64)
    piece = Point(0, 0).buffer(body / 2.0, quad_segs=64).union(strap)
    assert piece.difference(discs.buffer(0.02)).area == pytest.approx(0.0, abs=1e-6)
    assert shape.reach_mm == pytest.approx(body / 2.0 + reach)


def test_without_a_handle_it_is_a_round_piece() -> None:
    """Seven circles in three times their size, as for plain pieces."""
    standing = most_handled_that_fit(100.0, 0.0, 0.0, RoundShelf(300.0, 19.0), 0.0, 0.0)
    assert standing.count == standing.bound == 7


def test_two_cups_face_to_face_need_only_their_bodies_room_across() -> None:
    """By hand: 100 wide, gap 6: a shelf 206 deep and long enough for handles holds two side by side."""
    shelf = RectangularShelf(145.0, 206.0 + 1e-6, 19.0)
    assert most_handled_that_fit(100.0, 40.0, 20.0, shelf, 6.0, 1.0).count == 2


@pytest.mark.parametrize("kind", ["bisque", "glaze"])
def test_handled_pieces_among_others_are_loaded_soundly(kind: str) -> None:
    pieces = [
        LoadPiece("cup", 31, 92.0, 88.0, handle_reach_mm=32.0, handle_width_mm=20.0),
        LoadPiece("jug", 4, 120.0, 200.0, handle_reach_mm=40.0),
        LoadPiece("bowl", 9, 150.0, 70.0, nests=True),
    ]
    plan = plan_loads(pieces, KilnInside(RoundShelf(530.0, 19.0), 680.0), kind)  # type: ignore[arg-type]
    assert not faults_of_plan(plan, {"cup": 31, "jug": 4, "bowl": 9})


def test_a_handle_of_unknown_width_is_given_the_usual_strap() -> None:
    assert LoadPiece("cup", 1, 92.0, 88.0, handle_reach_mm=32.0).strap_mm > 0.0
    assert LoadPiece("cup", 1, 92.0, 88.0).strap_mm == 0.0


@pytest.mark.parametrize("bad", [-1.0, math.nan])
def test_odd_handles_are_refused_by_name(bad: float) -> None:
    with pytest.raises(ValueError, match="the handle's reach"):
        most_handled_that_fit(92.0, bad, 20.0, SHELVES[0])


@given(st.floats(40.0, 200.0), st.floats(5.0, 60.0), st.floats(5.0, 35.0), st.floats(0.0, 10.0))
def test_the_floor_that_a_piece_is_counted_for_is_no_more_than_it_covers(
    body: float, reach: float, strap: float, gap: float
) -> None:
    """Area of the union of body and strap with half the gap round it, by shapely 2 (a general library)."""
    from shapely.geometry import Point, box

    shape = (
        Point(0.0, 0.0).buffer(body / 2.0, quad_segs=64).union(box(0.0, -strap / 2.0, body / 2.0 + reach, strap / 2.0))
    )
    covered = shape.buffer(gap / 2.0, quad_segs=64).area
    counted = LoadPiece("cup", 1, body, 90.0, handle_reach_mm=reach, handle_width_mm=strap).least_floor_mm2(gap)
    assert counted <= covered * 1.0005
    assert counted >= 0.9 * covered
