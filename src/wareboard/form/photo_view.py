"""The piece in a picture as seen straight on: camera, lens and outline found in turns, each bettered by the others."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from wareboard.form.axis import Axis
from wareboard.form.camera import LENSES_TRIED, Judged, flat_ends, judge_view, level_view
from wareboard.form.curve import Floats
from wareboard.form.outline import HalfLine
from wareboard.form.photo_outline import followed
from wareboard.form.sightline import FacedAxis, Facing, facing
from wareboard.given import positive

FAR, FEW_LENSES = 1e4, 9


def looked_at(
    picture: NDArray[np.uint8], line: HalfLine, factor: int, lip: float, lens_35mm: float | None, lens_spread: float
) -> tuple[Facing, Judged, HalfLine, Floats, Floats]:
    """The picture as seen straight on, the camera, and the half line there, each bettered by the others."""
    shape = picture.shape
    middle, long_side = (np.array([shape[1], shape[0]]) - 1) / 2, float(max(shape[:2]))
    lens = None if lens_35mm is None else positive(lens_35mm, "focal length", "mm")
    seen, faced = _faced(line, middle, FAR * long_side)
    if flat_ends(faced.r, faced.v):
        return seen, level_view(float(np.ptp(faced.v))), line, faced.r, faced.v
    focal = long_side * (1.1 if lens is None else lens / 36.0)
    for tried in (LENSES_TRIED,) if lens else (FEW_LENSES, FEW_LENSES, LENSES_TRIED):
        # Aslant, the two sides are not quite alike: the line is looked for once more as seen straight on.
        _, faced = _faced(line, middle, focal)
        line = followed(picture, faced, factor, float(np.ptp(faced.v)))
        seen, faced = _faced(line, middle, focal)
        judged = judge_view(faced.r, faced.v, long_side, lip, lens, tried, lens_spread)
        focal = min(max(judged.view.focal, 0.5 * long_side), 20 * long_side)
    return seen, judged, line, faced.r, faced.v


def sides(line: HalfLine) -> tuple[Floats, Floats]:
    """Left and right side of the body in the picture, (n, 2) each from top to foot."""
    return line.axis.places(-line.r, line.v), line.axis.places(line.r, line.v)


def lean_deg(left: Floats, right: Floats) -> float:
    """How far the piece leans to the right in the picture, going up."""
    sideways, down = left[-1] + right[-1] - left[0] - right[0]
    return math.degrees(math.atan2(-sideways, down))


def with_rim(r: Floats, v: Floats, rim_r: Floats, rim_v: Floats) -> tuple[Floats, Floats]:
    """The half line with its top, up to where the rim is widest, as the rim's own ring would show it."""
    below = np.flatnonzero((v > rim_v[-1]) | (r > rim_r[-1]))
    rest = int(below[0]) if len(below) else 0
    order = np.argsort(rim_r)
    return np.concatenate([rim_r[order], r[rest:]]), np.concatenate([rim_v[order], v[rest:]])


def _faced(line: HalfLine, middle: Floats, focal: float) -> tuple[Facing, HalfLine]:
    """How the piece is faced under a lens, and its half line in the picture as seen so."""
    left, right = sides(line)
    seen = facing(left, right, middle, focal)
    (across_left, v_left), (across_right, v_right) = seen.on(left), seen.on(right)
    axis = FacedAxis(seen, Axis(0.0, 0.0, 0.0))
    return seen, replace(line, axis=axis, r=np.abs(across_right - across_left) / 2, v=(v_left + v_right) / 2)
