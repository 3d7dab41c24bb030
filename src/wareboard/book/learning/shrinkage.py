"""Shrinkage by clay, form and direction, from pieces and bars measured wet and fired."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Any

from django.utils import timezone

from wareboard.book.learning.briefs import facts_of
from wareboard.book.learning.figures import BEFORE, NOW, Figure, Marks, Seen
from wareboard.book.models import Commission
from wareboard.book.reckoning.learned import Learned, Prior, Record, learning_figure, prior
from wareboard.book.reckoning.learned_measure import learn_measure
from wareboard.plan.body import FORM_SPREAD
from wareboard.plan.own import shrinkage_key

DIRECTIONS = ("height", "width")


@dataclass(frozen=True, slots=True)
class Measured:
    """One length measured wet and fired between the same two marks: of a bar (no form) or of a piece of a form."""

    record: str
    clay: str
    form: str
    direction: str  # height, width, or both for a bar
    wet_mm: float
    fired_mm: float
    day: date
    words: str
    at: tuple[str, str] = ("", "")


def from_briefs() -> Iterator[Measured]:
    """Test bars and prototypes that briefs hold, each with the clay of its brief.

    A brief that is copied or ordered again brings its measures along: the same figures of the same form count once.
    """
    told: Counter[tuple[object, ...]] = Counter()
    for commission in Commission.objects.select_related("paper__current").order_by("pk"):
        brief = facts_of(commission).brief
        if brief is None:
            continue
        rows = [("", number, bar) for number, bar in enumerate(brief.clay.measured, start=1)]
        rows += [(form.name, n, piece) for form in brief.forms for n, piece in enumerate(form.measured, start=1)]
        day, here = timezone.localdate(commission.created), Counter[tuple[object, ...]]()
        for form, number, each in rows:
            same = (shrinkage_key("height", brief.clay.name), form, each.direction, each.wet, each.fired)
            here[same] += 1
            if here[same] <= told[same]:
                continue
            told[same] = here[same]
            what = f"{form or 'bar'}, {each.wet:g} mm wet and {each.fired:g} mm fired"
            yield Measured(
                f"brief/{commission.code}/{form}/{number}",
                brief.clay.name,
                form,
                each.direction,
                each.wet,
                each.fired,
                day,
                f"{what}, in the brief of {commission.code}",
                ("commission", commission.code),
            )


def shrinkage_figures(measured: Iterable[Measured], marks: Marks) -> list[Figure]:
    """A figure for each clay and direction, and for each form of it that was measured.

    A form leans on what the rest of its clay says, as far as forms of one clay are seen to part.
    """
    by_clay: dict[str, list[Measured]] = defaultdict(list)
    for each in measured:
        if each.clay.strip() and 0.0 < each.fired_mm <= each.wet_mm:
            by_clay[shrinkage_key("height", each.clay)].append(each)
    found: list[Figure] = []
    for rows in by_clay.values():
        for direction in DIRECTIONS:
            own = [each for each in rows if each.direction in (direction, "both")]
            if own:
                found += _of_clay(own, direction, marks)
    return sorted(found, key=lambda figure: figure.key)


def _of_clay(rows: Sequence[Measured], direction: str, marks: Marks) -> list[Figure]:
    clay, usual = rows[-1].clay, prior("clay.shrinkage")
    found = [_figure(shrinkage_key(direction, clay), f"shrinkage in {direction} of {clay}", rows, usual, marks)]
    for form in sorted({each.form for each in rows if each.form}):
        others = [each for each in rows if each.form != form]
        key, name = shrinkage_key(direction, clay, form), f"shrinkage in {direction} of {form} in {clay}"
        leant_on = _figure(shrinkage_key(direction, clay), name, others, usual, marks)
        found.append(_figure(key, name, [each for each in rows if each.form == form], _widened(leant_on), marks))
    return found


def _widened(leant_on: Figure) -> Prior:
    """What the rest of the clay says, as wide as forms of one clay are seen to part."""
    if not leant_on.records:
        return leant_on.prior
    mean = leant_on.learned.mean
    source = f"the clay's own, from {leant_on.records_in_words}"
    return Prior(
        mean.value, max(0.0, mean.low - FORM_SPREAD), mean.high + FORM_SPREAD, source, leant_on.prior.label, ""
    )


def _figure(key: str, name: str, rows: Sequence[Measured], before: Prior, marks: Marks) -> Figure:
    # A new lot is said of the clay; every form of it begins afresh with it.
    clays = "/".join(key.split("/")[:2])
    lot = marks.new_lots.get(key) or marks.new_lots.get(clays)
    at = replace(marks, new_lots={key: lot}) if lot else marks
    seen = at.on(key, [_seen(each) for each in rows])
    records = tuple(
        Record(each.value, marks.age_days(each.day), BEFORE if each.before_this_lot else NOW, each.record)
        for each in seen
        if each.counts
    )
    learned = _learned(name, records, before, NOW if lot else None)
    return Figure(key, "shrinkage", name, "", before, learned, seen, "piece", lot=lot)


def _seen(each: Measured) -> Seen:
    return Seen(each.record, 1.0 - each.fired_mm / each.wet_mm, each.words, each.day, each.at)


@lru_cache(maxsize=256)
def _learned(name: str, records: tuple[Record, ...], before: Prior, lot: str | None) -> Learned[Any]:
    spread = prior("spread.lot_shrinkage").value if lot else 0.0
    return learn_measure(
        name, records, before, prior("scatter.shrinkage"), learning_figure("half_life.days"), lot, spread
    )
