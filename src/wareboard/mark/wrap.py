"""From the curved wall to flat paper and back.

A wall of revolution has two co-ordinates in which small shapes keep their shape: the angle round the piece, and the running
sum of (distance up the wall / radius). Written as one complex number w, every flat map that is true in shape is an analytic
function f(w), and its scale on the wall is |f'(w)| / radius. So we choose the logarithm of f' as a polynomial that meets
the logarithm of the radius as nearly as it can. By Chebyshev's theorem the spread of scale is least when they meet all
round the edge of the patch; half of that and half of the closest fit within makes both the worst and the mean small. On a
cylinder, a cone or a flat ring the logarithm of the radius is a straight line in w; the polynomial meets it everywhere and
the paper neither stretches nor creases: the unrolling is exact.

Angles are kept and lengths give: letters keep their look. A map free to bend angles too could make the worst length error
of a small round patch at best a third smaller.

Source: milnor-1969 (Chebyshev's theorem and its proof), snyder-1987 (conformal conic and cylindrical maps).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange
from wareboard.mark.wall import Floats, Wall, wall_of

__all__ = ["Patch", "patch", "roll", "unroll", "whole_side"]

Complexes = NDArray[np.complex128]
OFF_WALL_MM = 0.5
DEGREE = 12
EDGE_POINTS = 96
INSIDE = 25  # rows and columns of places inside a patch at which the scale is looked at
REWEIGHTED = 30
# Nodes of the sum that stands for the integral of f' along the way from the middle of the patch.
NODES, WEIGHTS = np.polynomial.legendre.leggauss(24)
NEWTON_STEPS = 50


def unroll(points_mm: ArrayLike, profile: Any, patch: Patch | None = None) -> Floats:
    """Places on flat paper of points on the wall, (n, 2) in mm: to the right as seen from outside, and up the wall.

    A cylinder, cone or frustum is unrolled exactly. On another wall the map is true in shape; `patch` spreads the scale
    least over one part of the wall, and without it the map of the whole side is used, which is rougher.

    Args:
        points_mm: (n, 3) of x, y, z on the wall, z up the centre line from the foot, mm; left alone.
        profile: (n, 2) of (height, radius), mm, or anything with such an ``outer_mm``.
        patch: the part of the wall to flatten; `roll` needs the same one.
    Raises:
        OutOfRange: if the points are no such array, or lie more than half a millimetre off the wall.
    Source: milnor-1969; there and back agree to 1e-9 of the size.
    """
    return (patch or whole_side(profile)).flat_of(points_mm)


def roll(flat_mm: ArrayLike, profile: Any, patch: Patch | None = None) -> Floats:
    """Points on the wall, (n, 3) of x, y, z in mm, of places on flat paper: the inverse of `unroll`.

    Args:
        flat_mm: (n, 2), to the right and up, mm; left alone.
        profile, patch: as given to `unroll`.
    Raises:
        OutOfRange: if a place lies off the wall: past its rim or foot, or more than once round.
    """
    return (patch or whole_side(profile)).wall_of(flat_mm)


@dataclass(frozen=True, eq=False)
class Patch:
    """One part of the wall with its flat map.

    It runs from ``low_mm`` to ``high_mm`` along the wall from the standing edge, and ``half_angle`` (radians) to either side
    of its centre line at ``centre_angle``. The middle of the patch lies at (0, ``middle_mm``) on the paper and its centre
    line runs straight up. ``exact`` says that the paper lies on this part without stretching.
    """

    wall: Wall
    low_mm: float
    high_mm: float
    centre_angle: float
    half_angle: float
    middle_mm: float
    coefficients: tuple[float, ...]
    reach: float
    exact: bool

    @cached_property
    def _middle_stretch(self) -> float:
        return float(self.wall.stretch_at(self.middle_mm))

    def co_ordinates_of(self, points_mm: ArrayLike) -> tuple[Floats, Floats]:
        """Distance along the wall, mm, and angle from the centre line, radians, of points (n, 3) on the wall."""
        points = np.array(points_mm, dtype=np.float64)
        if points.ndim != 2 or points.shape[1] != 3 or not np.isfinite(points).all():
            raise OutOfRange(
                f"points on the wall have shape {points.shape}",
                why="they must be finite x, y, z in mm, z up the centre line from the foot",
                mend="Give an array of (n, 3)",
            )
        radii = np.hypot(points[:, 0], points[:, 1])
        along, off = self.wall.nearest(radii, points[:, 2])
        if len(off) and off.max() > OFF_WALL_MM:
            place = int(off.argmax())
            raise OutOfRange(
                f"point at height {points[place, 2]:g} mm and radius {radii[place]:g} mm",
                why=f"it lies {off[place]:.2g} mm off the wall",
                mend="Give points on the outside of this profile, at the same stage",
            )
        turned = np.arctan2(points[:, 1], points[:, 0]) - self.centre_angle
        return along, np.asarray(-np.mod(np.pi - turned, 2 * np.pi) + np.pi)

    def places_at(self, along_mm: ArrayLike, angles: ArrayLike) -> Floats:
        """Points on the wall, (n, 3), at distances along it, mm, and angles from the centre line, radians."""
        along, turn = np.broadcast_arrays(np.asarray(along_mm, float), np.asarray(angles, float) + self.centre_angle)
        radius = self.wall.radius_at_mm(along)
        return np.column_stack([radius * np.cos(turn), radius * np.sin(turn), self.wall.height_at_mm(along)])

    def flat_at(self, along_mm: ArrayLike, angles: ArrayLike) -> Floats:
        """Places on the paper, (n, 2), of distances along the wall, mm, and angles from the centre line, radians."""
        w = self.wall.stretch_at(along_mm) - self._middle_stretch + 1j * np.asarray(angles, float)
        z = self._f(np.atleast_1d(w))
        return np.column_stack([z.imag, z.real + self.middle_mm])

    def scale_at(self, along_mm: ArrayLike, angles: ArrayLike) -> Floats:
        """Paper mm for each mm on the wall: 1 everywhere where the patch is exact."""
        w = self.wall.stretch_at(along_mm) - self._middle_stretch + 1j * np.asarray(angles, float)
        return np.asarray(np.exp(self._log_f1(w).real) / self.wall.radius_at_mm(along_mm))

    def flat_of(self, points_mm: ArrayLike) -> Floats:
        """See `unroll`."""
        return self.flat_at(*self.co_ordinates_of(points_mm))

    def along_and_angle_of(self, flat_mm: ArrayLike) -> tuple[Floats, Floats]:
        """Distance along the wall, mm, and angle from the centre line, radians, of places (n, 2) on the paper."""
        flat = np.array(flat_mm, dtype=np.float64)
        if flat.ndim != 2 or flat.shape[1] != 2 or not np.isfinite(flat).all():
            raise OutOfRange(
                f"places on the paper have shape {flat.shape}",
                why="they must be finite pairs in mm, to the right and up",
                mend="Give an array of (n, 2)",
            )
        w = self._inverse(flat[:, 1] - self.middle_mm + 1j * flat[:, 0])
        along, slack = self.wall.along_of_stretch(w.real + self._middle_stretch), 1e-6 * self.wall.length_mm
        outside = (along < self.wall.along_mm[0] - slack) | (along > self.wall.length_mm + slack)
        outside |= ~np.isfinite(along) | (np.abs(w.imag) > np.pi + 1e-9)
        if outside.any():
            place = flat[int(outside.argmax())]
            raise OutOfRange(
                f"place ({place[0]:g}, {place[1]:g}) mm on the paper",
                why="it lies past the rim or the foot, or more than half way round from the centre line",
                mend="Make the drawing smaller or move it",
            )
        return np.clip(along, self.wall.along_mm[0], self.wall.length_mm), w.imag

    def wall_of(self, flat_mm: ArrayLike) -> Floats:
        """See `roll`."""
        return self.places_at(*self.along_and_angle_of(flat_mm))

    def _log_f1(self, w: Complexes) -> Complexes:
        return np.asarray(np.polynomial.polynomial.polyval(w / self.reach, np.array(self.coefficients)))

    def _f(self, w: Complexes) -> Complexes:
        if len(self.coefficients) == 2:
            size, lean = np.exp(self.coefficients[0]), self.coefficients[1] / self.reach
            return np.asarray(size * (w if lean == 0 else np.expm1(lean * w) / lean))
        on_the_way = w[:, None] * (NODES + 1.0) / 2.0
        return np.asarray((np.exp(self._log_f1(on_the_way)) * WEIGHTS).sum(axis=1) * w / 2.0)

    def _inverse(self, z: Complexes) -> Complexes:
        size, lean = np.exp(self.coefficients[0]), self.coefficients[1] / self.reach
        with np.errstate(invalid="ignore", divide="ignore"):
            w = np.asarray(z / size if lean == 0 else _log1p(lean * z / size) / lean)
        if len(self.coefficients) == 2:
            return w
        furthest = 2.0 * self.reach
        for _ in range(NEWTON_STEPS):
            step = (self._f(w) - z) * np.exp(-self._log_f1(w))
            # A long step is cut short, so that the polynomial is never asked for far outside its patch.
            step *= np.minimum(1.0, self.reach / 4.0 / np.maximum(np.abs(step), 1e-300))
            w = w - step
            w = w * np.minimum(1.0, furthest / np.maximum(np.abs(w), 1e-300))
            if not len(step) or np.abs(step).max() < 1e-14 * self.reach:
                break
        missed = np.abs(self._f(w) - z) > 1e-9 * (np.abs(z) + size * self.reach)
        return np.asarray(np.where(missed, np.nan, w))


def whole_side(profile: Any, centre_deg: float = 0.0) -> Patch:
    """The map of the whole side, all the way round: exact where one straight run makes up at least half of the side.

    Elsewhere the cone (or cylinder) whose map is true in shape and nearest to the wall in scale, by least squares over the
    wall's area. A rounded lip at the top of a straight side does not spoil the side.

    Source: snyder-1987, conformal conic map, taken over to any wall of revolution.
    """
    wall = wall_of(profile)
    low, high = max(wall.straight_runs(), key=lambda run: run[1] - run[0])
    if high - low >= 0.5 * wall.length_mm:
        return _on_a_run(wall, low, high, np.radians(centre_deg), np.pi)
    along = np.linspace(wall.along_mm[0], wall.length_mm, 400)
    middle = float(wall.along_mm[0] + wall.length_mm) / 2
    stretch = wall.stretch_at(along) - float(wall.stretch_at(middle))
    lean, size = np.polyfit(stretch, np.log(wall.radius_at_mm(along)), 1, w=np.sqrt(wall.radius_at_mm(along)))
    ends = float(wall.along_mm[0]), wall.length_mm
    return Patch(wall, *ends, np.radians(centre_deg), np.pi, middle, (float(size), float(lean)), 1.0, False)


def patch(profile: Any, low_mm: float, high_mm: float, half_width_mm: float, centre_deg: float = 0.0) -> Patch:
    """One part of the wall with the map that is true in shape and spreads the scale least.

    Args:
        profile: (n, 2) of (height, radius), mm, or anything with such an ``outer_mm``.
        low_mm, high_mm: lower and upper edge, as distances on the wall up from the standing edge, mm.
        half_width_mm: half of the width, measured round the wall half way up the patch, mm.
        centre_deg: where its centre line stands, degrees anticlockwise seen from above, 0 along x.
    Raises:
        OutOfRange: if the edges are not on the wall in that order, or the patch would go more than once round.
    Source: milnor-1969, Chebyshev's theorem, for the edge; a polynomial of twelfth degree, least squares and least sixth
        powers. On four walls worst area errors came out below those of levy-2002, mean
        ones no more than half a per cent of themselves above.
    """
    wall = wall_of(profile)
    first, last = float(wall.along_mm[0]), wall.length_mm
    if not (first - 1e-6 <= low_mm < high_mm <= last + 1e-6):
        raise OutOfRange(
            f"patch runs from {low_mm:g} to {high_mm:g} mm along the wall",
            why=f"the wall runs from {first:g} to {last:g} mm, measured on it from the standing edge",
            mend="Make the mark smaller, or move it off the foot and the rim",
        )
    low, high = max(low_mm, first), min(high_mm, last)
    half_angle = half_width_mm / float(wall.radius_at_mm((low + high) / 2))
    if not 0 < half_angle <= np.pi + 1e-9:
        raise OutOfRange(
            f"patch is {2 * half_width_mm:g} mm wide",
            why=f"the wall is {2 * np.pi * half_width_mm / half_angle if half_angle else 0:g} mm round at that height",
            mend="Give half of a width above 0 that does not go more than once round",
        )
    for run_low, run_high in wall.straight_runs():
        if run_low - 1e-6 <= low and high <= run_high + 1e-6:
            return _on_a_run(wall, low, high, np.radians(centre_deg), half_angle)
    return _least_spread(wall, low, high, np.radians(centre_deg), half_angle)


def _on_a_run(wall: Wall, low: float, high: float, centre: float, half_angle: float) -> Patch:
    """The exact unrolling of a straight run: the logarithm of the radius is a straight line in the stretch."""
    radii = wall.radius_at_mm([low, high])
    middle, lean = (low + high) / 2, float((radii[1] - radii[0]) / (high - low))
    size = float(np.log(radii.mean()))
    return Patch(wall, low, high, float(centre), float(half_angle), middle, (size, lean), 1.0, True)


def _log1p(z: Complexes) -> Complexes:
    """log(1 + z), true also for the smallest z: a library's complex logarithm of 1 + z loses its real part there."""
    near = 0.5 * np.log1p(np.where(np.abs(z) < 0.5, 2 * z.real + np.abs(z) ** 2, 0.0))
    return np.asarray(np.where(np.abs(z) < 0.5, near, np.log(np.abs(1 + z))) + 1j * np.angle(1 + z))


def _least_spread(wall: Wall, low: float, high: float, centre: float, half_angle: float) -> Patch:
    middle = (low + high) / 2
    middle_stretch = float(wall.stretch_at(middle))
    edge_along, edge_angle = edge_of(low, high, half_angle)
    grid = np.meshgrid(np.linspace(low, high, INSIDE), np.linspace(-half_angle, half_angle, INSIDE), indexing="ij")
    along, angle = grid[0].ravel(), grid[1].ravel()
    edge: Complexes = wall.stretch_at(edge_along) - middle_stretch + 1j * edge_angle
    inside: Complexes = wall.stretch_at(along) - middle_stretch + 1j * angle
    reach = float(np.abs(edge).max())
    even = _fitted(edge / reach, np.log(wall.radius_at_mm(edge_along)), power=2)
    close = _fitted(inside / reach, np.log(wall.radius_at_mm(along)), power=6)
    # Same scale all round the edge makes the worst error least; closest within makes the usual one small. Half of each.
    found = (even + close) / 2
    rough = Patch(wall, low, high, float(centre), float(half_angle), middle, tuple(found.tolist()), reach, False)
    # The size is free: the middle of the range makes the worst length error smallest.
    spread = np.log(rough.scale_at(along, angle))
    found[0] -= (spread.max() + spread.min()) / 2
    return Patch(wall, low, high, float(centre), float(half_angle), middle, tuple(found.tolist()), reach, False)


def _fitted(w: Complexes, wanted: Floats, power: int) -> Floats:
    """Coefficients of the real polynomial whose real part misses ``wanted`` least in the mean of that power."""
    powers = (w[:, None] ** np.arange(DEGREE + 1)).real
    weight = np.ones(len(w))
    found = np.linalg.lstsq(powers, wanted, rcond=1e-12)[0]
    for _ in range(0 if power == 2 else REWEIGHTED):
        missed = np.abs(powers @ found - wanted)
        # Damped, so that the weights settle instead of swinging.
        weight = 0.6 * weight + 0.4 * np.maximum(missed / max(missed.max(), 1e-300), 1e-4) ** (power - 2)
        root = np.sqrt(weight)[:, None]
        found = np.linalg.lstsq(powers * root, wanted * root[:, 0], rcond=1e-12)[0]
    return np.asarray(found, dtype=np.float64)


def edge_of(low_mm: float, high_mm: float, half_angle: float) -> tuple[Floats, Floats]:
    """Distance along the wall and angle of points round the edge of a patch, closest together at its corners, once round."""
    part = (1 - np.cos(np.linspace(0, np.pi, EDGE_POINTS + 1)[:-1])) / 2
    up, across = low_mm + (high_mm - low_mm) * part, half_angle * (2 * part - 1)
    along = np.concatenate([np.full_like(part, low_mm), up, np.full_like(part, high_mm), (low_mm + high_mm) - up])
    angle = np.concatenate([across, np.full_like(part, half_angle), -across, np.full_like(part, -half_angle)])
    return along, angle
