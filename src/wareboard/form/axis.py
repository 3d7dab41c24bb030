"""The axis of a turned piece in a picture: the line about which it is most like its own mirror image.

Places in the picture are (x, y) in dots; on the piece ``v`` runs down the axis and ``r`` out from it, in dots.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wareboard.form.curve import Floats

Mask = NDArray[np.bool_]
MOST_ROLL_DEG = 12.0


@dataclass(frozen=True, slots=True)
class Axis:
    """The axis of the piece in the picture: a place on it, and how far it leans to the right going up, radians."""

    x: float
    y: float
    lean: float

    @property
    def down(self) -> Floats:
        """(2,) unit step along the axis towards the foot, in dots of the picture."""
        return np.array([-np.sin(self.lean), np.cos(self.lean)])

    @property
    def right(self) -> Floats:
        """(2,) unit step square to the axis, to the right, in dots of the picture."""
        return np.array([np.cos(self.lean), np.sin(self.lean)])

    def places(self, r: Floats, v: Floats) -> Floats:
        """(…, 2) places in the picture of points beside the axis; r is below 0 on its left."""
        found: Floats = np.array([self.x, self.y]) + r[..., None] * self.right + v[..., None] * self.down
        return found

    def moved(self, shift: float, slope: float) -> Axis:
        """The axis ``shift`` further to the right at its own place, and by ``slope`` more with every dot down."""
        x, y = self.places(np.array(shift), np.array(0.0))
        return Axis(float(x), float(y), self.lean - float(np.arctan(slope)))

    def scaled(self, factor: float) -> Axis:
        """The same axis in a picture ``factor`` times larger, whose dots are counted at their middles."""
        return Axis((self.x + 0.5) * factor - 0.5, (self.y + 0.5) * factor - 0.5, self.lean)


def sampled(picture: NDArray[Any], places: Floats) -> Floats:
    """Values of a picture (h, w) or (h, w, c) at (…, 2) places, by the four dots round each; its edge is carried on."""
    height, width = picture.shape[:2]
    x, y = np.clip(places[..., 0], 0, width - 1.001), np.clip(places[..., 1], 0, height - 1.001)
    left, top = x.astype(np.intp), y.astype(np.intp)
    a, b = x - left, y - top
    if picture.ndim == 3:
        a, b = a[..., None], b[..., None]
    found: Floats = (
        picture[top, left] * (1 - a) * (1 - b)
        + picture[top, left + 1] * a * (1 - b)
        + picture[top + 1, left] * (1 - a) * b
        + picture[top + 1, left + 1] * a * b
    )
    return found


def find_axis(mask: Mask) -> Axis:
    """The axis about which a mask is most like its own mirror image; a handle on one side does not draw it away.

    Args:
        mask: (h, w), the piece with its handle.
    Source: the best self-correlation of the mirrored rows, over a range of leans.
    """
    rows, columns = np.nonzero(mask)
    top, bottom, left, right = (int(each) for each in (rows.min(), rows.max(), columns.min(), columns.max()))
    centre = np.array([(left + right) / 2, (top + bottom) / 2])
    reach = np.hypot(right - left, bottom - top) / 2 + 2
    step = max(1.0, reach / 110)
    across = np.arange(-reach, reach + step, step)
    signed = np.where(mask, 1.0, -1.0)
    best = (-np.inf, 0.0, 0.0)
    leans = np.radians(np.arange(-MOST_ROLL_DEG, MOST_ROLL_DEG + 0.1, 1.0))
    for width in (0.0, 1.0):
        if width:
            leans = best[2] + np.radians(np.linspace(-0.75, 0.75, 7))
        for lean in leans:
            axis = Axis(float(centre[0]), float(centre[1]), float(lean))
            grid = sampled(signed, axis.places(np.broadcast_to(across, (len(across),) * 2), across[:, None]))
            likeness = _mirror_likeness(grid)
            place = int(np.argmax(likeness))
            score, shift = float(likeness[place]), (place - (len(across) - 1)) / 2 * step
            if score > best[0]:
                best = (score, shift, float(lean))
    _, shift, lean = best
    between = Axis(float(centre[0]), float(centre[1]), lean)
    there = between.places(np.array(shift), np.array(0.0))
    return Axis(float(there[0]), float(there[1]), lean)


def _mirror_likeness(grid: Floats) -> Floats:
    """Likeness of all rows to themselves mirrored about each place, by half steps; outside of the grid is ground."""
    width = grid.shape[1]
    piece = np.fft.rfft(grid + 1.0, 2 * width, axis=1)
    found: Floats = np.fft.irfft((piece * piece).sum(axis=0), 2 * width)[: 2 * width - 1]
    return found


def mirrored(mask: Mask, axis: Axis) -> Mask:
    """The mask turned over about the axis."""
    rows, columns = np.indices(mask.shape)
    away = (columns - axis.x) * axis.right[0] + (rows - axis.y) * axis.right[1]
    across = np.rint(columns - 2 * away * axis.right[0]).astype(np.intp)
    down = np.rint(rows - 2 * away * axis.right[1]).astype(np.intp)
    inside = (across >= 0) & (across < mask.shape[1]) & (down >= 0) & (down < mask.shape[0])
    found: Mask = np.zeros_like(mask)
    found[inside] = mask[down[inside], across[inside]]
    return found
