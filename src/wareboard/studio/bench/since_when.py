"""Since when something has stood, as people write it: a date, a weekday, "yesterday", "3 days", "16:30"."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from wareboard.errors import OutOfRange, Unreadable

LONGEST = timedelta(days=1100)
MIDDLE_OF_THE_DAY = time(12)  # a day alone is taken by its middle
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
HOURS_OF = {"h": 1, "hr": 1, "hour": 1, "d": 24, "day": 24, "w": 168, "wk": 168, "week": 168}
AGO = re.compile(r"(\d{1,4}(?:\.\d)?)\s*(h|hr|hour|d|day|w|wk|week)s?(?:\s+ago)?")
CLOCK = re.compile(r"(?:(.*?)[\s,t]+)?([01]?\d|2[0-3])[:.]([0-5]\d)(?::[0-5]\d)?")
MEND = "Write it like 20 Nov, yesterday, Mon or 3 days"


def since_when(written: str, now: datetime) -> datetime:
    """The moment that was written, in the zone of ``now``; now itself where nothing was.

    Args:
        written: a date (year, month, day; or day and month, a month in figures only where it cannot be the day), a weekday
            (the last one), "today", "yesterday", a time of the day, a date with one, or how long ago in hours, days, weeks.
        now: this moment in the workshop's own zone.
    Raises:
        Unreadable: if it is none of these, or could be two. OutOfRange: if it is to come, or over three years ago.
    """
    plain = " ".join(written.casefold().split()).strip(".")
    if plain in ("", "now"):
        return now
    if ago := AGO.fullmatch(plain):
        return _checked(now - timedelta(hours=float(ago[1]) * HOURS_OF[ago[2]]), written, now)
    clock = CLOCK.fullmatch(plain)
    if clock and not _is_a_date(plain, now):
        day = _day(clock[1], written, now) if clock[1] else now.date()
        return _checked(datetime.combine(day, time(int(clock[2]), int(clock[3])), now.tzinfo), written, now)
    day = _day(plain, written, now)
    middle = datetime.combine(day, MIDDLE_OF_THE_DAY, now.tzinfo)
    return min(middle, now) if day == now.date() else _checked(middle, written, now)


def _checked(moment: datetime, written: str, now: datetime) -> datetime:
    if moment > now:
        raise OutOfRange(f"since {written[:20]!r}", "that is still to come", MEND)
    if now - moment > LONGEST:
        raise OutOfRange(f"since {written[:20]!r}", "that is over three years ago", MEND)
    return moment


def _is_a_date(plain: str, now: datetime) -> bool:
    """Whether "20.11" is meant as a day: figures with a dot are one where they can be."""
    if ":" in plain:
        return False
    try:
        _day(plain, plain, now)
    except (Unreadable, OutOfRange):
        return False
    return True


def _day(plain: str, written: str, now: datetime) -> date:
    today = now.date()
    if plain in ("today", "yesterday"):
        return today - timedelta(days=plain == "yesterday")
    if plain[:3] in WEEKDAYS and plain.isalpha() and plain in _full(plain[:3]):
        return today - timedelta(days=(today.weekday() - WEEKDAYS.index(plain[:3])) % 7)
    parts = re.split(r"[\s./-]+", plain)
    try:
        if len(parts[0]) == 4 and len(parts) == 3:
            return date(*(int(each) for each in parts))
        if len(parts) in (2, 3):
            return _day_and_month(parts, plain, today)
    except Unreadable:
        raise
    except ValueError:
        pass
    raise Unreadable(f"since {written[:20]!r}", "it is no day that can be told", MEND)


def _full(short: str) -> tuple[str, ...]:
    whole = dict(
        zip(WEEKDAYS, ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"), strict=True)
    )[short]
    return (*(whole[:length] for length in range(3, len(whole))), whole)


def _day_and_month(parts: list[str], plain: str, today: date) -> date:
    """A day and its month, in this year or else the last; a slash between two figures says which is which only over 12."""
    first, second = parts[0], parts[1]
    if first[:3] in MONTHS:
        first, second = second, first
    if second[:3] in MONTHS:
        month = MONTHS.index(second[:3]) + 1
    else:
        month = int(second)
        if "/" in plain and int(first) <= 12 and month <= 12 and int(first) != month:
            raise Unreadable(
                f"since {plain[:20]!r}", "either figure may be the month", "Write the month as a word, 3 Apr"
            )
        if "/" in plain and month > 12:
            first, month = second, int(first)
    if len(parts) == 3 and parts[2]:
        year = int(parts[2])
        return date(year + 2000 if year < 100 else year, month, int(first))
    here = date(today.year, month, int(first))
    return here if here <= today else date(today.year - 1, month, int(first))
