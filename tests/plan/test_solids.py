"""A plan's forms as solids at every stage, against the definition of shrinkage and trimesh."""

from __future__ import annotations

from pathlib import Path

import pytest
import trimesh
from click.testing import CliRunner

from wareboard.commands import wareboard
from wareboard.commands.form import form_of, plan_of
from wareboard.errors import NotInTable, OutOfRange
from wareboard.form.vessel import clay_volume_mm3
from wareboard.plan.result import Plan
from wareboard.plan.solids import STAGES, clay_steps, profile_at, solid_at
from wareboard.working import worked_out

BRIEF = """# An invented brief.
due = 2099-02-12
[[forms]]
name = "Cup"
count = 24
height = "95 mm"
rim = "84 mm"
[forms.handle]
height = "60 mm"
[[forms]]
name = "Jar"
count = 4
shape = "jar"
height = "120 mm"
rim = "90 mm"
[forms.lid]
diameter = "88 mm"
[clay]
shrinkage_height = "13 %"
shrinkage_width = "12 %"
"""


@pytest.fixture(scope="module")
def brief(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("solids") / "brief.toml"
    file.write_text(BRIEF, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def plan(brief: Path) -> Plan:
    return plan_of(brief)


def test_a_solid_shrinks_from_stage_to_stage_and_fires_to_the_size_asked(plan: Plan) -> None:
    """fired = wet (1 - s), height and width each with its own s (definition of linear shrinkage)."""
    cup = plan.forms[0]
    heights = [solid_at(cup, stage).parts[0].points_mm[:, 2].max() for stage in STAGES]
    assert heights == sorted(heights, reverse=True)
    assert heights[-1] == pytest.approx(95.0, abs=1e-6)
    assert heights[0] == pytest.approx(95.0 / 0.87, abs=1e-6)
    wet = solid_at(cup, "wet")
    assert wet.volume_mm3 == pytest.approx(solid_at(cup).volume_mm3 / (0.87 * 0.88**2), rel=1e-9)


@pytest.mark.parametrize("stage", STAGES)
def test_every_part_is_closed_at_every_stage_and_its_working_meets_it(plan: Plan, stage: str) -> None:
    for form, names in zip(plan.forms, (["body", "handle"], ["body", "lid"]), strict=True):
        whole = solid_at(form, stage)
        assert [part.name for part in whole.parts] == names
        meshes = [trimesh.Trimesh(part.points_mm, part.faces, process=False) for part in whole.parts]
        assert all(mesh.is_watertight for mesh in meshes)
        steps = clay_steps(form, stage, whole)
        assert worked_out(steps[0].formula, steps[0].inputs) == pytest.approx(meshes[0].volume, rel=1e-9)
        assert clay_volume_mm3(profile_at(form, stage)) == pytest.approx(meshes[0].volume, rel=1e-9)
        assert [step.value for step in steps[1:]] == pytest.approx([mesh.volume for mesh in meshes[1:]])


def test_a_stage_or_form_that_is_not_there_is_refused_by_name(plan: Plan) -> None:
    with pytest.raises(OutOfRange, match="glazed"):
        solid_at(plan.forms[0], "glazed")
    with pytest.raises(NotInTable, match="bowl"):
        form_of(plan, "bowl")
    assert form_of(plan, "j").name == "Jar"


@pytest.mark.parametrize("ending", ["glb", "stl"])
def test_the_command_writes_a_file_that_trimesh_reads(brief: Path, tmp_path: Path, ending: str) -> None:
    out = tmp_path / f"cup.{ending}"
    done = CliRunner().invoke(
        wareboard, ["form", "solid", str(brief), "--stage", "wet", "--out", str(out), "--working"]
    )
    assert done.exit_code == 0, done.output
    assert "Cup, wet" in done.output
    assert trimesh.load(str(out)).bounds is not None


def test_the_command_refuses_another_ending(brief: Path, tmp_path: Path) -> None:
    done = CliRunner().invoke(wareboard, ["form", "solid", str(brief), "--out", str(tmp_path / "cup.obj")])
    assert done.exit_code != 0
    assert not (tmp_path / "cup.obj").exists()


def test_every_form_command_and_option_is_documented() -> None:
    import click

    from wareboard.commands.form import form_command

    rows = (Path(__file__).parents[2] / "docs/commands.md").read_text(encoding="utf-8").splitlines()
    assert len(form_command.commands) >= 3
    for name, command in form_command.commands.items():
        row = next(line for line in rows if line.startswith(f"| `form {name}"))
        for option in command.params:
            if isinstance(option, click.Option):
                assert f"`{option.opts[0]}`" in row
