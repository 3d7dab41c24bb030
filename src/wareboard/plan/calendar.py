"""The calendar of a commission: what is done when, by whom and in which kiln, and whether the date can be kept.

Hands work in working time; drying, firing and cooling run through nights and weekends; a kiln is taken from loading until it
is unloaded. The plan is searched for with a constraint solver and comes with a bound, so that "no plan is over sooner" is
said only where it is proved.

Care: a kiln that is firing is never left to itself because a calendar says so; read the kiln maker's instructions.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from wareboard.errors import OutOfRange
from wareboard.plan.calendar_lines import Entry, entries_of, steps_of
from wareboard.plan.calendar_search import LONGEST_DAYS, Answer, Bench, Booked, begin_late, bench_of, finish_soon
from wareboard.plan.days import Person, day_at
from wareboard.plan.shortest import ShortestPlan, Status, shortest_plan
from wareboard.plan.ways_out import Mend, ways_out
from wareboard.plan.work import Task, Work, take_apart
from wareboard.working import Step

__all__ = [
    "Booked",
    "Calendar",
    "Entry",
    "Mend",
    "Person",
    "ShortestPlan",
    "Task",
    "ics",
    "lay_calendar",
    "shortest_plan",
]


LATEST_START_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Calendar:
    """The work laid out, how it stands to the due date, and how sure that is.

    ``status`` is about the day of finishing: proved (no plan is over on an earlier day; where no first day was given, none
    begins later), best found, or no plan. ``bound`` is that day as far as proved; ``gap`` the days between as a share of the
    days the plan takes. ``latest_start`` is the last day on which the work can begin and still be over by the due date.
    """

    entries: tuple[Entry, ...]
    first_day: date | None
    finish: date | None
    due: date
    slack_days: int | None
    late_days: int
    status: Status
    bound: date | None
    gap: float | None
    latest_start: date | None
    latest_start_status: Status
    buffer_days: int
    mends: tuple[Mend, ...]
    why: str
    steps: tuple[Step, ...]

    @property
    def on_time(self) -> bool:
        return self.finish is not None and self.finish <= self.due

    @property
    def buffer_kept(self) -> bool:
        """Whether the days free before the due date are as many as are wanted for making again."""
        return self.slack_days is not None and self.slack_days >= self.buffer_days


def lay_calendar(
    tasks: Sequence[Task],
    people: Sequence[Person],
    kilns: Sequence[str],
    first_day: date | None,
    due: date,
    days_off: Collection[date] = frozenset(),
    racks: Mapping[str, int] | None = None,
    booked: Sequence[Booked] = (),
    buffer_share: float = 0.0,
    seconds: float = 10.0,
    workers: int = 1,
    seed: int = 0,
    try_mends: bool = True,
    longest_days: int = LONGEST_DAYS,
    on_progress: Callable[[date, date], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Calendar:
    """The work laid out so that it is over soonest, or, without a first day, so that it begins as late as the date allows.

    Args:
        tasks: see `Task`; keys differ, `after` names keys.
        people: whose hands there are.
        kilns: names of the kilns; each takes one load at a time.
        first_day: the first day on which work may be done; None to lay out backwards from the due date alone.
        due: the day by whose end all must be over.
        days_off: days on which nobody works; drying and cooling go on.
        racks: name of a rack or set of boards, and how many pieces it holds.
        booked: spans for which kilns are promised to other work.
        buffer_share: time wanted free before the due date for making again, as a share of the days the plan takes.
        seconds: about how long to look, ways out apart (each may take a quarter of it again). Counted by the solver's work
            and not by the clock, so that the same input gives the same calendar.
        workers: searches side by side; one is the quickest for plans of up to some hundred tasks.
        seed: of the solver.
        try_mends: whether to look for ways out if the date cannot be kept.
        longest_days: the most days looked ahead.
        on_progress: told the finish and the bound as days, whenever the plan gets better.
        stop: asked now and then; True ends the search with what there is.
    Raises:
        Problems, OutOfRange: naming tasks, people or numbers that will not do. That the date cannot be kept, or that there
            is no plan at all, is an answer and not an error.
    Source: constraint model with one bar an act, Google OR-Tools CP-SAT; hands laid out along working time.
    """
    bench = bench_of(people, kilns, days_off, racks, booked, seconds, workers, seed, longest_days)
    if not (math.isfinite(buffer_share) and 0.0 <= buffer_share <= 5.0):
        raise OutOfRange(f"buffer share is {buffer_share:g}", "it must lie from 0 to 5", "Write 30 % as 0.3")
    work = take_apart(tasks, bench.kilns, dict(bench.racks))
    # With a first day the latest start is a second thought: a tenth of the search keeps it from costing more than the plan.
    aside = bench if first_day is None else replace(bench, seconds=bench.seconds * LATEST_START_SHARE)
    last_chance = begin_late(work, aside, due, stop)
    answer = last_chance if first_day is None else finish_soon(work, bench, first_day, on_progress, stop)
    if answer is None or answer.found.laid is None:
        return _no_plan(work, bench, due, first_day)
    calendar = _calendar(answer, last_chance, bench, due, first_day, buffer_share)
    if try_mends and calendar.late_days:
        return replace(calendar, mends=ways_out(answer, bench, due))
    return calendar


def ics(calendar: Calendar, uid_stem: str, stamp: datetime) -> str:
    """The calendar as iCalendar text (RFC 5545), the same text for the same input.

    Args:
        calendar: as `lay_calendar` gave it.
        uid_stem: what makes the entries' names differ from those of other calendars, such as the commission's number.
        stamp: when the plan was made; with a time zone, else it is taken as UTC.
    Times are the workshop's own, without a zone.
    """
    from datetime import UTC

    from icalendar import Calendar as Sheet
    from icalendar import Event

    made = stamp if stamp.tzinfo else stamp.replace(tzinfo=UTC)
    sheet = Sheet()
    sheet.add("prodid", "-//Wareboard//Calendar//EN")
    sheet.add("version", "2.0")
    for entry in calendar.entries:
        event = Event()
        event.add("uid", f"{entry.key}-{entry.kind}-{entry.part}@{uid_stem}")
        event.add("dtstamp", made)
        event.add("dtstart", entry.start)
        event.add("dtend", entry.end)
        part = f" ({entry.part} of {entry.parts})" if entry.parts > 1 else ""
        event.add("summary", entry.name + part)
        event.add("description", _words(entry))
        if entry.place:
            event.add("location", entry.place)
        sheet.add_component(event)
    due = Event()
    due.add("uid", f"due@{uid_stem}")
    due.add("dtstamp", made)
    due.add("dtstart", calendar.due)
    due.add("dtend", calendar.due + timedelta(days=1))
    due.add("summary", "Due")
    sheet.add_component(due)
    return str(sheet.to_ical(), "utf-8")


def _words(entry: Entry) -> str:
    parts = (entry.form, entry.stage, f"{entry.pieces} pieces" if entry.pieces else "", entry.who)
    return ", ".join(part for part in parts if part)


def _no_plan(work: Work, bench: Bench, due: date, first_day: date | None) -> Calendar:
    if not any(hours for person in bench.people for hours in person.hours):
        why = "nobody has working hours"
    elif work.shelved:
        why = "the racks have no room for what must lie on them together, or the days looked at are too few"
    elif first_day is None:
        why = f"no first day within {bench.longest_days} days lets the work be over by the due date"
    else:
        why = f"the work does not fit into the {bench.longest_days} days looked at"
    return Calendar((), first_day, None, due, None, 0, "no plan", None, None, None, "no plan", 0, (), why, ())


def _calendar(
    answer: Answer, last_chance: Answer | None, bench: Bench, due: date, first_day: date | None, buffer_share: float
) -> Calendar:
    laid, found, origin = answer.found.laid, answer.found, answer.origin
    assert laid is not None  # the caller has looked
    finish = day_at(origin, laid.finish)
    if first_day is None:
        begin = origin + timedelta(days=found.value or 0)
        bound = origin + timedelta(days=found.bound)
        apart = (bound - begin).days
    else:
        begin, bound = first_day, day_at(origin, found.bound)
        apart = (finish - bound).days
    taken = (finish - begin).days + 1
    buffer_days = math.ceil(buffer_share * taken - 1e-9)
    latest, latest_status = _latest(last_chance)
    return Calendar(
        entries=entries_of(answer, bench),
        first_day=begin,
        finish=finish,
        due=due,
        slack_days=(due - finish).days,
        late_days=max(0, (finish - due).days),
        status="proved" if apart == 0 else found.status,
        bound=bound,
        gap=apart / taken,
        latest_start=latest,
        latest_start_status=latest_status,
        buffer_days=buffer_days,
        mends=(),
        why="" if finish <= due else f"too late by {(finish - due).days} days",
        steps=steps_of(answer, bench, begin, finish, due, buffer_share, buffer_days),
    )


def _latest(last_chance: Answer | None) -> tuple[date | None, Status]:
    if last_chance is None or last_chance.found.value is None:
        return None, "no plan"
    proved = last_chance.found.bound == last_chance.found.value
    day = last_chance.origin + timedelta(days=last_chance.found.value)
    return day, "proved" if proved else last_chance.found.status
