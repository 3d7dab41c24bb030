"""How many pieces to start so that enough come good, and whether enough are still left.

Losses come by the load, not one by one: a hot shelf or a draught takes several pieces together. The count that comes good is
taken as beta-binomial, with the correlation between two pieces of the same making; the plain binomial (every piece for
itself) is worked out beside it, because the difference is what the clustering costs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.reference import source_words
from wareboard.working import Estimate, Step

MOST_WANTED = 1_000_000
MOST_STARTED_PER_WANTED = 100
STARTED_BESIDES = 1_000
# Below this the spread of a million pieces differs from the binomial by less than a thousandth, and the log-gamma
# differences of the beta-binomial would lose their last digits.
NO_CORRELATION_BELOW = 1e-9
SPREAD_SOURCE = "beta-binomial"


@dataclass(frozen=True, slots=True)
class StageYield:
    """The share of pieces that comes through one stage, with the range that holds it nine times in ten."""

    stage: str
    good_share: float
    low: float
    high: float
    source: str


@dataclass(frozen=True, slots=True)
class StageCount:
    """Pieces round one stage: how many go in, how many are expected out, and the fewest that still give the chance."""

    stage: str
    going_in: float
    expected_after: float
    fewest_after: int


@dataclass(frozen=True, slots=True)
class Overage:
    """How many to start, with the chance that gives, the count if losses did not cluster, and the working."""

    start: int
    wanted: int
    good_share: Estimate
    expected_good: float
    chance_reached: float
    binomial_start: int
    stage_counts: tuple[StageCount, ...]
    steps: tuple[Step, ...]
    correlation: float = 0.05  # between losses of the same making, as it was taken


def chance_of_enough(have: int, wanted: int, good_share: float, correlation: float = 0.05) -> float:
    """Chance that at least ``wanted`` of ``have`` pieces come good.

    Args:
        have: pieces there are now, 0 or more.
        wanted: good pieces needed; none needed is certain.
        good_share: share expected to come through all that is still ahead, over 0 up to 1.
        correlation: between two pieces of the same making, from 0 (each for itself) up to, not including, 1.
    Raises:
        OutOfRange: if a number lies outside these.
    Source: beta-binomial with a + b = 1/correlation - 1 (intra-class correlation), a/(a + b) = ``good_share``; N. L.
        Johnson, A. W. Kemp and S. Kotz, Univariate Discrete Distributions, 3rd ed., section 6.2.2 (from memory).
    """
    _check_count("pieces there are", have, least=0)
    _check_count("pieces wanted", wanted, least=0)
    _check_share("share that comes good", good_share)
    _check_correlation(correlation)
    if wanted == 0:
        return 1.0
    if have < wanted:
        return 0.0
    return _chance(have, wanted, good_share, correlation)


def how_many_to_start(
    wanted: int,
    stages: Sequence[StageYield],
    chance: float = 0.9,
    correlation: float = 0.05,
    correlation_source: str = "from-memory",
) -> Overage:
    """The fewest pieces to start so that ``wanted`` come good with at least the chance asked.

    Args:
        wanted: good pieces wanted, 1 to a million.
        stages: what share comes through each stage, in the order of the work; shares over 0 up to 1.
        chance: of not having to make again, over 0 and under 1.
        correlation: between losses of the same making, from 0 up to, not including, 1.
        correlation_source: on whose word the correlation is.
    Raises:
        OutOfRange: if a number lies outside these, or if more than a hundred times the wanted would have to be started.
    Source: see `chance_of_enough`; the yields of the stages multiply.
    """
    _check_asked(wanted, stages, chance, correlation)
    share = _whole_chain(stages)
    start = _fewest_to_start(wanted, share.value, chance, correlation)
    alone = _fewest_to_start(wanted, share.value, chance, 0.0)
    counts = _stage_counts(wanted, start, stages, chance, correlation)
    reached = _chance(start, wanted, share.value, correlation)
    steps = (
        *_stage_steps(start, stages),
        _chain_step(stages, share),
        *_count_steps(wanted, start, alone, share, chance, correlation, reached, correlation_source),
    )
    return Overage(start, wanted, share, start * share.value, reached, alone, counts, steps, correlation)


def _whole_chain(stages: Sequence[StageYield]) -> Estimate:
    # The stages' ranges are independent of each other: taking every low end at once would be far too gloomy, so their
    # logarithms' half-widths are added as the root of the sum of squares.
    value = math.prod(stage.good_share for stage in stages)
    down = math.sqrt(sum(math.log(stage.good_share / stage.low) ** 2 for stage in stages))
    up = math.sqrt(sum(math.log(stage.high / stage.good_share) ** 2 for stage in stages))
    return Estimate(value, value * math.exp(-down), min(1.0, value * math.exp(up)), "derived")


def _stage_counts(
    wanted: int, start: int, stages: Sequence[StageYield], chance: float, correlation: float
) -> tuple[StageCount, ...]:
    counts = []
    going_in = float(start)
    for number, stage in enumerate(stages, start=1):
        ahead = math.prod(later.good_share for later in stages[number:])
        after = going_in * stage.good_share
        counts.append(StageCount(stage.stage, going_in, after, _fewest_to_start(wanted, ahead, chance, correlation)))
        going_in = after
    return tuple(counts)


def _stage_steps(start: int, stages: Sequence[StageYield]) -> list[Step]:
    steps = []
    going_in = float(start)
    for stage in stages:
        after = going_in * stage.good_share
        steps.append(
            Step(
                f"expected after: {stage.stage}",
                "going_in * good_share",
                {"going_in": going_in, "good_share": stage.good_share},
                after,
                stage.source,
                "pieces",
                going_in * stage.low,
                going_in * stage.high,
                key=f"overage.after.{stage.stage}",
            )
        )
        going_in = after
    return steps


def _chain_step(stages: Sequence[StageYield], share: Estimate) -> Step:
    names = [f"share_{number}" for number in range(1, len(stages) + 1)]
    given = {name: stage.good_share for name, stage in zip(names, stages, strict=True)}
    return Step(
        "share that comes through every stage",
        " * ".join(names),
        given,
        share.value,
        share.source,
        "",
        share.low,
        share.high,
        key="overage.good_share",
    )


def _count_steps(
    wanted: int,
    start: int,
    alone: int,
    share: Estimate,
    chance: float,
    correlation: float,
    reached: float,
    correlation_source: str,
) -> tuple[Step, ...]:
    asked = {"wanted": float(wanted), "good_share": share.value, "chance": chance}
    clustered = {**asked, "correlation": correlation}
    # The range of the count: what to start if the shares were at the two ends of their ranges.
    fewest = _fewest_to_start(wanted, share.high, chance, correlation)
    most = _most_within_reach(wanted, share.low, chance, correlation)
    return (
        Step(
            "pieces to start",
            "",
            clustered,
            float(start),
            SPREAD_SOURCE,
            "pieces",
            float(fewest),
            float(most),
            how=f"the fewest that give the chance, losses coming by the load ({source_words(correlation_source)})",
            key="overage.start",
        ),
        Step(
            "if every piece were lost for itself",
            "",
            asked,
            float(alone),
            "binomial",
            "pieces",
            how="the fewest that give the chance, losses independent",
            key="overage.binomial_start",
        ),
        Step(
            "good pieces to expect",
            "start * good_share",
            {"start": float(start), "good_share": share.value},
            start * share.value,
            "derived",
            "pieces",
            start * share.low,
            min(float(start), start * share.high),
            key="overage.expected_good",
        ),
        Step(
            "chance of enough",
            "",
            {"start": float(start), **clustered},
            reached,
            SPREAD_SOURCE,
            how="chance that at least the wanted number comes good",
            key="overage.chance_reached",
        ),
        Step(
            "wanted over yield: an even chance, not a plan",
            "ceil(wanted / good_share)",
            {"wanted": float(wanted), "good_share": share.value},
            float(math.ceil(wanted / share.value)),
            "definition",
            "pieces",
            key="overage.even_chance",
        ),
    )


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %" if share >= 0.001 else "fewer than one in a thousand"


def _most_within_reach(wanted: int, good_share: float, chance: float, correlation: float) -> int:
    try:
        return _fewest_to_start(wanted, good_share, chance, correlation)
    except OutOfRange:
        return _most_to_start(wanted)


def _most_to_start(wanted: int) -> int:
    return MOST_STARTED_PER_WANTED * wanted + STARTED_BESIDES


@lru_cache(maxsize=4096)
def _fewest_to_start(wanted: int, good_share: float, chance: float, correlation: float) -> int:
    """Smallest count whose chance reaches the one asked; the chance rises with every piece added."""
    if good_share == 1.0:
        return wanted
    below, most = wanted - 1, _most_to_start(wanted)
    step = max(1, math.ceil(wanted / good_share) - wanted)
    enough = wanted
    while _chance(enough, wanted, good_share, correlation) < chance:
        if enough >= most:
            raise OutOfRange(
                f"more than {most} pieces to start for {wanted}",
                f"where {_percent(good_share)} come good, losing by the load, "
                f"a chance of {_percent(chance)} is out of reach",
                "Mend the stage that loses most, ask for a smaller chance, or plan a second making",
            )
        below = enough
        enough, step = min(most, enough + step), step * 2
    while enough - below > 1:
        middle = (enough + below) // 2
        if _chance(middle, wanted, good_share, correlation) < chance:
            below = middle
        else:
            enough = middle
    return enough


def _chance(have: int, wanted: int, good_share: float, correlation: float) -> float:
    """P(good >= wanted) of ``have`` pieces, by adding up the shorter of the two tails."""
    if have < wanted:
        return 0.0
    if good_share == 1.0:
        return 1.0
    most_lost = have - wanted
    if most_lost < wanted:
        return min(1.0, _tail(have, most_lost, 1.0 - good_share, correlation))
    return max(0.0, 1.0 - _tail(have, wanted - 1, good_share, correlation))


def _tail(pieces: int, most: int, share: float, correlation: float) -> float:
    """P(count <= most), each of ``pieces`` being counted with chance ``share``: the terms' logarithms, one after another.

    The first term comes from log-gamma, each next from the ratio to the one before, so that a million pieces are one pass.
    """
    k = np.arange(most, dtype=float)
    left = np.log((pieces - k) / (k + 1.0))
    if correlation < NO_CORRELATION_BELOW:
        first = pieces * math.log1p(-share)
        ratios = left + math.log(share) - math.log1p(-share)
    else:
        whole = 1.0 / correlation - 1.0
        a, b = share * whole, (1.0 - share) * whole
        first = math.lgamma(pieces + b) - math.lgamma(b) + math.lgamma(whole) - math.lgamma(pieces + whole)
        ratios = left + np.log((k + a) / (pieces - 1.0 - k + b))
    logs = first + np.concatenate(([0.0], np.cumsum(ratios)))
    return float(np.exp(logs).sum())


def _check_asked(wanted: int, stages: Sequence[StageYield], chance: float, correlation: float) -> None:
    _check_count("pieces wanted", wanted, least=1)
    if not stages:
        raise OutOfRange(
            "no stages", "the share that comes good is the product over the stages", "Give one stage at least"
        )
    for stage in stages:
        for name, share in (("share good", stage.good_share), ("low end", stage.low), ("high end", stage.high)):
            _check_share(f"{name} of stage {stage.stage!r}", share)
        if not stage.low <= stage.good_share <= stage.high:
            raise OutOfRange(
                f"range of stage {stage.stage!r} is {stage.low:g} to {stage.high:g}",
                f"it must hold the share {stage.good_share:g} itself",
                "Put the low end below the share and the high end above it",
            )
    if not 0.0 < chance < 1.0:
        raise OutOfRange(f"chance is {chance:g}", "it must lie between 0 and 1", "Write nine times in ten as 0.9")
    _check_correlation(correlation)


def _check_count(name: str, count: int, least: int) -> None:
    if not (isinstance(count, (int, np.integer)) and least <= count <= MOST_WANTED * MOST_STARTED_PER_WANTED):
        raise OutOfRange(f"{name}: {count}", f"it must be a whole number, {least} or more", "Count whole pieces")
    if name == "pieces wanted" and count > MOST_WANTED:
        raise OutOfRange(f"{name}: {count}", f"this reaches to {MOST_WANTED}", "Split the commission")


def _check_share(name: str, share: float) -> None:
    if not 0.0 < share <= 1.0:
        raise OutOfRange(f"{name} is {share:g}", "it must be over 0 and not over 1", "Write 95 % as 0.95")


def _check_correlation(correlation: float) -> None:
    if not 0.0 <= correlation < 1.0:
        raise OutOfRange(
            f"correlation is {correlation:g}",
            "it must be 0 or more and under 1",
            "Use 0 if every piece is lost for itself, about 0.05 if losses come by the load",
        )
