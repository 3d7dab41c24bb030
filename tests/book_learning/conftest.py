"""Invented commissions, and short ways to record what became of their boards on earlier days."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.studio.conftest import DAY, workshop_folder
from wareboard.book import keeping
from wareboard.book.boards import acting
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import Board
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.studio.bench.reading import fresh_key

__all__ = ["workshop_folder"]
CUPS = """# An invented brief.
title = "Cups and plates for a tea room"
client = "Invented"
due = 2027-02-12

[[forms]]
name = "Cup"
count = 24
height = "95 mm"
rim = "84 mm"
handle = {}

[[forms]]
name = "Plate"
count = 12
rim = "220 mm"
height = "25 mm"

[clay]
name = "Stoneware B"

[[glazes]]
name = "White"
on = "inside"
"""
LONG_AGO = datetime(2026, 10, 1, 9, 0, tzinfo=UTC)
BY = Signed("Ada", LONG_AGO)


def commission(text: str = CUPS, name: str = "Tea room") -> Commission:
    return keeping.new_commission(text, name, why="Begun", who="Ada", when=LONG_AGO)


@pytest.fixture
def tea(db: None) -> Commission:
    """A commission of invented cups and plates in a clay whose shrinkage is not stated."""
    return commission()


def begin(
    of: Commission, pieces: int, stage: str = "thrown", form: str = "Cup", at_h: float = 0.0, who: str = "Ada"
) -> Board:
    when = LONG_AGO + timedelta(hours=at_h)
    asked = Asked(fresh_key(), "begin", who, when, pieces=pieces, to=stage)
    return acting.begin(asked, of, form, "", when).entry.board


def do(kind: str, board: Board | str, at_h: float, who: str = "Ada", **more: Any) -> acting.Done:
    when = LONG_AGO + timedelta(hours=at_h)
    code = board if isinstance(board, str) else board.code
    return acting.act(Asked(fresh_key(), kind, who, when, board=code, **more), when)


def lose(board: Board | str, pieces: int, at_h: float, reason: str = "cracked") -> acting.Done:
    return do("lose", board, at_h, pieces=pieces, reason=reason)


def move(board: Board | str, to: str, at_h: float, who: str = "Ada", **more: Any) -> acting.Done:
    return do("move", board, at_h, who, to=to, **more)


def whole_way(of: Commission, pieces: int, lost: dict[str, int], form: str = "Cup", at_h: float = 0.0) -> Board:
    """A board taken from thrown to packed in two weeks, so many lost at each stage."""
    board = begin(of, pieces, form=form, at_h=at_h)
    stages = ["thrown", "trimmed", "handled", "drying", "bone dry", "bisque", "washed", "glazed", "fired", "ground"]
    if form == "Plate":
        stages.remove("handled")
    for step, stage in enumerate(stages):
        if step:
            move(board, stage, at_h + 24.0 * step)
        if stage in lost:
            lose(board, lost[stage], at_h + 24.0 * step + 1.0)
    move(board, "packed", at_h + 24.0 * len(stages))
    board.refresh_from_db()
    return board


THE_DAY: date = DAY
