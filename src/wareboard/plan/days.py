"""Working days: who is at work when, and how many working minutes lie before any minute of the clock.

A plan counts whole minutes from midnight of its first day. Drying and cooling run by the clock; hands run by working time,
which stops at closing time and goes on when the next working day begins.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from wareboard.errors import OutOfRange
from wareboard.quantities import show_day

DAY = 24 * 60
WEEK = 7


@dataclass(frozen=True, slots=True)
class Person:
    """Someone whose hands do the work: hands-on hours on each weekday from Monday, the days away, when work begins."""

    name: str
    hours: tuple[float, ...]
    away: frozenset[date] = field(default_factory=frozenset)
    begins_h: float = 9.0

    def __post_init__(self) -> None:
        if len(self.hours) != WEEK:
            raise OutOfRange(
                f"{self.name} has hours for {len(self.hours)} weekdays",
                "a week has seven, from Monday",
                "Give seven numbers, 0 for a day without work",
            )
        if not (math.isfinite(self.begins_h) and 0.0 <= self.begins_h < 24.0):
            raise OutOfRange(f"{self.name} begins at {self.begins_h:g} h", "a day runs from 0 to 24 h", "Mend the hour")
        for hours in self.hours:
            if not (math.isfinite(hours) and 0.0 <= hours <= 24.0 - self.begins_h):
                raise OutOfRange(
                    f"{self.name} works {hours:g} h in a day",
                    f"work begins at {self.begins_h:g} h and the day ends at 24 h",
                    "Give hands-on hours a day, 0 or more",
                )

    def minutes_on(self, day: date) -> int:
        """Hands-on minutes on this day, days off of the whole workshop not counted."""
        return 0 if day in self.away else round(self.hours[day.weekday()] * 60)


@dataclass(frozen=True, slots=True)
class WorkingTime:
    """The worked days of a plan: ``starts`` the minute work begins on each, ``before`` the working minutes before each.

    ``before`` has one entry more than ``starts``: the working minutes in all.
    """

    starts: tuple[int, ...]
    before: tuple[int, ...]

    @property
    def total(self) -> int:
        """Working minutes in all."""
        return self.before[-1]

    def begins(self, worked: int) -> int:
        """The clock minute at which work begins that has ``worked`` working minutes before it."""
        day = bisect_right(self.before, worked) - 1
        return self.starts[day] + worked - self.before[day]

    def ends(self, worked: int) -> int:
        """The clock minute at which ``worked`` working minutes (1 or more) are done: closing time, not next morning."""
        day = bisect_left(self.before, worked) - 1
        return self.starts[day] + worked - self.before[day]

    def worked_before(self, minute: int) -> int:
        """Working minutes before this clock minute."""
        day = bisect_right(self.starts, minute) - 1
        if day < 0:
            return 0
        return min(self.before[day] + minute - self.starts[day], self.before[day + 1])

    def day_of(self, worked: int) -> int:
        """Which worked day the minute after ``worked`` working minutes belongs to."""
        return bisect_right(self.before, worked) - 1


@dataclass(frozen=True, slots=True)
class Crew:
    """People with the same working time: a piece of work may go to any of them."""

    people: tuple[int, ...]
    time: WorkingTime


def working_time(person: Person, first_day: date, days: int, days_off: Collection[date]) -> WorkingTime:
    """When this person works over ``days`` days from ``first_day``; on days off nobody does."""
    starts, before = [], [0]
    for number in range(days):
        day = first_day + timedelta(days=number)
        minutes = 0 if day in days_off else person.minutes_on(day)
        if minutes:
            starts.append(number * DAY + round(person.begins_h * 60))
            before.append(before[-1] + minutes)
    return WorkingTime(tuple(starts), tuple(before))


def crews(people: Sequence[Person], first_day: date, days: int, days_off: Collection[date]) -> tuple[Crew, ...]:
    """People gathered by equal working time, in the order first met."""
    found: dict[WorkingTime, list[int]] = {}
    for number, person in enumerate(people):
        found.setdefault(working_time(person, first_day, days, days_off), []).append(number)
    return tuple(Crew(tuple(numbers), time) for time, numbers in found.items())


def moment(first_day: date, minute: int) -> datetime:
    """The clock time ``minute`` minutes after midnight of the first day, in the workshop's own time."""
    return datetime.combine(first_day, time()) + timedelta(minutes=minute)


def last_day(minute: int) -> int:
    """The number of the day on which work that ends at ``minute`` is done; midnight belongs to the day before."""
    return max(0, minute - 1) // DAY


def day_at(first_day: date, minute: int) -> date:
    """The day on which work that ends at ``minute`` is done."""
    return first_day + timedelta(days=last_day(minute))


def in_words(value: date | None) -> str:
    """A day as the sheets and pages write it, "12 Feb 2027"."""
    return show_day(value) if value else "a day that is not known"
