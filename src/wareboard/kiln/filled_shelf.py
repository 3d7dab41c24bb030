"""A shelf as it is being filled: rows of one form each, then others in the room that is left. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wareboard.kiln.circles import KeepOut, blocked_by
from wareboard.kiln.footprint import footprint, rings
from wareboard.kiln.handled_rows import best_rows
from wareboard.kiln.inside import KilnInside, LoadPiece
from wareboard.kiln.on_a_shelf import Effort, Stand
from wareboard.kiln.piece_search import search_for_more_pieces
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
        """The forms on it, in words."""
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
    """A shelf filled with so many pieces of one form, as ``stand`` has them."""
    row = row_of(stand, stand.places.centres_mm, stand.places.handle_angles_deg, pieces)
    return FilledShelf([row], stand.height_mm, stand.top_only, stand.cone_pack)


def row_of(stand: Stand, centres: Points, angles: Points, pieces: int) -> Row:
    """So many pieces at the first of the places from one side, so that the free room stays in one piece."""
    places = -(-pieces // stand.stacked)
    order = np.lexsort((centres[:, 1], centres[:, 0]))[:places]
    stacked = (stand.stacked,) * (places - 1) + (pieces - stand.stacked * (places - 1),)
    return Row(stand.piece, centres[order], angles[order], stacked)


def sharing(
    left: list[tuple[Stand, int]], kiln: KilnInside, gap_mm: float, effort: Effort | None = None
) -> list[FilledShelf]:
    """Shelves shared by what is left of each form, given tallest first: what fits beside the tallest goes with it.

    Without an ``effort`` a form goes to another's shelf with all that is left of it or not at all, so that a set is not
    strewn about; with one, as many as can be made to fit go.
    """
    rest = {stand.piece.form: pieces for stand, pieces in left}
    shelves: list[FilledShelf] = []
    for stand, _ in left:
        while rest[stand.piece.form]:
            shelf = one_form(stand, min(rest[stand.piece.form], stand.per_shelf))
            if not stand.top_only:
                later = [other for other, _ in left if rest[other.piece.form] and other is not stand]
                _fill_up(shelf, [other for other in later if not other.top_only], rest, kiln, gap_mm, effort)
            taken = {row.piece.form: sum(row.stacked) for row in shelf.rows}
            # What was worth finding once is laid again for as long as there are pieces for it.
            again = min(rest[form] // count for form, count in taken.items())
            shelves += [replace(shelf, rows=list(shelf.rows)) for _ in range(again)]
            for form, count in taken.items():
                rest[form] -= again * count
    return shelves


def _fill_up(
    shelf: FilledShelf,
    others: Sequence[Stand],
    rest: Mapping[str, int],
    kiln: KilnInside,
    gap_mm: float,
    effort: Effort | None,
) -> None:
    """Adds to ``shelf`` what has room on it of the other forms, as many as are left of each."""
    for other in others:
        alone, pieces = list(shelf.rows), rest[other.piece.form]
        if add_to(shelf, other, pieces, kiln, gap_mm, effort) < pieces and effort is None:
            shelf.rows = alone


def add_to(
    shelf: FilledShelf, stand: Stand, pieces: int, kiln: KilnInside, gap_mm: float, effort: Effort | None = None
) -> int:
    """How many of ``pieces`` found room beside what already stands on ``shelf``; they are added to it.

    With an ``effort`` all that stands may be moved about until more go on.
    """
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
    placed = min(pieces, len(centres) * stand.stacked)
    if placed:
        shelf.rows.append(row_of(stand, centres, angles, placed))
    if effort is not None and effort.seconds > 0.0 and placed < pieces:
        placed += _press_in(shelf, stand, pieces - placed, kiln, gap_mm, effort)
    return placed


def _press_in(shelf: FilledShelf, stand: Stand, pieces: int, kiln: KilnInside, gap_mm: float, effort: Effort) -> int:
    """How many more of ``pieces`` go on when everything on the shelf may be moved; the shelf is laid anew."""
    rows = list(shelf.rows)
    if not any(row.piece is stand.piece for row in rows):
        rows.append(Row(stand.piece, np.empty((0, 2)), np.empty(0), ()))
    shapes = [footprint(row.piece.footprint_diameter_mm, row.piece.handle_reach_mm, row.piece.strap_mm) for row in rows]
    kinds = [kind for kind, row in enumerate(rows) for _ in row.stacked]
    mine = next(kind for kind, row in enumerate(rows) if row.piece is stand.piece)
    laid, now = search_for_more_pieces(
        shapes,
        kiln.loaded_shelf.floor().inset(kiln.edge_mm),
        gap_mm,
        rings(kiln.keep_outs(cone_pack=shelf.cone_pack)),
        np.concatenate([np.column_stack((row.centres_mm, np.radians(row.handle_angles_deg))) for row in rows]),
        kinds,
        [mine] * -(-pieces // stand.stacked),
        effort.seconds,
        effort.seed,
        None,
        effort.stop,
        effort.executor,
    )
    added, extra = 0, [stand.stacked] * (len(now) - len(kinds))
    if extra:
        extra[-1] = min(extra[-1], pieces - sum(extra[:-1]))
        added = sum(extra)
    shelf.rows = [
        Row(
            row.piece,
            laid[now == kind, :2],
            np.degrees(laid[now == kind, 2]) % 360.0,
            row.stacked + (tuple(extra) if kind == mine else ()),
        )
        for kind, row in enumerate(rows)
        if (now == kind).any()
    ]
    return added


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
