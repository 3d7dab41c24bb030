"""What goes in one firing: how many loads, and where each piece stands. Lengths in mm, heights from the kiln floor.

The plan that this gives is a sound one that a person could load from, not the best there is: forms are kept together,
one form to a shelf; only what is left over shares a shelf. The bound beside it says how many firings no plan can do
without. The order is the same in every load, so that a set stands on like levels.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.circles import (
    KeepOut,
    Progress,
    StopSign,
    blocked_by,
    most_that_fit,
)
from wareboard.kiln.footprint import footprint, rings
from wareboard.kiln.handled import HandledStanding, most_handled_that_fit
from wareboard.kiln.handled_rows import best_rows
from wareboard.kiln.inside import (
    ConePackPlace,
    KilnInside,
    Kind,
    Load,
    LoadPiece,
    ShelfLayout,
    Thermocouple,
)
from wareboard.kiln.levels import LevelWanted, deal_into_columns
from wareboard.kiln.on_a_shelf import (
    Effort,
    OnOneShelf,
    Stand,
    alone_in_the_kiln,
    best_stand,
    bound_by_room_and_count,
    load_steps,
)
from wareboard.kiln.shelf import (
    HalfOctagonalShelf,
    HalfRoundShelf,
    OctagonalShelf,
    Points,
    RectangularShelf,
    RoundShelf,
    refuse_unless_positive,
)
from wareboard.kiln.staggered_rows import best_lattice
from wareboard.reference import default
from wareboard.working import Step

__all__ = [
    "ConePackPlace",
    "HalfOctagonalShelf",
    "HalfRoundShelf",
    "HandledStanding",
    "KilnInside",
    "Load",
    "LoadPiece",
    "LoadPlan",
    "OctagonalShelf",
    "OnOneShelf",
    "RectangularShelf",
    "RoundShelf",
    "ShelfLayout",
    "Thermocouple",
    "most_handled_that_fit",
    "most_that_fit",
    "plan_loads",
]


@dataclass(frozen=True, slots=True)
class LoadPlan:
    """Loads for all pieces: ``firings`` of them; no plan can do with fewer than ``bound_firings`` (proved)."""

    kind: Kind
    loads: tuple[Load, ...]
    firings: int
    bound_firings: int
    by_form: tuple[OnOneShelf, ...]
    steps: tuple[Step, ...]
    kiln: KilnInside
    gap_mm: float
    complete: bool = True

    def pieces_in_a_load(self, form: str) -> int:
        """Pieces of ``form`` in a kiln loaded with nothing else, which is what a firing's cost is shared over."""
        return next(entry.pieces_in_a_load for entry in self.by_form if entry.form == form)


def plan_loads(
    pieces: Sequence[LoadPiece],
    kiln: KilnInside,
    kind: Kind = "glaze",
    gap_mm: float | None = None,
    seconds: float = 0.0,
    *,
    seed: int = 0,
    progress: Progress | None = None,
    stop: StopSign | None = None,
    executor: Executor | None = None,
) -> LoadPlan:
    """Loads, shelf by shelf, for all ``pieces``, with the number of firings and the number no plan can go below.

    Rules: one form to a shelf, only the remainders share; glazed ware keeps ``gap_mm`` apart and never touches or
    stacks; bisque may touch and, where a form nests, stands in nested stacks when that puts more into a load; every
    shelf keeps the places of its three posts free (a piece too wide for that goes on top); every shelf has its witness
    cones unless a piece needs the whole shelf; ware stays ``top_gap_mm`` below the shelf above.

    Args:
        pieces: what is to be fired, sizes as they go in (glaze: bisque size; bisque: dry size), mm.
        kiln: the inside of the kiln.
        kind: ``bisque`` or ``glaze``.
        gap_mm: gap between pieces, mm; if not given 6 in glaze and 2 in bisque (`reference.defaults`).
        seconds: work to spend on each form's shelf beyond what is known at once, as in `most_that_fit`.
    Raises:
        OutOfRange: if a piece is wider than the shelf or taller than the kiln, or in glaze the gap is 0.
    Source: rules of loading: `ll-loading`, `third-coast-loading`; one form to one level: common practice.
    """
    gap = _gap(kind, gap_mm)
    wanted = _joined(pieces)
    effort = Effort(seconds, seed, stop, executor)
    stands: list[Stand] = []
    for done, piece in enumerate(wanted):
        stands.append(best_stand(piece, kiln, kind, gap, effort))
        if progress is not None:
            progress(done + 1, len(wanted))
    shelves = _filled_shelves(stands, kiln, gap)
    columns = deal_into_columns(
        _wanted_levels(shelves, kiln), kiln.height_for_shelves_mm, kiln.loaded_shelf.thickness_mm, kiln.columns
    )
    loads = _laid_out(columns, shelves, kiln)
    bound, bound_steps = bound_by_room_and_count(wanted, kiln, kind, gap)
    by_form = tuple(alone_in_the_kiln(stand, kiln) for stand in stands)
    return LoadPlan(
        kind,
        loads,
        len(loads),
        bound,
        by_form,
        load_steps(stands, by_form, len(loads), kind, kiln) + bound_steps,
        kiln,
        gap,
        all(stand.places.complete for stand in stands),
    )


def _gap(kind: Kind, gap_mm: float | None) -> float:
    if kind not in ("bisque", "glaze"):
        raise OutOfRange(f"firing {kind!r}", why="a load is for bisque or for glaze", mend="Write bisque or glaze")
    gap = default(f"kiln.gap_{kind}_mm").value if gap_mm is None else gap_mm
    refuse_unless_positive("the gap between pieces", gap, zero_too=True)
    if kind == "glaze" and gap <= 0.0:
        raise OutOfRange(
            "the gap between glazed pieces is 0 mm",
            why="glazed pieces that touch melt together",
            mend="Leave 6 mm, and never less than 3",
        )
    return gap


def _joined(pieces: Sequence[LoadPiece]) -> list[LoadPiece]:
    """The pieces with a count above 0; a form named twice is an error, for its sizes could differ."""
    names = [piece.form for piece in pieces]
    for name in names:
        if names.count(name) > 1:
            raise OutOfRange(f"form {name} is given twice", why="one line holds one form", mend="Add the counts up")
    return [piece for piece in pieces if piece.count]


# --- shelves ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Row:
    """Pieces of one form on one shelf: body centres (n, 2), handle angles in degrees (n,), how many at each place."""

    piece: LoadPiece
    centres_mm: Points
    handle_angles_deg: Points
    stacked: tuple[int, ...]


@dataclass(slots=True)
class _Filled:
    """One shelf as it is being filled."""

    rows: list[_Row]
    height_mm: float
    top_only: bool
    cone_pack: bool

    @property
    def group(self) -> str:
        return " + ".join(row.piece.form for row in self.rows)


def _filled_shelves(stands: Sequence[Stand], kiln: KilnInside, gap_mm: float) -> list[_Filled]:
    """Every shelf that is needed: full ones by form, then the remainders together, tallest first."""
    shelves: list[_Filled] = []
    left: list[tuple[Stand, int]] = []
    for stand in stands:
        full, rest = divmod(stand.piece.count, stand.per_shelf)
        shelves += [_one_form(stand, stand.per_shelf) for _ in range(full)]
        if rest:
            left.append((stand, rest))
    return shelves + _remainders(sorted(left, key=lambda pair: (-pair[0].height_mm, pair[0].piece.form)), kiln, gap_mm)


def _one_form(stand: Stand, pieces: int) -> _Filled:
    row = _row(stand, stand.places.centres_mm, stand.places.handle_angles_deg, pieces)
    return _Filled([row], stand.height_mm, stand.top_only, stand.cone_pack)


def _row(stand: Stand, centres: Points, angles: Points, pieces: int) -> _Row:
    """So many pieces at the first of the places from one side, so that the free room stays in one piece."""
    places = -(-pieces // stand.stacked)
    order = np.lexsort((centres[:, 1], centres[:, 0]))[:places]
    stacked = (stand.stacked,) * (places - 1) + (pieces - stand.stacked * (places - 1),)
    return _Row(stand.piece, centres[order], angles[order], stacked)


def _remainders(left: list[tuple[Stand, int]], kiln: KilnInside, gap_mm: float) -> list[_Filled]:
    shelves: list[_Filled] = []
    while left:
        (stand, rest), left = left[0], left[1:]
        shelf = _one_form(stand, rest)
        shelves.append(shelf)
        if stand.top_only:
            continue
        still: list[tuple[Stand, int]] = []
        for other, pieces in left:
            placed = 0 if other.top_only else _add_to(shelf, other, pieces, kiln, gap_mm)
            if placed < pieces:
                still.append((other, pieces - placed))
        left = still
    return shelves


def _add_to(shelf: _Filled, stand: Stand, pieces: int, kiln: KilnInside, gap_mm: float) -> int:
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
    shelf.rows.append(_row(stand, centres, angles, placed))
    return placed


def _taken(row: _Row, gap_mm: float) -> list[KeepOut]:
    """Bodies and handles that stand already, as places to keep clear of."""
    piece = row.piece
    shape = footprint(piece.footprint_diameter_mm, piece.handle_reach_mm, piece.strap_mm)
    discs = shape.discs_mm(row.centres_mm, np.radians(row.handle_angles_deg))
    return [
        KeepOut(float(x), float(y), radius, gap_mm, "ware")
        for discs_of_one in discs
        for (x, y), radius in zip(discs_of_one, shape.radius_mm, strict=True)
    ]


# --- loads ------------------------------------------------------------------------------------------------------------


def _wanted_levels(shelves: Sequence[_Filled], kiln: KilnInside) -> list[LevelWanted]:
    return [
        LevelWanted(
            index,
            shelf.group,
            (shelf.height_mm, shelf.group),
            kiln.post_for(shelf.height_mm + kiln.top_gap_mm),
            shelf.height_mm + kiln.top_gap_mm,
            shelf.top_only or math.isinf(kiln.post_for(shelf.height_mm + kiln.top_gap_mm)),
        )
        for index, shelf in enumerate(shelves)
    ]


def _laid_out(
    loads: Sequence[Sequence[Sequence[LevelWanted]]], shelves: Sequence[_Filled], kiln: KilnInside
) -> tuple[Load, ...]:
    """Loads of drawn-up shelves, each from the floor up."""
    laid: list[Load] = []
    for columns in loads:
        layouts: list[ShelfLayout] = []
        for half, column in enumerate(columns):
            face = kiln.bottom_post_mm
            for level, wanted in enumerate(column):
                face += kiln.loaded_shelf.thickness_mm
                post = 0.0 if level == len(column) - 1 else wanted.post_mm
                layouts.append(_layout(shelves[wanted.index], kiln, face, post, level, half))
                face += post
        laid.append(tuple(layouts))
    return tuple(laid)


def _layout(shelf: _Filled, kiln: KilnInside, face_mm: float, post_mm: float, level: int, half: int) -> ShelfLayout:
    rows = shelf.rows
    pieces = [row.piece for row in rows for _ in row.stacked]
    stacked = [count for row in rows for count in row.stacked]
    keep_outs = kiln.keep_outs(posts=post_mm > 0.0, cone_pack=shelf.cone_pack)
    return ShelfLayout(
        face_mm,
        post_mm,
        kiln.loaded_shelf,
        tuple(piece.form for piece in pieces),
        np.concatenate([row.centres_mm for row in rows]),
        np.array([piece.footprint_diameter_mm for piece in pieces]),
        np.array([piece.stack_height_mm(count) for piece, count in zip(pieces, stacked, strict=True)]),
        np.array(stacked, dtype=np.int64),
        np.concatenate([row.handle_angles_deg for row in rows]),
        np.array([piece.handle_reach_mm for piece in pieces]),
        np.array([piece.strap_mm for piece in pieces]),
        tuple(place for place in keep_outs if place.what == "post"),
        tuple(place for place in keep_outs if place.what == "cone pack"),
        tuple(place for place in keep_outs if place.what == "thermocouple"),
        level,
        half,
    )
