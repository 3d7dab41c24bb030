"""A jug with a pulled lip and a pot with a thrown spout, from the brief to capacity, clay, kiln and warnings."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import trimesh

from wareboard.commands.form import plan_of
from wareboard.form.vessel import capacity_ml
from wareboard.plan.firings import across_mm, load_piece
from wareboard.plan.in_use import in_use
from wareboard.plan.result import Plan
from wareboard.plan.solids import solid_at
from wareboard.working import worked_out

PLAIN = """# An invented brief.
due = 2099-02-12
[clay]
shrinkage = "12 %"
[[forms]]
name = "Jug"
count = 6
height = "180 mm"
rim = "90 mm"
[forms.handle]
[[forms]]
name = "Teapot"
count = 4
shape = "jar"
height = "120 mm"
rim = "90 mm"
[forms.lid]
"""
POURING = PLAIN.replace("[forms.handle]\n", '[forms.handle]\n[forms.lip]\nout = "14 mm"\ndip = "4 mm"\n') + (
    '[forms.spout]\nbase = "40 mm"\nfull = "110 mm"\nholes = 4\nhole = "5 mm"\n'
)


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Plan]:
    folder = tmp_path_factory.mktemp("poured")
    found = {}
    low = POURING + 'join = "50 mm"\nlength = "70 mm"\nrake = "40°"\n'
    for name, text in (("plain", PLAIN), ("pouring", POURING), ("low", low)):
        file = folder / f"{name}.toml"
        file.write_text(text, encoding="utf-8")
        found[name] = plan_of(file)
    return found


def test_a_jug_holds_what_its_body_holds_up_to_the_dip_of_its_lip(plans: dict[str, Plan]) -> None:
    """Frusta up to 180 - 4 mm (`capacity_ml` is checked against closed forms elsewhere)."""
    jug, plain = plans["pouring"].forms[0], plans["plain"].forms[0]
    assert jug.vessel.capacity_ml == pytest.approx(capacity_ml(plain.profile, 176.0))
    assert jug.vessel.capacity_ml < plain.vessel.capacity_ml
    assert jug.vessel.capacity.low < jug.vessel.capacity_ml < jug.vessel.capacity.high


def test_a_lip_takes_no_clay_and_a_spout_takes_its_own(plans: dict[str, Plan]) -> None:
    (jug, pot), (jug_before, pot_before) = plans["pouring"].forms, plans["plain"].forms
    assert jug.ball_g == jug_before.ball_g
    assert jug.vessel.fired_g == jug_before.vessel.fired_g
    assert pot.ball_g == pot_before.ball_g
    assert pot.poured.clay is not None
    volume = solid_at(pot).parts[1].volume_mm3
    assert pot.poured.clay.fired_g == pytest.approx(volume / 1000 * 2.25)
    assert plans["pouring"].clay.bags.clay_g > plans["plain"].clay.bags.clay_g


def test_every_line_of_working_meets_its_value(plans: dict[str, Plan]) -> None:
    steps = [step for form in plans["pouring"].forms for step in form.poured.steps]
    assert len(steps) > 12
    for step in steps:
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value), step.name


def test_the_spout_left_to_itself_pours_at_the_full_level(plans: dict[str, Plan]) -> None:
    pot = plans["pouring"].forms[1]
    named = {step.name: step.value for step in pot.poured.steps}
    assert named["spout: pours at, above the foot"] == pytest.approx(110.0)
    assert named["spout: tip above the full level"] == pytest.approx(0.0, abs=1e-9)
    assert pot.lengths["spout length"].wet_mm == pytest.approx(pot.poured.spout.length_mm / 0.88)  # type: ignore[union-attr]


def test_a_tip_below_the_full_level_and_a_narrow_strainer_are_told(plans: dict[str, Plan]) -> None:
    """Common practice: the tip no lower than the level, the holes together no less than the bore.

    Bore 18 - 2 * 4 = 10 mm; 4 holes of 5 mm have just its area, so only the tip is told.
    """
    told = [notice.what for notice in plans["low"].notices if notice.about == "Teapot"]
    below = 110.0 - (50.0 + 70.0 * math.sin(math.radians(40.0)))
    assert any(f"tip is {below:.1f} mm below" in each for each in told)
    assert not any("strainer" in each for each in told)
    assert not any("tip is" in notice.what for notice in plans["pouring"].notices)


def test_the_kiln_makes_room_for_lip_and_spout(plans: dict[str, Plan]) -> None:
    """A round that touches the body on the handle's side and the tip on the other is wider by what stands out."""
    (jug, pot), plain = plans["pouring"].forms, plans["plain"].forms[1]
    mesh = trimesh.Trimesh(*(lambda p: (p.points_mm, p.faces))(solid_at(pot).parts[1]), process=False)
    assert across_mm(pot) == pytest.approx(pot.profile.widest_mm / 2 - mesh.bounds[0, 0], abs=0.1)
    assert load_piece(pot, "bisque").footprint_diameter_mm > load_piece(plain, "bisque").footprint_diameter_mm + 30
    # The lip of this jug stays within its belly, so that nothing is added.
    assert across_mm(jug) == pytest.approx(max(jug.profile.widest_mm, jug.profile.widest_mm / 2 + 45 + 14))


def test_every_part_is_closed_at_every_stage(plans: dict[str, Plan]) -> None:
    for form, names in zip(plans["pouring"].forms, (["body", "handle"], ["body", "spout", "lid"]), strict=True):
        whole = solid_at(form, "wet")
        assert [part.name for part in whole.parts] == names
        for part in whole.parts:
            assert trimesh.Trimesh(part.points_mm, part.faces, process=False).is_watertight


def test_forms_that_do_not_pour_are_as_before(plans: dict[str, Plan]) -> None:
    jug = plans["plain"].forms[0]
    assert jug.poured.steps == ()
    assert "spout" not in jug.minutes
    assert not any(name.startswith(("lip", "spout")) for name in jug.lengths)
    assert load_piece(jug, "bisque").footprint_diameter_mm == pytest.approx(
        jug.profile.widest_mm * (1 - jug.loss_width.by("dry")) / (1 - jug.loss_width.fired)
    )


def test_a_spout_draws_the_weight_away_from_the_hand(tmp_path: Path) -> None:
    """Weight times distance of every part of the solid (statics; trimesh's centres of mass), the handle along +x."""
    file = tmp_path / "brief.toml"
    file.write_text(POURING.replace("[forms.lid]", "[forms.handle]\n[forms.lid]"), encoding="utf-8")
    plan = plan_of(file)
    pot = plan.forms[1]
    steps = {step.name: step for step in in_use(plan, pot).steps}
    meshes = [trimesh.Trimesh(part.points_mm, part.faces, process=False) for part in solid_at(pot).parts]
    whole = sum(mesh.volume for mesh in meshes)
    out = sum(mesh.volume * mesh.center_mass[0] for mesh in meshes) / whole
    up = sum(mesh.volume * mesh.center_mass[2] for mesh in meshes) / whole
    assert steps["empty: weight"].value == pytest.approx(whole / 1000 * 2.25, rel=5e-3)
    assert steps["empty: centre of gravity towards the handle"].value == pytest.approx(out, abs=0.4)
    assert steps["empty: centre of gravity above the foot"].value == pytest.approx(up, abs=0.3)
    for name in ("empty: weight", "empty: centre of gravity towards the handle"):
        assert worked_out(steps[name].formula, steps[name].inputs) == pytest.approx(steps[name].value)
