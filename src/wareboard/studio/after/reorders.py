"""Ordering again: the brief with a new due date, and the old plan beside the plan of today, for page and command alike."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.utils import timezone

from wareboard import quantities
from wareboard.book.firings.signing import Signed
from wareboard.book.learning.acting import Parted, kept_figures, parted
from wareboard.book.learning.actual import finished_on
from wareboard.book.learning.own import figures_on, own_of
from wareboard.book.models import Commission, Version
from wareboard.book.pieces.models import Piece
from wareboard.book.pieces.reordering import (
    AsMade,
    Changed,
    as_made,
    carried_of,
    changed_since,
    order_again,
    version_made,
    workshop_then,
)
from wareboard.errors import OutOfRange, WareboardError
from wareboard.plan.own import Own
from wareboard.studio import plans
from wareboard.studio.paper_text import PaperText
from wareboard.studio.words import money

if TYPE_CHECKING:
    from wareboard.book.firings.models import Firing
    from wareboard.plan.result import Plan

SHORTEST_S = 0.05
MOST_KEPT = 12
_kept: dict[tuple[str, ...], Plan] = {}  # by all that a plan is made from


@dataclass(frozen=True, slots=True)
class Figure:
    """One answer of the plan as it was made, with today's workshop file, and with today's learned figures as well."""

    name: str
    then: str
    prices: str
    now: str

    @property
    def differs(self) -> bool:
        return not self.then == self.prices == self.now


@dataclass(frozen=True, slots=True)
class Again:
    """What a commission was made with and by, and everything that is different today."""

    made: AsMade
    own: Own
    changed: tuple[Changed, ...]
    figures: tuple[Figure, ...]
    learned: tuple[Parted, ...]
    workshop: tuple[tuple[str, str], ...]
    troubles: tuple[str, ...]

    @property
    def carried(self) -> dict[int, Firing]:
        """The firings whose schedules the new commission is fired by, by their keys."""
        return {each.pk: each for each in carried_of(self.made.firings).values()}


def look(commission: Commission, on: plans.Basis) -> Again:
    """What it was made with, and what is different today.

    Raises:
        OutOfRange: if nothing of it was delivered or packed.
    """
    made = as_made(commission)
    then_text, troubles = workshop_then(made.made), []
    if then_text is None:
        troubles.append("How the workshop's file stood then is not kept: prices are compared with today's file.")
        then_text = on.workshop_text
    own = _own_of(made.version, commission, then_text)
    kilns = [each.name for each in plans.workshop_of(on).kilns]
    figures: tuple[Figure, ...] = ()
    learned: tuple[Parted, ...] = ()
    try:
        text = again_text(made.version.text, None)
        sides = [_plan(text, then_text, own, on), _plan(text, on.workshop_text, own, on)]
        sides.append(_plan(text, on.workshop_text, on.own, on))
        figures = tuple(_figures(*sides))
        learned = tuple(parted(own, on.own, sorted({key for side in sides for key in side.leans})))
    except WareboardError as problem:
        troubles.append(f"The two plans cannot be compared: {problem}")
    lines = tuple(_lines(then_text, on.workshop_text))
    return Again(made, own, tuple(changed_since(made, kilns, on.day)), figures, learned, lines, tuple(troubles))


def order(commission: Commission, due: date, key: str, on: plans.Basis, by: Signed) -> tuple[Commission, bool]:
    """The new commission, due on that day; and whether it was kept under that key already.

    Raises:
        WareboardError: if there is nothing to go by, the day is past, or the brief cannot be read with it.
    """
    from wareboard.plan.reading import read_brief

    if due < on.day:
        raise OutOfRange(f"due {due}", "that day is past", "Choose a day to come")
    made = as_made(commission)
    text = again_text(made.version.text, due)
    own = _own_of(made.version, commission, workshop_then(made.made) or on.workshop_text)
    read_brief(text, workshop=plans.workshop_of(on), today=on.day, own=own)
    return order_again(made, text, own, key, on.day, by)


def plan_then(commission: Commission, on: plans.Basis) -> tuple[Plan, Version]:
    """The plan by which it was made, on the day its brief was written, with the workshop and the figures of that time.

    Raises:
        WareboardError: if the brief, or the workshop's file as it was, cannot be planned.
    """
    packed = finished_on(commission)
    days = Piece.objects.filter(commission=commission, put_away=None, delivered__isnull=False)
    last = days.order_by("-delivered").values_list("delivered", flat=True).first()
    made = last or (packed.date() if packed else on.day)
    version = version_made(commission, made)
    workshop_text = workshop_then(made) or on.workshop_text
    own = _own_of(version, commission, workshop_text)
    day = timezone.localtime(version.written).date()
    return plans.plan_of(version.text, plans.Basis(workshop_text, day, own)), version


def again_text(text: str, due: date | None) -> str:
    """The brief with another due date and no start of its own; everything else stands as it was typed."""
    paper = PaperText(text)
    if paper.shown(("start",)):
        paper.put(("start",), "")
    if due is not None:
        paper.put(("due",), due.isoformat(), "day")
    return paper.text()


def _own_of(version: Version, commission: Commission, workshop_text: str) -> Own:
    """The figures that it went by: those kept with it, else what the records taught on the day it was planned."""
    from wareboard.plan.reading import read_workshop

    kept = kept_figures().get(commission.paper_id)
    if kept is not None:
        return kept
    try:
        workshop = read_workshop(workshop_text)
    except WareboardError:
        workshop = None
    return own_of(figures_on(timezone.localtime(version.written).date(), workshop))


def _plan(text: str, workshop_text: str, own: Own, on: plans.Basis) -> Plan:
    from wareboard.plan import compile
    from wareboard.plan.reading import read_brief, read_workshop

    key = (text, workshop_text, on.day.isoformat(), own.print)
    if key in _kept:
        return _kept[key]
    workshop = read_workshop(workshop_text, today=on.day)
    # What is compared is clay, hours and prices: the first calendar will do.
    plan = compile(read_brief(text, workshop, own=own), workshop, own=own, seconds=SHORTEST_S)
    while len(_kept) >= MOST_KEPT:
        _kept.pop(next(iter(_kept)), None)
    _kept[key] = plan
    return plan


def _figures(then: Plan, prices: Plan, now: Plan) -> list[Figure]:
    def row(name: str, shown: list[str]) -> Figure:
        return Figure(name, *shown)

    sides = (then, prices, now)
    rows = [
        row(f"{name} to start", [str(each.forms[at].start) for each in sides])
        for at, name in enumerate(form.name for form in then.forms)
    ]
    rows += [
        row(f"ball of {name}", [quantities.show_mass(each.forms[at].ball_g) for each in sides])
        for at, name in enumerate(form.name for form in then.forms)
    ]
    return [
        *rows,
        row("clay to weigh out", [quantities.show_mass(each.clay.bags.clay_g) for each in sides]),
        row("hours", [f"{each.price.hours.value:.0f} h" for each in sides]),
        row("cost of making", [money(each.price.cost.amount, each.price.currency) for each in sides]),
        row("quote", [money(each.price.quote, each.price.currency) for each in sides]),
    ]


def _lines(then: str, now: str) -> list[tuple[str, str]]:
    found = []
    for line in difflib.unified_diff(then.splitlines(), now.splitlines(), lineterm="", n=0):
        if line.startswith(("---", "+++", "@@")) or not line[1:].strip():
            continue
        found.append(("was" if line[0] == "-" else "now", line[1:]))
    return found
