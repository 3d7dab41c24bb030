"""What a pinhole camera shows of a turned piece, and back: from its outline to the radius that every ring may have.

Lengths are in heights of the piece until the height is known; places in the picture are in dots.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.form.axis import Axis
from wareboard.form.curve import Floats

RINGS, TURNS, HALVINGS = 161, 72, 26


@dataclass(frozen=True, slots=True)
class View:
    """Where the camera stood: distance from the axis and height over the table, in heights of the piece.

    ``pitch`` is how far its lens looks down, radians, at row 0 of the picture; ``focal`` is in dots.
    """

    distance: float
    height: float
    pitch: float
    focal: float

    @property
    def rim_seen(self) -> float:
        """Angle from above at which the middle of the rim is seen, radians; below 0 where the camera stood lower."""
        return math.atan2(self.height - 1.0, self.distance)

    def seen(self, radii: Floats | float, heights: Floats | float, turn: Floats) -> tuple[Floats, Floats]:
        """(sideways, v) in dots of points of rings; turn 0 to the side, a quarter turn towards the camera.

        Source: pinhole projection (Hartley and Zisserman, Multiple View Geometry, 2004, chapter 6; from memory).
        """
        along = self.distance - radii * np.sin(turn)
        up = heights - self.height
        depth = along * math.cos(self.pitch) - up * math.sin(self.pitch)
        rise = along * math.sin(self.pitch) + up * math.cos(self.pitch)
        return self.focal * radii * np.cos(turn) / depth, -self.focal * rise / depth

    def past(self, sideways: float, v: float, heights: Floats) -> Floats:
        """Distance from the axis, in heights of the piece, of the line of sight through a place, at each height."""
        sine, cosine = math.sin(self.pitch), math.cos(self.pitch)
        along, up = self.focal * cosine - v * sine, -self.focal * sine - v * cosine
        far = (heights - self.height) / up
        return np.hypot(far * sideways, self.distance - far * along)

    def on_the_plane(self, sideways: Floats, v: Floats) -> tuple[Floats, Floats]:
        """(height, distance from the axis) in heights, of places on the plane through the axis, square to the camera."""
        ratio = -v / self.focal
        sine, cosine = math.sin(self.pitch), math.cos(self.pitch)
        up = self.distance * (ratio * cosine - sine) / (cosine + ratio * sine)
        depth = self.distance * cosine - up * sine
        return up + self.height, sideways * depth / self.focal


@dataclass(frozen=True, slots=True, eq=False)
class Facing:
    """The picture as a lens would show it that looks straight at the piece, its axis upright.

    A piece away from the middle of a picture is drawn out aslant; turning the camera about its own place undoes that.

    Source: a pinhole camera turned about its own place maps its picture by a homography (Hartley and Zisserman, 2004,
        section 8.4; from memory).
    """

    turn: Floats  # (3, 3): the rows are sideways, down and ahead
    middle: Floats  # (2,) of the picture, where its lens looks
    focal: float

    def on(self, places: Floats) -> tuple[Floats, Floats]:
        """(sideways, v) in dots from the piece's own middle, of (…, 2) places in the picture."""
        rays = np.concatenate([places - self.middle, np.full((*places.shape[:-1], 1), self.focal)], axis=-1)
        seen = rays @ self.turn.T
        return self.focal * seen[..., 0] / seen[..., 2], self.focal * seen[..., 1] / seen[..., 2]

    def back(self, sideways: Floats, v: Floats) -> Floats:
        """(…, 2) places in the picture of (sideways, v)."""
        rays = np.stack([sideways, v, np.full_like(sideways, self.focal)], axis=-1) @ self.turn
        found: Floats = self.focal * rays[..., :2] / rays[..., 2:] + self.middle
        return found


@dataclass(frozen=True, slots=True, eq=False)
class FacedAxis:
    """The axis of the piece in the picture as seen straight on, where both of its sides are truly alike."""

    seen: Facing
    axis: Axis

    def places(self, r: Floats, v: Floats) -> Floats:
        """(…, 2) places in the picture itself of points beside the axis; r is below 0 on its left."""
        straight = self.axis.places(r, v)
        return self.seen.back(straight[..., 0], straight[..., 1])

    def moved(self, shift: float, slope: float) -> FacedAxis:
        """As `Axis.moved`, in the picture as seen straight on."""
        return FacedAxis(self.seen, self.axis.moved(shift, slope))


def facing(left: Floats, right: Floats, middle: Floats, focal: float) -> Facing:
    """The view that looks at the middle between the two sides of an outline, (n, 2) each from top to bottom."""
    straight = Facing(np.eye(3), middle, focal)
    rays = [np.column_stack([*straight.on(each), np.full(len(each), focal)]) for each in (left, right)]
    centre = np.concatenate(rays).mean(axis=0)
    ahead = centre / np.linalg.norm(centre)
    axis = rays[0][-1] + rays[1][-1] - rays[0][0] - rays[1][0]
    down = axis - (axis @ ahead) * ahead
    down /= np.linalg.norm(down)
    return Facing(np.array([np.cross(down, ahead), down, ahead]), middle, focal)


def half_widths(r: Floats, v: Floats, rows: int = 1200) -> tuple[Floats, Floats]:
    """(v, half width) by rows of the picture, of a half line."""
    at = np.linspace(float(v.min()), float(v.max()), rows)
    order = np.maximum.accumulate(v)
    keep = np.concatenate([[True], np.diff(order) > 1e-9])
    wide: Floats = np.interp(at, order[keep], r[keep])
    return at, wide


def radii_seen(view: View, rows: Floats, widths: Floats, heights: Floats) -> Floats:
    """Largest radius that each ring may have without showing outside of the outline, in heights of the piece.

    Where a belly hides what is under it, this is the line of sight that runs past both, and the piece itself is narrower.

    Args:
        view: of the camera.
        rows, widths: (m,) of the outline, from `half_widths`.
        heights: (n,) of the rings, 0 at the foot to 1 at the rim.
    Source: a piece of revolution is the union of its discs, and every disc shows within the outline (visual hull:
        A. Laurentini, 1994).
    """
    turn = np.linspace(-math.pi / 2, math.pi / 2, TURNS)
    z = heights[:, None]
    step = rows[1] - rows[0]

    def fits(radii: Floats) -> NDArray[np.bool_]:
        sideways, v = view.seen(radii[:, None], z, turn)
        allowed = np.interp(v, rows, widths, left=-1.0, right=-1.0)
        # Straight towards and away from the camera a ring only has to stay between top and bottom.
        ends = np.where((v >= rows[0] - step) & (v <= rows[-1] + step), 1e9, -1.0)
        room = np.where(np.abs(sideways) < 1e-6 * view.focal, ends, allowed - sideways)
        return np.asarray((room >= 0).all(axis=1))

    low, high = np.zeros_like(heights), np.full_like(heights, 0.9 * view.distance)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        good = fits(middle)
        low, high = np.where(good, middle, low), np.where(good, high, middle)
    return low
