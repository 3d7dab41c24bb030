"""`wareboard demo`: a workshop folder with an invented commission, planned, with its dossier."""

from __future__ import annotations

from datetime import date, timedelta
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from wareboard.book.models import Commission

WEEKS_UNTIL_DUE = 10
WORKSHOP_TEXT = """# The workshop's own figures. Everything here is optional; the plan says where it used a default.
name = "Demo workshop (invented)"
days_off = [{days_off}]
"""
DAYS_OFF = ((12, 25), (12, 26), (1, 1))


def demo_text(today: date) -> str:
    """The invented brief, begun on the Monday after ``today`` and due some weeks later."""
    import tomlkit

    document = tomlkit.parse(files("wareboard.commands").joinpath("demo.toml").read_text(encoding="utf-8"))
    start = today + timedelta(days=7 - today.weekday())
    document["start"] = start
    document["due"] = start + timedelta(weeks=WEEKS_UNTIL_DUE, days=-3)
    return tomlkit.dumps(document)


def workshop_text(today: date) -> str:
    """The invented workshop, with a few days off in this year and the next."""
    days = sorted(date(year, month, day) for year in (today.year, today.year + 1) for month, day in DAYS_OFF)
    return WORKSHOP_TEXT.replace("{days_off}", ", ".join(day.isoformat() for day in days if day > today))


@click.command("demo")
@click.option(
    "--folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("workshop"),
    show_default=True,
    help="The workshop folder.",
)
def demo_command(folder: Path) -> None:
    """Make a workshop folder with an invented commission, plan it, write its dossier, and say what to do next.

    A second call leaves what stands there as it is, and only plans again.
    """
    from wareboard.commands import demo_pictures
    from wareboard.commands.plan import brief_from, say, workshop_for, write_dossier
    from wareboard.plan import compile
    from wareboard.studio.first_commission import keep_if_empty

    today = date.today()  # noqa: DTZ011 - the potter's own day is what is meant
    brief_file, workshop_file = folder / "briefs" / "tea-room.toml", folder / "workshop.toml"
    brief_file.parent.mkdir(parents=True, exist_ok=True)
    for place, text in ((workshop_file, workshop_text(today)), (brief_file, demo_text(today))):
        if not place.exists():
            place.write_text(text, encoding="utf-8")
    demo_pictures.write(brief_file.parent / "pictures")
    workshop = workshop_for(brief_file, workshop_file, today)
    plan = compile(brief_from(brief_file, workshop, today), workshop)
    click.secho(f"{plan.brief.title}, for {plan.brief.client}", bold=True)
    say(plan)
    write_dossier(plan, folder / "dossiers" / "tea-room", folder=brief_file.parent)
    text = brief_file.read_text(encoding="utf-8")
    if keep_if_empty(folder, text, "Invented example", lambda begun: _with_pictures(begun, text, brief_file.parent)):
        click.echo("The commission is kept in the studio too.")


def _with_pictures(begun: Commission, text: str, folder: Path) -> None:
    from wareboard.studio.briefs_folder import keep_pictures

    keep_pictures(begun, text, folder)
