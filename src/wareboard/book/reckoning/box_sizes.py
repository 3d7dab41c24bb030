"""Wrapped pieces packed into boxes of several sizes for the least price, or in the fewest, and what it must cost at least.

Lengths in mm, weights in g, prices in one currency. The packing is the cheapest of several tries; the bound is
proved.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.book.reckoning.boxes import (
    ORDERS,
    ROUNDING,
    Box,
    Filled,
    Parcel,
    check_box,
    goes_in,
    one_filled,
    some_of,
)
from wareboard.errors import OutOfRange
from wareboard.given import not_negative

MOST_SIZES = 8
MOST_PARCELS = 2000
MANY = 300  # from here on one order is tried instead of all
MOST_STEPS = 14  # sizes and heights tried for the places
IN_ONE = 1000  # prices are reckoned in whole thousandths
PROOF = "volumes, weights and places taken together"


@dataclass(frozen=True, slots=True)
class Sized:
    """One kind of box: what it is called, its inside and limit, and its price; all prices 0 ask for the fewest boxes."""

    name: str
    box: Box
    price: float = 0.0


@dataclass(frozen=True, slots=True)
class Taken:
    """One box that is used: which of the sizes, and what stands in it."""

    size: int
    filled: Filled


@dataclass(frozen=True, slots=True)
class MixedPacking:
    """The boxes, their price (or number, where none has a price), and the least that any packing takes."""

    boxes: tuple[Taken, ...]
    price: float
    at_least: float
    by: str
    priced: bool

    @property
    def is_least(self) -> bool:
        """Whether no packing costs less, or needs fewer where none has a price."""
        return self.price <= self.at_least + 0.5 / IN_ONE


def pack_sizes(parcels: Sequence[Parcel], sizes: Sequence[Sized]) -> MixedPacking:
    """The parcels in boxes of these sizes, the cheapest of what was tried, and the least that could do.

    Args:
        parcels: at most 2000.
        sizes: 1 to 8; with a price each, to the thousandth, or none with one.
    Raises:
        OutOfRange: for sizes that cannot be, prices for some alone, or a parcel that goes into none, by its name.
    """
    _check(parcels, sizes)
    priced = any(each.price > 0 for each in sizes)
    costs = [round(each.price * IN_ONE) if priced else IN_ONE for each in sizes]
    if not parcels:
        return MixedPacking((), 0.0, 0.0, "nothing to pack", priced)
    orders = ORDERS if len(parcels) < MANY else ORDERS[:1]
    best: list[Taken] = []
    for order in orders:
        wanted = sorted(range(len(parcels)), key=lambda index: order(parcels[index]))
        for found in _tries(parcels, wanted, sizes, costs):
            smaller = [_cheapest(parcels, each, sizes, costs) for each in found]
            if not best or _cost(smaller, costs) < _cost(best, costs):
                best = smaller
    return MixedPacking(tuple(best), _cost(best, costs) / IN_ONE, least(parcels, sizes, costs) / IN_ONE, PROOF, priced)


def _cost(boxes: Sequence[Taken], costs: Sequence[int]) -> int:
    return sum(costs[each.size] for each in boxes)


def _tries(
    parcels: Sequence[Parcel], wanted: list[int], sizes: Sequence[Sized], costs: Sequence[int]
) -> Iterator[list[Taken]]:
    """Box after box by the best price for what it takes, ended in each size; and each size alone."""
    yield _filled_up(parcels, wanted, sizes, costs, range(len(sizes)))
    for size in range(len(sizes)):
        if all(goes_in(parcels[index], sizes[size].box) for index in wanted):
            yield _filled_up(parcels, wanted, sizes, costs, (size,))


def _filled_up(
    parcels: Sequence[Parcel], wanted: list[int], sizes: Sequence[Sized], costs: Sequence[int], allowed: Sequence[int]
) -> list[Taken]:
    volume = np.array([each.width_mm * each.depth_mm * each.height_mm for each in parcels])
    mass = np.array([each.mass_g for each in parcels])
    worth = volume / volume.mean() + mass / mass.mean()
    done: list[Taken] = []
    ends: list[list[Taken]] = []
    while wanted:
        options = []
        for size in allowed:
            if not goes_in(parcels[wanted[0]], sizes[size].box):
                continue
            filled, left = one_filled(parcels, wanted, sizes[size].box)
            if not left:
                ends.append([*done, Taken(size, filled)])
            took = float(sum(worth[each.index] for each in filled.placed))
            options.append((costs[size] / took, size, filled, left))
        _, size, filled, wanted = min(options, key=lambda each: each[:2])
        done.append(Taken(size, filled))
    return min([done, *ends], key=lambda boxes: _cost(boxes, costs))


def _cheapest(parcels: Sequence[Parcel], taken: Taken, sizes: Sequence[Sized], costs: Sequence[int]) -> Taken:
    """The same pieces in the cheapest size that takes them all."""
    own = [each.index for each in taken.filled.placed]
    for size in sorted(range(len(sizes)), key=lambda size: costs[size]):
        if costs[size] >= costs[taken.size]:
            break
        for order in ORDERS:
            filled, left = one_filled(parcels, sorted(own, key=lambda index: order(parcels[index])), sizes[size].box)
            if not left:
                return Taken(size, filled)
    return taken


def least(parcels: Sequence[Parcel], sizes: Sequence[Sized], costs: Sequence[int]) -> int:
    """The least that the boxes of any packing cost: as many of each size as the counted needs ask for, at the least cost.

    Each need says what the boxes must hold in all and what one of each size holds at most: volume; weight; places, which
    are points s apart along and across and h apart upward, of which a parcel w by d by t holds floor(w/s) floor(d/s)
    floor(t/h) at least however it stands and a box no more than its own; parcels over a weight.
    Needs are counted for all, and for the parcels that go into some sizes alone, for which the others hold nothing. Every
    packing meets them, so the least whole numbers do not cost more than the best packing.
    Solved by scipy.optimize.milp; its own bound is taken, never the numbers found.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    rows, needs = _needs(parcels, sizes)
    done = milp(
        np.array(costs, dtype=np.float64), constraints=LinearConstraint(rows, lb=needs), integrality=np.ones(len(sizes)),
        bounds=Bounds(0, len(parcels)), options={"mip_rel_gap": 0.0},
    )  # fmt: skip
    bound = float("nan") if done.mip_dual_bound is None else float(done.mip_dual_bound)
    if not math.isfinite(bound):  # without an answer one box is needed all the same
        return min(costs)
    return max(min(costs), math.ceil(bound - 1e-6 * max(1.0, abs(bound))))


def _needs(parcels: Sequence[Parcel], sizes: Sequence[Sized]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    fits = np.array([[goes_in(parcel, each.box) for each in sizes] for parcel in parcels])
    rows: list[NDArray[np.float64]] = []
    needs: list[float] = []
    for where in np.unique(np.vstack([fits, np.ones((1, len(sizes)), dtype=bool)]), axis=0):
        held = [parcel for parcel, own in zip(parcels, fits, strict=True) if not (own & ~where).any()]
        for holds, need in _needs_of(held, sizes) if held else ():
            scale = max(need, 1e-12)  # a need of 1, so that the solver's tolerance is a share of each
            rows.append(np.where(where, holds, 0.0) / scale)
            needs.append(1.0 - 1e-7)
    return np.array(rows), np.array(needs)


def _needs_of(parcels: Sequence[Parcel], sizes: Sequence[Sized]) -> Iterator[tuple[NDArray[np.float64], float]]:
    limits = np.array([each.box.most_g - each.box.own_g for each in sizes])
    rooms = np.array([[each.box.width_mm, each.box.depth_mm, each.box.height_mm] for each in sizes])
    masses = np.array([each.mass_g for each in parcels])
    wide, deep = np.array([(each.width_mm, each.depth_mm) for each in parcels]).T
    heights = np.array([each.height_mm for each in parcels])
    yield rooms.prod(axis=1), float(sum(each.width_mm * each.depth_mm * each.height_mm for each in parcels))
    yield limits, float(masses.sum())
    for mass in some_of(masses, MOST_STEPS):
        yield np.floor(limits / mass + ROUNDING), float((masses >= mass).sum())
    for side in some_of(np.concatenate([wide, deep, wide / 2.0, deep / 2.0]), MOST_STEPS):
        for high in some_of(np.concatenate([heights, heights / 2.0]), MOST_STEPS):
            places = np.floor(rooms / np.array([side, side, high]) + ROUNDING).prod(axis=1)
            held = _held(wide, side) * _held(deep, side) * _held(heights, high)
            if held.any():
                yield places, float(held.sum())


def _held(lengths: NDArray[np.float64], apart: float) -> NDArray[np.float64]:
    """How many points so far apart a length holds at least, wherever it lies."""
    return np.floor(lengths / apart)


def _check(parcels: Sequence[Parcel], sizes: Sequence[Sized]) -> None:
    if not 1 <= len(sizes) <= MOST_SIZES:
        raise OutOfRange(f"{len(sizes)} sizes of box", f"there must be 1 to {MOST_SIZES}", "Leave some out")
    if len(parcels) > MOST_PARCELS:
        raise OutOfRange(f"{len(parcels)} pieces", f"at most {MOST_PARCELS} are packed at once", "Pack them in parts")
    for each in sizes:
        check_box(each.box)
        not_negative(each.price, f"price of a box of {each.name}")
    if any(each.price > 0 for each in sizes) and any(round(each.price * IN_ONE) == 0 for each in sizes):
        raise OutOfRange(
            "a price for some boxes alone", "they cannot be weighed against each other", "Price all or none"
        )
    for parcel in parcels:
        if not any(goes_in(parcel, each.box) for each in sizes):
            size = f"{parcel.width_mm:.0f} × {parcel.depth_mm:.0f} × {parcel.height_mm:.0f} mm, {parcel.mass_g:.0f} g"
            raise OutOfRange(
                f"{parcel.name}, {size} wrapped", "it is larger or heavier than every box takes", "Add a larger box"
            )
