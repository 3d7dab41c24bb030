"""Volumes, weights and areas against closed forms, a mesh library and a plain numerical integral."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.form.test_profile import CUP, SIZES
from tests.form.working import meets_its_working
from wareboard.errors import OutOfRange
from wareboard.form.profile import Profile, standard
from wareboard.form.vessel import (
    capacity_ml,
    centre_of_gravity_mm,
    clay_volume_mm3,
    describe,
    fill_height_mm,
    fired_weight_g,
    inner_area_mm2,
    outer_area_mm2,
    rim_area_mm2,
    underside_area_mm2,
)

NAMES = sorted(SIZES)


def drawn(name: str) -> Profile:
    return standard(name, *SIZES[name])


def test_the_worked_cup_meets_its_printed_figures() -> None:
    """Outside 88, inside 80, height 95, base 5: clay 125.412 cm3, brim 452.389 ml, 274.24 g at 2.18668 (worked apart)."""
    assert clay_volume_mm3(CUP) / 1000 == pytest.approx(125.412, abs=5e-4)
    assert capacity_ml(CUP) == pytest.approx(452.389, abs=5e-4)
    assert fired_weight_g(CUP, 2.18668) == pytest.approx(274.24, abs=0.005)


def test_the_wet_cup_shows_the_worked_areas() -> None:
    """Wet at 12.5 %: outside wall 343 cm2 (its foot's disc apart), inside 361 cm2 (worked apart)."""
    wet = CUP.scaled(1 / 0.875, 1 / 0.875)
    assert outer_area_mm2(wet) / 100 == pytest.approx(343, abs=0.5)
    assert inner_area_mm2(wet) / 100 == pytest.approx(361, abs=0.5)


def test_areas_of_the_cup_meet_the_cylinder() -> None:
    assert outer_area_mm2(CUP) == pytest.approx(math.pi * 88 * 95)
    assert outer_area_mm2(CUP, from_mm=6.0) == pytest.approx(math.pi * 88 * 89)
    assert outer_area_mm2(CUP, from_mm=6.0, to_mm=50.0) == pytest.approx(math.pi * 88 * 44)
    assert inner_area_mm2(CUP) == pytest.approx(math.pi * (80 * 90 + 40**2))
    assert inner_area_mm2(CUP, to_mm=50.0) == pytest.approx(math.pi * (80 * 45 + 40**2))
    assert underside_area_mm2(CUP) == pytest.approx(math.pi * 44**2)
    assert rim_area_mm2(CUP) == pytest.approx(math.pi * (44**2 - 40**2))


def test_a_cone_meets_its_third() -> None:
    """Inside a cone of radius 50 and depth 90: pi r^2 h / 3; its liquid's centre lies three quarters up (closed forms)."""
    cone = Profile(np.array([[0, 0], [0, 30], [100, 60]]), np.array([[10, 0], [100, 50]]))
    brim = math.pi * 50**2 * 90 / 3 / 1000
    assert capacity_ml(cone) == pytest.approx(brim)
    assert fill_height_mm(cone, brim / 8) == pytest.approx(10 + 45)
    # Clay so light that only the liquid counts.
    assert centre_of_gravity_mm(cone, brim, density_g_per_ml=1e-9) == pytest.approx(10 + 90 * 3 / 4)


def test_a_fine_bowl_meets_the_half_sphere() -> None:
    """Radii 100 outside and 90 inside: 2/3 pi r^3 each, inside 2 pi r^2, the liquid's centre 5/8 of r up (closed forms)."""
    turn = np.linspace(0.0, np.pi / 2, 721)
    half = np.column_stack([1 - np.cos(turn), np.sin(turn)])
    bowl = Profile(half * 100, half * 90 + np.array([10.0, 0.0]))
    assert capacity_ml(bowl) == pytest.approx(2 / 3 * math.pi * 90**3 / 1000, rel=1e-5)
    assert clay_volume_mm3(bowl) == pytest.approx(2 / 3 * math.pi * (100**3 - 90**3), rel=1e-5)
    assert inner_area_mm2(bowl) == pytest.approx(2 * math.pi * 90**2, rel=1e-5)
    full = centre_of_gravity_mm(bowl, capacity_ml(bowl), density_g_per_ml=1e-9)
    assert full == pytest.approx(10 + 90 * 5 / 8, rel=1e-5)
    # A cap of height h: pi h^2 (r - h / 3).
    assert capacity_ml(bowl, to_mm=40.0) == pytest.approx(math.pi * 30**2 * (90 - 10) / 1000, rel=1e-4)


def test_the_cups_centre_of_gravity_meets_the_moments_of_its_cylinders() -> None:
    """Whole cylinder less the inside cylinder (closed form); with 300 ml the two are weighed together."""
    outside, inside = math.pi * 44**2 * 95, math.pi * 40**2 * 90
    clay = (outside * 47.5 - inside * 50.0) / (outside - inside)
    assert centre_of_gravity_mm(CUP) == pytest.approx(clay)
    weight = (outside - inside) / 1000 * 2.25
    level = 300_000 / (math.pi * 40**2)
    both = (weight * clay + 300 * (5 + level / 2)) / (weight + 300)
    assert centre_of_gravity_mm(CUP, 300.0) == pytest.approx(both)
    assert centre_of_gravity_mm(CUP, 0.0) == pytest.approx(clay)


@pytest.mark.parametrize("name", NAMES)
def test_every_shape_meets_a_mesh_turned_by_another_library(name: str) -> None:
    """trimesh.creation.revolve of the same outline with 400 facets, which lie inside the circle.

    Regular facets lose a known share of a circle: area of the polygon over pi, so the mesh is compared after that is put
    back; volume and centre of mass meet to 1e-6.
    """
    profile = drawn(name)
    loop = np.vstack([profile.outer_mm, profile.inner_mm[::-1]])
    loop = loop[np.concatenate([[True], np.hypot(*np.diff(loop, axis=0).T) > 1e-9])]
    facets = 400
    mesh = trimesh.creation.revolve(loop[:, ::-1], sections=facets)
    polygon = facets / 2 * math.sin(2 * math.pi / facets) / math.pi
    assert mesh.is_watertight
    assert abs(mesh.volume) / polygon == pytest.approx(clay_volume_mm3(profile), rel=1e-6)
    assert mesh.center_mass[2] == pytest.approx(centre_of_gravity_mm(profile), rel=1e-6)
    area = sum(each(profile) for each in (outer_area_mm2, inner_area_mm2, underside_area_mm2, rim_area_mm2))
    assert mesh.area == pytest.approx(area, rel=1e-4)


@pytest.mark.parametrize("name", NAMES)
def test_capacity_meets_a_plain_sum_of_thin_discs(name: str) -> None:
    profile = drawn(name)
    heights, radii = profile.inner_mm[1:].T
    at = np.linspace(heights[0], heights[-1], 200_001)
    middles = (at[1:] + at[:-1]) / 2
    discs = np.pi * np.interp(middles, heights, radii) ** 2 * np.diff(at)
    assert capacity_ml(profile) == pytest.approx(discs.sum() / 1000, rel=1e-6)


@settings(max_examples=80)
@given(name=st.sampled_from(NAMES), first=st.floats(0.0, 1.0), second=st.floats(0.0, 1.0))
def test_capacity_rises_with_the_fill_and_filling_comes_back(name: str, first: float, second: float) -> None:
    profile = drawn(name)
    floor = profile.inner_mm[0, 0]
    low, high = sorted(float(floor + part * (profile.height_mm - floor)) for part in (first, second))
    assert capacity_ml(profile, low) <= capacity_ml(profile, high) * (1 + 1e-12)
    assert capacity_ml(profile, high) <= capacity_ml(profile) * (1 + 1e-12)
    held = capacity_ml(profile, high)
    assert fill_height_mm(profile, held) == pytest.approx(high, abs=1e-6)
    assert capacity_ml(profile, fill_height_mm(profile, first * capacity_ml(profile))) == pytest.approx(
        first * capacity_ml(profile), abs=1e-6
    )


def test_one_per_cent_larger_holds_three_per_cent_more() -> None:
    """1.01 cubed is 1.0303 (arithmetic)."""
    assert capacity_ml(CUP.scaled(1.01, 1.01)) / capacity_ml(CUP) == pytest.approx(1.0303, abs=5e-5)


def test_what_is_said_of_a_cup_shows_its_working_and_ranges() -> None:
    cup = describe(CUP, 2.25)
    meets_its_working(cup.steps)
    assert cup.capacity_ml == capacity_ml(CUP)
    assert (cup.rim_mm, cup.foot_mm, cup.widest_mm, cup.height_mm) == (88.0, 88.0, 88.0, 95.0)
    assert cup.fired_weight.low == pytest.approx(cup.fired_g * 2.1 / 2.25)
    # Scatter of fired capacity, standard deviation 3 to 6 %: common practice; the range is 1.645 of 4.5 %.
    assert (cup.capacity.high - cup.capacity_ml) / cup.capacity_ml == pytest.approx(1.645 * 0.045, abs=1e-4)
    own = describe(CUP, 2.25, density_low=2.2, density_high=2.3)
    assert own.fired_weight.high == pytest.approx(own.fired_g * 2.3 / 2.25)


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(OutOfRange, match=r"holds 452\.4 ml"):
        fill_height_mm(CUP, 500.0)
    with pytest.raises(OutOfRange, match="fill height is 3 mm"):
        capacity_ml(CUP, 3.0)
    with pytest.raises(OutOfRange, match="lower height first"):
        outer_area_mm2(CUP, 50.0, 40.0)
    with pytest.raises(OutOfRange, match="liquid is -1"):
        fill_height_mm(CUP, -1.0)
    with pytest.raises(OutOfRange, match="density"):
        fired_weight_g(CUP, float("nan"))
