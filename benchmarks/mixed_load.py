"""How many firings do mixed orders take when forms may share shelves, against one form to a shelf and a proved bound?"""

from __future__ import annotations

import time

from wareboard.kiln.load import KilnInside, LoadPiece, RoundShelf, plan_loads

QUESTION = "glaze firings of mixed orders with shelves shared, over the proved bound"
REFERENCE = (
    "the bound by room and by height (Groemer's inequality for the widest pieces); one form to a shelf beside it"
)
SECONDS = 0.2

TALL = KilnInside(RoundShelf(530.0, 19.0), 680.0)
FOUR_SHELVES = KilnInside(RoundShelf(530.0, 19.0), 25.0 + 3 * (19.0 + 89.0) + 19.0 + 65.0 + 13.0)
ORDERS = {  # invented
    "120 small pieces, four forms, four shelves": (
        FOUR_SHELVES,
        [
            LoadPiece("dip bowl", 30, 70.0, 60.0),
            LoadPiece("beaker", 30, 78.0, 65.0),
            LoadPiece("egg cup", 30, 66.0, 62.0),
            LoadPiece("pinch pot", 30, 84.0, 58.0),
        ],
    ),
    "30 plates, 60 cups, 60 saucers": (
        TALL,
        [LoadPiece("plate", 30, 265.0, 28.0), LoadPiece("cup", 60, 80.0, 60.0), LoadPiece("saucer", 60, 120.0, 22.0)],
    ),
    "60 handled cups, 40 bowls, 40 plates, 40 side plates, 6 jugs": (
        TALL,
        [
            LoadPiece("cup", 60, 92.0, 88.0, handle_reach_mm=32.0, handle_width_mm=20.0),
            LoadPiece("bowl", 40, 150.0, 70.0),
            LoadPiece("plate", 40, 265.0, 28.0),
            LoadPiece("side plate", 40, 180.0, 22.0),
            LoadPiece("jug", 6, 120.0, 200.0),
        ],
    ),
}


def run() -> list[dict[str, str]]:
    """A row for each order."""
    rows = []
    for name, (kiln, pieces) in ORDERS.items():
        apart = plan_loads(pieces, kiln, "glaze", seconds=SECONDS)
        began = time.perf_counter()
        mixed = plan_loads(pieces, kiln, "glaze", seconds=SECONDS, mix=True)
        took = time.perf_counter() - began
        rows.append(
            {
                "order": name,
                "one form to a shelf": str(apart.firings),
                "shelves shared": str(mixed.firings),
                "proved bound": str(mixed.bound_firings),
                "ratio": f"{mixed.firings / mixed.bound_firings:.2f}",
                "s": f"{took:.1f}",
            }
        )
    return rows
