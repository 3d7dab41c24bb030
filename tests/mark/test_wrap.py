"""Walls laid flat: against closed forms for cylinder, cone and sphere, and against laws of maps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmarks import mark_on_a_wall
from wareboard.errors import OutOfRange
from wareboard.form.profile import standard
from wareboard.mark import wrap
from wareboard.mark.distortion import distortion, picture_svg
from wareboard.mark.wall import wall_of
from wareboard.working import worked_out

CYLINDER = [(0.0, 45.0), (95.0, 45.0)]
CONE = [(0.0, 30.0), (80.0, 54.0)]
NARROWING = [(0.0, 54.0), (80.0, 30.0)]


def sphere(radius: float = 60.0, steps: int = 400) -> np.ndarray:
    """A ball of 60 mm with its caps off, finely drawn."""
    rise = np.linspace(-1.2, 1.2, steps)
    return np.column_stack([radius * (np.sin(rise) - np.sin(-1.2)), radius * np.cos(rise)])


def on_wall(heights: np.ndarray, angles: np.ndarray, profile: list[tuple[float, float]]) -> np.ndarray:
    radii = np.interp(heights, *zip(*profile, strict=True))
    return np.column_stack([radii * np.cos(angles), radii * np.sin(angles), heights])


def test_a_cylinder_unrolls_to_arc_length_and_height() -> None:
    """Closed form: x = R times the angle, y = height."""
    heights, angles = np.linspace(0, 95, 25), np.linspace(-3.1, 3.1, 25)
    flat = wrap.unroll(on_wall(heights, angles, CYLINDER), CYLINDER)
    assert flat == pytest.approx(np.column_stack([45.0 * angles, heights]), rel=1e-12, abs=1e-11)


@pytest.mark.parametrize("wall", [CONE, NARROWING])
def test_distances_on_a_cone_are_those_of_its_flat_sector(wall: list[tuple[float, float]]) -> None:
    """Closed form: with slant rho from the apex and lean sine n, d^2 = rho1^2 + rho2^2 - 2 rho1 rho2 cos(n dtheta)."""
    rng = np.random.default_rng(3)
    heights, angles = rng.uniform(0, 80, (2, 40)), rng.uniform(-1.5, 1.5, (2, 40))
    slant, sine = np.hypot(80, 24), 24 / np.hypot(80, 24)
    rho = np.interp(heights, *zip(*wall, strict=True)) / sine
    wanted = np.sqrt(rho[0] ** 2 + rho[1] ** 2 - 2 * rho[0] * rho[1] * np.cos(sine * (angles[0] - angles[1])))
    flat = [wrap.unroll(on_wall(h, a, wall), wall) for h, a in zip(heights, angles, strict=True)]
    assert np.hypot(*(flat[0] - flat[1]).T) == pytest.approx(wanted, rel=1e-9)
    assert slant == pytest.approx(wall_of(wall).length_mm, rel=1e-14)


@given(st.floats(1.0, 400.0), st.floats(1.0, 400.0), st.floats(1.0, 400.0), st.floats(0.0, 1.0), st.floats(-3.14, 3.14))
def test_developable_walls_go_there_and_back(height: float, foot: float, rim: float, part: float, angle: float) -> None:
    wall = [(0.0, foot), (height, rim)]
    point = on_wall(np.array([part * height]), np.array([angle]), wall)
    size = max(height, foot, rim)
    assert wrap.roll(wrap.unroll(point, wall), wall) == pytest.approx(point, abs=1e-9 * size)


def test_a_cone_to_a_point_and_a_flat_ring_unroll_too() -> None:
    for wall in ([(0.0, 0.0), (80.0, 40.0)], [(0.0, 20.0), (0.0, 120.0)]):
        heights, radii = np.array(wall).T
        part = np.linspace(0.1, 1.0, 9)
        angles = np.linspace(-3, 3, 9)
        radius, height = radii[0] + part * np.ptp(radii), heights[0] + part * np.ptp(heights)
        points = np.column_stack([radius * np.cos(angles), radius * np.sin(angles), height])
        flat = wrap.unroll(points, wall)
        assert wrap.roll(flat, wall) == pytest.approx(points, abs=1e-8)
    # A flat ring is its own unrolling: distances across it stay.
    assert np.hypot(*(flat[0] - flat[8])) == pytest.approx(np.linalg.norm(points[0] - points[8]), rel=1e-9)


def test_the_same_points_are_the_same_on_paper_with_and_without_a_patch_round_them_on_a_straight_wall() -> None:
    points = on_wall(np.linspace(30, 60, 7), np.linspace(-0.4, 0.4, 7), CONE)
    along = wall_of(CONE).along_at_mm
    part = wrap.patch(CONE, along(25), along(65), 20.0)
    assert part.exact
    assert wrap.unroll(points, CONE, part) == pytest.approx(wrap.unroll(points, CONE), abs=1e-9)


@pytest.mark.parametrize("name", ["belly", "bowl", "taper", "cylinder", "jug"])
def test_curved_pieces_go_there_and_back_with_and_without_a_patch(name: str) -> None:
    piece = standard(name, 95, 88)
    wall = wall_of(piece)
    middle = wall.length_mm / 2
    part = wrap.patch(piece, middle - 15, middle + 15, 20.0, centre_deg=110.0)
    along, angle = np.meshgrid(np.linspace(middle - 15, middle + 15, 9), np.linspace(-1, 1, 9) * part.half_angle)
    points = part.places_at(along.ravel(), angle.ravel())
    for each in (part, None):
        assert wrap.roll(wrap.unroll(points, piece, each), piece, each) == pytest.approx(points, abs=1e-7)


def test_a_ball_is_flattened_in_the_way_that_spreads_the_scale_least() -> None:
    """A round cap of angle d on a ball: Chebyshev's map is stereographic, scales spread by 1 / cos^2(d / 2).

    Source: Milnor 1969. A square patch with half side d lies between the caps inside and around it.
    """
    ball = sphere()
    wall = wall_of(ball)
    middle = wall.length_mm / 2
    part = wrap.patch(ball, middle - 18, middle + 18, 18.0)
    found = distortion(part)
    spread = found.largest / found.smallest
    inner, outer = (1 / np.cos(d / 60 / 2) ** 2 for d in (18.0, 18.0 * np.sqrt(2)))
    assert inner < spread < outer
    assert found.largest - 1 == pytest.approx(1 - found.smallest, rel=0.05)
    assert found.angle_worst_deg < 0.01


@pytest.mark.parametrize("title", mark_on_a_wall.WALLS)
def test_areas_give_no_more_than_in_least_squares_conformal_maps(title: str) -> None:
    """LSCM (Lévy and others 2002) on 3200 triangles, written out on its own and solved by scipy; both at their best size.

    Angles are kept by both up to the mesh, whose chords leave about a tenth of a degree on either: hence 3 %.
    """
    name, low, high, half = mark_on_a_wall.WALLS[title]
    part = wrap.patch(mark_on_a_wall.wall(name), low, high, half)
    ours = mark_on_a_wall.measured(part, mark_on_a_wall.mesh_of(part))
    theirs = mark_on_a_wall.measured(part, mark_on_a_wall.lscm(part))
    assert ours[0] <= theirs[0] * 1.005
    assert ours[1] <= theirs[1] * 1.005
    assert ours[5] <= theirs[5] * 1.03
    assert distortion(part).angle_worst_deg < 1e-3


def test_a_whole_ball_in_one_map_is_mercator_about_its_widest() -> None:
    """Snyder 1987 p. 41: on a ball the cylindrical map true in shape has scale proportional to 1 / cos(latitude)."""
    part = wrap.whole_side(sphere())
    latitudes = np.linspace(-1.0, 1.0, 9)
    along = np.interp(latitudes, [-1.2, 1.2], [0.0, part.wall.length_mm])
    scale = part.scale_at(along, np.zeros(9))
    assert scale * np.cos(latitudes) == pytest.approx(np.full(9, scale[4]), rel=2e-4)


def test_distortion_says_nothing_is_stretched_on_a_straight_wall_and_shows_its_working() -> None:
    flat = distortion(wrap.patch(CONE, 20, 60, 30.0))
    assert max(flat.length_worst, flat.area_worst) < 1e-8
    assert "nothing is stretched" in flat.words
    curved = distortion(wrap.patch(sphere(), 50, 94, 25.0))
    assert curved.length_worst == pytest.approx(curved.area_worst / 2, rel=0.05)
    assert f"{100 * curved.length_worst:.1f} %" in curved.words
    for step in curved.steps:
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)


def test_the_picture_of_distortion_is_life_size_and_numbered() -> None:
    from xml.etree import ElementTree as ET

    part = wrap.patch(sphere(), 50, 94, 25.0)
    drawing = picture_svg(part)
    root = ET.fromstring(drawing)
    assert drawing == picture_svg(part)
    size = np.ptp(part.flat_at(*wrap.edge_of(50, 94, part.half_angle)), axis=0) + 6.0
    assert [float((root.get(side) or "").removesuffix("mm")) for side in ("width", "height")] == pytest.approx(
        size, abs=0.05
    )
    assert len(list(root.iter("{http://www.w3.org/2000/svg}text"))) == 36


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: wrap.unroll([(45.0, 0.0)], CYLINDER), "n, 3"),
        (lambda: wrap.unroll([(50.0, 0.0, 20.0)], CYLINDER), "off the wall"),
        (lambda: wrap.unroll([(np.nan, 0.0, 20.0)], CYLINDER), "finite"),
        (lambda: wrap.roll([(0.0, 96.0)], CYLINDER), "past the rim"),
        (lambda: wrap.roll([(142.0, 50.0)], CYLINDER), "half way round"),
        (lambda: wrap.roll([(0.0, np.inf)], CYLINDER), "finite"),
        (lambda: wrap.patch(CYLINDER, 50, 97, 10), "off the foot and the rim"),
        (lambda: wrap.patch(CYLINDER, 50, 60, 150), "once round"),
        (lambda: wrap.patch(CYLINDER, 50, 60, float("nan")), "once round"),
        (lambda: wall_of([(0.0, 10.0), (5.0, 0.0), (9.0, 4.0)]), "centre line"),
        (lambda: wall_of([(0.0, 10.0, 2.0)]), "height, radius"),
    ],
)
def test_what_cannot_be_laid_is_refused_in_words(call, match: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=match):
        call()
