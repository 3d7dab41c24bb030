"""Figures that are one number a record: glaze pick-up, a kiln's energy, the pace of drying, true cost over reckoned."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from wareboard.book.learning.figures import Figure, Group, Marks, Seen, standing
from wareboard.book.reckoning.learned import Learned, Prior, Record, learning_figure, prior
from wareboard.book.reckoning.learned_measure import learn_measure


def measured_figure(
    key: str,
    group: Group,
    name: str,
    before: Prior,
    scatter: str,
    seen: Sequence[Seen],
    of: str,
    marks: Marks,
    used: bool = True,
    note: str = "",
) -> Figure:
    """The figure after its records: a mean and a scatter both learned, old records fading, a new lot starting afresh.

    Args:
        key, group, name: of the figure.
        before: what is held before any record.
        scatter: the key of what is held of single records' scatter.
        seen: the records, in any order; of: what one of them is.
        used: whether plans lean on it.
    """
    marked = marks.on(key, seen)
    records = tuple(Record(each.value, marks.age_days(each.day), "", each.record) for each in standing(marked))
    learned = _learned(name, records, before, scatter)
    return Figure(key, group, name, before.unit, before, learned, marked, of, used, marks.new_lots.get(key), note)


@lru_cache(maxsize=256)
def _learned(name: str, records: tuple[Record, ...], before: Prior, scatter: str) -> Learned[Any]:
    return learn_measure(name, records, before, prior(scatter), learning_figure("half_life.days"))
