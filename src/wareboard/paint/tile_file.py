"""Tiles from a file that a person keeps: TOML or CSV text in, tiles out, everything wrong told at once with its place."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from wareboard.errors import Problems, Unreadable, WareboardError
from wareboard.paint.colour import lab_from_srgb
from wareboard.paint.tiles import Colour, Tile, colour

FIELDS = ("name", "glaze", "fired", "raw", "coats", "over", "over_coats", "body", "cone", "runs", "note")
YES, NO = ("yes", "y", "x", "1", "true"), ("", "no", "n", "0", "false")
HEX = re.compile(r"#([0-9a-fA-F]{6})")
TABLE = re.compile(r"^\s*\[", re.MULTILINE)
USUAL_COATS = 3


def read_tiles(text: str) -> tuple[Tile, ...]:
    """The tiles of a file, in its order.

    TOML has a ``[[tile]]`` for each; CSV has a first line that names the columns. Each tile has ``name`` and ``fired``, and
    if wanted ``glaze`` (the name where left out), ``raw``, ``coats`` (3 where left out, 0 for bare), ``over``,
    ``over_coats`` (3), ``body``, ``cone``, ``runs`` (yes or no), ``note``. A colour is "#8a5a2b" as shown by sRGB, or Lab
    under D50 as three numbers ("lab 52 14 30", in TOML also [52, 14, 30]); several photographs stand one after another with
    ";" between (in TOML also a list of them).

    Raises:
        Unreadable: if it is neither.
        Problems: with one error for each thing wrong.
    """
    if not text.strip():
        raise Unreadable("the file of tiles", "it is empty", "Put a tile in for each glaze that was fired")
    rows = list(_toml_rows(text) if TABLE.search(text) else _csv_rows(text))
    problems: list[WareboardError] = []
    found: list[Tile] = []
    for where, row in rows:
        try:
            found.append(_tile(row))
        except WareboardError as exc:
            exc.where = where
            problems.append(exc)
    if problems:
        raise Problems(problems, "The tiles could not be read")
    return tuple(found)


def _toml_rows(text: str) -> Iterator[tuple[str, Mapping[str, object]]]:
    try:
        held = tomllib.loads(text.lstrip("\ufeff"))
    except tomllib.TOMLDecodeError as exc:
        raise Unreadable("the file of tiles", f"it is no TOML: {exc}", "Mend that line") from None
    tiles = held.get("tile")
    if not isinstance(tiles, list) or not all(isinstance(each, dict) for each in tiles):
        raise Unreadable("the file of tiles", "it holds no [[tile]]", "Begin each tile with a line [[tile]]")
    for place, row in enumerate(tiles, start=1):
        yield f"tile {place}", row


def _csv_rows(text: str) -> Iterator[tuple[str, Mapping[str, object]]]:
    # Blanked, not dropped, so that line numbers stay those of the file.
    lines = ["" if line.startswith("# ") else line for line in text.lstrip("\ufeff").splitlines()]
    first = next((line for line in lines if line.strip()), "")
    # A colour's ";" is no sign: only the heading tells how the cells are parted.
    reader = csv.reader(io.StringIO("\n".join(lines)), delimiter=";" if first.count(";") > first.count(",") else ",")
    heading: list[str] = []
    for cells in reader:
        if not any(cell.strip() for cell in cells):
            continue
        if not heading:
            heading = [cell.strip().casefold().replace(" ", "_") for cell in cells]
            if "fired" not in heading:
                raise Unreadable(
                    "the first line of the tiles", "it names no column fired", f"Name columns: {', '.join(FIELDS)}"
                )
            continue
        if len(cells) > len(heading):
            raise Unreadable(
                f"{len(cells)} cells", f"there are {len(heading)} columns", "Put text with commas in quotes",
                f"line {reader.line_num}",
            )  # fmt: skip
        yield f"line {reader.line_num}", dict(zip(heading, cells, strict=False))


def _tile(row: Mapping[str, object]) -> Tile:
    unknown = [key for key in row if key and key not in FIELDS]
    if unknown:
        raise Unreadable(f"{unknown[0]!r}", "a tile has no such thing", f"Use {', '.join(FIELDS)}")
    words = {key: str(row[key]).strip() for key in FIELDS if key in row and row[key] is not None}
    name = words.get("name") or words.get("glaze") or ""
    if not name:
        raise Unreadable("a tile without a name", "zones go by it", "Put the code that is scratched on it")
    coats = _count(words.get("coats"), f"coats of {name}", USUAL_COATS)
    over = words.get("over", "")
    beneath = _count(words.get("over_coats"), f"coats beneath {name}", USUAL_COATS if over else 0)
    raw = row.get("raw")
    return Tile(
        name=name,
        glaze=words.get("glaze") or (name if coats else ""),
        fired=_colour(row.get("fired"), f"fired colour of {name}"),
        raw=_colour(raw, f"raw colour of {name}") if raw not in (None, "", []) else None,
        coats=coats,
        over=over,
        over_coats=beneath,
        body=words.get("body", ""),
        cone=words.get("cone", ""),
        runs=_yes_or_no(words.get("runs", ""), name),
        note=words.get("note", ""),
    )


def _count(text: str | None, what: str, usual: int) -> int:
    if text is None or text == "":
        return usual
    if not re.fullmatch(r"\d{1,2}", text):
        raise Unreadable(f"{what}: {text!r}", "it is no whole number", "Write it in figures, such as 3")
    return int(text)


def _yes_or_no(text: str, name: str) -> bool:
    if text.casefold() in YES:
        return True
    if text.casefold() in NO:
        return False
    raise Unreadable(f"runs of {name}: {text!r}", "it is neither yes nor no", "Write yes or no")


def _colour(given: object, what: str) -> Colour:
    return colour(np.array([_lab(each, what) for each in _photographs(given)]), "own records")


def _photographs(given: object) -> Sequence[object]:
    if isinstance(given, str):
        return [part for part in given.split(";") if part.strip()] or [""]
    if isinstance(given, list) and given and not all(isinstance(part, int | float) for part in given):
        return given
    return [given]


def _lab(given: object, what: str) -> list[float]:
    if isinstance(given, str):
        if written := HEX.fullmatch(given.strip()):
            parts = [int(written[1][place : place + 2], 16) / 255.0 for place in (0, 2, 4)]
            return [float(part) for part in lab_from_srgb(parts)]
        found = re.findall(r"[-+]?\d+(?:\.\d+)?", given) if given.strip().casefold().startswith("lab") else []
        if len(found) == 3:
            return [float(part) for part in found]
    if isinstance(given, list) and len(given) == 3 and all(isinstance(part, int | float) for part in given):
        return [float(part) for part in given]
    raise Unreadable(
        f"{what}: {given!r}" if given else what,
        "it is no colour" if given else "it is missing",
        'Write "#8a5a2b", or Lab under D50 as "lab 52 14 30"',
    )
