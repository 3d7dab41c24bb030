"""Will there still be enough? The chance from the pieces as they stand, each group with the losses that are still ahead.

Losses of one group are clustered (beta-binomial); groups at different stages are taken as independent of each other. How
many more to throw is the fewest that bring the chance back to the one asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from wareboard.errors import OutOfRange
from wareboard.plan.overage import SPREAD_SOURCE, chance_of_enough
from wareboard.working import Step

MOST_MORE = 4000


@dataclass(frozen=True, slots=True)
class Group:
    """Pieces at one stage, and the share of them that comes through what is still ahead."""

    stage: str
    pieces: int
    share: float


@dataclass(frozen=True, slots=True)
class Enough:
    """The chance of enough, what is expected (``low`` to ``high`` in nine cases of ten), and how many more to begin."""

    wanted: int
    pieces: int
    done: int
    expected: float
    low: int
    high: int
    chance: float
    more: int
    steps: tuple[Step, ...]


@lru_cache(maxsize=2048)
def _good_of(pieces: int, share: float, correlation: float) -> npt.NDArray[np.float64]:
    """Chance of each count of good pieces from none to all of a group."""
    at_least = [chance_of_enough(pieces, wanted, share, correlation) for wanted in range(pieces + 1)]
    found: npt.NDArray[np.float64] = np.clip(-np.diff([*at_least, 0.0]), 0.0, 1.0)
    found.setflags(write=False)
    return found


def chance_from(groups: Sequence[Group], wanted: int, correlation: float) -> float:
    """Chance that all groups together give at least ``wanted`` good pieces.

    Args:
        groups: pieces from 0 up and a share over 0 up to 1 each.
        wanted: from 0 up.
        correlation: between two pieces of one group, from 0 up to, not including, 1.
    Raises:
        OutOfRange: if a number lies outside these.
    Source: sum of independent beta-binomial counts, see `wareboard.plan.overage.chance_of_enough`.
    """
    sure = sum(group.pieces for group in groups if group.share == 1.0)
    left = wanted - sure
    return 1.0 if left <= 0 else float(min(1.0, _unsure(groups, correlation)[left:].sum()))


def _unsure(groups: Sequence[Group], correlation: float) -> npt.NDArray[np.float64]:
    """Chance of each count of good pieces from those that still have losses ahead."""
    together: npt.NDArray[np.float64] = np.ones(1)
    for group in groups:
        if group.pieces and group.share < 1.0:
            together = np.convolve(together, _good_of(group.pieces, group.share, correlation))
    return together


def good_between(groups: Sequence[Group], correlation: float, share: float = 0.9) -> tuple[int, int]:
    """The fewest and the most good pieces that hold ``share`` of all cases between them, as much left out at either end.

    Source: quantiles of the sum of independent beta-binomial counts, see `chance_from`.
    """
    sure = sum(group.pieces for group in groups if group.share == 1.0)
    up_to = np.cumsum(_unsure(groups, correlation))
    outside = (1.0 - share) / 2.0
    low, high = (int(np.searchsorted(up_to, end - 1e-12)) for end in (outside, 1.0 - outside))
    most = len(up_to) - 1
    return sure + min(low, most), sure + min(high, most)


def will_there_be(
    groups: Sequence[Group], wanted: int, first_share: float, correlation: float, chance: float
) -> Enough:
    """Whether there will still be enough, and how many more to begin where not.

    Args:
        first_share: share of a piece begun now that comes good, over 0 up to 1.
        chance: asked of enough, over 0 and under 1.
    Raises:
        OutOfRange: if a number lies outside these, or thousands would not be enough.
    """
    if not 0.0 < chance < 1.0:
        raise OutOfRange(f"chance is {chance:g}", "it must lie over 0 and under 1", "Write 90 % as 0.9")
    reached = chance_from(groups, wanted, correlation)
    more = 0 if reached >= chance else _fewest_more(groups, wanted, first_share, correlation, chance)
    expected = sum(group.pieces * group.share for group in groups)
    low, high = good_between(groups, correlation)
    names = {f"pieces_{number}": float(group.pieces) for number, group in enumerate(groups, 1)}
    shares = {f"share_{number}": group.share for number, group in enumerate(groups, 1)}
    formula = " + ".join(f"pieces_{number} * share_{number}" for number in range(1, len(groups) + 1))
    steps = (
        Step(
            "good pieces expected",
            formula or "0",
            names | shares,
            expected,
            "derived",
            "pieces",
            float(low),
            float(high),
        ),
        Step(
            "chance of enough",
            "",
            {"wanted": float(wanted), "expected": expected, "correlation": correlation},
            reached,
            SPREAD_SOURCE,
            how="losses clustered within each stage, stages taken as independent of each other",
        ),
    )
    pieces = sum(group.pieces for group in groups)
    done = sum(group.pieces for group in groups if group.share == 1.0)
    return Enough(wanted, pieces, done, expected, low, high, reached, more, steps)


def _fewest_more(groups: Sequence[Group], wanted: int, first_share: float, correlation: float, chance: float) -> int:
    below, enough = 0, 1

    def reached(more: int) -> float:
        return chance_from([*groups, Group("begun now", more, first_share)], wanted, correlation)

    while reached(enough) < chance:
        below, enough = enough, enough * 2
        if enough > MOST_MORE:
            raise OutOfRange(
                f"more than {MOST_MORE} pieces to begin", f"the chance of {chance:g} is out of reach", "Mend the losses"
            )
    while enough - below > 1:
        middle = (enough + below) // 2
        below, enough = (middle, enough) if reached(middle) < chance else (below, middle)
    return enough
