"""`wareboard reorder`: a delivered commission again, as it was made, with what has changed since."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from wareboard.commands.studio import folder_option

if TYPE_CHECKING:
    from wareboard.studio.after.reorders import Again


@click.command("reorder")
@click.argument("code")
@folder_option
@click.option("--due", type=click.DateTime(["%Y-%m-%d"]), help="By when it is wanted; without it, nothing is written.")
def reorder_command(code: str, folder: Path, due: datetime | None) -> None:
    """List what has changed since the commission CODE (such as 26-01) was made; with --due, order it again.

    The new commission has the brief, the figures and the glaze versions of the first, and can be changed in the studio.
    """
    from wareboard.errors import NotInTable, Unreadable
    from wareboard.studio.serve import make_ready
    from wareboard.studio.settings_table import RECORDS

    if not (folder / RECORDS).is_file():
        raise Unreadable(str(folder), "no records are kept there", "Name the workshop folder with --folder")
    make_ready(folder)
    from wareboard.book.firings.signing import Signed
    from wareboard.book.models import Commission
    from wareboard.studio import plans
    from wareboard.studio.after import reorders
    from wareboard.studio.bench.reading import fresh_key
    from wareboard.studio.today import now

    commission = Commission.objects.filter(code=code).first()
    if commission is None:
        raise NotInTable(f"commission {code[:20]}", "there is none of that code", "Look at the list in the studio")
    on = plans.basis()
    say(reorders.look(commission, on))
    if due is not None:
        new, _ = reorders.order(commission, due.date(), fresh_key(), on, Signed("", now()))
        click.echo(f"\nKept as {new.code}. Next: wareboard studio --folder {folder}")


def say(again: Again) -> None:
    """Print what has changed since."""
    made = again.made
    click.secho(f"{made.commission}: done by {made.made}, by version {made.version.number} of its brief", bold=True)
    for words in again.troubles:
        click.echo(f"  {words}")
    for each in again.changed:
        click.echo(f"  {each.what}: {each.then} -> {each.now}. {each.first}.")
    for figure in again.figures:
        if figure.differs:
            click.echo(
                f"  {figure.name}: {figure.then}; today's workshop file {figure.prices}; and figures {figure.now}"
            )
    for moved in again.learned:
        then, now = ("usual" if value is None else f"{value:.4g}" for value in (moved.then, moved.now))
        click.echo(f"  learned, {moved.label}: {then} -> {now} {moved.unit}".rstrip())
    for firing in again.carried.values():
        click.echo(f"  carried: the {firing.kind} schedule to cone {firing.cone}, as in {firing}")
    if not again.changed and not any(each.differs for each in again.figures):
        click.echo("  Nothing that is recorded has changed.")
