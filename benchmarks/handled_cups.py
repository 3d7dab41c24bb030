"""How many more handled cups stand on a shelf when handles may reach between their neighbours?"""

from __future__ import annotations

import time

from wareboard.kiln.load import HalfRoundShelf, RectangularShelf, RoundShelf, most_handled_that_fit, most_that_fit

QUESTION = "handled cups placed with handles between neighbours over the best count for their turning circles"
REFERENCE = "circles round body and handle, best of the published table, kept places and search (version of this tool)"
CUPS = ((92.0, 32.0, 20.0), (80.0, 38.0, 15.0), (85.0, 30.0, 22.0), (110.0, 40.0, 25.0))  # body, reach, width; invented
SHELVES = (RoundShelf(530.0, 19.0), RectangularShelf(600.0, 450.0, 19.0), HalfRoundShelf(560.0, 19.0))
GAP_MM = 6.0


def run() -> list[dict[str, str]]:
    """A row for each cup and shelf: rows alone, two seconds of search, circles, and the proved bound for the bodies."""
    rows = []
    for body, reach, width in CUPS:
        for shelf in SHELVES:
            began = time.perf_counter()
            found = most_handled_that_fit(body, reach, width, shelf, GAP_MM, 2.0)
            took = time.perf_counter() - began
            circles = most_that_fit(body + reach, shelf, GAP_MM, 2.0).count
            rows.append(
                {
                    "cup": f"{body:g} + {reach:g} × {width:g} mm",
                    "shelf": shelf.name,
                    "rows alone": str(most_handled_that_fit(body, reach, width, shelf, GAP_MM, 0.0).count),
                    "with search": str(found.count),
                    "as circles": str(circles),
                    "ratio": f"{found.count / circles:.2f}",
                    "proved bound": str(found.bound),
                    "s": f"{took:.2f}",
                }
            )
    return rows
