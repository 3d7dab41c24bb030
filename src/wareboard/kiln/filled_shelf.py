"""A shelf as it is being filled: rows of one form each, then others in the room that is left. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wareboard.kiln.circles import KeepOut, blocked_by
from wareboard.kiln.footprint import footprint, rings
from wareboard.kiln.handled_rows import best_rows
from wareboard.kiln.inside import KilnInside, LoadPiece
from wareboard.kiln.on_a_shelf import Stand
from wareboard.kiln.shelf import Points
from wareboard.kiln.staggered_rows import best_lattice


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """Pieces of one form on one shelf: body centres (n, 2), handle angles in degrees (n,), how many at each place."""

    piece: LoadPiece
    centres_mm: Points
    handle_angles_deg: Points
    stacked: tuple[int, ...]


@dataclass(slots=True)
class FilledShelf:
    """One shelf as it is being filled."""

    rows: list[Row]
    height_mm: float
    top_only: bool
    cone_pack: bool

    @property
    def group(self) -> str:
        return " + ".join(row.piece.form for row in self.rows)


def one_form_to_a_shelf(stands: Sequence[Stand], kiln: KilnInside, gap_mm: float) -> list[FilledShelf]:
    """Every shelf that is needed: full ones by form, then the remainders together, tallest first."""
    shelves: list[FilledShelf] = []
    left: list[tuple[Stand, int]] = []
    for stand in stands:
        full, rest = divmod(stand.piece.count, stand.per_shelf)
        shelves += [one_form(stand, stand.per_shelf) for _ in range(full)]
        if rest:
            left.append((stand, rest))
    return shelves + sharing(sorted(left, key=lambda pair: (-pair[0].height_mm, pair[0].piece.form)), kiln, gap_mm)


def one_form(stand: Stand, pieces: int) -> FilledShelf:
    row = row_of(stand, stand.places.centres_mm, stand.places.handle_angles_deg, pieces)
    return FilledShelf([row], stand.height_mm, stand.top_only, stand.cone_pack)


def row_of(stand: Stand, centres: Points, angles: Points, pieces: int) -> Row:
    """So many pieces at the first of the places from one side, so that the free room stays in one piece."""
    places = -(-pieces // stand.stacked)
    order = np.lexsort((centres[:, 1], centres[:, 0]))[:places]
    stacked = (stand.stacked,) * (places - 1) + (pieces - stand.stacked * (places - 1),)
    return Row(stand.piece, centres[order], angles[order], stacked)


def sharing(left: list[tuple[Stand, int]], kiln: KilnInside, gap_mm: float) -> list[FilledShelf]:
    shelves: list[FilledShelf] = []
    while left:
        (stand, rest), left = left[0], left[1:]
        shelf = one_form(stand, rest)
        shelves.append(shelf)
        if stand.top_only:
            continue
        still: list[tuple[Stand, int]] = []
        for other, pieces in left:
            placed = 0 if other.top_only else add_to(shelf, other, pieces, kiln, gap_mm)
            if placed < pieces:
                still.append((other, pieces - placed))
        left = still
    return shelves


def add_to(shelf: FilledShelf, stand: Stand, pieces: int, kiln: KilnInside, gap_mm: float) -> int:
    """How many of ``pieces`` found room beside what already stands on ``shelf``; they are added to it."""
    piece = stand.piece
    shape = footprint(piece.footprint_diameter_mm, piece.handle_reach_mm, piece.strap_mm)
    keep_outs = [
        *kiln.keep_outs(cone_pack=shelf.cone_pack),
        *(keep for row in shelf.rows for keep in _taken(row, gap_mm)),
    ]
    floor = kiln.loaded_shelf.floor().inset(kiln.edge_mm)
    if len(shape.out_mm) > 1:
        places = best_rows(shape, floor, gap_mm, rings(keep_outs))
        centres, angles = places[:, :2], np.degrees(places[:, 2]) % 360.0
    else:
        wide = piece.footprint_diameter_mm
        centres = best_lattice(floor.inset(wide / 2.0), wide + gap_mm, blocked_by(keep_outs, wide))
        angles = np.zeros(len(centres))
    if not len(centres):
        return 0
    placed = min(pieces, len(centres) * stand.stacked)
    shelf.rows.append(row_of(stand, centres, angles, placed))
    return placed


def _taken(row: Row, gap_mm: float) -> list[KeepOut]:
    """Bodies and handles that stand already, as places to keep clear of."""
    piece = row.piece
    shape = footprint(piece.footprint_diameter_mm, piece.handle_reach_mm, piece.strap_mm)
    discs = shape.discs_mm(row.centres_mm, np.radians(row.handle_angles_deg))
    return [
        KeepOut(float(x), float(y), radius, gap_mm, "ware")
        for discs_of_one in discs
        for (x, y), radius in zip(discs_of_one, shape.radius_mm, strict=True)
    ]
