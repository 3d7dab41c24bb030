"""Usual ranges of the figures that a body is described by, for when a potter has given none."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from wareboard.reference import rows
from wareboard.working import Estimate


@cache
def usual_ranges() -> Mapping[str, Estimate]:
    """Value and range by the figure's plain name, from the shipped table ``clay/usual_ranges``."""
    return MappingProxyType(
        {
            row["name"]: Estimate(float(row["value"]), float(row["low"]), float(row["high"]), row["source"])
            for row in rows("clay/usual_ranges")
        }
    )
