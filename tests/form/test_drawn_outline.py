"""Outlines read from drawings, against closed forms and a general mesh library.

Source: volumes of cylinder, cone frustum and half ball (closed forms); Pappus: volume = area of the half section times the
way of its centroid, with shapely's polygon; trimesh's solid of revolution.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from shapely import Polygon

from wareboard.errors import OutOfRange, Unreadable
from wareboard.form.curve import Floats
from wareboard.form.drawn_outline import DrawnOutline, outline_of_svg
from wareboard.form.profile import from_points
from wareboard.form.traced import outline_svg

LINE = '<path d="{}"/>'


def svg(*parts: str, size: str = 'width="200mm" height="200mm" viewBox="0 0 200 200"') -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{"".join(parts)}</svg>'


def path(d: str) -> str:
    return LINE.format(d)


def filled_mm3(found: DrawnOutline) -> float:
    """Volume within the outside, by Pappus."""
    points = np.vstack([[0.0, 0.0], found.points_mm, [found.points_mm[-1, 0], 0.0]])
    half = Polygon(points)
    return float(2 * math.pi * half.centroid.y * half.area)


HALVES = {
    "right half, open": path("M100 150 H140 V60"),
    "drawn from the rim down": path("M140 60 V150 H100"),
    "left half, open": path("M100 150 H60 V60"),
    "an axis beside a wall and the edge of its foot": path("M130 150 H140 V60")
    + '<line x1="100" y1="40" x2="100" y2="170"/>',
    "both sides, open": path("M60 60 V150 H140 V60"),
    "both sides, closed": '<rect x="60" y="60" width="80" height="90"/>',
    "a section with its wall, closed": path("M100 150 H140 V60 H136 V145 H100 Z"),
    "a left section with its wall, closed": path("M100 150 H60 V60 H64 V145 H100 Z"),
    "a whole section with its wall": path("M60 60 V150 H140 V60 H136 V145 H64 V60 Z"),
    "moved and turned over by a transform": f'<g transform="translate(200 0) scale(-1 1)">{path("M100 150 H140 V60")}</g>',
}


@pytest.mark.parametrize("drawn", HALVES.values(), ids=HALVES.keys())
def test_a_cylinder_is_read_alike_however_it_is_drawn(drawn: str) -> None:
    """Closed form: pi r² h with r = 40 and h = 90 mm."""
    found = outline_of_svg(svg(drawn))
    assert found.points_mm[[0, -1]] == pytest.approx(np.array([[0.0, 40.0], [90.0, 40.0]]), abs=0.02)
    assert filled_mm3(found) == pytest.approx(math.pi * 40**2 * 90, rel=1e-3)


def test_a_cone_holds_its_closed_form_and_takes_a_known_height() -> None:
    """Closed form: pi h (a² + a b + b²) / 3; drawn at half size, its height said to be 100 mm."""
    found = outline_of_svg(svg(path("M100 150 H115 L130 100"), size='viewBox="0 0 200 200"'), 100.0)
    assert filled_mm3(found) == pytest.approx(math.pi * 100 * (30**2 + 30 * 60 + 60**2) / 3, rel=1e-6)


def test_half_a_ball_on_a_small_foot_meets_closed_form_pappus_and_trimesh() -> None:
    """Closed form: a spherical segment of two bases, pi h (3 a² + 3 b² + h²) / 6; the solid of revolution by trimesh."""
    ball, low = 50.0, math.sqrt(50.0**2 - 20.0**2)
    found = outline_of_svg(svg(path(f"M100 {100 + low} H120 A50 50 0 0 0 150 100")))
    wanted = math.pi * low * (3 * 20**2 + 3 * ball**2 + low**2) / 6
    assert filled_mm3(found) == pytest.approx(wanted, rel=1e-3)
    line: Floats = np.vstack([[0.0, 0.0], found.points_mm[:, ::-1], [0.0, found.points_mm[-1, 0]]])
    turned = trimesh.creation.revolve(line, sections=720)
    assert abs(turned.volume) == pytest.approx(wanted, rel=2e-3)


def test_what_was_read_goes_into_a_profile() -> None:
    found = outline_of_svg(svg(path("M100 150 H125 C145 140 145 90 140 60")))
    profile = from_points(found.points_mm, 4.0, 5.0)
    assert profile.height_mm == pytest.approx(90.0)
    assert profile.foot_mm == pytest.approx(50.0)


def test_a_recess_under_the_foot_is_left_out() -> None:
    found = outline_of_svg(svg(path("M100 145 H118 V150 H124 L140 60")))
    assert found.points_mm[0] == pytest.approx([0.0, 24.0], abs=0.01)
    assert found.points_mm[-1] == pytest.approx([90.0, 40.0], abs=0.01)


def test_a_life_size_outline_of_our_own_comes_back_within_its_figures() -> None:
    points = np.array([[0.0, 30.0], [20.0, 41.5], [60.0, 44.0], [95.0, 40.0]])
    handle = np.array([[20.0, 40.0], [30.0, 70.0], [70.0, 70.0], [80.0, 42.0]])
    found = outline_of_svg(outline_svg(points, handle))
    assert found.points_mm == pytest.approx(points, abs=0.02)
    assert any("2 lines are drawn; the longest" in note for note in found.notes)


def test_of_several_lines_the_longest_is_taken_and_said() -> None:
    found = outline_of_svg(svg(path("M100 150 H140 V60"), path("M10 10 H40 V30"), "<text>cup</text>"))
    assert found.points_mm[-1] == pytest.approx([90.0, 40.0])
    assert any("2 lines are drawn; the longest, 130 mm as drawn, is taken." in note for note in found.notes)
    assert any("words" in note for note in found.notes)


REFUSED = {
    "entities": ('<!DOCTYPE svg [<!ENTITY a "b">]>' + svg(path("M100 150 H140 V60")), "declares entities"),
    "a script": (svg("<script>alert(1)</script>", path("M100 150 H140 V60")), "a script"),
    "no lines": (svg("<text>cup</text>"), "no lines"),
    "no SVG": ("hello", "not SVG"),
    "a straight line": (svg(path("M100 150 V60")), "is straight"),
    "no size": (svg(path("M100 150 H140 V60"), size='viewBox="0 0 200 200"'), "states no size of its own"),
    "size in dots": (svg(path("M100 150 H140 V60"), size='width="200" height="200"'), "states no size of its own"),
    "doubling back": (svg(path("M100 150 H140 V80 L150 110 L160 60")), "doubles back at 78 %"),
    "over the axis": (
        svg(path("M100 150 H140 V60 H60 V80"), '<path d="M100 20 V190"/>'),
        "crosses the axis",
    ),
    "no foot on the axis": (svg(path("M120 150 L110 140 L140 60")), "nor a half whose foot begins on it"),
    "a wall alone": (svg(path("M130 150 L145 60")), "no foot to stand on"),
    "a ball without a mouth": (svg(path("M100 150 H110 L140 100 L100 60")), "has no mouth"),
    "a waist of nothing": (svg(path("M100 150 H140 L100 100 L140 60")), "meets the axis at 56 %"),
    "one side with a handle": (
        svg(path("M60 60 V150 H140 V130 H170 V80 H140 V60")),
        "nor a half whose foot begins on it",
    ),
}


@pytest.mark.parametrize(("text", "words"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_no_outline_is_refused_in_clear_words(text: str, words: str) -> None:
    with pytest.raises(Unreadable) as refused:
        outline_of_svg(text, name="cup.svg")
    assert words in str(refused.value)


def test_a_height_that_cannot_be_is_refused() -> None:
    for height in (0.0, -5.0, math.nan, math.inf):
        with pytest.raises(OutOfRange):
            outline_of_svg(svg(path("M100 150 H140 V60")), height)
