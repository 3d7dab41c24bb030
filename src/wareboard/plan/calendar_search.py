"""The two searches behind the calendar: over as soon as may be, and begun as late as may be."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from wareboard.errors import OutOfRange
from wareboard.plan.calendar_model import Effort, Found, any_plan, latest_first_day, soonest_finish
from wareboard.plan.days import DAY, Crew, Person, crews, day_at, last_day
from wareboard.plan.laying import Busy, Laid, lay_by_rule, still_ahead
from wareboard.plan.windows import Question, latest_possible_day, least_stays, soonest_possible
from wareboard.plan.work import Work

LONGEST_DAYS = 800
COARSE_FROM_DAYS = 40
FIRST_GUESS_DAYS = 100
# Of the seconds allowed, in each of the two searches: for the first look, and for each day then asked after by itself.
FIRST_SHARE = 0.4
EACH_DAY_SHARE = 0.1
MOST_DAYS_ASKED = 40


@dataclass(frozen=True, slots=True)
class Booked:
    """A kiln promised to other work, from loading to unloading, in the workshop's own time."""

    kiln: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Bench:
    """Who and what the work is laid out on, and how long the search may take."""

    people: tuple[Person, ...]
    kilns: tuple[str, ...]
    days_off: frozenset[date]
    racks: tuple[tuple[str, int], ...]
    booked: tuple[Booked, ...]
    seconds: float
    workers: int
    seed: int
    longest_days: int


@dataclass(frozen=True, slots=True)
class Answer:
    """What a search said, with the work and the day it counts from."""

    work: Work
    origin: date
    team: tuple[Crew, ...]
    found: Found


def bench_of(
    people: Sequence[Person],
    kilns: Sequence[str],
    days_off: Collection[date],
    racks: Mapping[str, int] | None,
    booked: Sequence[Booked],
    seconds: float,
    workers: int,
    seed: int,
    longest_days: int,
) -> Bench:
    """What was given, checked."""
    for kind, names in (("people", [person.name for person in people]), ("kilns", list(kilns))):
        if len(set(names)) < len(names):
            raise OutOfRange(f"two {kind} have one name", "each must be told from the others", "Rename one of them")
    for one in booked:
        if one.kiln not in kilns:
            raise OutOfRange(f"kiln {one.kiln!r} is promised", "there is no such kiln", "Check the name")
        if not one.start < one.end:
            raise OutOfRange(
                f"kiln {one.kiln!r} is promised to {one.end}", "that is not after its start", "Mend the span"
            )
    if not 1 <= longest_days <= LONGEST_DAYS:
        raise OutOfRange(f"{longest_days} days ahead", f"it must be 1 to {LONGEST_DAYS}", "Look less far ahead")
    room = tuple((racks or {}).items())
    return Bench(
        tuple(people), tuple(kilns), frozenset(days_off), room, tuple(booked), seconds, workers, seed, longest_days
    )


def promised(bench: Bench, origin: date) -> tuple[tuple[Busy, ...], ...]:
    """The spans each kiln is promised for, in minutes from the origin, joined where they meet."""
    midnight = datetime.combine(origin, time())
    found = []
    for kiln in bench.kilns:
        spans: list[Busy] = []
        for one in sorted((one for one in bench.booked if one.kiln == kiln), key=lambda one: one.start):
            begin = max(0, math.floor((one.start - midnight).total_seconds() / 60))
            end = math.ceil((one.end - midnight).total_seconds() / 60)
            if end <= begin:
                continue
            if spans and begin <= spans[-1][1]:
                spans[-1] = (spans[-1][0], max(spans[-1][1], end))
            else:
                spans.append((begin, end))
        found.append(tuple(spans))
    return tuple(found)


def _by_rules(work: Work, team: Sequence[Crew], booked: Sequence[Sequence[Busy]]) -> Laid | None:
    """The best of a few plans laid by plain rules: longest road ahead first, as listed, and kiln loads first."""
    ahead = still_ahead(work)
    loads = {load.task for load in work.loads}
    rules: tuple[Callable[[int], tuple[float, ...]], ...] = (
        lambda task: (-ahead[work.first_act[task]], task),
        lambda task: (task,),
        lambda task: (task not in loads, -ahead[work.first_act[task]], task),
    )
    plans = [plan for rule in rules if (plan := lay_by_rule(work, team, booked, rule)) is not None]
    return min(plans, key=lambda plan: plan.finish, default=None)


def finish_soon(
    work: Work,
    bench: Bench,
    first_day: date,
    on_progress: Callable[[date, date], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Answer:
    """The plan that is over soonest when work may begin on ``first_day``."""
    days = min(FIRST_GUESS_DAYS, bench.longest_days)
    booked = promised(bench, first_day)
    while True:
        team = crews(bench.people, first_day, days, bench.days_off)
        known = _by_rules(work, team, booked)
        if known is not None or days == bench.longest_days:
            break
        days = min(2 * days, bench.longest_days)
    question = Question(work, team, booked, days * DAY if known is None else known.finish)

    def tell(finish: int, bound: int) -> None:
        if on_progress is not None:
            on_progress(day_at(first_day, finish), day_at(first_day, bound))

    effort = Effort(bench.seconds * FIRST_SHARE, bench.workers, bench.seed, tell, stop)
    stays = least_stays(question)
    at_least = soonest_possible(question, stays, question.over_by)
    found = soonest_finish(question, known, effort, stays, at_least)
    if found.laid is None and known is not None:
        found = Found(known, "best found", at_least, known.finish)
    found = replace(found, bound=max(found.bound, at_least))
    return Answer(work, first_day, team, _day_by_day(found, question, effort, bench, stays))


def _day_by_day(found: Found, question: Question, effort: Effort, bench: Bench, stays: tuple[int, ...]) -> Found:
    """The bound raised, or the plan bettered, by asking of each day from the bound on whether all can be over by then."""
    asked = replace(effort, seconds=bench.seconds * EACH_DAY_SHARE, on_progress=None)
    for _ in range(MOST_DAYS_ASKED):
        day = last_day(found.bound)
        if found.laid is None or day >= last_day(found.laid.finish) or (effort.stop is not None and effort.stop()):
            break
        tried = any_plan(replace(question, over_by=(day + 1) * DAY), asked, stays)
        if tried.laid is not None:
            return Found(tried.laid, "proved", found.bound, tried.laid.finish)
        if not tried.ruled_out:
            break
        found = replace(found, bound=(day + 1) * DAY + 1)
    return found


def begin_late(work: Work, bench: Bench, due: date, stop: Callable[[], bool] | None = None) -> Answer | None:
    """The plan that begins on the latest day and is over by the due date; None if there is none within the days allowed."""
    days = max(still_ahead(work), default=0) // DAY + 1
    by_hand = sum(act.minutes for act in work.acts if act.kind != "waiting")
    while days <= bench.longest_days:
        origin = due - timedelta(days=days - 1)
        team = crews(bench.people, origin, days, bench.days_off)
        if days > FIRST_GUESS_DAYS and not any(crew.time.total for crew in team):
            return None
        # Laying a long job out takes seconds: where there are not hours enough in all, it is not tried.
        if by_hand <= sum(len(crew.people) * crew.time.total for crew in team):
            booked = promised(bench, origin)
            known = _by_rules(work, team, booked)
            if known is not None and known.finish <= days * DAY:
                question = Question(work, team, booked, days * DAY)
                return Answer(work, origin, team, _later_and_later(question, known, bench, stop))
            days += days // COARSE_FROM_DAYS  # what lies between is left to the search that follows
        days += 1
    return None


def _later_and_later(question: Question, known: Laid, bench: Bench, stop: Callable[[], bool] | None) -> Found:
    """The latest first day: searched for, then asked of each day from the bound back whether one can begin so late."""
    effort = Effort(bench.seconds * FIRST_SHARE, bench.workers, bench.seed, None, stop)
    stays = least_stays(question)
    latest = latest_possible_day(question, stays, question.over_by // DAY - 1)
    found = latest_first_day(question, known, latest, effort, stays)
    if found.laid is None or found.value is None:
        found = Found(known, "best found", latest, 0)
    asked = replace(effort, seconds=bench.seconds * EACH_DAY_SHARE)
    found = replace(found, bound=min(found.bound, latest))
    for _ in range(MOST_DAYS_ASKED):
        if found.bound <= (found.value or 0) or (stop is not None and stop()):
            break
        tried = any_plan(replace(question, not_before=found.bound * DAY), asked, stays)
        if tried.laid is not None:
            return Found(tried.laid, "proved", found.bound, found.bound)
        if not tried.ruled_out:
            break
        found = replace(found, bound=found.bound - 1)
    return found
