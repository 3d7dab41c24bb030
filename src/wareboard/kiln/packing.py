"""A search for places: equal discs on a convex floor with posts in the way, from many starts.

Overlap is turned into a penalty and pressed out; when it sticks, a few discs are lifted out and put where the floor is
emptiest, or a patch is shaken, and it is pressed again. The work is counted in pressings, never by the clock, so that a
seed gives the same places on any machine and in any executor. Inside, lengths are in units of the spacing.

Penalty and hopping between its hollows are the usual approach to this problem: A. Grosso, A. R. M. J. U. Jamali,
M. Locatelli, F. Schoen, J. Global Optim. 47, 2010 (`packing-circle-table`).
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Protocol, TypeVar

import numpy as np

from wareboard.kiln.circles import Progress, StopSign
from wareboard.kiln.shelf import Floor, Points
from wareboard.kiln.staggered_rows import ROUNDING, best_lattice

SPARE = 2e-7  # the search asks for so much more than the spacing, so that what it calls free is free after rounding
EMPTY = SPARE**2 / 16.0  # squared overlaps that add up to less than this are none
_PLAINLY_NOT_EMPTY = 2e-4
_MOST_STEPS, _REMEMBERED = 250, 8
PRESSINGS_IN_A_START = 24


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """The most places found, (n, 2), and whether the search ran its course."""

    centres_mm: Points
    complete: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """Floor of the centres and what blocks it, in units of the spacing."""

    radius: float
    sides: Points
    blocked: Points

    def penalty(self, flat: Points) -> tuple[float, Points]:
        """Sum of squared overlaps of points (2 n,) with each other, the edge and what blocks, and its gradient."""
        points = flat.reshape(-1, 2)
        x, y = points.T
        dx, dy = x[:, None] - x, y[:, None] - y
        squared = dx * dx + dy * dy
        squared.flat[:: len(x) + 1] = 4.0
        i, j = np.nonzero(squared < 1.0)
        apart = np.sqrt(squared[i, j]) + 1e-15
        short = 1.0 - apart
        total = 0.5 * float(short @ short)
        push = -2.0 * short / apart
        slope = np.empty_like(points)
        slope[:, 0] = np.bincount(i, push * dx[i, j], minlength=len(x))
        slope[:, 1] = np.bincount(i, push * dy[i, j], minlength=len(x))
        if math.isfinite(self.radius):
            far = np.hypot(x, y)
            over = np.maximum(0.0, far - self.radius)
            total += float(over @ over)
            slope += (2.0 * over / np.maximum(far, 1e-15))[:, None] * points
        if len(self.sides):
            over_side = np.maximum(0.0, points @ self.sides[:, :2].T - self.sides[:, 2])
            total += float((over_side * over_side).sum())
            slope += 2.0 * over_side @ self.sides[:, :2]
        if len(self.blocked):
            away = points[:, None, :] - self.blocked[None, :, :2]
            gap = np.hypot(away[..., 0], away[..., 1])
            near = np.maximum(0.0, self.blocked[:, 2] - gap)
            total += float((near * near).sum())
            slope -= 2.0 * ((near / np.maximum(gap, 1e-15))[..., None] * away).sum(axis=1)
        return total, slope.ravel()

    def pressed(self, points: Points) -> tuple[Points, float]:
        """The nearest hollow of the penalty and its depth. The input is left alone."""
        flat, depth = press(self.penalty, points.ravel())
        return flat.reshape(-1, 2), depth

    def anywhere(self, chance: np.random.Generator, count: int) -> Points:
        """``count`` points anywhere on the floor, even where it is blocked."""
        if math.isfinite(self.radius):
            low, high = np.full(2, -self.radius), np.full(2, self.radius)
        else:
            edge = Floor(self.radius, self.sides).outline_mm()
            low, high = edge.min(axis=0), edge.max(axis=0)
        drawn = np.empty((0, 2))
        floor = Floor(self.radius, self.sides)
        for _ in range(40):
            more = low + (high - low) * chance.random((4 * count, 2))
            drawn = np.concatenate((drawn, more[floor.over_edge_mm(more) <= 0.0]))
            if len(drawn) >= count:
                return drawn[:count]
        return np.concatenate((drawn, np.zeros((count - len(drawn), 2))))

    def crowding(self, points: Points, others: Points) -> Points:
        """How much each of ``points`` (m, 2) would overlap with ``others``, edge and what blocks: (m,)."""
        gap = np.hypot(*(points[:, None, :] - others[None, :, :]).transpose(2, 0, 1))
        crowd: Points = (np.maximum(0.0, 1.0 - gap) ** 2).sum(axis=1)
        crowd += np.maximum(0.0, Floor(self.radius, self.sides).over_edge_mm(points)) ** 2
        for x, y, reach in self.blocked:
            crowd += np.maximum(0.0, reach - np.hypot(points[:, 0] - x, points[:, 1] - y)) ** 2
        return crowd


def press(penalty: Callable[[Points], tuple[float, Points]], flat: Points) -> tuple[Points, float]:
    """The nearest hollow of ``penalty`` from ``flat`` (k,), and its depth. The input is left alone.

    Limited-memory quasi-Newton steps with halving (J. Nocedal, Math. Comput. 35, 1980), written out because at this
    size a library's call costs more than the sums. A hollow that is plainly not empty is left early; most are.
    """
    depth, slope = penalty(flat)
    moves: deque[tuple[Points, Points, float]] = deque(maxlen=_REMEMBERED)
    for turn in range(_MOST_STEPS):
        if depth < EMPTY:
            break
        way = _downhill(slope, moves)
        falls = float(way @ slope)
        if falls >= 0.0:
            moves.clear()
            way, falls = -0.25 * slope, -0.25 * float(slope @ slope)
        step = 1.0
        new_depth, new_slope = penalty(flat + way)
        while new_depth > depth + 1e-4 * step * falls and step > 1e-6:
            step *= 0.5
            new_depth, new_slope = penalty(flat + step * way)
        gained = depth - new_depth
        moved, bent = step * way, new_slope - slope
        if (curve := float(moved @ bent)) > 1e-30:
            moves.append((moved, bent, curve))
        flat, depth, slope = flat + moved, new_depth, new_slope
        if gained <= 1e-6 * depth or (turn > 8 and gained < 1e-3 * depth and depth > _PLAINLY_NOT_EMPTY):
            break
    return flat, depth


def _downhill(slope: Points, moves: deque[tuple[Points, Points, float]]) -> Points:
    """The quasi-Newton way down from the moves remembered (the two-loop recursion)."""
    way = -slope
    if not moves:
        return 0.25 * way
    shares = []
    for moved, bent, curve in reversed(moves):
        share = float(moved @ way) / curve
        way = way - share * bent
        shares.append(share)
    _, bent, curve = moves[-1]
    way = way * (curve / float(bent @ bent))
    for (moved, bent, curve), share in zip(moves, reversed(shares), strict=True):
        way = way + (share - float(bent @ way) / curve) * moved
    return way


@dataclass(frozen=True, slots=True, eq=False)
class _Start:
    """One start of the search, small enough to send to another process."""

    ground: _Ground
    count: int
    seed: tuple[int, ...]
    first: Points | None
    pressings: int


def _run(start: _Start, stop: StopSign | None = None) -> tuple[Points | None, int]:
    """Places for ``start.count`` discs if this start finds them, else None; and pressings used."""
    chance = np.random.default_rng(start.seed)
    ground = start.ground
    places = start.first if start.first is not None else ground.anywhere(chance, start.count)
    best, depth = ground.pressed(places)
    used = 1
    while used < start.pressings and depth >= EMPTY and not (stop is not None and stop.is_set()):
        tried, tried_depth = ground.pressed(_shaken(best, ground, chance))
        used += 1
        if tried_depth < depth * (1.0 - 1e-6):
            best, depth = tried, tried_depth
    return (best if depth < EMPTY else None), used


def _shaken(places: Points, ground: _Ground, chance: np.random.Generator) -> Points:
    """The places with a few of the tightest put into holes, or with a patch or everything shaken."""
    moved = places.copy()
    way = chance.random()
    if way < 0.6:
        for _ in range(int(chance.integers(1, 4))):
            _move_one_to_a_hole(moved, ground, chance)
    elif way < 0.8:
        moved += chance.normal(0.0, 0.05 + 0.3 * chance.random(), moved.shape)
    else:
        middle = moved[int(chance.integers(len(moved)))]
        near = np.hypot(*(moved - middle).T) < 0.8 + 2.0 * chance.random()
        moved[near] += chance.normal(0.0, 0.4, (int(near.sum()), 2))
    return moved


def _move_one_to_a_hole(places: Points, ground: _Ground, chance: np.random.Generator) -> None:
    """Lifts one of the more crowded discs (in place) to the emptiest of many spots drawn."""
    apart = np.hypot(*(places[:, None, :] - places[None, :, :]).transpose(2, 0, 1))
    np.fill_diagonal(apart, 9.0)
    crowd = (np.maximum(0.0, 1.0 - apart) ** 2).sum(axis=1)
    drawn = chance.integers(len(places), size=4)
    lift = int(crowd.argmax()) if chance.random() < 0.4 else int(drawn[crowd[drawn].argmax()])
    spots = ground.anywhere(chance, 80)
    others = np.delete(places, lift, axis=0)
    places[lift] = spots[int(ground.crowding(spots, others).argmin())]


def seconds_of_a_pressing(count: int) -> float:
    """Measured on one ordinary core; it turns seconds into work, so that no clock is read."""
    return 0.001 + 1.2e-4 * count + 2e-6 * count**2


def _pressings_for(seconds: float, count: int) -> int:
    return max(6, math.ceil(seconds / seconds_of_a_pressing(count)))


def _starts(
    ground: _Ground,
    floor: Floor,
    spacing_mm: float,
    blocked: Points,
    places: Points,
    count: int,
    seed: int,
    budget: int,
) -> Iterator[_Start]:
    """Starts for ``count`` discs: what stands already and one more, staggered rows, and places drawn at random."""
    chance = np.random.default_rng((seed, count))
    spent, number = 0, 0
    lattice = best_lattice(floor, spacing_mm * 0.97, blocked) / spacing_mm
    while spent < budget:
        first: Points | None = None
        if number % 3 == 0:
            first = _with_more(places / spacing_mm, count, ground, chance)
        elif number % 3 == 1 and len(lattice):
            keep = chance.permutation(len(lattice))[:count]
            first = _with_more(lattice[keep], count, ground, chance)
        pressings = min(PRESSINGS_IN_A_START, budget - spent)
        yield _Start(ground, count, (seed, count, number), first, pressings)
        spent += pressings
        number += 1


def _with_more(places: Points, count: int, ground: _Ground, chance: np.random.Generator) -> Points:
    """``places`` with discs put into the emptiest spots until there are ``count``."""
    full = places[:count]
    while len(full) < count:
        spots = ground.anywhere(chance, 200)
        full = np.vstack((full, spots[int(ground.crowding(spots, full).argmin())])) if len(full) else spots[:1]
    return full


def search_for_more(
    room: Floor,
    spacing_mm: float,
    blocked: Points,
    places_mm: Points,
    target: int,
    *,
    seconds: float,
    seed: int = 0,
    progress: Progress | None = None,
    stop: StopSign | None = None,
    executor: Executor | None = None,
) -> Found:
    """More places than ``places_mm`` (n, 2), one by one up to ``target``, or the same if none are found.

    Args:
        room: floor of the centres.
        spacing_mm: least distance of two centres, mm.
        blocked: rows x, y, least distance of a centre (k, 3), mm.
        places_mm: good places to begin from; left alone.
        target: where to stop.
        seconds: about how much work to do on one ordinary core; it is turned into a count of pressings.
        seed, progress, stop, executor: as in `most_that_fit`. With a process pool ``stop`` is looked at between starts.
    """
    wide = spacing_mm * (1.0 + SPARE)
    ground = _Ground(
        room.radius_mm / wide - SPARE,
        np.column_stack((room.sides[:, :2], room.sides[:, 2] / wide - SPARE)),
        np.column_stack((blocked[:, :2] / wide, blocked[:, 2] / wide + SPARE)),
    )
    best, left = places_mm, seconds
    while len(best) < target and left > 0.0:
        if progress is not None:
            progress(len(best), target)
        count = len(best) + 1
        starts = _starts(ground, room, wide, blocked, best, count, seed, _pressings_for(left, count))
        found, used = first_found(_run, starts, stop, executor)
        if found is None or not _stands(found * wide, room, spacing_mm, blocked):
            break
        best, left = found * wide, left - used * seconds_of_a_pressing(count)
    return Found(best, not (stop is not None and stop.is_set()))


class OneStart(Protocol):
    """A start that knows how many pressings it may use."""

    @property
    def pressings(self) -> int:
        """How many pressings it may use."""


S = TypeVar("S", bound=OneStart)


def first_found(
    run: Callable[[S, StopSign | None], tuple[Points | None, int]],
    starts: Iterator[S],
    stop: StopSign | None,
    executor: Executor | None,
) -> tuple[Points | None, int]:
    """What the first successful start found, in the order of the starts however many run at once; pressings used.

    ``run`` is a plain function, so that a process pool can be handed it. There ``stop`` is looked at between starts.
    """
    used = 0
    if executor is None:
        for start in starts:
            if stop is not None and stop.is_set():
                break
            found, pressings = run(start, stop)
            used += pressings
            if found is not None:
                return found, used
        return None, used
    waiting = [executor.submit(run, start, None) for start in starts]
    try:
        for future in waiting:
            if stop is not None and stop.is_set():
                break
            found, pressings = future.result()
            used += pressings
            if found is not None:
                return found, used
        return None, used
    finally:
        for future in waiting:
            future.cancel()


def _stands(centres: Points, room: Floor, spacing_mm: float, blocked: Points) -> bool:
    """True if the places keep the spacing, the edge and what blocks, to within rounding."""
    i, j = np.triu_indices(len(centres), 1)
    least = np.hypot(*(centres[i] - centres[j]).T).min(initial=math.inf)
    if least < spacing_mm * (1.0 - ROUNDING) or (room.over_edge_mm(centres) > ROUNDING * spacing_mm).any():
        return False
    gaps = np.hypot(*(centres[:, None, :] - blocked[None, :, :2]).transpose(2, 0, 1))
    return bool((gaps >= blocked[:, 2] * (1.0 - ROUNDING)).all())
