"""The outside of a piece from a drawing of it: half a section, or a whole outline mirrored about an upright axis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wareboard.errors import Unreadable
from wareboard.form.curve import Floats
from wareboard.given import positive
from wareboard.svg_lines import SvgLine, lines_in_svg, own_size
from wareboard.working import per_cent

__all__ = ["DrawnOutline", "outline_of_lines", "outline_of_svg"]

# Of the greater side of the drawing: what counts as touching, and how unlike its mirror image a whole outline may be.
TOUCH, UNLIKE = 2e-3, 0.015
# Of the height: a half section's floor reaches no higher up its axis; a line may fall by so much through rounding alone.
MOST_FLOOR, ROUNDING = 0.35, 3e-3
LEAST_FOOT = 0.02  # of the greatest radius
SECOND_LINE = 0.15  # of the longest line: shorter ones are not worth a word
FINE = 200


@dataclass(frozen=True, slots=True, eq=False)
class DrawnOutline:
    """The outside of a piece, (n, 2) of (height, radius) in mm from its standing edge to its rim, and what is to be said."""

    points_mm: Floats
    notes: tuple[str, ...]


def outline_of_svg(text: str | bytes, height_mm: float | None = None, name: str = "") -> DrawnOutline:
    """The outside of the piece drawn in an SVG file.

    Args:
        text: the whole file; nothing in it is run, fetched or expanded.
        height_mm: height of the piece, mm; without it the drawing's own size counts, where the file states one.
        name: what to call the file in a refusal.
    Raises:
        Unreadable: if it is no SVG, holds entities or a script, states no size while no height is given, or shows no outline
            of a turned piece. OutOfRange: if the height cannot be.
    """
    called = name or "the drawing"
    lines, notes = lines_in_svg(text, 0.02, name)
    if height_mm is None and not own_size(text):
        raise Unreadable(called, "it states no size of its own", "Give the height of the piece")
    found = outline_of_lines(lines, height_mm, name)
    return DrawnOutline(found.points_mm, (*(f"{each[0].upper()}{each[1:]}." for each in notes), *found.notes))


def outline_of_lines(lines: Sequence[SvgLine], height_mm: float | None = None, name: str = "") -> DrawnOutline:
    """The outside of the piece that lines show: the longest of them; an upright straight line beside it is its axis.

    Args:
        lines: in mm, x to the right and y up; left alone.
        height_mm: height of the piece, mm; the lines' own size where it is left out.
    Raises:
        Unreadable: if the longest is neither a whole outline mirrored about an upright axis nor a half that begins on it,
            crosses the axis, doubles back on its way up, or has no foot. OutOfRange: if the height cannot be.
    Source: a piece of revolution is told by half of its section.
    """
    called = name or "the drawing"
    line, axis_x, notes = _longest(lines)
    points = line.points_mm
    size = float(np.ptp(points, axis=0).max())
    if float(np.ptp(points, axis=0).min()) <= TOUCH * size:
        raise _refused(
            called, "its longest line is straight", "Draw the outline from the axis along the foot to the rim"
        )
    if axis_x is None and _is_mirrored(line, size):
        middle = float(points[:, 0].min() + points[:, 0].max()) / 2
        half = _right_half(line, middle, TOUCH * size, called)
        notes += ("Taken as a whole outline: both of its sides are alike.",)
    else:
        half, side = _one_side(line, axis_x, size, called)
        notes += (f"Taken as the {side} half of a section.",)
    outside, inner = _outside(half, called)
    if inner:
        notes += ("The inside is drawn too; only the outside is taken, wall and floor stay as the brief has them.",)
    outside[:, 0] -= outside[0, 0]
    if height_mm is not None:
        outside *= positive(height_mm, "height", "mm") / outside[-1, 0]
    outside.setflags(write=False)
    return DrawnOutline(outside, notes)


def _refused(called: str, why: str, mend: str) -> Unreadable:
    return Unreadable(called, why, mend)


def _length(line: SvgLine) -> float:
    points = np.vstack([line.points_mm, line.points_mm[:1]]) if line.closed else line.points_mm
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _longest(lines: Sequence[SvgLine]) -> tuple[SvgLine, float | None, tuple[str, ...]]:
    """The longest line that is not upright and straight, where an axis is drawn, and what is to be said of the others."""
    across = [float(np.ptp(each.points_mm[:, 0])) for each in lines]
    upright = [
        wide <= TOUCH * float(np.ptp(each.points_mm, axis=0).max()) for wide, each in zip(across, lines, strict=True)
    ]
    bent = [each for each, straight in zip(lines, upright, strict=True) if not straight]
    if not bent:
        return max(lines, key=_length), None, ()
    line = max(bent, key=_length)
    long = _length(line)
    others = [each for each in bent if each is not line and _length(each) > SECOND_LINE * long]
    said = f"{len(bent)} lines are drawn; the longest, {long:.0f} mm as drawn, is taken."
    places = [each.points_mm[:, 0].mean() for each, straight in zip(lines, upright, strict=True) if straight]
    size = float(np.ptp(line.points_mm, axis=0).max())
    axis = float(places[0]) if places and np.ptp(places) <= TOUCH * size else None
    return line, axis, (said,) if others else ()


def _is_mirrored(line: SvgLine, size: float) -> bool:
    """Whether a line is like its own mirror image about its middle, point by point along it."""
    points = line.points_mm
    middle = (points[:, 0].min() + points[:, 0].max()) / 2
    fine = _evenly(line)
    image = np.column_stack([2 * middle - fine[:, 0], fine[:, 1]])
    away = np.hypot(image[:, None, 0] - fine[None, :, 0], image[:, None, 1] - fine[None, :, 1]).min(axis=1)
    step = _length(line) / len(fine)
    return bool(away.max() <= UNLIKE * size + step)


def _evenly(line: SvgLine) -> Floats:
    points = np.vstack([line.points_mm, line.points_mm[:1]]) if line.closed else line.points_mm
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.linspace(0.0, along[-1], 3 * FINE)
    return np.column_stack([np.interp(at, along, points[:, axis]) for axis in (0, 1)])


def _right_half(line: SvgLine, middle: float, touch: float, called: str) -> Floats:
    """(n, 2) of (height, radius): the part right of the axis, from its lower meeting with the axis onward."""
    points = np.vstack([line.points_mm, line.points_mm[:1]]) if line.closed else line.points_mm
    points = points - np.array([middle, 0.0])
    parts = _parts_right(points, line.closed)
    parts = [part for part in parts if part[:, 0].max() > 10 * touch]
    if len(parts) != 1:
        raise _refused(
            called, f"it crosses its axis {2 * len(parts)} times", "Draw the outline as one line round the piece"
        )
    part = parts[0]
    ends = np.abs(part[[0, -1], 0]) <= touch
    if not ends.any():
        raise _refused(called, "its line nowhere meets its axis", "Carry the line along under the foot")
    # From the lower of the ends that lie on the axis.
    if not ends[0] or (ends[1] and part[-1, 1] < part[0, 1]):
        part = part[::-1]
    return np.column_stack([part[:, 1], np.maximum(part[:, 0], 0.0)])


def _parts_right(points: Floats, closed: bool) -> list[Floats]:
    """The runs of a line where x is 0 or more, each cut where it crosses x = 0."""
    x = points[:, 0]
    crossing = np.flatnonzero(x[:-1] * x[1:] < 0)
    share = x[crossing] / (x[crossing] - x[crossing + 1])
    met = points[crossing] + share[:, None] * (points[crossing + 1] - points[crossing])
    met[:, 0] = 0.0
    whole = np.insert(points, crossing + 1, met, axis=0)
    right = whole[:, 0] >= 0
    runs = np.split(np.arange(len(whole)), np.flatnonzero(np.diff(right)) + 1)
    found = [whole[run] for run in runs if right[run[0]]]
    if closed and len(found) > 1 and right[0] and right[-1]:
        found = [np.vstack([found[-1], found[0][1:]]), *found[1:-1]]
    return [part for part in found if len(part) > 1]


def _one_side(line: SvgLine, axis_x: float | None, size: float, called: str) -> tuple[Floats, str]:
    """(n, 2) of (height, radius) from the axis onward, and which side of its section is drawn."""
    touch = TOUCH * size
    points = line.points_mm
    if axis_x is None:
        axis_x = _axis_of_closed(points, touch, size) if line.closed else _axis_of_open(points, touch, called)
    away = points[:, 0] - axis_x
    if away.max() > 5 * touch and away.min() < -5 * touch:
        raise _refused(
            called,
            "its line crosses the axis and its sides are not alike",
            "Draw one half, or both alike; leave the handle out",
        )
    side = "right" if away.max() > -away.min() else "left"
    half = np.column_stack([points[:, 1], np.abs(away)])
    if line.closed:
        half = _opened(half, touch, called)
    elif half[0, 1] > touch or (half[-1, 1] <= touch and half[-1, 0] < half[0, 0]):
        half = half[::-1]
    if half[0, 1] > touch and half[0, 0] > half[-1, 0]:
        half = half[::-1]
    half[:, 1] = np.where(half[:, 1] <= touch, 0.0, half[:, 1])
    return half, side


def _axis_of_open(points: Floats, touch: float, called: str) -> float:
    """The axis of an open half section: where its lower end is, which lies at one side of the drawing."""
    lower = points[0] if points[0, 1] <= points[-1, 1] else points[-1]
    middle = (points[:, 1].min() + points[:, 1].max()) / 2
    for side in (points[:, 0].min(), points[:, 0].max()):
        if abs(lower[0] - side) <= touch and lower[1] < middle:
            return float(side)
    raise _refused(
        called,
        "it is neither alike on both sides of an upright axis nor a half whose foot begins on it",
        "Draw one half from the axis along the foot to the rim, without the handle; or draw the axis as an upright line",
    )


def _axis_of_closed(points: Floats, touch: float, size: float) -> float:
    """The axis of a closed half section: the side along which it has a straight upright edge."""
    low, tall = float(points[:, 1].min()), float(np.ptp(points[:, 1]))
    sides = [float(points[:, 0].min()), float(points[:, 0].max())]
    edges = [_edge(points, side, touch) for side in sides]
    reach = [float(edge[1] - edge[0]) if edge is not None else 0.0 for edge in edges]
    # A wall drawn with its thickness meets the axis with its floor alone, low down; a filled half, along all of it.
    floors = [edge is not None and touch < edge[1] - edge[0] and edge[1] - low < MOST_FLOOR * tall for edge in edges]
    if floors[0] != floors[1]:
        return sides[floors.index(True)]
    return sides[int(np.argmax(reach))]


def _edge(points: Floats, side: float, touch: float) -> tuple[float, float] | None:
    """Lowest and highest place of the upright edge at that side."""
    on = points[np.abs(points[:, 0] - side) <= touch]
    return None if len(on) < 2 else (float(on[:, 1].min()), float(on[:, 1].max()))


def _opened(half: Floats, touch: float, called: str) -> Floats:
    """A closed half section from its lowest place on the axis, away from the axis and round."""
    on = np.flatnonzero(half[:, 1] <= touch)
    if not len(on):
        raise _refused(called, "its line nowhere meets its axis", "Carry the line along the foot to the axis")
    start = int(on[np.argmin(half[on, 0])])
    turned = np.roll(half, -start, axis=0)
    # Away from the axis means that the next point is off it; the edge along the axis comes last.
    if turned[1, 1] <= touch < turned[-1, 1]:
        turned = np.vstack([turned[:1], turned[:0:-1]])
    return turned


def _outside(half: Floats, called: str) -> tuple[Floats, bool]:
    """The outside from the standing edge up to the rim, and whether the line goes on down the inside.

    A turned foot's recess lies before the standing edge and is left out.
    """
    tall = float(np.ptp(half[:, 0]))
    slack = ROUNDING * tall
    at_top = np.flatnonzero(half[:, 0] >= half[:, 0].max() - 1e-6 * tall)
    # The first run along the top: the outer edge of a flat rim or a filled top is its outermost point.
    first = at_top[: 1 + int(np.argmax(np.append(np.diff(at_top) != 1, True)))]
    rim = int(first[np.argmax(half[first, 1])])
    rising = half[: rim + 1]
    foot = int(np.flatnonzero(rising[:, 0] <= rising[:, 0].min() + 1e-6 * tall)[-1])
    outside = rising[foot:].copy()
    highest = np.maximum.accumulate(outside[:, 0])
    falls = highest - outside[:, 0]
    if falls.max() > slack:
        place = float(highest[int(np.argmax(falls))] - outside[0, 0]) / tall
        raise _refused(
            called,
            f"its line doubles back at {per_cent(place)} of the height",
            "From the foot to the rim the outside only rises; leave out what hangs over, and a handle",
        )
    if half[: rim + 1, 0].min() > half[:, 0].min() + slack:
        raise _refused(called, "its lowest place is not on the outside", "Begin the line on the axis under the foot")
    outside[:, 0] = highest
    if len(outside) < 2 or outside[0, 1] < LEAST_FOOT * outside[:, 1].max():
        raise _refused(
            called, "it has no foot to stand on", "Carry the line from the axis along the foot before it rises"
        )
    thin = outside[:, 1] < LEAST_FOOT * outside[:, 1].max()
    if thin[-1]:
        raise _refused(called, "it closes at the top and has no mouth", "Draw the piece up to its rim, its lid apart")
    if thin.any():
        place = float(outside[thin, 0][0] - outside[0, 0]) / tall
        raise _refused(
            called, f"its line meets the axis at {per_cent(place)} of the height", "Draw the outside alone, as one line"
        )
    after = half[rim + 1 :]
    return outside, bool(len(after) and (after[:, 0] < half[rim, 0] - 0.2 * tall)[after[:, 1] > 0].any())
