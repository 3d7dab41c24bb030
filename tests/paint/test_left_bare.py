"""What a painting leaves bare at a handle, a spout and a lip: against closed forms on a cylinder."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wareboard.errors import OutOfRange
from wareboard.paint.laying import lay
from wareboard.paint.left_bare import LeftBare, bare_at, copy_bare, drawn_over, in_words, painted_areas_mm2

RADIUS, TALL = 40.0, 100.0
CYLINDER = [(0.0, RADIUS), (TALL, RADIUS)]
SHAPE = (400, 1200)
LABELS = np.zeros(SHAPE, int)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.0, 1.0), st.floats(8.0, 25.0), st.floats(8.0, 25.0), st.integers(1, 4))
def test_an_oval_takes_off_its_own_area_wherever_it_stands_and_however_often_the_artwork_goes_round(
    share: float, half_round: float, half_up: float, repeats: int
) -> None:
    """Area of an ellipse, pi a b; 2 % allowed for pixels of 0.2 by 0.25 mm."""
    laid = lay(CYLINDER, SHAPE, repeats=repeats)
    foot = LeftBare("spout's foot", share, 50.0, half_round, half_up)
    (left,) = painted_areas_mm2(laid, LABELS, [foot])
    whole = 2 * math.pi * RADIUS * TALL
    assert whole - left == pytest.approx(math.pi * half_round * half_up, rel=0.02)


def test_a_lip_takes_off_its_share_of_the_band_above_where_it_is_pulled() -> None:
    """By hand: a tenth of the way round, the upper 30 mm of 100, in a painting that stops 5 mm under the rim."""
    laid = lay(CYLINDER, SHAPE, off_rim_mm=5.0)
    lip = LeftBare("pulled lip", 0.5, 70.0, half_share=0.05)
    (left,) = painted_areas_mm2(laid, LABELS, [lip])
    assert 2 * math.pi * RADIUS * 95 - left == pytest.approx(0.1 * 2 * math.pi * RADIUS * 25, rel=0.01)


def test_what_lies_on_the_seam_is_left_bare_on_both_sides_of_it() -> None:
    laid = lay(CYLINDER, SHAPE, repeats=1)
    kept = copy_bare(laid, SHAPE, [LeftBare("handle's lower root", 0.0, 50.0, 10.0, 5.0)], 0)
    assert kept[:, 0].any()
    assert kept[:, -1].any()
    assert np.array_equal(kept, kept[:, ::-1])
    assert not kept[:, SHAPE[1] // 4 : 3 * SHAPE[1] // 4].any()


def test_it_is_said_where_it_lies_on_the_map_and_nothing_of_what_the_painting_does_not_reach() -> None:
    """By hand: pi x 80 = 251.3 mm round, twice 125.7; three quarters round is half of the second copy, 62.8 mm."""
    laid = lay(CYLINDER, SHAPE, off_foot_mm=20.0, off_rim_mm=10.0, repeats=2)
    foot = LeftBare("spout's foot", 0.75, 50.0, 12.0, 15.0)
    below = LeftBare("handle's lower root", 0.0, 10.0, 8.0, 4.0)
    spout, drawn = in_words(laid, SHAPE, [foot, below])
    assert spout == (
        "left bare where the spout's foot is: 24 mm round and 30 mm high, its middle 63 mm from the left edge of copy 2 "
        "of 2 and 40 mm down the map"
    )
    assert drawn == "what is left bare is drawn on the map in dashes"
    lip, _ = in_words(laid, SHAPE, [LeftBare("pulled lip", 0.0, 70.0, half_share=0.1)])
    assert "the top 20 mm of the map, 50 mm round at the rim, its middle at the left edge of copy 1 of 2" in lip


def test_the_dashes_on_the_map_are_as_large_as_the_oval_and_name_the_copy() -> None:
    """By hand: on a cylinder the map is true, so that the dashes are 24 mm by 30 mm round (62.8, 40) from the upper left."""
    laid = lay(CYLINDER, SHAPE, off_foot_mm=20.0, off_rim_mm=10.0, repeats=2)
    drawn = drawn_over(laid, SHAPE, [LeftBare("spout's foot", 0.75, 50.0, 12.0, 15.0)])
    path = re.search(r'd="M([^"]+)Z"', drawn)
    assert path
    points = np.array([[float(part) for part in point.split(",")] for point in path[1].split()])
    assert np.ptp(points, axis=0) == pytest.approx([24.0, 30.0], abs=0.6)
    assert (points.min(axis=0) + points.max(axis=0)) / 2 == pytest.approx([62.8, 40.0], abs=0.5)
    assert ">copy 2<" in drawn
    assert drawn_over(laid, SHAPE, []) == ""


def test_nothing_is_left_bare_where_there_is_nothing() -> None:
    laid = lay(CYLINDER, SHAPE)
    assert painted_areas_mm2(laid, LABELS, []) == pytest.approx(laid.areas_mm2(LABELS))
    assert not bare_at(laid, [], np.linspace(0, 1, 9)[None, :], np.linspace(0, TALL, 9)[:, None]).any()
    assert not bare_at(laid, [LeftBare("knob", 0.5, 50.0)], 0.5, 50.0).any()
    with pytest.raises(OutOfRange, match="knob"):
        LeftBare("knob", 0.5, 50.0, -1.0)
