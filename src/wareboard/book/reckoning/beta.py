"""What is held about a share: beta, with the count of the next pieces beta-binomial."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from wareboard.book.reckoning.given import Floats, chance, positive
from wareboard.book.reckoning.learned import NINE_IN_TEN
from wareboard.errors import OutOfRange

MOST_PER_WANTED = 100


@dataclass(frozen=True, slots=True)
class BetaShare:
    """A share of good pieces, worth ``good`` and ``lost`` pieces counted; one share for the whole batch.

    Source: gelman-bda-2-3, ch. 2; the count is beta-binomial.
    """

    good: float
    lost: float

    def __post_init__(self) -> None:
        positive(self.good, "good pieces held before")
        positive(self.lost, "lost pieces held before")

    def after(self, started: Floats, good: Floats, weights: Floats) -> BetaShare:
        """The same with more loads (n,), each counted by its weight; the arrays are left alone."""
        return BetaShare(self.good + float(weights @ good), self.lost + float(weights @ (started - good)))

    @property
    def mean(self) -> float:
        """The share expected."""
        return self.good / (self.good + self.lost)

    @property
    def variance(self) -> float:
        """Variance of the share."""
        whole = self.good + self.lost
        return self.good * self.lost / (whole**2 * (whole + 1.0))

    def mean_range(self, share: float = NINE_IN_TEN) -> tuple[float, float]:
        """The shortest range that holds the share with that chance: near 1 it reaches 1."""
        from scipy.special import betaincinv

        return shortest_range(lambda reached: betaincinv(self.good, self.lost, reached), share)

    def count_chances(self, started: int) -> Floats:
        """Chances (started + 1,) of 0, 1, … ``started`` good pieces among the next."""
        return np.asarray(beta_binomial(started, np.array([self.good]), np.array([self.lost]))[0], dtype=np.float64)


def beta_binomial(started: int, good: Floats, lost: Floats) -> Floats:
    """Chances (m, started + 1) of each count of good pieces, for m pairs of beta parameters; the arrays are left alone."""
    from scipy.special import betaln, gammaln

    if started < 0:
        raise OutOfRange(f"pieces started: {started}", "there cannot be fewer than none", "Count whole pieces")
    k = np.arange(started + 1, dtype=np.float64)
    ways = gammaln(started + 1.0) - gammaln(k + 1.0) - gammaln(started - k + 1.0)
    a, b = good[:, None], lost[:, None]
    return np.asarray(np.exp(ways + betaln(a + k, b + started - k) - betaln(a, b)), dtype=np.float64)


def shortest_range(quantile: Callable[[Floats], Floats], share: float = NINE_IN_TEN) -> tuple[float, float]:
    """Of all ranges that hold ``share``, the shortest, from the quantiles of a distribution.

    Equal tails would leave out a share of 1 however many loads came through whole.
    """
    left_out = (1.0 - chance(share, "share of the range")) * np.linspace(0.0, 1.0, 101)
    low, high = quantile(left_out), quantile(left_out + share)
    best = int(np.argmin(high - low))
    return float(low[best]), float(high[best])


def chance_of_enough(chances: Floats, wanted: int) -> float:
    """Chance of at least ``wanted`` good, from the chances of 0, 1, 2 … good."""
    return float(min(1.0, max(0.0, chances[max(wanted, 0) :].sum())))


def share_range(chances: Floats, share: float = NINE_IN_TEN) -> tuple[float, float]:
    """Range of the share of good pieces that holds at least that chance: whole counts over the pieces started."""
    started = chances.size - 1
    tail = 0.5 * (1.0 - chance(share, "share of the range"))
    reached = np.cumsum(chances)
    low = int(np.searchsorted(reached, tail))
    high = int(np.searchsorted(reached, 1.0 - tail))
    return low / started, min(high, started) / started


@lru_cache(maxsize=256)
def beta_for_range(value: float, low: float, high: float) -> tuple[float, float]:
    """Good and lost pieces that a range is worth: the beta with mean ``value`` that leaves one in twenty past its far end.

    The far end is the one further from the value: defaults near 0 or 1 have skew ranges, and meeting both ends would move
    the mean. Where no beta with that mean leaves so many past the far end, the one that leaves most is taken.

    Args:
        value, low, high: shares, 0 <= low < value < high <= 1.
    Raises:
        OutOfRange: if they do not stand in that order.
    Source: beta distribution.
    """
    if not 0.0 <= low < value < high <= 1.0:
        raise OutOfRange(
            f"share {value:g}, {low:g} to {high:g}", "the value must lie inside its range, all from 0 to 1", "Mend it"
        )
    far_is_low = value - low >= high - value
    tail, end = 0.5 * (1.0 - NINE_IN_TEN), low if far_is_low else high

    def past(pieces: Floats) -> Floats:
        from scipy.special import betainc

        below = betainc(value * pieces, (1.0 - value) * pieces, end)
        return np.asarray(below if far_is_low else 1.0 - below, dtype=np.float64)

    tried = np.geomspace(0.5, 1e7, 400)
    left = past(tried)
    reaching = np.flatnonzero(left >= tail)
    if not reaching.size:
        pieces = float(tried[int(left.argmax())])
        return value * pieces, (1.0 - value) * pieces
    # Past the last count that reaches it the tail only falls, so the two counts on either side hold the answer between.
    few, many = float(tried[reaching[-1]]), float(tried[min(int(reaching[-1]) + 1, tried.size - 1)])
    for _ in range(60):
        middle = math.sqrt(few * many)
        few, many = (middle, many) if float(past(np.array([middle]))[0]) >= tail else (few, middle)
    return value * few, (1.0 - value) * few
