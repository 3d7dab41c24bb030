"""A kiln model fitted to a log of the kiln itself: how well its wall holds heat, and how much heat its load takes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange
from wareboard.kiln.heat_work import Z_90
from wareboard.kiln.schedule import Schedule
from wareboard.kiln.thermal import KilnModel, simulate
from wareboard.kiln.wall_heat import Layer
from wareboard.working import Estimate

Array = NDArray[np.float64]
APART_S = 1800.0  # samples closer than this err together and would make the range look narrower than it is
FIT_STEP_S = 180.0
STEP_SHARE = 0.01  # what a step of three minutes leaves uncertain in a factor, one standard deviation
METER_SHARE = 0.02  # how far a household meter read before and after may be off, with the reading of it


@dataclass(frozen=True, slots=True)
class Calibration:
    """A kiln model that meets its log: the model, the two factors with 90 % ranges, and what is still missed, °C rms.

    ``wall_factor`` multiplies the conductivity of the wall, ``load_factor`` the heat that ware and shelves take up;
    ``together`` is the correlation between them: near 1 or -1 the log tells only their combination.
    """

    kiln: KilnModel
    wall_factor: Estimate
    load_factor: Estimate
    rms_c: float
    together: float


def scaled(kiln: KilnModel, wall_factor: float, load_factor: float) -> KilnModel:
    """The kiln with its wall conducting more by one factor and its load taking up more heat by another."""
    wall = tuple(
        Layer(
            replace(layer.material, k0=layer.material.k0 * wall_factor, k1=layer.material.k1 * wall_factor),
            layer.thickness_mm,
        )
        for layer in kiln.wall
    )
    return replace(kiln, wall=wall, ware_kg=kiln.ware_kg * load_factor, shelves_kg=kiln.shelves_kg * load_factor)


def calibrate(
    times_s: ArrayLike, temps_c: ArrayLike, kiln: KilnModel, schedule: Schedule, kwh: float | None = None
) -> Calibration:
    """The kiln fitted to one logged firing and its cooling, by least squares.

    A kiln that follows its schedule tells little while it does; its free cooling, its lateness and its meter tell the rest.
    The log must therefore run on for hours after the end, or come with the kWh of the meter.

    Args:
        times_s: (n,) seconds from switching on; temps_c: (n,) °C of the thermocouple.
        kiln: the model to start from.
        schedule: what was programmed.
        kwh: meter reading over the firing, if there is one.
    Raises:
        OutOfRange: if the log is shorter than the program and brings no kWh.
    Source: Levenberg and Marquardt's least squares (scipy); ranges from the curvature at the best fit.
    """
    from scipy.optimize import least_squares

    times, temps = np.asarray(times_s, dtype=np.float64), np.asarray(temps_c, dtype=np.float64)
    if times[-1] < schedule.duration_h * 3600.0 + 4.0 * APART_S and kwh is None:
        raise OutOfRange(
            f"a log of {times[-1] / 3600.0:.1f} h",
            why="while the kiln follows its program the log tells little of the kiln",
            mend="Let the logger run for some hours of cooling, or give the kWh of the meter",
        )
    points = np.arange(0.0, times[-1], APART_S)
    seen = np.interp(points, times, temps)
    coolest = max(float(temps[-1]) - 1.0, kiln.room_c + 6.0)

    def missed(logs: Array) -> Array:
        model = simulate(scaled(kiln, *np.exp(logs)), schedule, cool_to_c=coolest, step_s=FIT_STEP_S)
        off = np.interp(points, model.times_s, model.chamber_c) - seen
        # A meter that is off by its own error counts as much as a thermocouple that is off by 2 °C.
        meter = [] if kwh is None else [2.0 * (model.put_in_kwh / kwh - 1.0) / METER_SHARE]
        return np.concatenate([off, meter])

    found = least_squares(missed, np.zeros(2), method="lm", diff_step=1e-2, xtol=1e-6)
    spare = max(len(found.fun) - 2, 1)
    spread = float(np.sum(found.fun**2)) / spare * np.linalg.inv(found.jac.T @ found.jac)
    wall, load = (_factor(float(found.x[at]), float(np.hypot(np.sqrt(spread[at, at]), STEP_SHARE))) for at in (0, 1))
    together = float(spread[0, 1] / np.sqrt(spread[0, 0] * spread[1, 1]))
    rms = float(np.sqrt(np.mean(found.fun[: len(points)] ** 2)))
    return Calibration(scaled(kiln, wall.value, load.value), wall, load, rms, together)


def _factor(log: float, deviation: float) -> Estimate:
    ends = (log - Z_90 * deviation, log, log + Z_90 * deviation)
    low, value, high = (float(np.exp(each)) for each in ends)
    return Estimate(value, low, high, "own records")
