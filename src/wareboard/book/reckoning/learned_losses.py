"""The share that comes good, learned from counts by the load, with how far losses come together learned beside it.

Each load is beta-binomial: a long-run share of good pieces, and a correlation between two pieces of one load. Both are held
on a grid of weights, so nothing is approximated but the grid itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wareboard.book.reckoning.beta import (
    MOST_PER_WANTED,
    BetaShare,
    beta_binomial,
    beta_for_range,
    chance_of_enough,
    share_range,
    shortest_range,
)
from wareboard.book.reckoning.given import Floats
from wareboard.book.reckoning.learned import NINE_IN_TEN, OWN_RECORDS, Learned, Prior, fading, whose
from wareboard.errors import OutOfRange
from wareboard.working import Estimate, Step, per_cent

SOURCE = "gelman-bda-2-3"
SHARES, CORRELATIONS = 241, 24
LEAST_CORRELATION = 1e-4
# Grid points that hold less than this of the weight are left out of the chances of a count.
LEAST_WEIGHT = 1e-7


@dataclass(frozen=True, slots=True)
class LoadCount:
    """One load (or board): pieces that went in, pieces that came good, how old, and a name for it."""

    started: int
    good: int
    age: float = 0.0
    label: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class ClusteredShare:
    """Weights (shares, correlations) on a grid of the long-run share of good pieces and the correlation within a load."""

    shares: Floats
    correlations: Floats
    weights: Floats

    def after(self, started: Floats, good: Floats, weights: Floats) -> ClusteredShare:
        """The same with more loads (n,), each counted by its weight; the arrays are left alone."""
        from scipy.special import betaln

        whole = 1.0 / self.correlations - 1.0
        a = (self.shares[:, None] * whole)[..., None]
        b = ((1.0 - self.shares)[:, None] * whole)[..., None]
        # A share of the loads that went alike is worked out once: boards are often of one size and come through whole.
        kinds, place = np.unique(np.stack([started, good]), axis=1, return_inverse=True)
        counted = np.bincount(place.reshape(-1), weights=weights)
        logs = (betaln(a + kinds[1], b + kinds[0] - kinds[1]) - betaln(a, b)) @ counted
        with np.errstate(divide="ignore"):
            logs = logs + np.log(self.weights)
        held = np.exp(logs - logs.max())
        return ClusteredShare(self.shares, self.correlations, held / held.sum())

    @property
    def mean(self) -> float:
        """The long-run share expected."""
        return float(self.weights.sum(axis=1) @ self.shares)

    @property
    def variance(self) -> float:
        """Variance of the long-run share."""
        return float(self.weights.sum(axis=1) @ (self.shares - self.mean) ** 2)

    def mean_range(self, share: float = NINE_IN_TEN) -> tuple[float, float]:
        """The shortest range that holds the long-run share with that chance: near 1 it reaches 1."""
        return _grid_range(self.shares, self.weights.sum(axis=1), share)

    @property
    def correlation(self) -> Estimate:
        """The correlation between two pieces of one load, with its nine-in-ten range."""
        weights = self.weights.sum(axis=0)
        low, high = _grid_range(self.correlations, weights, NINE_IN_TEN)
        value = float(weights @ self.correlations)
        return Estimate(value, min(low, value), max(high, value), SOURCE)

    def count_chances(self, started: int) -> Floats:
        """Chances (started + 1,) of 0, 1, … ``started`` good pieces in the next load of that many."""
        whole = 1.0 / self.correlations - 1.0
        kept = self.weights > LEAST_WEIGHT
        a = (self.shares[:, None] * whole)[kept]
        b = ((1.0 - self.shares)[:, None] * whole)[kept]
        weights = self.weights[kept]
        return np.asarray(weights @ beta_binomial(started, a, b) / weights.sum(), dtype=np.float64)


HeldShare = BetaShare | ClusteredShare


def _grid_range(points: Floats, weights: Floats, share: float) -> tuple[float, float]:
    """The shortest range that holds ``share``: each point stands in the middle of its own weight, the ends at 0 and 1."""
    reached = np.concatenate(([0.0], np.cumsum(weights) - 0.5 * weights, [1.0]))
    ends = np.concatenate(([0.0], points, [1.0]))
    return shortest_range(lambda at: np.asarray(np.interp(at, reached, ends), dtype=np.float64), share)


def learn_losses(
    name: str,
    loads: Sequence[LoadCount],
    before: Prior,
    correlation: Prior | float,
    half_life: float | None = None,
    next_started: int = 20,
) -> Learned[HeldShare]:
    """The share that comes good as it stands after the loads: in the long run, and in the next load.

    Args:
        name: what it is, in plain words.
        loads: counts of the workshop's own; none is allowed.
        before: the share held before any record, all from 0 to 1.
        correlation: between two pieces of one load: a prior where it is to be learned, 0 for every piece for
            itself (then the posterior is the plain beta).
        half_life: in the unit of the loads' ages; None keeps old loads whole.
        next_started: pieces in the next load, 1 or more; the range of the next share depends on it.
    Raises:
        OutOfRange: if a count is impossible, or a share or correlation lies outside 0 to 1.
    Source: beta-binomial by load, gelman-bda-2-3, ch. 2 and 5; fading: power-prior.
    """
    _check(name, loads, next_started)
    started = np.array([load.started for load in loads], dtype=np.float64)
    good = np.array([load.good for load in loads], dtype=np.float64)
    weights = fading([load.age for load in loads], half_life)
    start = _start(before, correlation)
    held = start.after(started, good, weights) if loads else start
    return _told(name, before, start, held, (started, good, weights), next_started)


def _check(name: str, loads: Sequence[LoadCount], next_started: int) -> None:
    for place, load in enumerate(loads, start=1):
        if not (load.started > 0 and 0 <= load.good <= load.started):
            raise OutOfRange(
                f"{name}, {load.label or f'load {place}'}: {load.good} good of {load.started}",
                "the good must be from 0 to those that went in, and one at least must have gone in",
                "Count the load again",
            )
    if next_started < 1:
        raise OutOfRange(f"pieces in the next load: {next_started}", "it must be 1 or more", "Count whole pieces")


def _start(before: Prior, correlation: Prior | float) -> HeldShare:
    a, b = beta_for_range(before.value, before.low, before.high)
    if isinstance(correlation, Prior):
        c, d = beta_for_range(correlation.value, correlation.low, correlation.high)
        spread = _correlation_grid(correlation.high)
        along = _beta_weights(spread, c, d)
    elif correlation == 0.0:
        return BetaShare(a, b)
    elif 0.0 < correlation < 1.0:
        spread, along = np.array([correlation]), np.array([1.0])
    else:
        raise OutOfRange(f"correlation is {correlation:g}", "it must be 0 or more and under 1", "Use about 0.05")
    shares = _share_grid(a, b)
    weights = _beta_weights(shares, a, b)[:, None] * along[None, :]
    return ClusteredShare(shares, spread, weights / weights.sum())


def _share_grid(a: float, b: float) -> Floats:
    """Shares that lie close where the prior lies and still reach everywhere: half its own quantiles, half even in angle."""
    from scipy.special import betaincinv

    inside = (np.arange(SHARES // 2) + 0.5) / (SHARES // 2)
    angles = (np.arange(SHARES - SHARES // 2) + 0.5) / (SHARES - SHARES // 2) * 0.5 * math.pi
    points = np.concatenate((betaincinv(a, b, inside), np.sin(angles) ** 2))
    return np.unique(np.clip(points, 1e-6, 1.0 - 1e-6))


def _correlation_grid(high: float) -> Floats:
    most = min(0.9, 6.0 * high)
    return np.maximum(LEAST_CORRELATION, most * ((np.arange(CORRELATIONS) + 0.5) / CORRELATIONS) ** 2)


def _beta_weights(points: Floats, a: float, b: float) -> Floats:
    """Beta weight of the cell round each point: the cells meet half-way between points, so that none is lost."""
    from scipy.special import betainc

    edges = np.concatenate(([0.0], 0.5 * (points[1:] + points[:-1]), [1.0]))
    weights = np.diff(betainc(a, b, edges))
    return np.asarray(weights / weights.sum(), dtype=np.float64)


def fewest_to_start(held: HeldShare, wanted: int, chance: float) -> int:
    """The fewest pieces to start in one load so that ``wanted`` come good with at least that chance.

    Raises:
        OutOfRange: if a hundred times the wanted would not be enough.
    """
    if wanted < 1 or not 0.0 < chance < 1.0:
        raise OutOfRange(
            f"{wanted} wanted with a chance of {chance:g}", "one at least, and a chance between 0 and 1", "Write 0.9"
        )

    def enough(pieces: int) -> bool:
        return chance_of_enough(held.count_chances(pieces), wanted) >= chance

    below, at = wanted - 1, wanted
    while not enough(at):
        if at >= MOST_PER_WANTED * wanted:
            raise OutOfRange(
                f"more than {at} to start for {wanted}", f"a chance of {chance:g} is out of reach", "Ask for less"
            )
        below, at = at, min(MOST_PER_WANTED * wanted, max(at + 1, at * 2 - wanted + 1))
    while at - below > 1:
        middle = (at + below) // 2
        below, at = (below, middle) if enough(middle) else (middle, at)
    return at


def pooled_correlation(
    name: str, held: Sequence[ClusteredShare], before: Prior, correlation: Prior
) -> Learned[ClusteredShare]:
    """How far losses come by the load, from several figures that each learned it beside a share of their own.

    Each figure's weights over the correlation, divided by the prior's, are what its loads alone say (its share summed over);
    the prior is counted once. ``own_share`` is the part of the prior's variance that is gone.

    Args:
        name: what it is, in plain words.
        held: what `learn_losses` holds after the loads of each figure, all from the prior ``correlation``; one at least.
        before: the figure that is shown as the default.
        correlation: the prior that all of them learned with.
    Raises:
        OutOfRange: if there is none, or they do not stand on one grid.
    Source: Bayes' rule for data independent given the correlation, gelman-bda-2-3.
    """
    points = _correlation_grid(correlation.high)
    if not held or any(not np.array_equal(each.correlations, points) for each in held):
        raise OutOfRange(f"{len(held)} figures to pool", "one at least, all from one prior", "Learn them together")
    along = _beta_weights(points, *beta_for_range(correlation.value, correlation.low, correlation.high))
    with np.errstate(divide="ignore"):
        logs = np.log(along) + sum(np.log(each.weights.sum(axis=0)) - np.log(along) for each in held)
    weights = np.exp(logs - logs.max())
    start = ClusteredShare(np.array([0.5]), points, along[None, :])
    pooled = ClusteredShare(np.array([0.5]), points, (weights / weights.sum())[None, :])
    found = pooled.correlation
    spread = [float(each.weights[0] @ (points - each.correlation.value) ** 2) for each in (start, pooled)]
    share = min(1.0, max(0.0, 1.0 - spread[1] / spread[0]))
    how = "each figure's loads weigh the correlations; the prior is counted once"
    step = Step(
        name, "", {"figures": float(len(held))}, found.value, SOURCE, "", found.low, found.high, how, "learned.mean"
    )
    words = whose(name, len(held), float(len(held)), share, before, "figure")
    return Learned(
        name, "", before.estimate, None, len(held), float(len(held)), found, found, share, pooled, words, (step,)
    )


def correlation_by_variance(started: Floats, good: Floats) -> float:
    """Correlation within loads by analysis of variance, from the counts alone: rough, and below 0 by chance at times.

    Args:
        started, good: (n,) counts, two loads at least, more pieces than loads.
    Raises:
        OutOfRange: if there are too few, or every piece went alike.
    Source: one-way analysis of variance of 0/1 values; J. L. Fleiss, Statistical Methods for Rates and Proportions
        (from memory).
    """
    loads, pieces = started.size, float(started.sum())
    share = float(good.sum()) / pieces if pieces else 0.0
    if loads < 2 or pieces <= loads or not 0.0 < share < 1.0:
        raise OutOfRange(
            f"{loads} loads, {pieces:g} pieces, {per_cent(share)} good",
            "a correlation needs two loads, more pieces than loads, and some good and some lost",
            "Count more loads",
        )
    between = float((started * (good / started - share) ** 2).sum()) / (loads - 1.0)
    within = float((good * (1.0 - good / started)).sum()) / (pieces - loads)
    size = (pieces - float((started**2).sum()) / pieces) / (loads - 1.0)
    return (between - within) / (between + (size - 1.0) * within)


def _told(
    name: str,
    before: Prior,
    start: HeldShare,
    held: HeldShare,
    counts: tuple[Floats, Floats, Floats],
    next_started: int,
) -> Learned[HeldShare]:
    started, good, weights = counts
    counted = float(weights.sum())
    source = f"{SOURCE}+{before.source}" if counted > 0.0 else before.source
    mean = _inside(held.mean, *held.mean_range(), source) if counted > 0.0 else before.estimate
    following = _inside(held.mean, *share_range(held.count_chances(next_started)), source)
    own = None
    if counted > 0.0:
        # Jeffreys' half piece good and half lost stand for nothing known, so that no loss at all is not called certain.
        alone = BetaShare(0.5, 0.5).after(started, good, weights)
        own = _inside(float(weights @ good) / float(weights @ started), *alone.mean_range(), OWN_RECORDS)
    share = _own_share(before, held, started, weights)
    words = whose(name, len(weights), counted, share, before, "load")
    steps = _steps(name, start, held, counts, mean, following, next_started)
    return Learned(name, "", before.estimate, own, len(weights), counted, mean, following, share, held, words, steps)


def _own_share(before: Prior, held: HeldShare, started: Floats, weights: Floats) -> float:
    """Pieces counted over those and what the prior is worth; pieces of one load that go together count for fewer.

    Source: design effect 1 + (n - 1) times the correlation (from memory, survey sampling).
    """
    together = held.correlation.value if isinstance(held, ClusteredShare) else 0.0
    pieces = float(weights @ (started / (1.0 + (started - 1.0) * together)))
    return pieces / (pieces + sum(beta_for_range(before.value, before.low, before.high)))


def _inside(value: float, low: float, high: float, source: str) -> Estimate:
    """An estimate whose range is stretched to its value where a skew or a whole count has left it just outside."""
    return Estimate(value, min(low, value), max(high, value), source)


def _steps(
    name: str,
    start: HeldShare,
    held: HeldShare,
    counts: tuple[Floats, Floats, Floats],
    mean: Estimate,
    following: Estimate,
    next_started: int,
) -> tuple[Step, ...]:
    started, good, weights = counts
    given = {"started": float(weights @ started), "good": float(weights @ good)}
    title = f"{name}, in the long run"
    if isinstance(start, BetaShare):
        formula = "(good_before + good) / (good_before + lost_before + started)"
        given = {**given, "good_before": start.good, "lost_before": start.lost}
        first = Step(title, formula, given, mean.value, mean.source, "", mean.low, mean.high, key="learned.mean")
    else:
        how = "mean over shares and correlations, each weighted by the prior and by how well it meets the loads"
        first = Step(title, "", given, mean.value, mean.source, "", mean.low, mean.high, how, "learned.mean")
    again = {"long_run": held.mean}
    low, high = following.low, following.high
    title = f"{name}, in the next load of {next_started}"
    steps = [
        first,
        Step(title, "long_run", again, following.value, following.source, "", low, high, key="learned.next"),
    ]
    if isinstance(held, ClusteredShare):
        found = held.correlation
        how = "weighed on the same grid; few loads leave it near its prior"
        title = "how far losses come by the load"
        steps.append(Step(title, "", given, found.value, SOURCE, "", found.low, found.high, how, "learned.correlation"))
    return tuple(steps)
