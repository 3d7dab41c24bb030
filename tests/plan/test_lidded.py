"""Lids with galleries, knobs and shrinkage of their own, from the brief to strips, weights and gaps."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
import trimesh

from wareboard.commands.form import plan_of
from wareboard.form.vessel import clay_volume_mm3
from wareboard.plan.firings import load_piece
from wareboard.plan.in_use import in_use
from wareboard.plan.result import FormPlan, Plan
from wareboard.plan.solids import STAGES, solid_at
from wareboard.sheets.gauge import gauge_pdf, gauge_sheet, strips_of
from wareboard.sheets.making import throw_sheet
from wareboard.sheets.patterns import patterns_of
from wareboard.sheets.print_scale import Correction
from wareboard.sheets.typesetting import Paper, typeset
from wareboard.working import worked_out

BRIEF = """# An invented brief.
due = 2099-02-12
[clay]
shrinkage = "12 %"
[[forms]]
name = "Teapot"
count = 4
shape = "teapot"
height = "110 mm"
rim = "80 mm"
[forms.lid]
gallery = "6 mm"
knob = "24 mm"
knob_height = "18 mm"
shrinkage = "13 %"
[[forms]]
name = "Jar"
count = 4
shape = "jar"
height = "120 mm"
rim = "90 mm"
[forms.lid]
[[forms]]
name = "Measured jar"
count = 4
shape = "jar"
height = "120 mm"
rim = "90 mm"
[forms.lid]
gallery_depth = "8 mm"
measured = [{ wet = "100 mm", fired = "86.5 mm" }, { wet = "100 mm", fired = "86.9 mm" }]
[[forms]]
name = "Wetter lid"
count = 4
shape = "jar"
height = "120 mm"
rim = "90 mm"
[forms.lid]
water = "23 %"
"""


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    file = tmp_path_factory.mktemp("lidded") / "brief.toml"
    file.write_text(BRIEF, encoding="utf-8")
    return plan_of(file)


def gaps(plan: Plan, form: FormPlan) -> dict[str, tuple[float, float, float]]:
    steps = [step for step in in_use(plan, form).steps if "gap round" in step.name]
    return {step.name: (step.value, step.low or 0.0, step.high or 0.0) for step in steps}


def test_a_lid_with_its_own_shrinkage_is_thrown_larger_and_comes_out_with_the_gap_asked(plan: Plan) -> None:
    """fired = wet (1 - s), body and lid each with its own s (definition); the gap is what is left between them."""
    pot = plan.forms[0]
    assert pot.lidded is not None
    assert pot.lengths["lid"].wet_mm == pytest.approx(pot.lidded.profile.widest_mm / 0.87)
    assert pot.lengths["gallery mouth"].wet_mm == pytest.approx(pot.lidded.seat.mouth_mm / 0.88)
    found = gaps(plan, pot)
    assert found["lid: gap round the lid, fired"][0] == pytest.approx(1.5)
    wet = pot.lidded.seat.mouth_mm / 0.88 - pot.lidded.profile.widest_mm / 0.87
    assert found["lid: gap round the lid, wet"][0] == pytest.approx(wet)
    assert len(found) == 2 * len(STAGES)


def test_the_gap_is_known_exactly_wet_and_least_surely_fired(plan: Plan) -> None:
    """Both errors grow with what has gone; two that err apart add as squares (propagation of error)."""
    for form in plan.forms:
        found = gaps(plan, form)
        wide = [high - low for name, (_, low, high) in found.items() if "flange" in name]
        assert wide[0] == pytest.approx(0.0, abs=1e-12)
        assert wide == sorted(wide)
        assert form.lidded is not None
        body = plan.clay.shrinkage_width
        parts = (
            form.lidded.seat.throat_mm / (1 - body.value) * (body.high - body.low),
            form.lidded.flange_mm
            / (1 - form.lidded.loss.fired)
            * (form.lidded.shrinkage.high - form.lidded.shrinkage.low),
        )
        assert wide[-1] == pytest.approx(math.hypot(*parts), rel=1e-6)


def test_bars_of_lids_and_their_moisture_give_a_shrinkage_of_its_own(plan: Plan) -> None:
    """(100 - 86.5) / 100 and (100 - 86.9) / 100; and more than its body's for clay thrown wetter."""
    measured, wetter = plan.forms[2].lidded, plan.forms[3].lidded
    assert measured is not None
    assert wetter is not None
    assert measured.own
    assert 0.128 < measured.shrinkage.value < 0.136
    assert measured.shrinkage.low < measured.shrinkage.value < measured.shrinkage.high
    assert wetter.own
    assert wetter.shrinkage.value > 0.12
    plain = plan.forms[1].lidded
    assert plain is not None
    assert not plain.own


def test_weights_count_knob_and_gallery(plan: Plan) -> None:
    """Profile and ellipsoid at 2.25 g/ml (usual density); the gallery is thrown with the body."""
    pot = plan.forms[0]
    assert pot.lidded is not None
    volume = clay_volume_mm3(pot.lidded.profile) + math.pi / 6 * 24.0**2 * 18.0
    assert pot.lidded.lid.fired_g == pytest.approx(volume / 1000 * 2.25)
    assert pot.vessel.clay_volume_mm3 == pytest.approx(clay_volume_mm3(pot.profile))
    for step in pot.lidded.steps:
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)


@pytest.mark.parametrize("stage", STAGES)
def test_every_part_is_closed_and_the_lid_stands_on_its_seat(plan: Plan, stage: str) -> None:
    pot = plan.forms[0]
    whole = solid_at(pot, stage)
    assert [part.name for part in whole.parts] == ["body", "lid", "knob"]
    for part in whole.parts:
        assert trimesh.Trimesh(part.points_mm, part.faces, process=False).is_watertight
    lid = whole.parts[1].points_mm
    assert pot.lidded is not None
    wide = pot.lidded.profile.widest_mm * (1 - pot.lidded.loss.by(stage)) / (1 - pot.lidded.loss.fired)
    across = 2 * math.hypot(*max(lid[:, :2], key=lambda point: math.hypot(*point)))
    assert across == pytest.approx(wide, rel=1e-3)


def test_gallery_and_lid_have_strips_and_caliper_lines(plan: Plan) -> None:
    pot, jar = plan.forms[0], plan.forms[1]
    names = [strip.name for strip in strips_of(pot, "mm")]
    assert names[-4:] == ["LID", "FLANGE", "GALLERY", "THROAT"]
    assert [strip.name for strip in strips_of(jar, "mm")][-1] == "LID"
    pages = gauge_sheet(plan, pot, "a4")["pages"]
    assert sum(len(page["strips"]) for page in pages) >= len(names)
    assert max(len(page["strips"]) for page in pages) <= 6
    guide = next(each for each in patterns_of(pot) if each.name.startswith("Lid gallery"))
    lines = [abs(line.points_mm[1, 0] - line.points_mm[0, 0]) for line in guide.lines if line.kind == "edge"]
    assert pot.lengths["gallery throat"].wet_mm == pytest.approx(lines[3])
    assert pot.lengths["lid flange"].wet_mm == pytest.approx(lines[1])


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_card_of_a_teapot_with_everything_goes_on_two_pages(tmp_path: Path, paper: Paper) -> None:
    """The wheel card on one, the board card on the other, as of a cup."""
    whole = BRIEF.split('[[forms]]\nname = "Jar"')[0].replace(
        "[forms.lid]", "[forms.handle]\n[forms.spout]\n[forms.lid]"
    )
    file = tmp_path / "brief.toml"
    file.write_text(whole, encoding="utf-8")
    full = plan_of(file)
    content = typeset("throw", throw_sheet(full, full.forms[0], paper), full.brief.due)
    assert len(re.findall(rb"/Type\s*/Page\b", content)) == 2


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("factors", [(1.0, 1.0), (1.04, 1.03), (0.97, 0.98)])
def test_the_gauge_sheet_has_no_page_beside_those_that_were_set_out(
    tmp_path: Path, unit: str, factors: tuple[float, float]
) -> None:
    file = tmp_path / "brief.toml"
    file.write_text(f'show_lengths = "{unit}"\n' + BRIEF, encoding="utf-8")
    full = plan_of(file)
    for paper in ("a4", "letter"):
        drawn = Correction(*factors, "A printer with a name of some length, invented")
        content = gauge_pdf(full, full.forms[0], paper, drawn)
        pages = gauge_sheet(full, full.forms[0], paper, drawn)["pages"]
        assert len(re.findall(rb"/Type\s*/Page\b", content)) == len(pages)


def test_the_kiln_makes_room_for_a_lid_and_its_knob(plan: Plan) -> None:
    """From the highest point of the drawn solid (trimesh's bounds), at the size that goes in."""
    for pot in plan.forms[:2]:  # with a gallery and a knob, and with neither
        top = max(float(part.points_mm[:, 2].max()) for part in solid_at(pot).parts)
        up = (1 - pot.loss_height.by("dry")) / (1 - pot.loss_height.fired)
        assert load_piece(pot, "bisque").height_mm == pytest.approx(top * up, rel=1e-9)


def test_a_pot_with_its_lid_on_is_as_high_as_its_solid_and_nothing_stands_in_it(tmp_path: Path) -> None:
    """Lids are fired on their pots: common practice. The height is that of the solid's own points."""
    file = tmp_path / "brief.toml"
    bowls = BRIEF.replace('shape = "jar"', 'shape = "bowl"').replace('name = "Jar"', 'name = "Covered bowl"')
    file.write_text(bowls + '[[forms]]\nname = "Open bowl"\ncount = 4\nshape = "bowl"\nheight = "80 mm"\n', "utf-8")
    forms = {form.name: form for form in plan_of(file).forms}
    covered, opened = forms["Covered bowl"], forms["Open bowl"]
    solid = solid_at(covered, "dry")
    top = max(float(part.points_mm[:, 2].max()) for part in solid.parts)
    assert load_piece(covered, "bisque").height_mm == pytest.approx(top, abs=0.5)
    assert not load_piece(covered, "bisque").nests
    assert load_piece(opened, "bisque").nests
