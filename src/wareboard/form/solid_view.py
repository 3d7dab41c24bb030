"""A solid drawn from one side as flat shaded faces, for a page or a screen that cannot turn it."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np

from wareboard.form.curve import Floats
from wareboard.form.solid import Solid
from wareboard.form.solid_files import STAGE_COLOURS
from wareboard.given import positive

LIGHT = np.array([-0.45, 0.75, 0.6]) / np.linalg.norm([-0.45, 0.75, 0.6])
AMBIENT = 0.42
SIDE = 400.0


def turned(points_mm: Floats, turn_deg: float, tip_deg: float) -> Floats:
    """Points as they are seen: x to the right, y up, z towards the eye.

    Args:
        points_mm: (..., 3), z up; left alone.
        turn_deg: how far the piece is turned to the left; 0 shows the handle on the right.
        tip_deg: how far it is looked at from above: 0 from the side, 90 straight down.
    """
    turn, tip = math.radians(turn_deg), math.radians(tip_deg)
    x = points_mm[..., 0] * math.cos(turn) - points_mm[..., 1] * math.sin(turn)
    away = points_mm[..., 0] * math.sin(turn) + points_mm[..., 1] * math.cos(turn)
    up = points_mm[..., 2] * math.cos(tip) + away * math.sin(tip)
    near = points_mm[..., 2] * math.sin(tip) - away * math.cos(tip)
    return np.stack([x, up, near], axis=-1)


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a turned piece lies in a square picture: the height seen at its middle, and mm across it."""

    middle_mm: float
    wide_mm: float

    def places(self, seen_mm: Floats, side: float = SIDE) -> Floats:
        """(..., 2) places to the right and down in a picture of that side, of points (..., 3) as `turned` gives them."""
        return np.asarray((seen_mm[..., :2] - [0.0, self.middle_mm]) * [1.0, -1.0] * side / self.wide_mm + side / 2)


def frame_of(solid: Solid, tip_deg: float, wide_mm: float | None = None) -> Frame:
    """The frame of a solid tipped so far; all of it is in the picture when its width is left out.

    Raises:
        OutOfRange: if ``wide_mm`` is not a finite number above 0.
    """
    wide = positive(wide_mm or 1.25 * float(np.linalg.norm(solid.size_mm)), "width of the picture", "mm")
    return Frame(float(solid.size_mm[2]) / 2 * math.cos(math.radians(tip_deg)), wide)


def view_svg(
    solid: Solid,
    turn_deg: float = 30.0,
    tip_deg: float = 25.0,
    title: str = "The piece",
    stage: str = "fired",
    wide_mm: float | None = None,
    over: str = "",
) -> str:
    """The solid seen from one side, as SVG with its hidden faces left out and the nearer drawn over the further.

    Args:
        solid: in mm; few faces (`solid` with ``fine=False``) keep the picture small.
        turn_deg, tip_deg: as in `turned`.
        title: for the eye and for a screen reader.
        stage: for the colour of the clay.
        wide_mm: mm of the piece across the picture, so that pieces of several sizes compare; all of it when left out.
        over: SVG drawn over it, in the picture's 400 by 400.
    Raises:
        OutOfRange: if ``wide_mm`` is not a finite number above 0.
    """
    corners = np.vstack([part.points_mm[part.faces] for part in solid.parts])
    seen = turned(corners, turn_deg, tip_deg)
    square = np.cross(seen[:, 1] - seen[:, 0], seen[:, 2] - seen[:, 0])
    long = np.linalg.norm(square, axis=1)
    facing = (square[:, 2] > 1e-6 * long) & (long > 1e-9)
    seen, square = seen[facing], square[facing] / long[facing, None]
    seen, square = (each[np.argsort(seen[:, :, 2].mean(axis=1), kind="stable")] for each in (seen, square))
    frame = frame_of(solid, tip_deg, wide_mm)
    shade = AMBIENT + (1 - AMBIENT) * np.clip(square @ LIGHT, 0.0, 1.0)
    clay = np.array(STAGE_COLOURS.get(stage, STAGE_COLOURS["fired"]))
    colours = np.clip(np.round(255 * clay * (0.35 + shade[:, None])), 0, 255).astype(int)
    places = frame.places(seen)
    shown = [f"#{red:02x}{green:02x}{blue:02x}" for red, green, blue in colours]
    faces = "".join(
        f'<path d="M{a[0]:.1f},{a[1]:.1f}L{b[0]:.1f},{b[1]:.1f}L{c[0]:.1f},{c[1]:.1f}Z" fill="{ink}" stroke="{ink}"/>'
        for (a, b, c), ink in zip(places, shown, strict=True)
    )
    name = "view-" + hashlib.sha256(faces.encode()).hexdigest()[:10]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 400" role="img" aria-labelledby="{name}" '
        f'stroke-width="0.6" stroke-linejoin="round"><title id="{name}">{escape(title)}</title>{faces}{over}</svg>'
    )
