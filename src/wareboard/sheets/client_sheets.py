"""What the client sees: the quote, without inner costs, and the care card, without promises."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from wareboard import quantities, reference
from wareboard.plan.approved import facts_of, ranges_of, tolerance_mm
from wareboard.plan.noticing import holds_as_asked
from wareboard.plan.result import FormPlan, Plan, slug
from wareboard.sheets.data import day, head, length, sentence, tolerance, volume
from wareboard.sheets.typesetting import Paper


def money(amount: Decimal, currency: str) -> str:
    """An amount to the smallest coin, as a quote must have it."""
    return f"{currency} {amount:,}"


def quote_sheet(plan: Plan, paper: Paper) -> dict[str, Any]:
    """The quote: pieces, prices, deposit, what may vary, and terms to fill in."""
    price, unit = plan.price, plan.length_unit
    total = price.agreed_price if price.agreed_price is not None else price.quote
    deposit = min(price.deposit_to_ask, total)
    forms = {form.name: form for form in plan.forms}
    lines = [
        [
            one.name,
            _size(forms[one.name], unit),
            str(one.wanted),
            money(one.price_each, price.currency),
            money(one.total, price.currency),
        ]
        for one in price.forms
    ]
    sums = [["prototypes, tests and meetings", money(price.development, price.currency)]]
    if price.agreed_price is not None:
        sums.append(["as agreed, in place of the sum of the lines", money(total, price.currency)])
    return head(plan, "Quote", paper) | {
        "title_text": plan.brief.title or "Quote",
        "lines": lines,
        "sums": sums,
        "total": money(total, price.currency),
        "deposit": money(deposit, price.currency),
        "balance": money(total - deposit, price.currency),
        "ready": f"ready by {day(plan.brief.due)}",
        "clay": plan.brief.clay.name,
        "mark": plan.brief.mark.what if plan.brief.mark else "",
        "painting": plan.brief.painting,
        "colours": _colours(plan),
        "vary": [_may_vary(form, unit) for form in plan.forms],
    }


def _size(form: FormPlan, unit: str) -> str:
    tall, wide = form.lengths["height"].fired_mm, form.lengths["rim"].fired_mm
    return f"{length(tall, unit)} high, {length(wide, unit)} across{_holds(form, unit)}"


def _holds(form: FormPlan, unit: str) -> str:
    """What a client is told that a piece holds: as asked, or as it is drawn where that is not so. Nobody signs for less."""
    wanted = form.form.capacity
    if not wanted:
        return ""
    if holds_as_asked(form):
        return f", holds {volume(wanted, unit)}"
    return f", holds about {volume(form.vessel.capacity_ml, unit)} as drawn ({volume(wanted, unit)} was asked for)"


def _colours(plan: Plan) -> str:
    """The fired colours in the brief's own words, each once."""
    found = dict.fromkeys(glaze.glaze.fired_colour for glaze in plan.glazes if glaze.glaze.fired_colour)
    return ", ".join(found)


def _may_vary(form: FormPlan, unit: str) -> list[str]:
    tall, wide = tolerance_mm(form, "height")[0], tolerance_mm(form, "rim")[0]
    room = reference.default("tolerance.capacity_share").value
    weight = reference.default("tolerance.weight_share").value
    holds = f"±{quantities.show_share(room)}" if form.kind != "plate" else "–"
    return [form.name, tolerance(tall, unit), tolerance(wide, unit), holds, f"±{quantities.show_share(weight)}"]


def approval_sheet(plan: Plan, paper: Paper) -> dict[str, Any]:
    """The sheet that client and workshop sign before the work: figures with their ranges, then what is said in words."""
    figures = {f"forms.{slug(form.name)}." for form in plan.forms}
    worded = [fact for fact in facts_of(plan) if not fact.key.startswith(tuple(figures))]
    return head(plan, "Approval", paper) | {
        "under": f"{plan.brief.title or 'Commission'}, {sum(form.form.count for form in plan.forms)} pieces",
        "lines": [list(row) for row in ranges_of(plan)],
        "words": [[sentence(fact.name), fact.words] for fact in worded],
    }


def care_sheet(plan: Plan, paper: Paper) -> dict[str, Any]:
    """The card that goes with the ware: what it is, what was tested (blank until it was), how to look after it."""
    tests = (
        "lead and cadmium given off (laboratory)",
        "water taken up by the clay",
        "crazing, hot to cold",
        "dishwasher",
        "microwave",
        "oven",
    )
    return head(plan, "Care card", paper) | {
        "clay": plan.brief.clay.name or "",
        "lot": plan.brief.clay.lot,
        "cone": plan.glaze_firing.cone,
        "glazes": ", ".join(glaze.glaze.name for glaze in plan.glazes) or "unglazed, or not said",
        "forms": ", ".join(form.name for form in plan.forms),
        "tests": list(tests),
    }
