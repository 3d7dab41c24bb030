"""Pulled lips and thrown spouts against trimesh, shapely, closed forms and trigonometry."""

from __future__ import annotations

import math
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from wareboard.errors import OutOfRange
from wareboard.form.fit import spout_tip
from wareboard.form.from_above import from_above_svg
from wareboard.form.handle import strap
from wareboard.form.lip import PulledLip, half_turn_rad, lip_steps, pours_at_mm, pulled, throat_ml
from wareboard.form.poured import held_ml, spout_part
from wareboard.form.profile import Profile, standard
from wareboard.form.section import section_svg
from wareboard.form.solid import Part, solid
from wareboard.form.solid_files import glb, stl
from wareboard.form.spout import (
    ThrownSpout,
    placed,
    spout_clay,
    spout_pours_at_mm,
    spout_steps,
)
from wareboard.form.vessel import capacity_ml, clay_volume_mm3
from wareboard.working import Estimate, worked_out

JUG = standard("jug", 180.0, 90.0)
LIP = PulledLip(14.0, 40.0, 45.0, 4.0)
POT = standard("lidded jar", 120.0, 90.0)
SPOUT = placed(118.0, 40.0, 19.0, 4.0, join_mm=52.0, holes=12, hole_mm=5.0)
SVG = "{http://www.w3.org/2000/svg}"


def as_mesh(part: Part) -> trimesh.Trimesh:
    return trimesh.Trimesh(part.points_mm, part.faces, process=False)


def below(mesh: trimesh.Trimesh, level_mm: float) -> float:
    """Volume of a closed body under a level, mm3: its faces cut there; seen from the level, its lid counts nothing."""
    cut = mesh.slice_plane([0, 0, level_mm], [0, 0, -1])
    a, b, c = (cut.triangles[:, corner] - [0, 0, level_mm] for corner in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


@pytest.mark.parametrize("fine", [True, False])
@pytest.mark.parametrize("name", ["jug", "cylinder", "belly", "taper", "bowl"])
def test_a_body_with_a_lip_is_closed_and_keeps_the_clay_of_its_wall(name: str, fine: bool) -> None:
    """trimesh: closed, and of the volume that the round profile has, for no clay is added (continuity)."""
    profile = standard(name, 120.0, 90.0)
    body = as_mesh(solid(profile, lip=PulledLip(12.0, 38.0, 30.0, 3.0), fine=fine, sides=180).parts[0])
    assert body.is_watertight
    assert body.is_winding_consistent
    assert body.body_count == 1
    assert body.volume == pytest.approx(clay_volume_mm3(profile), rel=1e-4 if fine else 0.02)


@given(out=st.floats(2.0, 25.0), width=st.floats(15.0, 80.0), down=st.floats(15.0, 100.0), dip=st.floats(0.0, 0.44))
@settings(max_examples=25, deadline=None)
def test_no_pull_makes_or_loses_clay(out: float, width: float, down: float, dip: float) -> None:
    """Pulling moves clay: the solid's volume stays that of the round wall, whatever the lip (continuity)."""
    body = as_mesh(solid(JUG, lip=PulledLip(out, width, down, dip * down), sides=240).parts[0])
    assert body.is_watertight
    assert body.volume == pytest.approx(clay_volume_mm3(JUG), rel=2e-3)


def test_the_lip_reaches_as_far_as_it_is_pulled_and_its_edge_is_the_lowest_of_the_rim() -> None:
    """Arithmetic on what was asked: a rim of 90 mm, 14 mm out, 4 mm down from 180, 40 mm wide."""
    crest = pulled(JUG, LIP, JUG.outer_mm[-2:], np.array([1.0]))[0, -1]
    assert crest[0] == pytest.approx(176.0)
    assert pours_at_mm(JUG, LIP) == 176.0
    body = as_mesh(solid(JUG, lip=LIP, sides=720).parts[0])
    rim = body.vertices[body.vertices[:, 2] > 180.0 - LIP.down_mm]
    assert -rim[:, 0].min() == pytest.approx(45.0 + 14.0, abs=0.05)
    # Chord of the rim that it takes up: 2 r sin(half the angle).
    assert 2 * 45.0 * math.sin(half_turn_rad(JUG, LIP)) == pytest.approx(40.0)


def test_the_throat_holds_what_trimesh_finds_in_the_drawn_inside() -> None:
    """The inside as a solid of its own, cut level where it pours; less the round inside up to there (frusta)."""
    inside = np.vstack([JUG.inner_mm, [[JUG.height_mm, 0.0]]])
    from wareboard.form.poured import lipped_body

    cavity = as_mesh(lipped_body(JUG, LIP, inside, 720))
    held = below(cavity, pours_at_mm(JUG, LIP))
    round_ml = capacity_ml(JUG, pours_at_mm(JUG, LIP))
    assert held / 1000 == pytest.approx(round_ml + throat_ml(JUG, LIP), rel=2e-4)
    assert held / 1000 - round_ml == pytest.approx(throat_ml(JUG, LIP), rel=0.06)


@pytest.mark.parametrize("fine", [True, False])
def test_a_spout_is_a_closed_tube_joined_within_the_wall(fine: bool) -> None:
    """trimesh: closed and wound one way; a tube has the Euler number 0 of a ring."""
    tube = as_mesh(spout_part(POT, SPOUT, fine))
    assert tube.is_watertight
    assert tube.is_winding_consistent
    assert tube.body_count == 1
    assert tube.euler_number == 0
    assert tube.volume > 0
    assert tube.bounds[1, 2] == pytest.approx(118.0, abs=1e-6)  # a level cut
    foot = tube.vertices[np.hypot(tube.vertices[:, 0], tube.vertices[:, 1]) < POT.widest_mm / 2 - 0.2]
    assert len(foot) > 10


def test_a_straight_spout_on_an_upright_wall_has_the_clay_of_a_tube() -> None:
    """pi (R^2 - r^2) L (closed form): on a wall so wide that it is flat, with a cut square to it."""
    wall = Profile(np.array([[0, 4000], [400, 4000]], float), np.array([[5, 3990], [400, 3990]], float))
    tube = ThrownSpout(120.0, 150.0, 35.0, 30.0, 30.0, 4.0, 55.0)
    assert spout_part(wall, tube).volume_mm3 == pytest.approx(math.pi * (15**2 - 11**2) * 150.0, rel=5e-3)
    assert held_ml(wall, tube, 500.0) == pytest.approx(math.pi * 11**2 * 150.0 / 1000, rel=5e-3)
    # Up to a level the middle line is (level - join) / sin(rake) long (Cavalieri: a slanted cut keeps the mean).
    long = 60.0 / math.sin(math.radians(35.0))
    assert held_ml(wall, tube, 180.0) == pytest.approx(math.pi * 11**2 * long / 1000, rel=5e-3)


def test_the_spout_holds_what_trimesh_finds_in_its_bore() -> None:
    level = 100.0
    tube = as_mesh(spout_part(POT, SPOUT))
    clay = below(tube, level)
    hull_of_bore = held_ml(POT, SPOUT, level)
    # What the outer skin encloses below the level less the clay below it is the bore.
    solid_spout = ThrownSpout(52.0, SPOUT.length_mm, 50.0, 40.0, 19.0, 1e-3)
    outside = held_ml(POT, solid_spout, level) * 1000
    assert outside - clay == pytest.approx(1000 * hull_of_bore, rel=0.01)


@given(rake=st.floats(25.0, 75.0), cut=st.floats(-4.0, 40.0), full=st.floats(80.0, 160.0))
@settings(max_examples=60, deadline=None)
def test_whatever_is_left_out_brings_the_tip_to_the_full_level(rake: float, cut: float, full: float) -> None:
    """Liquid stands level in joined vessels; each of the three is solved for and put back (trigonometry)."""
    by_length = placed(full, 40.0, 18.0, 4.0, join_mm=50.0, rake_deg=rake, cut_deg=cut)
    assert spout_pours_at_mm(by_length) == pytest.approx(full, abs=1e-9)
    by_join = placed(full, 40.0, 18.0, 4.0, length_mm=by_length.length_mm, rake_deg=rake, cut_deg=cut)
    assert by_join.join_mm == pytest.approx(50.0, abs=1e-6)
    by_rake = placed(full, 40.0, 18.0, 4.0, join_mm=50.0, length_mm=by_length.length_mm, cut_deg=cut)
    assert spout_pours_at_mm(by_rake) == pytest.approx(full, abs=1e-6)


def test_the_lowest_place_of_the_cut_is_that_of_the_drawn_bore() -> None:
    """The bore's own lowest point at the cut, read from the mesh's last ring."""
    spout = ThrownSpout(55.0, 90.0, 45.0, 40.0, 20.0, 4.0, 20.0)
    rings = spout_part(POT, spout).points_mm.reshape(2, -1, 48, 3)
    bore_at_cut = rings[1][0]
    assert spout_pours_at_mm(spout) == pytest.approx(bore_at_cut[:, 2].min(), abs=0.05)
    assert spout_pours_at_mm(spout) == pytest.approx(
        55 + 90 * math.sin(math.radians(45)) - 6 * math.sin(math.radians(20)) / math.sin(math.radians(65))
    )


def test_shrunk_alike_the_tip_stands_as_far_above_the_level_at_every_stage() -> None:
    """fired = wet (1 - s): every height goes by the same factor (definition of linear shrinkage)."""
    even = Estimate(0.12, 0.12, 0.12, "given")
    wet = SPOUT.scaled(1 / 0.88, 1 / 0.88)
    assert spout_pours_at_mm(wet) * 0.88 == pytest.approx(spout_pours_at_mm(SPOUT))
    assert wet.rake_deg == pytest.approx(SPOUT.rake_deg)
    step = spout_tip(wet.join_mm, wet.length_mm, wet.rake_deg, even, even, 118.0)
    assert step.value == pytest.approx(0.0, abs=1e-9)


def test_every_step_works_out_to_its_value() -> None:
    steps = [
        *lip_steps(JUG, LIP, capacity_ml(JUG, 176.0)),
        *spout_steps(SPOUT, 118.0, held_ml(POT, SPOUT, 118.0)),
        *spout_clay(SPOUT, spout_part(POT, SPOUT).volume_mm3).steps,
    ]
    assert len(steps) > 10
    for step in steps:
        assert step.formula or step.how
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    named = {step.name: step.value for step in steps}
    # 12 holes of 5 mm are less than a bore of 11 mm would need? 11^2 / 5^2 = 4.84, so five do.
    assert named["spout: holes that let through what the bore does"] == 5
    assert named["spout: strainer holes together"] == pytest.approx(12 * math.pi * 2.5**2)


def test_the_files_of_a_jug_and_a_teapot_are_read_as_closed_bodies() -> None:
    import io

    whole = solid(POT, strap(80.0, 38.0, 24.0, 9.0), spout=SPOUT)
    assert [part.name for part in whole.parts] == ["body", "handle", "spout"]
    mesh = trimesh.load(io.BytesIO(stl(whole)), file_type="stl")
    assert mesh.is_watertight
    assert mesh.body_count == 3
    scene = trimesh.load(io.BytesIO(glb(solid(JUG, lip=LIP))), file_type="glb")
    (body,) = scene.geometry.values()
    body.merge_vertices(merge_norm=True, digits_vertex=9)
    assert body.is_watertight


def test_the_section_draws_the_lip_and_the_spout_true_to_size_and_says_so() -> None:
    from tests.form.test_section import element, places

    drawn = section_svg(JUG, lip=LIP)
    centre = places(element(drawn, "outside"))[:, 0].min()
    cut = places(element(drawn, "cut"))
    high = cut[cut[:, 1] < cut[:, 1].min() + 20]
    assert centre - high[:, 0].min() == pytest.approx(59.0, abs=0.05)
    assert "pours at" in drawn
    assert ">176</text>" in drawn
    assert "Lip pulled 14 mm out" in drawn
    # The wall there has the area that it had before: pi is left out, each slice r dr dz kept (Pappus).
    pot = section_svg(POT, spout=SPOUT)
    assert "Spout joined 52 mm up" in pot
    root = ET.fromstring(pot)
    wide, high_mm = (float(each) for each in (root.get("viewBox") or "").split()[2:])
    for path in root.iter(f"{SVG}path"):
        at = places(path)
        assert at.min() >= 0
        assert at[:, 0].max() <= wide
        assert at[:, 1].max() <= high_mm
    spouts = [places(path) for path in root.iter(f"{SVG}path") if path.get("class") == "spout"]
    assert len(spouts) == 2
    assert all(Polygon(each).is_valid for each in spouts)


def test_from_above_the_lip_stands_beyond_the_rim_by_as_much() -> None:
    from tests.form.test_section import places

    drawn = from_above_svg(JUG, handle=strap(110.0, 38.0, 24.0, 9.0), lip=LIP)
    paths = {path.get("class"): places(path) for path in ET.fromstring(drawn).iter(f"{SVG}path") if path.get("class")}
    assert np.ptp(paths["rim"][:, 0]) == pytest.approx(90.0 + 14.0, abs=0.05)
    assert np.ptp(paths["rim"][:, 1]) == pytest.approx(90.0, abs=0.1)
    assert np.ptp(paths["widest"][:, 0]) == pytest.approx(JUG.widest_mm, abs=0.05)
    assert np.ptp(paths["handle"][:, 1]) == pytest.approx(24.0, abs=0.02)
    spout = from_above_svg(POT, spout=SPOUT)
    assert "spout 40 mm wide at the wall, 19 mm at the tip" in spout
    assert "NaN" not in spout


@pytest.mark.parametrize("odd", [0.0, -3.0, math.nan, math.inf])
def test_sizes_that_cannot_be_are_refused_by_name(odd: float) -> None:
    with pytest.raises(OutOfRange, match="lip"):
        PulledLip(odd, 40.0, 45.0)
    with pytest.raises(OutOfRange, match="spout"):
        ThrownSpout(52.0, odd, 50.0, 40.0, 19.0, 4.0)


def test_what_does_not_go_on_the_piece_is_refused_with_its_mend() -> None:
    with pytest.raises(OutOfRange, match="fold"):
        PulledLip(12.0, 40.0, 20.0, 12.0)
    with pytest.raises(OutOfRange, match="lip is 89 mm wide"):
        solid(JUG, lip=PulledLip(12.0, 89.0, 40.0))
    with pytest.raises(OutOfRange, match="does not lie on the wall"):
        spout_part(POT, ThrownSpout(20.0, 80.0, 50.0, 44.0, 18.0, 4.0))
    with pytest.raises(OutOfRange, match="keep a bore"):
        ThrownSpout(52.0, 80.0, 50.0, 40.0, 8.0, 4.0)
    with pytest.raises(OutOfRange, match="along the spout"):
        ThrownSpout(52.0, 80.0, 10.0, 40.0, 18.0, 4.0, -5.0)
    with pytest.raises(OutOfRange, match="along the spout"):
        placed(110.0, 40.0, 18.0, 4.0, join_mm=50.0, cut_deg=-50.0)
    with pytest.raises(OutOfRange, match="no rake"):
        placed(150.0, 40.0, 18.0, 4.0, join_mm=50.0, length_mm=60.0)


def test_the_cards_for_lip_and_spout_are_life_size() -> None:
    """Widths of the drawn lines against the sizes that were asked, and the rake by its tangent (trigonometry)."""
    from wareboard.form.poured_gauges import lip_round, spout_side

    edge = next(line for line in lip_round(JUG, LIP).lines if line.kind == "edge").points_mm
    assert np.ptp(edge[:, 0]) == pytest.approx(104.0, abs=0.05)
    card = spout_side(POT, SPOUT)
    (start, tip) = next(line for line in card.lines if line.kind == "centre").points_mm
    assert math.degrees(math.atan2(tip[1] - start[1], tip[0] - start[0])) == pytest.approx(50.0)
    assert float(np.hypot(*(tip - start))) == pytest.approx(SPOUT.length_mm)
    wall = next(line for line in card.lines if line.kind == "edge").points_mm
    assert np.interp(52.0, wall[:, 1], wall[:, 0]) == pytest.approx(POT.radius_at_mm(52.0), abs=1e-6)
    assert Polygon(next(line for line in card.lines if line.kind == "cut").points_mm).is_valid
