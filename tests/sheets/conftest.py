"""Plans to print: the demonstration, the smallest brief there is, and one that is awkward in every way at once."""

from __future__ import annotations

from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest

from wareboard.plan import compile
from wareboard.plan.reading import read_brief
from wareboard.plan.result import Plan
from wareboard.sheets.dossier import write

TODAY = date(2026, 11, 25)
FOUR_NUMBERS = """
due = 2027-03-01
[[forms]]
count = 24
height = "95 mm"
[clay]
shrinkage = "12 %"
"""
AWKWARD = """
title = "A commission with a name that goes on for longer than any tag on any board could ever hold, invented"
client = "A client with a name nearly as long as that of the commission itself (invented)"
invented = true
due = 2027-09-01
start = 2026-12-01
show_lengths = "in"
show_temperatures = "F"
agreed_price = 2500
[clay]
name = "A clay with an uncommonly long trade name, speckled"
shrinkage_height = "13 %"
shrinkage_width = "12 %"
[[forms]]
name = "Large plate, 300 mm"
count = 6
height = "1 in"
rim = "300 mm"
shape = "plate"
[[forms]]
name = "Tall jug with a handle and a name of some length that goes on and on"
count = 3
height = "12 in"
rim = "4 in"
shape = "jug"
handle = { height = "6 in" }
[[forms]]
name = "Jar"
count = 4
height = "4 in"
rim = "3 1/4 in"
shape = "jar"
lid = { diameter = "3 in" }
[[forms]]
name = "Tall jug with a handle and a name of some length that goes on and, small"
count = 150
height = "2 in"
rim = "2 in"
"""


def planned(text: str) -> Plan:
    return compile(read_brief(text, today=TODAY), seconds=0.1)


@pytest.fixture(scope="session")
def demo() -> Plan:
    return planned(files("wareboard.commands").joinpath("demo.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def smallest() -> Plan:
    return planned(FOUR_NUMBERS)


@pytest.fixture(scope="session")
def awkward() -> Plan:
    return planned(AWKWARD)


@pytest.fixture(scope="session")
def demo_folder(demo: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sheets") / "demo"
    write(demo, folder)
    return folder


@pytest.fixture(scope="session")
def smallest_folder(smallest: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sheets") / "smallest"
    write(smallest, folder)
    return folder


@pytest.fixture(scope="session")
def awkward_folder(awkward: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sheets") / "awkward"
    write(awkward, folder, paper="letter")
    return folder
