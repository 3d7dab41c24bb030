"""The log of a firing, from the CSV of whatever logger: what was measured, and what is odd about it."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import NotInTable, Unreadable
from wareboard.kiln.log_likeness import (
    CELSIUS,
    COLDEST_C,
    FAHRENHEIT,
    HOTTEST_C,
    MILLIVOLT,
    refuse_other_tables,
    temperature_columns,
)
from wareboard.kiln.log_order import lines_in_words, misplaced, sorted_order
from wareboard.kiln.log_text import CLOCK, Finding, Table, decoded, table
from wareboard.kiln.log_time import (
    floats,
    past_midnights,
    refuse_if_shuffled,
    run_forward,
    seconds,
    time_columns,
)
from wareboard.kiln.thermocouple import temperature_c

__all__ = ["Finding", "FiringLog", "parse", "read", "without_spikes"]
Array = NDArray[np.float64]
MOST_BYTES = 200_000_000
SPIKE_C = 30.0
GAP_STEPS, GAP_S = 5.0, 60.0
UNITS = ("C", "F", "mV-K", "mV-S")


@dataclass(frozen=True, slots=True, eq=False)
class FiringLog:
    """What a logger measured: seconds from the first sample and °C, with what is odd about it.

    ``temps_c`` is (n,) for one thermocouple and (n, k) for several, one column for each name in ``channels``; ``lines``
    holds the line of the file for each sample; ``started`` is the first time as written.
    """

    times_s: Array
    temps_c: Array
    channels: tuple[str, ...]
    started: str
    lines: Sequence[int]
    findings: tuple[Finding, ...]

    def channel(self, which: str | int = 0) -> Array:
        """(n,) °C of one thermocouple, by its name or place.

        Raises:
            NotInTable: if the log has no such channel.
        """
        place = self.channels.index(which) if which in self.channels else which
        if not isinstance(place, int) or not 0 <= place < len(self.channels):
            raise NotInTable(
                f"channel {which!r}", why=f"the log has {', '.join(self.channels)}", mend="Name one of them"
            )
        return self.temps_c if self.temps_c.ndim == 1 else self.temps_c[:, place]


def read(
    source: str | os.PathLike[str] | IO[str] | IO[bytes],
    *,
    unit: str | None = None,
    cold_junction_c: float = 25.0,
    leave_out: bool = False,
    day_first: bool | None = None,
    time_unit: str | None = None,
) -> FiringLog:
    """A firing's log from a path or from an open file of text or bytes; options and errors as `parse`.

    A file larger than ``MOST_BYTES`` is refused by its size before any of it is read.
    """
    return parse(
        _content(source),
        unit=unit,
        cold_junction_c=cold_junction_c,
        leave_out=leave_out,
        day_first=day_first,
        time_unit=time_unit,
    )


def _content(source: str | os.PathLike[str] | IO[str] | IO[bytes]) -> bytes | str:
    """All of a log, or its refusal: never more than ``MOST_BYTES`` and one are held."""
    if not isinstance(source, str | os.PathLike):
        held = source.read(MOST_BYTES + 1)
        _refuse_too_long(len(held))
        return held
    path = Path(source)
    try:
        _refuse_too_long(path.stat().st_size)
        with path.open("rb") as file:  # a pipe has no size: read no further than the limit
            held = file.read(MOST_BYTES + 1)
    except OSError as problem:
        raise Unreadable(
            str(source), why=f"it cannot be read ({problem.strerror})", mend="Check the name and the folder"
        ) from None
    _refuse_too_long(len(held))
    return held


def _refuse_too_long(size: int) -> None:
    if size > MOST_BYTES:
        shown = f"{size / 1e9:.1f} GB" if size >= 1e9 else f"{size / 1e6:.0f} MB"
        raise Unreadable(
            f"the log is {shown} long"
            if size > MOST_BYTES + 1
            else f"the log is longer than {MOST_BYTES / 1e6:.0f} MB",
            why=f"a sample a second for two days is 10 MB, and up to {MOST_BYTES / 1e6:.0f} MB are read",
            mend="Export one firing at a sample every 10 s or slower, or cut the file by days",
        )


def parse(
    data: bytes | str,
    *,
    unit: str | None = None,
    cold_junction_c: float = 25.0,
    leave_out: bool = False,
    day_first: bool | None = None,
    time_unit: str | None = None,
) -> FiringLog:
    """A firing's log from the bytes or text of a CSV file, whatever its delimiter, decimal mark, dates and unit.

    Args:
        data: the file's content.
        unit: "C", "F", "mV-K" or "mV-S"; by default what the headings say, else °C, or °F if it runs past 1450.
        cold_junction_c: temperature of the terminals, for millivolts.
        leave_out: leave out (and tell) rows that are cut short, missing or impossible, instead of refusing the log.
        day_first: order of dates such as 03/04/2026; by default the order that makes the log shorter.
        time_unit: "s", "min", "h" or "ms" for times that are plain numbers.
    Raises:
        Unreadable: for a table that is no kiln's log, as `refuse_other_tables` says;
            with the line, for an empty, binary, cut, mixed or unsorted file, a missing reading, and a reading that no
            kiln has, such as the -273 or 9999 of a broken thermocouple.
    """
    _refuse_too_long(len(data))
    text, findings = decoded(data)
    grid = table(text, leave_out)
    when = time_columns(grid)
    times, found = seconds(grid, when, day_first, time_unit)
    which = temperature_columns(grid, when)
    findings = (*findings, *grid.findings, *found)
    raw = np.stack([floats(grid.columns[at], grid, f"reading of {grid.headings[at]}") for at in which], axis=1)
    temps, found = _in_celsius(raw, tuple(grid.headings[at] for at in which), unit, cold_junction_c)
    findings = (*findings, *found)
    refuse_other_tables(grid, when, which, times, temps, told=(time_unit is not None, unit is not None))
    good, told = _usable(times, temps, grid, leave_out)
    lines: Sequence[int] = grid.lines
    if not good.all():
        times, temps = times[good], temps[good]
        lines = [line for line, kept in zip(grid.lines, good.tolist(), strict=True) if kept]
    if len(times) < 2:
        raise Unreadable("the log", why="fewer than two samples in it can be used", mend="Export it again")
    first, turned = grid.columns[when[0]][int(np.argmax(good))].strip(), False
    if times[-1] < times[0] and (np.diff(times) <= 0.0).all():
        times, temps, lines, turned = times[::-1], temps[::-1], list(lines)[::-1], True
        first = grid.columns[when[0]][len(good) - 1 - int(np.argmax(good[::-1]))].strip()
    clock_only = CLOCK.search(first) is not None and not _has_date(first, grid, when)
    if turned:
        told = (*told, Finding("order", 0, "newest first: turned round"))
    times, temps, lines, found = _in_order(times, temps, lines, clock_only)
    findings = (*findings, *told, *found)
    one = temps[:, 0] if temps.shape[1] == 1 else temps
    log = FiringLog(times, np.ascontiguousarray(one), tuple(grid.headings[at] for at in which), first, lines, findings)
    return replace(log, findings=(*findings, *_odd_samples(log)))


def _in_order(
    times: Array, temps: Array, lines: Sequence[int], clock_only: bool
) -> tuple[Array, Array, Sequence[int], tuple[Finding, ...]]:
    """Samples whose time never falls: past midnights, sorted where rows were misplaced, carried on where a clock was set."""
    times, found = past_midnights(times, lines, clock_only)
    refuse_if_shuffled(times, lines)
    order = sorted_order(times, temps)
    if order is None:
        times, more = run_forward(times, lines)
        return times, temps, lines, (*found, *more)
    moved = misplaced(times)
    first, words = lines[moved[0]], f"{lines_in_words(moved, lines)} stood out of order: sorted by time"
    times, temps, lines = times[order], temps[order], [lines[at] for at in order.tolist()]
    return times - times[0], temps, lines, (*found, Finding("order", first, words))


def _has_date(first: str, grid: Table, when: list[int]) -> bool:
    return len(when) > 1 or re.match(r"\d{1,4}[-/.]\d{1,2}[-/.]\d", first) is not None


def _in_celsius(
    raw: Array, headings: tuple[str, ...], unit: str | None, cold_junction_c: float
) -> tuple[Array, tuple[Finding, ...]]:
    if unit is not None and unit not in UNITS:
        raise NotInTable(f"unit {unit!r}", why=f"a log can be in {', '.join(UNITS)}", mend="Name one of them")
    told: str | None = unit
    found: tuple[Finding, ...] = ()
    if told is None:
        words = " ".join(headings)
        told = "F" if FAHRENHEIT.search(words) else "C" if CELSIUS.search(words) else None
        if told is None and MILLIVOLT.search(words):
            raise Unreadable(
                "the log",
                why="it holds millivolts, and the type of wire is not told",
                mend='Say unit="mV-K" or unit="mV-S", and the temperature of the terminals',
            )
    if told is None:
        told = "F" if HOTTEST_C < float(np.nanpercentile(raw, 99.0)) < 2600.0 else "C"
        found = (Finding("unit", 0, f"no unit in the headings: taken as °{told}"),)
    if told.startswith("mV"):
        return _from_millivolts(raw, told[-1], cold_junction_c), found
    return (raw - 32.0) / 1.8 if told == "F" else raw, found


def _from_millivolts(raw: Array, kind: str, cold_junction_c: float) -> Array:
    """°C from mV; readings outside the wire's table become NaN, to be refused or left out with their line."""
    missing = ~((raw > -1.0) & (raw < 55.0))
    return np.where(missing, np.nan, temperature_c(np.where(missing, 0.0, raw), kind, cold_junction_c))


def _usable(times: Array, temps: Array, grid: Table, leave_out: bool) -> tuple[NDArray[np.bool_], tuple[Finding, ...]]:
    """Which rows hold a time and temperatures that a kiln can have; the others are refused, or told."""
    missing = ~(np.isfinite(times) & np.isfinite(temps).all(axis=1))
    with np.errstate(invalid="ignore"):
        odd = ~missing & ((temps < COLDEST_C) | (temps > HOTTEST_C)).any(axis=1)
    if not (missing.any() or odd.any()):
        return np.ones(len(times), dtype=bool), ()
    told = []
    for at in np.flatnonzero(missing | odd).tolist():
        worst = next((t for t in temps[at].tolist() if not COLDEST_C <= t <= HOTTEST_C), float("nan"))
        words = "a reading is missing" if missing[at] else f"{worst:g} °C, which no kiln has (broken thermocouple?)"
        told.append(Finding("left out", grid.lines[at], words))
    if not leave_out:
        more = f"; {len(told) - 1} more such lines follow" if len(told) > 1 else ""
        raise Unreadable(
            f"line {told[0].line} of the log",
            why=told[0].words + more,
            mend="Look at the thermocouple, then read the log with such rows left out",
        )
    return ~(missing | odd), tuple(told)


def _spikes(temps: Array) -> NDArray[np.bool_]:
    """(n,) samples that stand alone: away from both neighbours by more than a kiln can move and come back."""
    grid = temps if temps.ndim == 2 else temps[:, None]
    lone = np.zeros(grid.shape, dtype=bool)
    if len(grid) > 2:
        before, after = grid[1:-1] - grid[:-2], grid[1:-1] - grid[2:]
        apart = np.abs(grid[2:] - grid[:-2])
        lone[1:-1] = (before * after > 0.0) & (np.minimum(np.abs(before), np.abs(after)) > SPIKE_C + 2.0 * apart)
    return np.asarray(lone.any(axis=1))


def without_spikes(log: FiringLog) -> FiringLog:
    """The log without its lone spikes, which would count as heat work; what was left out stays told."""
    kept = ~_spikes(log.temps_c)
    if kept.all():
        return log
    lines = [line for line, each in zip(log.lines, kept.tolist(), strict=True) if each]
    return replace(log, times_s=log.times_s[kept], temps_c=log.temps_c[kept], lines=lines)


def _odd_samples(log: FiringLog) -> tuple[Finding, ...]:
    """Gaps, repeated times and lone spikes, told and left in."""
    found: list[Finding] = []
    steps = np.diff(log.times_s)
    usual = float(np.median(steps))
    gaps = np.flatnonzero(steps > max(GAP_STEPS * usual, GAP_S)).tolist()
    found.extend(
        Finding("gap", log.lines[at + 1], f"{steps[at]:g} s without a sample, taken as straight") for at in gaps
    )
    same = np.flatnonzero(steps == 0.0)
    if len(same):
        found.append(
            Finding("repeated", log.lines[int(same[0]) + 1], f"{len(same)} samples repeat the time before them")
        )
    for at in np.flatnonzero(_spikes(log.temps_c)).tolist():
        seen = np.atleast_1d(log.temps_c[at])
        found.append(Finding("spike", log.lines[at], f"a lone reading of {float(seen.max()):g} °C, left in"))
    return tuple(found)
