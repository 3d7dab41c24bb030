"""Whether rows of a log whose time runs back were put down in the wrong order, or the logger's clock was set back.

Rows in the wrong order leave a gap where they were taken out and fall into place once sorted: the steps become even again
and the temperature runs smoother. After a clock that was set back, sorting would shuffle two stretches into one another.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
NEAR_STEP = 0.25  # a step this far from the usual one, as a share of it, counts as uneven
MOST_NAMED = 5
RUNS_ON_C = 15.0  # a kiln moves no further than this between two samples, unless its logger stood still


def sorted_order(times_s: Array, temps_c: Array) -> NDArray[np.intp] | None:
    """The order by time of rows that are out of order; None where none is, or where the clock was set back.

    Args:
        times_s: (n,) seconds as written; temps_c: (n, k) °C. Both are left alone.
    """
    if not (np.diff(times_s) < 0.0).any():
        return None
    order = np.argsort(times_s, kind="stable")
    if _clock_began_again(times_s, temps_c):
        return None
    usual = float(np.median(np.diff(times_s[order])))
    as_written, by_time = _uneven(times_s, usual), _uneven(times_s[order], usual)
    if by_time > as_written:
        return None
    rougher = _travel(temps_c) - _travel(temps_c[order])
    usual_move = float(np.median(np.abs(np.diff(temps_c, axis=0))))
    # Where sorting evens no step, only a clearly smoother run of temperatures speaks for it.
    return order if rougher > 3.0 * usual_move or (by_time < as_written and rougher >= -usual_move) else None


def _clock_began_again(times_s: Array, temps_c: Array) -> bool:
    """Whether the time falls once, whole before all that stands above, while the temperature runs on as if nothing were."""
    falls = np.flatnonzero(np.diff(times_s) < 0.0)
    if len(falls) != 1:
        return False
    above, below = times_s[: falls[0] + 1], times_s[falls[0] + 1 :]
    jump = float(np.abs(temps_c[falls[0] + 1] - temps_c[falls[0]]).max())
    return bool(above.min() > below.max()) and jump < RUNS_ON_C


def _uneven(times_s: Array, usual_s: float) -> int:
    steps = np.diff(times_s)
    return int((np.abs(steps - usual_s) > NEAR_STEP * usual_s).sum())


def _travel(temps_c: Array) -> float:
    """How far the thermocouples travel in all, °C."""
    return float(np.abs(np.diff(temps_c, axis=0)).sum())


def misplaced(times_s: Array) -> list[int]:
    """The fewest rows that must move for the time never to fall: those outside a longest rising run.

    Source: patience sorting (C. Schensted, Canad. J. Math. 13, 1961).
    """
    ends: list[float] = []
    last: list[int] = []
    before = [-1] * len(times_s)
    for at, time in enumerate(times_s.tolist()):
        # Equal times may follow one another: the first end that is later gives way.
        place = bisect_left(ends, np.nextafter(time, np.inf))
        before[at] = last[place - 1] if place else -1
        if place == len(ends):
            ends.append(time)
            last.append(at)
        else:
            ends[place], last[place] = time, at
    kept, at = set(), last[-1] if last else -1
    while at >= 0:
        kept.add(at)
        at = before[at]
    return [at for at in range(len(times_s)) if at not in kept]


def lines_in_words(rows: Sequence[int], lines: Sequence[int]) -> str:
    """The lines of the file that rows came from, neighbours together: "lines 12 to 40 and 77"."""
    runs: list[list[int]] = []
    for row in rows:
        line = lines[row]
        if runs and line == runs[-1][1] + 1:
            runs[-1][1] = line
        else:
            runs.append([line, line])
    told = [f"{a}" if a == b else f"{a} to {b}" for a, b in runs[:MOST_NAMED]]
    more = f", and {len(runs) - MOST_NAMED} more places" if len(runs) > MOST_NAMED else ""
    words = told[0] if len(told) == 1 else ", ".join(told[:-1]) + (", " if more else " and ") + told[-1]
    single = len(runs) == 1 and runs[0][0] == runs[0][1]
    return f"{'line' if single else 'lines'} {words}{more}"
