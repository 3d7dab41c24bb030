"""Energy of a firing as a balance of heat: ware, shelves and posts, water of raw clay, wall, and what leaks away.

The heat of ware and furniture is in closed form; what the wall takes up and loses is followed once through the schedule
(`kiln.thermal`), for it hardly depends on what stands in the kiln.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from wareboard.kiln.energy import Energy
from wareboard.kiln.figures import firing_figure
from wareboard.kiln.heat_work import Z_90
from wareboard.kiln.segment import Schedule
from wareboard.kiln.thermal import KilnModel, simulate
from wareboard.kiln.wall_heat import Material
from wareboard.working import Step

STEP_S = 300.0
AMPLE_KW = 500.0
USUAL_KG = 25.0  # of ware, and of shelves, with which the wall is followed
J_PER_KWH = 3.6e6
# Specific heats of a handbook that does not say whether they are true or means from room temperature; 1.25 against
# 1.16 MJ/kg to cone 6 (kiln-p1).
SPECIFIC_HEAT = (0.03, 0.08)
HEAT = "kg * (c0 * (end_c - start_c) + c1 / 2 * (end_c ** 2 - start_c ** 2)) / 3600000"
Shares = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Doubt:
    """How far each part of a balance may lie under and over its value, nine times in ten, as shares of it.

    ``wall`` is what the wall takes up and loses, over what walls of one make differ by; a wall fitted to logs has the
    range of its fit alone (``fitted``). ``loss`` is what it loses once it is hot, by default as ``wall``.
    """

    ware: Shares = (0.0, 0.0)
    shelves: Shares = (0.0, 0.0)
    wall: Shares = (0.0, 0.0)
    leak: Shares = (0.5, 1.0)
    fitted: bool = False
    loss: Shares | None = None


@dataclass(frozen=True, slots=True)
class Walls:
    """What a schedule asks of a kiln whatever stands in it: kWh of wall and elements, K h over the room, °C at the end."""

    kwh: float
    degree_hours: float
    end_c: float
    reached: bool


@lru_cache(maxsize=256)
def walls_of(kiln: KilnModel, schedule: Schedule) -> Walls:
    """The part of a firing that hardly depends on the load, followed through the schedule with 25 kg of each.

    Source: energy balance of `kiln.thermal`.
    """
    usual = replace(kiln, ware_kg=USUAL_KG, shelves_kg=USUAL_KG, ware_area_m2=2.0)
    run = simulate(usual, schedule, cool_to_c=None, step_s=STEP_S)
    start, end = schedule.start_c, float(run.ware_c[-1])
    load = sum(_heat_kwh(USUAL_KG, what, start, end) for what in (kiln.ware, kiln.shelf))
    degree_hours = float(np.sum(run.chamber_c[1:] - kiln.room_c)) * STEP_S / 3600.0
    leak = kiln.leak_w_per_k * degree_hours / 1000.0
    return Walls(float(run.put_in_kwh) - load - leak, degree_hours, end, run.reached)


def balance_energy(
    kiln: KilnModel, schedule: Schedule, kind: str, doubt: Doubt | None = None, keeps_pace: bool = False
) -> Energy | None:
    """Energy of a firing to the end of its peak, kWh, by what takes the heat up; None where the kiln cannot reach it.

    What holds a cooling back comes besides (`kiln.held_cooling`).

    Args:
        kiln: with its load and leaks.
        schedule: what is fired; the balance ends with the last hold at its peak.
        kind: bisque (raw clay gives off its water) or glaze.
        doubt: of the parts; by default that of a kiln and load that were weighed and a wall by its make.
        keeps_pace: take it that the kiln keeps up with its program, as one does whose wall nobody told: then it takes at the
            most its full power over all of the hours, whatever the usual wall would lose.
    Source: first law of thermodynamics; specific heats kiln-p1; water of clay kiln-p22; walls of one make, kiln-p31.
    """
    doubt, schedule = doubt or Doubt(), schedule.heating
    empty = replace(kiln, ware_kg=0.0, shelves_kg=0.0, ware_area_m2=1.0)
    walls = walls_of(replace(empty, power_kw=AMPLE_KW, voltage=1.0, wear=0.0) if keeps_pace else empty, schedule)
    if not walls.reached:
        return None
    parts = [
        _load("the ware takes up", "ware_kwh", kiln.ware_kg, kiln.ware, schedule.start_c, walls.end_c, doubt.ware),
        _load(
            "shelves and posts take up",
            "shelves_kwh",
            kiln.shelves_kg,
            kiln.shelf,
            schedule.start_c,
            walls.end_c,
            doubt.shelves,
        ),
        *([_water(kiln.ware_kg, doubt.ware)] if kind == "bisque" else []),
        _wall(walls, doubt),
        _leak(kiln, walls, doubt),
    ]
    kwh = sum(part.value for part in parts)
    low, high = (
        kwh + sign * math.hypot(*((edge or part.value) - part.value for edge, part in _edges(parts, sign)))
        for sign in (-1.0, 1.0)
    )
    most = kiln.full_kw * schedule.duration_h if keeps_pace else math.inf
    names = [part.key.removesuffix("_kwh") for part in parts]
    inputs = {name: part.value for name, part in zip(names, parts, strict=True)}
    formula = " + ".join(names)
    if kwh > most:
        inputs |= {"full_kw": kiln.full_kw, "hours": schedule.duration_h}
        formula = f"min({formula}, full_kw * hours)"
    kwh, low, high = (min(each, most) for each in (kwh, low, high))
    total = Step(f"energy of the {kind} firing", formula, inputs, kwh, "derived", "kWh", low, high, key="firing_kwh")
    return Energy(kwh, low, high, schedule.heating_h, (*parts, total))


def _edges(parts: list[Step], sign: float) -> list[tuple[float | None, Step]]:
    return [(part.low if sign < 0.0 else part.high, part) for part in parts]


def _heat_kwh(kg: float, what: Material, start_c: float, end_c: float) -> float:
    return kg * (what.c0 * (end_c - start_c) + what.c1 / 2.0 * (end_c**2 - start_c**2)) / J_PER_KWH


def _load(name: str, key: str, kg: float, what: Material, start_c: float, end_c: float, doubt: Shares) -> Step:
    inputs = {"kg": kg, "c0": what.c0, "c1": what.c1, "end_c": end_c, "start_c": start_c}
    low, high = (math.hypot(one, other) for one, other in zip(doubt, SPECIFIC_HEAT, strict=True))
    value = _heat_kwh(kg, what, start_c, end_c)
    return _part(f"heat that {name}", HEAT, inputs, what.source, (low, high), key, value)


def _water(kg: float, doubt: Shares) -> Step:
    figure = firing_figure("clay_water_mj_per_kg")
    inputs = {"kg": kg, "mj_per_kg": figure.value}
    off = (1.0 - figure.low / figure.value, figure.high / figure.value - 1.0)
    low, high = (math.hypot(one, other) for one, other in zip(doubt, off, strict=True))
    value = kg * figure.value / 3.6
    return _part(
        "heat that drives the water out of raw clay", "kg * mj_per_kg / 3.6", inputs, figure.source, (low, high),
        "water_kwh", value,
    )  # fmt: skip


def wall_doubt(doubt: Doubt) -> float:
    """By how much walls of one make differ, as a share nine times in ten; none for a wall that was fitted to logs."""
    return 0.0 if doubt.fitted else Z_90 * firing_figure("wall_loss_spread").high


def _wall(walls: Walls, doubt: Doubt) -> Step:
    low, high = (math.hypot(edge, wall_doubt(doubt)) for edge in doubt.wall)
    return _part(
        "heat that the wall takes up and loses, elements and air included", "", {}, "own records" if doubt.fitted
        else "kiln-p31", (low, high), "wall_kwh", walls.kwh, "followed through the schedule, layer by layer",
    )  # fmt: skip


def _leak(kiln: KilnModel, walls: Walls, doubt: Doubt) -> Step:
    inputs = {"w_per_k": kiln.leak_w_per_k, "degree_hours": walls.degree_hours}
    value = kiln.leak_w_per_k * walls.degree_hours / 1000.0
    formula = "w_per_k * degree_hours / 1000"
    return _part("heat that leaks by vent and joints", formula, inputs, "from memory", doubt.leak, "leak_kwh", value)


def _part(
    name: str,
    formula: str,
    inputs: Mapping[str, float],
    source: str,
    off: Shares,
    key: str,
    value: float,
    how: str = "",
) -> Step:
    low, high = value * (1.0 - min(off[0], 1.0)), value * (1.0 + off[1])
    return Step(name, formula, inputs, value, source, "kWh", low, high, how=how, key=key)
