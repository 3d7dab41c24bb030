"""What a laid-out plan reads like: its lines by day, and the working behind its numbers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from wareboard.plan.calendar_search import Answer, Bench
from wareboard.plan.days import DAY, WorkingTime, moment
from wareboard.working import Step


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the calendar. ``kind`` is hands, waiting or unloading; work over several days has a line for each.

    ``who`` is the person for work by hand; ``place`` the kiln or rack, if any.
    """

    key: str
    name: str
    form: str
    stage: str
    kind: str
    start: datetime
    end: datetime
    who: str
    place: str
    pieces: int
    part: int
    parts: int


def entries_of(answer: Answer, bench: Bench) -> tuple[Entry, ...]:
    """The plan's lines by start, one for each day of work by hand and one for each stretch by the clock."""
    work, laid = answer.work, answer.found.laid
    if laid is None:
        return ()
    kiln_of = {load.task: bench.kilns[kiln] for load, kiln in zip(work.loads, laid.kilns, strict=True)}
    rack_of = {ware.task: bench.racks[ware.rack][0] for ware in work.shelved}
    found = []
    for number, act in enumerate(work.acts):
        task = work.tasks[act.task]
        place = kiln_of.get(act.task) or rack_of.get(act.task, "")
        if act.by_hand:
            who = bench.people[laid.person[number]].name
            time = answer.team[laid.crew[number]].time
            spans = list(_day_parts(time, laid.worked[number], act.minutes))
        else:
            who, spans = "", [(laid.starts[number], laid.ends[number])]
        name = task.name + _doing(act.kind, act.task in kiln_of, number > work.first_act[act.task])
        for part, (start, end) in enumerate(spans, start=1):
            begin, over = moment(answer.origin, start), moment(answer.origin, end)
            found.append(
                Entry(
                    task.key,
                    name,
                    task.form,
                    task.stage,
                    act.kind,
                    begin,
                    over,
                    who,
                    place,
                    task.pieces,
                    part,
                    len(spans),
                )
            )
    return tuple(sorted(found, key=lambda entry: (entry.start, entry.end, entry.key, entry.kind, entry.part)))


def _day_parts(time: WorkingTime, worked: int, minutes: int) -> Iterator[tuple[int, int]]:
    over = worked + minutes
    while worked < over:
        upto = min(over, time.before[time.day_of(worked) + 1])
        yield time.begins(worked), time.ends(upto)
        worked = upto


def _doing(kind: str, in_kiln: bool, later: bool) -> str:
    if kind == "unloading":
        return ": unload"
    if kind == "waiting" and in_kiln:
        return ": firing and cooling"
    return ": waiting" if kind == "waiting" and later else ""


def steps_of(
    answer: Answer, bench: Bench, begin: date, finish: date, due: date, buffer_share: float, buffer_days: int
) -> tuple[Step, ...]:
    """The working: days taken and left, hours of hands and kilns, and how full both are."""
    taken = (finish - begin).days + 1
    left = (due - finish).days
    return (
        Step(
            "days the plan takes",
            "last_day - first_day + 1",
            {"first_day": 1.0, "last_day": float(taken)},
            float(taken),
            "derived",
            "days",
            key="calendar.days",
        ),
        Step(
            "days left before the due date",
            "due_day - last_day",
            {"due_day": float(taken + left), "last_day": float(taken)},
            float(left),
            "derived",
            "days",
            key="calendar.slack",
        ),
        Step(
            "days wanted free for making again",
            "ceil(buffer_share * days)",
            {"buffer_share": buffer_share, "days": float(taken)},
            float(buffer_days),
            "common-practice",
            "days",
            key="calendar.buffer",
        ),
        *_load_on_hands(answer, bench, begin, finish),
        *_load_on_kilns(answer, bench, taken),
    )


def _load_on_hands(answer: Answer, bench: Bench, begin: date, finish: date) -> tuple[Step, ...]:
    needed = sum(act.minutes for act in answer.work.acts if act.by_hand)
    days = [begin + timedelta(days=number) for number in range((finish - begin).days + 1)]
    there = sum(person.minutes_on(day) for person in bench.people for day in days if day not in bench.days_off)
    hours = Step(
        "hours of work by hand",
        "minutes / 60",
        {"minutes": float(needed)},
        needed / 60,
        "derived",
        "h",
        key="calendar.hands",
    )
    if not there:
        return (hours,)
    return (
        hours,
        Step(
            "how full the working days are",
            "minutes / minutes_there",
            {"minutes": float(needed), "minutes_there": float(there)},
            needed / there,
            "derived",
            key="calendar.hands_full",
        ),
    )


def _load_on_kilns(answer: Answer, bench: Bench, taken: int) -> tuple[Step, ...]:
    laid = answer.found.laid
    if laid is None or not answer.work.loads:
        return ()
    held = sum(laid.ends[load.last] - laid.starts[load.first] for load in answer.work.loads)
    loads, kilns = float(len(answer.work.loads)), float(len(bench.kilns))
    return (
        Step(
            "days the kilns are taken",
            "minutes_taken / minutes_a_day",
            {"minutes_taken": float(held), "minutes_a_day": float(DAY)},
            held / DAY,
            "derived",
            "days",
            how=f"{loads:g} loads, each from the beginning of loading until it is unloaded",
            key="calendar.kiln_days",
        ),
        Step(
            "how full the kilns are",
            "kiln_days / (kilns * days)",
            {"kiln_days": held / DAY, "kilns": kilns, "days": float(taken)},
            held / DAY / (kilns * taken),
            "derived",
            key="calendar.kilns_full",
        ),
    )
