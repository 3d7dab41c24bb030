"""The outline of a turned piece in a picture: its axis, and the half line that both of its sides share.

A turned piece is alike on both sides of its axis and a handle is not, so only what both sides show is taken for the body.
Places in the picture are (x, y) in dots; on the piece ``v`` runs down the axis and ``r`` out from it, in dots.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wareboard.form.axis import Axis, Mask, sampled
from wareboard.form.curve import Floats
from wareboard.form.ground import main_part
from wareboard.form.sightline import FacedAxis

ROWS = 300
SURE = 4.0
LINE_POINTS = 480
BAND_STEPS = 41
PULL = 0.15
# Share of the whole change of colour within a few steps; roots of handles reach 0.5 of it.
OWN_EDGE = 0.75


@dataclass(frozen=True, slots=True)
class HalfLine:
    """The half outline that both sides share, from the top of the axis round to its foot: (n,) each, dots."""

    axis: Axis | FacedAxis
    r: Floats
    v: Floats
    apart: Floats  # how far the two sides differ at each point, dots
    crisp: Floats  # how well an edge shows at each point, 0 to 1
    lone: tuple[Mask, Mask]  # where the left, and the right, side has something joined on, such as a handle


def rough_line(likelier: Floats, axis: Axis, reach: float, tall: float) -> tuple[Floats, Floats] | None:
    """(r, v) of the half outline, row by row down the axis, that best parts piece from ground on both sides at once.

    Args:
        likelier: (h, w) from `likelier_piece`.
        axis: of the piece in the same picture.
        reach: how far out to look, dots; ``tall``: how far up and down from the axis's own place, dots.
    Source: least cost path by dynamic programming; the body is what is piece on both sides of the axis.
    """
    step = max(0.35, 2 * tall / ROWS)
    v, r = np.arange(-tall, tall + step, step), np.arange(0.0, reach + step, step)
    both = np.minimum(*(sampled(likelier, axis.places(side * r[None, :], v[:, None])) for side in (-1.0, 1.0)))
    gain = np.cumsum(np.clip(both, -SURE, SURE), axis=1) * step
    gain = np.hstack([np.zeros((len(v), 1)), gain])[:, : len(r)]
    path = _least_path(-gain, 1.5, 40.0)
    inside = np.flatnonzero(path > 0)
    if len(inside) < 12:
        return None
    # Only the longest unbroken run of rows is the piece.
    runs = np.split(inside, np.flatnonzero(np.diff(inside) > 1) + 1)
    run = max(runs, key=lambda each: float(path[each].sum()))
    return r[path[run]], v[run]


def _least_path(cost: Floats, slope: float, jump: float) -> NDArray[np.intp]:
    """Column of each row on the path of least cost; a change by one column costs ``slope``, any change ``jump`` at most."""
    rows, columns = cost.shape
    ramp = slope * np.arange(columns)
    total, came = cost[0].copy(), np.zeros((rows, columns), dtype=np.intp)
    place = np.arange(columns)
    for row in range(1, rows):
        rising, falling = total - ramp, total + ramp
        low = np.minimum.accumulate(rising)
        first = np.maximum.accumulate(np.where(rising == low, place, 0))
        high = np.minimum.accumulate(falling[::-1])[::-1]
        last = np.minimum.accumulate(np.where(falling == high, place, columns - 1)[::-1])[::-1]
        up, down = low + ramp, high - ramp
        source = np.where(up <= down, first, last)
        best = np.minimum(up, down)
        anywhere = int(np.argmin(total))
        jumps = best > total[anywhere] + jump
        best[jumps], source[jumps] = total[anywhere] + jump, anywhere
        total, came[row] = best + cost[row], source
    path = np.empty(rows, dtype=np.intp)
    path[-1] = int(np.argmin(total))
    for row in range(rows - 1, 0, -1):
        path[row - 1] = came[row, path[row]]
    return path


def evenly(r: Floats, v: Floats, count: int = LINE_POINTS) -> tuple[Floats, Floats]:
    """The line closed on the axis at both ends and drawn with even steps."""
    r, v = np.concatenate([[0.0], r, [0.0]]), np.concatenate([v[:1], v, v[-1:]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(r), np.diff(v)))])
    at = np.linspace(0.0, along[-1], count)
    return np.interp(at, along, r), np.interp(at, along, v)


def _smooth(values: Floats, wide: float) -> Floats:
    from scipy.ndimage import gaussian_filter1d

    found: Floats = gaussian_filter1d(values, wide, axis=0, mode="nearest")
    return found


def _normals(r: Floats, v: Floats) -> tuple[Floats, Floats]:
    """Unit normals of the half line, outward; mirrored over the axis so that its ends point straight up and down."""
    rr, vv = _smooth(np.concatenate([-r[8:0:-1], r, -r[-2:-10:-1]]), 2.0), np.concatenate([v[8:0:-1], v, v[-2:-10:-1]])
    along_r, along_v = np.gradient(rr)[8:-8], np.gradient(_smooth(vv, 2.0))[8:-8]
    size = np.hypot(along_r, along_v) + 1e-12
    return along_v / size, -along_r / size


def lone_sides(likelier: Floats, axis: Axis, r: Floats, v: Floats) -> tuple[Mask, Mask]:
    """Where the left and the right side go on as piece a little outside of the line while the other side does not."""
    normal_r, normal_v = _normals(r, v)
    out = max(2.5, 0.05 * float(r.max()))
    seen = []
    for side in (-1.0, 1.0):
        steps = np.linspace(0.5 * out, 1.2 * out, 4)[:, None]
        values = sampled(likelier, axis.places(side * (r + steps * normal_r), v + steps * normal_v))
        seen.append(np.median(values, axis=0) > 0)
    found = []
    for mine, other in ((seen[0], seen[1]), (seen[1], seen[0])):
        lone = np.asarray(mine & ~other, dtype=np.float64)
        # A root is wider than where it joins plainly: what lies within some dots of it is not trusted either.
        found.append(np.asarray(_smooth(lone, 4.0) > 0.08))
    return found[0], found[1]


def refined(picture: NDArray[np.uint8], line: HalfLine, reach: float) -> HalfLine:
    """The half line moved, along its normals, to where the colour changes most from inside to outside, on both sides.

    Args:
        picture: (h, w, 3); left alone.
        line: the rough half line in the dots of this picture.
        reach: how far either way to look, dots.
    """
    normal_r, normal_v = _normals(line.r, line.v)
    offsets = np.linspace(-reach, reach, BAND_STEPS)
    r, v = line.r[:, None] + offsets * normal_r[:, None], line.v[:, None] + offsets * normal_v[:, None]
    answers = [_edges(sampled(picture, line.axis.places(side * r, v))) for side in (-1.0, 1.0)]
    single = [_best_offset(answer, offsets) for answer in answers]
    left, right = (
        _without_own_edge(lone, _at(answer, offsets, best))
        for lone, answer, best in zip(line.lone, answers, single, strict=True)
    )
    trust = [np.where(lone, 0.02, 1.0)[:, None] for lone in (left, right)]
    both = (answers[0] * trust[0] + answers[1] * trust[1]) / (trust[0] + trust[1])
    # A plank's joint or a lip may be a sharper edge than the piece's own: what lies far from the rough line counts less.
    both -= PULL * (offsets / reach) ** 2
    offset = _best_offset(both, offsets)
    return replace(
        line,
        r=np.maximum(0.0, line.r + offset * normal_r),
        v=line.v + offset * normal_v,
        apart=(single[1] - single[0]) * normal_r,
        crisp=_at(both, offsets, offset),
        lone=(left, right),
    )


def _without_own_edge(lone: Mask, crisp: Floats) -> Mask:
    """A lone side without the stretches that show an edge of their own all along: a shadow does, and no handle's root."""
    from scipy import ndimage

    found = lone.copy()
    for (stretch,) in ndimage.find_objects(ndimage.label(lone)[0]):
        if np.percentile(crisp[stretch], 25) > OWN_EDGE:
            found[stretch] = False
    return found


def _edges(colours: Floats) -> Floats:
    """(n, m) change of colour along each normal, towards what lies outside, 1 for the whole change; (n, m, 3) in."""
    steps = colours.shape[1]
    end = steps // 4
    change = _smooth(colours[:, -end:].mean(axis=1) - colours[:, :end].mean(axis=1), 5.0)
    size = (change**2).sum(axis=1)
    along = (_smooth(colours, 1.0) * change[:, None, :]).sum(axis=2) / (size + 25.0)[:, None]
    along = _smooth(along.T, 1.5).T
    found: Floats = np.gradient(along, axis=1) * 4.0
    found *= np.minimum(1.0, np.sqrt(size) / 12.0)[:, None]
    return found


def _best_offset(answer: Floats, offsets: Floats) -> Floats:
    """Offset of the strongest edge along the line, changing little from point to point, to a part of a step."""
    path = _least_path(-answer, 0.25, 3.0)
    place = np.clip(path, 1, len(offsets) - 2)
    row = np.arange(len(path))
    before, here, after = (answer[row, place + shift] for shift in (-1, 0, 1))
    bend = before - 2 * here + after
    part = np.where(bend < -1e-9, 0.5 * (before - after) / np.where(bend < -1e-9, bend, 1.0), 0.0)
    exact = offsets[place] + np.clip(part, -0.5, 0.5) * (offsets[1] - offsets[0])
    return _smooth(exact, 1.5)


def _at(answer: Floats, offsets: Floats, wanted: Floats) -> Floats:
    place = np.clip(np.rint((wanted - offsets[0]) / (offsets[1] - offsets[0])), 0, len(offsets) - 1).astype(np.intp)
    found: Floats = answer[np.arange(len(wanted)), place]
    return found


def righted(line: HalfLine) -> HalfLine:
    """The same line about an axis moved to lie midway between its two sides."""
    normal_r, _ = _normals(line.r, line.v)
    good = (np.abs(normal_r) > 0.6) & ~line.lone[0] & ~line.lone[1]
    if good.sum() < 20:
        return line
    v, middle = line.v[good], line.apart[good] / 2
    weight = np.ones(len(v))
    slope = shift = 0.0
    for _ in range(8):
        fit = np.polynomial.polynomial.polyfit(v, middle, 1, w=weight)
        shift, slope = float(fit[0]), float(fit[1])
        off = np.abs(middle - shift - slope * v)
        weight = 1.0 / (1.0 + (off / (1.5 * np.median(off) + 0.05)) ** 2)
    return replace(line, axis=line.axis.moved(shift, slope))


def piece_mask(likelier: Floats) -> Mask:
    """The piece with its handle, as one part without specks; the gap of the handle stays open."""
    from scipy import ndimage

    mask = main_part(ndimage.binary_opening(likelier > 0, iterations=1))
    # A glint may cut in from the edge: slits are closed first, then what is shut in is filled.
    mask = mask | ndimage.binary_closing(np.pad(mask, 4), iterations=3)[4:-4, 4:-4]
    label, count = ndimage.label(~mask)
    if count > 1:
        sizes = np.bincount(label.ravel(), minlength=count + 1)
        small = sizes < 0.012 * mask.sum()
        small[0] = False
        mask = mask | small[label]
    return np.asarray(mask, dtype=bool)
