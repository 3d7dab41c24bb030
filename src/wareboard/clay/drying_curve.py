"""The course of water in one part: a straight fall while its surface is wet, then a fall that slows with what is left.

    before the critical water   dw/dt = -rate
    after it                    dw/dt = -rate (w - end) / (critical - end)

Both solve in closed form. Water is a fraction of the dry weight, times are hours, the rate is per hour. A thick part leaves
the straight fall earlier: its mean stands above its surface (`lagged_critical`).
Source: the scheme of every text on drying (drying-stages); the sheet's part from crank-1975.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from wareboard.clay.evaporation import SECONDS_IN_AN_HOUR
from wareboard.clay.sheet import lag

Floats = NDArray[np.float64]
SOURCE = "drying-stages"
M_IN_A_MM = 1.0e-3


def water_after(start: Floats, hours: Floats, rate: Floats, critical: Floats, end: Floats) -> Floats:
    """Water after so many hours at one rate; shapes broadcast; inputs are left alone.

    Args:
        start: at the beginning, above ``end``.
        hours: 0 or more; may be infinite.
        rate: loss per hour while the surface is wet, above 0.
        critical: where the straight fall ends, above ``end``.
        end: what the room leaves in it.
    Source: drying-stages, integrated.
    """
    straight_h = np.maximum(0.0, start - critical) / rate
    slowing = np.maximum(0.0, hours - straight_h) * rate / (critical - end)
    return np.asarray(
        np.where(
            hours <= straight_h,
            start - rate * np.minimum(hours, straight_h),
            end + (np.minimum(start, critical) - end) * np.exp(-slowing),
        )
    )


def hours_until(start: Floats, target: Floats, rate: Floats, critical: Floats, end: Floats) -> Floats:
    """Hours until the water has fallen to ``target``: 0 when it is there already, infinite at or below ``end``.

    Source: drying-stages, integrated; the reverse of `water_after`.
    """
    straight = np.maximum(0.0, start - np.maximum(target, critical)) / rate
    with np.errstate(divide="ignore", invalid="ignore"):
        from_water = np.minimum(start, critical) - end
        slowing = (critical - end) / rate * np.log(from_water / np.maximum(0.0, np.minimum(target, critical) - end))
    return np.asarray(np.where(target >= start, 0.0, straight + np.where(target < critical, np.maximum(0, slowing), 0)))


def lagged_critical(
    critical: Floats, end: Floats, rate: Floats, reach_mm: Floats, diffusivity_m2_per_s: Floats
) -> Floats:
    """Mean water of a part when its surface goes dry: the critical water itself when thin, more when thick or fast.

    With the surface's loss in proportion to its excess, the surface number is L = reach^2 rate / ((critical - end) D) and
    the mean's excess is L / beta^2 times the surface's, beta tan(beta) = L. For a thin part that is 1 + L / 3.

    Args:
        critical: where the particles touch and the surface goes dry, fraction of the dry weight.
        end: what the room leaves in it.
        rate: per hour, while the surface is wet.
        reach_mm: way of the furthest water to the face it leaves by, mm.
        diffusivity_m2_per_s: of water in the clay.
    Source: crank-1975, section 4.3.6, first mode.
    """
    reach_m = reach_mm * M_IN_A_MM
    number = reach_m**2 * rate / SECONDS_IN_AN_HOUR / ((critical - end) * diffusivity_m2_per_s)
    return np.asarray(end + (critical - end) * lag(np.maximum(number, 1e-9)))
