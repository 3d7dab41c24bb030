"""A straight line through a figure over firing numbers, and the firing at which it reaches a limit, with 90 % ranges."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.working import Estimate

Array = NDArray[np.float64]
LEAST_FIRINGS = 4
FURTHEST_FIRINGS = 1000  # beyond this nobody plans, and a line through a few firings tells nothing


@dataclass(frozen=True, slots=True)
class Line:
    """A least-squares line through a figure over firing numbers, with what it needs to tell its own spread."""

    slope: float
    middle: float
    height: float
    scatter: float
    spread_sq: float
    count: int

    def at(self, number: float | Array) -> Array:
        """The line at firing numbers."""
        return np.asarray(self.height + self.slope * (np.asarray(number) - self.middle))

    def half(self, number: float | Array, one_more: bool = True) -> Array:
        """Half width of the 90 % range of one more firing (or of the line itself) at firing numbers.

        Source: prediction interval of a straight line by Student's t (any text of statistics).
        """
        from scipy.stats import t as student

        share = 1.0 / self.count + (np.asarray(number) - self.middle) ** 2 / self.spread_sq + (1.0 if one_more else 0.0)
        return np.asarray(float(student.ppf(0.95, self.count - 2)) * self.scatter * np.sqrt(share))


def line_through(numbers: Sequence[float], values: Sequence[float]) -> Line:
    """The least-squares line of a figure over firing numbers.

    Raises:
        OutOfRange: for fewer than four firings, numbers that repeat, or a missing number.
    """
    x, y = np.asarray(numbers, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if len(x) < LEAST_FIRINGS or len(x) != len(y) or len(np.unique(x)) < len(x) or not np.isfinite([x, y]).all():
        raise OutOfRange(
            f"a line through {len(x)} firings",
            why=f"it needs a number for each of at least {LEAST_FIRINGS} different firings",
            mend="Record more firings, each once",
        )
    middle, height = float(x.mean()), float(y.mean())
    spread_sq = float(np.sum((x - middle) ** 2))
    slope = float(np.sum((x - middle) * (y - height)) / spread_sq)
    left = y - height - slope * (x - middle)
    return Line(slope, middle, height, math.sqrt(float(np.sum(left**2)) / (len(x) - 2)), spread_sq, len(x))


@dataclass(frozen=True, slots=True)
class Forecast:
    """The firing number at which wear reaches a limit, with its 90 % range; days where firings a week were given.

    A limit that lies ahead is taken as not met by the last firing recorded.
    ``high`` is None where the range has no end within a thousand firings.
    """

    firing: float
    low: float
    high: float | None
    day: date | None = None
    low_day: date | None = None
    high_day: date | None = None

    @property
    def words(self) -> str:
        """At which firing the elements are due, with the range, in words."""
        end = f"{self.high:.0f}" if self.high is not None else "no end in sight"
        days = f", about {self.day.isoformat()}" if self.day else ""
        return f"about firing {math.ceil(self.firing)} ({self.low:.0f} to {end}){days}"


def crossing(line: Line, limit: Estimate) -> tuple[float, float, float | None] | None:
    """Firing number at which a line reaches a limit, and the 90 % range of it; None where it never will.

    The range ends where the prediction interval of one more firing, with the doubt of the limit beside it, meets the limit.
    """
    if line.slope <= 0.0:
        return None
    number = line.middle + (limit.value - line.height) / line.slope
    last = line.middle + math.sqrt(3.0 * line.spread_sq / line.count)  # about the last firing seen
    if number > last + FURTHEST_FIRINGS:
        return None
    numbers = np.arange(1.0, math.ceil(max(number, last)) + FURTHEST_FIRINGS + 1.0)
    seen, half = line.at(numbers), line.half(numbers)
    early = np.flatnonzero(seen + np.hypot(half, limit.value - limit.low) >= limit.value)
    # The lower edge may dip before it rises; only what stays above counts as the end.
    late = np.flatnonzero(seen - np.hypot(half, limit.high - limit.value) < limit.value)
    high = float(numbers[late[-1]] + 1.0) if len(late) and late[-1] + 1 < len(numbers) else None
    return number, float(min(numbers[early[0]], number)), high
