"""A commission of invented cups, and short ways to say what is done to its boards."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

import pytest

from tests.studio.conftest import CUPS
from wareboard.book import keeping
from wareboard.book.boards import acting
from wareboard.book.boards.acting import Done
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import Board
from wareboard.book.models import Commission

NINE = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
_keys = count(1)


def key() -> str:
    return f"invented-{next(_keys):06d}"


def asked(kind: str, board: str = "", **more: Any) -> Asked:
    more = {"key": key(), "who": "Invented", "happened": NINE} | more
    return Asked(kind=kind, board=board, **more)


def do(kind: str, board: str, at_h: float = 0.0, **more: Any) -> Done:
    when = NINE + timedelta(hours=at_h)
    return acting.act(asked(kind, board, happened=when, **more), when)


def on_board(commission: Commission, pieces: int, stage: str, form: str = "Cup", code: str = "") -> Board:
    return acting.begin(asked("begin", pieces=pieces, to=stage), commission, form, code, NINE).entry.board


@pytest.fixture
def tea(db: None) -> Commission:
    """The commission of the invented cups."""
    return keeping.new_commission(CUPS, "Cups", why="Begun", who="", when=NINE)
