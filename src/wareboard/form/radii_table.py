"""The outside of a piece from a table of heights and radii (or diameters), as a caliper and a ruler give them."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from wareboard.errors import Problems, Unreadable, WareboardError
from wareboard.form.curve import Floats

LONGEST, MOST_ROWS = 1_000_000, 5000
LARGEST_MM = 1200.0  # nothing that goes into a studio kiln is larger
MM_IN = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4}
HEIGHTS = {"height", "high", "h"}
RADII = {"radius": 1.0, "r": 1.0, "diameter": 0.5, "d": 0.5, "width": 0.5, "across": 0.5}
HEAD = re.compile(r"^\s*([a-z]+)[\s_,(\[]*(mm|cm|m|inches|inch|in|\")?[\s)\]]*$", re.IGNORECASE)
NUMBER = re.compile(r"^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$")


@dataclass(frozen=True, slots=True, eq=False)
class RadiiTable:
    """The outside of a piece, (n, 2) of (height, radius) in mm from its foot to its rim, and what is to be said of it."""

    points_mm: Floats
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Column:
    place: int
    factor: float  # from the figure written to mm of height or radius
    name: str


def read_radii(text: str, name: str = "") -> RadiiTable:
    """The outside that a table tells: one row a height, a head that says what its columns are.

    Columns are parted by commas, semicolons or tabs; with the latter two a decimal comma may stand. Empty lines and those
    that begin with # are left out.

    Args:
        text: such as "height_mm,radius_mm" or "height in;diameter in" and the rows below it; mm where no unit is named.
        name: what to call the table in a refusal.
    Raises:
        Unreadable: if there is no head, no height or no radius, fewer than two rows, or the table is too long.
        Problems: naming each row that cannot be, and its mend.
    """
    called = name or "the table"
    if len(text) > LONGEST:
        raise Unreadable(called, "it is longer than any table of radii", "Send only the columns of height and radius")
    lines = [(number, line) for number, line in enumerate(text.lstrip("\ufeff").splitlines(), 1)]
    lines = [(number, line) for number, line in lines if line.strip(" \t;,") and not line.lstrip().startswith("#")]
    if not lines:
        raise Unreadable(called, "there is nothing in it", "Begin with the line height_mm,radius_mm")
    if len(lines) > MOST_ROWS:
        raise Unreadable(called, f"it has more than {MOST_ROWS} rows", "Keep every few millimetres only")
    mark = next((each for each in (";", "\t") if each in lines[0][1]), ",")
    height, radius, notes = _columns(next(csv.reader([lines[0][1]], delimiter=mark)), called)
    found, problems = [], []
    for number, line in lines[1:]:
        try:
            found.append((number, *_row(line, mark, height, radius)))
        except WareboardError as problem:
            problem.where = f"row {number}"
            problems.append(problem)
    if problems:
        raise Problems(problems, f"Some rows of {called} cannot be read")
    if len(found) < 2:
        raise Unreadable(called, "it has fewer than two rows below its head", "Give two heights or more")
    return _checked(found, notes, called)


def _columns(head: list[str], called: str) -> tuple[_Column, _Column, tuple[str, ...]]:
    height = radius = None
    bare, left = [], []
    for place, cell in enumerate(head):
        seen = HEAD.match(cell)
        word, unit = (seen[1].lower(), seen[2]) if seen else ("", None)
        factor = MM_IN[unit.lower()] if unit else 1.0
        if word in HEIGHTS and height is None:
            height = _Column(place, factor, word)
        elif word in RADII and radius is None:
            radius = _Column(place, factor * RADII[word], word)
        else:
            left.append(cell.strip())
            continue
        if unit is None:
            bare.append(word)
    if height is None or radius is None:
        missing = "height" if height is None else "radius or diameter"
        raise Unreadable(
            called,
            f"its first line names no {missing}",
            "Begin with a line such as height_mm,radius_mm or height_in,diameter_in",
        )
    notes = []
    if bare:
        notes.append(f"No unit stands by {' and '.join(bare)}: taken as mm.")
    if radius.name in ("diameter", "d", "width", "across"):
        notes.append("Diameters are halved.")
    left = [each for each in left if each and each != "plus_or_minus_mm"]
    if left:
        notes.append(f"Left out: {', '.join(left[:6])[:80]}.")
    return height, radius, tuple(notes)


def _row(line: str, mark: str, height: _Column, radius: _Column) -> tuple[float, float]:
    """Height and radius, mm, of one row."""
    cells = next(csv.reader([line], delimiter=mark))
    if mark == "," and len(cells) >= 4 and len(cells) % 2 == 0 and all(NUMBER.match(each.strip()) for each in cells):
        raise Unreadable(
            repr(line.strip()[:40]),
            "commas part its columns and its decimals alike",
            "Put semicolons between the columns",
        )
    return (
        _figure(cells, height, mark) * height.factor,
        _figure(cells, radius, mark) * radius.factor,
    )


def _figure(cells: list[str], column: _Column, mark: str) -> float:
    written = cells[column.place].strip() if column.place < len(cells) else ""
    if not written:
        raise Unreadable(f"its {column.name}", "it is empty", "Write it in, or take the row out")
    plain = written if mark == "," else written.replace(",", ".")
    if column.factor in (1.0, 0.5):  # a table in mm may say so again in each row
        plain = re.sub(r"\s*mm$", "", plain, flags=re.IGNORECASE)
    if not NUMBER.match(plain) or not math.isfinite(float(plain)):
        raise Unreadable(f"its {column.name} {written[:30]!r}", "it is not a number", "Write a figure such as 38.5")
    value = float(plain)
    if value * column.factor > LARGEST_MM:
        raise Unreadable(
            f"its {column.name} {written[:30]}",
            f"no piece is larger than {LARGEST_MM:g} mm each way",
            "Look for a slipped point, or name the unit in the head",
        )
    if column.name not in HEIGHTS and value <= 0:
        raise Unreadable(f"its {column.name} {written[:30]}", "it is not above 0", "Measure from the axis outward")
    return value


def _checked(found: list[tuple[int, float, float]], notes: tuple[str, ...], called: str) -> RadiiTable:
    heights = [tall for _, tall, _ in found]
    if heights[0] > heights[-1]:
        found.reverse()
        notes += ("It runs from the rim to the foot and is turned over.",)
    problems = []
    for before, row in pairwise(found):
        if row[1] < before[1]:
            problems.append(
                Unreadable(
                    f"its height {row[1]:g} mm",
                    f"the height before it, in row {before[0]}, is {before[1]:g} mm",
                    "Put the rows in order from the foot to the rim",
                    f"row {row[0]}",
                )
            )
    if problems:
        raise Problems(problems, f"Some rows of {called} are out of order")
    points = np.array([pair[1:] for pair in found], dtype=np.float64)
    if points[0, 0] != 0.0:
        notes += (f"Its lowest height, {points[0, 0]:g} mm, is taken as the foot.",)
        points[:, 0] -= points[0, 0]
    if points[-1, 0] <= 0:
        raise Unreadable(called, "all its heights are the same", "Give heights from the foot to the rim")
    points.setflags(write=False)
    return RadiiTable(points, notes)
