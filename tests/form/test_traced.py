"""Few points for a smooth line, against closed forms and a distance found by shapely."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats, smooth_through
from wareboard.form.traced import few_points, points_for_a_smooth_line


def filled_mm3(line: Floats) -> float:
    """Volume within a line of (height, radius) turned about its axis: the sum of frustums, pi h (a² + a b + b²) / 3."""
    (low, a), (high, b) = line[:-1].T, line[1:].T
    return float((math.pi * (high - low) * (a**2 + a * b + b**2) / 3).sum())


def test_two_cones_that_meet_in_an_edge_keep_their_closed_form() -> None:
    """Closed form: two frustums. Through the three corners alone the smooth line holds several per cent too much."""
    corners = np.array([[0.0, 30.0], [40.0, 60.0], [90.0, 40.0]])
    wanted = math.pi * (40 * (30**2 + 30 * 60 + 60**2) + 50 * (60**2 + 60 * 40 + 40**2)) / 3
    assert abs(filled_mm3(smooth_through(few_points(corners), 400)) / wanted - 1) > 0.02
    kept = points_for_a_smooth_line(corners)
    assert filled_mm3(smooth_through(kept, 400)) == pytest.approx(wanted, rel=0.003)


def test_a_straight_side_stays_two_points_and_a_round_one_few() -> None:
    assert len(points_for_a_smooth_line([[0.0, 40.0], [45.0, 40.0], [90.0, 40.0]])) == 2
    turn = np.linspace(0.3, math.pi / 2, 200)
    ball = np.column_stack([50 * (math.cos(0.3) - np.cos(turn)), 50 * np.sin(turn)])
    assert len(points_for_a_smooth_line(ball)) < 12


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(0.0, 15.0), st.floats(10.0, 90.0)), min_size=2, max_size=9))
def test_the_smooth_line_keeps_within_what_was_asked_or_uses_all_its_points(rows: list[tuple[float, float]]) -> None:
    """Distances by shapely, from the outline's own places to the smooth line."""
    heights = np.concatenate([[0.0], np.cumsum([2.0 + step for step, _ in rows])[:-1]])
    outline = np.column_stack([heights, [radius for _, radius in rows]])
    kept = points_for_a_smooth_line(outline, 0.5, 30)
    assert len(kept) <= 30
    assert (np.diff(kept[:, 0]) >= 0).all()
    assert kept[[0, -1]] == pytest.approx(outline[[0, -1]])
    line = LineString(smooth_through(kept, 2000) if len(kept) > 2 else kept)
    fine = LineString(outline).segmentize(0.5)
    off = max(
        line.distance(each) for each in (LineString([a, b]) for a, b in zip(fine.coords, fine.coords[1:], strict=False))
    )
    assert off < 0.75 or len(kept) == 30


def test_an_outline_of_very_many_points_that_shake_is_read_too() -> None:
    """A cylinder that shakes by a tenth of a millimetre: it holds pi r² h."""
    heights = np.linspace(0.0, 90.0, 60_000)
    shaking = np.column_stack([heights, 40.0 + 0.1 * (-1.0) ** np.arange(60_000)])
    kept = points_for_a_smooth_line(shaking)
    assert len(kept) <= 38
    assert filled_mm3(smooth_through(kept, 400) if len(kept) > 2 else kept) == pytest.approx(
        math.pi * 40**2 * 90, rel=0.01
    )


def test_what_cannot_be_is_refused() -> None:
    for given_points, within, most in (
        ([[0.0, 1.0]], 0.3, 9),
        ([[0.0, 1.0], [9.0, 1.0]], 0.0, 9),
        ([[0.0, 1.0], [9.0, 1.0]], 0.3, 1),
    ):
        with pytest.raises(OutOfRange):
            points_for_a_smooth_line(given_points, within, most)


def test_few_points_keep_within_what_is_asked_and_keep_the_ends() -> None:
    """Closed form: a quarter circle of 50 mm; an arc of n chords sags 50 (1 - cos(90°/2n)), so 0.3 mm takes 8 chords."""
    turn = np.linspace(0.0, np.pi / 2, 400)
    line = np.column_stack([50 * np.sin(turn), 50 * np.cos(turn) + 10])
    few = few_points(line, 0.3)
    assert np.array_equal(few[[0, -1]], line[[0, -1]])
    assert 8 <= len(few) <= 20
    radius = np.interp(line[:300, 0], few[:, 0], few[:, 1])
    assert np.abs(radius - line[:300, 1]).max() < 0.9
