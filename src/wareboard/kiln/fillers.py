"""What fits in the gaps that a load leaves: small pieces of the workshop's own, put in without moving anything. In mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.footprint import footprint, rings, stand_clear
from wareboard.kiln.inside import KilnInside, Load, ShelfLayout
from wareboard.kiln.shelf import Points

GRID_MM = 4.0  # how closely a free place is looked for
MOST_IN_A_LOAD = 60


@dataclass(frozen=True, slots=True)
class Filler:
    """A small piece to fill gaps with: its width over all, handle included, its height, and how many at the most."""

    name: str
    across_mm: float
    height_mm: float
    most: int

    def __post_init__(self) -> None:
        for what, size in (("width", self.across_mm), ("height", self.height_mm), ("most", float(self.most))):
            if not (math.isfinite(size) and size > 0.0):
                raise OutOfRange(
                    f"{what} of {self.name} is {size:g}",
                    why="a filler has a size and a number",
                    mend="Measure it in mm",
                )


@dataclass(frozen=True, slots=True)
class Filled:
    """A filler in a gap: which shelf of the load, counted from 0 upwards, and where on it."""

    filler: Filler
    shelf: int
    x_mm: float
    y_mm: float


def fill_gaps(load: Load, inside: KilnInside, gap_mm: float, fillers: Sequence[Filler]) -> tuple[Filled, ...]:
    """Fillers in the gaps of a load, the widest first, from the lowest shelf up and from the back of each.

    Every distance of the load's own rule is kept: to ware and handles, posts, cone packs, thermocouple, edge, and the shelf
    over it. No place of the load is changed. Looked for every 4 mm, so that a gap that only just holds one may be missed.

    Args:
        load: its shelves, lowest first; left alone.
        gap_mm: kept between pieces.
        fillers: what there is.
    """
    found: list[Filled] = []
    for filler in sorted(fillers, key=lambda each: (-each.across_mm, -each.height_mm, each.name)):
        left = filler.most
        for at, layout in enumerate(load):
            there = [each for each in found if each.shelf == at]
            spots = _spots(filler, layout, inside, gap_mm, there, min(left, MOST_IN_A_LOAD - len(found)))
            found += [Filled(filler, at, float(x), float(y)) for x, y in spots]
            left -= len(spots)
    return tuple(found)


def room_over_mm(layout: ShelfLayout, inside: KilnInside) -> float:
    """Height from a shelf's face to the shelf over it, or to the lid."""
    return layout.post_mm if layout.post_mm > 0.0 else inside.usable_height_mm - layout.level_mm


def _spots(
    filler: Filler, layout: ShelfLayout, inside: KilnInside, gap_mm: float, there: Sequence[Filled], most: int
) -> list[Points]:
    if most <= 0 or filler.height_mm + inside.top_gap_mm > room_over_mm(layout, inside) + 1e-9:
        return []
    taken = [(each.x_mm, each.y_mm, each.filler.across_mm / 2.0 + gap_mm) for each in there]
    blocked = np.vstack((_blocked(layout, gap_mm), np.array(taken, dtype=np.float64).reshape(-1, 3)))
    spots = _grid(layout)
    floor = layout.shelf.floor().inset(inside.edge_mm)
    free = spots[stand_clear(footprint(filler.across_mm, 0.0, 0.0), spots, np.zeros(len(spots)), floor, blocked)]
    found: list[Points] = []
    while len(free) and len(found) < most:
        found.append(free[0])
        apart = np.hypot(*(free - free[0]).T)
        free = free[apart >= filler.across_mm + gap_mm]
    return found


def _grid(layout: ShelfLayout) -> Points:
    """Places to try on a shelf, from its back to its front."""
    edge = layout.shelf.floor().outline_mm()
    (left, low), (right, high) = edge.min(axis=0), edge.max(axis=0)
    y, x = np.meshgrid(np.arange(high, low, -GRID_MM), np.arange(left, right, GRID_MM), indexing="ij")
    return np.stack((x.ravel(), y.ravel()), axis=1)


def _blocked(layout: ShelfLayout, gap_mm: float) -> Points:
    """All that stands on a shelf as rows x, y, least distance (k, 3)."""
    rows = []
    for at, centre in enumerate(layout.centres_mm):
        shape = footprint(
            float(layout.diameters_mm[at]), float(layout.handle_reach_mm[at]), float(layout.handle_width_mm[at])
        )
        discs = shape.discs_mm(centre, np.array(math.radians(layout.handle_angles_deg[at])))
        rows += [(*disc, radius + gap_mm) for disc, radius in zip(discs, shape.radius_mm, strict=True)]
    own = np.array(rows, dtype=np.float64).reshape(-1, 3)
    return np.vstack((rings((*layout.posts, *layout.cone_packs, *layout.thermocouple)), own))
