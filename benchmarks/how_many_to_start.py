"""Are the counts to start those that scipy's distributions give, and at what share of the time?"""

from __future__ import annotations

import time
from itertools import product

from scipy import stats

from wareboard.plan.overage import StageYield, _fewest_to_start, chance_of_enough, how_many_to_start

QUESTION = "pieces to start, and the chance that gives, against scipy's binomial and beta-binomial searched one by one"
REFERENCE = "scipy.stats.binom and betabinom, the count raised by one until the chance is reached"
WANTED = (4, 12, 24, 48, 100, 200, 400)
SHARES = (0.7, 0.8, 0.859, 0.9, 0.95, 0.99)
CHANCES = (0.8, 0.9, 0.95, 0.99)


def run() -> list[dict[str, str]]:
    """One row a correlation."""
    return [_row(correlation) for correlation in (0.0, 0.02, 0.05, 0.1)]


def _row(correlation: float) -> dict[str, str]:
    cases = list(product(WANTED, SHARES, CHANCES))
    _fewest_to_start.cache_clear()
    began = time.perf_counter()
    ours = [
        how_many_to_start(wanted, (StageYield("all", share, share, share, "given"),), chance, correlation).start
        for wanted, share, chance in cases
    ]
    ours_s = time.perf_counter() - began
    began = time.perf_counter()
    theirs = [_by_scipy(wanted, share, chance, correlation) for wanted, share, chance in cases]
    theirs_s = time.perf_counter() - began
    apart = max(
        abs(chance_of_enough(start, wanted, share, correlation) - _chance(start, wanted, share, correlation))
        for start, (wanted, share, _) in zip(ours, cases, strict=True)
    )
    return {
        "correlation": f"{correlation:g}",
        "cases": str(len(cases)),
        "same count": f"{sum(a == b for a, b in zip(ours, theirs, strict=True)) / len(cases):.3f}",
        "ratio of all pieces": f"{sum(ours) / sum(theirs):.6f}",
        "greatest difference in chance": f"{apart:.1e}",
        "time over scipy's": f"{ours_s / theirs_s:.3f}",
    }


def _by_scipy(wanted: int, share: float, chance: float, correlation: float) -> int:
    start = wanted
    while _chance(start, wanted, share, correlation) < chance:
        start += 1
    return start


def _chance(have: int, wanted: int, share: float, correlation: float) -> float:
    if not correlation:
        return float(stats.binom.sf(wanted - 1, have, share))
    whole = 1 / correlation - 1
    return float(stats.betabinom.sf(wanted - 1, have, share * whole, (1 - share) * whole))
