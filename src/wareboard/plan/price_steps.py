"""The working behind a price, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from wareboard.plan.reckoning import OVERHEAD, WORK, FiringCost, FormWork, Rates, Reckoned
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.plan.price import Price


def price_steps(
    price: Price, forms: Sequence[FormWork], firings: Sequence[FiringCost], rates: Rates, middle: Reckoned
) -> tuple[Step, ...]:
    """Minutes and materials behind a piece, firings, cost, price, deposit and what an hour earns."""
    steps: list[Step] = []
    for number, form in enumerate(forms):
        steps.append(_minutes(form, price.forms[number].minutes_each))
        if form.materials:
            steps.append(_materials(form, middle.materials_each[number], price.currency))
        steps.append(_made(form, middle.made[number]))
    steps.append(_work(middle, rates))
    steps += [_firing(firing, rates) for firing in firings]
    steps += _cost(price, rates)
    steps += [_asked(price, number, middle.cost_each[number], rates) for number in range(len(forms))]
    return (*steps, *_quote(price), *_deposit(price, rates), *_hourly(price, middle))


def _minutes(form: FormWork, minutes: Estimate) -> Step:
    given: dict[str, float] = {}
    parts = []
    for number, stage in enumerate(form.stages, start=1):
        given[f"minutes_{number}"], given[f"good_{number}"] = stage.minutes.value, stage.good_share.value
        behind = " * ".join(f"good_{later}" for later in range(number, len(form.stages) + 1))
        parts.append(f"minutes_{number} / ({behind})")
    return Step(
        f"minutes behind one finished {form.name}",
        " + ".join(parts),
        given,
        minutes.value,
        "derived",
        "min",
        minutes.low,
        minutes.high,
        how="stages in order: " + ", ".join(stage.stage for stage in form.stages),
    )


def _made(form: FormWork, made: float) -> Step:
    wanted = float(form.wanted)
    if form.started is None:
        return Step(f"good {form.name} paid for", "wanted", {"wanted": wanted}, made, "given in the brief", "pieces")
    given = {f"good_{number}": stage.good_share.value for number, stage in enumerate(form.stages, start=1)}
    return Step(
        f"good {form.name} paid for",
        "max(wanted, started * " + " * ".join(given) + ")",
        {"wanted": wanted, "started": float(form.started), **given},
        made,
        "derived",
        "pieces",
        how="pieces over those wanted are made and borne by the commission",
    )


def _work(middle: Reckoned, rates: Rates) -> Step:
    given: dict[str, float] = {}
    for number, (minutes, made) in enumerate(zip(middle.minutes_each, middle.made, strict=True), start=1):
        given[f"minutes_{number}"], given[f"good_{number}"] = minutes, made
    parts = " + ".join(f"minutes_{number} * good_{number}" for number in range(1, len(middle.made) + 1))
    return Step(
        WORK,
        f"({parts}) / 60 * wage",
        {**given, "wage": float(rates.wage_per_hour)},
        middle.lines[WORK],
        "derived",
        rates.currency,
    )


def _materials(form: FormWork, amount: float, currency: str) -> Step:
    given: dict[str, float] = {
        f"good_{number}": stage.good_share.value for number, stage in enumerate(form.stages, start=1)
    }
    places = {stage.stage: number for number, stage in enumerate(form.stages, start=1)}
    parts = []
    for number, material in enumerate(form.materials, start=1):
        given[f"grams_{number}"], given[f"per_kg_{number}"] = material.each_g.value, float(material.price_per_kg)
        behind = " * ".join(f"good_{later}" for later in range(places[material.stage], len(form.stages) + 1))
        parts.append(f"grams_{number} / 1000 * per_kg_{number} / ({behind})")
    return Step(
        f"materials behind one finished {form.name}",
        " + ".join(parts),
        given,
        amount,
        "derived",
        currency,
        how="in order: " + ", ".join(material.name for material in form.materials),
    )


def _firing(firing: FiringCost, rates: Rates) -> Step:
    tariff, wear = float(rates.energy_per_kwh), float(firing.wear)

    def of_one(kwh: float) -> float:
        return firing.firings * (kwh * tariff + wear)

    return Step(
        f"{firing.name} firings",
        "firings * (kwh * per_kwh + wear)",
        {"firings": float(firing.firings), "kwh": firing.kwh.value, "per_kwh": tariff, "wear": wear},
        of_one(firing.kwh.value),
        firing.kwh.source,
        rates.currency,
        of_one(firing.kwh.low),
        of_one(firing.kwh.high),
    )


def _cost(price: Price, rates: Rates) -> list[Step]:
    before = [line for line in price.lines if line.name != OVERHEAD]
    given = {f"line_{number}": float(line.amount) for number, line in enumerate(before, start=1)}
    overhead = next(float(line.amount) for line in price.lines if line.name == OVERHEAD)
    return [
        Step(
            "cost of making",
            " + ".join(given) + " + overhead",
            {**given, "overhead": overhead},
            float(price.cost.amount),
            "derived",
            rates.currency,
            float(price.cost.low),
            float(price.cost.high),
            how="in order: " + ", ".join(line.name for line in price.lines),
        )
    ]


def _asked(price: Price, number: int, cost_each: float, rates: Rates) -> Step:
    form = price.forms[number]
    grown = 1 + rates.margin_share
    return Step(
        f"price of one {form.name}",
        "cost_each * (1 + margin_share)",
        {"cost_each": cost_each, "margin_share": rates.margin_share},
        cost_each * grown,
        "derived",
        price.currency,
        float(form.cost_each_low) * grown,
        float(form.cost_each_high) * grown,
        how=f"rounded to {form.price_each} {price.currency}",
    )


def _quote(price: Price) -> list[Step]:
    given = {f"forms_{number}": float(form.total) for number, form in enumerate(price.forms, start=1)}
    return [
        Step(
            "quote",
            " + ".join(given) + " + development",
            {**given, "development": float(price.development)},
            float(price.quote),
            "derived",
            price.currency,
        )
    ]


def _deposit(price: Price, rates: Rates) -> list[Step]:
    takings = price.quote if price.agreed_price is None else price.agreed_price
    laid_out = float(price.exposure - price.development)
    return [
        Step(
            "deposit",
            "share * price",
            {"share": rates.deposit_share, "price": float(takings)},
            rates.deposit_share * float(takings),
            "derived",
            price.currency,
            how=f"rounded to {price.deposit} {price.currency}",
        ),
        Step(
            "laid out before delivery",
            "development + materials_and_firings",
            {"development": float(price.development), "materials_and_firings": laid_out},
            float(price.exposure),
            "derived",
            price.currency,
        ),
    ]


def _hourly(price: Price, middle: Reckoned) -> list[Step]:
    takings = float(price.quote if price.agreed_price is None else price.agreed_price)
    return [
        Step(
            "what an hour earns",
            "(price - all_but_work) / hours",
            {"price": takings, "all_but_work": middle.besides_labour, "hours": price.hours.value},
            (takings - middle.besides_labour) / price.hours.value,
            "derived",
            f"{price.currency}/h",
        )
    ]
