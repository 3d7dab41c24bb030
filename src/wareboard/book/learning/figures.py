"""A learned figure with everything behind it: what was held before, every record with where it stands, what is held now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Literal

from wareboard.book.learning.models import LeftOut, NewLot
from wareboard.book.reckoning.learned import Learned, Prior, learning_figure
from wareboard.plan.own import OwnFigure

Group = Literal["shrinkage", "losses", "minutes", "drying", "glaze", "kiln", "price"]
GROUPS: Mapping[Group, str] = {
    "shrinkage": "Shrinkage",
    "losses": "What comes good",
    "minutes": "Minutes a piece",
    "drying": "Drying",
    "glaze": "Glaze pick-up",
    "kiln": "Kiln",
    "price": "Price against cost",
}
NOW, BEFORE = "this lot", "earlier lots"


@dataclass(frozen=True, slots=True)
class Seen:
    """One record as a figure sees it.

    ``record`` names it for good; ``at`` says on which page it stands (kind of page and code); ``counts`` holds what the
    reckoning needs beside the value (pieces, people).
    """

    record: str
    value: float
    words: str
    day: date
    at: tuple[str, str] = ("", "")
    started: int = 0
    good: int = 0
    person: str = ""
    left_out: LeftOut | None = None
    before_this_lot: bool = False
    weight: float = 1.0

    @property
    def counts(self) -> bool:
        """Whether it takes part."""
        return self.left_out is None


@dataclass(frozen=True, slots=True)
class Marks:
    """What people said of the records: which are left out, where a new lot begins; and the day it is."""

    day: date
    left_out: Mapping[str, LeftOut] = field(default_factory=dict)
    new_lots: Mapping[str, NewLot] = field(default_factory=dict)
    half_life_days: float = 365.0

    def age_days(self, day: date) -> float:
        """Days since; a record dated ahead is as new as today's."""
        return float(max(0, (self.day - day).days))

    def on(self, key: str, seen: Iterable[Seen]) -> tuple[Seen, ...]:
        """The records of a figure, newest first, each with what was said of it and how much it still counts."""
        lot = self.new_lots.get(key)
        marked = [
            replace(
                each,
                left_out=self.left_out.get(each.record),
                before_this_lot=lot is not None and each.day < lot.day,
                weight=0.5 ** (self.age_days(each.day) / self.half_life_days),
            )
            for each in seen
        ]
        return tuple(sorted(marked, key=lambda each: (each.day, each.record), reverse=True))


def marks(day: date) -> Marks:
    """What people have said of the records, as it stands."""
    left_out = {each.record: each for each in LeftOut.objects.filter(put_away=None)}
    lots: dict[str, NewLot] = {}
    for lot in NewLot.objects.filter(put_away=None, day__lte=day).order_by("day", "pk"):
        lots[lot.figure] = lot
    return Marks(day, left_out, lots, learning_figure("half_life.days"))


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure learned, or still the default where nothing is recorded.

    ``key`` is what a plan asks for; ``of`` what is counted ("piece", "load", "sitting"); ``used`` whether plans lean on it.
    """

    key: str
    group: Group
    name: str
    unit: str
    prior: Prior
    learned: Learned[Any]
    seen: tuple[Seen, ...]
    of: str
    used: bool = True
    lot: NewLot | None = None
    note: str = ""

    @property
    def counting(self) -> tuple[Seen, ...]:
        """The records that take part, newest first."""
        return tuple(each for each in self.seen if each.counts)

    @property
    def records(self) -> int:
        """How many records take part."""
        return len(self.counting)

    @property
    def records_in_words(self) -> str:
        """How many of what: "14 pieces"."""
        return f"{self.records} {plural(self.of, self.records)}"

    def own(self) -> OwnFigure | None:
        """The figure as a plan takes it; None where no record takes part."""
        if not self.records:
            return None
        mean = self.learned.mean
        value, low, high = (held_inside(self.key, each) for each in (mean.value, mean.low, mean.high))
        return OwnFigure(
            self.key,
            self.name,
            value,
            low,
            high,
            self.unit,
            self.records_in_words,
            min(1.0, max(0.0, self.learned.own_share)),
            self.prior.value,
            self.prior.low,
            self.prior.high,
            self.prior.source,
        )


def held_inside(key: str, value: float) -> float:
    """A value that a plan can work with: shares of good pieces above 0 and up to 1, all else above 0."""
    if key.startswith("yield."):
        return min(1.0, max(1e-3, value))
    return max(1e-6, value) if not key.startswith(("overage.", "shrinkage.")) else min(0.9, max(0.0, value))


def plural(word: str, count: int) -> str:
    """The word for so many: piece, pieces; firing, firings; mix, mixes."""
    if count == 1:
        return word
    return f"{word}es" if word.endswith(("s", "x", "ch")) else f"{word}s"


def standing(seen: Sequence[Seen]) -> tuple[Seen, ...]:
    """Those that take part and belong to this lot."""
    return tuple(each for each in seen if each.counts and not each.before_this_lot)
