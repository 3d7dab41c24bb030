"""How soon the command answers, and how soon a plan stands, against the limits that were set for them."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from datetime import date
from importlib.resources import files

QUESTION = "How soon does the help stand, and the invented commission's plan?"
REFERENCE = (
    "a bare interpreter (`python -c pass`) for the help; for the plan the limits set for it: 3 s in all, 0.3 s without the "
    "calendar"
)
RUNS = 7


def seconds_of(command: list[str]) -> float:
    """Median whole-process seconds of a command."""
    found = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        found.append(time.perf_counter() - begun)
    return statistics.median(found)


def plan_seconds() -> tuple[float, float]:
    """Median seconds to compile the invented commission, with and without its calendar, modules loaded."""
    from wareboard.plan import compiling
    from wareboard.plan.reading import read_brief
    from wareboard.plan.workshop import Workshop

    today = date(2026, 11, 25)
    brief = read_brief(files("wareboard.commands").joinpath("demo.toml").read_text(encoding="utf-8"), today=today)
    shop = Workshop(today=today)
    spent: list[float] = []
    lay = compiling.calendar_of

    def timed(*given: object) -> object:
        begun = time.perf_counter()
        try:
            return lay(*given)  # type: ignore[arg-type]
        finally:
            spent.append(time.perf_counter() - begun)

    compiling.calendar_of = timed  # type: ignore[assignment]
    try:
        whole = []
        for _ in range(3):
            begun = time.perf_counter()
            compiling.compile(brief, shop)
            whole.append(time.perf_counter() - begun)
    finally:
        compiling.calendar_of = lay
    return statistics.median(whole), statistics.median(w - c for w, c in zip(whole, spent, strict=True))


def run() -> list[dict[str, str]]:
    """The rows of the table."""
    bare = seconds_of([sys.executable, "-c", "pass"])
    told = seconds_of([sys.executable, "-m", "wareboard", "--help"])
    whole, without = plan_seconds()
    return [
        {
            "what": "wareboard --help",
            "ratio": f"{told / bare:.1f} × a bare interpreter",
            "of the limit": f"{told / 0.5:.2f}",
        },
        {"what": "plan of the invented commission", "ratio": "", "of the limit": f"{whole / 3:.2f}"},
        {"what": "the same without its calendar", "ratio": "", "of the limit": f"{without / 0.3:.2f}"},
    ]
