"""What a fuller load changes: hours, energy and its price, and when the kiln may be opened, by the kiln's heat model."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wareboard.given import not_negative
from wareboard.plan.assume import Assumer
from wareboard.plan.kiln_energy import shelves_in
from wareboard.plan.kiln_heat import kiln_heat
from wareboard.working import Step

if TYPE_CHECKING:
    from wareboard.kiln.inside import Load
    from wareboard.kiln.segment import Schedule
    from wareboard.kiln.thermal import Fired, KilnModel
    from wareboard.plan.result import FiringPlan, Plan

COOL_C, STEP_S = 60.0, 180.0
AS_TAKEN = (("half of it", 0.5), ("the load as taken", 1.0), ("twice as much", 2.0))
FULL_AT_LEAST = 0.05  # a load that takes up less of the kiln tells too little of a full one


@dataclass(frozen=True, slots=True)
class LoadHeat:
    """One load in a kiln: its ware, hours to the end of the program and to opening, kWh and what they cost.

    ``reached`` is False where the kiln cannot finish the program with it.
    """

    words: str
    ware_kg: float
    hours: float
    open_h: float
    kwh: float
    cost: Decimal
    reached: bool


@lru_cache(maxsize=64)
def fired_by(model: KilnModel, schedule: Schedule, cool_to_c: float = COOL_C) -> Fired:
    """The firing and its cooling as the model runs it; kept, for a page asks for it more than once."""
    from wareboard.kiln.thermal import simulate

    return simulate(model, schedule, cool_to_c=cool_to_c, step_s=STEP_S)


def with_ware(model: KilnModel, times: float) -> KilnModel:
    """The kiln with so many times its ware on the same shelves; the face that sees the elements grows with the mass."""
    ware = model.ware_kg * not_negative(times, "times the ware")
    before = model.ware_kg + model.shelves_kg
    face = model.ware_area_m2 * ((ware + model.shelves_kg) / before if before else 1.0)
    return replace(model, ware_kg=ware, ware_area_m2=max(face, 0.01))


def fuller_loads(
    model: KilnModel,
    schedule: Schedule,
    open_c: float,
    price_per_kwh: Decimal,
    loads: Sequence[tuple[str, float]] = AS_TAKEN,
    load_factor: float = 1.0,
) -> tuple[LoadHeat, ...]:
    """The same firing with less and with more in the kiln.

    Args:
        open_c: when it may be opened, °C.
        loads: words, and how many times the model's ware.
        load_factor: of a fit to a log, by which the model's ware was raised over what stands in the kiln.
    Source: `wareboard.kiln.thermal.simulate`; energy x price.
    """
    return tuple(
        _one(words, with_ware(model, times), schedule, open_c, price_per_kwh, load_factor) for words, times in loads
    )


def _one(
    words: str, model: KilnModel, schedule: Schedule, open_c: float, price: Decimal, load_factor: float
) -> LoadHeat:
    run = fired_by(model, schedule, min(COOL_C, open_c))
    cooled = np.flatnonzero((run.times_s >= run.program_ends_s) & (run.ware_c <= open_c))
    open_s = float(run.times_s[cooled[0]]) if len(cooled) else float(run.times_s[-1])
    cost = Decimal(str(run.put_in_kwh)) * price
    return LoadHeat(
        words,
        model.ware_kg / load_factor,
        run.program_ends_s / 3600.0,
        open_s / 3600.0,
        float(run.put_in_kwh),
        cost,
        run.reached,
    )


def cost_step(energy: Step, price_per_kwh: Decimal, currency: str, name: str = "cost of that energy") -> Step:
    """What the energy of a step costs, in the workshop's money, with the energy's own range."""
    price = float(price_per_kwh)
    low, high = (None if edge is None else edge * price for edge in (energy.low, energy.high))
    inputs = {"kwh": energy.value, "price": price}
    return Step(
        name, "kwh * price", inputs, energy.value * price, energy.source, currency, low, high, key="firing_cost"
    )


def planned_fuller(plan: Plan, firing: FiringPlan, price_per_kwh: Decimal, open_c: float) -> tuple[LoadHeat, ...]:
    """Half a kiln, the load as planned and a full kiln, by weight of fired clay; nothing where no load is planned.

    A full kiln is the planned load over the share of the kiln that its pieces take up.
    """
    if not firing.firings:
        return ()
    planned_kg, share = planned_ware(plan, firing)
    full = 1.0 / max(FULL_AT_LEAST, min(1.0, share))
    loads = (("half a kiln", full / 2.0), ("as planned", 1.0), ("a full kiln", full))
    heat = kiln_heat(firing.kiln, Assumer(plan.own), planned_kg, _shelves(firing))
    return as_reckoned(
        fuller_loads(heat.model, firing.schedule, open_c, price_per_kwh, loads), firing.energy.kwh, price_per_kwh
    )


def as_reckoned(found: Sequence[LoadHeat], kwh: float, price_per_kwh: Decimal) -> tuple[LoadHeat, ...]:
    """Half, taken and full, with the kWh of the middle one as reckoned and the others in the model's proportion to it."""
    middle = found[len(found) // 2]
    if not (middle.reached and middle.kwh > 0.0):
        return tuple(found)
    return tuple(
        replace(each, kwh=kwh * each.kwh / middle.kwh, cost=Decimal(str(kwh * each.kwh / middle.kwh)) * price_per_kwh)
        for each in found
    )


def planned_ware(plan: Plan, firing: FiringPlan) -> tuple[float, float]:
    """Ware in a load of the mean, kg of fired clay without handles, and the share of the kiln that it takes up."""
    density = Assumer().figure("clay.fired_density_g_per_ml").value
    loads = own_loads(firing)
    counts = dict(_counted(loads))
    kg = share = 0.0
    for form in plan.forms:
        pieces = counts.get(form.name, 0) / len(loads)
        kg += pieces * form.vessel.clay_volume_mm3 / 1e6 * density
        share += pieces / firing.loads.pieces_in_a_load(form.name) if pieces else 0.0
    return kg, share


def own_loads(firing: FiringPlan) -> tuple[Load, ...]:
    """The loads in the firing's own kiln, not those in another beside it."""
    each = zip(range(1, firing.firings + 1), firing.loads.loads, strict=True)
    return tuple(load for number, load in each if firing.home(number).kiln == firing.kiln)


def _counted(loads: Sequence[Load]) -> Iterator[tuple[str, int]]:
    found: dict[str, int] = {}
    for load in loads:
        for layout in load:
            for form, count in layout.counts.items():
                found[form] = found.get(form, 0) + count
    yield from found.items()


def _shelves(firing: FiringPlan) -> float:
    return shelves_in(own_loads(firing), firing.inside)
