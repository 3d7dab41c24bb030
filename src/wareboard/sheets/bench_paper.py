"""Paper for the bench: a tag for each board with a code to scan, and a tally form whose pencil marks are entered later."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from wareboard.quantities import show_day
from wareboard.sheets.typesetting import TYPST_PAPER, Paper, typeset

EMPTY_ROWS, ROWS_OF_BOARDS = 8, 24


@dataclass(frozen=True, slots=True)
class BoardTag:
    """What one board's tag says; ``scanned`` is the address in its code, ``stages`` the boxes to tick."""

    code: str
    form: str
    commission: str
    pieces: int
    stage: str
    stages: tuple[str, ...]
    done: int  # how many of the stages lie behind the board
    scanned: str


@dataclass(frozen=True, slots=True)
class TallyRow:
    """One line of the tally form: a board, how many by the records, where it stands and what comes next."""

    code: str
    form: str
    commission: str
    pieces: int
    stage: str
    following: str


def board_tags(tags: Sequence[BoardTag], day: date, paper: Paper = "a4") -> bytes:
    """A sheet of tags to cut out, six on a page."""
    data = _head("Board tags", day, paper) | {
        "tags": [
            {
                "code": tag.code,
                "form": tag.form,
                "commission": tag.commission,
                "pieces": str(tag.pieces),
                "stage": tag.stage,
                "stages": list(tag.stages),
                "done": tag.done,
                "qr": scanned_code(tag.scanned),
                "scanned": tag.scanned,
            }
            for tag in tags
        ]
    }
    return typeset("bench_tags", data, day)


def tally_form(rows: Sequence[TallyRow], reasons: Sequence[str], day: date, paper: Paper = "a4") -> bytes:
    """The form for a day at the bench: a line for each board, and empty lines for boards that are put up."""
    data = _head("Tally for the bench", day, paper) | {
        "rows": [[row.code, str(row.pieces), row.form, row.commission, row.stage, row.following] for row in rows],
        "reasons": ", ".join(reasons),
        "empty": EMPTY_ROWS,
    }
    return typeset("bench_tally", data, day)


def boards_form(known: Sequence[str], stages: Sequence[str], day: date, paper: Paper = "a4") -> bytes:
    """The empty form for boards that stand there: a row a board, in the order of the grid it is entered in."""
    data = _head("Boards that stand there", day, paper) | {
        "known": list(known),
        "stages": ", ".join(stages),
        "rows": ROWS_OF_BOARDS,
    }
    return typeset("bench_boards", data, day)


def readings_form(about: str, columns: Sequence[str], day: date, paper: Paper = "a4") -> bytes:
    """The empty form for readings: a row a piece, a column for each of what is measured."""
    data = _head("Readings", day, paper) | {"about": about, "columns": list(columns), "rows": ROWS_OF_BOARDS}
    return typeset("bench_readings", data, day)


def scanned_code(words: str) -> str:
    """An SVG of the words as a code to scan, with its quiet zone.

    Source: ISO/IEC 18004, drawn by the segno library; error correction Q, because tags get clay on them.
    """
    import segno

    drawn: str = segno.make(words, error="q", micro=False).svg_inline(scale=1, border=4, dark="#000", light="#fff")
    side = re.search(r'width="(\d+)"', drawn)
    assert side is not None
    return drawn.replace("<svg", f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side[1]} {side[1]}"', 1)


def _head(title: str, day: date, paper: Paper) -> dict[str, Any]:
    shown = show_day(day)
    return {
        "title": title,
        "commission": "Bench",
        "foot": f"{title} · {shown}",
        "invented": False,
        "due": shown,
        "day": shown,
        "paper": TYPST_PAPER[paper],
    }
