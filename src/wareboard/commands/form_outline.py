"""`wareboard form drawing` and `wareboard form radii`: the outside of a piece from a drawing, or from a table."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from wareboard.commands.written import TO_WRITE, replace_option, written

if TYPE_CHECKING:
    from wareboard.form.curve import Floats

FILE = click.Path(dir_okay=False, path_type=Path)
MOST_POINTS = 60
WITHIN = "How near the brief's smooth line keeps to the outline."


@click.command("drawing")
@click.argument("drawing", type=FILE)
@click.option("--height", help="Height of the piece; the drawing's own size counts where it is left out.")
@click.option("--within", default="0.3 mm", show_default=True, help=WITHIN)
@click.option("--out", type=TO_WRITE, help="Write the brief's lines for this form into a file.")
@click.option("--csv", "table", type=TO_WRITE, help="Write the table of radii into a CSV file.")
@replace_option
def drawing_command(drawing: Path, height: str | None, within: str, out: Path | None, table: Path | None) -> None:
    """Read the outside of a piece off the SVG in DRAWING: half of its section, or both sides about an upright axis."""
    from wareboard.form.drawn_outline import outline_of_svg
    from wareboard.named_file import bytes_of
    from wareboard.quantities import length_mm

    found = outline_of_svg(bytes_of(drawing), None if height is None else length_mm(height), drawing.name)
    _hand_on(drawing, "a drawing", found.points_mm, found.notes, length_mm(within), out, table)


@click.command("radii")
@click.argument("table", type=FILE)
@click.option("--within", default="0.3 mm", show_default=True, help=WITHIN)
@click.option("--out", type=TO_WRITE, help="Write the brief's lines for this form into a file.")
@replace_option
def radii_command(table: Path, within: str, out: Path | None) -> None:
    """Read the outside of a piece off the CSV in TABLE: a row a height, its head naming height and radius (or diameter)."""
    from wareboard.form.radii_table import read_radii
    from wareboard.named_file import text_of
    from wareboard.quantities import length_mm

    found = read_radii(text_of(table), table.name)
    _hand_on(table, "a table of radii", found.points_mm, found.notes, length_mm(within), out, None)


def _hand_on(
    source: Path,
    what: str,
    points: Floats,
    notes: tuple[str, ...],
    within_mm: float,
    out: Path | None,
    table: Path | None,
) -> None:
    """Say what was read, print the brief's lines, and write the files that were asked for."""
    import numpy as np

    from wareboard.form.traced import radii_csv

    lines = lines_of_brief(source.stem, points, what, within_mm)
    click.echo(
        f"{points[-1, 0]:.1f} mm high, {2 * points[:, 1].max():.1f} mm at its widest, {2 * points[-1, 1]:.1f} mm at the rim"
    )
    for note in notes:
        click.echo(f"note: {note}")
    click.echo("\n" + lines)
    for file, content in {out: lines, table: radii_csv(points[:, 0], points[:, 1], np.zeros(len(points)))}.items():
        if file is not None:
            written(file, content)


def lines_of_brief(name: str, points: Floats, what: str, within_mm: float) -> str:
    """The lines of a brief's form with this outside, whose smooth line keeps within so many mm of it.

    Points are (height, radius), mm; the brief has pairs of height and width, foot to rim.
    """
    from wareboard.form.traced import points_for_a_smooth_line

    few = points_for_a_smooth_line(points, within_mm, MOST_POINTS)
    words = "".join(each if each.isalnum() or each in " -_" else " " for each in name).strip() or "piece"
    pairs = ", ".join(f"[{height:.1f}, {2 * radius:.1f}]" for height, radius in few)
    return f'[[forms]]\nname = "{words}"\ncount = 1\n# From {what}; confirm it by the prototype.\nprofile = [{pairs}]\n'
