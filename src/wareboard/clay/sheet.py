"""Water moving through a plane sheet of clay: how much has gone, and when the inside lags behind the surface.

A sheet that dries from both faces has half thickness l; one that dries from one face has l equal to its thickness. Time is
counted as T = D t / l^2, with D the diffusivity. Clay has no single D: the value depends on how it is dried, so that this
serves to say how far a thick base lags, and not to foretell a curve from a table.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange
from wareboard.given import positive

SOURCE = "crank-1975"
TERMS = 60
EARLY = 0.02  # below this the short-time form is exact to more than ten digits, and the series needs many terms

Floats = NDArray[np.float64]


def _times(number: ArrayLike) -> Floats:
    times = np.asarray(number, dtype=np.float64)
    if not np.all(np.isfinite(times)) or np.any(times < 0.0):
        raise OutOfRange("a time is negative or not finite", why="T = D t / l^2 counts from 0 up", mend="Give T >= 0")
    return times


def _odd() -> Floats:
    return 2.0 * np.arange(TERMS, dtype=np.float64) + 1.0


def share_gone_early(number: ArrayLike) -> Floats:
    """Share of the water that has gone soon after the start, surface held constant: 2 sqrt(T / pi); good to T = 0.1.

    Source: crank-1975, first term of the short-time solution.
    """
    return np.asarray(2.0 * np.sqrt(_times(number) / math.pi))


def share_gone(number: ArrayLike) -> Floats:
    """Share of the water to be lost that has gone from a sheet whose surface is held at its end value.

    Args:
        number: T = D t / l^2, any shape, 0 or more.
    Raises:
        OutOfRange: if a time is negative or not finite.
    Source: crank-1975, plane sheet with constant surface concentration, trigonometric series.
    """
    times = _times(number)
    odd = _odd()
    fading = np.exp(-((odd * math.pi) ** 2) * times[..., None] / 4.0)
    late = 1.0 - np.sum(8.0 / (math.pi * odd) ** 2 * fading, axis=-1)
    return np.asarray(np.where(times < EARLY, share_gone_early(times), late))


def centre_gone(number: ArrayLike) -> Floats:
    """Share of its change that the middle of the sheet has made, surface held at its end value.

    Source: crank-1975, plane sheet with constant surface concentration, at the centre.
    """
    times = _times(number)
    odd = _odd()
    signs = np.where(np.arange(TERMS) % 2 == 0, 1.0, -1.0)
    fading = np.exp(-((odd * math.pi) ** 2) * times[..., None] / 4.0)
    late = 1.0 - np.sum(4.0 * signs / (math.pi * odd) * fading, axis=-1)
    # Before this the centre has moved by less than one part in a hundred thousand million.
    return np.asarray(np.where(times < EARLY / 4.0, 0.0, late))


def time_for_share(gone: float) -> float:
    """T at which that share has gone, surface held at its end value.

    Args:
        gone: fraction from 0 to 0.999999.
    Raises:
        OutOfRange: outside that.
    Source: crank-1975, the series of `share_gone` turned round by halving.
    """
    from wareboard.clay.air import halved

    if not (math.isfinite(gone) and 0.0 <= gone <= 0.999999):
        raise OutOfRange(f"share gone is {gone:g}", why="it must be from 0 to 0.999999", mend="Write 90 % as 0.90")
    return halved(lambda number: float(share_gone(number)) - gone, 0.0, 6.0)


def surface_roots(surface_number: ArrayLike, count: int = 1) -> Floats:
    """First roots of beta tan(beta) = L, on a new last axis.

    Args:
        surface_number: L = l * alpha / D, surface against inside; above 0, any shape.
        count: how many roots.
    Raises:
        OutOfRange: if an L is not a finite number above 0.
    Source: crank-1975, surface evaporation, section 4.3.6.
    """
    numbers = np.asarray(surface_number, dtype=np.float64)
    if not np.all(np.isfinite(numbers)) or np.any(numbers <= 0.0):
        raise OutOfRange("surface number L is not above 0", why="L = l * alpha / D is positive", mend="Give L above 0")
    branch = math.pi * np.arange(count)
    low = np.zeros((*numbers.shape, count))
    high = np.full_like(low, math.pi / 2.0)
    for _ in range(60):
        middle = 0.5 * (low + high)
        above = (branch + middle) * np.sin(middle) > numbers[..., None] * np.cos(middle)
        high = np.where(above, middle, high)
        low = np.where(above, low, middle)
    return np.asarray(branch + 0.5 * (low + high))


def share_gone_by_evaporation(number: ArrayLike, surface_number: float) -> Floats:
    """Share of the water to be lost that has gone when the surface lets it go at a rate in proportion to its excess.

    Args:
        number: T = D t / l^2, any shape, 0 or more.
        surface_number: L = l * alpha / D, above 0.
    Raises:
        OutOfRange: if a time is negative, or L is not above 0.
    Source: crank-1975, section 4.3.6 (equation number from memory).
    """
    times = _times(number)
    of = positive(surface_number, "surface number L")
    roots = surface_roots(of, TERMS)
    weights = 2.0 * of**2 / (roots**2 * (roots**2 + of**2 + of))
    # The terms left out all belong to the first moments; dividing by the sum makes the start exactly 0.
    return np.asarray(1.0 - np.sum(weights * np.exp(-(roots**2) * times[..., None]), axis=-1) / np.sum(weights))


def lag(surface_number: ArrayLike) -> Floats:
    """How much more water is left in a sheet than its surface shows: mean excess over surface excess, 1 when thin.

    For the slowest mode the mean over the surface value is tan(beta) / beta = L / beta^2; for a thin sheet it is 1 + L / 3,
    as for the parabola that a constant flow draws.

    Args:
        surface_number: L = l * alpha / D, above 0, any shape.
    Source: crank-1975, section 4.3.6, first mode.
    """
    numbers = np.asarray(surface_number, dtype=np.float64)
    return np.asarray(numbers / surface_roots(numbers)[..., 0] ** 2)
