"""What comes good through each stretch of the making, by kind of form, and how far losses come by the load."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

from wareboard.book.learning.figures import Figure, Marks, Seen, standing
from wareboard.book.learning.from_boards import FIRED_STRETCHES, Through, local_day
from wareboard.book.reckoning.learned import Learned, Prior, prior
from wareboard.book.reckoning.learned_losses import ClusteredShare, LoadCount, learn_losses, pooled_correlation

CORRELATION_KEY = "overage.correlation"
ALL_GOOD_LOW = 0.999  # a usual share of 1 would leave nothing to learn


def loss_figures(told: Iterable[Through], marks: Marks) -> list[Figure]:
    """A figure for every kind of form and stretch that the boards tell of, and one for how far losses come together."""
    grouped: dict[str, dict[str, list[Through]]] = defaultdict(lambda: defaultdict(list))
    for each in told:
        key = f"yield.{each.form.kind}.{each.stretch}"
        grouped[key][_load_of(each)].append(each)
    found = [_figure(key, loads, marks) for key, loads in sorted(grouped.items())]
    together = _together(found, marks)
    return [*found, *([together] if together else [])]


def _load_of(each: Through) -> str:
    """The name of the load or board that a count belongs to: pieces of one firing stand or fall together."""
    if each.stretch in FIRED_STRETCHES:
        return f"load/{each.form.kind}/{each.stretch}/{local_day(each.arrived)}"
    return f"board/{each.board.code}/{each.stretch}"


def _figure(key: str, loads: Mapping[str, Sequence[Through]], marks: Marks) -> Figure:
    seen = marks.on(key, [_seen(name, each) for name, each in loads.items()])
    before = _prior(key)
    learned = _learned(before.label, _counts(seen, marks), before)
    by_load = key.rsplit(".", 1)[-1] in FIRED_STRETCHES
    of = "load" if by_load else "board"
    return Figure(key, "losses", before.label, "", before, learned, seen, of, lot=marks.new_lots.get(key))


def _prior(key: str) -> Prior:
    found = prior(key)
    return replace(found, value=ALL_GOOD_LOW) if found.value >= 1.0 else found


def _seen(name: str, parts: Sequence[Through]) -> Seen:
    started, good = sum(each.started for each in parts), sum(each.good for each in parts)
    codes = sorted({each.board.code for each in parts})
    boards = (
        f"board {codes[0]}" if len(codes) == 1 else f"boards {', '.join(codes[:6])}{' …' if len(codes) > 6 else ''}"
    )
    day = max(local_day(each.when) for each in parts)
    forms = ", ".join(sorted({each.form.name for each in parts}))
    return Seen(
        name, good / started, f"{good} of {started} good, {forms}, {boards}", day, ("board", codes[0]), started, good
    )


def _counts(seen: Sequence[Seen], marks: Marks) -> tuple[LoadCount, ...]:
    return tuple(LoadCount(each.started, each.good, marks.age_days(each.day), each.record) for each in standing(seen))


@lru_cache(maxsize=256)
def _learned(name: str, loads: tuple[LoadCount, ...], before: Prior) -> Learned[Any]:
    from wareboard.book.reckoning.learned import learning_figure

    return learn_losses(name, loads, before, prior("overage.correlation"), learning_figure("half_life.days"))


def _together(figures: Sequence[Figure], marks: Marks) -> Figure | None:
    """How far losses come by the load: what the loads of every stretch say of it, put together."""
    held = [
        each.learned.posterior
        for each in figures
        if each.records and isinstance(each.learned.posterior, ClusteredShare)
    ]
    before = prior(CORRELATION_KEY)
    if not held:
        return None
    learned = pooled_correlation("how far losses come by the load", held, before, prior("overage.correlation"))
    seen = marks.on(CORRELATION_KEY, [replace(each, left_out=None) for figure in figures for each in figure.counting])
    note = "It is weighed from the loads of every figure of what comes good; leave a record out there."
    return Figure(CORRELATION_KEY, "losses", before.label, "", before, learned, seen, "load", note=note)
