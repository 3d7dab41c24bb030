"""Firings that no plan can do without where the shelves are counted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from wareboard.kiln.circles import proved_most_on
from wareboard.kiln.inside import KilnInside, Kind, LoadPiece
from wareboard.working import Step

LAST = "firings that no plan can do without"


def bound_with_stock(
    bound: int, steps: Sequence[Step], pieces: Sequence[LoadPiece], kiln: KilnInside, kind: Kind, gap_mm: float
) -> tuple[int, tuple[Step, ...]]:
    """The bound by room and height raised to that by the shelves owned, with its working; as it was where none are counted.

    Of the pieces at least as wide as some width, a shelf holds no more than the proved most of that width, each place with
    no more than nest there; so many shelves are needed, and a load has no more than are owned.
    Source: as `on_a_shelf.bound_by_room_and_count`; counting.
    """
    owned = kiln.stock.shelves if kiln.stock is not None else None
    if not owned or not pieces:
        return bound, tuple(steps)
    needed, wide = max((_shelves(wide, pieces, kiln, kind, gap_mm), wide) for wide in _widths(pieces))
    by_shelves = math.ceil(needed / owned)
    how = "pieces of that width and wider, over the proved most of them on a shelf"
    mine = (
        Step(
            "shelves that the wide pieces need", "", {"width": wide}, float(needed), "groemer-oler", "shelves", how=how
        ),
        Step(
            "firings needed by the shelves owned",
            "ceil(shelves / owned)",
            {"shelves": float(needed), "owned": float(owned)},
            float(by_shelves),
            "derived",
            "firings",
        ),
    )
    most = max(bound, by_shelves)
    found: list[Step] = []
    for step in steps:
        if step.name == LAST:
            inputs = {**step.inputs, "by_shelves": float(by_shelves)}
            found += mine
            step = replace(step, formula="max(by_room, by_height, by_shelves)", inputs=inputs, value=float(most))
        found.append(step)
    return most, tuple(found)


def _widths(pieces: Sequence[LoadPiece]) -> set[float]:
    return {piece.footprint_diameter_mm for piece in pieces}


def _shelves(wide_mm: float, pieces: Sequence[LoadPiece], kiln: KilnInside, kind: Kind, gap_mm: float) -> int:
    """Shelves that the pieces of this width and wider need at the least."""
    places = sum(
        piece.count / (piece.nest_at_most if kind == "bisque" and piece.nests else 1)
        for piece in pieces
        if piece.footprint_diameter_mm >= wide_mm
    )
    room = kiln.loaded_shelf.floor().inset(kiln.edge_mm + wide_mm / 2.0)
    return math.ceil(places / max(1, proved_most_on(kiln.loaded_shelf, wide_mm + gap_mm, room)) - 1e-9)
