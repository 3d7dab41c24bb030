"""How fast the trade heats ware of a given wall thickness: a limit set by steam and gas, not derived from stress."""

from __future__ import annotations

import math

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.figures import firing_figure
from wareboard.working import Step

THICKNESSES_MM = (3, 5, 8, 12, 25)
THINNEST_MM, THICKEST_MM = 1.0, 60.0


def wall_rate(thickest_mm: float) -> Step:
    """Fastest bisque heating to 600 °C that the trade takes for dry ware of a wall thickness, °C/h, with its range.

    Straight on logarithms between 3, 5, 8, 12 and 25 mm; carried on by the same slope to 60 mm; 200 °C/h under 3 mm.

    Raises:
        OutOfRange: outside 1 to 60 mm.
    Source: common practice (order of magnitude).
    """
    if not (math.isfinite(thickest_mm) and THINNEST_MM <= thickest_mm <= THICKEST_MM):
        raise OutOfRange(
            f"thickest wall is {thickest_mm:g} mm",
            why=f"heating rates by thickness are known to the trade from {THINNEST_MM:g} to {THICKEST_MM:g} mm",
            mend="Give the thickest place of the thickest piece, in mm; fire thicker work by trial",
        )
    figures = [firing_figure(f"wall_{mm}") for mm in THICKNESSES_MM]
    places, rates = np.log(THICKNESSES_MM), np.log([figure.value for figure in figures])
    at = int(np.clip(np.searchsorted(places, math.log(thickest_mm)) - 1, 0, len(places) - 2))
    slope = float((rates[at + 1] - rates[at]) / (places[at + 1] - places[at]))
    inputs = {
        "rate_at_mark": figures[at].value,
        "thickest_mm": max(thickest_mm, float(THICKNESSES_MM[0])),
        "mark_mm": float(THICKNESSES_MM[at]),
        "slope": slope,
    }
    value = figures[at].value * (inputs["thickest_mm"] / inputs["mark_mm"]) ** slope
    return Step(
        "fastest rate to 600 °C for this wall",
        "rate_at_mark * (thickest_mm / mark_mm) ** slope",
        inputs,
        value,
        "common-practice",
        "°C/h",
        0.75 * value,
        1.25 * value,
        key="wall_rate_c_per_h",
    )
