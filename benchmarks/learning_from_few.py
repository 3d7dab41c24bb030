"""How much nearer the truth is a learned figure than the last value or the fixed default, from one record up?"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from wareboard.book.reckoning.beta import beta_for_range
from wareboard.book.reckoning.learned import Learned, Prior, Record, prior
from wareboard.book.reckoning.learned_losses import LoadCount, learn_losses
from wareboard.book.reckoning.learned_measure import learn_measure
from wareboard.book.reckoning.learned_minutes import Sitting, learn_minutes
from wareboard.book.reckoning.normal import variance_of_scatter

QUESTION = "mean absolute error of a learned figure over that of the last value, and of the fixed default"
REFERENCE = (
    "the last value recorded; the default as shipped. 500 simulated workshops a row, drawn from the stated priors, then "
    "from ones twice as wide (so that the default is wrong oftener than it says); the scatter of single records is "
    "drawn inside its stated range. Ranges are stated to hold 90 %"
)
WORKSHOPS, SEED, IN_A_LOAD = 500, 20, 20
SIZES = (1, 2, 3, 5, 10, 20)
SHRINKAGE, SHRINKAGE_SCATTER = prior("clay.shrinkage"), prior("scatter.shrinkage")
GOOD, BY_LOAD = prior("yield.plate.dried"), prior("overage.correlation")
MINUTES, MINUTES_SCATTER = prior("minutes.throw.cup"), prior("scatter.minutes_log")


@dataclass(frozen=True, slots=True)
class Workshop:
    """A simulated one: its true long-run figure, its records, and the record that comes next."""

    true: float
    records: tuple[float, ...]
    following: float


def scatter_inside(chance: np.random.Generator, stated: Prior) -> float:
    """A scatter drawn from the prior, inside its stated range.

    Past it lie sittings of a second and of an hour for one cup, and a single such workshop outweighs all errors of the rest.
    """
    shape, scale = variance_of_scatter(stated)
    while True:
        scatter = math.sqrt(scale / chance.gamma(shape))
        if stated.low <= scatter <= stated.high:
            return scatter


def shrinkage(chance: np.random.Generator, count: int, wide: float) -> Workshop:
    scatter = scatter_inside(chance, SHRINKAGE_SCATTER)
    true = chance.normal(SHRINKAGE.value, wide * SHRINKAGE.deviation)
    values = chance.normal(true, scatter, count + 1)
    return Workshop(true, tuple(map(float, values[:-1])), float(values[-1]))


def good_share(chance: np.random.Generator, count: int, wide: float) -> Workshop:
    a, b = (each / wide**2 for each in beta_for_range(GOOD.value, GOOD.low, GOOD.high))
    c, d = beta_for_range(BY_LOAD.value, BY_LOAD.low, BY_LOAD.high)
    true = float(np.clip(chance.beta(a, b), 1e-3, 1.0 - 1e-6))
    whole = 1.0 / max(chance.beta(c, d), 1e-4) - 1.0
    shares = chance.binomial(IN_A_LOAD, chance.beta(true * whole, (1.0 - true) * whole, count + 1)) / IN_A_LOAD
    return Workshop(true, tuple(map(float, shares[:-1])), float(shares[-1]))


def minutes(chance: np.random.Generator, count: int, wide: float) -> Workshop:
    shape, scale = variance_of_scatter(MINUTES_SCATTER)
    scatter = scatter_inside(chance, MINUTES_SCATTER)
    deviation = math.log(MINUTES.high / MINUTES.low) / (2.0 * 1.6448536269514722)
    level = chance.normal(math.log(MINUTES.value) - 0.5 * scale / shape, wide * deviation)
    values = np.exp(chance.normal(level, scatter, count + 1))
    return Workshop(math.exp(level + 0.5 * scatter**2), tuple(map(float, values[:-1])), float(values[-1]))


@dataclass(frozen=True, slots=True)
class Plain:
    """A figure that is one number a record, with what is held of it and of its scatter."""

    name: str
    before: Prior
    scatter: Prior

    def draw(self, chance: np.random.Generator, count: int, wide: float) -> Workshop:
        scatter = scatter_inside(chance, self.scatter)
        true = max(0.05 * self.before.value, chance.normal(self.before.value, wide * self.before.deviation))
        values = chance.normal(true, scatter, count + 1)
        return Workshop(true, tuple(map(float, values[:-1])), float(values[-1]))

    def learn(self, records: tuple[float, ...]) -> Learned:
        return learn_measure(self.name, [Record(each) for each in records], self.before, self.scatter)


PLAIN = (
    Plain("dry glaze a dip lays on", prior("glaze.dry_g_per_cm2"), prior("scatter.pickup_g_per_cm2")),
    Plain("energy over the reckoning", prior("kiln.energy_factor"), prior("scatter.energy_factor")),
    Plain("hours over the schedule", prior("kiln.hours_factor"), prior("scatter.hours_factor")),
    Plain("pace of drying", prior("drying.factor"), prior("scatter.drying_factor")),
    Plain("true cost over reckoned", prior("price.cost_ratio"), prior("scatter.cost_ratio")),
)


LOT_SPREAD = prior("spread.lot_shrinkage")
EARLIER_LOTS, IN_A_LOT = 3, 6


def new_lot(chance: np.random.Generator, count: int, wide: float) -> Workshop:
    """A new lot of a clay, after three lots of six bars; the earlier bars come first among the records."""
    scatter = scatter_inside(chance, SHRINKAGE_SCATTER)
    clay = chance.normal(SHRINKAGE.value, wide * SHRINKAGE.deviation)
    lots = chance.normal(clay, LOT_SPREAD.value, EARLIER_LOTS + 1)
    earlier = chance.normal(np.repeat(lots[:-1], IN_A_LOT), scatter)
    values = chance.normal(lots[-1], scatter, count + 1)
    return Workshop(float(lots[-1]), (*map(float, earlier), *map(float, values[:-1])), float(values[-1]))


def learned_new_lot(records: tuple[float, ...]) -> Learned:
    before = EARLIER_LOTS * IN_A_LOT
    lots = [f"lot {place // IN_A_LOT}" if place < before else "this" for place in range(len(records))]
    kept = [Record(value, 0.0, lot) for value, lot in zip(records, lots, strict=True)]
    return learn_measure(
        "shrinkage of a new lot", kept, SHRINKAGE, SHRINKAGE_SCATTER, lot="this", lot_spread=LOT_SPREAD.value
    )


def learned_shrinkage(records: tuple[float, ...]) -> Learned:
    return learn_measure("shrinkage", [Record(each) for each in records], SHRINKAGE, SHRINKAGE_SCATTER)


def learned_share(records: tuple[float, ...]) -> Learned:
    loads = [LoadCount(IN_A_LOAD, round(each * IN_A_LOAD)) for each in records]
    return learn_losses("good share", loads, GOOD, BY_LOAD, next_started=IN_A_LOAD)


def learned_minutes(records: tuple[float, ...]) -> Learned:
    return learn_minutes("minutes", [Sitting(each) for each in records], MINUTES, MINUTES_SCATTER)


Draw = Callable[[np.random.Generator, int, float], Workshop]
Learn = Callable[[tuple[float, ...]], Learned]
FIGURES: tuple[tuple[str, Prior, Draw, Learn], ...] = (
    ("shrinkage", SHRINKAGE, shrinkage, learned_shrinkage),
    ("share good, loads of 20", GOOD, good_share, learned_share),
    ("minutes a piece", MINUTES, minutes, learned_minutes),
    ("shrinkage of a new lot", SHRINKAGE, new_lot, learned_new_lot),
    *((each.name, each.before, each.draw, each.learn) for each in PLAIN),
)


def measure(figure: tuple[str, Prior, Draw, Learn], count: int, wide: float, workshops: int) -> dict[str, float]:
    """Errors against the truth and shares of ranges that held, over simulated workshops."""
    _, before, draw, learn = figure
    chance = np.random.default_rng([SEED, count, round(10 * wide)])
    found = np.zeros(5)
    for _ in range(workshops):
        shop = draw(chance, count, wide)
        learned = learn(shop.records)
        found += (
            abs(learned.mean.value - shop.true),
            abs(shop.records[-1] - shop.true),
            abs(before.value - shop.true),
            learned.mean.low <= shop.true <= learned.mean.high,
            learned.next.low - 1e-9 <= shop.following <= learned.next.high + 1e-9,
        )
    error, last, fixed, mean_held, next_held = found / workshops
    return {"last": error / last, "fixed": error / fixed, "mean held": mean_held, "next held": next_held}


def run() -> list[dict[str, str]]:
    """A row for each figure, number of records and width of the truth."""
    rows = []
    for wide in (1.0, 2.0):
        for figure in FIGURES:
            for count in SIZES:
                got = measure(figure, count, wide, WORKSHOPS)
                rows.append(
                    {
                        "figure": figure[0],
                        "workshops": "as stated" if wide == 1.0 else "twice as wide",
                        "records": str(count),
                        "ratio to last value": f"{got['last']:.2f}",
                        "ratio to default": f"{got['fixed']:.2f}",
                        "range of mean held": f"{got['mean held']:.0%}",
                        "range of next held": f"{got['next held']:.0%}",
                    }
                )
    return rows
