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
from wareboard.plan.own import of_a_form

CORRELATION_KEY = "overage.correlation"
ALL_GOOD_LOW = 0.999  # a usual share of 1 would leave nothing to learn


def loss_figures(told: Iterable[Through], marks: Marks) -> list[Figure]:
    """A figure for every kind of form and stretch that the boards tell of, and one for how far losses come together."""
    grouped: dict[str, dict[str, list[Through]]] = defaultdict(lambda: defaultdict(list))
    for each in told:
        key = f"yield.{each.form.kind}.{each.stretch}"
        grouped[key][_load_of(each)].append(each)
    found = [_figure(key, loads, marks, _prior(key)) for key, loads in sorted(grouped.items())]
    together = _together(found, marks)
    of_forms = [each for key, loads in sorted(grouped.items()) for each in _of_forms(key, loads, marks)]
    return [*found, *of_forms, *([together] if together else [])]


def _of_forms(key: str, loads: Mapping[str, Sequence[Through]], marks: Marks) -> list[Figure]:
    """Where several forms of one kind were made, a figure for each, leaning on what the others of its kind say."""
    forms = sorted({each.form.name for parts in loads.values() for each in parts})
    if len(forms) < 2:
        return []
    found = []
    for form in forms:
        own, rest = _parted(loads, form, True), _parted(loads, form, False)
        others = _figure(key, rest, marks, _prior(key))
        found.append(_figure(key, own, marks, _widened(others, _prior(key)), form))
    return found


def _parted(loads: Mapping[str, Sequence[Through]], form: str, own: bool) -> dict[str, Sequence[Through]]:
    """The loads with only the pieces of a form, or only those of the others."""
    parts = {name: [each for each in parts if (each.form.name == form) == own] for name, parts in loads.items()}
    return {name: left for name, left in parts.items() if left}


def _widened(others: Figure, usual: Prior) -> Prior:
    """What the other forms of the kind say, as wide as the usual range: a new form may part from them by all of that."""
    mean = others.learned.mean
    low = min(mean.low, mean.value - (usual.value - usual.low))
    high = max(mean.high, mean.value + (usual.high - usual.value))
    value = min(mean.value, ALL_GOOD_LOW)
    source = f"other forms of its kind, from {others.records_in_words}"
    return Prior(value, max(0.01, low), min(1.0, max(high, 0.5 * (1.0 + value))), source, usual.label, "")


def _load_of(each: Through) -> str:
    """The name of the load or board that a count belongs to: pieces of one firing stand or fall together."""
    if each.stretch in FIRED_STRETCHES:
        return f"load/{each.form.kind}/{each.stretch}/{local_day(each.arrived)}"
    return f"board/{each.board.code}/{each.stretch}"


def _figure(
    kind_key: str, loads: Mapping[str, Sequence[Through]], marks: Marks, before: Prior, form: str = ""
) -> Figure:
    key = of_a_form(kind_key, form) if form else kind_key
    lot = marks.new_lots.get(key) or marks.new_lots.get(kind_key)
    at = replace(marks, new_lots={key: lot}) if lot else marks
    seen = at.on(key, [_seen(name, each) for name, each in loads.items()])
    name = f"{form}: {before.label}" if form else before.label
    learned = _learned(name, _counts(seen, marks), before)
    of = "load" if kind_key.rsplit(".", 1)[-1] in FIRED_STRETCHES else "board"
    return Figure(key, "losses", name, "", before, learned, seen, of, lot=lot)


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
