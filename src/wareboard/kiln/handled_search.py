"""A search for places of handled pieces, each free to turn: overlap pressed out from many starts, as in `packing`."""

from __future__ import annotations

import math
from collections.abc import Iterator
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from wareboard.kiln.circles import Progress, StopSign
from wareboard.kiln.footprint import Footprint, least_room_mm, stand_clear
from wareboard.kiln.packing import EMPTY, PRESSINGS_IN_A_START, SPARE, first_found, press, seconds_of_a_pressing
from wareboard.kiln.shelf import Floor, Points
from wareboard.kiln.staggered_rows import ROUNDING


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """Floor, what blocks it and the piece, in units of the body's diameter with its gap."""

    radius: float
    sides: Points
    blocked: Points
    out: Points
    disc: Points
    gap: float

    def penalty(self, flat: Points) -> tuple[float, Points]:
        """Squared overlaps of all discs of pieces given as x, y, half the angle (3 n,), and the gradient."""
        x, y, half_turn = flat.reshape(3, -1)
        count, discs = len(x), len(self.out)
        cos, sin = np.cos(2.0 * half_turn), np.sin(2.0 * half_turn)
        px = (x[:, None] + self.out * cos[:, None]).ravel()
        py = (y[:, None] + self.out * sin[:, None]).ravel()
        radius = np.tile(self.disc, count)
        total, gx, gy = self._crowding(px, py, radius, count)
        for over, nx, ny in self._outside(px, py, radius):
            total += float(over @ over)
            gx += 2.0 * over * nx
            gy += 2.0 * over * ny
        gx, gy = gx.reshape(count, discs), gy.reshape(count, discs)
        swing = 2.0 * (self.out * (gy * cos[:, None] - gx * sin[:, None])).sum(axis=1)
        return total, np.concatenate((gx.sum(axis=1), gy.sum(axis=1), swing))

    def _crowding(self, px: Points, py: Points, radius: Points, count: int) -> tuple[float, Points, Points]:
        dx, dy = px[:, None] - px, py[:, None] - py
        wanted = radius[:, None] + radius + self.gap
        squared = dx * dx + dy * dy
        owner = np.repeat(np.arange(count), len(self.out))
        squared[owner[:, None] == owner] = np.inf
        i, j = np.nonzero(squared < wanted * wanted)
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

    def anywhere(self, chance: np.random.Generator, count: int) -> Points:
        """``count`` pieces anywhere on the floor, turned anyhow: x, y, half the angle (3, count)."""
        floor = Floor(self.radius, self.sides)
        edge = floor.outline_mm()
        low, high = edge.min(axis=0), edge.max(axis=0)
        points = low[:, None] + (high - low)[:, None] * chance.random((2, count))
        return np.vstack((points, math.pi * chance.random(count)))

    def into_a_hole(self, others: Points, chance: np.random.Generator) -> Points:
        """Of many places drawn the one where a further piece overlaps least: (3,)."""
        drawn = self.anywhere(chance, 60)
        turned = np.stack((np.cos(2.0 * drawn[2]), np.sin(2.0 * drawn[2])))
        new = drawn[:2, :, None] + self.out * turned[:, :, None]  # (2, 60, m)
        cost = np.zeros(60)
        if others.shape[1]:
            there = np.stack((np.cos(2.0 * others[2]), np.sin(2.0 * others[2])))
            old = (others[:2, :, None] + self.out * there[:, :, None]).reshape(2, -1)
            gaps = np.hypot(*(new[..., None] - old[:, None, None, :]))
            wanted = self.disc[:, None] + np.tile(self.disc, others.shape[1]) + self.gap
            cost += (np.maximum(0.0, wanted - gaps) ** 2).sum(axis=(1, 2))
        px, py = new.reshape(2, -1)
        for over, _, _ in self._outside(px, py, np.tile(self.disc, 60)):
            cost += (over**2).reshape(60, -1).sum(axis=1)
        best: Points = drawn[:, int(cost.argmin())]
        return best


@dataclass(frozen=True, slots=True, eq=False)
class _Start:
    ground: _Ground
    count: int
    seed: tuple[int, ...]
    first: Points
    pressings: int


def _run(start: _Start, stop: StopSign | None = None) -> tuple[Points | None, int]:
    """Places x, y, half the angle (3, n) if this start finds room for all, else None; and pressings used."""
    chance = np.random.default_rng(start.seed)
    ground = start.ground
    places = start.first
    while places.shape[1] < start.count:
        places = np.column_stack((places, ground.into_a_hole(places, chance)))
    best, depth = press(ground.penalty, places.ravel())
    used = 1
    while used < start.pressings and depth >= EMPTY and not (stop is not None and stop.is_set()):
        moved = best.reshape(3, -1).copy()
        if chance.random() < 0.75:
            for _ in range(int(chance.integers(1, 4))):
                lift = int(chance.integers(start.count))
                moved[:, lift] = ground.into_a_hole(np.delete(moved, lift, axis=1), chance)
        else:
            moved += chance.normal(0.0, 0.05 + 0.2 * chance.random(), moved.shape)
        tried, tried_depth = press(ground.penalty, moved.ravel())
        used += 1
        if tried_depth < depth * (1.0 - 1e-6):
            best, depth = tried, tried_depth
    return (best.reshape(3, -1) if depth < EMPTY else None), used


def search_for_more_handled(
    piece: Footprint,
    floor: Floor,
    clearance_mm: float,
    blocked: Points,
    places: Points,
    target: int,
    seconds: float,
    seed: int,
    progress: Progress | None,
    stop: StopSign | None,
    executor: Executor | None,
) -> Points:
    """More places than ``places`` (n, 3), one by one, or the same."""
    unit = piece.body_mm + clearance_mm
    spare = SPARE * unit
    ground = _Ground(
        (floor.radius_mm - spare) / unit,
        np.column_stack((floor.sides[:, :2], (floor.sides[:, 2] - spare) / unit)),
        np.column_stack((blocked[:, :2], blocked[:, 2] + spare)) / unit,
        np.array(piece.out_mm) / unit,
        np.array(piece.radius_mm) / unit,
        (clearance_mm + spare) / unit,
    )
    best, left = places, seconds
    while len(best) < target and left > 0.0:
        if progress is not None:
            progress(len(best), target)
        count = len(best) + 1
        cost = 3.0 * seconds_of_a_pressing(count * 2)
        now = np.vstack((best[:, :2].T / unit, best[:, 2] / 2.0))
        found, used = first_found(
            _run, _starts(ground, now, count, seed, max(6, math.ceil(left / cost))), stop, executor
        )
        if found is None:
            break
        more = np.column_stack((found[:2].T * unit, 2.0 * found[2]))
        if not _sound(piece, more, floor, clearance_mm, blocked):
            break
        best, left = more, left - used * cost
    return best


def _starts(ground: _Ground, now: Points, count: int, seed: int, budget: int) -> Iterator[_Start]:
    """Starts by turns from what stands already, from most of it, and from nothing."""
    chance = np.random.default_rng((seed, count))
    number = 0
    while budget > 0:
        keep = (1.0, 0.6, 0.0)[number % 3]
        first = now[:, chance.permutation(now.shape[1])[: math.ceil(keep * now.shape[1])]]
        pressings = min(PRESSINGS_IN_A_START, budget)
        yield _Start(ground, count, (seed, count, number), first, pressings)
        budget -= pressings
        number += 1


def _sound(piece: Footprint, places: Points, floor: Floor, clearance_mm: float, blocked: Points) -> bool:
    """True if every piece keeps its gap to the others, the floor and what blocks, to within rounding."""
    centres, angles = places[:, :2], places[:, 2]
    if not stand_clear(piece, centres, angles, floor, blocked).all():
        return False
    least = clearance_mm - ROUNDING * piece.body_mm
    return all(least_room_mm(piece, centres, angles, i) >= least for i in range(len(places)))
