"""`wareboard form drawing` and `wareboard form radii`: the outside of a piece from a drawing, or from a table."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from wareboard.form.curve import Floats

FILE = click.Path(dir_okay=False, path_type=Path)
MOST_POINTS = 60
WITHIN = "How near the brief's smooth line keeps to the outline."


@click.command("drawing")
@click.argument("drawing", type=FILE)
@click.option("--height", help="Height of the piece; the drawing's own size counts where it is left out.")
@click.option("--within", default="0.3 mm", show_default=True, help=WITHIN)
@click.option("--out", type=FILE, help="Write the brief's lines for this form into a file.")
@click.option("--csv", "table", type=FILE, help="Write the table of radii into a CSV file.")
def drawing_command(drawing: Path, height: str | None, within: str, out: Path | None, table: Path | None) -> None:
    """Read the outside of a piece off the SVG in DRAWING: half of its section, or both sides about an upright axis."""
    from wareboard.form.drawn_outline import outline_of_svg
    from wareboard.quantities import length_mm

    found = outline_of_svg(_read(drawing), None if height is None else length_mm(height), drawing.name)
    _hand_on(drawing, "a drawing", found.points_mm, found.notes, length_mm(within), out, table)


@click.command("radii")
@click.argument("table", type=FILE)
@click.option("--within", default="0.3 mm", show_default=True, help=WITHIN)
@click.option("--out", type=FILE, help="Write the brief's lines for this form into a file.")
def radii_command(table: Path, within: str, out: Path | None) -> None:
    """Read the outside of a piece off the CSV in TABLE: a row a height, its head naming height and radius (or diameter)."""
    from wareboard.errors import Unreadable
    from wareboard.form.radii_table import read_radii
    from wareboard.quantities import length_mm

    try:
        text = _read(table).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Unreadable(table.name, "it is not plain text in UTF-8", "Save the table as CSV in UTF-8") from None
    found = read_radii(text, table.name)
    _hand_on(table, "a table of radii", found.points_mm, found.notes, length_mm(within), out, None)


def _read(file: Path) -> bytes:
    from wareboard.errors import Unreadable

    try:
        return file.read_bytes()
    except OSError as fault:
        raise Unreadable(
            str(file), fault.strerror or "it cannot be opened", "Check the file's name and place"
        ) from None


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

    from wareboard.form.traced import points_for_a_smooth_line, radii_csv

    few = points_for_a_smooth_line(points, within_mm, MOST_POINTS)
    lines = lines_of_brief(source.stem, few, what)
    click.echo(
        f"{points[-1, 0]:.1f} mm high, {2 * points[:, 1].max():.1f} mm at its widest, {2 * points[-1, 1]:.1f} mm at the rim"
    )
    for note in notes:
        click.echo(f"note: {note}")
    click.echo("\n" + lines)
    for file, content in {out: lines, table: radii_csv(points[:, 0], points[:, 1], np.zeros(len(points)))}.items():
        if file is not None:
            file.write_text(content, encoding="utf-8")
            click.echo(f"{file} written.")


def lines_of_brief(name: str, points: Floats, what: str) -> str:
    """The lines of a brief's form that has this outside: pairs of height and width, mm, foot to rim."""
    words = "".join(each if each.isalnum() or each in " -_" else " " for each in name).strip() or "piece"
    pairs = ", ".join(f"[{height:.1f}, {2 * radius:.1f}]" for height, radius in points)
    return f'[[forms]]\nname = "{words}"\ncount = 1\n# From {what}; confirm it by the prototype.\nprofile = [{pairs}]\n'
