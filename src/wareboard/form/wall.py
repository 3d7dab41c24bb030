"""The inside of a wall whose thickness is measured square to its outside, and the half-round lip at its top.

Lines are (n, 2) arrays of (height, radius) in mm, from the foot up.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats

LIP_POINTS = 9
FAR_MM = 1000.0
TURNED_IN = 0.35  # mm inward for each mm upward
MOST_ROUNDS, SETTLED_MM = 60, 1e-7


def _along(line: Floats) -> Floats:
    steps = np.hypot(*np.diff(line, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _directions(line: Floats) -> Floats:
    """Unit direction of a line at each of its points."""
    along = _along(line)
    tangent = np.column_stack([np.gradient(line[:, axis], along) for axis in (0, 1)])
    result: Floats = tangent / np.hypot(*tangent.T)[:, None]
    return result


def offset(line: Floats, wall_mm: float, rim_wall_mm: float) -> Floats:
    """Points square inward from each point of the line; the wall goes evenly from ``wall_mm`` to ``rim_wall_mm``."""
    along = _along(line)
    walls = wall_mm + (rim_wall_mm - wall_mm) * along / along[-1]
    direction = _directions(line)
    # Inward is a quarter turn from upward: straight up the wall it points to the centre line.
    inward = np.column_stack([direction[:, 1], -direction[:, 0]])
    result: Floats = line + walls[:, None] * inward
    return result


def inside_of(
    outside: Floats, wall_mm: float, rim_wall_mm: float, floor_mm: float, cut_at_mm: float | None = None
) -> Floats:
    """The inside line: floor, then the wall's inner face up to ``cut_at_mm``, or to where the outside's end puts it.

    Args:
        outside: (n, 2) from the foot or the top of its ring up to the rim; left alone.
        wall_mm, rim_wall_mm: thickness square to the outside, below and at the rim.
        floor_mm: height of the inside floor.
        cut_at_mm: height of a rim cut level.
    Raises:
        OutOfRange: if the wall leaves no inside.
    """
    face = offset(outside, wall_mm, rim_wall_mm)
    direction = _directions(outside)
    face = np.vstack([face[0] - FAR_MM * direction[0], face])
    if cut_at_mm is not None and direction[-1, 0] > 0:
        face = np.vstack([face, face[-1] + FAR_MM * direction[-1]])
    # Where the wall is thicker than a bend is round, the offset doubles back; only what goes on upward is kept.
    highest = np.maximum.accumulate(face[:, 0])
    face = face[np.concatenate([[True], face[1:, 0] > highest[:-1]])]
    top = float(face[-1, 0]) if cut_at_mm is None else cut_at_mm
    if not face[0, 0] < floor_mm < top:
        raise OutOfRange(
            f"wall of {wall_mm:g} mm over a floor at {floor_mm:g} mm",
            why="it leaves no inside between floor and rim",
            mend="Make the wall or the floor thinner",
        )
    kept = face[(face[:, 0] > floor_mm) & (face[:, 0] < top)]
    first = np.interp(floor_mm, face[:, 0], face[:, 1])
    last = np.interp(top, face[:, 0], face[:, 1])
    if min(first, last, *kept[:, 1]) <= 0:
        raise OutOfRange(
            f"wall of {wall_mm:g} mm",
            why="it meets itself on the centre line",
            mend="Make it thinner, or the form wider",
        )
    return np.vstack([[floor_mm, 0.0], [floor_mm, first], kept, [top, last]])


def without_lip(outside: Floats, rim_wall_mm: float) -> Floats:
    """The outside without a rounded lip that is drawn in it already, its wall carried on to the same height.

    An outline from a photograph turns in over the lip; a second lip square to that turn would lie on its side. What turns
    in by more than `TURNED_IN` against the wall below, within half the rim's thickness of the top, is taken for a lip.

    Args:
        outside: (n, 2) from the foot up to the rim; left alone.
        rim_wall_mm: thickness at the rim.
    """
    top = float(outside[-1, 0])
    begins, below = top - rim_wall_mm / 2, top - 1.5 * rim_wall_mm
    if below <= outside[0, 0]:
        return outside
    low, end = (float(np.interp(height, outside[:, 0], outside[:, 1])) for height in (below, begins))
    slope = (end - low) / rim_wall_mm
    if slope - (float(outside[-1, 1]) - end) / (top - begins) < TURNED_IN:
        return outside
    kept = outside[outside[:, 0] < begins]
    widest = float(outside[outside[:, 0] >= below, 1].max())  # the lip is no wider than it was seen
    return np.vstack([kept, [begins, end], [top, min(end + slope * (top - begins), widest)]])


def lipped(
    side: Callable[[float, float], Floats],
    height_mm: float,
    rim_radius_mm: float,
    wall_mm: float,
    rim_wall_mm: float,
    floor_mm: float,
) -> tuple[Floats, Floats, float]:
    """Outside, inside and the height of the lip, for a wall that ends in a half-round lip square to its direction.

    The side is drawn a little lower and narrower until the lip itself reaches the height and the rim's radius.

    Args:
        side: draws the outside up to a given (height, radius).
        height_mm, rim_radius_mm: of the finished piece, over the lip.
        wall_mm, rim_wall_mm, floor_mm: as in `inside_of`.
    Raises:
        OutOfRange: if the lip is too thick for the wall that it is to end.
    """
    half = rim_wall_mm / 2
    top, mouth = height_mm - half, rim_radius_mm
    for turn in range(MOST_ROUNDS):
        up, out = _directions(side(top, mouth))[-1]
        wanted = height_mm - half * (1 + out), rim_radius_mm - (half * (1 - up) if out > 0 else 0.0)
        if abs(wanted[0] - top) + abs(wanted[1] - mouth) < SETTLED_MM:
            break
        # A thick lip on a short neck swings to and fro; after some rounds it is led there by halves.
        step = 1.0 if turn < MOST_ROUNDS // 3 else 0.5
        top, mouth = top + step * (wanted[0] - top), mouth + step * (wanted[1] - mouth)
    else:
        raise OutOfRange(
            f"rim of {rim_wall_mm:g} mm on a piece {height_mm:g} mm high",
            why="no half-round lip so thick goes on so short a wall",
            mend="Make the rim thinner, or have it cut flat",
        )
    outside = side(top, mouth)
    up, out = _directions(outside)[-1]
    inside = inside_of(outside, wall_mm, rim_wall_mm, floor_mm)
    centre = outside[-1] + half * np.array([out, -up])
    crest = math.atan2(up, -out)
    # The widest point of the lip is one of the points drawn, so that the rim measures what was asked.
    widest = max(0.0, math.atan2(out, up))
    turns = np.unique(np.append(np.linspace(0.0, crest, LIP_POINTS), widest))
    lip_out = _arc(centre, half, (up, out), turns[turns > 0])
    lip_in = _arc(centre, half, (up, out), np.linspace(math.pi, crest, LIP_POINTS)[1:])
    # What rest the rounds leave is put in the crest, which both lines share.
    lip_out[-1, 0] = lip_in[-1, 0] = height_mm
    return np.vstack([outside, lip_out]), np.vstack([inside, lip_in]), height_mm - float(outside[-1, 0])


def _arc(centre: Floats, radius: float, direction: tuple[float, float], turn: Floats) -> Floats:
    """Points of the lip: turn 0 on the outside, half a turn on the inside."""
    up, out = direction
    across = np.outer(np.cos(turn), [-out, up])
    ahead = np.outer(np.sin(turn), [up, out])
    result: Floats = centre + radius * (across + ahead)
    return result
