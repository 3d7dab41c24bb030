"""How many of N pieces stand on a square or rectangular shelf at the published size for N?"""

from __future__ import annotations

import time

import numpy as np

from wareboard.kiln.circles import table_of
from wareboard.kiln.load import RectangularShelf, most_that_fit
from wareboard.kiln.packing import search_for_more
from wareboard.kiln.staggered_rows import best_lattice

QUESTION = "pieces placed on a square (N = 1 to 50) or a rectangular shelf over the published count"
REFERENCE = (
    "E. Specht, best known packings in a square, N = 1 to 50, a thousandth larger; "
    "E. G. Birgin and J. M. Gentil 2009, rectangles of least area and least half perimeter, tables 3 and 4"
)
SECONDS = 5.0

ROOT3 = 3.0**0.5
RECTANGLES = (
    (10, 10.0, 4.0),
    (11, 8.0, 2 + 2 * ROOT3),
    (14, 2 + 2 * ROOT3, 10.0),
    (15, 2 + ROOT3, 16.0),
    (17, 2 + 2 * ROOT3, 12.0),
    (20, 14.0, 2 + 2 * ROOT3),
    (28, 12.0, 2 + 4 * ROOT3),
    (30, 2 + 2 * ROOT3, 21.0),
    (39, 27.0, 2 + 2 * ROOT3),
    (50, 2 + 2 * ROOT3, 34.0),
    (7, 5.8612097182041998, 2 + 2 * ROOT3),
    (8, 2 + 2 * ROOT3, 6.0),
    (10, 2 + 3 * ROOT3, 6.0),
    (11, 6.0, 4 + 2 * ROOT3),
    (15, 8.0, 4 + 2 * ROOT3),
    (19, 4 + 2 * ROOT3, 10.0),
    (24, 6 + 2 * ROOT3, 10.0),
    (30, 10.6602540378443891, 11.0),
)  # sides over the radius of a piece


def run() -> list[dict[str, str]]:
    """Squares by rows alone, by search alone and as answered; rectangles as answered with and without search."""
    squares = [
        (n, RectangularShelf(side, side, 19.0))
        for n, side in ((n, 50.0 * ratio * 1.001) for n, ratio in table_of("circles_in_a_square").items())
    ]
    rectangles = [
        (n, RectangularShelf(50.0 * wide * 1.000001, 50.0 * deep * 1.000001, 19.0)) for n, wide, deep in RECTANGLES
    ]
    return [
        _row("squares: staggered rows alone", squares, _rows),
        _row("squares: search alone, from rows", squares, _search),
        _row("squares: kept places, then search", squares, _answer),
        _row("rectangles: rows alone", rectangles, _at_once),
        _row("rectangles: rows, then search", rectangles, _answer),
    ]


def _row(name: str, cases, way) -> dict[str, str]:  # type: ignore[no-untyped-def]
    short, took = [], []
    for n, shelf in cases:
        began = time.perf_counter()
        short.append(max(0, n - way(shelf, n)))
        took.append(time.perf_counter() - began)
    wanted = sum(n for n, _ in cases)
    return {
        "way": name,
        "ratio": f"{1 - sum(short) / wanted:.4f}",
        "all N placed": f"{np.mean(np.array(short) == 0):.1%}",
        "furthest short": str(max(short)),
        "slowest s": f"{max(took):.2f}",
    }


def _rows(shelf: RectangularShelf, n: int) -> int:
    return len(best_lattice(shelf.floor().inset(50.0), 100.0, np.empty((0, 3))))


def _search(shelf: RectangularShelf, n: int) -> int:
    room, nothing = shelf.floor().inset(50.0), np.empty((0, 3))
    return len(search_for_more(room, 100.0, nothing, best_lattice(room, 100.0, nothing), n, seconds=SECONDS).centres_mm)


def _at_once(shelf: RectangularShelf, n: int) -> int:
    return most_that_fit(100.0, shelf, seconds=0.0).count


def _answer(shelf: RectangularShelf, n: int) -> int:
    return most_that_fit(100.0, shelf, seconds=SECONDS).count
