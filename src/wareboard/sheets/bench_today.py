"""Today on one sheet of paper: what to do in its order with boxes to tick, what waits, what changed, what is owed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from wareboard.quantities import show_day
from wareboard.sheets.typesetting import TYPST_PAPER, Paper, typeset


@dataclass(frozen=True, slots=True)
class Line:
    """One job: what, why, how long, whose; ``boxes`` the codes of its boards, a box to tick before each."""

    what: str
    why: str
    long: str
    who: str
    commission: str
    fits: bool
    boxes: Sequence[str]


@dataclass(frozen=True, slots=True)
class TodaySheet:
    """All that the sheet may say; what has no room on the one page is counted there and left out."""

    day: str
    hours: str
    shares: Sequence[str]
    lines: Sequence[Line]
    left: int
    waits: Sequence[str]
    changed: Sequence[str]
    owed: Sequence[str]
    due: Sequence[str]


def today_sheet(sheet: TodaySheet, day: date, paper: Paper = "a4") -> bytes:
    """The PDF of Today, always one page."""
    data = {
        "title": f"Today, {sheet.day}",
        "commission": "Bench",
        "foot": f"Today · {show_day(day)}",
        "invented": False,
        "due": "",
        "paper": TYPST_PAPER[paper],
        "hours": sheet.hours,
        "shares": list(sheet.shares),
        "lines": [
            {
                "what": line.what,
                "why": line.why,
                "long": line.long,
                "who": line.who,
                "commission": line.commission,
                "fits": line.fits,
                "boxes": list(line.boxes),
            }
            for line in sheet.lines
        ],
        "left": sheet.left,
        "waits": list(sheet.waits),
        "changed": list(sheet.changed),
        "owed": list(sheet.owed),
        "standing": list(sheet.due),
    }
    return typeset("bench_today", data, day)
