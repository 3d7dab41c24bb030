"""The usual figures of drying and the moisture windows, from the shipped tables, each with its range and source."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from wareboard.clay.shrinkage import HALF_WIDTH_OF_90_PER_CENT
from wareboard.errors import NotInTable
from wareboard.reference import rows
from wareboard.working import Estimate


@cache
def _figures() -> Mapping[str, Estimate]:
    return MappingProxyType(
        {
            row["name"]: Estimate(float(row["value"]), float(row["low"]), float(row["high"]), row["source"])
            for row in rows("clay/drying_figures")
        }
    )


def figure(name: str) -> Estimate:
    """One usual figure with its range, from ``clay/drying_figures``.

    Raises:
        NotInTable: if there is none of that name.
    """
    try:
        return _figures()[name]
    except KeyError:
        raise NotInTable(
            f"drying figure {name!r}", why="no such figure is shipped", mend="Use one of: " + ", ".join(_figures())
        ) from None


@cache
def window(state: str) -> tuple[float, float]:
    """Water at which ware is in that state, low and high, fraction of the dry weight, from ``clay/moisture_windows``.

    Raises:
        NotInTable: if there is no such state.
    """
    for row in rows("clay/moisture_windows"):
        if row["state"] == state:
            return float(row["low_percent"]) / 100.0, float(row["high_percent"]) / 100.0
    known = ", ".join(row["state"] for row in rows("clay/moisture_windows"))
    raise NotInTable(f"state {state!r}", why="no water is kept for it", mend="Use one of: " + known)


def log_deviation(low: float, high: float) -> float:
    """Standard deviation of the logarithm of a figure whose 90 % range is ``low`` to ``high``, both above 0."""
    return abs(math.log(high / low)) / (2.0 * HALF_WIDTH_OF_90_PER_CENT)
