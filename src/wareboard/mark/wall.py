"""The outside of a piece of revolution as a wall to lay a drawing on: distance along it, radius, height.

A wall comes in as plain (height, radius) pairs and is taken as it is drawn: a stack of straight runs, each a piece of a
cone, a cylinder or a flat ring. On each of them every figure here is in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange

Floats = NDArray[np.float64]
SAME_MM = 1e-9
STRAIGHT = 1e-9  # sine of the turn below which two steps of the wall are one straight run
# A wall that comes to a point is cut off this share of its last step before it, where an angle still means something.
POINTED = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """The outside from the standing edge to the rim.

    ``heights_mm`` and ``radii_mm`` are the corners; ``along_mm`` is the distance on the wall from the standing edge to each;
    ``stretch`` is the running sum of (distance on the wall / radius), the second of the two co-ordinates (with the angle) in
    which the wall's own map is true in shape.
    """

    heights_mm: Floats
    radii_mm: Floats
    along_mm: Floats
    stretch: Floats

    @property
    def length_mm(self) -> float:
        """Distance on the wall from the standing edge to the rim."""
        return float(self.along_mm[-1])

    def height_at_mm(self, along_mm: ArrayLike) -> Floats:
        """Height above the foot at a distance along the wall."""
        return np.asarray(
            np.interp(np.asarray(along_mm, dtype=np.float64), self.along_mm, self.heights_mm), dtype=np.float64
        )

    def radius_at_mm(self, along_mm: ArrayLike) -> Floats:
        """Radius at a distance along the wall."""
        return np.asarray(
            np.interp(np.asarray(along_mm, dtype=np.float64), self.along_mm, self.radii_mm), dtype=np.float64
        )

    def along_at_mm(self, height_mm: float) -> float:
        """Distance along the wall at which a height is first reached, mm from the standing edge.

        Raises:
            OutOfRange: if the wall does not reach that height.
        """
        low, high = float(self.heights_mm.min()), float(self.heights_mm.max())
        if not (np.isfinite(height_mm) and low - 1e-6 <= height_mm <= high + 1e-6):
            raise OutOfRange(
                f"height is {height_mm:g} mm",
                why=f"this wall runs from {low:g} to {high:g} mm",
                mend="Give a height on the wall",
            )
        place = int(np.argmax(self.heights_mm >= height_mm - 1e-6))
        if place == 0:
            return float(self.along_mm[0])
        between = self.heights_mm[place - 1 : place + 1]
        return float(np.interp(height_mm, between, self.along_mm[place - 1 : place + 1]))

    def stretch_at(self, along_mm: ArrayLike) -> Floats:
        """The stretch co-ordinate at a distance along the wall.

        Source: integral of ds / r over a frustum, closed form: ln(r / r0) / sine of its lean.
        """
        along = np.asarray(along_mm, dtype=np.float64)
        step, start = self._step(along)
        return np.asarray(self.stretch[step] + _stretch(along - start, self.radii_mm[step], self._lean(step)))

    def along_of_stretch(self, stretch: ArrayLike) -> Floats:
        """Distance along the wall at a stretch co-ordinate; the inverse of `stretch_at`, carried on past both ends."""
        wanted = np.asarray(stretch, dtype=np.float64)
        step = np.clip(np.searchsorted(self.stretch, wanted, side="right") - 1, 0, len(self.along_mm) - 2)
        lean, radius, rise = self._lean(step), self.radii_mm[step], wanted - self.stretch[step]
        # expm1(x) / x is 1 at x = 0, which is the cylinder.
        power = lean * rise
        grown = np.where(np.abs(power) > 0, np.expm1(power) / np.where(power == 0, 1.0, power), 1.0)
        return np.asarray(self.along_mm[step] + radius * rise * grown)

    def nearest(self, radii_mm: Floats, heights_mm: Floats) -> tuple[Floats, Floats]:
        """Distance along the wall of its nearest place to each (radius, height), and how far off that place is, mm."""
        start = np.column_stack([self.radii_mm[:-1], self.heights_mm[:-1]])
        step = np.diff(np.column_stack([self.radii_mm, self.heights_mm]), axis=0)
        length = np.hypot(*step.T)
        way = step / length[:, None]
        gap = np.column_stack([radii_mm, heights_mm])[:, None, :] - start
        part = np.clip((gap * way).sum(axis=2), 0.0, length)
        off = np.hypot(*np.moveaxis(gap - part[..., None] * way, -1, 0))
        best = off.argmin(axis=1)
        rows = np.arange(len(best))
        return self.along_mm[best] + part[rows, best], off[rows, best]

    def straight_runs(self) -> list[tuple[float, float]]:
        """Every straight run as (from, to) along the wall, mm, from the foot up."""
        step = np.column_stack([np.diff(self.heights_mm), np.diff(self.radii_mm)]) / np.diff(self.along_mm)[:, None]
        turn = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
        onward = (step[:-1] * step[1:]).sum(axis=1) > 0
        bends = np.flatnonzero((np.abs(turn) > STRAIGHT) | ~onward) + 1
        ends = [0, *bends.tolist(), len(self.along_mm) - 1]
        return [(float(self.along_mm[a]), float(self.along_mm[b])) for a, b in pairwise(ends)]

    def _step(self, along: Floats) -> tuple[NDArray[np.intp], Floats]:
        step = np.clip(np.searchsorted(self.along_mm, along, side="right") - 1, 0, len(self.along_mm) - 2)
        return step, self.along_mm[step]

    def _lean(self, step: NDArray[np.intp]) -> Floats:
        """Radius gained for each mm along the wall: the sine of the lean from upright."""
        return np.asarray(np.diff(self.radii_mm) / np.diff(self.along_mm))[step]


def _stretch(distance: Floats, radius: Floats, lean: Floats) -> Floats:
    grown = lean * distance / radius
    # log1p(x) / x is 1 at x = 0, which is the cylinder.
    return distance / radius * np.where(grown == 0, 1.0, np.log1p(grown) / np.where(grown == 0, 1.0, grown))


def wall_of(profile: Any) -> Wall:
    """The outside wall of a piece.

    Args:
        profile: (n, 2) of (height, radius), mm, from the foot up to the rim, or anything with such an ``outer_mm``. An
            underside that comes before the standing edge (the outermost of the lowest points) is left away.
    Raises:
        OutOfRange: if it is no such line.
    """
    if isinstance(profile, Wall):
        return profile
    line = np.array(getattr(profile, "outer_mm", profile), dtype=np.float64)
    if line.ndim != 2 or line.shape[1] != 2 or len(line) < 2 or not np.isfinite(line).all():
        raise OutOfRange(
            f"wall has shape {line.shape}",
            why="it must be two or more finite points of (height, radius)",
            mend="Give one pair for each point, from the foot up to the rim",
        )
    line = (
        line[int(np.flatnonzero(line[:, 0] <= line[:, 0].min() + SAME_MM)[-1]) :] if line[0, 0] < line[-1, 0] else line
    )
    line = line[np.concatenate([[True], np.hypot(*np.diff(line, axis=0).T) > SAME_MM])]
    if len(line) < 2 or (line[1:-1, 1] <= 0).any() or line[:, 1].min() < 0 or line[:, 1].max() <= 0:
        raise OutOfRange(
            "wall touches its own centre line",
            why="a drawing cannot be laid where the radius is 0",
            mend="Give (height, radius) pairs of the outside, with radii above 0",
        )
    lengths = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    for end, inner in ((0, 1), (-1, -2)):
        if line[end, 1] == 0:
            line[end] += POINTED * (line[inner] - line[end])
            along[end] += POINTED * (along[inner] - along[end])
    distance, lean = np.diff(along), np.diff(line[:, 1]) / np.diff(along)
    stretch = np.concatenate([[0.0], np.cumsum(_stretch(distance, line[:-1, 1], lean))])
    for each in (line, along, stretch):
        each.setflags(write=False)
    return Wall(line[:, 0], line[:, 1], along, stretch)
