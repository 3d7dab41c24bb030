"""A smooth line through a few points that never overshoots them (monotone cubic)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def _slopes(places: Floats, values: Floats) -> Floats:
    """Slope at each point: a weighted harmonic mean of the two chords, and 0 where they change sign."""
    widths = np.diff(places)
    chords = np.diff(values) / widths
    if len(values) == 2:
        return np.array([chords[0], chords[0]])
    slopes = np.zeros_like(values)
    left, right = chords[:-1], chords[1:]
    same = left * right > 0
    first, second = 2 * widths[1:] + widths[:-1], widths[1:] + 2 * widths[:-1]
    slopes[1:-1][same] = (first[same] + second[same]) / (first[same] / left[same] + second[same] / right[same])
    slopes[0] = _end_slope(widths[0], widths[1], chords[0], chords[1])
    slopes[-1] = _end_slope(widths[-1], widths[-2], chords[-1], chords[-2])
    return slopes


def _end_slope(width: float, next_width: float, chord: float, next_chord: float) -> float:
    """One-sided three-point slope, held so that the curve keeps the sense of its first chord."""
    slope = ((2 * width + next_width) * chord - width * next_chord) / (width + next_width)
    if np.sign(slope) != np.sign(chord):
        return 0.0
    if np.sign(chord) != np.sign(next_chord) and abs(slope) > 3 * abs(chord):
        return float(3 * chord)
    return float(slope)


def monotone_cubic(places: Floats, values: Floats, at: Floats) -> Floats:
    """Values at ``at`` of the monotone cubic through (places, values).

    Args:
        places: (n,) strictly rising, n >= 2.
        values: (n,).
        at: (m,) within the places.
    Source: F. N. Fritsch and J. Butland, A method for constructing local monotone piecewise cubic interpolants, 1984
        (fritsch-butland-1984); end slopes as in the common three-point rule.
    """
    slopes = _slopes(places, values)
    piece = np.clip(np.searchsorted(places, at, side="right") - 1, 0, len(places) - 2)
    width = places[piece + 1] - places[piece]
    t = (at - places[piece]) / width
    blend = t * t * (3 - 2 * t)
    rise = t * (1 - t) ** 2 * slopes[piece] - t * t * (1 - t) * slopes[piece + 1]
    result: Floats = values[piece] * (1 - blend) + values[piece + 1] * blend + width * rise
    return result


def smooth_through(points_mm: Floats, count: int = 64) -> Floats:
    """(count, 2) points of a smooth line through ``points_mm``, close together where it is long; ends are met exactly.

    The two coordinates run as monotone cubics over the chord length, so neither overshoots between its points.

    Args:
        points_mm: (n, 2), no two neighbours alike; left alone.
        count: how many points to give back.
    Source: chord-length parameter, any text on curves; see `monotone_cubic`.
    """
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points_mm, axis=0).T))])
    at = np.linspace(0.0, along[-1], count)
    line = np.column_stack([monotone_cubic(along, points_mm[:, axis], at) for axis in (0, 1)])
    line[0], line[-1] = points_mm[0], points_mm[-1]
    return line
