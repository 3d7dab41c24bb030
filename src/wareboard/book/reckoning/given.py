"""What records hold, looked at before it is used: refused by name when it cannot be right."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange

Floats = NDArray[np.float64]


def finite(value: float, name: str) -> float:
    """``value`` itself, when it is a finite number.

    Raises:
        OutOfRange: if it is not.
    """
    if not math.isfinite(value):
        raise OutOfRange(f"{name} is {value:g}", "it must be a finite number", "Leave the record out, or measure again")
    return value


def positive(value: float, name: str) -> float:
    """``value`` itself, when it is a finite number above 0.

    Raises:
        OutOfRange: if it is not.
    """
    if not (math.isfinite(value) and value > 0.0):
        raise OutOfRange(
            f"{name} is {value:g}", "it must be a finite number above 0", "Leave the record out, or measure again"
        )
    return value


def not_negative(value: float, name: str) -> float:
    """``value`` itself, when it is a finite number from 0 up.

    Raises:
        OutOfRange: if it is not.
    """
    if not (math.isfinite(value) and value >= 0.0):
        raise OutOfRange(f"{name} is {value:g}", "it must be a finite number, 0 or more", "Give 0 or more")
    return value


def chance(value: float, name: str) -> float:
    """``value`` itself, when it lies between 0 and 1.

    Raises:
        OutOfRange: if it does not.
    """
    if not 0.0 < value < 1.0:
        raise OutOfRange(f"{name} is {value:g}", "it must lie between 0 and 1", "Write nine in ten as 0.9")
    return value


def numbers(values: Sequence[float] | Floats, name: str, least: int = 1) -> Floats:
    """A fresh array (n,) of ``values``; the input is left alone.

    Raises:
        OutOfRange: if there are fewer than ``least``, or one is not finite.
    """
    array = np.array(values, dtype=np.float64)
    if array.ndim != 1 or array.size < least:
        raise OutOfRange(f"{name}: {array.size} given", f"at least {least} are needed in one row", "Record more first")
    strange = np.flatnonzero(~np.isfinite(array))
    if strange.size:
        finite(float(array[strange[0]]), f"{name}, number {int(strange[0]) + 1},")
    return array
