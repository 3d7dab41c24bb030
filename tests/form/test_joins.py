"""Where and at what angle a handle is joined, against slopes known in closed form and trimesh."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import trimesh

from wareboard.commands.form import plan_of
from wareboard.form.from_above import from_above_svg
from wareboard.form.gauges import handle_side
from wareboard.form.handle import strap
from wareboard.form.joins import join_steps, joins_of, turned
from wareboard.form.lip import PulledLip
from wareboard.form.profile import Profile, standard
from wareboard.form.solid import solid
from wareboard.plan.in_use import in_use, joining
from wareboard.plan.solids import joins_at, solid_at
from wareboard.sheets.making import throw_sheet
from wareboard.working import worked_out

HANDLE = strap(56.0, 26.0, 18.0, 7.0)
CONE = Profile(np.array([[0, 30], [100, 50]], float), np.array([[6, 26], [100, 46]], float))


def test_on_a_cone_both_roots_lean_by_its_slope_and_on_a_cylinder_by_nothing() -> None:
    """atan(run / rise) = atan(20 / 100) (trigonometry)."""
    for join in joins_of(CONE, HANDLE):
        assert join.lean_deg == pytest.approx(math.degrees(math.atan(0.2)))
        assert "leans out 11° going up; cut 11° off square, upper face shorter" in join.words
    for join in joins_of(standard("cylinder", 95.0, 88.0), HANDLE):
        assert join.lean_deg == pytest.approx(0.0, abs=1e-9)
        assert join.words == "wall upright, cut square"
    narrowing = Profile(np.array([[0, 50], [100, 30]], float), np.array([[6, 45], [100, 26]], float))
    assert "leans in 11° going up" in joins_of(narrowing, HANDLE)[0].words


def test_on_a_ball_the_wall_leans_as_its_tangent() -> None:
    """The tangent of a circle leans by asin(height from its middle / radius), in above it and out below."""
    turn = np.linspace(math.radians(-60), math.radians(60), 2001)
    outer = np.column_stack([50 * np.sin(turn), 50 * np.cos(turn)])
    outer[:, 0] -= outer[0, 0]
    inner = np.array([[6.0, 12.0], [outer[-1, 0], 20.0]])
    ball = Profile(outer, inner)
    lower, upper = joins_of(ball, HANDLE, at_mm=15.0)
    for join in (lower, upper):
        from_middle = join.height_mm - 50 * math.sin(math.radians(60))
        assert -join.lean_deg == pytest.approx(math.degrees(math.asin(from_middle / 50)), abs=0.15)


def test_steps_work_out_and_the_tape_goes_the_shorter_way_round() -> None:
    """Half the girth for a handle opposite, a quarter for one at the side (arc of a circle)."""
    cup = standard("cylinder", 95.0, 88.0)
    for turn, part in ((180.0, 0.5), (90.0, 0.25), (270.0, 0.25), (0.0, 0.0)):
        steps = join_steps(joins_of(cup, HANDLE), "leather-hard", turn, "spout")
        for step in steps:
            assert step.formula or step.how
            if step.formula:
                assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
        tape = [step.value for step in steps if "round the wall" in step.name]
        assert tape == pytest.approx([math.pi * 88.0 * part] * 2, abs=1e-9)


def test_a_handle_at_the_side_stands_there_in_the_solid_and_from_above() -> None:
    """Clockwise seen from above: from the spout at -x, a quarter round comes to +y (north of west is clockwise)."""
    cup = standard("cylinder", 95.0, 88.0)
    part = solid(cup, HANDLE, handle_turn_deg=90.0).parts[1]
    mesh = trimesh.Trimesh(part.points_mm, part.faces, process=False)
    assert mesh.is_watertight
    assert mesh.center_mass[1] > 40.0
    assert abs(mesh.center_mass[0]) < 1e-3
    before = solid(cup, HANDLE).parts[1]
    assert part.volume_mm3 == pytest.approx(before.volume_mm3)
    assert np.allclose(turned(before.points_mm, 180.0), before.points_mm)
    jug = standard("jug", 180.0, 90.0)
    drawn = from_above_svg(jug, handle=strap(110.0, 38.0, 24.0, 9.0), lip=PulledLip(14, 40, 45), handle_turn_deg=90.0)
    from xml.etree import ElementTree as ET

    from tests.form.test_section import places

    root = ET.fromstring(drawn)
    paths = {path.get("class"): places(path) for path in root.iter("{http://www.w3.org/2000/svg}path")}
    assert paths["handle"][:, 1].max() < paths["rim"][:, 1].mean() + 1.0  # up the paper
    assert paths["handle"].min() > 0


def test_the_card_says_heights_angles_and_the_way_round() -> None:
    card = handle_side(CONE, HANDLE, "leather-hard", at_mm=30.0, round_words="180° round from the spout")
    texts = [note.text for note in card.notes]
    assert "lower root 33.5 mm up" in texts  # its lower end and half its thickness
    assert "wall leans out 11° going up" in texts
    assert "180° round from the spout" in texts


BRIEF = """# An invented brief.
due = 2099-02-12
[clay]
shrinkage = "12 %"
[[forms]]
name = "Cup"
count = 6
shape = "taper"
height = "95 mm"
rim = "84 mm"
[forms.handle]
height = "60 mm"
at = "12 mm"
round = "90°"
"""


def test_a_brief_sets_the_handles_height_and_place_round(tmp_path: Path) -> None:
    file = tmp_path / "brief.toml"
    file.write_text(BRIEF, encoding="utf-8")
    plan = plan_of(file)
    cup = plan.forms[0]
    lower, upper = joins_at(cup, "leather-hard")
    taller = (1 - cup.loss_height.leather_hard) / (1 - cup.loss_height.fired)
    # Its lower end at 12 mm, its middle half a tapered thickness further up, both grown by what they will shrink.
    steps = {step.name: step.value for step in joining(cup)}
    assert steps["lower root above the bat, leather-hard"] == pytest.approx(lower.height_mm, abs=0.05)
    assert steps["upper root above the bat, leather-hard"] == pytest.approx(upper.height_mm, abs=0.05)
    assert (lower.height_mm + upper.height_mm) / 2 == pytest.approx((12 + 30) * taller, abs=0.05)
    # The wall of a straight taper leans alike everywhere: its foot and rim give the slope (trigonometry).
    slope = math.degrees(math.atan((cup.profile.rim_mm - cup.profile.foot_mm) / 2 / 95.0))
    assert lower.lean_deg == pytest.approx(slope, abs=0.6)
    assert upper.lean_deg == pytest.approx(slope, abs=0.6)
    handle = solid_at(cup).parts[1]
    assert handle.centre_mm[1] > 30
    card = throw_sheet(plan, cup, "a4")["joining"]
    assert len(card) == 3
    assert card[2].startswith("90° round from the front")
    assert any("round the wall from the front" in step.name for step in in_use(plan, cup).steps)
