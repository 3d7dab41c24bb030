"""Where a brush fits: which parts of a map of zones are too thin to be painted, and how such parts are given up.

A zone is wide enough where a disc as wide as the brush fits into it; a corner of 60 degrees or more next to such a disc
counts as painted, for a brush comes to a point. What lies outside the map belongs to no zone. Lengths are pixels; edges of
zones run between pixels.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from wareboard.paint.colour import Floats

Labels = NDArray[np.int32]
Mask = NDArray[np.bool_]

# A point of a brush fills a corner of 60 degrees: its tip lies two radii from the middle of the disc.
CORNER = 2.0
HAIR = 1e-6
# A corner is let off this much: edges drawn in pixels are not sharper than that.
PIXEL = 1.0
# Rounds in which the colours have a say, rounds in which the nearest zone has, and rounds in all.
ROUNDS_BY_COLOUR, ROUNDS_BY_NEARNESS, ROUNDS = 2, 6, 24


def room_px(labels: Labels) -> Floats:
    """How far the nearest edge of a zone is, on a grid of half pixels (2 h + 1, 2 w + 1).

    The middles of pixels stand at its odd places.
    """
    from scipy.ndimage import distance_transform_edt

    high, wide = labels.shape
    edge = np.zeros((2 * high + 1, 2 * wide + 1), dtype=bool)
    edge[0], edge[-1], edge[:, 0], edge[:, -1] = True, True, True, True
    down = labels[1:] != labels[:-1]
    across = labels[:, 1:] != labels[:, :-1]
    for shift in range(3):
        edge[2:-1:2, shift : shift + 2 * wide - 1 : 2] |= down
        edge[shift : shift + 2 * high - 1 : 2, 2:-1:2] |= across
    found: Floats = distance_transform_edt(~edge) / 2.0
    return found


def too_thin(labels: Labels, brush_px: float) -> Mask:
    """The pixels at which the zone is narrower than the brush; none for a brush of a pixel or less.

    Source: opening by a disc (any text on mathematical morphology), with corners of 60 degrees, and one pixel, let off.
    """
    from scipy.ndimage import distance_transform_edt

    if brush_px <= 1.0:
        return np.zeros(labels.shape, dtype=bool)
    radius = brush_px / 2.0
    room = room_px(labels)
    middles = room >= radius - HAIR
    if not middles.any():
        return np.ones(labels.shape, dtype=bool)
    parts = _parts(labels)
    places = np.argwhere(middles)
    zones_there = _pixel_of(places, labels.shape, parts)
    holds = np.zeros(int(parts.max()) + 1, dtype=bool)
    holds[zones_there] = True
    near = distance_transform_edt(~middles)[1::2, 1::2] / 2.0
    # Within the radius of the middle of a brush is within its disc, and so in the same zone.
    thin: Mask = near > radius + HAIR
    in_question = thin & holds[parts] & (near <= radius * CORNER + PIXEL)
    rim = room[middles] <= radius + PIXEL
    thin[in_question] = ~_within_reach(
        np.argwhere(in_question), parts[in_question], places[rim], zones_there[rim], radius * CORNER + PIXEL
    )
    return thin


def _parts(labels: Labels) -> NDArray[np.intp]:
    """Connected parts of the zones, numbered."""
    from skimage.measure import label

    found: NDArray[np.intp] = label(labels, background=-1, connectivity=1)  # type: ignore[no-untyped-call]
    return found


def _pixel_of(places: NDArray[np.intp], shape: tuple[int, ...], values: NDArray[np.intp]) -> NDArray[np.intp]:
    """What the pixel holds in which each place of the grid of half pixels lies."""
    found: NDArray[np.intp] = values[
        np.minimum(places[:, 0] // 2, shape[0] - 1), np.minimum(places[:, 1] // 2, shape[1] - 1)
    ]
    return found


def _within_reach(
    pixels: NDArray[np.intp], mine: NDArray[np.intp], rim: NDArray[np.intp], rims: NDArray[np.intp], reach: float
) -> Mask:
    """Whether the middle of a brush inside the same part lies near enough to each pixel."""
    from scipy.spatial import cKDTree

    found = np.zeros(len(pixels), dtype=bool)
    for part in np.unique(mine):
        here, there = mine == part, rims == part
        if there.any():
            far, _ = cKDTree(rim[there]).query(pixels[here] * 2 + 1)
            found[here] = far / 2.0 <= reach + HAIR
    return found


def made_paintable(labels: Labels, costs: Floats, brush_px: float) -> Labels:
    """``labels`` with every part that is too thin handed to its neighbours; the map given is left alone.

    At first a thin part goes to the neighbour whose colour suits best and lies near; then to the nearest; what still stands
    thin goes with more and more of its surroundings to the neighbour that it borders on most. What is thin even then is left
    and can be asked of `too_thin`.

    Args:
        labels: (h, w), a number from 0 for each pixel.
        costs: (zones, h, w), how badly each zone suits each pixel.
        brush_px: width of the brush.
    """
    from scipy.ndimage import distance_transform_edt

    current = labels.copy()
    for turn in range(ROUNDS):
        thin = too_thin(current, brush_px)
        if not thin.any():
            return current
        if thin.all():
            return np.full(labels.shape, int(np.argmax(np.bincount(current.ravel()))), dtype=np.int32)
        if turn < ROUNDS_BY_COLOUR:
            current = _by_colour(current, thin, costs, brush_px)
        elif turn < ROUNDS_BY_NEARNESS:
            nearest = distance_transform_edt(thin, return_distances=False, return_indices=True)
            current = current[tuple(nearest)]
        else:
            current = _with_surroundings(current, thin, turn - ROUNDS_BY_NEARNESS)
    return current


def _by_colour(labels: Labels, thin: Mask, costs: Floats, brush_px: float) -> Labels:
    from scipy.ndimage import distance_transform_edt

    places = np.nonzero(thin)
    far = np.full((len(costs), len(places[0])), np.inf)
    for zone in range(len(costs)):
        solid = (labels == zone) & ~thin
        if solid.any():
            far[zone] = distance_transform_edt(~solid)[places]
    scale = max(float(np.median(costs)), HAIR)
    score = costs[:, places[0], places[1]] / scale + far / brush_px
    score[far > far.min(axis=0) + brush_px / 2.0] = np.inf
    changed = labels.copy()
    changed[places] = np.argmin(score, axis=0)
    return changed


def _with_surroundings(labels: Labels, thin: Mask, grow: int) -> Labels:
    """Each thin spot, grown by ``grow`` pixels, goes to the zone that it borders on most."""
    from scipy.ndimage import binary_dilation, find_objects, label

    spots, _ = label(binary_dilation(thin, iterations=grow) if grow else thin)
    changed = labels.copy()
    for spot, box in enumerate(find_objects(spots), start=1):
        around = tuple(slice(max(0, side.start - 2), side.stop + 2) for side in box)
        mine = spots[around] == spot
        border = binary_dilation(mine, iterations=2) & ~mine
        if border.any():
            changed[around][mine] = int(np.argmax(np.bincount(labels[around][border])))
    return changed
