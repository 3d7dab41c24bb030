"""How fast is a logger's file of a million samples read, and the cone found that it would have put down?

The log of a glaze firing with two thermocouples and a reading every twentieth of a second. Naive is Python's csv module line
by line, and the heat work added up sample by sample in Python.
"""

from __future__ import annotations

import csv
import io
import math
import time
from itertools import pairwise

import numpy as np

from wareboard.kiln.arrhenius import ZERO_C_K
from wareboard.kiln.cone import equivalent
from wareboard.kiln.heat_work import ladder
from wareboard.kiln.log import parse
from wareboard.kiln.schedule import glaze_schedule, plot_points

QUESTION = "Is a log of a million samples read in under 2 s, and its cone told in under 0.2 s?"
REFERENCE = (
    "targets of 2 s and 0.2 s; naive: the csv module line by line, heat work of one cone added up in a Python loop"
)
SAMPLES = 1_000_000
GAS_KJ_PER_MOL_K = 8.31446e-3


def log_text() -> bytes:
    """The file."""
    hours, temps = plot_points(glaze_schedule("6"))
    seconds = np.linspace(0.0, 3600.0 * float(hours[-1]), SAMPLES)
    chamber = np.interp(seconds / 3600.0, hours, temps)
    rows = [f"{at:.2f},{top:.1f},{top - 6.0:.1f}" for at, top in zip(seconds, chamber, strict=True)]
    return ("time s,top C,bottom C\n" + "\n".join(rows) + "\n").encode()


def naive_read(data: bytes) -> list[tuple[float, float, float]]:
    """Line by line."""
    rows = csv.reader(io.StringIO(data.decode()))
    next(rows)
    return [(float(at), float(top), float(bottom)) for at, top, bottom in rows]


def naive_work(rows: list[tuple[float, float, float]]) -> float:
    """Heat work of cone 6, sample by sample."""
    steps = ladder("self-supporting")
    energy = float(steps.energy_kj[list(steps.cones).index("6")])
    total = 0.0
    for before, after in pairwise(rows):
        total += (after[0] - before[0]) * math.exp(-energy / (GAS_KJ_PER_MOL_K * (after[1] + ZERO_C_K)))
    return total


def run() -> list[dict[str, str]]:
    """A row for reading and one for the cone."""
    data, marks = log_text(), [time.process_time()]
    log = parse(data)
    marks.append(time.process_time())
    found = equivalent(log.times_s, log.channel("top C"))
    marks.append(time.process_time())
    rows = naive_read(data)
    marks.append(time.process_time())
    naive_work(rows)
    marks.append(time.process_time())
    read, told, slow_read, slow_told = np.diff(marks)
    assert len(log.times_s) == SAMPLES == len(rows)
    return [
        {"step": f"read {len(data) / 1e6:.0f} MB", "seconds": f"{read:.2f}", "over the target": f"{read / 2.0:.2f}",
         "over naive": f"{read / slow_read:.2f}"},
        {"step": f"its cone ({found.words})", "seconds": f"{told:.3f}", "over the target": f"{told / 0.2:.2f}",
         "over naive": f"{told / slow_told:.3f}"},
    ]  # fmt: skip


if __name__ == "__main__":
    for line in run():
        print(line)
