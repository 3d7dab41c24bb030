"""How many equal round pieces stand on one shelf, and where. Lengths in mm.

Two numbers are always shown beside a count: the best that anyone is known to have found for the same question, and a
number that is proved to be out of reach. Between the two nothing is known; neither is called the best there is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Protocol

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.shelf import Floor, Points, RectangularShelf, RoundShelf, Shelf, refuse_unless_positive
from wareboard.kiln.staggered_rows import ROUNDING, best_lattice, clear_of, fill_holes
from wareboard.reference import rows
from wareboard.working import Step

MOST_PIECES = 2000
MOST_TO_SEARCH_FOR = 300


class StopSign(Protocol):
    """Anything that can be asked whether to stop, such as ``threading.Event``."""

    def is_set(self) -> bool:
        """Whether the search is to stop."""


Progress = Callable[[int, int], None]  # pieces placed so far, most that may be hoped for


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A round place on the shelf that ware must stay ``gap_mm`` clear of: a post, a cone pack, the thermocouple."""

    x_mm: float
    y_mm: float
    radius_mm: float
    gap_mm: float = 0.0
    what: str = "post"


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Where equal round pieces stand on one shelf.

    ``bound`` is the least number that more than ``count`` is not to be hoped for: the best known, where a published
    table answers the question, or else the proved one; ``bound_words`` says which. ``proved_bound`` is always proved.
    ``complete`` is False if the search was told to stop before it had done what it set out to do.
    """

    centres_mm: Points
    bound: int
    bound_words: str
    proved_bound: int
    method: str
    diameter_mm: float
    clearance_mm: float
    edge_mm: float
    shelf: Shelf
    steps: tuple[Step, ...]
    complete: bool = True

    @property
    def count(self) -> int:
        """How many stand."""
        return len(self.centres_mm)


def most_that_fit(
    diameter_mm: float,
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
) -> Standing:
    """As many round pieces as could be placed on ``shelf``, with their places and two bounds.

    Args:
        diameter_mm: diameter of a piece, mm.
        shelf: the shelf.
        clearance_mm: least gap between two pieces, mm, 0 or more.
        seconds: about how much work the search may do beyond what is known at once. 0 gives the published count with
            the places kept for it, or the best of many staggered rows. The work is counted in rounds, not by the
            clock, so that the answer is the same on every machine.
        edge_mm: least gap from piece to shelf edge, mm; negative where ware may overhang.
        keep_outs: round places that ware must stay clear of.
        seed: for the search; the same seed gives the same places.
        progress: called with (placed so far, most to hope for) after each improvement or round.
        stop: looked at between rounds; when set, the best so far comes back.
        executor: any `concurrent.futures.Executor`; the starts of the search are shared out to it.
    Raises:
        OutOfRange: if a length is not finite or has the wrong sign, or above 2000 pieces. A piece larger than the shelf
            gives a count of 0. Above 300 pieces rows alone are tried.
    Source: counts for whole round and square shelves from the best-known tables (`packing-circle-table`,
        `packing-square-table`); proved bound from Groemer's inequality (`groemer-oler`).
    """
    refuse_unless_positive("the piece's diameter", diameter_mm)
    refuse_unless_positive("the gap between pieces", clearance_mm, zero_too=True)
    if not math.isfinite(edge_mm):
        raise OutOfRange(f"the gap to the edge is {edge_mm}", why="it must be a finite length", mend="Give it in mm")
    room = shelf.floor().inset(edge_mm + diameter_mm / 2.0)
    spacing = diameter_mm + clearance_mm
    blocked = blocked_by(keep_outs, diameter_mm)
    best_known = best_known_count(shelf, spacing, room)
    proved = proved_most_on(shelf, spacing, room)
    limit = best_known if best_known is not None and best_known.is_limit else None
    target = min(proved, limit.count) if limit is not None else proved
    refuse_too_many(target, diameter_mm, shelf)
    centres, method = at_once(shelf, room, spacing, blocked)
    complete = True
    if seconds > 0.0 and len(centres) < target <= MOST_TO_SEARCH_FOR:
        from wareboard.kiln.packing import search_for_more

        found = search_for_more(
            room,
            spacing,
            blocked,
            centres,
            target,
            seconds=seconds,
            seed=seed,
            progress=progress,
            stop=stop,
            executor=executor,
        )
        complete = found.complete
        if len(found.centres_mm) > len(centres):
            centres, method = found.centres_mm, "search from many starts"
    if progress is not None:
        progress(len(centres), target)
    return Standing(
        centres,
        target,
        limit.words if limit is not None and limit.count <= proved else "proved (Groemer and Oler)",
        proved,
        method,
        diameter_mm,
        clearance_mm,
        edge_mm,
        shelf,
        _steps(len(centres), method, room, spacing, limit),
        complete,
    )


def refuse_too_many(count: int, diameter_mm: float, shelf: Shelf) -> None:
    """Nothing, or an `OutOfRange` if so many pieces may stand on one shelf that the size must be a slip."""
    if count > MOST_PIECES:
        raise OutOfRange(
            f"about {count} pieces of {diameter_mm:g} mm on the {shelf.name}",
            why=f"more than {MOST_PIECES} on one shelf are not laid out",
            mend="Check the diameter; is it in mm?",
        )


# --- bounds -----------------------------------------------------------------------------------------------------------


def proved_most(room: Floor, spacing_mm: float) -> int:
    """No more than this many centres, ``spacing_mm`` apart, have room on a convex floor ``room`` of centres.

    Source: Groemer's inequality as Oler states it, N <= (2/sqrt 3) A/s^2 + P/(2 s) + 1 (`groemer-oler`).
    """
    if room.holds_nothing():
        return 0
    return math.floor(_groemer(room.area_mm2(), room.perimeter_mm(), spacing_mm) + 1e-6)


def proved_most_on(shelf: Shelf, spacing_mm: float, room: Floor) -> int:
    """As `proved_most`, made sharper where the published table's own next row is proved (few circles only)."""
    most = proved_most(room, spacing_mm)
    known = best_known_count(shelf, spacing_mm, room)
    if known is not None and known.next_is_proved:
        return min(most, known.count)
    return most


def _groemer(area_mm2: float, perimeter_mm: float, spacing_mm: float) -> float:
    return 2.0 / math.sqrt(3.0) * area_mm2 / spacing_mm**2 + perimeter_mm / (2.0 * spacing_mm) + 1.0


@dataclass(frozen=True, slots=True)
class BestKnown:
    """The most that a published table of best-known packings allows: ``ratio`` is what the shelf offers."""

    count: int
    ratio: float
    needed: float
    source: str
    next_is_proved: bool
    is_limit: bool  # False past the last row of the table, where nothing is said about more

    @property
    def words(self) -> str:
        """Whether the number is proved to be the most, in words."""
        return "best known, and proved" if self.next_is_proved else "best known, not proved"


@cache
def table_of(name: str) -> Mapping[int, float]:
    """One best-known table: number of circles -> size of the container over the circles' radius.

    ``circles_in_a_circle``: container radius; ``circles_in_a_square``: side of the square. Source: the table's rows.
    """
    return {int(row["n"]): float(row["ratio"]) for row in rows(f"packing/{name}")}


@cache
def _proved_rows(name: str) -> frozenset[int]:
    return frozenset(int(row["n"]) for row in rows(f"packing/{name}") if row["status"] == "proved")


def best_known_count(shelf: Shelf, spacing_mm: float, room: Floor) -> BestKnown | None:
    """The published best-known count for a whole round or square shelf; None where no table answers.

    Past the last row of the table (100 in a circle, 50 in a square) it is no limit.
    """
    match shelf:
        case RoundShelf():
            name, offered = "circles_in_a_circle", 1.0 + 2.0 * room.radius_mm / spacing_mm
        case RectangularShelf(width_mm=wide, depth_mm=deep) if wide == deep:
            name, offered = "circles_in_a_square", 2.0 + 4.0 * float(room.sides[0, 2]) / spacing_mm
        case _:
            return None
    table = table_of(name)
    most = max((n for n, ratio in table.items() if ratio <= offered * (1.0 + ROUNDING)), default=0)
    source = f"packing-{name.rsplit('_', 1)[-1]}-table"
    return BestKnown(most, offered, table[max(most, 1)], source, most + 1 in _proved_rows(name), most < max(table))


# --- places that need no search ---------------------------------------------------------------------------------------


def blocked_by(keep_outs: Sequence[KeepOut], diameter_mm: float) -> Points:
    """Keep-outs as rows x, y, least distance of a piece's centre (k, 3)."""
    return np.array(
        [(k.x_mm, k.y_mm, k.radius_mm + k.gap_mm + diameter_mm / 2.0) for k in keep_outs], dtype=np.float64
    ).reshape(-1, 3)


def at_once(shelf: Shelf, room: Floor, spacing_mm: float, blocked: Points) -> tuple[Points, str]:
    """The best of the kept places and of many staggered rows: (centres (n, 2), how). No search."""
    if room.holds_nothing():
        return np.empty((0, 2)), "the piece is larger than the shelf"
    kept, kept_how = _from_kept_places(shelf, room, spacing_mm, blocked)
    known = best_known_count(shelf, spacing_mm, room)
    if known is not None and known.is_limit and len(kept) == known.count:
        return kept, kept_how
    lattice = best_lattice(room, spacing_mm, blocked)
    return (kept, kept_how) if len(kept) >= len(lattice) else (lattice, "staggered rows")


@cache
def kept_places(name: str) -> Mapping[int, str]:
    """The places kept in a shipped table of packings, each by its number of circles, as printed there."""
    return {int(row["n"]): row["centres"] for row in rows(f"packing/{name}")}


@lru_cache(maxsize=256)
def _kept(name: str, n: int) -> Points:
    """Places for ``n`` circles, (n, 2), scaled so that the room of the centres has radius, or half side, 1."""
    places = np.array(kept_places(name)[n].split(), dtype=np.float64).reshape(-1, 2)
    places.setflags(write=False)
    return places


@cache
def kept_spacing(name: str, n: int) -> float:
    """Least distance between the kept places for ``n`` circles, room of the centres of radius (half side) 1."""
    if n not in kept_places(name):
        return 0.0
    places = _kept(name, n)
    i, j = np.triu_indices(n, 1)
    return float(np.hypot(*(places[i] - places[j]).T).min(initial=math.inf))


def _from_kept_places(shelf: Shelf, room: Floor, spacing_mm: float, blocked: Points) -> tuple[Points, str]:
    known = best_known_count(shelf, spacing_mm, room)
    if known is None or not known.count:
        return np.empty((0, 2)), ""
    round_shelf = isinstance(shelf, RoundShelf)
    name = f"places_in_a_{'circle' if round_shelf else 'square'}"
    reach = room.radius_mm if round_shelf else float(room.sides[0, 2])
    how = "places kept from a search for the best-known table"
    if not len(blocked):
        # Opened out to the edge they must still be far enough apart: a few rows miss the table by a hair.
        fitting = (
            n for n in range(known.count, 0, -1) if kept_spacing(name, n) * reach >= spacing_mm * (1.0 - ROUNDING)
        )
        return _spread(name, next(fitting, 1), reach), how
    best = np.empty((0, 2))
    # With posts in the way a looser arrangement, turned until it misses most of them, may hold more.
    for n in range(known.count, max(0, known.count - 6), -1):
        if n <= len(best) or kept_spacing(name, n) * reach < spacing_mm * (1.0 - ROUNDING):
            continue
        turned = _turned(_spread(name, n, reach), quarter_turns=not round_shelf)
        clear = clear_of(turned, blocked)
        pick = int(clear.sum(axis=1).argmax())
        if clear[pick].sum() > len(best):
            best = fill_holes(turned[pick][clear[pick]], room, spacing_mm, blocked)
    return best, how


def _spread(name: str, n: int, reach_mm: float) -> Points:
    """Kept places of n circles opened out to the edge, so that the gap to spare is shared by all."""
    return np.zeros((n, 2)) if n == 1 else _kept(name, n) * reach_mm


def _turned(places: Points, *, quarter_turns: bool) -> Points:
    """The places in every turn (and mirrored) that the shelf's own symmetry allows: (turns, n, 2)."""
    angles = np.arange(4) * (math.pi / 2.0) if quarter_turns else np.arange(0.0, 2.0 * math.pi, math.radians(4.0))
    cos, sin = np.cos(angles), np.sin(angles)
    turn = np.array([[cos, -sin], [sin, cos]])  # (2, 2, turns)
    both = np.stack((places, places * np.array([-1.0, 1.0])))
    turned: Points = np.einsum("ijt,mnj->mtni", turn, both).reshape(-1, len(places), 2)
    return turned


# --- working ----------------------------------------------------------------------------------------------------------


def _steps(count: int, method: str, room: Floor, spacing_mm: float, known: BestKnown | None) -> tuple[Step, ...]:
    area, perimeter = room.area_mm2(), room.perimeter_mm()
    steps = [Step("pieces on one shelf", "", {"spacing": spacing_mm}, float(count), "derived", "pieces", how=method)]
    if known is not None:
        steps.append(
            Step(
                "best-known count for this shelf",
                "",
                {"ratio": known.ratio, "needed": known.needed},
                float(known.count),
                known.source,
                "pieces",
                how="largest number whose ratio in the published table is not above the shelf's (best known, not proved)",
            )
        )
    by_area = proved_most(room, spacing_mm)
    if by_area:
        steps.append(
            Step(
                "proved most for this shelf",
                "floor(2 / sqrt(3) * area / spacing**2 + perimeter / (2 * spacing) + 1 + 0.000001)",
                {"area": area, "perimeter": perimeter, "spacing": spacing_mm},
                float(by_area),
                "groemer-oler",
                "pieces",
            )
        )
    return tuple(steps)
