"""Kiln shelves seen from above: outline, room for centres, area. Lengths in mm, middle of the shelf at the origin.

Every shelf is a convex piece of floor: a disc, cut by straight sides, or both. That one description serves counting,
packing and drawing alike. The half shelves have the middle of their straight edge at the origin.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.reference import default

Points = NDArray[np.float64]

_ROUND_IN = 360  # straight pieces that a round edge is drawn in


def _usual_thickness_mm() -> float:
    return default("kiln.shelf_thickness_mm").value


def refuse_unless_positive(name: str, value: float, *, zero_too: bool = False) -> None:
    """Nothing, or an `OutOfRange` that names the length: it must be finite, and above 0 (or 0 where ``zero_too``)."""
    if not math.isfinite(value) or value < 0.0 or (value == 0.0 and not zero_too):
        least = "0 or more" if zero_too else "above 0"
        raise OutOfRange(f"{name} is {value:g} mm", why=f"it must be a finite length, {least}", mend="Measure it in mm")


@dataclass(frozen=True, slots=True, eq=False)
class Floor:
    """A convex piece of floor: a disc of ``radius_mm`` (inf if none) cut by ``sides`` (m, 3).

    A side is (nx, ny, reach): the points with nx x + ny y <= reach, (nx, ny) of length 1.
    """

    radius_mm: float
    sides: Points

    def inset(self, by_mm: float) -> Floor:
        """The floor with ``by_mm`` taken off along every edge: where centres may stand. It may hold nothing."""
        sides = self.sides.copy()
        sides[:, 2] -= by_mm
        return Floor(self.radius_mm - by_mm, sides)

    def over_edge_mm(self, points_mm: Points) -> Points:
        """How far each point (..., 2) lies outside the floor, mm; 0 or less is inside. The input is left alone."""
        over = np.full(points_mm.shape[:-1], -np.inf)
        if math.isfinite(self.radius_mm):
            over = np.hypot(points_mm[..., 0], points_mm[..., 1]) - self.radius_mm
        for nx, ny, reach in self.sides:
            over = np.maximum(over, nx * points_mm[..., 0] + ny * points_mm[..., 1] - reach)
        return over

    def outline_mm(self, *, outside: bool = False) -> Points:
        """The edge as a closed polygon (n, 2), anticlockwise; empty if the floor holds nothing.

        A round edge is drawn in short chords, or, where ``outside``, in tangents, so that area and perimeter are never
        too small.
        """
        if math.isfinite(self.radius_mm):
            radius = self.radius_mm / (math.cos(math.pi / _ROUND_IN) if outside else 1.0)
            if radius < 0.0:
                return np.empty((0, 2))
            angles = 2.0 * math.pi * np.arange(_ROUND_IN) / _ROUND_IN
            edge = radius * np.column_stack((np.cos(angles), np.sin(angles)))
        else:
            far = 4.0 * float(np.abs(self.sides[:, 2]).max()) + 1.0
            edge = far * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
        for nx, ny, reach in self.sides:
            edge = _cut(edge, nx, ny, reach)
        return edge

    def area_mm2(self) -> float:
        """Area, mm2; for a whole disc exact, with cut discs at most 0.01 % too large, never too small."""
        if not len(self.sides):
            return math.pi * max(0.0, self.radius_mm) ** 2
        edge = self.outline_mm(outside=True)
        if len(edge) < 3:
            return 0.0
        x, y = edge.T
        return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2.0

    def perimeter_mm(self) -> float:
        """Length of the edge, mm; as exact as the area."""
        if not len(self.sides):
            return 2.0 * math.pi * max(0.0, self.radius_mm)
        edge = self.outline_mm(outside=True)
        return float(np.hypot(*(np.roll(edge, -1, axis=0) - edge).T).sum()) if len(edge) else 0.0

    def holds_nothing(self) -> bool:
        """True if not even one point lies on the floor (a rounding error of 1e-9 mm is let pass)."""
        if self.radius_mm < -1e-9:
            return True
        return bool(len(self.sides)) and len(self.inset(-1e-9).outline_mm(outside=True)) == 0


def _cut(edge: Points, nx: float, ny: float, reach: float) -> Points:
    """The part of a convex polygon on the near side of one straight line (Sutherland and Hodgman's clipping)."""
    over = nx * edge[:, 0] + ny * edge[:, 1] - reach
    kept: list[Points] = []
    for here, there, a, b in zip(edge, np.roll(edge, -1, axis=0), over, np.roll(over, -1), strict=True):
        if a <= 0.0:
            kept.append(here)
        if (a < 0.0 < b) or (b < 0.0 < a):
            kept.append(here + (there - here) * (a / (a - b)))
    return np.array(kept) if kept else np.empty((0, 2))


class Shelf(Protocol):
    """What every shelf can say of itself."""

    @property
    def thickness_mm(self) -> float:
        """Thickness of the shelf, mm."""

    @property
    def name(self) -> str:
        """What the shelf is, with its size in mm, in words."""

    def floor(self) -> Floor:
        """The shelf's top as a piece of floor."""

    def half(self) -> Shelf:
        """One of the two half shelves that cover the same place."""

    def post_places_mm(self, inset_mm: float) -> Points:
        """Centres of its three posts (3, 2), each ``inset_mm`` in from the edge."""

    def edge_toward_mm(self, angle_deg: float) -> float:
        """Distance from the origin to the edge in one direction, degrees anticlockwise from the right."""


_NO_SIDES = np.empty((0, 3))
_AT_BACK = np.array([(0.0, -1.0, 0.0)])


def _edge_toward_mm(floor: Floor, angle_deg: float) -> float:
    ux, uy = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    reach = floor.radius_mm
    for nx, ny, side in floor.sides:
        toward = nx * ux + ny * uy
        if toward > 1e-12:
            reach = min(reach, side / toward)
    return float(reach)


def _three_round(radius_mm: float) -> Points:
    angles = np.radians((90.0, 210.0, 330.0))
    return radius_mm * np.column_stack((np.cos(angles), np.sin(angles)))


def _three_on_half(reach_mm: float, inset_mm: float) -> Points:
    """Two at the ends of the straight edge, one at the middle of the far side; ``reach_mm`` is already inset."""
    aside = math.sqrt(max(0.0, reach_mm**2 - inset_mm**2))
    return np.array([(-aside, inset_mm), (aside, inset_mm), (0.0, reach_mm)])


@dataclass(frozen=True, slots=True)
class RoundShelf:
    """A whole round shelf."""

    diameter_mm: float
    thickness_mm: float = field(default_factory=_usual_thickness_mm)

    def __post_init__(self) -> None:
        refuse_unless_positive("the shelf's diameter", self.diameter_mm)
        refuse_unless_positive("the shelf's thickness", self.thickness_mm)

    @property
    def name(self) -> str:
        return f"round shelf, {self.diameter_mm:g} mm"

    def floor(self) -> Floor:
        return Floor(self.diameter_mm / 2.0, _NO_SIDES)

    def half(self) -> HalfRoundShelf:
        return HalfRoundShelf(self.diameter_mm, self.thickness_mm)

    def post_places_mm(self, inset_mm: float) -> Points:
        return _three_round(self.diameter_mm / 2.0 - inset_mm)

    def edge_toward_mm(self, angle_deg: float) -> float:
        return _edge_toward_mm(self.floor(), angle_deg)


@dataclass(frozen=True, slots=True)
class HalfRoundShelf:
    """Half of a round shelf of ``diameter_mm``, straight edge along y = 0."""

    diameter_mm: float
    thickness_mm: float = field(default_factory=_usual_thickness_mm)

    def __post_init__(self) -> None:
        refuse_unless_positive("the shelf's diameter", self.diameter_mm)
        refuse_unless_positive("the shelf's thickness", self.thickness_mm)

    @property
    def name(self) -> str:
        return f"half-round shelf, {self.diameter_mm:g} mm"

    def floor(self) -> Floor:
        return Floor(self.diameter_mm / 2.0, _AT_BACK)

    def half(self) -> HalfRoundShelf:
        return self

    def post_places_mm(self, inset_mm: float) -> Points:
        return _three_on_half(self.diameter_mm / 2.0 - inset_mm, inset_mm)

    def edge_toward_mm(self, angle_deg: float) -> float:
        return _edge_toward_mm(self.floor(), angle_deg)


@dataclass(frozen=True, slots=True)
class RectangularShelf:
    """A rectangular shelf, ``width_mm`` along x, ``depth_mm`` along y."""

    width_mm: float
    depth_mm: float
    thickness_mm: float = field(default_factory=_usual_thickness_mm)

    def __post_init__(self) -> None:
        refuse_unless_positive("the shelf's width", self.width_mm)
        refuse_unless_positive("the shelf's depth", self.depth_mm)
        refuse_unless_positive("the shelf's thickness", self.thickness_mm)

    @property
    def name(self) -> str:
        return f"shelf, {self.width_mm:g} × {self.depth_mm:g} mm"

    def floor(self) -> Floor:
        wide, deep = self.width_mm / 2.0, self.depth_mm / 2.0
        return Floor(math.inf, np.array([(1.0, 0.0, wide), (0.0, 1.0, deep), (-1.0, 0.0, wide), (0.0, -1.0, deep)]))

    def half(self) -> RectangularShelf:
        if self.width_mm >= self.depth_mm:
            return RectangularShelf(self.width_mm / 2.0, self.depth_mm, self.thickness_mm)
        return RectangularShelf(self.width_mm, self.depth_mm / 2.0, self.thickness_mm)

    def post_places_mm(self, inset_mm: float) -> Points:
        wide, deep = self.width_mm / 2.0 - inset_mm, self.depth_mm / 2.0 - inset_mm
        if self.width_mm >= self.depth_mm:
            return np.array([(-wide, -deep), (-wide, deep), (wide, 0.0)])
        return np.array([(-wide, -deep), (wide, -deep), (0.0, deep)])

    def edge_toward_mm(self, angle_deg: float) -> float:
        return _edge_toward_mm(self.floor(), angle_deg)


def _eight_sides(across_flats_mm: float) -> Points:
    angles = np.radians(np.arange(0.0, 360.0, 45.0))
    return np.column_stack((np.cos(angles), np.sin(angles), np.full(8, across_flats_mm / 2.0)))


@dataclass(frozen=True, slots=True)
class OctagonalShelf:
    """An eight-sided shelf, flats square to x and y."""

    across_flats_mm: float
    thickness_mm: float = field(default_factory=_usual_thickness_mm)

    def __post_init__(self) -> None:
        refuse_unless_positive("the shelf across its flats", self.across_flats_mm)
        refuse_unless_positive("the shelf's thickness", self.thickness_mm)

    @property
    def name(self) -> str:
        return f"eight-sided shelf, {self.across_flats_mm:g} mm across flats"

    def floor(self) -> Floor:
        return Floor(math.inf, _eight_sides(self.across_flats_mm))

    def half(self) -> HalfOctagonalShelf:
        return HalfOctagonalShelf(self.across_flats_mm, self.thickness_mm)

    def post_places_mm(self, inset_mm: float) -> Points:
        return _three_round(self.across_flats_mm / 2.0 - inset_mm)

    def edge_toward_mm(self, angle_deg: float) -> float:
        return _edge_toward_mm(self.floor(), angle_deg)


@dataclass(frozen=True, slots=True)
class HalfOctagonalShelf:
    """Half of an eight-sided shelf, cut across two flats, straight edge along y = 0."""

    across_flats_mm: float
    thickness_mm: float = field(default_factory=_usual_thickness_mm)

    def __post_init__(self) -> None:
        refuse_unless_positive("the shelf across its flats", self.across_flats_mm)
        refuse_unless_positive("the shelf's thickness", self.thickness_mm)

    @property
    def name(self) -> str:
        return f"half of an eight-sided shelf, {self.across_flats_mm:g} mm across flats"

    def floor(self) -> Floor:
        return Floor(math.inf, np.vstack((_eight_sides(self.across_flats_mm), _AT_BACK)))

    def half(self) -> HalfOctagonalShelf:
        return self

    def post_places_mm(self, inset_mm: float) -> Points:
        return _three_on_half(self.across_flats_mm / 2.0 - inset_mm, inset_mm)

    def edge_toward_mm(self, angle_deg: float) -> float:
        return _edge_toward_mm(self.floor(), angle_deg)
