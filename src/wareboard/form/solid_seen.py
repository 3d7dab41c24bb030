"""A solid seen from one side, dot by dot: which of its faces is nearest at each, what of lines and places is not hidden.

Looked at from far off (an orthographic view), so that what is as large is drawn as large.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.skin import Skin
from wareboard.form.solid import Part, Solid
from wareboard.form.solid_files import STAGE_COLOURS, shaded
from wareboard.form.solid_view import AMBIENT, LIGHT, SIDE, Frame, frame_of, turned

# What lies no deeper than this behind the nearest face is on it: the solid drawn has fewer sides than the piece.
DEPTH_MM = 1.5
# A place is seen while its surface is turned towards the eye by more than this cosine.
FACING = 0.05
MOST_DOTS = 2000
BRIGHTEST = 1.35
EMPTY = -1
INK = "#1f120d"


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """A view: for each dot the nearest face (`EMPTY` for none), its nearness in mm, and where in the face (b, c) it lies."""

    frame: Frame
    turn_deg: float
    tip_deg: float
    face: NDArray[np.int64]
    near_mm: Floats
    within: Floats

    def shows(self, points_mm: Floats, squares: Floats, facing_by: float = FACING) -> NDArray[np.bool_]:
        """(n,) whether points (n, 3) on the skin, with the directions (n, 3) square to it, are neither behind nor hidden.

        ``facing_by`` is the cosine by which the skin must be turned towards the eye: nearer to 1, less of the edge counts.
        """
        seen = turned(points_mm, self.turn_deg, self.tip_deg)
        facing = turned(squares, self.turn_deg, self.tip_deg)[:, 2] > facing_by
        dots = len(self.face)
        column, row = np.floor(self.frame.places(seen, dots)).astype(int).T
        inside = (column >= 0) & (column < dots) & (row >= 0) & (row < dots)
        nearest = self.near_mm[np.clip(row, 0, dots - 1), np.clip(column, 0, dots - 1)]
        return np.asarray(facing & inside & (seen[:, 2] > nearest - DEPTH_MM))


def look(solid: Solid, turn_deg: float, tip_deg: float, wide_mm: float | None = None, dots: int = 400) -> Seen:
    """The solid looked at in a square picture of so many dots a side.

    Args:
        solid: in mm; few faces keep it quick.
        turn_deg, tip_deg, wide_mm: as in `wareboard.form.solid_view`.
        dots: 8 to 2000.
    Raises:
        OutOfRange: if the dots are too few or too many.
    Source: depth buffer, common practice in drawing solids; places within a face by barycentric co-ordinates.
    """
    if not 8 <= dots <= MOST_DOTS:
        raise OutOfRange(f"picture of {dots} dots", why=f"it has 8 to {MOST_DOTS}", mend="Give another number")
    frame = frame_of(solid, tip_deg, wide_mm)
    corners = turned(np.vstack([part.points_mm[part.faces] for part in solid.parts]), turn_deg, tip_deg)
    flat = frame.places(corners, dots)
    face = np.full((dots, dots), EMPTY, np.int64)
    near = np.full((dots, dots), -np.inf)
    (ax, ay), (bx, by), (cx, cy) = (flat[:, corner].T for corner in range(3))
    # Twice the area; what faces the eye runs the other way round on a picture whose rows go down.
    area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    low = np.clip(np.ceil(flat.min(axis=1) - 0.5), 0, dots).astype(int)
    high = np.clip(np.floor(flat.max(axis=1) - 0.5) + 1, 0, dots).astype(int)
    for number in np.flatnonzero((area < -1e-9) & (high > low).all(axis=1)):
        (left, top), (right, bottom) = low[number], high[number]
        x = np.arange(left, right)[None, :] + 0.5 - ax[number]
        y = np.arange(top, bottom)[:, None] + 0.5 - ay[number]
        b = (x * (cy[number] - ay[number]) - y * (cx[number] - ax[number])) / area[number]
        c = (y * (bx[number] - ax[number]) - x * (by[number] - ay[number])) / area[number]
        z = corners[number, :, 2]
        depth = z[0] + b * (z[1] - z[0]) + c * (z[2] - z[0])
        here = near[top:bottom, left:right]
        nearer = (b >= -1e-9) & (c >= -1e-9) & (b + c <= 1 + 1e-9) & (depth > here)
        here[nearer] = depth[nearer]
        face[top:bottom, left:right][nearer] = number
    return Seen(frame, turn_deg, tip_deg, face, near, _within(face, flat, area))


def _within(face: NDArray[np.int64], flat: Floats, area: Floats) -> Floats:
    rows, columns = np.nonzero(face != EMPTY)
    hit = face[rows, columns]
    a, b, c = (flat[hit, corner] for corner in range(3))
    x, y = columns + 0.5 - a[:, 0], rows + 0.5 - a[:, 1]
    found = np.zeros((*face.shape, 2))
    found[rows, columns, 0] = (x * (c[:, 1] - a[:, 1]) - y * (c[:, 0] - a[:, 0])) / area[hit]
    found[rows, columns, 1] = (y * (b[:, 0] - a[:, 0]) - x * (b[:, 1] - a[:, 1])) / area[hit]
    return found


def lines_over(seen: Seen, lines_mm: Sequence[Floats], squares: Sequence[Floats], width_mm: float) -> str:
    """What is seen of lines on the skin, as a path for `view_svg`; each line (n, 3) with its outward directions (n, 3)."""
    runs: list[str] = []
    for line, square in zip(lines_mm, squares, strict=True):
        shown = seen.shows(line, square)
        places = seen.frame.places(turned(line, seen.turn_deg, seen.tip_deg))
        edges = np.flatnonzero(np.diff(np.concatenate([[False], shown, [False]]).astype(int)))
        for begin, end in edges.reshape(-1, 2):
            if end - begin > 1:
                runs.append("M" + "L".join(f"{x:.1f},{y:.1f}" for x, y in places[begin:end]))
    if not runs:
        return ""
    wide = max(0.8, width_mm * SIDE / seen.frame.wide_mm)
    return f'<path d="{"".join(runs)}" fill="none" stroke="{INK}" stroke-width="{wide:.2f}" stroke-linecap="round"/>'


def picture(seen: Seen, solid: Solid, stage: str, skin: Skin | None = None, fine: bool = False) -> NDArray[np.uint8]:
    """The view as a shaded picture, (dots, dots, 4) of 8-bit sRGB and how far it covers; the skin's colours where it lies.

    Args:
        seen: of the same solid.
        stage: for the colour of the clay.
        skin: a picture round the body.
        fine: as the solid was made.
    """
    rows, columns = np.nonzero(seen.face != EMPTY)
    hit, within = seen.face[rows, columns], seen.within[rows, columns]
    share = np.column_stack([1 - within.sum(axis=1), within])
    directions = np.vstack([_corner_directions(part) for part in solid.parts])
    direction = turned(np.einsum("nk,nkj->nj", share, directions[hit]), seen.turn_deg, seen.tip_deg)
    direction /= np.maximum(np.linalg.norm(direction, axis=1), 1e-9)[:, None]
    clay = (skin.ground if skin else None) or STAGE_COLOURS.get(stage, STAGE_COLOURS["fired"])
    colour = np.tile(np.array(clay), (len(hit), 1))
    if skin is not None:
        places, under = skin.co_ordinates(solid.parts[0], fine)
        on = np.flatnonzero(hit < len(under))
        on = on[under[hit[on]]]
        u, v = np.einsum("nk,nkj->jn", share[on], places[hit[on]])
        high, wide = skin.rgb.shape[:2]
        column = np.floor(u * wide).astype(int) % wide
        colour[on] = skin.rgb[np.clip((v * high).astype(int), 0, high - 1), column] / 255
    # A tile's colour is that of a surface turned to the light, so a painting is never lit beyond it.
    shade = (0.35 + AMBIENT + (1 - AMBIENT) * np.clip(direction @ LIGHT, 0.0, 1.0)) / (
        1.0 if skin is None else BRIGHTEST
    )
    found = np.zeros((*seen.face.shape, 4), np.uint8)
    found[rows, columns, :3] = np.clip(np.round(255 * colour * shade[:, None]), 0, 255)
    found[rows, columns, 3] = 255
    return found


def _corner_directions(part: Part) -> Floats:
    _, direction, faces = shaded(part)
    found: Floats = direction[faces]
    return found


def smaller(rgba: NDArray[np.uint8], times: int = 2) -> NDArray[np.uint8]:
    """The picture with each block of dots averaged into one, so that edges are smooth."""
    side = len(rgba) // times
    blocks = rgba[: side * times, : side * times].reshape(side, times, side, times, 4).astype(float)
    cover = blocks[..., 3:].sum(axis=(1, 3))
    colour = (blocks[..., :3] * blocks[..., 3:]).sum(axis=(1, 3)) / np.maximum(cover, 1.0)
    whole = np.concatenate([colour, cover / math.prod((times, times))], axis=-1)
    return np.asarray(np.round(whole), np.uint8)
