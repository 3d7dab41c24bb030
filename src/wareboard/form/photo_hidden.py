"""What a belly hides above the foot of a piece that is photographed from above, and how much that leaves open."""

from __future__ import annotations

import numpy as np

from wareboard.form.curve import Floats
from wareboard.form.sightline import View

HIDDEN_BELOW, STEEP, UNSEEN_BELOW = 0.25, 0.7, 0.12
# Of the height and of the greatest radius; how far the outline turns back above a foot ring, radians; how near, in heights.
LOW_PART, DRAWN_IN, TOUCHING = 0.3, 0.21, 0.006
BLURRED_DOTS, BEND_OVER = 3.0, 0.2


def hidden_wall(view: View, r: Floats, v: Floats, heights: Floats, radii: Floats) -> tuple[Floats, Floats]:
    """The radii with what a belly hides above a foot ring drawn as it likely is, and half of what is open there, in heights.

    The outline draws in again where the belly runs out over the ring. One line of sight runs past both there, and between
    the two places where it touches, the wall lies anywhere between it and the ring carried straight up. It is drawn as a
    turner leaves it: the belly's own bend carried on, down to a straight ring.

    Returns:
        Radii, and half of what is open, 0 where nothing is hidden.
    Source: straight rings and bellies of one bend: common practice, from memory.
    """
    nothing = np.zeros_like(radii)
    at = _notch(r, v)
    if at is None:
        return radii, nothing
    sight = view.past(float(r[at]), float(v[at]), heights)
    seen = np.flatnonzero((np.abs(sight - radii) < TOUCHING) & (heights < HIDDEN_BELOW))
    if len(seen) < 2:
        return radii, nothing
    # A lens rounds the corner between ring and belly off, so the ring is taken from a little below it.
    blur = BLURRED_DOTS * view.distance / view.focal
    ring = float(np.interp(heights[seen[0]] - blur, heights, radii))
    between = (heights > heights[seen[0]] - blur) & (heights <= heights[seen[-1]])
    likely = np.clip(_carried_on(heights, radii, heights[seen[-1]]), ring, np.maximum(radii, ring))
    half_open = np.where(between, np.clip(radii - ring, 0.0, None) / 2, 0.0)
    return np.where(between, likely, radii), half_open


def _carried_on(heights: Floats, radii: Floats, down_to: float) -> Floats:
    """Radii of the arc of a circle through the wall just above a height, also below it."""
    own = (heights > down_to) & (heights <= down_to + BEND_OVER)
    h, r = heights[own], radii[own]
    rows = np.column_stack([2 * h, 2 * r, np.ones_like(h)])
    (up, out, rest), *_ = np.linalg.lstsq(rows, h**2 + r**2, rcond=None)
    bend = rest + up**2 + out**2 - (heights - up) ** 2
    side = np.sign(float(r.mean()) - out)
    found: Floats = np.where(bend > 0, out + side * np.sqrt(np.clip(bend, 0.0, None)), 0.0)
    return found


def half_unseen(heights: Floats, radii: Floats) -> Floats:
    """Half of what a belly may hide where no ring shows: a wall that opens fast may stand on a straight foot."""
    steep = np.diff(radii, prepend=radii[0]) > STEEP * (heights[1] - heights[0])
    steep[0] = True
    low = (heights <= UNSEEN_BELOW) & np.logical_and.accumulate(steep | (heights < 0.03))
    found: Floats = np.where(low, np.clip(radii - radii[0], 0.0, None) / 2, 0.0)
    return found


def _notch(r: Floats, v: Floats) -> int | None:
    """Place on the half line where it turns back above the foot, as where a belly runs out over a foot ring."""
    from scipy.ndimage import gaussian_filter1d

    # From the foot's middle outward and up, mirrored over the axis so that the smoothing leaves its middle level.
    rr = gaussian_filter1d(np.concatenate([-r[-13:-1], r[::-1]]), 2.5)
    vv = gaussian_filter1d(np.concatenate([v[-13:-1], v[::-1]]), 2.5)
    rising = np.unwrap(np.arctan2(-np.gradient(vv), np.gradient(rr)))[12:]
    low = np.flatnonzero((v[::-1] > v.max() - LOW_PART * np.ptp(v)) & (r[::-1] > LOW_PART * r.max()))
    if len(low) < 8:
        return None
    turned = rising[low]
    back = np.maximum.accumulate(turned) - turned
    end = int(np.argmax(back))
    if back[end] < DRAWN_IN:
        return None
    begin = int(np.argmax(turned[: end + 1]))
    return len(r) - 1 - int(low[(begin + end) // 2])
