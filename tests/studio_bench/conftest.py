"""An invented workshop with the demo's commission in hand, and short ways to put its pieces on boards."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client

from tests.studio.conftest import DAY, demo_text, workshop_folder
from wareboard.book import keeping
from wareboard.book.boards import acting
from wareboard.book.boards.acting import Done
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import Board
from wareboard.book.models import Commission
from wareboard.studio.bench import courses
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.today import now

__all__ = ["demo_text", "workshop_folder"]
MORNING = datetime(DAY.year, DAY.month, DAY.day, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def nothing_in_memory() -> None:
    """Each test has records of its own, whose keys are those of the test before."""
    courses.forget()


@pytest.fixture
def demo(db: None, demo_text: str) -> Commission:
    """The demo's invented commission: 72 handled cups, 12 jugs, 36 plates."""
    return keeping.new_commission(demo_text, "Demo", why="Begun", who="", when=now())


@pytest.fixture
def studio(db: None) -> Client:
    """A browser without scripts, by somebody who gave a name."""
    client = Client()
    client.cookies["who"] = "Ada"
    return client


def put_up(commission: Commission, pieces: int, stage: str, form: str = "Handled cup", ago_h: float = 0.0) -> Board:
    when = now() - timedelta(hours=ago_h)
    begun = Asked(fresh_key(), "begin", "Ada", when, pieces=pieces, to=stage)
    return acting.begin(begun, commission, form, "", when).entry.board


def do(kind: str, board: str, **more: Any) -> Done:
    return acting.act(Asked(fresh_key(), kind, "Ben", now(), board=board, **more), now())
