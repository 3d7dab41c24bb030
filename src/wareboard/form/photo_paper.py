"""A sheet of paper that nobody spoke of, taken for the piece or for a part of it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from wareboard.form.axis import Mask
from wareboard.form.curve import Floats
from wareboard.form.photo_colours import reduced
from wareboard.form.photo_outline import SMALL_SIDE, no_piece
from wareboard.form.photo_sheet import in_turn, is_a_sheet
from wareboard.form.photo_sheet_sides import area_of, sharpened

# Shares of the picture that a sheet may take, and of its quadrilateral that must show; how far off a side may lie, dots.
LEAST, MOST, SHOWN, SIDE_REACH = 0.01, 0.6, 0.4, 5.0
PALE, MOST_COLOUR = 58.0, 22.0
# What tells a sheet from a pale piece: shares of it, of a side, and of the height.
PAPER_IN_PIECE, NEAR_SIDE, WIDE, STANDS_OVER, ALONE = 0.5, 1.03, 1.3, 0.3, 1.3


def refuse_paper_as_piece(picture: NDArray[np.uint8], mask: Mask) -> None:
    """Refuse what was found where a sheet of paper that was not spoken of is most of a part of it.

    Args:
        mask: of what was taken for the piece, in the picture made smaller.
    Raises:
        NoPiece: saying so.
    """
    found = _palest(picture)
    if found is None:
        return
    corners, paper = found
    if float((paper & mask).sum()) < PAPER_IN_PIECE * float(paper.sum()):
        return
    # A pale piece may be four-sided itself. A sheet is wide, its near side the longer, or something stands over it.
    top, bottom = (float(np.linalg.norm(corners[one] - corners[two])) for one, two in ((0, 1), (3, 2)))
    rows = np.flatnonzero(mask.any(axis=1))
    scale = picture.shape[0] / mask.shape[0]
    first, last = float(corners[:2, 1].mean()), float(corners[2:, 1].mean())
    over = first / scale - float(rows[0]) > STANDS_OVER * float(np.ptp(rows))
    if bottom > NEAR_SIDE * top and bottom > WIDE * (last - first) and (over or mask.sum() < ALONE * paper.sum()):
        raise no_piece(
            "a sheet of paper in it is taken for part of the piece", "Say which sheet it is, or take it away"
        )


def _palest(picture: NDArray[np.uint8]) -> tuple[Floats, Mask] | None:
    """Corners of the palest thing in a picture that may be a sheet, and where it shows in the small picture; or None."""
    from scipy import ndimage
    from skimage.color import rgb2lab
    from skimage.filters import threshold_multiotsu, threshold_otsu

    small, factor = reduced(picture, SMALL_SIDE)
    lab = np.asarray(rgb2lab(small))
    light, colour = ndimage.gaussian_filter(lab[..., 0], 1.0), np.hypot(lab[..., 1], lab[..., 2])
    steps = {float(threshold_otsu(light)), *map(float, threshold_multiotsu(light, classes=3))}  # type: ignore[no-untyped-call]
    for step in sorted(steps, reverse=True):
        label, count = ndimage.label((light > max(step, PALE)) & (colour < MOST_COLOUR))
        sizes = np.bincount(label.ravel(), minlength=count + 1)
        sizes[0] = 0
        for number in np.argsort(sizes)[::-1][:3]:
            part = label == number
            if not LEAST < part.mean() < MOST:
                continue
            corners = _four_corners(part, lab[..., 0])
            if corners is None:
                continue
            corners = (corners + 0.5) * factor - 0.5
            if is_a_sheet(corners, picture.shape):
                return corners, np.asarray(ndimage.binary_erosion(part, iterations=2))
    return None


def _four_corners(part: Mask, light: Floats) -> Floats | None:
    """Corners of a part that is a quadrilateral but for what stands on it, or None."""
    from scipy.spatial import ConvexHull

    places = np.argwhere(part)[:, ::-1].astype(np.float64)
    hull = places[ConvexHull(places).vertices]
    while len(hull) > 4:
        hull, added = _one_side_less(hull)
        if added > 0.2 * len(places):
            return None
    if len(hull) < 4 or len(places) < SHOWN * area_of(hull):
        return None
    return sharpened(light, in_turn(hull), SIDE_REACH)


def _one_side_less(hull: Floats) -> tuple[Floats, float]:
    """A convex loop with the one side taken out, and its neighbours carried on, that adds the least area; and that area."""
    count, best = len(hull), (math.inf, 0, hull[0])
    for at in range(count):
        before, start, end, after = (hull[(at + shift) % count] for shift in (-1, 0, 1, 2))
        one, two = start - before, end - after
        cross = float(one[0] * two[1] - one[1] * two[0])
        if abs(cross) < 1e-9:
            continue
        reach = float((end[0] - start[0]) * two[1] - (end[1] - start[1]) * two[0]) / cross
        if reach <= 0:
            continue
        tip = start + reach * one
        side, out = end - start, tip - start
        added = abs(float(side[0] * out[1] - side[1] * out[0])) / 2
        if added < best[0]:
            best = (added, at, tip)
    added, at, tip = best
    if not math.isfinite(added):
        return hull[:3], math.inf
    keep = [hull[(at + shift) % count] for shift in range(2, count)]
    return np.array([tip, *keep]), added
