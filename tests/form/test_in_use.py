"""Balance, stacking and fit against trimesh, closed forms, a hand's arithmetic and scipy's normal distribution."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from scipy import stats

from tests.form.working import meets_its_working
from wareboard.errors import OutOfRange
from wareboard.form.balance import balance, handle_centre_mm
from wareboard.form.fit import lid_fit, spout_tip
from wareboard.form.handle import strap
from wareboard.form.profile import Profile, standard
from wareboard.form.roots import finger_room_mm, line_of
from wareboard.form.solid import revolved, solid
from wareboard.form.stacking import rise_mm, stack
from wareboard.form.vessel import capacity_ml
from wareboard.working import Estimate

CUP = standard("belly", 78.0, 80.0, 50.0, 85.0)
HANDLE = strap(56.0, 26.0, 18.0, 7.0)


def test_the_centre_of_an_empty_cup_is_where_a_mesh_has_it() -> None:
    """trimesh's centre of mass of the closed body and handle together; the handle's ends differ by what they are sunk."""
    meshes = [trimesh.Trimesh(part.points_mm, part.faces, process=False) for part in solid(CUP, HANDLE).parts]
    weights = np.array([mesh.volume for mesh in meshes])
    centre = (np.array([mesh.center_mass for mesh in meshes]) * weights[:, None]).sum(axis=0) / weights.sum()
    held = balance(CUP, HANDLE, density_g_per_ml=2.0)
    assert held.out_mm == pytest.approx(centre[0], abs=0.06)
    assert held.up_mm == pytest.approx(centre[2], abs=0.1)
    assert held.weight_g == pytest.approx(2.0 * weights.sum() / 1000, rel=0.002)
    assert abs(centre[1]) < 1e-4


def test_the_centre_of_a_full_cup_is_where_meshes_of_clay_and_water_have_it() -> None:
    """trimesh again, with the water as a solid of the inside."""
    water = revolved("water", np.vstack([CUP.inner_mm, [[CUP.height_mm, 0.0]]]))
    parts = [(part, 2.25) for part in solid(CUP, HANDLE).parts] + [(water, 1.0)]
    meshes = [(trimesh.Trimesh(part.points_mm, part.faces, process=False), density) for part, density in parts]
    weights = np.array([mesh.volume * density / 1000 for mesh, density in meshes])
    centre = (np.array([mesh.center_mass for mesh, _ in meshes]) * weights[:, None]).sum(axis=0) / weights.sum()
    held = balance(CUP, HANDLE, capacity_ml(CUP))
    assert held.weight_g == pytest.approx(weights.sum(), rel=0.002)
    assert (held.out_mm, held.up_mm) == pytest.approx((centre[0], centre[2]), abs=0.1)
    meets_its_working(held.steps)


def test_a_thin_even_handle_has_the_centre_of_half_an_ellipse() -> None:
    """A half circle of wire has its centre 2 r / pi from its diameter (closed form)."""
    # As tall as twice its reach, so that its middle line is a half circle of radius 30 standing on a straight wall.
    wire = strap(61.0, 29.5, 1.0, 1.0, taper=1.0)
    wall = standard("cylinder", 90.0, 80.0)
    up, out = handle_centre_mm(wall, wire)
    assert up == pytest.approx(45.0, abs=1e-6)
    assert out == pytest.approx(40.0 + 2 * 30.0 / math.pi, rel=1e-3)


def test_the_wrist_holds_weight_times_distance() -> None:
    """0.5 kg held 50 mm from its centre: 0.5 * 9.80665 * 0.05 N m (statics)."""
    held = balance(CUP, HANDLE, 100.0)
    assert held.turning_n_m == pytest.approx(held.weight_g / 1000 * 9.80665 * (held.grip_out_mm - held.out_mm) / 1000)
    assert held.grip_out_mm == pytest.approx(line_of(CUP, HANDLE)[:, 1].max())
    assert 0 < held.hangs_deg < 90


def test_on_a_straight_wall_the_room_for_fingers_is_the_gap_and_on_a_belly_less() -> None:
    """By construction: the gap is drawn from the wall to the inner face, less the taper that thins the handle lower down."""
    even = strap(56.0, 26.0, 18.0, 7.0, taper=1.0)
    assert finger_room_mm(standard("cylinder", 90.0, 80.0), even) == pytest.approx(26.0, abs=0.01)
    assert finger_room_mm(CUP, even) < 26.0


def straight(height: float, foot: float, rim: float, wall: float, floor: float) -> Profile:
    """A cone standing on its narrow end, its wall measured level."""
    at = foot + (rim - foot) * floor / height
    return Profile(np.array([[0, foot], [height, rim]]), np.array([[floor, at - wall], [height, rim - wall]]))


def test_cones_nest_until_their_walls_touch_or_the_floor_is_reached() -> None:
    """Level wall w and slope k: they touch when one is raised w / k (similar triangles); never below the floor."""
    steep = straight(100.0, 30.0, 50.0, 4.0, 6.0)
    assert rise_mm(steep) == pytest.approx(4.0 / 0.2, abs=1e-4)
    open_wide = straight(60.0, 30.0, 90.0, 4.0, 6.0)
    assert rise_mm(open_wide) == pytest.approx(6.0, abs=1e-4)
    three = stack(open_wide, 3)
    assert three.height_mm == pytest.approx(60.0 + 2 * 6.0, abs=0.1)
    assert (three.nests, three.rests_on) == (True, "the floor")
    meets_its_working(three.steps)


def test_a_cylinder_stands_on_the_rim_and_a_handle_keeps_a_cone_out() -> None:
    """A straight wall is wider than its own mouth; a handle from 20 mm up goes no further than that into the one below."""
    assert rise_mm(Profile(np.array([[0, 40], [90, 40.0]]), np.array([[5, 36], [90, 36.0]]))) == pytest.approx(90.0)
    cone = straight(100.0, 30.0, 50.0, 4.0, 6.0)
    held = stack(cone, 2, handle_from_mm=20.0)
    assert held.rise_mm == pytest.approx(80.0)
    assert "handle" in held.rests_on
    with pytest.raises(OutOfRange, match="0 pieces"):
        stack(cone, 0)


@pytest.mark.parametrize("name", ["bowl", "plate", "taper", "belly", "cylinder"])
def test_two_stacked_sections_do_not_cut_each_other_and_would_if_pushed_further(name: str) -> None:
    """shapely: the clay's half sections share no area at the rise, and do half a mm lower."""
    from shapely import Polygon
    from shapely.affinity import translate

    profile = standard(name, *{"bowl": (60.0, 150.0), "plate": (22.0, 180.0)}.get(name, (90.0, 80.0)))
    clay = Polygon(np.vstack([profile.outer_mm, profile.inner_mm[::-1]])[:, ::-1])
    rise = rise_mm(profile)
    assert clay.intersection(translate(clay, 0.0, rise + 0.01)).area < 0.02
    assert clay.intersection(translate(clay, 0.0, rise - 0.5)).area > 0.05


BODY, LID = Estimate(0.12, 0.11, 0.13, "own"), Estimate(0.125, 0.115, 0.135, "own")


def test_a_lid_fits_as_often_as_two_normal_errors_leave_it_room() -> None:
    """scipy's normal distribution and a hundred thousand draws; 1.645 deviations to each end of nine in ten."""
    fit = lid_fit(100.0, 99.0, BODY, LID)
    play = 100.0 * 0.88 - 99.0 * 0.875
    deviation = 0.01 / stats.norm.ppf(0.95) * math.hypot(100.0, 99.0)
    assert fit.play.value == pytest.approx(play)
    assert (fit.play.low, fit.play.high) == pytest.approx(stats.norm(play, deviation).interval(0.9), rel=1e-6)
    assert fit.goes_in == pytest.approx(stats.norm.sf(0, play, deviation), rel=1e-9)
    draw = np.random.default_rng(7)
    gone = [draw.normal(each.value, 0.01 / stats.norm.ppf(0.95), 100_000) for each in (BODY, LID)]
    assert fit.goes_in == pytest.approx(np.mean(100.0 * (1 - gone[0]) > 99.0 * (1 - gone[1])), abs=0.005)
    thrown = lid_fit(100.0, fit.flange_wet_mm, BODY, LID)
    assert thrown.play.value == pytest.approx(1.5)
    meets_its_working(fit.steps)


def test_a_spouts_tip_is_reckoned_by_hand() -> None:
    """60 mm up at 12 %: 52.8; 80 mm at 30 degrees rises 40, at 12.5 %: 35; over a level of 80: 7.8 mm above it."""
    tip = spout_tip(60.0, 80.0, 30.0, BODY, LID, 80.0)
    assert tip.value == pytest.approx(52.8 + 35.0 - 80.0)
    half = 0.01 * math.hypot(60.0, 40.0)
    assert tip.low == pytest.approx(tip.value - half)
    meets_its_working([tip])
    with pytest.raises(OutOfRange, match="lean"):
        spout_tip(60.0, 80.0, 120.0, BODY, LID, 80.0)


@pytest.mark.parametrize("odd", [math.nan, -1.0, 0.0, math.inf])
def test_odd_lengths_are_refused_by_name(odd: float) -> None:
    with pytest.raises(OutOfRange, match="mouth"):
        lid_fit(odd, 99.0, BODY, LID)
    with pytest.raises(OutOfRange, match="join"):
        spout_tip(odd, 80.0, 30.0, BODY, LID, 80.0)
