"""`wareboard load`: how many firings some pieces need and where each stands, from a few words and no brief."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wareboard.commands.firing import FILE, KINDS, say_lines
from wareboard.commands.table_file import rows_of
from wareboard.commands.written import refuse_any_standing, replace_option, written

if TYPE_CHECKING:
    from wareboard.kiln.inside import KilnInside, LoadPiece
    from wareboard.kiln.load import LoadPlan
    from wareboard.kiln.shelf import Shelf

COLUMNS = ("form", "count", "width", "height", "handle", "strap", "nests")
PIECE_WORDS = '--piece "cup, 24, 85 mm, 95 mm, 32 mm": form, how many, width, height, reach of its handle'
CARE = (
    "Lift shelves with both hands; edges cut. Let shelf wash and kiln dust not be breathed: wet-wipe, never sweep dry."
)
SHELF = re.compile(r"\s*(round|octagon|rectangle)\s+(.+?)\s*", re.IGNORECASE)


@click.command("load")
@click.argument("file", type=FILE, required=False)
@click.option("--piece", "pieces", multiple=True, help=PIECE_WORDS)
@click.option("--shelf", required=True, help='"round 450 mm", "octagon 500 mm" or "rectangle 400 x 300 mm".')
@click.option("--height", required=True, help="From the kiln's floor to the underside of its lid or roof.")
@click.option(
    "--kind", type=KINDS, default="glaze", show_default=True, help="Glazed ware never touches; bisque may nest."
)
@click.option("--half-shelves", is_flag=True, help="Every level is two half shelves on their own posts.")
@click.option("--post", "posts", multiple=True, help="A length of post that you have; the usual lengths if left out.")
@click.option("--gap", help="Kept between pieces; the usual one for the kind of firing if left out.")
@click.option("--one-form", is_flag=True, help="Never set several forms on one shelf but for what is left over.")
@click.option("--seconds", type=float, default=2.0, show_default=True, help="Work to spend on each form's shelf.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for a map to scale of each load, PDF."
)
@replace_option
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
def load_command(
    file: Path | None,
    pieces: tuple[str, ...],
    shelf: str,
    height: str,
    kind: str,
    half_shelves: bool,
    posts: tuple[str, ...],
    gap: str | None,
    one_form: bool,
    seconds: float,
    out: Path | None,
    paper: str,
) -> None:
    """Load the kiln with the pieces of FILE or of --piece: firings, the proved least, and each shelf from the floor up.

    FILE is a CSV whose first line names form, count, width, height and, where there are any, handle (how far it reaches
    beyond the body), strap (its width) and nests (yes). Sizes are those that go in: bisque size for a glaze firing.
    """
    from wareboard.kiln.load import plan_loads
    from wareboard.quantities import length_mm

    wanted = [*(from_file(file) if file else ()), *(from_words(words) for words in pieces)]
    refuse_none(wanted)
    inside = kiln_inside(shelf, height, half_shelves, posts)
    gap_mm = length_mm(gap) if gap is not None else None
    plan = plan_loads(wanted, inside, "bisque" if kind == "bisque" else "glaze", gap_mm, seconds, mix=not one_form)
    least = (
        "" if plan.bound_firings == plan.firings else f"; no plan can do with fewer than {plan.bound_firings} (proved)"
    )
    loads = "1 load" if plan.firings == 1 else f"{plan.firings} loads"
    click.secho(f"{sum(piece.count for piece in wanted)} pieces in {loads}{least}", bold=True)
    for number, load in enumerate(plan.loads, 1):
        say_lines(f"Load {number}, from the floor up", shelf_lines(load))
    say_lines("Alone in the kiln", (f"{each.form}: {each.pieces_in_a_load} pieces" for each in plan.by_form))
    say_lines("Working", plan.steps)
    if out is not None:
        for name in maps_of(plan, wanted, out, paper):
            click.echo(f"Written to {out / name}")
    click.echo(f"\n{CARE}")


def refuse_none(wanted: Sequence[LoadPiece]) -> None:
    """Nothing to load is told with how to say something."""
    from wareboard.errors import Unreadable

    if not wanted:
        raise Unreadable("no pieces", "there is nothing to load", f"Give a CSV, or {PIECE_WORDS}")


def shelf_lines(load: Sequence[Any]) -> Iterator[str]:
    """Each shelf of a load with what stands on it and the posts that carry the next."""
    for layout in load:
        counts = ", ".join(f"{count} × {form}" for form, count in layout.counts.items())
        post = f", posts of {layout.post_mm:.0f} mm" if layout.post_mm else ", on top"
        half = f" {'second' if layout.half else 'first'} half" if layout.half or "half" in layout.shelf.name else ""
        yield f"shelf {layout.level + 1}{half}: {counts}; its face {layout.level_mm:.0f} mm above the floor{post}"


def maps_of(plan: LoadPlan, wanted: Sequence[LoadPiece], out: Path, paper: str) -> Iterator[str]:
    """The names of the maps as they are written, one for each load."""
    from datetime import datetime

    from wareboard.sheets.firing_shelf import shelf_pdf

    printed = datetime.now().astimezone().date()
    out.mkdir(parents=True, exist_ok=True)
    forms = [piece.form for piece in wanted]
    refuse_any_standing(out / f"{plan.kind}-load-{number}.pdf" for number in range(1, plan.firings + 1))
    for number, load in enumerate(plan.loads, 1):
        name = f"{plan.kind.capitalize()} load {number} of {plan.firings}"
        data = shelf_pdf(
            load, forms, "The kiln", name, name, printed, "letter" if paper == "letter" else "a4", inside=plan.kiln
        )
        place = f"{plan.kind}-load-{number}.pdf"
        written(out / place, data, say=False)
        yield place


def kiln_inside(shelf: str, height: str, halves: bool, posts: Sequence[str]) -> KilnInside:
    """The inside that the words describe."""
    from wareboard.kiln.inside import KilnInside
    from wareboard.quantities import length_mm

    given: dict[str, Any] = {"post_lengths_mm": tuple(sorted(length_mm(each) for each in posts))} if posts else {}
    return KilnInside(shelf_of(shelf), length_mm(height), halves, **given)


def shelf_of(words: str) -> Shelf:
    """The shelf that the words name.

    Raises:
        Unreadable: for a shape that is not known, or sizes that are none.
    """
    from wareboard.errors import Unreadable
    from wareboard.kiln.shelf import OctagonalShelf, RectangularShelf, RoundShelf
    from wareboard.quantities import length_mm

    mend = 'Write "round 450 mm", "octagon 500 mm" or "rectangle 400 x 300 mm"'
    found = SHELF.fullmatch(words)
    if found is None:
        raise Unreadable(f"shelf {words!r}", "it is no shape and size", mend)
    shape, sizes = found[1].lower(), re.split(r"\s*(?:x|×|by)\s*", found[2])
    if len(sizes) != (2 if shape == "rectangle" else 1):
        raise Unreadable(f"shelf {words!r}", "it has not the sizes of that shape", mend)
    if shape == "rectangle":
        unit = re.sub(r"[\d\s.,/½¼¾⅛]", "", sizes[1])
        first = sizes[0] if re.search(r"[a-z\"']", sizes[0]) else f"{sizes[0]} {unit}"
        return RectangularShelf(length_mm(first), length_mm(sizes[1]))
    return RoundShelf(length_mm(sizes[0])) if shape == "round" else OctagonalShelf(length_mm(sizes[0]))


def from_words(words: str) -> LoadPiece:
    """The piece of one --piece.

    Raises:
        Unreadable: for too few or too many parts, or one that is no figure.
    """
    from wareboard.errors import Unreadable

    parts = [part.strip() for part in words.split(",")]
    if not 4 <= len(parts) <= len(COLUMNS):
        raise Unreadable(f"piece {words!r}", "it is not form, count, width and height", f"Write {PIECE_WORDS}")
    return piece_of(dict(zip(COLUMNS, parts, strict=False)), f"piece {words!r}")


def from_file(file: Path) -> list[LoadPiece]:
    """The pieces of a CSV; every line that cannot be read is named, all at once.

    Raises:
        Unreadable: for a first line without the needed names. Problems: with the faults of the other lines.
    """
    from wareboard.errors import Problems, WareboardError

    mend = f"Begin it with {', '.join(COLUMNS[:4])}, and {', '.join(COLUMNS[4:])} if any"
    found, problems = [], []
    for line, row in enumerate(rows_of(file, COLUMNS, COLUMNS[:4], mend), 2):
        try:
            cells = {name: (row.get(name) or "").strip() for name in COLUMNS if name in row}
            found.append(piece_of(cells, f"line {line}"))
        except WareboardError as problem:
            problem.where = problem.where or f"{file.name}, line {line}"
            problems.append(problem)
    if problems:
        raise Problems(problems, f"{file.name} cannot be read")
    return found


def piece_of(row: Mapping[str, str], where: str) -> LoadPiece:
    """A piece from its words by column.

    Raises:
        Unreadable: for a count that is no whole number or a size that is none.
    """
    from wareboard.errors import Unreadable
    from wareboard.kiln.inside import LoadPiece
    from wareboard.quantities import length_mm

    if not row["form"] or not row["count"].isdecimal():
        raise Unreadable(
            where, "it has no form, or its count is no whole number", "Write such as cup, 24, 85 mm, 95 mm"
        )
    nests = row.get("nests", "").lower()
    if nests not in ("", "no", "yes", "0", "1"):
        raise Unreadable(f"nests {nests!r}", "it is neither yes nor no", "Write yes or no")
    handle, strap = (length_mm(row[name]) if row.get(name) else 0.0 for name in ("handle", "strap"))
    return LoadPiece(
        row["form"],
        int(row["count"]),
        length_mm(row["width"]),
        length_mm(row["height"]),
        nests in ("yes", "1"),
        handle,
        strap,
    )
