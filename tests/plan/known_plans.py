"""Published scheduling problems with their known shortest plans, and a plain checker of plans.

- ft06: H. Fisher and G. L. Thompson, Probabilistic learning combinations of local job-shop scheduling rules, in Industrial
  Scheduling, Prentice-Hall 1963; six jobs on six machines, optimum 55.
- la01: S. Lawrence, Resource constrained project scheduling: an experimental investigation of heuristic scheduling
  techniques, Carnegie-Mellon University 1984; ten jobs on five machines, optimum 666.
- j30: R. Kolisch and A. Sprecher, PSPLIB - a project scheduling problem library, European Journal of Operational Research 96
  (1997) 205-216; thirty jobs and four renewable resources, the first problem of parameter sets 1, 17 and 33, optima 43, 64
  and 65 (all 480 of the set are closed). The figures are the library's, read in the copies kept by the MiniZinc benchmarks;
  source and sink left out, jobs counted from 1 as printed.

A job shop is written as (machine, time) pairs, machines counted from 0, a line a job.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Known:
    """A problem in the form that `shortest_plan` takes, and its published optimum."""

    name: str
    durations: list[int]
    successors: list[list[int]]
    demands: list[list[int]]
    capacities: list[int]
    optimum: int


FT06 = """
2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1
"""
LA01 = """
1 21 0 53 4 95 3 55 2 34
0 21 3 52 4 16 2 26 1 71
3 39 4 98 1 42 2 31 0 12
1 77 0 55 4 79 2 66 3 77
0 83 3 34 2 64 1 19 4 37
1 54 2 43 4 79 0 92 3 62
3 69 4 77 1 87 2 87 0 93
2 38 0 60 1 41 3 24 4 83
3 17 1 49 4 25 0 44 2 98
4 77 3 79 2 43 1 75 0 96
"""


def job_shop(name: str, text: str, optimum: int) -> Known:
    """A job shop as a project: each machine is a thing there is one of."""
    rows = [[int(word) for word in line.split()] for line in text.strip().splitlines()]
    machines = len(rows[0]) // 2
    durations: list[int] = []
    successors: list[list[int]] = []
    demands: list[list[int]] = []
    for row in rows:
        for step in range(machines):
            durations.append(row[2 * step + 1])
            demands.append([int(machine == row[2 * step]) for machine in range(machines)])
            successors.append([len(durations)] if step < machines - 1 else [])
    return Known(name, durations, successors, demands, [1] * machines, optimum)


def project(
    name: str,
    capacities: Sequence[int],
    durations: Sequence[int],
    use: Sequence[Sequence[int]],
    after: Sequence[Sequence[int]],
    optimum: int,
) -> Known:
    """A project as printed: ``use`` a row a resource, jobs counted from 1."""
    demands = [list(column) for column in zip(*use, strict=True)]
    return Known(name, list(durations), [[job - 1 for job in row] for row in after], demands, list(capacities), optimum)


J30_1_1 = project(
    "j30 1-1",
    (12, 13, 4, 12),
    (8, 4, 6, 3, 8, 5, 9, 2, 7, 9, 2, 6, 3, 9, 10, 6, 5, 3, 7, 2, 7, 2, 3, 3, 7, 8, 3, 7, 2, 2),
    (
        (4, 10, 0, 3, 0, 4, 0, 6, 0, 0, 0, 4, 0, 3, 0, 0, 0, 0, 0, 0, 2, 3, 0, 4, 0, 0, 0, 0, 0, 0),
        (0, 0, 0, 0, 0, 0, 1, 0, 0, 5, 7, 0, 8, 0, 0, 0, 0, 1, 10, 0, 0, 0, 9, 0, 0, 0, 8, 7, 7, 0),
        (0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 4, 0, 0, 0, 0, 2),
        (0, 0, 3, 0, 8, 0, 0, 0, 1, 0, 0, 0, 0, 0, 5, 8, 7, 0, 0, 6, 0, 0, 0, 0, 0, 7, 0, 0, 0, 0),
    ),
    (
        (5, 10, 14), (6, 7, 12), (4, 8, 9), (19,), (29,), (26,), (11, 18, 26), (13,), (15, 24), (19, 25),
        (13,), (16, 17), (16,), (24,), (20, 21), (21,), (19, 21), (23, 28), (22, 24), (27,),
        (22,), (23,), (29,), (29,), (30,), (27,), (30,), (), (), (),
    ),
    43,
)  # fmt: skip
J30_17_1 = project(
    "j30 17-1",
    (10, 11, 13, 12),
    (5, 2, 5, 8, 8, 9, 6, 1, 10, 2, 2, 7, 5, 10, 9, 8, 9, 10, 8, 6, 3, 10, 1, 5, 4, 7, 8, 2, 1, 10),
    (
        (0, 9, 0, 0, 0, 0, 0, 10, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 8, 0, 0, 4, 0, 3, 0, 0),
        (0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 9, 5, 2, 0, 8, 0, 0, 0, 0, 10, 0, 5, 0, 0, 7, 0, 8, 0, 0, 0),
        (0, 0, 0, 0, 7, 0, 8, 0, 10, 5, 0, 0, 0, 0, 0, 6, 0, 0, 10, 0, 2, 0, 0, 0, 0, 0, 0, 0, 7, 0),
        (9, 0, 3, 10, 0, 10, 0, 0, 0, 0, 0, 0, 0, 9, 0, 0, 6, 8, 0, 0, 0, 0, 0, 7, 0, 0, 0, 0, 0, 6),
    ),
    (
        (4, 11, 14), (12, 13), (5, 7, 19), (9, 22), (6, 8, 15), (9, 17, 26), (17,), (10, 16, 18), (21, 23, 25), (17,),
        (13, 18, 28), (20, 24, 28), (22,), (15, 21, 26), (18, 25), (23, 25, 30), (23, 28), (24,), (24, 30), (22,),
        (30,), (29,), (27,), (29,), (27,), (27,), (29,), (), (), (),
    ),
    64,
)  # fmt: skip
J30_33_1 = project(
    "j30 33-1",
    (10, 7, 12, 10),
    (3, 8, 4, 4, 6, 5, 7, 2, 5, 1, 9, 9, 5, 10, 8, 10, 2, 8, 8, 9, 1, 3, 7, 10, 6, 5, 10, 10, 10, 8),
    (
        (0, 0, 0, 0, 0, 0, 10, 0, 0, 1, 0, 0, 9, 0, 0, 0, 0, 0, 0, 0, 0, 3, 3, 0, 0, 0, 0, 0, 2, 0),
        (0, 0, 7, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 5, 4, 0, 0, 0, 0, 0, 0, 0, 0, 0, 2),
        (0, 0, 0, 0, 9, 3, 0, 7, 7, 0, 5, 0, 0, 0, 8, 0, 0, 0, 0, 0, 2, 0, 0, 3, 0, 0, 4, 0, 0, 0),
        (9, 7, 0, 0, 0, 0, 0, 0, 0, 0, 0, 5, 0, 3, 0, 1, 7, 4, 0, 0, 0, 0, 0, 0, 9, 7, 0, 9, 0, 0),
    ),
    (
        (11, 15, 25), (7, 12, 21), (4, 5, 11), (13, 17, 21), (6, 7), (12, 17, 21), (8, 9, 18), (10, 13, 14), (14, 19, 22),
        (16, 24), (12, 16, 18), (13, 19, 29), (23,), (20, 24), (18, 20), (17, 22), (20, 23, 26), (19, 22, 27), (23, 28),
        (30,), (25, 27), (26,), (30,), (25, 27), (26, 28, 29), (30,), (28, 29), (), (), (),
    ),
    65,
)  # fmt: skip

KNOWN = (job_shop("ft06", FT06, 55), job_shop("la01", LA01, 666), J30_1_1, J30_17_1, J30_33_1)


def faults(known: Known, starts: Sequence[int]) -> list[str]:
    """What is wrong with a plan: waits not kept, or more in use at some moment than there is. Plain counting."""
    found = []
    ends = [start + time for start, time in zip(starts, known.durations, strict=True)]
    for job, later in enumerate(known.successors):
        found += [f"{following} begins before {job} is over" for following in later if starts[following] < ends[job]]
    for moment in range(max(ends, default=0)):
        running = [job for job in range(len(starts)) if starts[job] <= moment < ends[job]]
        for thing, room in enumerate(known.capacities):
            if sum(known.demands[job][thing] for job in running) > room:
                found.append(f"too much of {thing} at {moment}")
    return found
