"""A run of readings from a file: its chart, which rule spoke, and whether the hand holds what was agreed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from wareboard.commands.written import TO_WRITE, replace_option, written

if TYPE_CHECKING:
    from wareboard.book.reckoning.run_chart import RunChart


@click.command("run-chart")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--name", default="Readings", show_default=True, help="What was measured.")
@click.option("--unit", default="", help="Its unit, as the chart is to say it.")
@click.option("--agreed", help='Lowest and highest that was agreed: "92 to 98".')
@click.option("--limits-from", type=int, help="How many of the first readings set the limits; all when left out.")
@click.option("--svg", type=TO_WRITE, help="Draw the chart into this file.")
@replace_option
@click.option("--working", is_flag=True, help="Print the working of every number.")
def run_chart_command(
    file: Path, name: str, unit: str, agreed: str | None, limits_from: int | None, svg: Path | None, working: bool
) -> None:
    """Chart the readings of FILE: one on a line, or a board's pieces on a line for means and ranges."""
    from wareboard.book.reckoning.capability import capability
    from wareboard.book.reckoning.run_chart import individuals_chart, mean_and_range_chart
    from wareboard.book.reckoning.run_chart_drawing import run_chart_svg

    groups, ends = _read(file), _agreed(agreed)
    singles = [value for group in groups for value in group]
    chart: RunChart
    if all(len(group) == 1 for group in groups):
        chart = individuals_chart(name, singles, unit, (), limits_from, ends)
    else:
        chart = mean_and_range_chart(name, groups, unit, (), limits_from, ends)
    main = chart.lines[0]
    click.echo(
        f"{len(main.points)} points, middle {main.centre:.4g}, limits {main.lower[-1]:.4g} to {main.upper[-1]:.4g}"
    )
    click.echo(chart.verdict)
    for signal in chart.signals:
        click.echo(f"  {chart.labels[signal.at]}: {signal.words} ({signal.asks})")
    steps = list(chart.steps)
    if ends is not None:
        held = capability(singles, ends)
        click.echo(held.words)
        steps += held.steps
    if svg is not None:
        written(svg, run_chart_svg(chart))
    if working:
        for step in steps:
            click.echo(step)


def _read(file: Path) -> list[list[float]]:
    """The readings line by line; empty lines and those that begin with # are left out."""
    from wareboard.errors import Unreadable
    from wareboard.named_file import bytes_of

    groups = []
    for number, line in enumerate(bytes_of(file).decode("utf-8-sig", errors="replace").splitlines(), 1):
        text = line.strip()
        if not text or text.startswith("#"):
            continue
        try:
            # A comma between figures is a point where the line holds but one of them.
            cells = (
                [text.replace(",", ".")] if text.count(",") == 1 and " " not in text else text.replace(";", " ").split()
            )
            groups.append([float(cell.strip(",").replace(",", ".")) for cell in cells])
        except ValueError:
            raise Unreadable(
                repr(text[:30]), "that is no number", "Write one reading on a line", f"{file.name}, line {number}"
            ) from None
    return groups


def _agreed(text: str | None) -> tuple[float, float] | None:
    from wareboard.errors import Unreadable

    if text is None:
        return None
    try:
        low, high = (float(end) for end in text.replace(",", ".").split("to"))
    except ValueError:
        raise Unreadable(f"agreed {text!r}", "it is no lowest and highest", 'Write it like "92 to 98"') from None
    return low, high
