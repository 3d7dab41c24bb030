"""Minutes a piece by task and person, learned from few sittings.

The logarithm of the minutes is normal: the task's level, each person's difference from it, and what one sitting differs from
the next. People lean on one another's records, so that a newcomer starts from the task and not from nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wareboard.book.reckoning.given import Floats, positive
from wareboard.book.reckoning.learned import NINE_IN_TEN, OWN_RECORDS, Learned, Prior, fading, whose
from wareboard.book.reckoning.normal import variance_of_scatter
from wareboard.errors import OutOfRange
from wareboard.working import Estimate, Step

SOURCE = "gelman-bda-2-3"


@dataclass(frozen=True, slots=True)
class Sitting:
    """One sitting: minutes for each piece, who worked, how old, and a name for it."""

    minutes: float
    person: str = ""
    age: float = 0.0
    label: str = ""


@dataclass(frozen=True, slots=True)
class LogMinutes:
    """Level of the logarithm of one person's minutes, its scale, the scatter of sittings, and Student's ``freedom``."""

    level: float
    level_scale: float
    scatter: float
    freedom: float

    @property
    def mean(self) -> float:
        """Minutes a piece in the long run: the mean of the skew distribution, not its middle."""
        return math.exp(self.level + 0.5 * self.scatter**2)

    def mean_range(self, share: float = NINE_IN_TEN) -> tuple[float, float]:
        """Range that holds the long-run minutes with that chance."""
        half = _half_width(self.freedom, share) * self.level_scale
        return self.mean * math.exp(-half), self.mean * math.exp(half)

    def next_range(self, share: float = NINE_IN_TEN) -> tuple[float, float]:
        """Range that holds the minutes of the next sitting with that chance."""
        half = _half_width(self.freedom, share) * math.hypot(self.level_scale, self.scatter)
        return math.exp(self.level - half), math.exp(self.level + half)


def learn_minutes(
    name: str,
    sittings: Sequence[Sitting],
    before: Prior,
    scatter: Prior,
    people_spread: float = 0.0,
    person: str | None = None,
    half_life: float | None = None,
) -> Learned[LogMinutes]:
    """Minutes a piece as they stand after the sittings, for one person: in the long run, and in the next sitting.

    Args:
        name: the task, in plain words.
        sittings: of the workshop's own, by anyone; none is allowed.
        before: minutes a piece held before any record, above 0.
        scatter: of the logarithm from one sitting to the next, standard deviation: a prior.
        people_spread: of the logarithm between people, standard deviation; 0 makes people alike.
        person: who is asked about; None, or someone without records, is anyone.
        half_life: in the unit of the sittings' ages; None keeps old ones whole.
    Raises:
        OutOfRange: if minutes are not above 0, an age is negative, or the spread is not a number from 0 up.
    Source: normal linear model with normal-inverse-gamma prior, gelman-bda-2-3, ch. 14; fading: power-prior. The prior's
        value is taken as the long-run mean, its range as a range of ratios.
    """
    for place, sitting in enumerate(sittings, start=1):
        positive(sitting.minutes, f"{name}, {sitting.label or f'sitting {place}'}, minutes a piece")
    positive(before.low, f"low end of {before.label!r}")
    if not (math.isfinite(people_spread) and people_spread >= 0.0):
        raise OutOfRange(f"spread between people is {people_spread:g}", "it must be 0 or more", "Use about 0.25")
    logs = np.log(np.array([sitting.minutes for sitting in sittings], dtype=np.float64))
    weights = fading([sitting.age for sitting in sittings], half_life)
    start = _start(before, scatter, people_spread)
    held, level = _after(sittings, logs, weights, before, scatter, people_spread, person)
    mine = np.array([person is None or sitting.person == person for sitting in sittings], dtype=bool)
    return _told(name, before, start, held, level, sittings, logs, weights * mine, person)


def _first_level(before: Prior, scatter: Prior) -> tuple[float, float, float, float]:
    """Level of the logarithm and its standard deviation before any record; shape and scale of the sittings' variance."""
    shape, scale = variance_of_scatter(scatter)
    deviation = Prior(
        math.log(before.value), math.log(before.low), math.log(before.high), before.source, before.label
    ).deviation
    return math.log(before.value) - 0.5 * scale / shape, deviation, shape, scale


def _start(before: Prior, scatter: Prior, people_spread: float) -> LogMinutes:
    level, deviation, shape, scale = _first_level(before, scatter)
    return LogMinutes(level, math.hypot(deviation, people_spread), math.sqrt(scale / shape), 2.0 * shape)


def _after(
    sittings: Sequence[Sitting],
    logs: Floats,
    weights: Floats,
    before: Prior,
    scatter: Prior,
    people_spread: float,
    person: str | None,
) -> tuple[LogMinutes, float]:
    """What is held of the person, and of the level of the task, after all the sittings.

    The unknowns are the task's level and one difference for each person; the person asked about has one
    even without records.
    """
    level, deviation, shape, scale = _first_level(before, scatter)
    people = sorted({sitting.person for sitting in sittings} | ({person} if person is not None else {""}))
    place = {each: number for number, each in enumerate(people, start=1)}
    variance = scale / shape
    prior_precision = np.full(len(people) + 1, variance / max(people_spread, 1e-6) ** 2)
    prior_precision[0] = variance / deviation**2
    design = np.zeros((len(sittings), len(people) + 1))
    design[:, 0] = 1.0
    for row, sitting in enumerate(sittings):
        design[row, place[sitting.person]] = 1.0
    first = np.zeros(len(people) + 1)
    first[0] = level
    precision = np.diag(prior_precision) + design.T @ (weights[:, None] * design)
    coefficients = np.linalg.solve(precision, prior_precision * first + design.T @ (weights * logs))
    shape += 0.5 * float(weights.sum())
    left = logs - design @ coefficients
    scale += 0.5 * float(weights @ left**2 + prior_precision @ (coefficients - first) ** 2)
    asked = np.zeros(len(people) + 1)
    asked[0] = 1.0
    if person is not None:
        asked[place[person]] = 1.0
    spread = math.sqrt(scale / shape)
    known = float(asked @ np.linalg.solve(precision, asked))
    # Anyone is one more person drawn from the same spread.
    anyone = people_spread if person is None and people_spread > 0.0 and len(people) > 1 else 0.0
    level_scale = math.hypot(spread * math.sqrt(known), anyone)
    return LogMinutes(float(asked @ coefficients), level_scale, spread, 2.0 * shape), float(coefficients[0])


def _told(
    name: str,
    before: Prior,
    start: LogMinutes,
    held: LogMinutes,
    task_level: float,
    sittings: Sequence[Sitting],
    logs: Floats,
    weights: Floats,
    person: str | None,
) -> Learned[LogMinutes]:
    counted = float(weights.sum())
    source = f"{SOURCE}+{before.source}" if sittings else before.source
    mean = Estimate(held.mean, *held.mean_range(), source) if sittings else before.estimate
    low, high = held.next_range()
    following = Estimate(held.mean, min(low, held.mean), max(high, held.mean), source)
    own = None
    if counted > 0.0:
        alone = math.exp(float(weights @ logs) / counted + 0.5 * held.scatter**2)
        half = _half_width(held.freedom) * held.scatter / math.sqrt(counted)
        own = Estimate(alone, alone * math.exp(-half), alone * math.exp(half), OWN_RECORDS)
    share = min(1.0, max(0.0, 1.0 - (held.level_scale / start.level_scale) ** 2))
    title = name if person is None else f"{name}, {person}"
    mine = int((weights > 0.0).sum())
    words = whose(title, mine, counted, share if mine else 0.0, before, "sitting")
    if len(sittings) > mine:
        words += f" It leans on {len(sittings) - mine} of other people as well."
    given = {"level": held.level, "scatter": held.scatter}
    formula, key = "exp(level + scatter ** 2 / 2)", "learned.mean"
    how = {"minutes_before": before.value}
    steps = (
        Step(
            f"{title}: level of the logarithm",
            "",
            {**how, "task_level": task_level},
            held.level,
            SOURCE,
            "",
            how="normal linear model: the task, each person's difference, and the default held before",
            key="learned.level",
        ),
        Step(f"{title}, in the long run", formula, given, mean.value, source, "min", mean.low, mean.high, key=key),
        Step(
            f"{title}, the next sitting",
            formula,
            given,
            following.value,
            source,
            "min",
            following.low,
            following.high,
            key="learned.next",
        ),
    )
    return Learned(title, "min", before.estimate, own, mine, counted, mean, following, share, held, words, steps)


def _half_width(freedom: float, share: float = NINE_IN_TEN) -> float:
    """Half the range of Student's t that holds that share, in scales."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.5 + 0.5 * share))
