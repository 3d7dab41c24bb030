"""How many of N pieces stand on a round shelf a thousandth larger than the best known for N, N = 1 to 61?"""

from __future__ import annotations

import time

import numpy as np

from wareboard.kiln.circles import table_of
from wareboard.kiln.load import RoundShelf, most_that_fit
from wareboard.kiln.packing import search_for_more
from wareboard.kiln.staggered_rows import best_lattice

QUESTION = "pieces placed on a round shelf over the best-known count, N = 1 to 61"
REFERENCE = (
    "E. Specht, best known packings of equal circles in a circle, N = 1 to 100, as compared with Grosso et al. 2010"
)
MOST = 61
SECONDS = 5.0


def run() -> list[dict[str, str]]:
    """Three rows: staggered rows alone, the search alone, and what the tool answers (kept places, then search)."""
    ways = {"staggered rows alone": _rows, "search alone, from rows": _search, "kept places, then search": _answer}
    return [_row(name, way) for name, way in ways.items()]


def _row(name: str, way) -> dict[str, str]:  # type: ignore[no-untyped-def]
    placed, took = [], []
    for n in range(1, MOST + 1):
        shelf = RoundShelf(100.0 * table_of("circles_in_a_circle")[n] * 1.001, 19.0)
        began = time.perf_counter()
        placed.append(min(n, way(shelf, n)))
        took.append(time.perf_counter() - began)
    wanted = np.arange(1, MOST + 1)
    short = wanted - np.array(placed)
    return {
        "way": name,
        "ratio": f"{sum(placed) / wanted.sum():.4f}",
        "all N placed": f"{np.mean(short == 0):.1%}",
        "furthest short": str(short.max()),
        "slowest s": f"{max(took):.2f}",
    }


def _rows(shelf: RoundShelf, n: int) -> int:
    return len(best_lattice(shelf.floor().inset(50.0), 100.0, np.empty((0, 3))))


def _search(shelf: RoundShelf, n: int) -> int:
    room, nothing = shelf.floor().inset(50.0), np.empty((0, 3))
    return len(search_for_more(room, 100.0, nothing, best_lattice(room, 100.0, nothing), n, seconds=SECONDS).centres_mm)


def _answer(shelf: RoundShelf, n: int) -> int:
    return most_that_fit(100.0, shelf, seconds=SECONDS).count
