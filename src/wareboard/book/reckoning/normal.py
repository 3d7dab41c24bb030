"""What is held about a mean: normal with known scatter, and normal-inverse-gamma when the scatter is learned too."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wareboard.book.reckoning.given import Floats, chance, positive
from wareboard.book.reckoning.learned import NINE_IN_TEN, Prior


@dataclass(frozen=True, slots=True)
class NormalMean:
    """A mean known to ``deviation``, of values that scatter about it by a known ``scatter``.

    Source: gelman-bda-2-3, ch. 2: precisions add, the mean is weighted by them.
    """

    mean: float
    deviation: float
    scatter: float

    def __post_init__(self) -> None:
        positive(self.deviation, "uncertainty of the mean")
        positive(self.scatter, "scatter")

    def after(self, values: Floats, weights: Floats) -> NormalMean:
        """The same with more records (n,), each counted by its weight; the arrays are left alone."""
        before = 1.0 / self.deviation**2
        precision = before + float(weights.sum()) / self.scatter**2
        mean = (self.mean * before + float(weights @ values) / self.scatter**2) / precision
        return NormalMean(mean, 1.0 / math.sqrt(precision), self.scatter)

    def for_a_new_lot(self, lot_spread: float) -> NormalMean:
        """What is held of a lot not yet met: the same mean, known less well by the spread between lots."""
        return NormalMean(self.mean, math.hypot(self.deviation, lot_spread), self.scatter)

    @property
    def next_deviation(self) -> float:
        """Standard deviation of the next single value."""
        return math.hypot(self.deviation, self.scatter)

    def mean_range(self, share: float = NINE_IN_TEN) -> tuple[float, float]:
        """Range that holds the mean with that chance."""
        return _normal_range(self.mean, self.deviation, share)

    def next_range(self, share: float = NINE_IN_TEN) -> tuple[float, float]:
        """Range that holds the next single value with that chance."""
        return _normal_range(self.mean, self.next_deviation, share)

    def chance_above(self, limit: float) -> float:
        """Chance that the next single value lies above ``limit``."""
        return 0.5 * math.erfc((limit - self.mean) / (self.next_deviation * math.sqrt(2.0)))


@dataclass(frozen=True, slots=True)
class NormalInverseGamma:
    """A mean worth ``worth`` records, of values whose variance is inverse gamma (``shape``, ``scale``).

    Source: gelman-bda-2-3, ch. 3.
    """

    mean: float
    worth: float
    shape: float
    scale: float

    def __post_init__(self) -> None:
        for name in ("worth", "shape", "scale"):
            positive(getattr(self, name), f"{name} of the mean")

    def after(self, values: Floats, weights: Floats) -> NormalInverseGamma:
        """The same with more records (n,), each counted by its weight; the arrays are left alone."""
        counted = float(weights.sum())
        if counted == 0.0:
            return self
        own = float(weights @ values) / counted
        worth = self.worth + counted
        squares = float(weights @ (values - own) ** 2)
        apart = self.worth * counted * (own - self.mean) ** 2 / worth
        return NormalInverseGamma(
            (self.worth * self.mean + counted * own) / worth,
            worth,
            self.shape + 0.5 * counted,
            self.scale + 0.5 * (squares + apart),
        )

    def for_a_new_lot(self, lot_spread: float) -> NormalInverseGamma:
        """What is held of a lot not yet met: the same mean, worth fewer records by the spread between lots."""
        variance = self.scatter**2
        return NormalInverseGamma(self.mean, variance / (variance / self.worth + lot_spread**2), self.shape, self.scale)

    @property
    def scatter(self) -> float:
        """Standard deviation of single values, from the best value of the variance's inverse."""
        return math.sqrt(self.scale / self.shape)

    @property
    def freedom(self) -> float:
        """Degrees of freedom of Student's t for mean and next value."""
        return 2.0 * self.shape

    @property
    def next_scale(self) -> float:
        """Scale of Student's t for the next single value."""
        return self.scatter * math.sqrt(1.0 + 1.0 / self.worth)

    def mean_range(self, share: float = NINE_IN_TEN) -> tuple[float, float]:
        """Range that holds the mean with that chance."""
        return _student_range(self.mean, self.scatter / math.sqrt(self.worth), self.freedom, share)

    def next_range(self, share: float = NINE_IN_TEN) -> tuple[float, float]:
        """Range that holds the next single value with that chance."""
        return _student_range(self.mean, self.next_scale, self.freedom, share)

    def scatter_range(self, share: float = NINE_IN_TEN) -> tuple[float, float]:
        """Range that holds the standard deviation of single values with that chance."""
        from scipy.special import gammaincinv

        tail = 0.5 * (1.0 - chance(share, "share of the range"))
        high, low = (math.sqrt(self.scale / float(gammaincinv(self.shape, at))) for at in (tail, 1.0 - tail))
        return low, high

    def chance_above(self, limit: float) -> float:
        """Chance that the next single value lies above ``limit``."""
        from scipy.special import stdtr

        return float(stdtr(self.freedom, (self.mean - limit) / self.next_scale))


def _normal_range(mean: float, deviation: float, share: float) -> tuple[float, float]:
    from scipy.special import ndtri

    half = float(ndtri(0.5 + 0.5 * chance(share, "share of the range"))) * deviation
    return mean - half, mean + half


def _student_range(mean: float, scale: float, freedom: float, share: float) -> tuple[float, float]:
    from scipy.special import stdtrit

    half = float(stdtrit(freedom, 0.5 + 0.5 * chance(share, "share of the range"))) * scale
    return mean - half, mean + half


def variance_of_scatter(scatter: Prior) -> tuple[float, float]:
    """Shape and scale of the inverse gamma for the variance whose root has the prior's range, nine in ten.

    The ratio of the two ends fixes the shape, their geometric middle the scale; the prior's own value is not used,
    because an inverse gamma with these two ends has no freedom left.

    Raises:
        OutOfRange: if the low end of the scatter is not above 0.
    Source: quantiles of the gamma distribution.
    """
    positive(scatter.low, f"low end of {scatter.label!r}")
    shape = _shape_for(2.0 * math.log(scatter.high / scatter.low))
    low, high = _gamma_ends(shape)
    # scale = variance * gamma quantile, at either end; the geometric mean of both evens out the root's last digits.
    return shape, math.sqrt(scatter.low**2 * high * scatter.high**2 * low)


def _gamma_ends(shape: float) -> tuple[float, float]:
    from scipy.special import gammaincinv

    low, high = gammaincinv(shape, np.array([0.05, 0.95]))
    return float(low), float(high)


def _shape_for(log_ratio: float) -> float:
    """Shape of the gamma distribution whose 95 % and 5 % points have this ratio (its logarithm given)."""
    low, high = 0.05, 1e7
    for _ in range(80):
        middle = math.sqrt(low * high)
        ends = _gamma_ends(middle)
        if math.log(ends[1] / ends[0]) > log_ratio:
            low = middle
        else:
            high = middle
    return math.sqrt(low * high)
