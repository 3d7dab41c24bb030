"""Electricity of a cooling that is held back: a hold on the way down, or a fall slower than the kiln's own.

While a kiln is to cool more slowly than it would with its elements off, they make up what wall and leaks lose beyond what
ware, furniture and brick give off at that rate. Where the program falls faster than the kiln can, nothing is taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from wareboard.kiln.energy import Energy
from wareboard.kiln.energy_balance import AMPLE_KW, J_PER_KWH, SPECIFIC_HEAT, Doubt, wall_doubt
from wareboard.kiln.segment import Schedule
from wareboard.kiln.thermal import KilnModel, simulate
from wareboard.kiln.wall_heat import Array
from wareboard.working import Step

STEP_S = 120.0
LEAST_H = 1.0 / 60.0
LEAST_KWH = 0.01
OF_HEATING = ("energy by", "energy to the end of the peak by")
LOST_LESS_GIVEN = "wall + leak - load - brick"


@dataclass(frozen=True, slots=True)
class HeldCooling:
    """What a program takes after its peak: kWh with its 90 % range, hours in which elements are on, hours of the fall."""

    kwh: float
    low: float
    high: float
    on_h: float
    fall_h: float
    step: Step | None = None


@dataclass(frozen=True, slots=True)
class _Flows:
    """Over the stretches of the fall in which the elements are on: hours, and kWh lost and given off."""

    on_h: float
    wall: float
    leak: float
    load: float
    brick: float


def held_cooling(kiln: KilnModel, schedule: Schedule, doubt: Doubt | None = None) -> HeldCooling:
    """Electricity that holds the cooling of a schedule back, kWh; none where the kiln by itself cools more slowly.

    The kiln is taken to have kept up with its program to the peak, and gives its full power at the most.

    Args:
        kiln: with its load: more ware gives off more, and less is taken.
        schedule: its segments after the last hold at the peak are counted.
        doubt: of the parts, as `kiln.energy_balance.balance_energy`.
    Source: first law of thermodynamics along the firing followed by `kiln.thermal`.
    """
    fall_h = schedule.duration_h - schedule.heating_h
    if fall_h < LEAST_H:
        return HeldCooling(0.0, 0.0, 0.0, 0.0, fall_h)
    flows = _flows(replace(kiln, power_kw=AMPLE_KW, voltage=1.0, wear=0.0), schedule)
    inputs = {"wall": flows.wall, "leak": flows.leak, "load": flows.load, "brick": flows.brick}
    kwh, formula, most = flows.wall + flows.leak - flows.load - flows.brick, LOST_LESS_GIVEN, kiln.full_kw * flows.on_h
    if kwh < LEAST_KWH:
        return HeldCooling(0.0, 0.0, 0.0, 0.0, fall_h)
    low, high = (min(max(kwh + each, 0.0), most) for each in _off(flows, kiln, doubt or Doubt()))
    if kwh > most:
        inputs |= {"full_kw": kiln.full_kw, "hours": flows.on_h}
        kwh, formula = most, f"min({formula}, full_kw * hours)"
    step = Step(
        "electricity that holds the cooling back",
        formula,
        inputs,
        kwh,
        "kiln-p1",
        "kWh",
        low,
        high,
        how="lost through the wall and by leaks, less what ware and shelves and what brick and air give off, over the "
        f"{flows.on_h:.1f} h of the fall in which the kiln by itself would cool faster",
        key="held_kwh",
    )
    return HeldCooling(kwh, low, high, flows.on_h, fall_h, step)


def with_held(heating: Energy, held: HeldCooling, kind: str) -> Energy:
    """The energy of a firing to its peak, and of its cooling, as one; a fall that takes nothing changes nothing.

    The ranges are added, for it is the same wall that loses more in both. A check is of the heating, and then says so.
    """
    if held.fall_h < LEAST_H:
        return heating
    if held.step is None:
        return replace(heating, held=held)
    before = replace(heating.steps[-1], name=f"energy of the {kind} firing to the end of its peak", key="heating_kwh")
    kwh, low, high = heating.kwh + held.kwh, heating.low + held.low, heating.high + held.high
    inputs = {"heating": heating.kwh, "held": held.kwh}
    name, source = f"energy of the {kind} firing", before.source
    total = Step(name, "heating + held", inputs, kwh, source, "kWh", low, high, key="firing_kwh")
    check = heating.check and replace(heating.check, name=heating.check.name.replace(*OF_HEATING))
    rest = (check if check and step is heating.check else step for step in heating.steps[:-1])
    steps = (*rest, before, held.step, total)
    return replace(heating, kwh=kwh, low=low, high=high, steps=steps, check=check, held=held)


@lru_cache(maxsize=512)
def _flows(kiln: KilnModel, schedule: Schedule) -> _Flows:
    heating_s, end_s = 3600.0 * schedule.heating_h, 3600.0 * schedule.duration_h
    run = simulate(kiln, schedule, cool_to_c=None, step_s=_step_s(heating_s))
    times = np.minimum(run.times_s, end_s)
    steps = np.diff(times)
    on = (run.power_kw[1:] > 0.0) & (times[:-1] >= heating_s - 1e-6)
    share = steps / np.diff(run.times_s)  # the last step may reach beyond the program's end

    def over(kw: Array) -> float:
        return float(np.sum((kw * steps)[on])) / 3600.0

    def given_off(held_kwh: Array) -> float:
        return -float(np.sum((np.diff(held_kwh) * share)[on]))

    leak_kw = kiln.leak_w_per_k * (run.chamber_c[1:] - kiln.room_c) / 1000.0
    load = _held(kiln, run.ware_c)
    brick = run.brick_kwh + 1000.0 * kiln.chamber_kj_per_k * run.chamber_c / J_PER_KWH
    return _Flows(
        float(np.sum(steps[on])) / 3600.0,
        over(run.lost_kw[1:] - leak_kw),
        over(leak_kw),
        given_off(load),
        given_off(brick),
    )


def _step_s(heating_s: float) -> float:
    """A step of about two minutes of which the heating has a whole number, so that none is part peak and part fall."""
    return max(5.0, heating_s / max(1, math.ceil(heating_s / STEP_S)))


def _held(kiln: KilnModel, temps_c: Array) -> Array:
    """Heat held by ware and furniture over 0 °C, kWh."""
    ware, shelf = kiln.ware.heat_j_per_kg(temps_c), kiln.shelf.heat_j_per_kg(temps_c)
    return (kiln.ware_kg * ware + kiln.shelves_kg * shelf) / J_PER_KWH


def _off(flows: _Flows, kiln: KilnModel, doubt: Doubt) -> tuple[float, float]:
    """How far the whole may lie under and over its value, kWh: losses by their doubt, what is given off by its own."""
    wall, made = (doubt.wall if doubt.loss is None else doubt.loss), wall_doubt(doubt)
    mass = max(kiln.ware_kg + kiln.shelves_kg, 1e-9)
    found = []
    for edge, other in ((0, 1), (1, 0)):
        load = [math.hypot(part[other], SPECIFIC_HEAT[other]) for part in (doubt.ware, doubt.shelves)]
        given = flows.load * math.hypot(load[0] * kiln.ware_kg, load[1] * kiln.shelves_kg) / mass
        parts = (flows.wall * math.hypot(wall[edge], made), flows.leak * doubt.leak[edge], given)
        found.append(math.hypot(*parts))
    return -found[0], found[1]
