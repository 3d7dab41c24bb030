"""The courses of commissions: kept in the records, so that a page asks for none of two hundred plans; read ones in memory.

A commission whose work has begun keeps the calendar of the day on which it was laid out, or of the day on which its boards
were put up: what is behind can only be seen beside a calendar that stands still.
When the workshop's records have come to teach other figures, a course is worked out anew at most once a day, one each look,
so that no look waits for two hundred plans.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from wareboard.book.boards import course
from wareboard.book.boards.course import Course, course_of
from wareboard.book.boards.models import KeptCourse
from wareboard.book.models import Commission, Headline, Version
from wareboard.errors import Problems, WareboardError
from wareboard.studio import plans

MOST_READ = 1000
LEARNED_AT_A_LOOK = 1
_read: dict[int, tuple[str, Course]] = {}  # by the version


@dataclass(frozen=True, slots=True)
class Found:
    """The course of a commission, or what stands in the way of one; ``print`` tells one course from another."""

    course: Course | None
    trouble: str
    print: str = ""


def courses_of(commissions: Iterable[Commission], begun: Mapping[int, date], on: plans.Basis) -> dict[int, Found]:
    """The courses by commission.

    Args:
        commissions: with their papers' current versions at hand.
        begun: by commission, the day since which its earliest board stands; only those whose work has begun.
        on: the workshop and the day.
    """
    rows = list(commissions)
    versions = {each.pk: each.paper.current for each in rows}
    keys = [version.pk for version in versions.values() if version]
    looked = dict(Headline.objects.filter(version__in=keys, looked_s__gt=0.0).values_list("version", "looked_s"))
    kept = {
        version: (day, mark)
        for version, day, mark in KeptCourse.objects.filter(version__in=keys).values_list(
            "version", "day", "workshop_print"
        )
    }
    _read_in(kept)
    found = {}
    left = LEARNED_AT_A_LOOK
    for each in rows:
        version = versions[each.pk]
        if version is None:
            found[each.pk] = Found(None, "There is no brief")
            continue
        mark = _print(on, looked.get(version.pk, 0.0))
        since = begun.get(each.pk)
        held = _held(version, kept.get(version.pk), mark, since, on)
        if held is not None and held.course is not None:
            done = held.course.made == on.day or on.for_paper(version.paper_id).own.agrees(held.course.leans)
            if done or left <= 0:
                found[each.pk] = held
                continue
            left -= 1
        found[each.pk] = _worked_out(version, kept.get(version.pk), mark, since, on)
    return found


def _print(on: plans.Basis, looked_s: float) -> str:
    return hashlib.sha256(f"{on.print} {looked_s:g} {course.EDITION}".encode()).hexdigest()


def _whole(day: date, mark: str) -> str:
    return f"{day.isoformat()} {mark}"


def _read_in(kept: Mapping[int, tuple[date, str]]) -> None:
    """Read the courses that are kept and not in memory yet, all at once."""
    missing = [key for key, (day, mark) in kept.items() if _read.get(key, ("",))[0] != _whole(day, mark)]
    if not missing:
        return
    if len(_read) + len(missing) > MOST_READ:
        _read.clear()
    for version, figures in KeptCourse.objects.filter(version__in=missing).values_list("version", "figures"):
        read = course.read(figures)
        if read is not None:
            _read[version] = _whole(*kept[version]), read


def _held(
    version: Version, kept: tuple[date, str] | None, mark: str, begun: date | None, on: plans.Basis
) -> Found | None:
    """The kept course, where it still holds but for what was learned since."""
    held = _read.get(version.pk)
    if not kept or not held or held[0] != _whole(*kept) or kept[1] != mark:
        return None
    first = held[1].first_day
    still_ahead = first is not None and first > kept[0] and first >= on.day
    return Found(held[1], "", held[0]) if begun or kept[0] == on.day or still_ahead else None


def _worked_out(
    version: Version, kept: tuple[date, str] | None, mark: str, begun: date | None, on: plans.Basis
) -> Found:
    """The course worked out from the plan, and kept."""
    day = min(begun, on.day) if begun else on.day
    if kept and begun:
        day = min(day, kept[0])
    try:
        worked = course_of(plans.plan_of_version(version, replace(on, day=day)), made=on.day)
    except WareboardError as problem:
        first_one = problem.problems[0] if isinstance(problem, Problems) and problem.problems else problem
        return Found(None, str(first_one))
    KeptCourse.objects.update_or_create(
        version=version, defaults={"day": day, "workshop_print": mark, "figures": course.written(worked)}
    )
    _read[version.pk] = _whole(day, mark), worked
    leans = hashlib.sha256(repr(sorted(worked.leans.items())).encode()).hexdigest()[:8]
    return Found(worked, "", f"{_whole(day, mark)} {leans}")


def forget() -> None:
    """Let go of every course kept in memory, as when other records are put in place."""
    _read.clear()
