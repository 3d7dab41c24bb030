"""Constants of run charts for groups of 2 to 25 values, worked out from the distribution of the range of a normal sample."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from wareboard.errors import OutOfRange

MOST_IN_A_GROUP = 25


@dataclass(frozen=True, slots=True)
class ChartConstants:
    """For groups of ``size``: mean and deviation of the range and bias of the deviation, all over the true scatter.

    ``a2`` and ``a3`` set the limits of means from the mean range and the mean deviation; ``low_range`` and ``high_range``
    (D3 and D4) those of ranges, ``low_deviation`` and ``high_deviation`` (B3 and B4) those of deviations.
    """

    size: int
    mean_range: float
    range_deviation: float
    deviation_bias: float

    @property
    def a2(self) -> float:
        return 3.0 / (self.mean_range * math.sqrt(self.size))

    @property
    def a3(self) -> float:
        return 3.0 / (self.deviation_bias * math.sqrt(self.size))

    @property
    def low_range(self) -> float:
        return max(0.0, 1.0 - 3.0 * self.range_deviation / self.mean_range)

    @property
    def high_range(self) -> float:
        return 1.0 + 3.0 * self.range_deviation / self.mean_range

    @property
    def low_deviation(self) -> float:
        return max(0.0, 1.0 - 3.0 * math.sqrt(1.0 - self.deviation_bias**2) / self.deviation_bias)

    @property
    def high_deviation(self) -> float:
        return 1.0 + 3.0 * math.sqrt(1.0 - self.deviation_bias**2) / self.deviation_bias


@cache
def chart_constants(size: int) -> ChartConstants:
    """The constants for groups of ``size`` values, 2 to 25.

    Raises:
        OutOfRange: if the size lies outside.
    Source: range-distribution: P(range <= w) = n * integral of phi(x) (Phi(x + w) - Phi(x))^(n - 1); the bias of
        the deviation is sqrt(2 / (n - 1)) gamma(n / 2) / gamma((n - 1) / 2).
    """
    if not 2 <= size <= MOST_IN_A_GROUP:
        raise OutOfRange(
            f"a group of {size}", f"constants are worked out for 2 to {MOST_IN_A_GROUP} values", "Use smaller groups"
        )
    mean, square = _range_moments(size)
    bias = math.sqrt(2.0 / (size - 1.0)) * math.exp(math.lgamma(0.5 * size) - math.lgamma(0.5 * (size - 1.0)))
    return ChartConstants(size, mean, math.sqrt(square - mean**2), bias)


def _range_moments(size: int) -> tuple[float, float]:
    """Mean and mean square of the range, from its survival: the integrals of 1 - P(w) and of 2 w (1 - P(w))."""
    from scipy.special import ndtr

    x = np.linspace(-9.0, 9.0, 721)
    density = np.exp(-0.5 * x**2) / math.sqrt(2.0 * math.pi)
    nodes, weights = np.polynomial.legendre.leggauss(80)
    # A range beyond 16 scatters does not happen to a double.
    w, weights = 8.0 * (nodes + 1.0), 8.0 * weights
    between = ndtr(x[None, :] + w[:, None]) - ndtr(x)[None, :]
    below = size * (between ** (size - 1)) @ density * (x[1] - x[0])
    return float(weights @ (1.0 - below)), float(2.0 * weights @ (w * (1.0 - below)))
