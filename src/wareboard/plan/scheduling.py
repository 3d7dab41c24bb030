"""The tasks of a job laid out on the workshop's people and kilns."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date

from wareboard.plan import days
from wareboard.plan.assume import Assumer
from wareboard.plan.calendar import Calendar, lay_calendar
from wareboard.plan.work import Task
from wareboard.plan.workshop import Kiln, Person

WEEK: tuple[str, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def calendar_of(
    tasks: Sequence[Task],
    people: Sequence[Person],
    kilns: Sequence[Kiln],
    first_day: date | None,
    due: date,
    off: Collection[date],
    seconds: float,
    assume: Assumer,
) -> Calendar:
    """The calendar; see `wareboard.plan.calendar.lay_calendar`."""
    hands = [
        days.Person(
            person.name,
            tuple(person.hours_per_day or 0.0 if day in person.days else 0.0 for day in WEEK),
            frozenset(person.away),
        )
        for person in people
    ]
    return lay_calendar(
        tasks,
        hands,
        [kiln.name for kiln in kilns],
        first_day,
        due,
        days_off=off,
        buffer_share=assume.figure("calendar.buffer_share").value,
        seconds=seconds,
    )
