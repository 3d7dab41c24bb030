"""What a firing takes, kWh: by the kiln's own meter, else by what takes the heat up; the usual duty is held beside it.

One figure is reckoned with: the meter's, where readings of this kiln and this kind of firing were kept; else the balance of
heat, its wall as fitted to the kiln's logs, as the workshop's file tells it, or as is usual. The rule of thumb that takes a
share of full power over all hours is a check alone, and stands in only where the balance says that the kiln cannot finish.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from wareboard.plan.assume import Assumer
from wareboard.plan.kiln_heat import KilnHeat, kiln_heat
from wareboard.plan.own import OwnFigure, energy_key
from wareboard.plan.workshop import Kiln
from wareboard.working import Step

if TYPE_CHECKING:
    from wareboard.kiln.energy import Energy
    from wareboard.kiln.energy_balance import Doubt
    from wareboard.kiln.inside import KilnInside, Load
    from wareboard.kiln.segment import Schedule
    from wareboard.plan.result import FormPlan

LEAST_REST_H = 0.05
THICK_WALL_MM = 114.0  # the thickest of a wall that was not told; from memory
BY_DUTY = "by the usual share of full power"
CHECK = "check: energy by the usual share of full power"


def energy_of(
    kind: str,
    kiln: Kiln,
    schedule: Schedule,
    assume: Assumer,
    ware_kg: float | None = None,
    shelves: float | None = None,
) -> Energy:
    """Energy of one firing with its range, working and, as ``check``, the other road's figure.

    Args:
        kiln: without blanks.
        ware_kg, shelves: in the load; half a usual load, and as many as the height takes, where none is planned.
    """
    from wareboard.kiln.energy import firing_energy
    from wareboard.kiln.energy_balance import balance_energy
    from wareboard.kiln.held_cooling import held_cooling, with_held

    duty = firing_energy(kiln.power_kw or 0.0, schedule, kind=kind)
    heat = kiln_heat(kiln, assume, ware_kg, shelves)
    doubt = _doubt(heat, schedule)
    found = balance_energy(heat.model, schedule, kind, doubt, keeps_pace=not heat.wall_told)
    metered = assume.learned(energy_key(kind, kiln.name))
    if metered is not None:
        heating = _by_meter(duty, metered, kind, found)
    elif found is None:
        heating = replace(duty, by=f"{BY_DUTY}: by its size the kiln is too weak for this program")
    else:
        check = replace(duty.steps[-1], name=CHECK, key="duty_kwh")
        heating = replace(found, steps=(*heat.steps, check, *found.steps), by=heat.by, check=check)
    return with_held(heating, held_cooling(heat.model, schedule, doubt), kind)


def _doubt(heat: KilnHeat, schedule: Schedule) -> Doubt:
    """How well the parts are known: a wall that was not told may be as thick as any."""
    from wareboard.kiln.energy_balance import AMPLE_KW, Doubt, walls_of
    from wareboard.kiln.thermal import BRICK_23, Layer

    doubt = heat.doubt or Doubt()
    if heat.wall_told:
        return doubt
    empty = replace(heat.model, ware_kg=0.0, shelves_kg=0.0, ware_area_m2=1.0, power_kw=AMPLE_KW, voltage=1.0, wear=0.0)
    thick = replace(empty, wall=(Layer(BRICK_23, THICK_WALL_MM),))
    less = 1.0 - walls_of(thick, schedule.heating).kwh / walls_of(empty, schedule.heating).kwh
    hot_c = schedule.peak_c
    hot = 1.0 - thick.loss_kw(hot_c) / empty.loss_kw(hot_c)
    return replace(doubt, wall=(max(0.0, less), 0.0), loss=(max(0.0, hot), 0.0))


def _by_meter(duty: Energy, metered: OwnFigure, kind: str, balance: Energy | None) -> Energy:
    """The duty's figure set right by what this kiln's meter said of earlier firings."""
    value, low, high = (duty.kwh * each for each in (metered.value, metered.low, metered.high))
    usual = replace(duty.steps[-1], name=f"{kind} firing by the usual share of full power", key="duty_kwh")
    step = Step(
        f"energy of the {kind} firing",
        "reckoned * factor",
        {"reckoned": duty.kwh, "factor": metered.value},
        value,
        metered.source,
        "kWh",
        low,
        high,
        how="as this kiln takes it by its meter",
        key="firing_kwh",
    )
    parts: tuple[Step, ...] = ()
    check = None
    if balance is not None:
        check = replace(balance.steps[-1], name="check: energy by what takes the heat up", key="balance_kwh")
        parts = (*balance.steps[:-1], check)
    by = f"by the kiln’s own meter, {metered.records}"
    return replace(duty, kwh=value, low=low, high=high, steps=(*parts, usual, step), by=by, check=check)


def energy_words(energy: Energy) -> str:
    """How the energy was found, and the other road's figure as the check that it is."""
    told = [words for words in (f"Energy {energy.by}." if energy.by else "", held_words(energy)) if words]
    if energy.check is not None:
        road = energy.check.name.removeprefix("check: energy ")
        told.append(f"{road[0].upper()}{road[1:]} it would be {energy.check.value:.0f} kWh, a check alone.")
    return " ".join(told)


def held_words(energy: Energy) -> str:
    """What holding the cooling back takes, and for how long; that it takes nothing; empty where none is programmed."""
    held = energy.held
    if held is None:
        return ""
    if held.step is None:
        return "The programmed cooling takes no electricity: by itself the kiln cools more slowly than that."
    whole = held.fall_h - held.on_h < LEAST_REST_H
    hours = f"all {held.fall_h:.1f}" if whole else f"{held.on_h:.1f} of the {held.fall_h:.1f}"
    return (
        f"{held.kwh:.1f} kWh of it ({held.low:.1f} to {held.high:.1f}) hold the cooling back: for {hours} hours of its "
        "program the kiln would by itself cool faster."
    )


def ware_in(loads: Sequence[Load], forms: Sequence[FormPlan], assume: Assumer) -> float:
    """Ware in the mean load, kg of fired clay without handles."""
    density = assume.figure("clay.fired_density_g_per_ml").value
    weighs = {form.name: form.vessel.clay_volume_mm3 / 1e6 * density for form in forms}
    whole = sum(
        weighs.get(name, 0.0) * count for load in loads for layout in load for name, count in layout.counts.items()
    )
    return whole / max(1, len(loads))


def shelves_in(loads: Sequence[Load], inside: KilnInside) -> float:
    """Shelves in the mean load; two halves count as one."""
    return max(1.0, sum(map(len, loads)) / max(1, len(loads)) / (2.0 if inside.halves else 1.0))
