"""Endless rows of handled pieces with the handles between, and the best way to lay them on a shelf. Lengths in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice

import numpy as np

from wareboard.kiln.footprint import Footprint, least_room_mm, stand_clear
from wareboard.kiln.shelf import Floor, Points


def _cross(a: Points, b: Points) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """An endless pattern: two steps that repeat it, and the pieces in one repeat as x, y, angle (c, 3)."""

    along_mm: Points
    across_mm: Points
    pieces: Points

    @property
    def floor_per_piece_mm2(self) -> float:
        return abs(_cross(self.along_mm, self.across_mm)) / len(self.pieces)


def _far_side(towards: Points, centres: Points, radii: Points) -> Points:
    """How far along each direction (a, 2) the last of the discs (k, 2), (k,) is left: (a,); 0 if none is met."""
    along = towards @ centres.T
    aside = towards[:, :1] * centres[None, :, 1] - towards[:, 1:] * centres[None, :, 0]
    half = np.sqrt(np.maximum(0.0, radii**2 - aside**2))
    left = np.where(np.abs(aside) < radii, along + half, 0.0)
    furthest: Points = np.maximum(0.0, left.max(axis=1))
    return furthest


_DIRECTIONS = 36


@lru_cache(maxsize=64)
def _tightest_rows(piece: Footprint, clearance_mm: float) -> tuple[_Rows, ...]:
    """The patterns that take least floor: all handles one way, and rows turned about alternately."""
    out, radius = np.array(piece.out_mm), np.array(piece.radius_mm)
    apart = (radius[:, None] + radius + clearance_mm).ravel()
    alike = np.column_stack(((out[:, None] - out).ravel(), np.zeros(apart.size)))
    turned = np.column_stack(((out[:, None] + out).ravel(), np.zeros(apart.size)))
    angles = math.pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    towards = np.column_stack((np.cos(angles), np.sin(angles)))
    found: list[_Rows] = []
    for toward, length in zip(towards, _far_side(towards, alike, apart), strict=True):
        along = toward * length
        shifts = along * np.arange(-3, 4)[:, None]
        up = np.array([[toward[0], toward[1]], [-toward[1], toward[0]]])
        # Directions to the far side of the row, none so flat that the row's end would be passed instead.
        fans = towards[_DIRECTIONS // 6 : -_DIRECTIONS // 6 + 1] @ up
        onward = _next_row(fans, alike, apart, shifts, toward)
        over = _next_row(fans, turned, apart, shifts, toward)
        back = _next_row(fans, -turned, apart, shifts, toward)
        found.append(_Rows(along, onward, np.zeros((1, 3))))
        found.append(_Rows(along, over + back, np.array([(0.0, 0.0, 0.0), (*over, math.pi)])))
    found.sort(key=lambda rows: rows.floor_per_piece_mm2)
    return tuple(islice((rows for rows in found if _rows_are_sound(rows, piece, clearance_mm)), 4))


def _next_row(fans: Points, centres: Points, apart: Points, shifts: Points, toward: Points) -> Points:
    """The step to the next row that takes least floor, clear of every piece of this row."""
    every = (centres[None, :, :] + shifts[:, None, :]).reshape(-1, 2)
    lengths = _far_side(fans, every, np.tile(apart, len(shifts)))
    rise = lengths * (toward[0] * fans[:, 1] - toward[1] * fans[:, 0])
    pick = int(np.argmin(np.where(rise > 0.0, rise, np.inf)))
    step: Points = fans[pick] * lengths[pick]
    return step


def _rows_are_sound(rows: _Rows, piece: Footprint, clearance_mm: float) -> bool:
    """True if no two pieces of the pattern come too close within two steps each way."""
    steps = np.arange(-2, 3)
    moves = (steps[:, None, None] * rows.along_mm + steps[None, :, None] * rows.across_mm).reshape(-1, 1, 2)
    centres = (moves + rows.pieces[:, :2]).reshape(-1, 2)
    places = np.column_stack((centres, np.tile(rows.pieces[:, 2], len(moves))))
    return least_room_mm([piece] * len(places), places) >= clearance_mm - 1e-6


_TURNS, _STEPS, _AT_A_TIME = 36, 3, 24


def best_rows(piece: Footprint, floor: Floor, clearance_mm: float, blocked: Points) -> Points:
    """The fullest of the tightest patterns, turned and shifted in steps on the floor: x, y, angle (n, 3)."""
    edge = floor.outline_mm()
    if len(edge) < 3:
        return np.empty((0, 3))
    middle = (edge.max(axis=0) + edge.min(axis=0)) / 2.0
    reach = float(np.hypot(*(edge - middle).T).max()) - piece.radius_mm[0]
    body = Footprint(piece.out_mm[:1], piece.radius_mm[:1])
    best = np.empty((0, 3))
    for rows in _tightest_rows(piece, clearance_mm):
        centres, angles = _every_way(rows, reach, middle)
        # Bodies alone are quick to look at and can only be too many: the rest is looked at in that order.
        most = stand_clear(body, centres, angles, floor, blocked).sum(axis=1)
        order = np.argsort(-most, kind="stable")
        for first in range(0, len(order), _AT_A_TIME):
            some = order[first : first + _AT_A_TIME]
            if most[some[0]] <= len(best):
                break
            stands = stand_clear(piece, centres[some], angles[some], floor, blocked)
            pick = int(stands.sum(axis=1).argmax())
            if stands[pick].sum() > len(best):
                best = np.column_stack((centres[some[pick]], angles[some[pick]]))[stands[pick]]
    return best


def _every_way(rows: _Rows, reach_mm: float, middle: Points) -> tuple[Points, Points]:
    """The pattern in every turn and shift: centres (ways, n, 2), angles (ways, n)."""
    pattern = _enough_of(rows, max(0.0, reach_mm))
    shares = np.arange(_STEPS) / _STEPS
    shifts = (shares[:, None, None] * rows.along_mm + shares[None, :, None] * rows.across_mm).reshape(-1, 2)
    turns = 2.0 * math.pi * np.arange(_TURNS) / _TURNS
    back = np.array([[np.cos(turns), np.sin(turns)], [-np.sin(turns), np.cos(turns)]])  # (2, 2, turns)
    centres = (
        np.einsum("ni,ijt->tnj", pattern[:, :2], back)[:, None] + np.einsum("si,ijt->tsj", shifts, back)[:, :, None]
    )
    angles = np.broadcast_to((pattern[:, 2] + turns[:, None])[:, None, :], centres.shape[:3])
    return centres.reshape(-1, len(pattern), 2) + middle, angles.reshape(-1, len(pattern))


def _enough_of(rows: _Rows, reach_mm: float) -> Points:
    """As many repeats as cover a disc of ``reach_mm`` however they are shifted: x, y, angle (n, 3)."""
    area = abs(_cross(rows.along_mm, rows.across_mm))
    far = reach_mm + float(np.hypot(*rows.along_mm)) + float(np.hypot(*rows.across_mm))
    i_most = math.ceil(far * float(np.hypot(*rows.across_mm)) / area)
    j_most = math.ceil(far * float(np.hypot(*rows.along_mm)) / area)
    i, j = np.meshgrid(np.arange(-i_most, i_most + 1), np.arange(-j_most, j_most + 1))
    moves = i.reshape(-1, 1, 1) * rows.along_mm + j.reshape(-1, 1, 1) * rows.across_mm
    centres = (moves + rows.pieces[:, :2]).reshape(-1, 2)
    angles = np.tile(rows.pieces[:, 2], len(moves))
    near = np.hypot(*centres.T) <= far
    enough: Points = np.column_stack((centres, angles))[near]
    return enough
