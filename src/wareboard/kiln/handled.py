"""Pieces with handles on a shelf: a handle reaches between its neighbours, so more stand than circles would allow.

Lengths in mm; angles in degrees, anticlockwise from the right.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from wareboard.kiln.circles import (
    MOST_TO_SEARCH_FOR,
    KeepOut,
    Progress,
    StopSign,
    most_that_fit,
    proved_most_on,
    refuse_too_many,
)
from wareboard.kiln.footprint import footprint, rings
from wareboard.kiln.handled_rows import best_rows
from wareboard.kiln.piece_search import search_for_more_pieces
from wareboard.kiln.shelf import Points, Shelf, refuse_unless_positive
from wareboard.working import Step


@dataclass(frozen=True, slots=True, eq=False)
class HandledStanding:
    """Where handled pieces stand on one shelf: body centres (n, 2) and the way each handle points, degrees (n,).

    ``bound`` is proved, for the bodies alone. ``as_circles`` is how many would stand if each had the circle round body
    and handle to itself.
    """

    centres_mm: Points
    handle_angles_deg: Points
    bound: int
    as_circles: int
    method: str
    shelf: Shelf
    steps: tuple[Step, ...]
    complete: bool = True

    @property
    def count(self) -> int:
        """How many stand."""
        return len(self.centres_mm)


def most_handled_that_fit(
    body_mm: float,
    handle_reach_mm: float,
    handle_width_mm: float,
    shelf: Shelf,
    clearance_mm: float = 0.0,
    seconds: float = 5.0,
    *,
    edge_mm: float = 0.0,
    keep_outs: Sequence[KeepOut] = (),
    seed: int = 0,
    progress: Progress | None = None,
    stop: StopSign | None = None,
    executor: Executor | None = None,
) -> HandledStanding:
    """As many handled pieces as could be placed on ``shelf``, each turned as it likes, bodies and handles kept apart.

    Args:
        body_mm: widest diameter of the body, mm.
        handle_reach_mm: how far the handle reaches beyond the body, mm, 0 or more.
        handle_width_mm: width of the handle seen from above, mm, 0 or more.
        clearance_mm: least gap between any parts of two pieces, mm.
        seconds: work to do beyond the tightest rows, as in `most_that_fit`; 0 tries rows alone.
        shelf, edge_mm, keep_outs, seed, progress, stop, executor: as in `most_that_fit`.
    Raises:
        OutOfRange: if a length is not finite or has the wrong sign, or above 2000 pieces.
    Source: geometry; the proved bound is Groemer's for the bodies (`groemer-oler`).
    """
    refuse_unless_positive("the body's diameter", body_mm)
    refuse_unless_positive("the handle's reach", handle_reach_mm, zero_too=True)
    refuse_unless_positive("the handle's width", handle_width_mm, zero_too=True)
    refuse_unless_positive("the gap between pieces", clearance_mm, zero_too=True)
    piece = footprint(body_mm, handle_reach_mm, handle_width_mm)
    floor = shelf.floor().inset(edge_mm)
    blocked = rings(keep_outs)
    target = proved_most_on(shelf, body_mm + clearance_mm, floor.inset(body_mm / 2.0))
    refuse_too_many(target, body_mm, shelf)
    round_it = most_that_fit(body_mm + handle_reach_mm, shelf, clearance_mm, 0.0, edge_mm=edge_mm, keep_outs=keep_outs)
    places = best_rows(piece, floor, clearance_mm, blocked)
    method = "rows with the handles between"
    if round_it.count > len(places):
        back = np.array([handle_reach_mm / 2.0, 0.0])
        places = np.column_stack((round_it.centres_mm - back, np.zeros(round_it.count)))
        method = "circles round body and handle"
    complete = True
    if seconds > 0.0 and len(places) < target <= MOST_TO_SEARCH_FOR:
        effort = (seconds, seed, progress, stop, executor)
        kinds, wanted = [0] * len(places), [0] * (target - len(places))
        more, _ = search_for_more_pieces([piece], floor, clearance_mm, blocked, places, kinds, wanted, *effort)
        complete = not (stop is not None and stop.is_set())
        if len(more) > len(places):
            places, method = more, "search from many starts"
    if progress is not None:
        progress(len(places), target)
    return HandledStanding(
        places[:, :2].copy(),
        np.degrees(places[:, 2]) % 360.0,
        target,
        round_it.count,
        method,
        shelf,
        _steps(len(places), method, round_it.count, target, body_mm, handle_reach_mm),
        complete,
    )


def _steps(count: int, method: str, as_circles: int, bound: int, body_mm: float, reach_mm: float) -> tuple[Step, ...]:
    given = {"body": body_mm, "reach": reach_mm}
    return (
        Step("pieces on one shelf", "", given, float(count), "derived", "pieces", how=method),
        Step(
            "as circles round body and handle",
            "",
            {"diameter": body_mm + reach_mm},
            float(as_circles),
            "derived",
            "pieces",
            how="the same shelf, each handle with its whole turning circle",
        ),
        Step(
            "proved most for the bodies alone",
            "",
            given,
            float(bound),
            "groemer-oler",
            "pieces",
            how="handles left off",
        ),
    )
