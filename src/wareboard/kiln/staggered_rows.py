"""Staggered rows of equal round pieces on a shelf: the arrangement that needs no search. Lengths in mm."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from wareboard.kiln.shelf import Floor, Points

ROUNDING = 1e-9  # share of a length that rounding may eat: 0.0000005 mm on a shelf of 500 mm


def clear_of(points: Points, blocked: Points) -> NDArray[np.bool_]:
    """True where a point (..., 2) is clear of every keep-out."""
    clear = np.ones(points.shape[:-1], dtype=bool)
    for x, y, reach in blocked:
        clear &= (points[..., 0] - x) ** 2 + (points[..., 1] - y) ** 2 >= (reach * (1.0 - ROUNDING)) ** 2
    return clear


# Rows set wider apart along than s let the rows come closer: from the hexagonal (1) to the square lattice turned (sqrt 2).
_STRETCHES = (1.0, 1.04, 1.1, 1.18, 1.28, math.sqrt(2.0))
_SHIFTS = 4


def best_lattice(room: Floor, spacing_mm: float, blocked: Points) -> Points:
    """The fullest of several hundred staggered-row arrangements: centres (n, 2).

    Rows run in several directions, are shifted in steps, and are stretched along the row until they come closer.
    A piece is then added wherever a hole is left.
    """
    edge = room.outline_mm()
    if len(edge) < 3:
        return fill_holes(np.empty((0, 2)), room, spacing_mm, blocked)
    angles = _row_directions(room)
    best, best_count = np.empty((0, 2)), -1
    for along, between, stagger in _row_pitches(room, spacing_mm):
        points = _rows_of(edge, along, between, stagger, angles)
        inside = (room.over_edge_mm(points) <= ROUNDING * spacing_mm) & clear_of(points, blocked)
        counts = inside.sum(axis=1)
        pick = int(counts.argmax())
        if counts[pick] > best_count:
            best, best_count = points[pick][inside[pick]], int(counts[pick])
    return fill_holes(best, room, spacing_mm, blocked)


def _row_directions(room: Floor) -> Points:
    if not len(room.sides):
        return np.radians((0.0, 15.0, 30.0, 45.0))
    along = np.arctan2(room.sides[:, 1], room.sides[:, 0])
    return np.unique(np.round(np.concatenate((along, along + math.pi / 2.0)) % math.pi, 9))


def _row_pitches(room: Floor, spacing_mm: float) -> tuple[tuple[float, float, float], ...]:
    """Pitch along a row, pitch from row to row, and stagger as a share of the pitch; last, rows that stand square.

    Beside the usual stretches those that just fit a whole or half number of pieces between two straight sides.
    """
    fitted = set(_STRETCHES)
    if len(room.sides) == 4 and not math.isfinite(room.radius_mm):
        for length in {float(2.0 * room.sides[0, 2]), float(2.0 * room.sides[1, 2])}:
            most = length / spacing_mm + 1e-12
            fitted |= {length / k / spacing_mm for k in (math.floor(most), math.floor(most - 0.5) + 0.5) if k > 0}
    stretches = sorted(stretch for stretch in fitted if 1.0 <= stretch <= math.sqrt(2.0) + 1e-12)
    staggered = [
        (stretch * spacing_mm, spacing_mm * math.sqrt(max(0.0, 1.0 - stretch**2 / 4.0)), 0.5) for stretch in stretches
    ]
    return (*staggered, (spacing_mm, spacing_mm, 0.0))


def _rows_of(edge: Points, along_mm: float, between_mm: float, stagger: float, angles: Points) -> Points:
    """Rows over the whole floor, for every direction and shift: (ways, points, 2)."""
    middle = (edge.max(axis=0) + edge.min(axis=0)) / 2.0
    reach = float(np.hypot(*(edge - middle).T).max())
    columns, lines = math.ceil(reach / along_mm) + 1, math.ceil(reach / between_mm) + 1
    i, j = np.meshgrid(np.arange(-columns, columns + 1), np.arange(-lines, lines + 1), indexing="ij")
    grid = np.column_stack(((i + stagger * (j % 2)).ravel() * along_mm, j.ravel() * between_mm))
    corners = edge - middle
    ways: list[Points] = []
    for angle in angles:
        cos, sin = math.cos(angle), math.sin(angle)
        turned = corners @ np.array([[cos, -sin], [sin, cos]])  # the floor as the rows see it
        low, high = turned.min(axis=0), turned.max(axis=0)
        shift = _shifts(low, high, along_mm, between_mm)
        back = np.array([[cos, sin], [-sin, cos]])
        ways.append((shift @ back + middle)[:, None, :] + (grid @ back)[None, :, :])
    return np.concatenate(ways)


def _shifts(low: Points, high: Points, along_mm: float, between_mm: float) -> Points:
    """Shifts in steps over one cell of the lattice, and those that set a row or a column hard against an edge."""
    even_x = np.arange(2 * _SHIFTS) / (2 * _SHIFTS) * along_mm
    even_y = np.arange(_SHIFTS) / _SHIFTS * between_mm
    x = np.concatenate((even_x, [low[0] % along_mm, (low[0] + along_mm / 2.0) % along_mm, high[0] % along_mm]))
    y = np.concatenate((even_y, [low[1], high[1]]))
    return np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)


_HOLE_STEPS = 48


def fill_holes(centres: Points, room: Floor, spacing_mm: float, blocked: Points) -> Points:
    """The same places, and one more wherever a fine grid over the floor finds room. The input is left alone."""
    edge = room.outline_mm(outside=True)
    if not len(edge):
        return centres
    low, high = edge.min(axis=0), edge.max(axis=0)
    x, y = (np.linspace(low[k], high[k], _HOLE_STEPS) for k in (0, 1))
    free = np.concatenate((np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2), room.outline_mm()))
    free = free[(room.over_edge_mm(free) <= ROUNDING * spacing_mm) & clear_of(free, blocked)]
    least = (spacing_mm * (1.0 - ROUNDING)) ** 2
    if len(centres) and len(free):
        free = free[(((free[:, None, :] - centres[None, :, :]) ** 2).sum(axis=-1) >= least).all(axis=1)]
    added: list[Points] = []
    while len(free):
        # The hole furthest to one side first, so that what is left stays in one piece.
        take = free[int(np.lexsort((free[:, 1], free[:, 0]))[0])]
        added.append(take)
        free = free[((free - take) ** 2).sum(axis=-1) >= least]
    return np.concatenate((centres, np.array(added))) if added else centres
