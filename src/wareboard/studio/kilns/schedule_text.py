"""A schedule as lines that people write: rate, target, hold, and why after a #; and the segments that boxes hold."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from wareboard.errors import OutOfRange, Problems, Unreadable, WareboardError
from wareboard.plan.fields import plain_number
from wareboard.quantities import temperature_c

if TYPE_CHECKING:
    from wareboard.kiln.segment import Schedule, Segment

MOST_SEGMENTS = 40
GOES_NOWHERE_C = 5.0
MEND = "Write rate; target; hold, such as 60; 1222; 15, or with °F: 108 F/h; 2232 F; 15"
RATE = re.compile(r"([-+\N{MINUS SIGN}]?[\d.,]+)\s*(?:°?\s*([CFcf])(?:\s*/\s*h)?)?")


def lines_of(schedule: Schedule) -> str:
    """A schedule as lines: rate in °C/h; target in °C; hold in min, and why."""
    return "\n".join(
        f"{each.rate_c_per_h:g}; {each.target_c:g}; {each.hold_min:g}{f'  # {each.why}' if each.why else ''}"
        for each in schedule.segments
    )


def schedule_of(text: str, name: str, cone: str, form: str, kind: str, start_c: float = 20.0) -> Schedule:
    """The schedule that lines hold.

    Raises:
        Problems: with every line that cannot be read.
        OutOfRange: if it goes nowhere, or has more segments than any controller.
    """
    from wareboard.kiln.segment import Schedule

    found, problems = [], []
    for number, line in enumerate(text.splitlines(), 1):
        figures, _, why = line.partition("#")
        if not figures.strip():
            continue
        try:
            found.append(_segment(figures.split(";"), why.strip()))
        except WareboardError as problem:
            problem.where = problem.where or f"line {number}"
            problems.append(problem)
    if problems:
        raise Problems(problems, "The schedule cannot be read")
    return going_somewhere(Schedule(name, tuple(found), start_c, cone, form, kind))


def segments_of(rows: Iterable[Sequence[str]]) -> tuple[Segment, ...]:
    """Segments from boxes of rate, target, hold and why; rows left empty are left out.

    Raises:
        Problems: naming every segment that cannot be read.
    """
    found, problems = [], []
    for number, row in enumerate(rows, 1):
        if not any(each.strip() for each in row[:3]):
            continue
        try:
            found.append(_segment(row[:3], row[3] if len(row) > 3 else ""))
        except WareboardError as problem:
            problem.where = problem.where or f"segment {number}"
            problems.append(problem)
    if problems:
        raise Problems(problems, "Some segments cannot be read")
    return tuple(found)


def _segment(parts: Sequence[str], why: str) -> Segment:
    from wareboard.kiln.segment import Segment

    written = [part.strip() for part in parts]
    if len(written) not in (2, 3) or not all(written[:2]):
        raise Unreadable(f"{'; '.join(written)!r}", "a segment is a rate, a target and a hold", MEND)
    rate, target, hold = (*written, "0")[:3]
    return Segment(abs(_rate(rate)), temperature_c(target), plain_number(hold.removesuffix("min").strip() or "0"), why)


def _rate(words: str) -> float:
    """Degrees an hour in °C: "60", "60 °C/h", "108 F/h"."""
    found = RATE.fullmatch(words)
    if found is None:
        return plain_number(words)  # which says what is wrong with it
    return plain_number(found[1]) * (5.0 / 9.0 if found[2] in ("F", "f") else 1.0)


def going_somewhere(schedule: Schedule) -> Schedule:
    """The schedule itself, if it heats anything.

    Raises:
        OutOfRange: if no target lies above the start, or it is longer than any controller takes.
    """
    if len(schedule.segments) > MOST_SEGMENTS:
        raise OutOfRange(
            f"{len(schedule.segments)} segments", f"no controller takes more than {MOST_SEGMENTS}", "Join some of them"
        )
    if schedule.peak_c <= schedule.start_c + GOES_NOWHERE_C:
        raise OutOfRange(
            f"the schedule goes nowhere: its hottest target is {schedule.peak_c:g} °C",
            f"it starts at {schedule.start_c:g} °C",
            "Give at least one target well above the start",
        )
    return schedule
