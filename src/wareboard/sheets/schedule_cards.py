"""A card for each kind of firing that is planned: its schedule, its cones, what it takes and what to look at."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from wareboard import quantities
from wareboard.plan.kiln_energy import held_words
from wareboard.plan.result import FiringPlan, Plan
from wareboard.sheets.data import head, sentence, workings
from wareboard.sheets.degrees import in_degrees, rate, rough_temperature, temperature
from wareboard.sheets.firing_card import SCHEDULE_UNITS, segment_rows
from wareboard.sheets.typesetting import Paper, printable

LAST_RAMP = {"C": "100 °C", "F": "180 °F"}  # the stretch whose rate a cone answers to
SCHEDULE_MM: Mapping[Paper, float] = {"a4": 112.0, "letter": 84.0}
FALLING_MM = 84.0  # a schedule that falls by program has more lines, and all stand on one page


def firing_sheet(plan: Plan, paper: Paper) -> dict[str, Any]:
    """A card for each kind of firing."""
    return head(plan, "Firing cards", paper) | {
        "cards": [
            _card(plan, firing, _chart_mm(firing, paper))
            for firing in (plan.bisque, plan.glaze_firing)
            if firing.firings
        ]
    }


def _chart_mm(firing: FiringPlan, paper: Paper) -> float:
    return min(SCHEDULE_MM[paper], FALLING_MM) if firing.energy.held else SCHEDULE_MM[paper]


def _card(plan: Plan, firing: FiringPlan, chart_mm: float) -> dict[str, Any]:
    degrees = plan.brief.show_temperatures
    schedule, end = firing.schedule, firing.end_point
    to_c = _opening_c(firing)
    heating = firing.heating_h  # as this kiln takes it, by its logs
    cool = firing.cooling_h
    guide, guard = _neighbours(firing.cone)
    known = "printed in the chart" if end.published else "by the heat-work model"
    return {
        "name": f"{firing.kind.capitalize()} to cone {firing.cone}",
        "under": f"{_kilns(firing)} · {firing.firings} firing{'' if firing.firings == 1 else 's'}",
        "peak": temperature(schedule.peak_c, degrees),
        "hold": quantities.show_duration(_last_hold_min(firing) * 60.0) if _last_hold_min(firing) else "no hold",
        "end_point": f"Cone {end.cone} goes down at {temperature(end.temp_c, degrees)} "
        f"({temperature(end.low_c, degrees)} to {temperature(end.high_c, degrees)}): {end.form} cone, "
        f"last {LAST_RAMP[degrees]} at {rate(end.rate_c_per_h, degrees)}, {end.edition} chart, {end.status}, {known}.",
        "segments": segment_rows(firing.schedule, degrees),
        "degrees": f"°{degrees}",
        "chart": _schedule_drawing(firing, chart_mm, degrees),
        "chart_width": chart_mm,
        "chart_alt": f"{schedule.name}: temperature against hours, peak {temperature(schedule.peak_c, degrees)} "
        f"after {schedule.heating_h:.1f} h",
        "heating": quantities.show_duration(heating * 3600),
        "cooling": f"about {cool.value:.0f} h ({cool.low:.0f} to {cool.high:.0f})",
        "open_at": rough_temperature(to_c, degrees),
        "open_after": f"{heating + cool.value:.0f} h after switching on "
        f"({heating + cool.low:.0f} to {heating + cool.high:.0f})",
        "energy": _energy(plan, firing),
        "energy_check": _energy_check(firing),
        "held": held_words(firing.energy),
        "fuller": _fuller(plan, firing),
        "cones": [guide, firing.cone, guard],
        "packs": _packs(firing),
        "notices": [
            in_degrees(sentence(f"{notice.what}: {notice.why}. {notice.mend}."), degrees, rough=True)
            for notice in schedule.notices
        ],
        "working": workings(
            firing.steps,
            [
                "end point of cone…",
                *(() if firing.energy.held else ("a hold of…", "peak with this hold")),
                "peak to program",
                "electricity that holds the cooling back",
                f"energy of the {firing.kind} firing",
                "cooling to…",
                "cooling, its programmed falls first",
            ],
        ),
    }


def _kilns(firing: FiringPlan) -> str:
    kilns = {home.kiln.name: home.kiln for home in map(firing.home, range(1, firing.firings + 1))}
    return " and ".join(f"{kiln.name}, {kiln.power_kw:g} kW" for kiln in kilns.values())


def _fuller(plan: Plan, firing: FiringPlan) -> list[list[str]]:
    """A line each for half a kiln, the load as planned and a full kiln: ware, hours, opening, energy, its price."""
    from wareboard.errors import WareboardError
    from wareboard.plan.fuller import planned_fuller

    try:
        found = planned_fuller(plan, firing, Decimal(0), _opening_c(firing))
    except WareboardError:  # a kiln that no model can follow still has its card
        return []
    return [
        [
            each.words,
            f"{each.ware_kg:.0f} kg",
            *(
                (
                    f"{each.hours:.1f} h",
                    f"{each.open_h:.0f} h",
                    f"{each.kwh:.0f} kWh",
                    _costs(plan, each.kwh),
                )
                if each.reached
                else ("not reached", "–", "–", "–")
            ),
        ]
        for each in found
    ]


def _energy(plan: Plan, firing: FiringPlan) -> str:
    """kWh of a firing with their range and price; of the roomiest kiln, by name, where there are several."""
    used, where = firing.energy, f" in {firing.kiln.name}" if firing.homes else ""
    by = f"; {used.by}" if used.by else ""
    return f"{used.kwh:.0f} kWh a firing{where} ({used.low:.0f} to {used.high:.0f}), {_costs(plan, used.kwh)}{by}"


def _energy_check(firing: FiringPlan) -> str:
    """The other road's figure, as a check; empty where there is none."""
    check = firing.energy.check
    return f"{sentence(check.name.removeprefix('check: '))}: {check.value:.0f} kWh, a check alone." if check else ""


def _costs(plan: Plan, kwh: float) -> str:
    """What so many kWh cost at the commission's price of energy."""
    from wareboard.plan.assume import Assumer
    from wareboard.plan.equipment import prices_of
    from wareboard.sheets.client_sheets import money

    prices = prices_of(plan.brief, plan.workshop, Assumer())
    cost = Decimal(str(kwh)) * (prices.energy_per_kwh or Decimal(0))
    return money(cost.quantize(Decimal("0.01")), prices.currency or "")


def _opening_c(firing: FiringPlan) -> float:
    """The temperature that the hours of cooling were reckoned to."""
    return next(step.inputs["to_c"] for step in reversed(firing.steps) if step.name.startswith("cooling to"))


def _last_hold_min(firing: FiringPlan) -> float:
    return next(each.hold_min for each in reversed(firing.schedule.segments) if each.target_c == firing.schedule.peak_c)


def _neighbours(cone: str) -> tuple[str, str]:
    """The guide, one cone softer, and the guard, one harder; a dash where the chart ends."""
    from wareboard.errors import WareboardError
    from wareboard.kiln.cone import next_cone

    found = []
    for steps in (-1, 1):
        try:
            found.append(next_cone(cone, steps))
        except WareboardError:
            found.append("–")
    return found[0], found[1]


def _schedule_drawing(firing: FiringPlan, chart_mm: float, degrees: str) -> str:
    from wareboard.kiln.schedule import schedule_svg

    return printable(schedule_svg(firing.schedule, firing.kind, fahrenheit=degrees == "F"), chart_mm / SCHEDULE_UNITS)


def _packs(firing: FiringPlan) -> list[list[str]]:
    """A line to fill in for each level of each load that has witness cones."""
    return [
        [f"load {number + 1}", f"shelf {layout.level + 1}"]
        for number, load in enumerate(firing.loads.loads)
        for layout in load
        if layout.cone_packs and layout.half == 0
    ]
