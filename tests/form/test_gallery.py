"""Galleries, the lids that go in them, knobs and moisture, against trimesh, shapely and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from wareboard.clay.moisture import CLAY_SOLIDS_G_PER_ML, wetter
from wareboard.errors import OutOfRange
from wareboard.form.gallery import Gallery, LidOn, knob_loop_mm, lid_in, seat_of, with_gallery
from wareboard.form.handle import lid
from wareboard.form.profile import Profile, standard
from wareboard.form.section import section_svg
from wareboard.form.solid import lid_parts, revolved, solid
from wareboard.form.vessel import clay_volume_mm3
from wareboard.working import worked_out

GALLERY = Gallery(6.0, 7.0)


@pytest.mark.parametrize("name", ["cylinder", "lidded jar", "teapot", "taper"])
def test_a_gallery_has_the_width_and_depth_that_were_asked_and_the_lid_goes_in(name: str) -> None:
    """shapely: the half sections of body and lid touch along the ledge and share no area, with the gap on both sides."""
    body = standard(name, 120.0, 90.0, 80.0, wall_mm=4.0)
    pot = with_gallery(body, GALLERY)
    seat = seat_of(pot, GALLERY)
    assert seat.throat_mm == pytest.approx(seat.mouth_mm - 12.0)
    assert seat.height_mm == pytest.approx(113.0)
    assert 2 * pot.radius_at_mm(110.0, inside=True) == pytest.approx(seat.throat_mm, abs=1e-6)
    made = lid_in(seat, 1.5, 24.0, 4.0, 4.5, 0.35)
    assert made.widest_mm == pytest.approx(seat.mouth_mm - 1.5)
    assert 2 * made.outer_mm[-1, 1] == pytest.approx(seat.throat_mm - 1.5)
    wall = Polygon(np.vstack([pot.outer_mm, pot.inner_mm[::-1]])[:, ::-1])
    on = Polygon(LidOn(made, seat.height_mm).loops_mm()[0][:, ::-1])
    assert wall.is_valid
    assert on.is_valid
    assert wall.intersection(on).area < 1e-6
    assert wall.distance(on) < 1e-6
    assert np.allclose(pot.outer_mm, body.outer_mm)


def test_the_clay_of_a_gallery_in_an_upright_wall_is_a_ring_and_a_slope() -> None:
    """Pappus: a rectangle of ledge by wall and a right triangle under it, turned about the centre line."""
    cup = Profile(np.array([[0, 50], [120, 50]], float), np.array([[6, 46], [120, 46]], float))
    more = clay_volume_mm3(with_gallery(cup, Gallery(6.0, 10.0))) - clay_volume_mm3(cup)
    ring = math.pi * (46**2 - 40**2) * 4.0
    slope = 6 * 6 / 2 * 2 * math.pi * (46 - 6 / 3)
    assert more == pytest.approx(ring + slope, rel=1e-9)


@given(wide=st.floats(2.0, 12.0), deep=st.floats(5.5, 20.0))
@settings(max_examples=40, deadline=None)
def test_a_body_with_a_gallery_is_one_closed_solid(wide: float, deep: float) -> None:
    pot = with_gallery(standard("teapot", 130.0, 90.0), Gallery(wide, deep))
    (part,) = solid(pot).parts
    mesh = trimesh.Trimesh(part.points_mm, part.faces, process=False)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(clay_volume_mm3(pot), rel=1e-9)


def test_lid_and_knob_are_closed_and_a_knob_is_an_ellipsoid() -> None:
    """pi / 6 w^2 h (any table of solids), drawn with 33 points to a few in a thousand."""
    pot = with_gallery(standard("teapot", 110.0, 80.0), GALLERY)
    seat = seat_of(pot, GALLERY)
    made = lid_in(seat, 1.5, 22.0, 4.0, 4.5, 0.35)
    parts = lid_parts(made, seat.height_mm, (24.0, 18.0))
    assert [part.name for part in parts] == ["lid", "knob"]
    for part in parts:
        assert trimesh.Trimesh(part.points_mm, part.faces, process=False).is_watertight
    knob = parts[1]
    assert knob.volume_mm3 == pytest.approx(math.pi / 6 * 24.0**2 * 18.0, rel=5e-3)
    assert np.ptp(knob.points_mm[:, 2]) == pytest.approx(18.0)
    assert LidOn(made, seat.height_mm, (24.0, 18.0)).top_mm == pytest.approx(knob.points_mm[:, 2].max())
    assert revolved("knob", knob_loop_mm(24.0, 18.0, 0.0)).volume_mm3 > 0
    clay = lid(made.widest_mm, 22.0, 4.0, 4.5, knob_mm=24.0, knob_height_mm=18.0, profile=made)
    assert clay.clay_volume_mm3 == pytest.approx(clay_volume_mm3(made) + math.pi / 6 * 24.0**2 * 18.0)


def test_wetter_clay_shrinks_more_by_the_water_that_its_pores_held() -> None:
    """One g of dry clay and its water as a cube: its side goes by the cube root of the volume (closed form)."""
    step = wetter(0.12, 0.20, 0.23)
    assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    side = [(1 / CLAY_SOLIDS_G_PER_ML + w / (1 - w)) ** (1 / 3) for w in (0.20, 0.23)]
    fired = 0.88 * side[0]
    assert step.value == pytest.approx(1 - fired / side[1])
    assert step.value > 0.12
    assert wetter(0.12, 0.20, 0.20).value == pytest.approx(0.12)
    with pytest.raises(OutOfRange, match="water of the lid"):
        wetter(0.12, 0.20, 1.2)


def test_the_section_shows_the_lid_where_it_sits() -> None:
    pot = with_gallery(standard("teapot", 110.0, 80.0), GALLERY)
    seat = seat_of(pot, GALLERY)
    on = LidOn(lid_in(seat, 1.5, 22.0, 4.0, 4.5, 0.35), seat.height_mm, (24.0, 18.0))
    drawn = section_svg(pot, lid=on)
    assert drawn.count('class="lid"') == 2
    assert drawn.count('class="lid-seen"') == 2
    dome = on.seen_mm(pot.height_mm)[0]
    assert dome[:, 0].min() == pytest.approx(110.0)
    assert "nan" not in drawn.lower()


def test_a_lid_on_a_piece_lower_than_its_lip_sits_on_the_rim() -> None:
    low = standard("bowl", 15.5, 91.9, wall_mm=5.0, floor_mm=6.0)
    seat = seat_of(low, None)
    assert 0 < seat.mouth_mm < 91.9
    assert seat.height_mm == pytest.approx(15.5)


def test_galleries_that_cannot_be_are_refused_with_their_mend() -> None:
    body = standard("lidded jar", 120.0, 90.0)
    with pytest.raises(OutOfRange, match="ledge of the gallery"):
        Gallery(0.0, 7.0)
    with pytest.raises(OutOfRange, match="rounded lip"):
        with_gallery(body, Gallery(6.0, 1.0))
    with pytest.raises(OutOfRange, match="closes it"):
        with_gallery(body, Gallery(60.0, 8.0))
    with pytest.raises(OutOfRange, match="into the floor"):
        with_gallery(standard("cylinder", 40.0, 120.0), Gallery(25.0, 8.0))
