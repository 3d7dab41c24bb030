"""The day's hours: how much work by hand there is, whose hands there are, and which job goes to whom."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from wareboard.studio.bench.jobs import DaysWork, Job, how_long
from wareboard.studio.bench.standing import InHand


@dataclass(frozen=True, slots=True)
class Share:
    """One person's day: the hours there are and the minutes of work that are theirs."""

    name: str
    hours: float
    minutes: float

    @property
    def has(self) -> str:
        return how_long(60.0 * self.hours) or "not in today"

    @property
    def work(self) -> str:
        return how_long(self.minutes) or "nothing yet"

    @property
    def over(self) -> bool:
        return self.minutes > 60.0 * self.hours


@dataclass(frozen=True, slots=True)
class DaysHours:
    """All work by hand of the day beside the hours there are."""

    minutes: float
    hours: float
    shares: tuple[Share, ...]
    open_minutes: float  # work that is nobody's yet

    @property
    def work(self) -> str:
        return how_long(self.minutes) or "a few minutes"

    @property
    def has(self) -> str:
        return how_long(60.0 * self.hours) or "none"

    @property
    def too_much(self) -> bool:
        return self.minutes > 60.0 * self.hours

    @property
    def open(self) -> str:
        return how_long(self.open_minutes)


def hours_of(work: DaysWork, there: Iterable[InHand], given: Mapping[str, str], day: date) -> DaysHours:
    """The day's hours, each job marked with whom it was given to and whether it still fits into them.

    Args:
        given: the person by the job's key; an empty name takes a job back from whoever had it.
    """
    people = _people(there, day)
    for job in work.jobs:
        job.given = given.get(job.key, "")
    _mark_what_fits(work.jobs, sum(people.values()))
    shares = tuple(
        Share(name, hours, sum(job.minutes for job in work.jobs if job.who == name)) for name, hours in people.items()
    )
    alone = sum(job.minutes for job in work.jobs if job.who not in people)
    return DaysHours(sum(job.minutes for job in work.jobs), sum(people.values()), shares, alone)


def _people(there: Iterable[InHand], day: date) -> dict[str, float]:
    """Everybody whom any of the commissions counts on, with their hours on the day."""
    found: dict[str, float] = {}
    for each in there:
        for person in each.course.people if each.course else ():
            found[person.name] = max(found.get(person.name, 0.0), person.hours_on(day))
    return found


def _mark_what_fits(jobs: Sequence[Job], hours: float) -> None:
    spent = 0.0
    for job in jobs:
        spent += job.minutes
        job.fits = spent <= 60.0 * hours
