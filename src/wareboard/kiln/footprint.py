"""What a piece covers of the shelf, seen from above: a round body and the strap of a handle.

The strap is a row of discs that covers it wholly, so that what is clear of the discs is clear of the strap. Lengths in
mm; angles in radians, anticlockwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.kiln.circles import KeepOut
from wareboard.kiln.shelf import Floor, Points
from wareboard.kiln.staggered_rows import ROUNDING

_DISCS_IN_A_HANDLE = 4


@dataclass(frozen=True, slots=True)
class Footprint:
    """Body and handle as discs in a row: how far out each stands from the body's centre, and its radius (m,)."""

    out_mm: tuple[float, ...]
    radius_mm: tuple[float, ...]

    @property
    def body_mm(self) -> float:
        """Diameter of the body, mm, without the handle."""
        return 2.0 * self.radius_mm[0]

    @property
    def reach_mm(self) -> float:
        """From the body's centre to the tip of the handle."""
        return self.out_mm[-1] + self.radius_mm[-1]

    def discs_mm(self, centres_mm: Points, angles_rad: Points) -> Points:
        """Centres of all discs of pieces at ``centres_mm`` (..., 2) turned to ``angles_rad`` (...): (..., m, 2)."""
        toward = np.stack((np.cos(angles_rad), np.sin(angles_rad)), axis=-1)
        out: Points = centres_mm[..., None, :] + np.array(self.out_mm)[:, None] * toward[..., None, :]
        return out


def footprint(body_mm: float, handle_reach_mm: float, handle_width_mm: float) -> Footprint:
    """Discs that cover a round body and a strap of ``handle_width_mm`` reaching ``handle_reach_mm`` beyond it.

    The strap ends round. The reach is kept exactly; the discs stand at most 4 % wider than the strap.
    """
    body = body_mm / 2.0
    if handle_reach_mm <= 0.0:
        return Footprint((0.0,), (body,))
    half = min(handle_width_mm / 2.0, body)
    tip = body + handle_reach_mm
    # The strap leaves the body where its edges do; inside there is nothing to cover.
    root = math.sqrt(max(0.0, body**2 - half**2))
    # Discs at the ends and evenly between; each must cover the strap's full width half a pitch to either side.
    radius = half
    for _ in range(20):
        pitch = max(0.0, tip - radius - root) / (_DISCS_IN_A_HANDLE - 1)
        radius = math.hypot(half, pitch / 2.0)
    last = tip - radius
    out = np.linspace(min(root, last), last, _DISCS_IN_A_HANDLE)
    return Footprint((0.0, *map(float, out)), (body, *[radius] * _DISCS_IN_A_HANDLE))


def rings(keep_outs: Sequence[KeepOut]) -> Points:
    """Keep-outs as rows x, y, least distance of ware (k, 3)."""
    found = [(keep.x_mm, keep.y_mm, keep.radius_mm + keep.gap_mm) for keep in keep_outs]
    return np.array(found, dtype=np.float64).reshape(-1, 3)


def least_room_mm(shapes: Sequence[Footprint], places: Points) -> float:
    """Least gap between any two of the pieces, mm; ``places`` (n, 3) are x, y, angle in rad, a shape for each."""
    discs = [shape.discs_mm(place[:2], place[2]) for shape, place in zip(shapes, places, strict=True)]
    if len(discs) < 2:
        return math.inf
    x, y = np.concatenate(discs).T
    owner = np.repeat(np.arange(len(discs)), [len(some) for some in discs])
    radius = np.concatenate([shape.radius_mm for shape in shapes])
    i, j = np.nonzero(owner[:, None] < owner)
    return float((np.hypot(x[i] - x[j], y[i] - y[j]) - radius[i] - radius[j]).min())


def stand_clear(piece: Footprint, centres: Points, angles: Points, floor: Floor, blocked: Points) -> NDArray[np.bool_]:
    """True where a piece (...) lies wholly on the floor and clear of what blocks. The floor is convex: ends suffice."""
    discs = piece.discs_mm(centres, angles)
    clear = np.ones(centres.shape[:-1], dtype=bool)
    for k in (0, len(piece.out_mm) - 1):
        clear &= floor.inset(piece.radius_mm[k]).over_edge_mm(discs[..., k, :]) <= ROUNDING * piece.body_mm
    for x, y, room in blocked:
        for k, radius in enumerate(piece.radius_mm):
            gap2 = (discs[..., k, 0] - x) ** 2 + (discs[..., k, 1] - y) ** 2
            clear &= gap2 >= ((room + radius) * (1.0 - ROUNDING)) ** 2
    return clear
