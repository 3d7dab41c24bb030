"""The five answers a plan gives at a glance: what do I throw, how much clay, when, how many loads, what price."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from wareboard.plan.noticing import in_days, standing
from wareboard.plan.result import FiringPlan, FormPlan, Plan
from wareboard.quantities import show_length, show_mass, show_share


@dataclass(frozen=True, slots=True)
class Answer:
    """One question and its lines."""

    key: str
    question: str
    lines: tuple[str, ...]


def answers(plan: Plan) -> tuple[Answer, ...]:
    """The answers, in the order in which they are asked."""
    found = [
        Answer("throw", "What do I throw?", tuple(_throw(plan))),
        Answer("clay", "How much clay?", tuple(_clay(plan))),
        Answer("when", "When?", tuple(_when(plan))),
        Answer("loads", "How many loads?", tuple(_loads(firing) for firing in (plan.bisque, plan.glaze_firing))),
        Answer("price", "What price?", tuple(_price(plan))),
    ]
    told = tuple(
        f"{notice.what}: {notice.why}. {notice.mend}." for notice in plan.notices if notice.weight in ("stop", "mind")
    )
    if told:
        found.append(Answer("mind", "What needs looking at?", told))
    return tuple(found)


def _throw(plan: Plan) -> Iterator[str]:
    unit = plan.length_unit
    for form in plan.forms:
        yield f"{form.start} × {form.name} for {form.form.count}: {_one(form, unit)}"


def _one(form: FormPlan, unit: str) -> str:
    parts = [f"ball {show_mass(form.ball_g)}"]
    if form.handle_blank_g:
        parts.append(f"handle {show_mass(form.handle_blank_g)}")
    if form.lid_ball_g:
        parts.append(f"lid {show_mass(form.lid_ball_g)}")
    if form.poured.spout_ball_g:
        parts.append(f"spout {show_mass(form.poured.spout_ball_g)}")
    wet = ", ".join(
        f"{name} {show_length(form.lengths[name].wet_mm, unit)}"
        for name in ("height", "rim", "belly", "foot")
        if name in form.lengths
    )
    return f"{', '.join(parts)}; wet {wet}"


def _clay(plan: Plan) -> Iterator[str]:
    bags = plan.clay.bags
    bag = "bag" if bags.bags == 1 else "bags"
    yield (
        f"{show_mass(bags.clay_g)} weighed out: {bags.bags} {bag} of {show_mass(plan.clay.block.block_g)}; "
        f"about {show_mass(bags.reclaim_g)} comes back as reclaim"
    )
    up, across = plan.clay.shrinkage_height.value, plan.clay.shrinkage_width.value
    yield f"shrinkage {show_share(up)} up, {show_share(across)} across"
    for glaze in plan.glazes:
        need = glaze.need
        yield f"{glaze.glaze.name}: {show_mass(need.dry_g)} dry ({show_mass(need.dry.low)} to {show_mass(need.dry.high)})"


def _when(plan: Plan) -> Iterator[str]:
    calendar, state = plan.calendar, standing(plan)
    if calendar.finish is None:
        yield f"No calendar: {calendar.why}"
        return
    slack = calendar.slack_days or 0
    said = {
        "on time": f"{in_days(slack)} of slack",
        "tight": f"only {in_days(slack)} of slack; {in_days(calendar.buffer_days)} are commonly kept",
        "late": f"too late by {in_days(calendar.late_days)}",
    }
    sure = "proved soonest" if calendar.status == "proved" else "the best found"
    yield f"{state.capitalize()}: from {calendar.first_day} to {calendar.finish}, due {calendar.due}; {said[state]} ({sure})"
    if calendar.latest_start is not None:
        yield f"Work can begin as late as {calendar.latest_start}"


def _loads(firing: FiringPlan) -> str:
    loads = "load" if firing.firings == 1 else "loads"
    proved = (
        f"{firing.loads.bound_firings} at the least"
        if firing.loads.bound_firings < firing.firings
        else "the fewest there can be"
    )
    return (
        f"{firing.firings} {firing.kind} {loads} to cone {firing.cone} in {firing.in_kilns} ({proved}); "
        f"one takes {firing.heating_h:.0f} h to heat, {firing.cooling_h.value:.0f} h to cool, "
        f"{firing.energy.kwh:.0f} kWh ({firing.energy.low:.0f} to {firing.energy.high:.0f})"
    )


def _price(plan: Plan) -> Iterator[str]:
    price = plan.price
    yield (
        f"{show_money(price.quote, price.currency)}; making costs {show_money(price.cost.amount, price.currency)} "
        f"({show_money(price.cost.low, price.currency)} to {show_money(price.cost.high, price.currency)}), "
        f"prototypes and talks {show_money(price.development, price.currency)}"
    )
    for form in price.forms:
        yield (
            f"{form.name}: {show_money(form.price_each, price.currency)} each, "
            f"{form.minutes_each.value:.0f} minutes of work in each that is delivered"
        )
    yield f"deposit {show_money(price.deposit_to_ask, price.currency)}; {price.hours.value:.0f} hours in all"


def show_money(amount: Decimal, currency: str) -> str:
    """An amount with its currency, without the smaller coin where it is a large one."""
    return f"{currency} {amount:,.0f}" if amount >= 100 else f"{currency} {amount:,.2f}"
