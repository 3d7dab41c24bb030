"""Two sheets for pencil beside the kiln: the record of one firing, and a page of the kiln's log with a line for each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from wareboard.sheets.data import day
from wareboard.sheets.degrees import in_degrees
from wareboard.sheets.firing_card import kiln_head, segment_rows
from wareboard.sheets.firing_cones import CLOCKS, strip_svg
from wareboard.sheets.typesetting import Paper, printable, typeset

if TYPE_CHECKING:
    from wareboard.kiln.segment import Schedule

STRIP_MM, STRIP_UNITS = 118.0, 336.0
LOG_LINES = 14
CARE = "Look into a hot kiln through welding-type glasses only, run the vent, and open below 93 °C, with plates below 50 °C."
LOG_HEAD = ("number", "day", "kind and cone", "load, commission", "on at", "off at", "peak read", "kWh")


@dataclass(frozen=True, slots=True)
class RecordSheet:
    """What of a firing is known before it is fired; what is not is left to the pencil. Levels run from the bottom up."""

    kiln: str
    day: date
    levels: Sequence[str] = ("bottom", "middle", "top")
    pack: tuple[str, str, str] = ("", "", "")  # guide, target, guard
    number: str = ""
    kind: str = ""
    fired_on: str = ""
    commission: str = ""
    schedule: Schedule | None = None
    degrees: str = "C"


@dataclass(frozen=True, slots=True)
class LogPage:
    """A page of a kiln's log: the lines written so far, each as long as `LOG_HEAD`; leans of the target by level."""

    kiln: str
    day: date
    levels: Sequence[str] = ("bottom", "middle", "top")
    lines: Sequence[Sequence[str]] = field(default=())


def record_pdf(sheet: RecordSheet, paper: Paper = "a4") -> bytes:
    """The record of one firing as PDF: cones by level, times and temperatures, meter, losses, one change."""
    return typeset("firing_record", record_data(sheet, paper), sheet.day)


def record_data(sheet: RecordSheet, paper: Paper = "a4") -> dict[str, Any]:
    """The record as plain data."""
    named = [f" {cone}" if cone else "" for cone in sheet.pack]
    known = [words for words in (sheet.kind, f"to cone {sheet.pack[1]}" if sheet.pack[1] else "") if words]
    return kiln_head("Firing record", sheet.kiln, f"printed {day(sheet.day)}", paper) | {
        "under": " ".join(known) or "kind and cone to be written below",
        "number": sheet.number,
        "fired_on": sheet.fired_on,
        "commission_code": sheet.commission,
        "kind": " ".join(known),
        "pack": [f"guide{named[0]}", f"target{named[1]}", f"guard{named[2]}"],
        "levels": list(reversed(sheet.levels)),
        "clocks": [str(clock) for clock in CLOCKS],
        "strip": printable(strip_svg(), STRIP_MM / STRIP_UNITS),
        "strip_width": STRIP_MM,
        "read": f"°{sheet.degrees} read",
        "care": in_degrees(CARE, sheet.degrees, rough=True),
        "segments": segment_rows(sheet.schedule, sheet.degrees) if sheet.schedule else [],
    }


def log_pdf(page: LogPage, paper: Paper = "a4") -> bytes:
    """A page of the kiln's log as PDF, lying on its side: what is kept already is printed, the rest is left for pencil."""
    return typeset("firing_log_page", log_data(page, paper), page.day)


def log_data(page: LogPage, paper: Paper = "a4") -> dict[str, Any]:
    """The page as plain data; every line is as long as its head."""
    levels = list(page.levels)
    head = [*LOG_HEAD, *levels, "losses", "one change next"]
    written = [[*line, *[""] * (len(head) - len(line))][: len(head)] for line in page.lines[-LOG_LINES:]]
    blank = [[""] * len(head) for _ in range(LOG_LINES - len(written))]
    return kiln_head("Kiln log", page.kiln, f"printed {day(page.day)}", paper) | {
        "head": head,
        "levels": levels,
        "lines": [*written, *blank],
    }
