"""Times in a log as seconds from its first sample: stamps, clocks, or elapsed numbers, in whatever way they are written."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import Unreadable
from wareboard.kiln.log_order import lines_in_words
from wareboard.kiln.log_text import CLOCK, Finding, Table

Array = NDArray[np.float64]
DAY_S = 86400.0
EVEN_CLOCK = re.compile(r"(\d\d):(\d\d)(?::(\d\d)(?:[.](\d+))?)?(?=Z?$)")
EVEN_DATE = re.compile(r"^\d{1,4}([-/.])\d{1,2}\1\d{1,4}(?=[ T])")
DATE = re.compile(r"^\d{1,4}([-/.])\d{1,2}\1\d{1,4}$")
UNITS_S = {"ms": 0.001, "s": 1.0, "min": 60.0, "h": 3600.0}
UNIT_WORDS = (
    ("ms", r"\bms\b|millisec"),
    ("s", r"\bs\b|\bsecs?\b|second"),
    ("min", r"\bmins?\b|minute|\bm\b"),
    ("h", r"\bh\b|\bhrs?\b|hour"),
)
TIME_WORDS = re.compile(
    r"time|date|clock|elapsed|zeit|heure|stamp|\bhours?\b|\bmin(utes)?\b|\bsec(onds)?\b", re.IGNORECASE
)
EPOCH_S = 1e9
SAME_DAY_BACK_S = 12 * 3600.0
SLIPS = 3  # more falls of the clock than this, and the log is out of order rather than reset


def time_columns(table: Table) -> list[int]:
    """Which columns tell the time: those with dates or clocks, else the one whose heading says so, else the first."""
    first = [column[0].strip() for column in table.columns]
    stamps = [at for at, text in enumerate(first) if CLOCK.search(text) or DATE.match(text.split("T")[0].split(" ")[0])]
    if stamps:
        return stamps
    named = [at for at, heading in enumerate(table.headings) if TIME_WORDS.search(heading)]
    return named[:1] or [0]


def seconds(
    table: Table, at: list[int], day_first: bool | None = None, time_unit: str | None = None
) -> tuple[Array, tuple[Finding, ...]]:
    """(n,) seconds, not yet counted from the first, and what had to be assumed.

    Raises:
        Unreadable: if a time cannot be read, with its line.
    """
    if all(
        CLOCK.search(table.columns[each][0]) is None and "-" not in table.columns[each][0].strip() for each in at
    ) and (_numbers_only(table.columns[at[0]][0])):
        return _elapsed(table, at[0], time_unit)
    stamps = table.columns[at[0]]
    if len(at) > 1:
        stamps = list(map(" ".join, zip(*(table.columns[each] for each in at), strict=True)))
    return _stamped(table, stamps, day_first)


def _numbers_only(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _elapsed(table: Table, at: int, time_unit: str | None) -> tuple[Array, tuple[Finding, ...]]:
    numbers = floats(table.columns[at], table, "time")
    heading = table.headings[at].replace("_", " ")  # "time_s" is seconds
    unit = time_unit or next((name for name, words in UNIT_WORDS if re.search(words, heading, re.IGNORECASE)), None)
    if unit is not None:
        return numbers * UNITS_S[unit], ()
    if not np.isfinite(numbers).any():
        return numbers, ()  # every row is then told as missing
    span = float(np.nanmax(numbers) - np.nanmin(numbers))
    # A firing takes hours: under 100 it was counted in hours, under 3000 in minutes.
    unit = "s" if np.nanmin(numbers) > EPOCH_S else "h" if span < 100.0 else "min" if span < 3000.0 else "s"
    words = f"times run over {span:g} without a unit: taken as {unit}"
    return numbers * UNITS_S[unit], (Finding("unit", 0, words),)


def floats(column: list[str], table: Table, what: str) -> Array:
    """A column as numbers; an empty field, a dash or a word for a missing reading becomes NaN."""
    try:
        return np.fromiter(map(float, column), dtype=np.float64, count=len(column))
    except ValueError:
        return np.fromiter(
            (_one_float(text, line, what) for text, line in zip(column, table.lines, strict=True)),
            dtype=np.float64,
            count=len(column),
        )


MISSING = {
    "",
    "-",
    "--",
    "---",
    "----",
    "nan",
    "na",
    "n/a",
    "null",
    "none",
    "err",
    "error",
    "open",
    "fail",
    "#n/a",
    "ovl",
}


def _one_float(text: str, line: int, what: str) -> float:
    text = text.strip().rstrip("°CFcf ").strip() if text.strip().lower() not in MISSING else ""
    if text.lower() in MISSING:
        return float("nan")
    try:
        return float(text)
    except ValueError:
        raise Unreadable(
            f"line {line} of the log", why=f"its {what} {text[:40]!r} is no number", mend="Mend or leave out that line"
        ) from None


def _stamped(table: Table, stamps: list[str], day_first: bool | None) -> tuple[Array, tuple[Finding, ...]]:
    """Seconds from dates and clocks: split once for the whole column, dates reckoned once each."""
    at_once = _even_stamps(table, stamps, day_first)
    if at_once is not None:
        return at_once
    flat = " ".join(stamps).replace("T", " ").replace("Z", "").split()
    width = len(stamps[0].replace("T", " ").replace("Z", "").split())
    if len(flat) != width * len(stamps):
        raise _bad_stamp(table, stamps, width)
    parts = [flat[at::width] for at in range(width)]
    total, findings = np.zeros(len(stamps)), []
    for column in parts:
        if DATE.match(column[0]):
            days, found = _days(table.lines, column, day_first)
            total += days * DAY_S
            findings.extend(found)
        elif CLOCK.search(column[0]):
            total += _clock_s(table, column)
        elif column[0].upper() in {"AM", "PM"}:
            total += _noon_shift_s(total, column)
    return total, tuple(findings)


def _even_stamps(table: Table, stamps: list[str], day_first: bool | None) -> tuple[Array, tuple[Finding, ...]] | None:
    """The seconds where every stamp has its digits in the same places, as most loggers write them; else None.

    The stamps are then a grid of characters, and the clock is reckoned for the whole log at once.
    """
    first, text = stamps[0], "".join(stamps)
    clock = EVEN_CLOCK.search(first)
    if len(text) != len(first) * len(stamps) or not text.isascii() or clock is None:
        return None
    grid = np.frombuffer(text.encode("ascii"), dtype=np.uint8).reshape(len(stamps), len(first)) - np.uint8(ord("0"))
    digits = np.fromiter((letter.isdigit() for letter in first), dtype=bool, count=len(first))
    if not (grid[:, digits] <= 9).all() or not (grid[:, ~digits] == grid[0, ~digits]).all():
        return None
    total = np.zeros(len(stamps))
    for group, scale in zip(range(1, 5), (3600.0, 60.0, 1.0, 1.0), strict=True):
        start, end = clock.span(group)
        for place in range(start, end):
            power = end - 1 - place if group < 4 else start - 1 - place
            total += grid[:, place] * (scale * 10.0**power)
    date = EVEN_DATE.search(first)
    if date is None:
        return (total, ()) if clock.span() == (0, len(first)) else None
    written = grid[:, date.start() : date.end()]
    new = np.flatnonzero(np.concatenate([[True], (written[1:] != written[:-1]).any(axis=1)]))
    days, findings = _days(
        [table.lines[at] for at in new.tolist()], [stamps[at][slice(*date.span())] for at in new.tolist()], day_first
    )
    return total + DAY_S * np.repeat(days, np.diff(np.append(new, len(stamps)))), tuple(findings)


def _noon_shift_s(clock_s: Array, halves: list[str]) -> Array:
    """12 AM is midnight and 12 PM noon: what to add to clocks that were read as they stand."""
    after = np.fromiter((half.upper() == "PM" for half in halves), dtype=bool, count=len(halves))
    twelve = np.floor_divide(clock_s % DAY_S, 3600.0) == 12.0
    return np.asarray(np.where(after & ~twelve, 0.5 * DAY_S, np.where(~after & twelve, -0.5 * DAY_S, 0.0)))


def _bad_stamp(table: Table, stamps: list[str], width: int) -> Unreadable:
    at = next(
        (at for at, text in enumerate(stamps) if len(text.replace("T", " ").replace("Z", "").split()) != width), 0
    )
    return Unreadable(
        f"line {table.lines[at]} of the log",
        why=f"its time {stamps[at][:40]!r} is not written as on the first line, {stamps[0][:40]!r}",
        mend="Mend or leave out that line",
    )


def _clock_s(table: Table, column: list[str]) -> Array:
    fields = ":".join(column).split(":")
    width = column[0].count(":") + 1
    if len(fields) != width * len(column) or width > 3:
        raise _bad_stamp_by(table.lines, column, lambda text: text.count(":") + 1 != width)
    scale = (3600.0, 60.0, 1.0)
    # Two fields are hours and minutes: a firing counted in minutes and seconds would run past 59 at once.
    try:
        parts = [np.fromiter(map(float, fields[at::width]), np.float64, len(column)) for at in range(width)]
    except ValueError:
        raise _bad_stamp_by(table.lines, column, lambda text: not all(map(_numbers_only, text.split(":")))) from None
    return np.asarray(sum(part * each for part, each in zip(parts, scale, strict=False)))


def _bad_stamp_by(lines: Sequence[int], column: list[str], odd: Callable[[str], bool]) -> Unreadable:
    at = next((at for at, text in enumerate(column) if odd(text)), 0)
    return Unreadable(
        f"line {lines[at]} of the log",
        why=f"its time {column[at][:40]!r} cannot be read beside {column[0][:40]!r}",
        mend="Mend or leave out that line",
    )


def _days(lines: Sequence[int], column: list[str], day_first: bool | None) -> tuple[Array, list[Finding]]:
    """Days of each date; the order of day and month is settled by what is possible, then by which makes the log shorter."""
    kinds = list(dict.fromkeys(column))
    split = {text: [int(part) for part in re.split(r"[-/.]", text)] for text in kinds if DATE.match(text)}
    if len(split) < len(kinds):
        raise _bad_stamp_by(lines, column, lambda text: not DATE.match(text))
    findings: list[Finding] = []
    readings = {order: found for order in ("ymd", "dmy", "mdy") if (found := _ordinals(split, order)) is not None}
    if "ymd" in readings and min(parts[0] for parts in split.values()) > 31:
        chosen = "ymd"
    elif day_first is not None and ("dmy" if day_first else "mdy") in readings:
        chosen = "dmy" if day_first else "mdy"
    else:
        possible = {order: found for order, found in readings.items() if order != "ymd"}
        if not possible:
            raise _bad_stamp_by(lines, column, lambda text: text == kinds[-1])
        spans = {order: max(found.values()) - min(found.values()) for order, found in possible.items()}
        chosen = min(spans, key=lambda order: spans[order])
        if len(possible) == 2 and len(kinds) > 1 and "." not in kinds[0]:
            first = "day" if chosen == "dmy" else "month"
            findings.append(Finding("date", 0, f"dates such as {kinds[0]} are taken with the {first} first"))
    of = readings[chosen]
    return np.fromiter((of[text] for text in column), np.float64, len(column)), findings


def _ordinals(split: dict[str, list[int]], order: str) -> dict[str, int] | None:
    """Day numbers of the dates in one order of parts, or None if a date is impossible so."""
    found = {}
    for text, parts in split.items():
        named = dict(zip(order, parts, strict=True))
        year = named["y"] + (2000 if named["y"] < 100 else 0)
        try:
            found[text] = datetime.date(year, named["m"], named["d"]).toordinal()
        except ValueError:
            return None
    return found


def past_midnights(times_s: Array, lines: Sequence[int], clock_only: bool) -> tuple[Array, tuple[Finding, ...]]:
    """Times of a clock without a date, a day added at each midnight, each told; other times as they are."""
    steps = np.diff(times_s)
    midnights = np.flatnonzero(steps < -SAME_DAY_BACK_S) if clock_only else np.empty(0, dtype=np.intp)
    if not len(midnights):
        return times_s, ()
    steps[midnights] += DAY_S
    findings = tuple(Finding("midnight", lines[int(at) + 1], "past midnight") for at in midnights)
    return np.concatenate([times_s[:1], times_s[0] + np.cumsum(steps)]), findings


def refuse_if_shuffled(times_s: Array, lines: Sequence[int]) -> None:
    """Refuses rows that stand so much out of order that nobody can say what the clock did.

    Raises:
        Unreadable: if the time falls more than a few times, with the lines.
    """
    falls = np.flatnonzero(np.diff(times_s) < 0.0)
    if len(falls) > SLIPS:
        told = lines_in_words((falls + 1).tolist(), lines)
        raise Unreadable(
            f"line {lines[int(falls[0]) + 1]} of the log",
            why=f"its time lies before the line above, and so do {len(falls) - 1} more ({told}): the rows are out of order",
            mend="Sort the log by time",
        )


def run_forward(times_s: Array, lines: Sequence[int]) -> tuple[Array, tuple[Finding, ...]]:
    """Times counted from the first that never fall: carried on over a clock that was set back, each such place told."""
    steps = np.diff(times_s)
    falls = np.flatnonzero(steps < 0.0)
    if not len(falls):
        return times_s - times_s[0], ()
    usual = float(np.median(steps[steps > 0.0])) if (steps > 0.0).any() else 0.0
    findings = []
    for at in falls:
        back = -float(steps[at])
        words = f"the clock ran back by {back:g} s; the log is taken on with its usual step of {usual:g} s"
        findings.append(Finding("clock reset", lines[int(at) + 1], words))
        steps[at] = usual
    return np.concatenate([[0.0], np.cumsum(steps)]), tuple(findings)
