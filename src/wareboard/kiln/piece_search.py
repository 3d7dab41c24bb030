"""A search for places of pieces of any kinds together, each free to turn: overlap pressed out, as in `packing`.

Every piece is the discs of its `Footprint`; all discs of all pieces are looked at together, each knowing its owner.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.kiln.circles import Progress, StopSign
from wareboard.kiln.footprint import Footprint, least_room_mm, stand_clear
from wareboard.kiln.packing import EMPTY, PRESSINGS_IN_A_START, SPARE, first_found, press, seconds_of_a_pressing
from wareboard.kiln.shelf import Floor, Points
from wareboard.kiln.staggered_rows import ROUNDING

Kinds = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class _Discs:
    """All discs of some pieces: whose each is, how far out it stands, its radius (d,)."""

    pieces: int
    owner: NDArray[np.int64]
    out: Points
    radius: Points

    def centres(self, places: Points) -> tuple[Points, Points]:
        """x and y of every disc, for pieces at x, y, half the angle (3, n)."""
        x, y, half_turn = places
        return (
            x[self.owner] + self.out * np.cos(2.0 * half_turn)[self.owner],
            y[self.owner] + self.out * np.sin(2.0 * half_turn)[self.owner],
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """Floor, what blocks it, the kinds of piece (out, radius of each kind's discs), the gap, and the floor's low and high
    corner, all in one unit of length.
    """

    radius: float
    sides: Points
    blocked: Points
    kinds: tuple[tuple[Points, Points], ...]
    gap: float
    corners: tuple[Points, Points]

    def discs(self, kinds: Kinds) -> _Discs:
        owner = np.repeat(np.arange(len(kinds)), [len(self.kinds[kind][0]) for kind in kinds])
        if not len(kinds):
            return _Discs(0, owner, np.empty(0), np.empty(0))
        out = np.concatenate([self.kinds[kind][0] for kind in kinds])
        return _Discs(len(kinds), owner, out, np.concatenate([self.kinds[kind][1] for kind in kinds]))

    def penalty(self, flat: Points, discs: _Discs) -> tuple[float, Points]:
        """Squared overlaps of all discs of pieces given as x, y, half the angle (3 n,), and the gradient."""
        half_turn = flat[2 * discs.pieces :]
        px, py = discs.centres(flat.reshape(3, -1))
        total, gx, gy = self._crowding(px, py, discs)
        for over, nx, ny in self._outside(px, py, discs.radius):
            total += float(over @ over)
            gx += 2.0 * over * nx
            gy += 2.0 * over * ny
        cos, sin = np.cos(2.0 * half_turn)[discs.owner], np.sin(2.0 * half_turn)[discs.owner]
        swing = 2.0 * discs.out * (gy * cos - gx * sin)
        slope = [np.bincount(discs.owner, part, minlength=discs.pieces) for part in (gx, gy, swing)]
        return total, np.concatenate(slope)

    def _crowding(self, px: Points, py: Points, discs: _Discs) -> tuple[float, Points, Points]:
        dx, dy = px[:, None] - px, py[:, None] - py
        wanted = discs.radius[:, None] + discs.radius + self.gap
        squared = dx * dx + dy * dy
        i, j = np.nonzero((squared < wanted * wanted) & (discs.owner[:, None] != discs.owner))
        apart = np.sqrt(squared[i, j]) + 1e-15
        short = wanted[i, j] - apart
        push = -2.0 * short / apart
        gx = np.bincount(i, push * dx[i, j], minlength=len(px))
        gy = np.bincount(i, push * dy[i, j], minlength=len(px))
        return 0.5 * float(short @ short), gx.astype(np.float64), gy.astype(np.float64)

    def _outside(self, px: Points, py: Points, radius: Points) -> Iterator[tuple[Points, Points, Points]]:
        """For edge and keep-outs: how far each disc is where it must not be, and the way that makes it worse."""
        if math.isfinite(self.radius):
            far = np.hypot(px, py)
            safe = np.maximum(far, 1e-15)
            yield np.maximum(0.0, far + radius - self.radius), px / safe, py / safe
        for nx, ny, reach in self.sides:
            yield np.maximum(0.0, nx * px + ny * py + radius - reach), np.full_like(px, nx), np.full_like(px, ny)
        for x, y, room in self.blocked:
            gap = np.maximum(np.hypot(px - x, py - y), 1e-15)
            yield np.maximum(0.0, room + radius - gap), (x - px) / gap, (y - py) / gap

    def into_a_hole(self, kind: int, others: Points, taken: _Discs, chance: np.random.Generator) -> Points:
        """Of many places drawn the one where a further piece overlaps least with ``others`` (3, n): (3,)."""
        low, high = self.corners
        drawn = np.vstack((low[:, None] + (high - low)[:, None] * chance.random((2, 60)), math.pi * chance.random(60)))
        out, radius = self.kinds[kind]
        px = drawn[0][:, None] + out * np.cos(2.0 * drawn[2])[:, None]
        py = drawn[1][:, None] + out * np.sin(2.0 * drawn[2])[:, None]
        cost = np.zeros(60)
        if taken.pieces:
            ox, oy = taken.centres(others)
            gaps = np.hypot(px[..., None] - ox, py[..., None] - oy)
            wanted = radius[:, None] + taken.radius + self.gap
            cost += (np.maximum(0.0, wanted - gaps) ** 2).sum(axis=(1, 2))
        for over, _, _ in self._outside(px.ravel(), py.ravel(), np.tile(radius, 60)):
            cost += (over**2).reshape(60, -1).sum(axis=1)
        best: Points = drawn[:, int(cost.argmin())]
        return best


@dataclass(frozen=True, slots=True, eq=False)
class _Start:
    """One start: pieces of ``kinds`` (n,), of which the ``order``-ed first stand at ``first`` (3, k) already."""

    ground: _Ground
    kinds: Kinds
    order: Kinds
    first: Points
    seed: tuple[int, ...]
    pressings: int


def _run(start: _Start, stop: StopSign | None = None) -> tuple[Points | None, int]:
    """Places x, y, half the angle (3, n) if this start finds room for all, else None; and pressings used."""
    chance = np.random.default_rng(start.seed)
    ground, kinds = start.ground, start.kinds
    places = _all_somewhere(start, chance)
    every = ground.discs(kinds)

    def penalty(flat: Points) -> tuple[float, Points]:
        return ground.penalty(flat, every)

    best, depth = press(penalty, places.ravel())
    used = 1
    while used < start.pressings and depth >= EMPTY and not (stop is not None and stop.is_set()):
        moved = _shaken(best.reshape(3, -1), kinds, ground, chance)
        tried, tried_depth = press(penalty, moved.ravel())
        used += 1
        if tried_depth < depth * (1.0 - 1e-6):
            best, depth = tried, tried_depth
    return (best.reshape(3, -1) if depth < EMPTY else None), used


def _shaken(places: Points, kinds: Kinds, ground: _Ground, chance: np.random.Generator) -> Points:
    """The places with a few pieces put into holes, or two of unlike kinds exchanged, or everything shaken."""
    moved = places.copy()
    way = chance.random()
    if way < 0.3 and (kinds != kinds[0]).any():
        one = int(chance.integers(len(kinds)))
        unlike = np.nonzero(kinds != kinds[one])[0]
        other = int(unlike[int(chance.integers(len(unlike)))])
        moved[:, [one, other]] = moved[:, [other, one]]
    elif way < 0.8:
        for _ in range(int(chance.integers(1, 4))):
            lift = int(chance.integers(len(kinds)))
            others, taken = np.delete(moved, lift, axis=1), ground.discs(np.delete(kinds, lift))
            moved[:, lift] = ground.into_a_hole(int(kinds[lift]), others, taken, chance)
    else:
        moved += chance.normal(0.0, 0.05 + 0.2 * chance.random(), moved.shape)
    return moved


def _all_somewhere(start: _Start, chance: np.random.Generator) -> Points:
    """The pieces that stand already, and the others one by one where the floor is emptiest: (3, n)."""
    places = np.zeros((3, len(start.kinds)))
    standing = start.order[: start.first.shape[1]]
    places[:, standing] = start.first
    for index in start.order[start.first.shape[1] :]:
        taken = start.ground.discs(start.kinds[standing])
        places[:, index] = start.ground.into_a_hole(int(start.kinds[index]), places[:, standing], taken, chance)
        standing = np.append(standing, index)
    return places


def search_for_more_pieces(
    shapes: Sequence[Footprint],
    floor: Floor,
    clearance_mm: float,
    blocked: Points,
    places: Points,
    kinds: Sequence[int],
    wanted: Sequence[int],
    seconds: float,
    seed: int = 0,
    progress: Progress | None = None,
    stop: StopSign | None = None,
    executor: Executor | None = None,
) -> tuple[Points, Kinds]:
    """Places for more pieces on a floor where some stand, (n, 3) as x, y, angle in rad, and the kind of each (n,).

    Args:
        shapes: footprint of each kind.
        floor, clearance_mm, blocked: where ware may stand, gap between pieces, rows x, y, least distance of ware.
        places: what stands already (n, 3); it may be moved. Left alone itself.
        kinds: kind of each of ``places``, an index into ``shapes``.
        wanted: kinds of the pieces to add, in that order; when one finds no room the others of its kind are left off.
        seconds, seed, progress, stop, executor: as in `most_that_fit`.
    """
    unit = max(shape.body_mm for shape in shapes) + clearance_mm
    best, have = places, np.array(kinds, dtype=np.int64)
    if floor.holds_nothing():
        return best, have
    ground = _in_units(shapes, floor, clearance_mm, blocked, unit)
    most, left = len(have) + len(wanted), seconds
    given_up: set[int] = set()
    for kind in wanted:
        if left <= 0.0 or kind in given_up or (stop is not None and stop.is_set()):
            continue
        if progress is not None:
            progress(len(have), most)
        more = np.append(have, kind)
        cost = 1.5 * seconds_of_a_pressing(len(ground.discs(more).owner) // 2)
        now = np.vstack((best[:, :2].T / unit, best[:, 2] / 2.0))
        starts = _starts(ground, now, more, seed, max(6, math.ceil(left / cost)))
        found, used = first_found(_run, starts, stop, executor)
        left -= used * cost
        laid = None if found is None else np.column_stack((found[:2].T * unit, 2.0 * found[2]))
        if laid is not None and _sound(shapes, laid, more, floor, clearance_mm, blocked):
            best, have = laid, more
        else:
            given_up.add(kind)
    return best, have


def _in_units(shapes: Sequence[Footprint], floor: Floor, clearance_mm: float, blocked: Points, unit: float) -> _Ground:
    spare = SPARE * unit
    edge = floor.outline_mm()
    return _Ground(
        (floor.radius_mm - spare) / unit,
        np.column_stack((floor.sides[:, :2], (floor.sides[:, 2] - spare) / unit)),
        np.column_stack((blocked[:, :2], blocked[:, 2] + spare)) / unit,
        tuple((np.array(shape.out_mm) / unit, np.array(shape.radius_mm) / unit) for shape in shapes),
        (clearance_mm + spare) / unit,
        (edge.min(axis=0) / unit, edge.max(axis=0) / unit),
    )


def _starts(ground: _Ground, now: Points, kinds: Kinds, seed: int, budget: int) -> Iterator[_Start]:
    """Starts by turns from what stands already, from most of it, and from nothing."""
    chance = np.random.default_rng((seed, len(kinds)))
    standing, number = now.shape[1], 0
    while budget > 0:
        keep = math.ceil((1.0, 0.6, 0.0)[number % 3] * standing)
        shuffled = chance.permutation(standing)
        # Large pieces find a hole first; small ones go into what is left.
        others = np.concatenate((shuffled[keep:], np.arange(standing, len(kinds))))
        size = np.array([ground.kinds[kind][1][0] for kind in kinds[others]])
        order = np.concatenate((shuffled[:keep], others[np.argsort(-size, kind="stable")]))
        pressings = min(PRESSINGS_IN_A_START, budget)
        yield _Start(ground, kinds, order, now[:, shuffled[:keep]], (seed, len(kinds), number), pressings)
        budget -= pressings
        number += 1


def _sound(
    shapes: Sequence[Footprint], places: Points, kinds: Kinds, floor: Floor, clearance_mm: float, blocked: Points
) -> bool:
    """True if every piece keeps its gap to the others, the floor and what blocks, to within rounding."""
    for kind in set(kinds.tolist()):
        mine = places[kinds == kind]
        if not stand_clear(shapes[kind], mine[:, :2], mine[:, 2], floor, blocked).all():
            return False
    return least_room_mm([shapes[kind] for kind in kinds], places) >= clearance_mm - ROUNDING * shapes[0].body_mm
