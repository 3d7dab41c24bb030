"""What a learned figure carries: what was held before, what the records say, what is held now, and whose numbers those are.

A figure starts from a sourced default with its range (nine workshops in ten) and moves to the workshop's own records as they
come in. Ranges hold nine in ten: ``mean`` is the long run, ``next`` the next single one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from wareboard.book.reckoning.given import Floats, finite, not_negative, positive
from wareboard.errors import NotInTable, OutOfRange
from wareboard.reference import default, has_default, rows, source_words
from wareboard.working import Estimate, Step, per_cent

NINE_IN_TEN = 0.90
# Standard normal quantile that leaves 5 % on each side.
HALF_WIDTH_OF_90_PER_CENT = 1.6448536269514722
OWN_RECORDS = "own records"
# Share of the answer from which it is called the workshop's own, and below which it is still the default.
MOSTLY_OWN, HARDLY_OWN = 0.8, 0.2

Posterior = TypeVar("Posterior")
Kept = TypeVar("Kept")


@dataclass(frozen=True, slots=True)
class Prior:
    """What is held before any record: the value, the range that holds nine workshops in ten, on whose word."""

    value: float
    low: float
    high: float
    source: str
    label: str
    unit: str = ""

    def __post_init__(self) -> None:
        for name, number in (("value", self.value), ("low end", self.low), ("high end", self.high)):
            finite(number, f"{name} of {self.label!r}")
        if not (self.low <= self.value <= self.high and self.low < self.high):
            raise OutOfRange(
                f"range of {self.label!r} is {self.low:g} to {self.high:g}",
                f"it must hold the value {self.value:g} and have some width",
                "Put the low end below the value and the high end above it",
            )

    @property
    def deviation(self) -> float:
        """Standard deviation of a normal prior with the same width of range."""
        return (self.high - self.low) / (2.0 * HALF_WIDTH_OF_90_PER_CENT)

    @property
    def estimate(self) -> Estimate:
        return Estimate(self.value, self.low, self.high, f"default: {self.source}")


def prior(key: str) -> Prior:
    """The sourced prior of that key: a default of the trade, or a row of ``reference/book/learning.csv``.

    Raises:
        NotInTable: if neither table has it.
    """
    if has_default(key):
        found = default(key)
        return Prior(found.value, found.low, found.high, found.source, found.label, found.unit)
    for row in rows("book/learning"):
        if row["key"] == key:
            low, high = float(row["low"]), float(row["high"])
            return Prior(float(row["value"]), low, high, row["source"], row["label"], row["unit"])
    raise NotInTable(
        f"prior {key!r}", "neither defaults.csv nor book/learning.csv has such a row", "Check its name, or add the row"
    )


def learning_figure(key: str) -> float:
    """The value alone of a row of ``reference/book/learning.csv``, for figures whose range does not matter.

    Raises:
        NotInTable: if there is no such row.
    """
    for row in rows("book/learning"):
        if row["key"] == key:
            return float(row["value"])
    raise NotInTable(f"figure {key!r}", "book/learning.csv has no such row", "Check its name, or add the row")


@dataclass(frozen=True, slots=True)
class Record:
    """One measured value, how old it is (records or days since, as the half-life counts), its lot, and a name for it."""

    value: float
    age: float = 0.0
    lot: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class Learned(Generic[Posterior]):
    """A figure as it stands now, with the working behind it.

    ``own`` is what the records alone say (none without records); ``counted`` is what they count for after fading;
    ``own_share`` is the part of the answer that comes from them; ``words`` says it in a sentence.
    """

    name: str
    unit: str
    prior: Estimate
    own: Estimate | None
    records: int
    counted: float
    mean: Estimate
    next: Estimate
    own_share: float
    posterior: Posterior
    words: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A figure without one record: how far that moves it, and whether the others had expected the record."""

    label: str
    value: float
    expected: Estimate
    mean_without: float
    shift: float
    expected_it: bool


def fading(ages: Sequence[float] | Floats, half_life: float | None) -> Floats:
    """What each record counts for, from 1 for a new one: a half at one half-life, a quarter at two.

    Args:
        ages: (n,) records or days since, in the unit of ``half_life``, 0 or more.
        half_life: above 0; None keeps every record whole.
    Raises:
        OutOfRange: if an age is negative, or the half-life is not above 0.
    Source: power-prior; 0.5 ** (age / half_life).
    """
    array = np.array(ages, dtype=np.float64)
    for age in array:
        not_negative(float(age), "age of a record")
    if half_life is None:
        return np.ones(array.size)
    return np.asarray(0.5 ** (array / positive(half_life, "half-life")), dtype=np.float64)


def ages_in_records(count: int) -> tuple[float, ...]:
    """Ages of ``count`` records in the order they were made: the newest, last, is 0."""
    return tuple(float(age) for age in range(count - 1, -1, -1))


def whose(name: str, records: int, counted: float, own_share: float, before: Prior, what: str = "record") -> str:
    """A sentence on which numbers are the workshop's own and which are not."""
    origin = source_words(before.source)
    if not records:
        return f"{name}: no {what} of your own yet. This is the default ({origin})."
    few = f"{records} {what}{'' if records == 1 else 's'} of your own"
    faded = f", counting for {counted:.1f} after fading" if counted < records - 0.05 else ""
    if own_share >= MOSTLY_OWN:
        return f"{name}: your own figure, from {few}{faded}. The default ({origin}) weighs {per_cent(1.0 - own_share)}."
    if own_share <= HARDLY_OWN:
        return f"{name}: still nearly the default ({origin}); {few}{faded} weigh {per_cent(own_share)}."
    return f"{name}: {per_cent(own_share)} from {few}{faded}, the rest from the default ({origin})."


def leave_each_out(
    records: Sequence[Kept], learn: Callable[[Sequence[Kept]], Learned[Posterior]], value: Callable[[Kept], float]
) -> tuple[LeftOut, ...]:
    """For each record, the figure learned without it, and whether the others had expected it (their range for the next one).

    Args:
        records: two or more, of any kind that ``learn`` takes.
        learn: the same learning for any of their number.
        value: the number of a record in the unit of the figure.
    Raises:
        OutOfRange: if there are fewer than two records.
    """
    if len(records) < 2:
        raise OutOfRange(f"{len(records)} records", "leaving one out needs two at least", "Record more first")
    whole = learn(records).mean.value
    found = []
    for place, record in enumerate(records):
        rest = learn([*records[:place], *records[place + 1 :]])
        number = value(record)
        label = str(getattr(record, "label", "")) or f"record {place + 1}"
        inside = rest.next.low <= number <= rest.next.high
        found.append(LeftOut(label, number, rest.next, rest.mean.value, rest.mean.value - whole, inside))
    return tuple(found)
