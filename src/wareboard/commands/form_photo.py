"""`wareboard form photo`: the profile of a piece from its photograph and one known size."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from wareboard.commands.form_outline import WITHIN, lines_of_brief
from wareboard.commands.written import TO_WRITE, replace_option, written

if TYPE_CHECKING:
    from wareboard.form.curve import Floats
    from wareboard.form.silhouette import PhotoProfile

FILE = click.Path(dir_okay=False, path_type=Path)
SHOWN = 9


@click.command("photo")
@click.argument("picture", type=FILE)
@click.option("--height", help="Height of the piece over all.")
@click.option("--width", help="Greatest width, without the handle, instead of the height.")
@click.option("--capacity", help="Capacity to the brim, instead of the height.")
@click.option("--wall", help="Wall that a given capacity is reckoned with; 4 mm if left out.")
@click.option("--lens", type=float, help="Focal length as on 35 mm film, where the picture does not name it.")
@click.option(
    "--sheet",
    type=click.Choice(["a4", "letter"]),
    help="A sheet of paper lies flat and whole before the piece or under it: its scale, if no size is given, and its lens.",
)
@click.option(
    "--sheet-corners",
    help='Its four corners in dots of the picture, going round it, where it is not found: "x,y x,y x,y x,y".',
)
@click.option("--within", default="0.3 mm", show_default=True, help=WITHIN)
@click.option("--out", type=TO_WRITE, help="Write the brief's lines for this form into a file.")
@click.option("--csv", "table", type=TO_WRITE, help="Write the table of radii into a CSV file.")
@click.option("--svg", "drawing", type=TO_WRITE, help="Write the outline life-size into an SVG file.")
@replace_option
@click.option("--working", is_flag=True, help="Print the working of every number.")
def photo_command(
    picture: Path,
    height: str | None,
    width: str | None,
    capacity: str | None,
    wall: str | None,
    lens: float | None,
    sheet: str | None,
    sheet_corners: str | None,
    within: str,
    out: Path | None,
    table: Path | None,
    drawing: Path | None,
    working: bool,
) -> None:
    """Read the outside of a piece off the photograph in PICTURE, with its handle apart and how sure it is."""
    from wareboard.form.silhouette import profile_from_photo
    from wareboard.form.traced import outline_svg, radii_csv
    from wareboard.pictures import picture_from_file
    from wareboard.quantities import length_mm, volume_ml

    opened = picture_from_file(picture)
    found = profile_from_photo(
        opened.rgb,
        None if height is None else length_mm(height),
        width_mm=None if width is None else length_mm(width),
        capacity_ml=None if capacity is None else volume_ml(capacity),
        wall_mm=4.0 if wall is None else length_mm(wall),
        lens_35mm=lens or opened.lens_35mm,
        sheet=sheet,
        sheet_corners_px=_corners(sheet_corners, sheet),
    )
    what = f"a photograph, each width within {2 * found.uncertainty_mm:.1f} mm"
    lines = lines_of_brief(picture.stem, found.points_mm, what, length_mm(within))
    _say(found, (*opened.notes, *found.notes))
    click.echo("\n" + lines)
    handle = found.handle
    contents = {
        out: lines,
        table: radii_csv(found.heights_mm, found.radii_mm, found.spread_mm),
        drawing: outline_svg(
            found.points_mm, handle.outline_mm if handle else None, handle.side if handle else "right"
        ),
    }
    for file, content in contents.items():
        if file is not None:
            written(file, content)
    for step in found.steps if working else ():
        click.echo(step)


def _corners(written: str | None, sheet: str | None) -> Floats | None:
    import numpy as np

    from wareboard.commands.dots import numbers_in
    from wareboard.errors import Unreadable

    if written is None:
        return None
    if sheet is None:
        raise Unreadable("corners of a sheet", "which sheet it is was not said", "Give --sheet a4 or --sheet letter")
    return np.array(numbers_in(written, 8), dtype=np.float64).reshape(4, 2)


def _say(found: PhotoProfile, notes: tuple[str, ...]) -> None:
    tall, widest = found.heights_mm[-1], 2 * found.radii_mm.max()
    within = found.uncertainty_mm
    click.echo(f"{tall:.1f} mm high, {widest:.1f} mm at its widest; each radius within {within:.1f} mm (90 %)")
    click.echo("  height    width   within")
    last = len(found.heights_mm) - 1
    for place in [round(last * part / (SHOWN - 1)) for part in range(SHOWN)]:
        wide, off = 2 * found.radii_mm[place], 2 * found.spread_mm[place]
        click.echo(f"{found.heights_mm[place]:6.1f} mm {wide:6.1f} mm  ± {off:.1f} mm")
    if found.handle:
        handle = found.handle
        joined = f"joined at {handle.lower_root_mm:.0f} and {handle.upper_root_mm:.0f} mm"
        room = f"stands out {handle.reach_mm:.0f} mm, {handle.gap_mm:.0f} mm of it for the fingers"
        click.echo(f"handle on the {handle.side}: {joined}, {room}")
    else:
        click.echo("no handle is seen")
    for note in notes:
        click.echo(f"note: {note}")
