"""A measured figure learned from few records: shrinkage, weight, capacity, any size. Any unit, the same throughout."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from wareboard.book.reckoning.given import Floats, finite, not_negative
from wareboard.book.reckoning.learned import NINE_IN_TEN, OWN_RECORDS, Learned, Prior, Record, fading, whose
from wareboard.book.reckoning.normal import NormalInverseGamma, NormalMean, variance_of_scatter
from wareboard.working import Estimate, Step

SOURCE = "gelman-bda-2-3"

Held = NormalMean | NormalInverseGamma


def learn_measure(
    name: str,
    records: Sequence[Record],
    before: Prior,
    scatter: float | Prior,
    half_life: float | None = None,
    lot: str | None = None,
    lot_spread: float = 0.0,
) -> Learned[Held]:
    """The figure as it stands after the records: long-run mean and next single one, each with its nine-in-ten range.

    Args:
        name: what it is, in plain words.
        records: of the workshop's own, in the unit of ``before``; none is allowed.
        before: what is held before any record.
        scatter: of single records about their mean, one standard deviation: a number where it is known, a prior where it is
            to be learned as well.
        half_life: in the unit of the records' ages; None keeps old records whole.
        lot: the lot that is asked about. Records of other lots then only tell where lots lie in general; None takes all
            records as one lot.
        lot_spread: between the means of lots, one standard deviation; 0 makes lots alike.
    Raises:
        OutOfRange: if a number is not finite, an age is negative, or a scatter is not above 0.
    Source: gelman-bda-2-3, ch. 2 and 3; fading: power-prior. Approximation: with ``lot`` and a scatter to be learned, the
        weighing of other lots uses the best value of the scatter, not its whole distribution.
    """
    for record in records:
        finite(record.value, f"{name}, {record.label or 'a record'},")
    not_negative(lot_spread, "spread between lots")
    values = np.array([record.value for record in records], dtype=np.float64)
    weights = fading([record.age for record in records], half_life)
    here = np.array([lot is None or record.lot == lot for record in records], dtype=bool)
    start = _start(before, scatter)
    if lot is not None:
        start = _from_other_lots(start, records, values, weights, here, lot_spread)
    held = start.after(values[here], weights[here])
    told = _told(name, before, start, held, values[here], weights[here], len(records))
    others = len(records) - told.records
    return replace(told, words=f"{told.words} It starts from {others} of other lots.") if others else told


def _start(before: Prior, scatter: float | Prior) -> Held:
    if isinstance(scatter, Prior):
        shape, scale = variance_of_scatter(scatter)
        return NormalInverseGamma(before.value, scale / shape / before.deviation**2, shape, scale)
    return NormalMean(before.value, before.deviation, scatter)


def _from_other_lots(
    start: Held, records: Sequence[Record], values: Floats, weights: Floats, here: NDArray[np.bool_], lot_spread: float
) -> Held:
    """What is held of one lot before its own records: the mean of the other lots, widened by the spread between lots."""
    groups: dict[str, list[int]] = {}
    for place, record in enumerate(records):
        if not here[place]:
            groups.setdefault(record.lot, []).append(place)
    counted = [(float(weights[at].sum()), values[at], weights[at]) for at in groups.values()]
    counted = [group for group in counted if group[0] > 0.0]
    means = [float(weight @ value) / total for total, value, weight in counted]
    if isinstance(start, NormalInverseGamma):
        # What scatters within lots tells of the scatter, whatever the lots' means are: one record of each goes to its mean.
        squares = sum(float(w @ (v - m) ** 2) for (_, v, w), m in zip(counted, means, strict=True))
        spare = sum(total * (1.0 - 1.0 / len(v)) for total, v, _ in counted)
        start = NormalInverseGamma(start.mean, start.worth, start.shape + 0.5 * spare, start.scale + 0.5 * squares)
        deviation = start.scatter / start.worth**0.5
    else:
        deviation = start.deviation
    precision, total_pull = 1.0 / deviation**2, start.mean / deviation**2
    for (total, _, _), mean in zip(counted, means, strict=True):
        each = 1.0 / (start.scatter**2 / total + lot_spread**2)
        precision, total_pull = precision + each, total_pull + each * mean
    mean, variance = total_pull / precision, 1.0 / precision
    if isinstance(start, NormalInverseGamma):
        widened = start.scatter**2 / (variance + lot_spread**2)
        return NormalInverseGamma(mean, widened, start.shape, start.scale)
    return NormalMean(mean, variance**0.5, start.scatter).for_a_new_lot(lot_spread)


def _told(
    name: str, before: Prior, start: Held, held: Held, values: Floats, weights: Floats, told_by: int
) -> Learned[Held]:
    counted, records = float(weights.sum()), values.size
    own = None
    if counted > 0.0:
        alone = float(weights @ values) / counted
        half = (held.mean_range()[1] - held.mean) / _sharpness(held, counted)
        own = Estimate(alone, alone - half, alone + half, OWN_RECORDS)
    # All that stands between the default and the answer is the workshop's own: this lot's records and the other lots'.
    spread_before = before.deviation
    spread_now = held.deviation if isinstance(held, NormalMean) else held.scatter / held.worth**0.5
    share = max(0.0, 1.0 - (spread_now / spread_before) ** 2) if told_by else 0.0
    source = f"{SOURCE}+{before.source}" if told_by else before.source
    mean = Estimate(held.mean, *held.mean_range(NINE_IN_TEN), source) if share > 0.0 else before.estimate
    following = Estimate(held.mean, *held.next_range(NINE_IN_TEN), source)
    steps = (*_scatter_steps(held, before.unit), *_steps(name, before, start, held, own, counted, mean, following))
    words = whose(name, records, counted, share, before)
    return Learned(
        name, before.unit, before.estimate, own, records, counted, mean, following, share, held, words, steps
    )


def _sharpness(held: Held, counted: float) -> float:
    """Share of what is known of the mean that the records alone know, as a ratio of standard deviations, 1 at most."""
    worth = held.worth if isinstance(held, NormalInverseGamma) else (held.scatter / held.deviation) ** 2
    return float((counted / worth) ** 0.5)


def _scatter_steps(held: Held, unit: str) -> tuple[Step, ...]:
    if isinstance(held, NormalMean):
        return ()
    low, high = held.scatter_range()
    given = {"scale": held.scale, "shape": held.shape}
    scatter = held.scatter
    return (
        Step(
            "scatter of single ones",
            "sqrt(scale / shape)",
            given,
            scatter,
            SOURCE,
            unit,
            min(low, scatter),
            max(high, scatter),
            key="learned.scatter",
        ),
    )


def _steps(
    name: str,
    before: Prior,
    start: Held,
    held: Held,
    own: Estimate | None,
    counted: float,
    mean: Estimate,
    following: Estimate,
) -> tuple[Step, ...]:
    alone = own.value if own else start.mean
    worth = (start.scatter / start.deviation) ** 2 if isinstance(start, NormalMean) else start.worth
    given = {"held_before": start.mean, "worth_records": worth, "own_mean": alone, "counted": counted}
    formula = "(worth_records * held_before + counted * own_mean) / (worth_records + counted)"
    low, high, unit = mean.low, mean.high, before.unit
    key = "learned.mean"
    return (
        Step(f"{name}, in the long run", formula, given, mean.value, mean.source, unit, low, high, key=key),
        Step(
            f"{name}, the next one",
            "long_run",
            {"long_run": held.mean},
            following.value,
            following.source,
            unit,
            following.low,
            following.high,
            key="learned.next",
        ),
    )
