"""A workshop with invented records behind it."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.book_learning.conftest import BY, CUPS, THE_DAY, commission, whole_way
from tests.studio.conftest import workshop_folder
from wareboard.book.learning.acting import Sat, write_time
from wareboard.book.models import Commission

__all__ = ["workshop_folder"]
MEASURED = "\n[[clay.measured]]\nwet = 100.0\nfired = 86.5\n" * 5


def recorded() -> Commission:
    """Twelve boards of cups, five bars of clay, two sittings; and a commission that leaves all of it untyped."""
    first = commission(CUPS + MEASURED, "First")
    for number in range(12):
        whole_way(first, 12, {"drying": 2 + number % 3, "fired": 1}, at_h=float(number))
    write_time(Sat("minutes.handle", 24, 180.0, THE_DAY, "Ada", first.code), BY)
    write_time(Sat("minutes.handle", 20, 130.0, THE_DAY, "Ben", first.code), BY)
    return commission(CUPS, "Next")


@pytest.fixture
def next_one(db: None) -> Commission:
    return recorded()


@pytest.fixture
def studio(db: None) -> Client:
    """A browser without scripts, by somebody who gave a name."""
    client = Client()
    client.cookies["who"] = "Ada"
    return client
