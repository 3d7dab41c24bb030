"""A workshop folder of its own for each test, a day that stands still, and an invented brief."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from django.conf import LazySettings

from wareboard.book import keeping
from wareboard.book.models import Commission
from wareboard.studio.naming import name_in
from wareboard.studio.today import now

DAY = date(2026, 11, 25)
CUPS = """# An invented brief.
title = "Cups for a tea room"
client = "Invented"
due = 2027-02-12

[[forms]]
name = "Cup"     # the one with the thick foot
count = 24
height = "3 3/4 in"
rim = "84 mm"

[clay]
shrinkage = "12 %"

[[glazes]]
name = "White"
on = "inside"
recipe = { "potash feldspar" = 40, "silica / flint" = 30, "whiting" = 20, "kaolin" = 10 }
"""


@pytest.fixture(autouse=True)
def workshop_folder(tmp_path: Path, settings: LazySettings) -> Path:
    """An empty workshop folder, on a day that stands still."""
    settings.WAREBOARD = replace(settings.WAREBOARD, folder=tmp_path, today=DAY)
    return tmp_path


@pytest.fixture
def cups(db: None) -> Commission:
    """A commission of the invented cups."""
    return keeping.new_commission(CUPS, name_in(CUPS), why="Begun", who="", when=now())


@pytest.fixture
def demo_text() -> str:
    """The demo's invented brief: three forms, six glazes, a kiln, two people."""
    from wareboard.commands.demo import demo_text

    return demo_text(DAY)
