"""The first sheet: what to throw, how much clay, when, how many loads, what price; what to mind; the defaults used."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from wareboard import quantities
from wareboard.plan.answers import show_money
from wareboard.plan.noticing import AMOUNTS_OF_MONEY, in_days, standing, told_once
from wareboard.plan.result import FiringPlan, FormPlan, Plan
from wareboard.sheets.calendar_sheets import STATES
from wareboard.sheets.data import (
    between,
    counted,
    day,
    default_in_words,
    head,
    length,
    sentence,
    source_in_words,
    volume,
    workings,
)
from wareboard.sheets.degrees import notices_shown
from wareboard.sheets.typesetting import Paper

WEIGHTS = {"stop": "Stop", "mind": "Look at this", "note": "Note", "care": "Care"}


def summary_sheet(plan: Plan, paper: Paper) -> dict[str, Any]:
    """The answers, the notices and the defaults."""
    clay, price, unit = plan.clay, plan.price, plan.length_unit
    return head(plan, "Job summary", paper) | {
        "pieces": sum(form.form.count for form in plan.forms),
        "started": sum(form.start for form in plan.forms),
        "forms": [_form(form, unit) for form in plan.forms],
        "bags": counted(clay.bags.bags, "bag"),
        "bag": quantities.show_mass(clay.block.block_g),
        "clay_words": f"{quantities.show_mass(clay.bags.clay_g)} weighed out, "
        f"{quantities.show_mass(clay.bags.reclaim_g)} of it back as reclaim",
        "shrinkage": _shrinkage(plan),
        "glazes": [
            [
                glaze.glaze.name,
                f"{quantities.show_mass(glaze.need.dry_g)} ({between(glaze.need.dry.low, glaze.need.dry.high, 'g')})",
                quantities.show_volume(glaze.need.slip_ml),
            ]
            for glaze in plan.glazes
        ],
        "state": STATES[standing(plan)],
        "when": _when(plan),
        "firings": [_firing(plan, firing) for firing in (plan.bisque, plan.glaze_firing)],
        "quote": show_money(price.agreed_price if price.agreed_price is not None else price.quote, price.currency),
        "price_words": _price(plan),
        "price_forms": [
            [
                one.name,
                show_money(one.price_each, price.currency),
                f"{show_money(one.cost_each, price.currency)} ({one.cost_each_low:.2f} to {one.cost_each_high:.2f})",
                f"{one.minutes_each.value:.0f} min ({one.minutes_each.low:.0f} to {one.minutes_each.high:.0f})",
            ]
            for one in price.forms
        ],
        "price_flags": list(price.flags),
        "notices": [
            [WEIGHTS[each.weight], sentence(f"{each.what}: {each.why}. {each.mend}.")]
            for each in told_once(notices_shown(plan))
        ],
        "assumed": [
            [
                each.label,
                *default_in_words(*(each.value, each.low, each.high, each.unit), _currency(each.key, plan)),
                source_in_words(each.source),
            ]
            for each in plan.assumed
        ],
        "working": workings(clay.steps, ["shrinkage in height", "shrinkage in width", "clay to weigh out", "bags"])
        + workings(price.steps, ["cost of making", "quote", "deposit"]),
    }


def _currency(key: str, plan: Plan) -> str:
    return plan.price.currency if key in AMOUNTS_OF_MONEY else ""


def _form(form: FormPlan, unit: str) -> list[str]:
    lengths = form.lengths
    return [
        form.name,
        str(form.form.count),
        str(form.start),
        quantities.show_mass(form.ball_g),
        f"{length(lengths['height'].wet_mm, unit)} × {length(lengths['rim'].wet_mm, unit)}",
        volume(form.vessel.capacity_ml, unit) if form.kind != "plate" else "–",
    ]


def _shrinkage(plan: Plan) -> str:
    show = quantities.show_share
    ways = ((plan.clay.shrinkage_height, "up"), (plan.clay.shrinkage_width, "across"))
    return "; ".join(f"{show(each.value)} {way} ({show(each.low)} to {show(each.high)})" for each, way in ways)


def _when(plan: Plan) -> list[str]:
    calendar = plan.calendar
    if calendar.finish is None:
        return [calendar.why, *(str(mend) for mend in calendar.mends)]
    lines = [f"{day(calendar.first_day)} to {day(calendar.finish)}"]
    if calendar.late_days:
        lines.append(f"{in_days(calendar.late_days)} after the due date, {day(calendar.due)}")
    else:
        left, kept = in_days(calendar.slack_days or 0), in_days(calendar.buffer_days)
        lines.append(f"{left} to spare before {day(calendar.due)}; {kept} are commonly kept")
    lines += [str(mend) for mend in calendar.mends]
    if calendar.latest_start:
        begin = "work should have begun by" if calendar.late_days else "can begin as late as"
        lines.append(f"{begin} {day(calendar.latest_start)}")
    return lines


def _firing(plan: Plan, firing: FiringPlan) -> list[str]:
    cool, energy = firing.cooling_h, firing.energy
    hours = f"{firing.heating_h:.0f} h up, {cool.value:.0f} h down ({cool.low:.0f} to {cool.high:.0f})"
    used = f"{energy.kwh:.0f} kWh ({energy.low:.0f} to {energy.high:.0f})"
    return [str(firing.firings), f"{firing.kind} to cone {firing.cone}", firing.in_kilns, hours, used]


def _price(plan: Plan) -> list[str]:
    price, hours = plan.price, plan.price.hours

    def show(amount: Decimal) -> str:
        return show_money(amount, price.currency)

    return [
        f"making costs {show(price.cost.amount)} ({price.cost.low:,.0f} to {price.cost.high:,.0f})",
        f"prototypes and talks {show(price.development)}",
        f"deposit {show(price.deposit_to_ask)}; laid out before delivery {show(price.exposure)}",
        f"{hours.value:.0f} hours in all ({hours.low:.0f} to {hours.high:.0f}); an hour earns {show(price.earned_per_hour)}",
    ]
