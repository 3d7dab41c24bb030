"""`wareboard form`: a form of a brief as a solid that other programs open, at any stage."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from wareboard.commands.form_decorated import decorated_command
from wareboard.commands.form_outline import drawing_command, radii_command
from wareboard.commands.form_photo import photo_command
from wareboard.commands.written import TO_WRITE, refuse_any_standing, replace_option, written
from wareboard.errors import NotInTable
from wareboard.plan.slug import slug

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan

BRIEF = click.Path(dir_okay=False, path_type=Path)
FILE = click.Path(dir_okay=False, path_type=Path)
STAGES = ("wet", "leather-hard", "dry", "bisque", "fired")
WHICH = "Name of the form in the brief, or the beginning of it; the first when left out."


@click.group("form")
def form_command() -> None:
    """What follows from a form's shape: its solid, its gauges, how it sits in the hand and in a stack."""


def plan_of(brief: Path) -> Plan:
    """The plan of a brief's file, with the workshop's file beside it, and no more calendar than a plan must have."""
    from wareboard.commands.by_brief import planned

    return planned(brief, pictures=False)


def form_of(plan: Plan, name: str | None) -> FormPlan:
    """The form of that name, or whose name begins so; the first where none is named."""
    if name is None:
        return plan.forms[0]
    words = name.strip().lower()
    found = [form for form in plan.forms if form.name.lower() == words]
    found = found or [form for form in plan.forms if form.name.lower().startswith(words)]
    if len(found) != 1:
        names = ", ".join(form.name for form in plan.forms)
        why = "several forms of the brief begin so" if found else "the brief has no form of that name"
        raise NotInTable(f"form {name!r}", why, f"Use one of: {names}")
    return found[0]


@form_command.command("solid")
@click.argument("brief", type=BRIEF)
@click.option("--form", "name", help=WHICH)
@click.option("--stage", type=click.Choice(STAGES), default="fired", show_default=True, help="At which stage.")
@click.option("--out", type=TO_WRITE, required=True, help="File to write: .glb to look at, .stl to print.")
@replace_option
@click.option("--working", is_flag=True, help="Print the working of every number.")
def solid_command(brief: Path, name: str | None, stage: str, out: Path, working: bool) -> None:
    """Write a form of BRIEF as a solid with its wall, foot, handle and lid, as it stands at a stage."""
    from wareboard.errors import Unreadable
    from wareboard.form.solid_files import glb, stl
    from wareboard.plan.solids import clay_steps, solid_at

    kind = out.suffix.lower()
    if kind not in (".glb", ".stl"):
        raise Unreadable(out.name, "a solid is written as .glb or .stl", "End the file's name in one of them")
    form = form_of(plan_of(brief), name)
    whole = solid_at(form, stage)
    content = glb(whole, form.name, stage) if kind == ".glb" else stl(whole)
    written(out, content, say=False)
    x, y, z = whole.size_mm
    parts = ", ".join(f"{part.name} {part.volume_mm3 / 1000:.1f} ml" for part in whole.parts)
    click.echo(f"{form.name}, {stage}: {x:.1f} by {y:.1f} by {z:.1f} mm; clay: {parts}")
    click.echo(f"{out} written ({len(content) / 1000:.0f} kB). A drawing of the form, not the piece itself.")
    for step in clay_steps(form, stage, whole) if working else ():
        click.echo(step)


@form_command.command("gauges")
@click.argument("brief", type=BRIEF)
@click.option("--form", "name", help=WHICH)
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Paper to print on."
)
@click.option("--out", type=TO_WRITE, required=True, help="PDF to write; life size, over as many pages as it takes.")
@click.option(
    "--strips", type=TO_WRITE, help="PDF to write with the gauge strips and the shrink rule, corrected alike."
)
@click.option("--svg", type=click.Path(file_okay=False, path_type=Path), help="Folder for each pattern as an SVG.")
@replace_option
@click.option("--measured", help='What the line of 100 mm across measured on an uncorrected print, such as "98.5 mm".')
@click.option("--measured-up", help="What the line of 100 mm up measured; as across when left out.")
def gauges_command(
    brief: Path,
    name: str | None,
    paper: Literal["a4", "letter"],
    out: Path,
    strips: Path | None,
    svg: Path | None,
    measured: str | None,
    measured_up: str | None,
) -> None:
    """Write the life-size patterns of a form of BRIEF: ribs, calipers, foot, handle, strap, lid, cutting guide."""
    from wareboard.quantities import length_mm
    from wareboard.sheets.gauge import gauge_pdf
    from wareboard.sheets.patterns import correction_from, pattern_pdf, patterns_of

    plan = plan_of(brief)
    form = form_of(plan, name)
    across = measured or measured_up
    up = measured_up or measured
    drawn = correction_from(length_mm(across), length_mm(up)) if across and up else None
    found = patterns_of(form, plan.length_unit)
    drawings = {svg / f"{slug(form.name)}-{slug(each.name)}.svg": each.svg for each in found} if svg else {}
    refuse_any_standing(drawings)
    written(out, pattern_pdf(plan, form, paper, drawn), say=False)
    if strips is not None:
        written(strips, gauge_pdf(plan, form, paper, drawn), say=False)
    click.echo(f"{form.name}: {', '.join(pattern.name for pattern in found)}")
    if svg is not None:
        svg.mkdir(parents=True, exist_ok=True)
        for place, draw in drawings.items():
            written(place, draw(), say=False)
    click.echo(f"{out} written. Print at 100 % and measure both lines of 100 mm before cutting.")


@form_command.command("use")
@click.argument("brief", type=BRIEF)
@click.option("--form", "name", help=WHICH)
@click.option("--stacked", type=click.IntRange(1, 100), default=3, show_default=True, help="How many in a stack.")
@click.option("--working", is_flag=True, help="Print the working of every number.")
def use_command(brief: Path, name: str | None, stacked: int, working: bool) -> None:
    """Say how a form of BRIEF hangs in the hand empty and full, how it stacks, how its lid fits, where its handle goes."""
    from wareboard.plan.in_use import in_use

    plan = plan_of(brief)
    form = form_of(plan, name)
    click.echo(f"{form.name}, fired unless another stage is named")
    for heading, words, steps in in_use(plan, form, stacked).groups:
        click.secho(heading, bold=True)
        for step in steps:
            spread = "" if step.low is None or step.high is None else f" ({step.low:.1f} to {step.high:.1f})"
            places = 3 if step.unit == "N m" else 1
            click.echo(f"  {step}" if working else f"  {step.name}: {step.value:.{places}f} {step.unit}{spread}")
        if words:
            click.echo(f"  {words}")


form_command.add_command(decorated_command)
form_command.add_command(photo_command)
form_command.add_command(drawing_command)
form_command.add_command(radii_command)
