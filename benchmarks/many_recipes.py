"""How fast are very many recipes turned into fired analyses?

Random parts, seed fixed; each case the best of a few runs.
"""

from __future__ import annotations

import time

import numpy as np

from wareboard.glaze.formula import TWENTY_OXIDES, analyses_wt, analysis_wt
from wareboard.glaze.material import Material, shelf
from wareboard.glaze.recipe import Recipe

QUESTION = "Are a million recipes turned into weight % of twenty oxides in under half a second?"
REFERENCE = (
    "half a second; the same recipes one at a time (analysis_wt), from a sample of them; and scipy's sparse product called "
    "plainly once a recipe, brought to 100, from the same sample"
)

RECIPES = 1_000_000
SAMPLE = 500
RUNS = 3
SECONDS_ALLOWED = 0.5
TEN = (
    "potash feldspar", "soda feldspar", "whiting", "kaolin", "silica / flint", "dolomite", "talc", "zinc oxide",
    "boron frit (generic)", "red iron oxide",
)  # fmt: skip


def _plainly(parts: np.ndarray, entries: list[Material], ours: np.ndarray) -> tuple[float, float]:
    """Seconds a recipe by one sparse product for each, and how far its answers lie from ours, weight %."""
    from scipy.sparse import csr_matrix

    held = csr_matrix([[entry.oxides_wt.get(formula, 0.0) for entry in entries] for formula in TWENTY_OXIDES])
    apart = 0.0
    began = time.perf_counter()
    for row, expected in zip(parts, ours, strict=True):
        left = held @ row
        apart = max(apart, float(np.abs(100.0 * left / left.sum() - expected).max()))
    return (time.perf_counter() - began) / len(parts), apart


def run() -> list[dict[str, str]]:
    """A row against half a second, one against one recipe at a time, one against scipy once a recipe."""
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
    plain_s, apart = _plainly(parts[:SAMPLE], entries, found[:SAMPLE])
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
        {
            "case": f"{case}; scipy once a recipe, greatest difference {apart:.1e} weight %",
            "measure": "seconds a recipe",
            "ours": f"{seconds / RECIPES:.2e}",
            "reference": f"{plain_s:.2e}",
            "ratio": f"{seconds / RECIPES / plain_s:.5f}",
        },
    ]


if __name__ == "__main__":
    print(QUESTION, REFERENCE, sep="\n")
    for line in run():
        print(line)
