"""The handle of a piece in a photograph: where it springs from the wall, how far it stands out, the room for the fingers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from wareboard.form.axis import Mask
from wareboard.form.curve import Floats
from wareboard.form.outline import HalfLine
from wareboard.form.sightline import Facing, View

LEAST_SHARE = 0.012


@dataclass(frozen=True, slots=True, eq=False)
class PhotoHandle:
    """A handle as seen, mm; heights above the foot, distances out from the wall.

    ``outline_mm`` is its edge, (n, 2) of (height, distance from the axis). ``gap_mm`` is 0 where no gap is seen.
    """

    side: Literal["left", "right"]
    top_mm: float
    bottom_mm: float
    upper_root_mm: float
    lower_root_mm: float
    reach_mm: float
    gap_mm: float
    thickness_mm: float
    outline_mm: Floats


def handle_in(
    mask: Mask,
    line: HalfLine,
    factor: int,
    seen: Facing,
    view: View,
    tall_mm: float,
    heights: Floats,
    radii: Floats,
) -> PhotoHandle | None:
    """The handle of a piece whose body is known, or None where there is none.

    Args:
        mask: of body and handle, in a picture ``factor`` times smaller than the one that ``line`` belongs to.
        seen, view: the picture straight on, and its camera.
        heights, radii: (n,) of the body, in heights.
    """
    from scipy import ndimage

    small = mask & ~_body(mask.shape, line, factor)
    small = ndimage.binary_opening(small, iterations=1)
    label, count = ndimage.label(small, structure=np.ones((3, 3)))
    if not count:
        return None
    sizes = np.bincount(label.ravel(), minlength=count + 1)
    sizes[0] = 0
    biggest = int(np.argmax(sizes))
    if sizes[biggest] < LEAST_SHARE * (mask.sum() - small.sum()):
        return None
    part = label == biggest
    sideways, v = seen.on(_places(np.argwhere(part)[:, ::-1].astype(np.float64), factor))
    up, out = view.on_the_plane(sideways, v)
    side: Literal["left", "right"] = "right" if np.median(out) > 0 else "left"
    away = np.abs(out) - np.interp(up, heights, radii)
    if np.percentile(away, 99) * tall_mm < 4.0:
        return None
    return _measured(part, factor, seen, view, tall_mm, side, (up, away))


def _places(dots: Floats, factor: int) -> Floats:
    found: Floats = (dots + 0.5) * factor - 0.5
    return found


def _body(shape: tuple[int, ...], line: HalfLine, factor: int) -> Mask:
    """The body and a little about it, in the small picture."""
    from skimage.draw import polygon

    margin = 1.2 + 0.012 * float(line.r.max()) / factor
    sides = [line.axis.places(side * (line.r + margin * factor), line.v) for side in (-1.0, 1.0)]
    loop = (np.vstack([sides[0], sides[1][::-1]]) + 0.5) / factor - 0.5
    rows, columns = polygon(loop[:, 1], loop[:, 0], shape)  # type: ignore[no-untyped-call]
    found = np.zeros(shape, dtype=bool)
    found[rows, columns] = True
    return found


def _measured(
    part: Mask,
    factor: int,
    seen: Facing,
    view: View,
    tall_mm: float,
    side: Literal["left", "right"],
    dots: tuple[Floats, Floats],
) -> PhotoHandle:
    from skimage.measure import find_contours

    up, away = dots[0] * tall_mm, dots[1] * tall_mm
    reach = float(np.percentile(away, 99.5))
    near = up[away < max(0.15 * reach, float(away.min()) + 1.5)]
    roots = _two_parts(near)
    # Between its roots, what lies nearest to the wall is the inside of the strap.
    third = (roots[1] - roots[0]) / 6
    middle = away[np.abs(up - (roots[0] + roots[1]) / 2) < max(third, 1.0)]
    gap = max(0.0, float(np.percentile(middle, 2))) if len(middle) > 5 and roots[1] - roots[0] > 0.15 * tall_mm else 0.0
    edges = find_contours(np.pad(part, 1).astype(float), 0.5)  # type: ignore[no-untyped-call]
    edge = max(edges, key=len)[:, ::-1] - 1
    height, out = view.on_the_plane(*seen.on(_places(edge, factor)))
    outline = np.column_stack([height, np.abs(out)]) * tall_mm
    return PhotoHandle(
        side,
        float(np.percentile(up, 99.5)),
        float(np.percentile(up, 0.5)),
        roots[1],
        roots[0],
        reach,
        gap,
        reach - gap,
        outline,
    )


def _two_parts(heights: Floats) -> tuple[float, float]:
    """Middles of the lower and the upper of the two groups that heights fall into at their widest gap."""
    order = np.sort(heights)
    if len(order) < 4:
        return float(order.min()), float(order.max())
    cut = int(np.argmax(np.diff(order))) + 1
    if order[cut] - order[cut - 1] < 0.15 * (order[-1] - order[0]):
        return float(order[0]), float(order[-1])
    return float(order[:cut].mean()), float(order[cut:].mean())
