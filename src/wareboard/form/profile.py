"""The profile of a piece of revolution: its outside and its inside as lines of (height, radius), mm.

Heights are counted from the plane that the piece stands on; both lines end at the same rim height.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats, smooth_through
from wareboard.form.shapes import lid_lines, shape, shapes, side_of
from wareboard.form.wall import inside_of, lipped, without_lip
from wareboard.given import not_negative, positive

__all__ = ["Profile", "from_points", "shape", "shapes", "standard"]

TOUCH_MM = 1e-9


def _line(points: ArrayLike, name: str) -> Floats:
    line = np.array(points, dtype=np.float64)
    if line.ndim != 2 or line.shape[1] != 2 or len(line) < 2:
        raise OutOfRange(
            f"{name} has shape {line.shape}",
            why="it must be two or more points of (height, radius)",
            mend="Give one pair for each point, from the foot up to the rim",
        )
    if not np.isfinite(line).all():
        raise OutOfRange(f"{name} holds a number that is not finite", why="it cannot be drawn", mend="Measure it again")
    if (line[:, 1] < 0).any():
        raise OutOfRange(
            f"{name} has a radius of {line[:, 1].min():g} mm",
            why="a radius is measured out from the centre line and cannot be below 0",
            mend="Give (height, radius), in that order, from the centre line",
        )
    if line[0, 1] > 0:
        line = np.vstack([[line[0, 0], 0.0], line])
    line.setflags(write=False)
    return line


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """A piece of revolution as two lines of (height, radius) in mm.

    ``outer_mm`` runs from the foot's centre line along the underside, over the standing edge and up to the rim;
    ``inner_mm`` from the middle of the inside floor up to the rim. A line that does not begin at the centre line gets a flat
    start to it. The arrays are copies and cannot be written to. ``lip_mm`` is the height over which a rounded lip turns.

    Raises:
        OutOfRange: if a radius is below 0, the outside above its standing edge or the inside runs downhill, the two rims
            differ in height, or the inside comes through the outside.
    """

    outer_mm: Floats
    inner_mm: Floats
    lip_mm: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "outer_mm", _line(self.outer_mm, "outside"))
        object.__setattr__(self, "inner_mm", _line(self.inner_mm, "inside"))
        self._stands_on_nought()
        _rises(self.outer_mm[self.standing :], "outside")
        _rises(self.inner_mm, "inside")
        self._rims_meet()
        self._inside_stays_in()

    @property
    def standing(self) -> int:
        """Place in ``outer_mm`` of the standing edge: the outermost point of the foot."""
        heights = self.outer_mm[:, 0]
        return int(np.flatnonzero(heights <= heights.min() + TOUCH_MM)[-1])

    @property
    def height_mm(self) -> float:
        """Height from the foot to the rim, mm."""
        return float(self.outer_mm[-1, 0])

    @property
    def rim_mm(self) -> float:
        """Outside diameter at the rim, where a caliper sits: the greatest over the height of the lip."""
        heights = self.outer_mm[:, 0]
        return float(2 * self.outer_mm[heights >= self.height_mm - self.lip_mm - TOUCH_MM, 1].max())

    @property
    def foot_mm(self) -> float:
        """Diameter of the standing edge."""
        return float(2 * self.outer_mm[self.standing, 1])

    @property
    def widest_mm(self) -> float:
        """Greatest outside diameter."""
        return float(2 * self.outer_mm[:, 1].max())

    @property
    def floor_mm(self) -> float:
        """Thickness of the clay on the centre line."""
        return float(self.inner_mm[0, 0] - self.outer_mm[0, 0])

    @property
    def depth_mm(self) -> float:
        """Depth of the inside, from the rim to the middle of the floor."""
        return self.height_mm - float(self.inner_mm[0, 0])

    def scaled(self, height_factor: float, width_factor: float) -> Profile:
        """The same form made taller and wider by factors, as from fired to wet (1 / (1 - s) each way).

        Raises:
            OutOfRange: if a factor is not a finite number above 0.
        """
        factors = np.array([positive(height_factor, "height factor"), positive(width_factor, "width factor")])
        return Profile(self.outer_mm * factors, self.inner_mm * factors, self.lip_mm * height_factor)

    def radius_at_mm(self, height_mm: float, inside: bool = False) -> float:
        """Radius of the outside (or inside) at a height above the foot; the outermost where a step lies at that height.

        Raises:
            OutOfRange: below the standing edge, below the inside floor, or above the rim.
        """
        line = self.inner_mm if inside else self.outer_mm[self.standing :]
        if not line[0, 0] - TOUCH_MM <= height_mm <= line[-1, 0] + TOUCH_MM:
            raise OutOfRange(
                f"height is {height_mm:g} mm",
                why=f"this line runs from {line[0, 0]:g} to {line[-1, 0]:g} mm",
                mend="Give a height on the piece",
            )
        at = line[np.abs(line[:, 0] - height_mm) <= TOUCH_MM]
        if len(at):
            return float(at[:, 1].max())
        return float(np.interp(height_mm, line[:, 0], line[:, 1]))

    def wall_at_mm(self, height_mm: float) -> float:
        """Thickness of the wall measured square to the outside, from the outside at that height to the nearest inside.

        Raises:
            OutOfRange: if the height is not on the outside.
        """
        point = np.array([height_mm, self.radius_at_mm(height_mm)])
        start, step = self.inner_mm[:-1], np.diff(self.inner_mm, axis=0)
        lengths = (step**2).sum(axis=1)
        part = ((point - start) * step).sum(axis=1) / np.where(lengths > 0, lengths, 1.0)
        nearest = start + np.clip(part, 0.0, 1.0)[:, None] * step
        return float(np.hypot(*(nearest - point).T).min())

    def _stands_on_nought(self) -> None:
        lowest = float(self.outer_mm[:, 0].min())
        if abs(lowest) > 1e-6:
            raise OutOfRange(
                f"lowest point of the outside is at {lowest:g} mm",
                why="heights are counted from the plane that the piece stands on",
                mend="Take that height off every point",
            )

    def _rims_meet(self) -> None:
        outer, inner = self.outer_mm[-1], self.inner_mm[-1]
        if abs(outer[0] - inner[0]) > 1e-6:
            raise OutOfRange(
                f"outside ends at {outer[0]:g} mm and inside at {inner[0]:g} mm",
                why="both lines end at the rim",
                mend="Carry both up to the same height",
            )

    def _inside_stays_in(self) -> None:
        outer, inner = self.outer_mm[self.standing :], self.inner_mm
        underside = self.outer_mm[: self.standing + 1]
        if inner[0, 0] <= underside[:, 0].max():
            raise OutOfRange(
                f"inside floor is at {inner[0, 0]:g} mm",
                why=f"the underside reaches up to {underside[:, 0].max():g} mm, so the floor has no clay",
                mend="Raise the floor or turn the foot less deep",
            )
        # Each line is looked at where the other bends as well; the very rim may come to an edge.
        heights = np.unique(np.concatenate([outer[:, 0], inner[:, 0]]))
        heights = heights[(heights >= inner[0, 0]) & (heights < outer[-1, 0] - 1e-6)]
        walls = _least_at(outer, heights) - _greatest_at(inner, heights)
        if len(walls) and walls.min() <= 0:
            place = float(heights[walls.argmin()])
            raise OutOfRange(
                f"inside comes through the outside at {place:g} mm",
                why=f"the wall there is {walls.min():g} mm",
                mend="Make the wall thinner, the form wider, or check that the two lines were not changed over",
            )


def _rises(line: Floats, name: str) -> None:
    falls = np.flatnonzero(np.diff(line[:, 0]) < -TOUCH_MM)
    if len(falls):
        place = line[falls[0]]
        raise OutOfRange(
            f"{name} runs downhill after {place[0]:g} mm",
            why="from the foot to the rim each point must be as high as the one before, or higher",
            mend="Put the points in order from the foot upwards",
        )


def _least_at(line: Floats, heights: Floats) -> Floats:
    """Smallest radius of a rising line at each height, where a level step has several."""
    return -_greatest_at(np.column_stack([line[:, 0], -line[:, 1]]), heights)


def _greatest_at(line: Floats, heights: Floats) -> Floats:
    """Greatest radius of a rising line at each height, where a level step has several."""
    first = np.searchsorted(line[:, 0], heights, side="left")
    last = np.searchsorted(line[:, 0], heights, side="right")
    found: Floats = np.interp(heights, line[:, 0], line[:, 1])
    for place in np.flatnonzero(last > first):
        found[place] = line[first[place] : last[place], 1].max()
    return found


def standard(
    shape_name: str,
    height_mm: float,
    rim_mm: float,
    foot_mm: float | None = None,
    belly_mm: float | None = None,
    wall_mm: float | None = None,
    floor_mm: float | None = None,
    foot_ring_mm: float | None = None,
    neck_mm: float | None = None,
    rim_wall_mm: float | None = None,
    rounded_lip: bool = True,
    points: int = 64,
) -> Profile:
    """Profile of a usual shape from a few sizes, fired; what is left out takes the shape's usual proportion.

    Height is overall and the rim's diameter the greatest over the lip. The wall is measured square to the surface, the floor
    straight down, from the top of the foot ring's recess. "jug" is the body without its pulled lip; "lid" is drawn as
    it is thrown, top down, its flange up and ``rim_mm`` the diameter of the ledge that rests on the jar.

    Args:
        shape_name: one of `shapes`.
        height_mm, rim_mm: overall height, outside diameter at the rim, mm.
        foot_mm, belly_mm, neck_mm: outside diameters, mm; belly and neck only where the shape has them.
        wall_mm: thickness above the foot, mm; ``rim_wall_mm`` at the rim, where it thins or thickens.
        floor_mm: thickness of the floor, mm.
        foot_ring_mm: height of a turned foot ring, mm; 0 for a flat foot.
        rounded_lip: a half-round lip; False for a rim cut flat.
        points: how finely a curve is drawn.
    Raises:
        NotInTable: if no such shape is kept.
        OutOfRange: if a size cannot be, or the sizes do not go together.
    Source: proportions ``form/shapes``, common practice; curve `smooth_through`.
    """
    usual = shape(shape_name)
    positive(height_mm, "height", "mm")
    positive(rim_mm, "rim", "mm")
    foot = positive(rim_mm * usual.foot_share if foot_mm is None else foot_mm, "foot", "mm")
    belly = positive(max(rim_mm, foot) * usual.belly_share if belly_mm is None else belly_mm, "belly", "mm")
    neck = positive(rim_mm * (usual.neck_share or 1.0) if neck_mm is None else neck_mm, "neck", "mm")
    wall = positive(usual.wall_mm if wall_mm is None else wall_mm, "wall", "mm")
    floor = positive(usual.floor_mm if floor_mm is None else floor_mm, "floor", "mm")
    ring = not_negative(usual.foot_ring_mm if foot_ring_mm is None else foot_ring_mm, "foot ring", "mm")
    if ring + floor >= height_mm:
        raise OutOfRange(
            f"foot ring and floor take {ring + floor:g} mm",
            why=f"the piece is {height_mm:g} mm high and needs some inside",
            mend="Make the floor thinner or the piece taller",
        )
    if shape_name == "lid":
        return Profile(*lid_lines(height_mm, rim_mm, foot, wall, floor, rim_wall_mm or wall, points))

    def side(top_mm: float, mouth_mm: float) -> Floats:
        return side_of(usual, (ring, foot / 2), (top_mm, mouth_mm), belly / 2, neck / 2, points)

    return _built(side, height_mm, rim_mm / 2, foot / 2, ring, wall, rim_wall_mm or wall, floor, rounded_lip)


def from_points(
    points_mm: ArrayLike,
    wall_mm: float,
    floor_mm: float,
    foot_ring_mm: float = 0.0,
    rim_wall_mm: float | None = None,
    rounded_lip: bool = True,
    smooth: bool = True,
    points: int = 96,
) -> Profile:
    """Profile with an even wall inside a given outside, such as one traced from a photograph.

    Args:
        points_mm: (n, 2) of (height, radius) on the outside, from the standing edge up to the rim, mm; left alone.
        wall_mm, rim_wall_mm: thickness square to the surface, above the foot and at the rim, mm.
        floor_mm: thickness of the floor, mm.
        foot_ring_mm: depth of the recess turned into the foot, mm; its side is the outside as given.
        rounded_lip: a half-round lip, which draws the last points in; one that is drawn already is drawn anew. False
            for a rim cut flat.
        smooth: a smooth line through the points; False for straight lines between them.
        points: how finely the smooth line is drawn.
    Raises:
        OutOfRange: if the points are no such line, or the wall does not go inside it.
    """
    given = np.array(points_mm, dtype=np.float64)
    if given.ndim != 2 or given.shape[1] != 2 or len(given) < 2 or not np.isfinite(given).all():
        raise OutOfRange(
            f"outside has shape {given.shape}",
            why="it must be two or more finite points of (height, radius)",
            mend="Give one pair for each point, from the foot up to the rim",
        )
    _rises(given, "outside")
    given = given[np.concatenate([[True], np.hypot(*np.diff(given, axis=0).T) > TOUCH_MM])]
    given[:, 0] -= given[0, 0]
    line = smooth_through(given, points) if smooth and len(given) > 2 else given
    if rounded_lip:
        line = without_lip(line, wall_mm if rim_wall_mm is None else rim_wall_mm)
    height, rim, foot = float(line[-1, 0]), float(line[-1, 1]), float(line[0, 1])
    positive(height, "height", "mm")
    for value, name in ((wall_mm, "wall"), (floor_mm, "floor"), (rim, "rim"), (foot, "foot")):
        positive(value, name, "mm")
    not_negative(foot_ring_mm, "foot ring", "mm")

    def side(top_mm: float, mouth_mm: float) -> Floats:
        # Height and mouth are drawn in together from the foot, so that the curve keeps its character under the lip.
        drawn: Floats = line * np.array([top_mm / height, 1.0])
        drawn[:, 1] += (mouth_mm - rim) * drawn[:, 0] / top_mm
        return drawn

    rim_wall = wall_mm if rim_wall_mm is None else positive(rim_wall_mm, "wall at the rim", "mm")
    return _built(side, height, rim, foot, foot_ring_mm, wall_mm, rim_wall, floor_mm, rounded_lip)


def _built(
    side: Callable[[float, float], Floats],
    height: float,
    rim: float,
    foot: float,
    ring: float,
    wall: float,
    rim_wall: float,
    floor: float,
    rounded_lip: bool,
) -> Profile:
    """Profile from a way of drawing its side up to a given (height, radius), with foot, wall, floor and lip put on."""
    ring_width = min(wall, foot / 2)
    under = [[ring, 0.0], [ring, foot - ring_width], [0.0, foot - ring_width]] if ring else [[0.0, 0.0]]
    if rounded_lip:
        outside, inside, lip = lipped(side, height, rim, wall, rim_wall, ring + floor)
    else:
        outside, lip = side(height, rim), 0.0
        inside = inside_of(outside, wall, rim_wall, ring + floor, cut_at_mm=height)
    if outside[0, 0] > 0 or not ring:
        under.append([0.0, foot])
    return Profile(np.vstack([under, outside if outside[0, 0] > 0 else outside[0 if ring else 1 :]]), inside, lip)
