"""How much sooner is a commission over than when its tasks are laid out by the earliest-due-date rule?"""

from __future__ import annotations

import time
from datetime import date

from tests.plan.calendar_checker import broken_rules
from tests.plan.invented import invented_commission
from wareboard.plan.calendar import Person, Task, lay_calendar
from wareboard.plan.days import DAY, crews
from wareboard.plan.laying import lay_by_rule, still_ahead
from wareboard.plan.work import take_apart

QUESTION = "days from first day to finish: the calendar over the earliest-due-date rule, on invented commissions"
REFERENCE = (
    "earliest-due-date list scheduling, v1: of the tasks that could come next, the one whose own due date (the common due "
    "date less the longest road of work still ahead of it) is earliest, laid as early as it goes"
)
FIRST, DUE = date(2026, 3, 2), date(2026, 12, 31)
WEEKDAYS = (6.0,) * 5 + (0.0, 0.0)
ANN, BEN = Person("Ann", WEEKDAYS), Person("Ben", (0.0, 4.0, 4.0, 0.0, 0.0, 6.0, 0.0), begins_h=13.0)
KILN = ("the kiln",)
SIZES = ((24, 12, 12), (56, 30, 18), (120, 0, 0), (120, 60, 60))


def run() -> list[dict[str, str]]:
    """One row a commission and team; ten seconds allowed each."""
    return [
        _row(f"{cups} cups, {bowls} bowls, {plates} plates", invented_commission(cups, bowls, plates), people)
        for cups, bowls, plates in SIZES
        for people in ([ANN], [ANN, BEN])
    ]


def _row(name: str, tasks: list[Task], people: list[Person]) -> dict[str, str]:
    began = time.perf_counter()
    found = lay_calendar(tasks, people, KILN, FIRST, DUE, try_mends=False)
    took = time.perf_counter() - began
    if broken_rules(found, tasks, people, KILN, FIRST):
        raise AssertionError(f"the calendar of {name} breaks a rule")
    by_rule = by_due_date(tasks, people)
    minutes = (
        max(entry.end for entry in found.entries) - min(entry.start for entry in found.entries)
    ).total_seconds() / 60
    opening = min(entry.start for entry in found.entries)
    from_midnight = minutes + opening.hour * 60 + opening.minute + (opening.date() - FIRST).days * DAY
    return {
        "commission": name,
        "tasks": str(len(tasks)),
        "people": " and ".join(person.name for person in people),
        "calendar, days": f"{from_midnight / DAY:.2f}",
        "rule, days": f"{by_rule / DAY:.2f}",
        "ratio": f"{from_midnight / by_rule:.3f}",
        "status": found.status,
        "gap": f"{found.gap or 0:.0%}",
        "seconds": f"{took:.2f}",
    }


def by_due_date(tasks: list[Task], people: list[Person]) -> int:
    """The finish of the rule's plan, minutes from midnight of the first day."""
    work = take_apart(tasks, KILN, {})
    ahead = still_ahead(work)
    laid = lay_by_rule(work, crews(people, FIRST, 300, ()), ((),), lambda task: (-ahead[work.first_act[task]], task))
    if laid is None:
        raise AssertionError("the rule found no plan")
    return laid.finish
