"""Type K and type S thermocouples: millivolts from degrees and back, with the cold junction put in.

Temperatures in °C on ITS-90, electromotive force in mV, reference junction at 0 °C.
Source: NIST Standard Reference Database 60 (Monograph 175), reference functions of types K and S.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import NotInTable, OutOfRange

Array = NDArray[np.float64]
TYPES = ("K", "S")
RANGES_C = {"K": (0.0, 1372.0), "S": (-50.0, 1664.5)}
S_JOIN_C = 1064.18
ROUNDING_MV = 0.0005  # the printed tables end on a figure rounded so
# Coefficients from t^0 upward, mV.
K_COEFFICIENTS = (
    -0.176004136860e-01,
    0.389212049750e-01,
    0.185587700320e-04,
    -0.994575928740e-07,
    0.318409457190e-09,
    -0.560728448890e-12,
    0.560750590590e-15,
    -0.320207200030e-18,
    0.971511471520e-22,
    -0.121047212750e-25,
)
K_EXPONENTIAL = (0.118597600000, -0.118343200000e-03, 126.9686)
S_LOW = (
    0.0,
    0.540313308631e-02,
    0.125934289740e-04,
    -0.232477968689e-07,
    0.322028823036e-10,
    -0.331465196389e-13,
    0.255744251786e-16,
    -0.125068871393e-19,
    0.271443176145e-23,
)
S_HIGH = (0.132900444085e01, 0.334509311344e-02, 0.654805192818e-05, -0.164856259209e-08, 0.129989605174e-13)


def _polynomial(temps_c: Array, coefficients: tuple[float, ...]) -> Array:
    return np.asarray(np.polynomial.polynomial.polyval(temps_c, np.asarray(coefficients)))


def _check_type(kind: str) -> None:
    if kind not in TYPES:
        raise NotInTable(f"thermocouple type {kind!r}", why="types K and S are known here", mend="Name K or S")


def _within(numbers: Array, low: float, high: float, what: str, unit: str) -> None:
    odd = ~((numbers >= low) & (numbers <= high))  # written so that NaN is odd too
    if odd.any():
        raise OutOfRange(
            f"{what} of {float(numbers[odd].flat[0]):g} {unit}",
            why=f"the reference function runs from {low:g} to {high:g} {unit}",
            mend="Check the type of wire, the unit and the connection",
        )


def millivolts(temps_c: ArrayLike, kind: str = "K") -> Array:
    """Electromotive force, mV, with the cold end at 0 °C; any shape, input left alone.

    Args:
        temps_c: 0 to 1372 °C for K, -50 to 1664.5 °C for S.
        kind: "K" or "S".
    Raises:
        OutOfRange: outside the reference function.
        NotInTable: for another type.
    Source: NIST ITS-90 reference functions (SRD 60).
    """
    _check_type(kind)
    temps = np.asarray(temps_c, dtype=np.float64)
    _within(temps, *RANGES_C[kind], f"type {kind} temperature", "°C")
    return _force(temps, kind)


def _force(temps: Array, kind: str) -> Array:
    if kind == "K":
        height, steepness, middle = K_EXPONENTIAL
        return _polynomial(temps, K_COEFFICIENTS) + height * np.exp(steepness * (temps - middle) ** 2)
    return np.where(temps <= S_JOIN_C, _polynomial(np.minimum(temps, S_JOIN_C), S_LOW), _polynomial(temps, S_HIGH))


def temperature_c(force_mv: ArrayLike, kind: str = "K", cold_junction_c: float = 0.0) -> Array:
    """Hot-end temperature, °C, from the mV read at terminals that stand at ``cold_junction_c``; any shape.

    The cold end's own millivolts are added before the table is read backwards: forgetting them loses about the room's
    temperature, 27 °C at cone 6 with type K.

    Raises:
        OutOfRange: if the sum lies outside the reference function.
        NotInTable: for another type.
    Source: as `millivolts`; inverted by interpolation in a table 0.5 °C fine, within 0.001 °C of the function.
    """
    _check_type(kind)
    whole = np.asarray(force_mv, dtype=np.float64) + float(millivolts(cold_junction_c, kind))
    grid, table = _table(kind)
    _within(whole, float(table[0]) - ROUNDING_MV, float(table[-1]) + ROUNDING_MV, f"type {kind} reading", "mV")
    return np.asarray(np.interp(whole, table, grid))


def _table(kind: str) -> tuple[Array, Array]:
    low, high = RANGES_C[kind]
    grid: NDArray[Any] = np.linspace(low, high, round((high - low) / 0.5) + 1)
    return grid, _force(grid, kind)
