"""Lines on the skin of a solid as flat ribbons, so that a drawing program shows them as wide as they are cut."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.solid import Faces, Part
from wareboard.given import not_negative, positive

# So far outside the skin that neither its flats nor rounding in a drawing program's depth hide it.
LIFT_MM = 0.15
ROUND_SIDES = 10
SHARP = 0.94  # cosine of the turn beyond which a bend gets a round joint
SHORT_MM = 1e-9


def ribbon(
    lines_mm: Sequence[Floats], squares: Sequence[Floats], width_mm: float, lift_mm: float = LIFT_MM, name: str = "mark"
) -> Part:
    """All lines as one open surface, seen from outside, with round ends and round joints where a line bends sharply.

    Args:
        lines_mm: each (n, 3) on the skin, in steps short beside the curve of the skin; left alone.
        squares: for each line (n, 3), the directions square to the skin and outward, of length 1.
        width_mm: of the ribbon, mm, above 0.
        lift_mm: how far outside the skin it lies.
        name: of the part.
    Raises:
        OutOfRange: if a width is no such number, or there is no line longer than nothing.
    """
    half, lift = positive(width_mm, "width of a line", "mm") / 2, not_negative(lift_mm, "lift of a line", "mm")
    points: list[Floats] = []
    faces: list[Faces] = []
    begun = 0
    for line, square in zip(lines_mm, squares, strict=True):
        apart = np.concatenate([[True], np.linalg.norm(np.diff(line, axis=0), axis=1) > SHORT_MM])
        found, corners = _one(line[apart] + lift * square[apart], square[apart], half)
        points.append(found)
        faces.append(corners + begun)
        begun += len(found)
    if not begun:
        raise OutOfRange("lines on the piece", why="there are none", mend="Give one of two points or more")
    return Part(name, np.vstack(points), np.vstack(faces).astype(np.int64))


def _one(line: Floats, square: Floats, half: float) -> tuple[Floats, Faces]:
    """Points and faces of one line: a strip a step, and a disc at its ends and sharp bends."""
    if len(line) < 2:
        return np.empty((0, 3)), np.empty((0, 3), np.int64)
    step = np.diff(line, axis=0)
    step /= np.linalg.norm(step, axis=1)[:, None]
    # Left of the way along, as seen from outside.
    side = np.cross((square[:-1] + square[1:]) / 2, step)
    side *= half / np.linalg.norm(side, axis=1)[:, None]
    strip = np.stack([line[:-1] + side, line[:-1] - side, line[1:] - side, line[1:] + side], axis=1)
    first = 4 * np.arange(len(step))[:, None]
    faces = np.vstack([first + np.array([0, 1, 2]), first + np.array([0, 2, 3])])
    bends = np.einsum("ij,ij->i", step[:-1], step[1:]) < SHARP
    ends = np.flatnonzero(np.concatenate([[True], bends, [True]]))
    along = step[np.minimum(ends, len(step) - 1)]
    discs, corners = _discs(line[ends], square[ends], along, half)
    return np.vstack([strip.reshape(-1, 3), discs]), np.vstack([faces, corners + 4 * len(step)])


def _discs(middles: Floats, squares: Floats, along: Floats, half: float) -> tuple[Floats, Faces]:
    across = np.cross(squares, along)
    across /= np.linalg.norm(across, axis=1)[:, None]
    along = np.cross(across, squares)
    turn = np.arange(ROUND_SIDES) * 2 * np.pi / ROUND_SIDES
    rim = half * (np.cos(turn)[:, None] * along[:, None] + np.sin(turn)[:, None] * across[:, None])
    points = np.concatenate([middles[:, None], middles[:, None] + rim], axis=1)
    here, beside = 1 + np.arange(ROUND_SIDES), 1 + np.roll(np.arange(ROUND_SIDES), -1)
    one = np.column_stack([np.zeros_like(here), here, beside])
    faces = (one[None] + (1 + ROUND_SIDES) * np.arange(len(middles))[:, None, None]).reshape(-1, 3)
    return points.reshape(-1, 3), faces
