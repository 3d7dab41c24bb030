"""How short are the plans of the bare scheduling core, against published optima?"""

from __future__ import annotations

import time

from tests.plan.known_plans import KNOWN, faults
from wareboard.plan.calendar import shortest_plan

QUESTION = "length of the core's plan over the published optimum, and its bound over the optimum"
REFERENCE = (
    "published optima: Fisher and Thompson 1963 (ft06), Lawrence 1984 (la01), PSPLIB j30 (Kolisch and Sprecher 1997); "
    "each plan counted through again"
)


def run() -> list[dict[str, str]]:
    """One row a problem."""
    rows = []
    for known in KNOWN:
        began = time.perf_counter()
        found = shortest_plan(known.durations, known.successors, known.demands, known.capacities, workers=1)
        took = time.perf_counter() - began
        length = found.makespan if found.makespan is not None and not faults(known, found.starts) else None
        rows.append(
            {
                "problem": known.name,
                "jobs": str(len(known.durations)),
                "optimum": str(known.optimum),
                "found": "no valid plan" if length is None else str(length),
                "ratio": "" if length is None else f"{length / known.optimum:.3f}",
                "bound ratio": f"{found.bound / known.optimum:.3f}",
                "status": found.status,
                "seconds": f"{took:.2f}",
            }
        )
    return rows
