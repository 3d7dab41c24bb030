"""`wareboard plan`, `check` and `new`: from a brief's file to its plan and its dossier."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeAlias

import click

from wareboard.commands.written import TO_WRITE, replace_option, written

if TYPE_CHECKING:
    from wareboard.plan.brief import Brief
    from wareboard.plan.own import Own
    from wareboard.plan.result import Plan
    from wareboard.plan.workshop import Workshop
    from wareboard.sheets.since_approval import Since

Paper: TypeAlias = Literal["a4", "letter"]
BRIEF = click.Path(dir_okay=False, path_type=Path)
DAY = click.DateTime(["%Y-%m-%d"])


def workshop_for(brief_file: Path, workshop_file: Path | None, today: date) -> Workshop:
    """The workshop of a brief: the file named, else ``workshop.toml`` beside it, else one of defaults."""
    from wareboard.named_file import text_of
    from wareboard.plan.reading import read_workshop
    from wareboard.plan.workshop import Workshop

    beside = brief_file.parent / "workshop.toml"
    place = workshop_file or (beside if beside.is_file() else None)
    return read_workshop(text_of(place), today=today) if place else Workshop(today=today)


def brief_from(
    file: Path, workshop: Workshop, today: date | None, own: Own | None = None, pictures: bool = True
) -> Brief:
    """The brief in ``file``; the pictures that it names are looked for unless ``pictures`` says no.

    Without ``today`` it may have been due long ago: forms, marks and paintings of old work are drawn again.
    """
    from wareboard.named_file import text_of
    from wareboard.plan.reading import read_brief

    folder = file.resolve().parent if pictures else None
    return read_brief(text_of(file), workshop=workshop, today=today, own=own, folder=folder)


def own_for(brief_file: Path, workshop_file: Path | None, workshop: Workshop, today: date) -> Own | None:
    """What the records kept beside the workshop's file, or else beside the brief, teach; None where none are kept."""
    from wareboard.studio.records_of_folder import own_in

    return own_in((workshop_file or brief_file).resolve().parent, today, workshop)


def approval_for(brief_file: Path, workshop_file: Path | None, plan: Plan) -> Since | None:
    """What the records kept there say of the approved prototype, and what has changed since; None where none is known."""
    from wareboard.studio.records_of_folder import approval_in

    return approval_in((workshop_file or brief_file).resolve().parent, brief_file, plan)


def say_since(since: Since | None) -> None:
    """Print what is no longer as it was approved."""
    from wareboard.sheets.data import day

    if since is None:
        return
    click.echo()
    click.secho("What was approved?", bold=True)
    if not since.changed:
        click.echo(f"  All is as approved on {day(since.approved)}")
        return
    click.echo(f"  Approved on {day(since.approved)}; changed since:")
    for each in since.changed:
        click.echo(f"  {each.name}: {each.now}, approved {each.then}")


def say_whose(plan: Plan) -> None:
    """Print which figures are the workshop's own, each beside the usual one."""
    from wareboard.studio.words import as_a_figure

    if not plan.learned:
        return
    click.echo()
    click.secho("Which figures are yours?", bold=True)
    for each in plan.learned:
        learned = each.learned
        if learned is not None:
            click.echo(f"  {each.label}: {as_a_figure(learned)}")


def today_or(day: datetime | None) -> date:
    """The day named on the command line, else this machine's."""
    return day.date() if day else date.today()  # noqa: DTZ011 - the potter's own day is what is meant


def say(plan: Plan) -> None:
    """Print the plan's answers."""
    from wareboard.plan.answers import answers

    for answer in answers(plan):
        click.echo()
        click.secho(answer.question, bold=True)
        for line in answer.lines:
            click.echo(f"  {line}")


@click.command("plan")
@click.argument("brief", type=BRIEF)
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the dossier.")
@click.option(
    "--workshop", "workshop_file", type=BRIEF, help="The workshop's file; workshop.toml beside the brief if left out."
)
@click.option("--today", type=DAY, help="Plan as if it were this day, such as 2026-11-30.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), help="Paper of the sheets; the workshop's, else A4, if left out."
)
@click.option(
    "--seconds",
    type=click.FloatRange(0, 3600),
    default=10.0,
    show_default=True,
    help="Longest time to look for the best calendar.",
)
@click.option(
    "--load-seconds",
    type=click.FloatRange(0, 60),
    default=0.0,
    show_default=True,
    help="Work to spend on filling each shelf, forms mixed where that saves a firing.",
)
@click.option("--working", is_flag=True, help="Print every number's working.")
@click.option("--no-records", is_flag=True, help="Plan by usual figures, not by what the workshop's records teach.")
def plan_command(
    brief: Path,
    out: Path | None,
    workshop_file: Path | None,
    today: datetime | None,
    paper: Paper | None,
    seconds: float,
    load_seconds: float,
    working: bool,
    no_records: bool,
) -> None:
    """Plan BRIEF (a .toml file) and print what to throw, how much clay, when, how many loads, what price.

    With --out, write the dossier of sheets into that folder. Where records of a workshop are kept beside the brief or the
    workshop's file, what they teach is used wherever nothing was typed.
    """
    from wareboard.plan import compile

    day = today_or(today)
    workshop = workshop_for(brief, workshop_file, day)
    own = None if no_records else own_for(brief, workshop_file, workshop, day)
    plan = compile(brief_from(brief, workshop, day, own), workshop, own=own, seconds=seconds, load_seconds=load_seconds)
    since = None if no_records else approval_for(brief, workshop_file, plan)
    say(plan)
    say_whose(plan)
    say_since(since)
    if working:
        click.echo()
        for step in plan.all_steps():
            click.echo(f"{step.key}: {step}")
    if out:
        write_dossier(plan, out, paper or plan.workshop.paper, brief.resolve().parent, since)


def write_dossier(
    plan: Plan, out: Path, paper: Paper = "a4", folder: Path | None = None, since: Since | None = None
) -> None:
    """Write the dossier, with sheets of the pictures that the brief names from its ``folder``, and say where it is."""
    from wareboard.plan.artwork import files_of
    from wareboard.sheets.artwork_sheets import artwork_sheets
    from wareboard.sheets.dossier import write

    drawn = list(artwork_sheets(plan, folder, paper)) if folder else []
    named = files_of(plan.brief, folder) if folder else {}
    files = write(plan, out, paper=paper, since=since, drawn=drawn, named=named)
    click.echo(f"\n{len(files)} files written to {out}")


@click.command("check")
@click.argument("brief", type=BRIEF)
@click.option(
    "--workshop", "workshop_file", type=BRIEF, help="The workshop's file; workshop.toml beside the brief if left out."
)
@click.option("--today", type=DAY, help="Check as if it were this day, such as 2026-11-30.")
def check_command(brief: Path, workshop_file: Path | None, today: datetime | None) -> None:
    """Read BRIEF and say everything that is wrong in it, each with its line and its mend."""
    day = today_or(today)
    read = brief_from(brief, workshop_for(brief, workshop_file, day), day)
    click.echo(f"{brief.name} reads well: {sum(form.count for form in read.forms)} pieces due {read.due}.")


@click.command("new")
@click.argument("file", type=TO_WRITE)
@replace_option
@click.option("--height", help='Fired height, such as "95 mm" or "3 3/4 in".')
@click.option("--rim", help="Fired width of the mouth; give this, the height, or both.")
@click.option("--shrinkage", required=True, help='Total shrinkage of the clay, such as "12 %".')
@click.option("--count", required=True, help="How many are wanted.")
@click.option("--due", required=True, help="By when, such as 2027-02-12.")
@click.option("--name", default="piece", show_default=True, help="What the form is called.")
def new_command(
    file: Path, height: str | None, rim: str | None, shrinkage: str, count: str, due: str, name: str
) -> None:
    """Write FILE, a brief from four numbers, ready to plan and to add to."""
    from wareboard.plan.reading import four_number_brief, read_brief

    text = four_number_brief(height=height, rim=rim, shrinkage=shrinkage, count=count, due=due, name=name)
    read_brief(text, today=date.today())  # noqa: DTZ011
    written(file, text, say=False)
    click.echo(f"{file} written. Next: wareboard plan {file} --out dossier")
