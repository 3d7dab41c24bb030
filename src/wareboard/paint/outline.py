"""Outlines of zones as SVG paths in mm, and the places where their numbers are written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.paint.brush import Labels, Mask, room_px
from wareboard.paint.colour import Floats

# Paths stay within this of the edges of the pixels.
WITHIN_MM = 0.12
MOST_DRAWN = 900
LEAST_ROOM_MM = 1.3


@dataclass(frozen=True, slots=True)
class Mark:
    """A place for a zone's number: mm from the map's upper left corner, and the room about it."""

    zone: int
    x_mm: float
    y_mm: float
    room_mm: float


def path_of(mask: Mask, place: Callable[[Floats], Floats], within_mm: float = WITHIN_MM) -> str:
    """The outline of ``mask`` as path data, islands and holes in one (fill rule evenodd).

    Args:
        mask: (h, w).
        place: from (n, 2) of (x, y) in pixels, edges at whole numbers, to mm on the paper.
        within_mm: how far a path may leave the edge.
    """
    from skimage.measure import approximate_polygon, find_contours

    parts = []
    for contour in find_contours(np.pad(mask, 1).astype(np.float64), 0.5):  # type: ignore[no-untyped-call]
        mm = place(contour[:, ::-1] - 0.5)
        kept = approximate_polygon(mm, within_mm)  # type: ignore[no-untyped-call]
        if len(kept) > 3:
            parts.append("M" + " ".join(f"{_n(x)},{_n(y)}" for x, y in kept[:-1]) + "Z")
    return "".join(parts)


def fewer(labels: Labels) -> tuple[Labels, int]:
    """``labels`` with pixels left out where there are more than a drawing shows, and how many stand for one each way."""
    step = max(1, -(-max(labels.shape) // MOST_DRAWN))
    return labels[step // 2 :: step, step // 2 :: step], step


def number_places(labels: Labels, across_mm: float, down_mm: float) -> tuple[Mark, ...]:
    """Where each part of each zone has most room, for its number; parts without room get none."""
    from scipy.ndimage import maximum_position
    from skimage.measure import label

    room = room_px(labels)[1::2, 1::2] * min(across_mm, down_mm)
    parts: NDArray[np.intp] = label(labels, background=-1, connectivity=1)  # type: ignore[no-untyped-call]
    found = []
    for row, column in maximum_position(room, parts, range(1, int(parts.max()) + 1)):
        if room[row, column] >= LEAST_ROOM_MM:
            x, y = (column + 0.5) * across_mm, (row + 0.5) * down_mm
            found.append(Mark(int(labels[row, column]), float(x), float(y), float(room[row, column])))
    return tuple(found)


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
