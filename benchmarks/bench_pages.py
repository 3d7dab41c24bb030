"""Does a page of the bench stay as quick when a workshop has a million entries and a million measurements behind it?"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path

QUESTION = "Does a page of the bench stay as quick with a million entries and measurements as with a thousand?"
REFERENCE = (
    "the same page with 1,000 of each, and a page of the studio that asks the records nothing, on the same machine, SQLite; "
    "200 commissions of ten boards each; limits: 100 ms a page, 200 ms Today"
)
FEW, MANY = 1_000, 1_000_000
BOARDS_WEIGHED = 80  # dry at one time, a piece of each weighed
COMMISSIONS, ENTRIES_A_BOARD, STANDING_A_COMMISSION = 200, 20, 10
HANDS = (8, 200)  # how many of the commissions are in hand; the others are put away
BARE = "a bare page"
RUNS = 15
LATELY = 300
KINDS = ("begin", "move", "lose", "weigh")
PAGES = {
    "a board": "/bench/{code}/",
    "its history": "/bench/{code}/history/",
    "all boards": "/bench/",
    "Measure": "/bench/measure/",
    "measuring one form": "/bench/measure/{commission}/?form=Cup&what=height&stage=thrown",
    "its run chart": "/bench/measure/{commission}/chart/?form=Cup&what=height&stage=fired",
    "its grid": "/bench/measure/{commission}/grid/",
    "Today": "/bench/today/",
    "Today on paper": "/bench/today/today.pdf",
    BARE: "/bench/away/",
}
LIMITS_MS = dict.fromkeys(
    ["a board", "its history", "all boards", "Measure", "measuring one form", "its run chart", "its grid"], 100.0
) | {"Today": 200.0}
WHATS = ("weight", "height", "mouth", "foot", "width")
STAGES = ("thrown", "trimmed", "bone dry", "fired")

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


def fill(entries: int, in_hand: int) -> str:
    """Records with so many entries, in the way a workshop comes to them; the code of a board that stands."""
    from django.db import connection, transaction

    from wareboard.book import keeping
    from wareboard.studio.today import now

    moment = now()
    codes = [keeping.new_commission(BRIEF, f"Cups {n}", why="Begun", who="", when=moment) for n in range(COMMISSIONS)]
    for commission in codes[in_hand:]:
        keeping.put_away(commission, moment)
    boards = max(in_hand * STANDING_A_COMMISSION, entries // ENTRIES_A_BOARD)
    each = max(1, entries // boards)
    stamp = moment.strftime("%Y-%m-%d %H:%M:%S")

    def at(n: int) -> str:
        """Every three minutes up to two weeks ago, and the last few hundred since yesterday."""
        ago = timedelta(minutes=3 * (boards * each - n)) + timedelta(days=14 * (n < boards * each - LATELY))
        return (moment - ago).strftime("%Y-%m-%d %H:%M:%S")

    with transaction.atomic(), connection.cursor() as cursor:
        rows = []
        for n in range(1, boards + 1):
            stands = n <= in_hand * STANDING_A_COMMISSION
            owner = codes[n % in_hand if stands else n % COMMISSIONS].pk
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
                    "",
                )
            )
        cursor.executemany(
            "INSERT INTO boards_board (id, code, letters, number, commission_id, form, stage, state, pieces, since, "
            "entries_made, shelf) VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s)",
            rows,
        )
        lines = (
            (n, f"key-{n}", (n - 1) // each + 1, (n - 1) % each + 1, KINDS[n % 4], 1, "thrown", "drying", at(n), at(n))
            for n in range(1, boards * each + 1)
        )
        cursor.executemany(
            "INSERT INTO boards_entry (id, key, board_id, number, kind, pieces, change, other_change, stage_from, "
            "stage_to, state_from, state_to, before, reason, place, grams, who, happened, written, standing, trouble, "
            "note, sheet) VALUES (%s, %s, %s, %s, %s, %s, 0, 0, %s, %s, '', '', '{}', 'thin', '', 400.0, 'Ada', %s, %s, "
            "'stands', '', '', '')",
            lines,
        )
    return "C3"


def fill_measurements(count: int, in_hand: int) -> str:
    """So many measurements: runs of every form and stage, weigh-ins of every board, the room's air; a commission's code."""
    from django.db import connection, transaction

    from wareboard.book.models import Commission
    from wareboard.studio.today import now

    moment = now()
    keys = list(Commission.objects.order_by("pk").values_list("pk", "code"))
    boards = min(BOARDS_WEIGHED, in_hand * STANDING_A_COMMISSION)

    def row(n: int) -> tuple[object, ...]:
        when = (moment - timedelta(minutes=2 * (count - n), days=1)).strftime("%Y-%m-%d %H:%M:%S")
        if n % 50 == 0:
            return (n, f"m-{n:08d}", "room temperature", None, "", "", None, "", 19.0 + n % 5, when, when)
        if n % 25 == 0:
            board = n // 25 % boards + 1
            return (n, f"m-{n:08d}", "weigh-in", keys[board % in_hand][0], "Cup", "drying", board, "1", 0.0, when, when)
        run = n % (len(WHATS) * len(STAGES))
        what, stage = WHATS[run % len(WHATS)], STAGES[run // len(WHATS)]
        value = (430.0 if what == "weight" else 100.0) * (0.88 if stage == "fired" else 1.0) + 0.1 * (n // 7 % 11)
        piece = n // (len(WHATS) * len(STAGES) * len(keys))
        owner = keys[n // (len(WHATS) * len(STAGES)) % len(keys)][0]
        return (n, f"m-{n:08d}", what, owner, "Cup", stage, None, str(piece), value, when, when)

    with transaction.atomic(), connection.cursor() as cursor:
        cursor.executemany(
            "INSERT INTO measures_measurement (id, key, what, commission_id, form, stage, board_id, piece, value, happened, "
            "written, place, note, sheet, who, stands) "
            "VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, '', '', '', 'Ada', 1)",
            (row(n) for n in range(1, count + 1)),
        )
        # A piece weighs less each time: the last of a board's weigh-ins are the lightest.
        cursor.execute(
            "UPDATE measures_measurement SET value = 500.0 - 100.0 * id / %s WHERE what = 'weigh-in'", [count]
        )
    return str(keys[2][1])


def measure(entries: int, in_hand: int) -> None:
    """Print the median milliseconds of each page over records of this size, a page a line."""
    import django

    django.setup()
    from django.core.management import call_command
    from django.test import Client

    from wareboard.book.boards.models import Board
    from wareboard.studio.bench.weighed_boards import after_entries
    from wareboard.studio.serve import steady_memory

    call_command("migrate", verbosity=0)
    steady_memory()  # as the studio does before it serves
    code = fill(entries, in_hand)
    commission = fill_measurements(entries, in_hand)
    for board in Board.objects.filter(pieces__gt=0).values_list("code", flat=True):
        after_entries([board])  # as it was when its last entry came
    client = Client(headers={"host": "localhost"})
    client.cookies["who"] = "Ada"
    for name, address in PAGES.items():
        spent = []
        for _ in range(RUNS):
            begun = time.perf_counter()
            answer = client.get(address.format(code=code, commission=commission))
            spent.append(1000.0 * (time.perf_counter() - begun))
            assert answer.status_code == 200, (name, answer.status_code)
        print(f"{name}\t{statistics.median(spent[1:])}\t{spent[0]}")  # the first works the plans out


def in_a_process(entries: int, in_hand: int) -> dict[str, float]:
    """The medians in a process of its own, over records of its own."""
    with tempfile.TemporaryDirectory() as folder:
        surroundings = os.environ | {
            "WAREBOARD_FOLDER": folder,
            "WAREBOARD_TODAY": "2026-11-25",
            "DJANGO_SETTINGS_MODULE": "wareboard.studio.settings",
        }
        told = subprocess.run(
            [sys.executable, "-m", "benchmarks.bench_pages", str(entries), str(in_hand)],
            env=surroundings,
            check=True,
            capture_output=True,
            text=True,
            cwd=Path(__file__).parent.parent,
        ).stdout
    return {name: float(value) for name, value, _ in (line.split("\t") for line in told.splitlines())}


def run() -> list[dict[str, str]]:
    """The rows of the table."""
    rows = []
    for in_hand in HANDS:
        few, many = in_a_process(FEW, in_hand), in_a_process(MANY, in_hand)
        rows += [
            {
                "page": name,
                "commissions in hand": str(in_hand),
                "ratio, 1,000,000 to 1,000 entries": f"{many[name] / few[name]:.2f}",
                "ratio to a bare page": f"{many[name] / many[BARE]:.1f}",
                "of the limit, 1,000,000 entries": f"{many[name] / LIMITS_MS[name]:.2f}" if name in LIMITS_MS else "",
            }
            for name in PAGES
        ]
    return rows


if __name__ == "__main__":
    measure(int(sys.argv[1]), int(sys.argv[2]))
