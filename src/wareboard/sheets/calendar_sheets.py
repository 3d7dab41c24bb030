"""The calendar on paper: the whole job on one strip of days, then a page of weeks to tick off."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from wareboard.plan.noticing import in_days, standing
from wareboard.plan.result import Plan
from wareboard.sheets.data import day, head, shortened, workings
from wareboard.sheets.typesetting import Paper

if TYPE_CHECKING:
    from wareboard.plan.calendar import Entry

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
STATES = {"on time": "On time", "tight": "Tight", "late": "Late", "no plan": "No calendar"}
STAGE_ROWS = (
    ("thrown", "throw"),
    ("dried", "trim, join, dry"),
    ("bisque", "bisque"),
    ("washed", "wash"),
    ("lined", "line"),
    ("glazed", "glaze, paint"),
    ("glaze", "glaze fire"),
    ("packed", "grade, pack"),
)
LONGEST_FORM = 30


def calendar_sheet(plan: Plan, paper: Paper) -> dict[str, Any]:
    """The overview and the weeks."""
    calendar = plan.calendar
    state = standing(plan)
    first, last = span_of(plan)
    return head(plan, "Calendar", paper) | {
        "state": STATES[state],
        "line": _line(plan),
        "why": calendar.why,
        "mends": [str(mend) for mend in calendar.mends],
        "strip": _strip(plan, first, last),
        "weeks": [_week(plan, monday) for monday in _mondays(calendar.entries)],
        "working": workings(
            calendar.steps,
            [
                "days the plan takes",
                "days left before the due date",
                "days wanted free for making again",
                "hours of work by hand",
                "days the kilns are taken",
            ],
        ),
    }


def _line(plan: Plan) -> str:
    calendar = plan.calendar
    if calendar.finish is None:
        return f"No calendar: {calendar.why}"
    slack = calendar.slack_days or 0
    left = f"{in_days(slack)} to spare" if not calendar.late_days else f"{in_days(calendar.late_days)} late"
    sure = "no plan is over sooner" if calendar.status == "proved" else "the best found"
    begin = "should have begun by" if calendar.late_days else "can begin as late as"
    start = f"; work {begin} {day(calendar.latest_start)}" if calendar.latest_start else ""
    return f"{day(calendar.first_day)} to {day(calendar.finish)}, due {day(calendar.due)}: {left} ({sure}){start}."


def span_of(plan: Plan) -> tuple[date, date]:
    """The first and the last day of the overview: the whole job and its due date."""
    entries, due = plan.calendar.entries, plan.calendar.due
    if not entries:
        return due, due
    first = min(entry.start for entry in entries).date()
    last = max(max(entry.end for entry in entries).date(), due)
    return first, last


def _strip(plan: Plan, first: date, last: date) -> dict[str, Any]:
    """Bars over days: people, kilns and stages, each bar from and to in days after the first Monday."""
    origin = first - timedelta(days=first.weekday())
    days = (last - origin).days + 1
    days += -days % 7

    def at(moment: datetime) -> float:
        return (moment - datetime.combine(origin, time())).total_seconds() / 86400

    entries = plan.calendar.entries
    rows = [
        {
            "name": person.name,
            "kind": "person",
            "bars": [[at(e.start), at(e.end)] for e in entries if e.who == person.name],
        }
        for person in plan.people
    ]
    rows += [{"name": kiln.name, "kind": "kiln", "bars": _kiln_bars(entries, kiln.name, at)} for kiln in plan.kilns]
    rows += [
        {
            "name": words,
            "kind": "stage",
            "bars": _joined([[at(e.start), at(e.end)] for e in entries if e.stage == stage]),
        }
        for stage, words in STAGE_ROWS
        if any(e.stage == stage for e in entries)
    ]
    return {
        "days": days,
        "weeks": [day_short(origin + timedelta(weeks=week)) for week in range(days // 7)],
        "rows": rows,
        "due": (plan.calendar.due - origin).days + 1.0,
        "finish": (plan.calendar.finish - origin).days + 1.0 if plan.calendar.finish else None,
    }


def day_short(value: date) -> str:
    """A day as "30 Nov"."""
    return f"{value.day} {value:%b}"


def _kiln_bars(entries: Sequence[Entry], kiln: str, at: Any) -> list[list[Any]]:
    """One bar for each load, from the beginning of loading until it is unloaded, with B or G and its number."""
    loads: dict[str, list[Any]] = {}
    for entry in entries:
        if entry.place == kiln:
            bar = loads.setdefault(entry.key, [at(entry.start), at(entry.end), _load_label(entry)])
            bar[0], bar[1] = min(bar[0], at(entry.start)), max(bar[1], at(entry.end))
    return list(loads.values())


def _load_label(entry: Entry) -> str:
    """ "B2" for the second bisque load."""
    number = re.search(r"load (\d+)", entry.name)
    return entry.stage[:1].upper() + (number[1] if number else "")


def _joined(bars: list[list[float]]) -> list[list[float]]:
    """Bars that touch or overlap as one."""
    found: list[list[float]] = []
    for start, end in sorted(bars):
        if found and start <= found[-1][1] + 1e-6:
            found[-1][1] = max(found[-1][1], end)
        else:
            found.append([start, end])
    return found


def _mondays(entries: Sequence[Entry]) -> list[date]:
    """The Monday of every week in which something is done, begins or ends."""
    days = {moment.date() for entry in entries for moment in (entry.start, entry.end)}
    return sorted({each - timedelta(days=each.weekday()) for each in days})


def _week(plan: Plan, monday: date) -> dict[str, Any]:
    days = [monday + timedelta(days=number) for number in range(7)]
    rows = [
        {"name": person.name, "cells": [_by_hand(plan.calendar.entries, person.name, each) for each in days]}
        for person in plan.people
    ]
    rows += [
        {"name": kiln.name, "cells": [_in_kiln(plan.calendar.entries, kiln.name, each) for each in days]}
        for kiln in plan.kilns
    ]
    rows.append({"name": "by itself", "cells": [_over_on(plan.calendar.entries, each) for each in days]})
    return {
        "name": f"Week of {day(monday)}",
        "days": [f"{WEEKDAYS[number]} {day_short(each)}" for number, each in enumerate(days)],
        "due": [each == plan.calendar.due for each in days],
        "rows": [row for row in rows if any(row["cells"])],
    }


def _by_hand(entries: Sequence[Entry], who: str, on: date) -> list[list[str]]:
    """What a person does on a day, in order: time and words."""
    return [
        [
            f"{entry.start:%H:%M}",
            _called(entry) + (f" ({entry.part} of {entry.parts})" if entry.parts > 1 else ""),
        ]
        for entry in entries
        if entry.who == who and entry.start.date() == on
    ]


def _called(entry: Entry) -> str:
    """An entry's name as it fits into a day's box: without what comes after, and a long form's name cut short."""
    if entry.place and (load := re.search(r"load (\d+)", entry.name)):
        return f"{'Unload' if entry.kind == 'unloading' else 'Load'} {entry.stage} {load[1]}"
    name = entry.name.replace(", then dry under cover", "")
    return name.replace(entry.form, shortened(entry.form, LONGEST_FORM)) if entry.form else name


def _in_kiln(entries: Sequence[Entry], kiln: str, on: date) -> list[list[str]]:
    found = []
    for entry in entries:
        if entry.place != kiln or not entry.start.date() <= on <= entry.end.date():
            continue
        load = entry.name.split(":", 1)[0]
        if entry.kind == "waiting":
            words = "firing" if entry.start.date() == on else "may be opened" if entry.end.date() == on else "cooling"
            when = entry.start if entry.start.date() == on else entry.end
            found.append([f"{when:%H:%M}" if words != "cooling" else "", f"{load}: {words}"])
    return found


def _over_on(entries: Sequence[Entry], on: date) -> list[list[str]]:
    """Drying that is over on a day, whatever began it."""
    words = {
        "thrown": "leather-hard",
        "dried": "bone dry",
        "washed": "washed, dry",
        "lined": "liner dry",
        "glazed": "glaze dry",
        "mixing": "rested",
    }
    over = [
        entry
        for entry in entries
        if entry.kind == "waiting" and not entry.place and entry.stage in words and entry.end.date() == on
    ]
    alike: dict[tuple[str, str], list[Entry]] = {}
    for entry in sorted(over, key=lambda entry: entry.end):
        alike.setdefault((_what(entry), words[entry.stage]), []).append(entry)
    return [[f"{found[-1].end:%H:%M}", f"{what}{_batches(found)}: {state}"] for (what, state), found in alike.items()]


def _what(entry: Entry) -> str:
    """The form, or the glaze that was mixed."""
    mixed = entry.name.removesuffix(": waiting").removeprefix("Weigh out, mix and sieve ")
    return shortened(entry.form or mixed, LONGEST_FORM)


def _batches(entries: Sequence[Entry]) -> str:
    """ ", batches 1, 2" where a form is made in several."""
    numbers = [found[1] for entry in entries if (found := re.search(r"batch (\d+) of", entry.name))]
    return f", {'batch' if len(numbers) == 1 else 'batches'} {', '.join(numbers)}" if numbers else ""
