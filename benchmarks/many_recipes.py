"""How fast are very many recipes turned into fired analyses?

Random parts, seed fixed; each case the best of a few runs.
"""

from __future__ import annotations

import time

import numpy as np

from wareboard.glaze.formula import TWENTY_OXIDES, analyses_wt, analysis_wt
from wareboard.glaze.material import shelf
from wareboard.glaze.recipe import Recipe

QUESTION = "Are a million recipes turned into weight % of twenty oxides in under half a second?"
REFERENCE = "half a second; and the same recipes one at a time (analysis_wt), from a sample of them"

RECIPES = 1_000_000
SAMPLE = 500
RUNS = 3
SECONDS_ALLOWED = 0.5
TEN = (
    "potash feldspar", "soda feldspar", "whiting", "kaolin", "silica / flint", "dolomite", "talc", "zinc oxide",
    "boron frit (generic)", "red iron oxide",
)  # fmt: skip


def run() -> list[dict[str, str]]:
    """One row against half a second, one against one recipe at a time."""
    entries = [shelf()[name] for name in TEN]
    parts = np.random.default_rng(1).uniform(0.0, 40.0, (RECIPES, len(TEN)))
    seconds = np.inf
    for _ in range(RUNS):
        began = time.perf_counter()
        found = analyses_wt(parts, entries)
        seconds = min(seconds, time.perf_counter() - began)
    began = time.perf_counter()
    worst = 0.0
    for row, amounts in zip(found[:SAMPLE], parts[:SAMPLE], strict=True):
        one = analysis_wt(Recipe("one", dict(zip(TEN, amounts, strict=True))))
        worst = max(worst, max(abs(one.get(formula, 0.0) - wt) for formula, wt in zip(TWENTY_OXIDES, row, strict=True)))
    each_s = (time.perf_counter() - began) / SAMPLE
    case = f"{RECIPES} recipes, {len(TEN)} materials, {len(TWENTY_OXIDES)} oxides"
    return [
        {
            "case": case,
            "measure": "seconds",
            "ours": f"{seconds:.3f}",
            "reference": f"{SECONDS_ALLOWED:.3f}",
            "ratio": f"{seconds / SECONDS_ALLOWED:.3f}",
        },
        {
            "case": f"{case}; greatest difference {worst:.1e} weight %",
            "measure": "seconds a recipe",
            "ours": f"{seconds / RECIPES:.2e}",
            "reference": f"{each_s:.2e}",
            "ratio": f"{seconds / RECIPES / each_s:.5f}",
        },
    ]


if __name__ == "__main__":
    print(QUESTION, REFERENCE, sep="\n")
    for line in run():
        print(line)
