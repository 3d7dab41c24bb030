"""What goes in one firing: how many loads, and where each piece stands. Lengths in mm, heights from the kiln floor.

The plan that this gives is a sound one that a person could load from, not the best there is: forms are kept together,
one form to a shelf; only what is left over shares a shelf. The bound beside it says how many firings no plan can do
without. The order is the same in every load, so that a set stands on like levels.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.circles import (
    Progress,
    StopSign,
    most_that_fit,
)
from wareboard.kiln.filled_shelf import FilledShelf, one_form_to_a_shelf
from wareboard.kiln.handled import HandledStanding, most_handled_that_fit
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
    RectangularShelf,
    RoundShelf,
    refuse_unless_positive,
)
from wareboard.kiln.stock import deal_within, stands_within
from wareboard.kiln.stock_bound import bound_with_stock
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
    """Loads for all pieces: ``firings`` of them; no plan can do with fewer than ``bound_firings`` (proved).

    Where the kiln's own shelves and posts change the loads, ``unstocked`` are what they would be with enough of both. The
    bound counts the shelves owned.
    """

    kind: Kind
    loads: tuple[Load, ...]
    firings: int
    bound_firings: int
    by_form: tuple[OnOneShelf, ...]
    steps: tuple[Step, ...]
    kiln: KilnInside
    gap_mm: float
    complete: bool = True
    unstocked: tuple[Load, ...] = ()

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
    mix: bool = False,
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
        mix: also try several forms on each shelf, and keep that plan if it needs fewer firings. A set may then stand on
            unlike levels.
        seed, progress, stop, executor: as in `most_that_fit`; progress counts forms.
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
    loads = _dealt(one_form_to_a_shelf(stands, kiln, gap), kiln)
    how = BY_FORM
    if mix and len(loads) > 1:
        from wareboard.kiln.mixed_shelves import mixed_shelves

        for words, shelves in mixed_shelves(stands, kiln, gap, effort):
            other = _dealt(shelves, kiln)
            if len(other) < len(loads):
                loads, how = other, words
    bound, bound_steps = bound_with_stock(*bound_by_room_and_count(wanted, kiln, kind, gap), wanted, kiln, kind, gap)
    unstocked = _unstocked(pieces, kiln, kind, gap, effort, mix, loads)
    by_form = tuple(alone_in_the_kiln(stand, kiln) for stand in stands)
    return LoadPlan(
        kind,
        loads,
        len(loads),
        bound,
        by_form,
        load_steps(stands, by_form, len(loads), kind, kiln, how) + bound_steps,
        kiln,
        gap,
        all(stand.places.complete for stand in stands) and not (stop is not None and stop.is_set()),
        unstocked,
    )


def _unstocked(
    pieces: Sequence[LoadPiece],
    kiln: KilnInside,
    kind: Kind,
    gap_mm: float,
    effort: Effort,
    mix: bool,
    loads: Sequence[Load],
) -> tuple[Load, ...]:
    """The loads with shelves and posts enough, where they would be others than these."""
    if kiln.stock is None:
        return ()
    enough = replace(kiln, stock=None)
    found = plan_loads(pieces, enough, kind, gap_mm, effort.seconds, mix=mix, seed=effort.seed, stop=effort.stop).loads
    return () if _heights(found) == _heights(loads) else found


def _heights(loads: Sequence[Load]) -> list[list[float]]:
    return [[layout.post_mm for layout in load] for load in loads]


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


# --- loads ------------------------------------------------------------------------------------------------------------


BY_FORM = "one form to a shelf, remainders together, tallest shelves dealt first"


def _dealt(shelves: Sequence[FilledShelf], kiln: KilnInside) -> tuple[Load, ...]:
    levels = _wanted_levels(shelves, kiln)
    room = (kiln.height_for_shelves_mm, kiln.loaded_shelf.thickness_mm, kiln.columns)
    columns = deal_into_columns(levels, *room)
    if kiln.stock is not None and not all(stands_within(load, kiln.stock) for load in columns):
        columns = deal_within(levels, kiln.stock, *room) or columns
    return _laid_out(columns, shelves, kiln)


def _wanted_levels(shelves: Sequence[FilledShelf], kiln: KilnInside) -> list[LevelWanted]:
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
    loads: Sequence[Sequence[Sequence[LevelWanted]]], shelves: Sequence[FilledShelf], kiln: KilnInside
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


def _layout(shelf: FilledShelf, kiln: KilnInside, face_mm: float, post_mm: float, level: int, half: int) -> ShelfLayout:
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
