"""The reckoning stands alone: no database, no clock, and nothing heavy until it is used."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import wareboard.book.reckoning as folder

MODULES = sorted(place.stem for place in Path(folder.__file__).parent.glob("*.py") if place.stem != "__init__")


def test_importing_every_module_loads_nothing_heavy_and_no_database() -> None:
    names = ", ".join(f"wareboard.book.reckoning.{name}" for name in MODULES)
    asked = ("django", "scipy", "ortools", "sqlite3", "pydantic")
    code = f"import {names}, sys; print([name for name in {asked!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.strip().strip("[]").replace("'", "").split(", ")) - {""}
    assert loaded == set()


def test_no_module_reads_a_clock_or_draws_at_random() -> None:
    for name in MODULES:
        text = (Path(folder.__file__).parent / f"{name}.py").read_text(encoding="utf-8")
        for word in ("datetime", "time.", "default_rng", "import random", "open("):
            assert word not in text, (name, word)
