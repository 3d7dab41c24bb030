"""Does a page of the bench stay as quick when a workshop has a million entries behind it?"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path

QUESTION = "Does a page of the bench stay as quick with a million entries as with a thousand?"
REFERENCE = "the same page with 1,000 entries on the same machine, SQLite; limits: 100 ms a board's page, 200 ms Today"
FEW, MANY = 1_000, 1_000_000
COMMISSIONS, IN_HAND, ENTRIES_A_BOARD, STANDING_A_COMMISSION = 200, 8, 20, 10
RUNS = 15
LATELY = 300
KINDS = ("begin", "move", "lose", "weigh")
PAGES = {
    "a board": "/bench/{code}/",
    "its history": "/bench/{code}/history/",
    "all boards": "/bench/",
    "Today": "/bench/today/",
}
LIMITS_MS = {"a board": 100.0, "Today": 200.0}
BRIEF = """# An invented brief.
title = "Cups"
due = 2027-02-12
[[forms]]
name = "Cup"
count = 72
height = "95 mm"
rim = "84 mm"
handle = {}
[clay]
shrinkage = "12 %"
"""


def fill(entries: int) -> str:
    """Records with so many entries, in the way a workshop comes to them; the code of a board that stands."""
    from django.db import connection, transaction

    from wareboard.book import keeping
    from wareboard.studio.today import now

    moment = now()
    codes = [keeping.new_commission(BRIEF, f"Cups {n}", why="Begun", who="", when=moment) for n in range(COMMISSIONS)]
    for commission in codes[IN_HAND:]:
        keeping.put_away(commission, moment)
    boards = max(IN_HAND * STANDING_A_COMMISSION, entries // ENTRIES_A_BOARD)
    each = max(1, entries // boards)
    stamp = moment.strftime("%Y-%m-%d %H:%M:%S")

    def at(n: int) -> str:
        """Every three minutes up to two weeks ago, and the last few hundred since yesterday."""
        ago = timedelta(minutes=3 * (boards * each - n)) + timedelta(days=14 * (n < boards * each - LATELY))
        return (moment - ago).strftime("%Y-%m-%d %H:%M:%S")

    with transaction.atomic(), connection.cursor() as cursor:
        rows = []
        for n in range(1, boards + 1):
            stands = n <= IN_HAND * STANDING_A_COMMISSION
            owner = codes[n % IN_HAND if stands else n % COMMISSIONS].pk
            rows.append(
                (
                    n,
                    f"C{n}",
                    "C",
                    n,
                    owner,
                    "Cup",
                    "drying" if stands else "packed",
                    "",
                    9 if stands else 0,
                    stamp,
                    each,
                )
            )
        cursor.executemany(
            "INSERT INTO boards_board (id, code, letters, number, commission_id, form, stage, state, pieces, since, "
            "entries_made) VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s)",
            rows,
        )
        lines = (
            (n, f"key-{n}", (n - 1) // each + 1, (n - 1) % each + 1, KINDS[n % 4], 1, "thrown", "drying", at(n), at(n))
            for n in range(1, boards * each + 1)
        )
        cursor.executemany(
            "INSERT INTO boards_entry (id, key, board_id, number, kind, pieces, change, other_change, stage_from, "
            "stage_to, state_from, state_to, before, reason, place, grams, who, happened, written, standing, trouble) "
            "VALUES (%s, %s, %s, %s, %s, %s, 0, 0, %s, %s, '', '', '{}', 'thin', '', 400.0, 'Ada', %s, %s, 'stands', '')",
            lines,
        )
    return "C3"


def measure(entries: int) -> None:
    """Print the median milliseconds of each page over records of this size, a page a line."""
    import django

    django.setup()
    from django.core.management import call_command
    from django.test import Client

    call_command("migrate", verbosity=0)
    code = fill(entries)
    client = Client(headers={"host": "localhost"})
    client.cookies["who"] = "Ada"
    for name, address in PAGES.items():
        spent = []
        for _ in range(RUNS):
            begun = time.perf_counter()
            answer = client.get(address.format(code=code))
            spent.append(1000.0 * (time.perf_counter() - begun))
            assert answer.status_code == 200, (name, answer.status_code)
        print(f"{name}\t{statistics.median(spent[1:])}")  # the first works the plans out


def in_a_process(entries: int) -> dict[str, float]:
    """The medians in a process of its own, over records of its own."""
    with tempfile.TemporaryDirectory() as folder:
        surroundings = os.environ | {
            "WAREBOARD_FOLDER": folder,
            "WAREBOARD_TODAY": "2026-11-25",
            "DJANGO_SETTINGS_MODULE": "wareboard.studio.settings",
        }
        told = subprocess.run(
            [sys.executable, "-m", "benchmarks.bench_pages", str(entries)],
            env=surroundings,
            check=True,
            capture_output=True,
            text=True,
            cwd=Path(__file__).parent.parent,
        ).stdout
    return {name: float(value) for name, value in (line.split("\t") for line in told.splitlines())}


def run() -> list[dict[str, str]]:
    """The rows of the table."""
    few, many = in_a_process(FEW), in_a_process(MANY)
    return [
        {
            "page": name,
            "ratio, 1,000,000 to 1,000 entries": f"{many[name] / few[name]:.2f}",
            "of the limit, 1,000,000 entries": f"{many[name] / LIMITS_MS[name]:.2f}" if name in LIMITS_MS else "",
        }
        for name in PAGES
    ]


if __name__ == "__main__":
    measure(int(sys.argv[1]))
