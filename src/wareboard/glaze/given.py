"""Parts of a recipe and figures that may or may not carry a range, looked at before they are used."""

from __future__ import annotations

import math
from collections.abc import Mapping

from wareboard.errors import OutOfRange
from wareboard.working import Estimate

GIVEN = "given"


def parts(amounts: Mapping[str, float], of: str) -> Mapping[str, float]:
    """``amounts`` itself, when every one is a finite number from 0 up.

    Raises:
        OutOfRange: naming the material that is not.
    """
    for name, amount in amounts.items():
        if not (math.isfinite(amount) and amount >= 0):
            raise OutOfRange(
                f"{name} is {amount:g} parts in {of}",
                why="parts must be finite numbers, 0 or more",
                mend="Put the parts of the recipe in, or leave the material out",
            )
    return amounts


def estimate(value: float | Estimate, source: str = GIVEN) -> Estimate:
    """``value`` as an estimate; a bare number has no spread."""
    return value if isinstance(value, Estimate) else Estimate(float(value), float(value), float(value), source)
