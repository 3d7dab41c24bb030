"""A plain checker of calendars: reads the printed lines alone and says which rule of the workshop is broken."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime, time, timedelta

from wareboard.plan.calendar import Booked, Calendar, Entry, Person, Task


def broken_rules(
    calendar: Calendar,
    tasks: Sequence[Task],
    people: Sequence[Person],
    kilns: Sequence[str],
    first_day: date,
    days_off: Collection[date] = (),
    racks: Mapping[str, int] | None = None,
    booked: Sequence[Booked] = (),
) -> list[str]:
    """Every rule that the calendar's lines break, in words; empty if none."""
    lines: dict[str, list[Entry]] = defaultdict(list)
    for entry in calendar.entries:
        lines[entry.key].append(entry)
    span = {key: (min(one.start for one in mine), max(one.end for one in mine)) for key, mine in lines.items()}
    found = [f"{task.key} is missing" for task in tasks if task.key not in lines]
    if found:
        return found
    for task in tasks:
        found += _of_the_task(task, lines[task.key])
        found += [f"{task.key} begins before {key} is over" for key in task.after if span[task.key][0] < span[key][1]]
    found += _of_the_people(calendar, people, days_off)
    found += _of_the_kilns(tasks, lines, span, kilns, booked)
    found += _of_the_racks(tasks, span, racks or {})
    if any(start.date() < first_day for start, _ in span.values()):
        found.append("work before the first day")
    last = max((end for _, end in span.values()), default=datetime.combine(first_day, time()))
    if calendar.finish != (last - timedelta(minutes=1)).date() and calendar.finish != last.date():
        found.append(f"over on {last}, but {calendar.finish} is said")
    return found


def _minutes(entries: Sequence[Entry]) -> float:
    return sum((one.end - one.start).total_seconds() / 60 for one in entries)


def _of_the_task(task: Task, mine: Sequence[Entry]) -> list[str]:
    found = []
    kinds = {kind: [one for one in mine if one.kind == kind] for kind in ("hands", "waiting", "unloading")}
    wanted = {
        "hands": math.ceil(task.minutes_hands_on),
        "waiting": math.ceil(task.elapsed_h * 60),
        "unloading": math.ceil(task.minutes_unloading),
    }
    for kind, minutes in wanted.items():
        if _minutes(kinds[kind]) != minutes:
            found.append(f"{task.key}: {_minutes(kinds[kind]):g} minutes of {kind}, not {minutes}")
    if len(kinds["waiting"]) > 1:
        found.append(f"{task.key}: drying or firing is broken off")
    for kind in ("hands", "unloading"):
        parts = sorted(kinds[kind], key=lambda one: one.part)
        if [one.part for one in parts] != list(range(1, len(parts) + 1)):
            found.append(f"{task.key}: parts of {kind} are not counted through")
        if len({one.who for one in parts}) > 1:
            found.append(f"{task.key}: {kind} by more than one person")
        found += [
            f"{task.key}: two parts on one day"
            for a, b in itertools.pairwise(parts)
            if a.start.date() == b.start.date()
        ]
    if kinds["hands"] and kinds["waiting"] and kinds["waiting"][0].start != max(one.end for one in kinds["hands"]):
        found.append(f"{task.key}: does not run on from the hands")
    cool = max((one.end for one in kinds["waiting"]), default=None)
    if cool is not None and any(one.start < cool for one in kinds["unloading"]):
        found.append(f"{task.key}: unloaded before it is cool")
    return found


def _of_the_people(calendar: Calendar, people: Sequence[Person], days_off: Collection[date]) -> list[str]:
    found = []
    for person in people:
        mine = sorted((one for one in calendar.entries if one.who == person.name), key=lambda one: one.start)
        for earlier, later in itertools.pairwise(mine):
            if later.start < earlier.end:
                found.append(f"{person.name} does {earlier.name} and {later.name} at once")
        for one in mine:
            day = one.start.date()
            opening = datetime.combine(day, time()) + timedelta(hours=person.begins_h)
            closing = opening + timedelta(hours=person.hours[day.weekday()])
            if day in days_off or day in person.away or one.start < opening or one.end > closing:
                found.append(f"{person.name} works on {one.name} at {one.start} to {one.end}")
    names = {person.name for person in people}
    nobody = [one.name for one in calendar.entries if one.kind != "waiting" and one.who not in names]
    return [*found, *(f"nobody does {name}" for name in nobody)]


def _of_the_kilns(
    tasks: Sequence[Task],
    lines: Mapping[str, Sequence[Entry]],
    span: Mapping[str, tuple[datetime, datetime]],
    kilns: Sequence[str],
    booked: Sequence[Booked],
) -> list[str]:
    found = []
    held: dict[str, list[tuple[datetime, datetime, str]]] = defaultdict(list)
    for one in booked:
        held[one.kiln].append((one.start, one.end, "promised"))
    for task in tasks:
        allowed = [task.needs] if task.needs in kilns else (list(kilns) if task.needs == "kiln" else [])
        if not allowed:
            continue
        places = {one.place for one in lines[task.key]}
        if len(places) != 1 or not places <= set(allowed):
            found.append(f"{task.key} stands in {places}")
            continue
        held[places.pop()].append((*span[task.key], task.key))
    for kiln, spans in held.items():
        loads = [one for one in spans if one[2] != "promised"]
        for load in loads:
            found += [
                f"{load[2]} and {other[2]} are both in {kiln}"
                for other in spans
                if other is not load and load[0] < other[1] and other[0] < load[1]
            ]
    return found


def _of_the_racks(
    tasks: Sequence[Task], span: Mapping[str, tuple[datetime, datetime]], racks: Mapping[str, int]
) -> list[str]:
    found = []
    for rack, room in racks.items():
        lying = []
        for task in tasks:
            if task.needs == rack:
                taken = [span[other.key][0] for other in tasks if task.key in other.after]
                lying.append((span[task.key][0], max(taken, default=span[task.key][1]), task.pieces))
        for moment in [start for start, _, _ in lying]:
            pieces = sum(count for start, end, count in lying if start <= moment < end)
            if pieces > room:
                found.append(f"{pieces} pieces on {rack} at {moment}, room for {room}")
    return found
