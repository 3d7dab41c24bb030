"""What a person gave, looked at before it is used: lengths, weights and shares refused by name when they cannot be."""

from __future__ import annotations

import math

from wareboard.errors import OutOfRange


def positive(value: float, name: str, unit: str = "") -> float:
    """``value`` itself, when it is a finite number above 0.

    Raises:
        OutOfRange: if it is not.
    """
    if not (math.isfinite(value) and value > 0):
        raise OutOfRange(
            f"{name} is {value:g}{' ' + unit if unit else ''}",
            why="it must be a finite number above 0",
            mend="Measure it again, or leave it out where a usual figure will do",
        )
    return float(value)


def not_negative(value: float, name: str, unit: str = "") -> float:
    """``value`` itself, when it is a finite number from 0 up.

    Raises:
        OutOfRange: if it is not.
    """
    if not (math.isfinite(value) and value >= 0):
        raise OutOfRange(
            f"{name} is {value:g}{' ' + unit if unit else ''}",
            why="it must be a finite number, 0 or more",
            mend="Measure it again, or leave it out where a usual figure will do",
        )
    return float(value)


def share(value: float, name: str, of: str) -> float:
    """``value`` itself, when it is a fraction from 0 up to, but not reaching, 1.

    Raises:
        OutOfRange: if it is not.
    """
    if not (math.isfinite(value) and 0.0 <= value < 1.0):
        raise OutOfRange(
            f"{name} is {value:g}", why=f"it must be a fraction of {of}, from 0 up to 1", mend="Write 12 % as 0.12"
        )
    return float(value)
