"""What the potter should be told about a plan: what cannot be, what to look at, what is good to know, and cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Literal

from wareboard import reference
from wareboard.plan.days import in_words
from wareboard.plan.kiln_stock import stock_notices
from wareboard.plan.poured import poured_warnings
from wareboard.plan.result import FormPlan, Notice, Plan, Weight, slug
from wareboard.quantities import show_length, show_share, show_volume

Standing = Literal["on time", "tight", "late", "no plan"]
THICKEST_DRYING_MM, SAME_MM = 25.0, 0.5
OF_EVERY_FIRING = ("opening", "fumes, heat and glare")  # cautions, whatever the schedule
CURRENCY_OF_DEFAULTS = "EUR"
NEAR_IT = {"GBP", "USD", "CHF", "CAD", "AUD", "NZD"}  # within about a factor of two, as wide as the figures themselves
AMOUNTS_OF_MONEY = {
    "prices.wage_per_hour",
    "prices.energy_per_kwh",
    "prices.packing_per_piece",
    "clay.price_per_kg",
    "glaze.price_per_kg",
    "kiln.wear_per_firing",
}


def standing(plan: Plan) -> Standing:
    """Whether the date holds: late, tight (less slack than is kept for making again), or on time."""
    calendar = plan.calendar
    if calendar.finish is None:
        return "no plan"
    if calendar.late_days > 0:
        return "late"
    return "on time" if calendar.buffer_kept else "tight"


def in_days(days: int) -> str:
    """Days in words."""
    return f"{days} day" if days == 1 else f"{days} days"


def notices_of(plan: Plan) -> Plan:
    """The plan with its notices put in, the weightiest first."""
    found = [
        *_about_time(plan),
        *(notice for form in plan.forms for notice in _about_form(form, plan.length_unit)),
        *_about_firing(plan),
        *_about_money(plan),
        *_about_own_records(plan),
        *(notice for glaze in plan.glazes for notice in glaze.flags),
        *_cautions(plan),
    ]
    order = ("stop", "mind", "note", "care")
    return replace(plan, notices=tuple(sorted(found, key=lambda notice: order.index(notice.weight))))


def told_once(notices: Iterable[Notice]) -> tuple[Notice, ...]:
    """The notices in their order; what is said of several things is said once, of all of them."""
    alike: dict[tuple[Weight, str, str], list[str]] = {}
    for notice in notices:
        told = alike.setdefault((notice.weight, notice.why, notice.mend), [])
        if notice.what not in told:
            told.append(notice.what)
    return tuple(Notice(_together(told), why, mend, weight) for (weight, why, mend), told in alike.items())


def _together(told: list[str]) -> str:
    """ "A: so", "B: so" as "A, B: so"; other sentences one after the other."""
    parts = [each.split(": ", 1) for each in told]
    if len(told) > 1 and all(len(part) == 2 and part[1] == parts[0][1] for part in parts):
        return ", ".join(part[0] for part in parts) + f": {parts[0][1]}"
    return "; ".join(told)


def _about_time(plan: Plan) -> Iterator[Notice]:
    state, calendar = standing(plan), plan.calendar
    if state in ("late", "no plan"):
        mends = "; ".join(str(mend) for mend in calendar.mends) or "Agree another date, or fewer pieces"
        late = f"Too late by {in_days(calendar.late_days)}" if calendar.late_days else "No calendar was found"
        asked = f"the work ends {in_words(calendar.finish)}, and {in_words(plan.brief.due)} was asked"
        why = asked if calendar.late_days else calendar.why
        yield Notice(late, why, mends, "stop", "calendar")
    elif state == "tight":
        yield Notice(
            f"Tight: {in_days(calendar.slack_days or 0)} of slack",
            f"{in_days(calendar.buffer_days)} are commonly kept free for making a form again",
            f"Start by {in_words(calendar.latest_start)} at the very latest, or agree a later date",
            "mind",
            "calendar",
        )
    if calendar.gap:
        yield Notice(
            "The calendar may be bettered",
            f"the search stopped with a gap of {show_share(calendar.gap)} to what is proved possible",
            "Give the search more time",
            "note",
            "calendar",
        )
    yield Notice(
        "The calendar begins with an approved prototype",
        "making, firing and approving prototypes is not in it",
        "Set the start to the day after approval",
        "note",
        "calendar",
    )


BELLIED = ("belly", "jug", "jar", "teapot")


def _set_aside(form: FormPlan, unit: str) -> Iterator[Notice]:
    """Sizes of the brief that the form is not drawn by, because its profile or its shape says otherwise."""
    given = form.form
    line = form.profile
    drawn = {"height": line.height_mm, "rim": line.rim_mm, "foot": line.foot_mm, "belly": line.widest_mm}
    for name in drawn if given.profile else ():
        size = getattr(given, name)
        if size is not None and abs(size - drawn[name]) > SAME_MM:
            yield Notice(
                f"{form.name}: the {name} of {show_length(size, unit)} is set aside",
                f"its profile is drawn instead, and there it is {show_length(drawn[name], unit)}",
                f"Leave the {name} out, or leave the profile out",
                "mind",
                form.name,
            )
    if given.belly is not None and not given.profile and form.shape not in BELLIED:
        yield Notice(
            f"{form.name}: the belly of {show_length(given.belly, unit)} is set aside",
            f"it is drawn as a {form.shape}, which has no belly",
            f"Leave it out, or give one of these as its shape: {', '.join(BELLIED)}; or give its profile",
            "mind",
            form.name,
        )
    yield from _lid_set_aside(form, unit)


def _named_only(form: FormPlan) -> Iterator[Notice]:
    """A form that is a teapot by its name alone: it is drawn as a jar, and how that would be changed is not guessed."""
    given = form.form
    if given.shape is not None or given.profile or "teapot" not in slug(given.name).replace("-", ""):
        return
    spout = "" if given.spout is not None else ", and [forms.spout] below it for its spout"
    yield Notice(
        f"{form.name} is drawn as a {form.shape}",
        "a name alone does not make a teapot of it: its belly and its mouth are those of the shape",
        f'Write shape = "teapot" under its name{spout}; or shape = "{form.shape}" to keep it so',
        "mind",
        form.name,
    )


def _lid_set_aside(form: FormPlan, unit: str) -> Iterator[Notice]:
    """A lid's width that its gallery leaves no room for, or leaves lying loose."""
    asked = form.form.lid.diameter if form.form.lid else None
    if asked is None or form.lidded is None or form.lidded.gallery is None:
        return
    drawn = form.lidded.profile.widest_mm
    if abs(asked - drawn) > SAME_MM:
        mouth = show_length(form.lidded.seat.mouth_mm, unit)
        yield Notice(
            f"{form.name}: the lid’s width of {show_length(asked, unit)} is set aside",
            f"it lies in a gallery {mouth} across, which asks for a lid of {show_length(drawn, unit)}",
            "Leave the width out, change the rim or the gap, or leave the gallery out for a lid that lies on the rim",
            "mind",
            form.name,
        )


def _about_form(form: FormPlan, unit: str) -> Iterator[Notice]:
    yield from _named_only(form)
    yield from _set_aside(form, unit)
    if form.agreement is not None and not form.agreement.agrees:
        yield Notice(
            f"{form.name}: the two ways to the ball's weight disagree",
            form.agreement.verdict.rstrip("."),
            "Weigh three trial balls, throw, compare, and keep what comes out right",
            "mind",
            form.name,
        )
    wanted, measure = form.form.capacity, "fl oz" if unit == "in" else "ml"
    if wanted is not None and not holds_as_asked(form):
        yield Notice(
            f"{form.name} holds {show_volume(form.vessel.capacity_ml, measure)} to {_brim(form)}, "
            f"not {show_volume(wanted, measure)}",
            "the sizes given and the capacity wanted do not go together",
            f"Make every inside size {show_share(abs((wanted / form.vessel.capacity_ml) ** (1 / 3) - 1))} "
            f"{'smaller' if wanted < form.vessel.capacity_ml else 'larger'}, or change what it is to hold",
            "mind",
            form.name,
        )
    yield from (Notice(*told, "mind", form.name) for told in poured_warnings(form.name, form.poured))
    yield from _against_the_chart(form)
    if not form.form.measured:
        yield Notice(
            f"{form.name}: no prototype has been measured",
            "each form shrinks a little in its own way",
            "Measure one wet and fired, up and across, and put it in as measured",
            "note",
            form.name,
        )
    thickest = max(form.lengths["floor"].wet_mm, form.form.wall or 0.0)
    if thickest > THICKEST_DRYING_MM:
        yield Notice(
            f"{form.name}: {show_length(thickest, unit)} is thicker than the drying figures cover",
            "its drying time is taken as that of 25 mm, and will be longer",
            "Hollow it, or weigh a pilot piece through its drying",
            "mind",
            form.name,
        )


def holds_as_asked(form: FormPlan) -> bool:
    """Whether the form as drawn holds what the brief asks for within the usual tolerance; so too where it asks nothing."""
    wanted = form.form.capacity
    tolerance = reference.default("tolerance.capacity_share").value
    return wanted is None or abs(form.vessel.capacity_ml / wanted - 1) <= tolerance


def _brim(form: FormPlan) -> str:
    return "where it pours" if any(step.key == "capacity_poured" for step in form.vessel.steps) else "the brim"


def _against_the_chart(form: FormPlan) -> Iterator[Notice]:
    from wareboard.clay.ball import chart_warning

    said = chart_warning(form.ball_g, form.lengths["height"].wet_mm, form.lengths["rim"].wet_mm)
    if said:
        told, _, mend = said.partition(": weigh")
        yield Notice(
            f"{form.name}: far from a published chart of weights",
            told[:1].lower() + told[1:],
            "Weigh" + mend.rstrip("."),
            "note",
            form.name,
        )


def _about_firing(plan: Plan) -> Iterator[Notice]:
    for firing in (plan.bisque, plan.glaze_firing):
        for notice in firing.schedule.notices:
            what = f"{firing.kind.capitalize()} firing: {notice.what[:1].lower()}{notice.what[1:]}"
            weight: Weight = "care" if notice.what in OF_EVERY_FIRING else "note"
            yield Notice(what, notice.why, notice.mend, weight, f"{firing.kind} firing")
        if firing.end_point.from_memory:
            yield Notice(
                f"Cone {firing.cone}: its chart row is from memory",
                "no published row was at hand for this form and rate",
                "Trust the witness cones before the number",
                "mind",
                f"{firing.kind} firing",
            )
    yield from _too_hot(plan)
    yield from stock_notices(plan)
    cone = plan.glaze_firing.cone
    for glaze in plan.glazes:
        if glaze.glaze.cone is not None and glaze.glaze.cone != cone:
            yield Notice(
                f"{glaze.glaze.name} is a cone {glaze.glaze.cone} glaze",
                f"the glaze firing goes to cone {cone}; cones cannot be mixed in a load",
                "Use another glaze, or another firing for it",
                "stop",
                glaze.glaze.name,
            )


def _about_money(plan: Plan) -> Iterator[Notice]:
    currency = plan.price.currency
    labels = [each.label for each in plan.assumed if each.key in AMOUNTS_OF_MONEY]
    if labels and currency != CURRENCY_OF_DEFAULTS:
        near = currency in NEAR_IT
        yield Notice(
            f"Usual prices were taken as they stand in {CURRENCY_OF_DEFAULTS}",
            f"these are not yours, and nothing was changed into {currency}: {', '.join(labels)}",
            "Put in your own prices" + ("" if near else f" in {currency}; until then the price means nothing"),
            "note" if near else "mind",
            "price",
        )


def _about_own_records(plan: Plan) -> Iterator[Notice]:
    for each in plan.overruled:
        own = each.learned
        typed, value, low, high = (_as_shown(number, own.unit) for number in (each.typed, own.value, own.low, own.high))
        yield Notice(
            f"{typed} was typed for {own.label}; your records say {value}",
            f"they hold it between {low} and {high}, {own.source}; what is typed was taken",
            "Leave the box empty to plan by your records, or keep what is typed if you know why it differs",
            "note",
            "own records",
        )


def _as_shown(value: float, unit: str) -> str:
    return f"{value:.3g} {unit}" if unit else show_share(value)


def _cautions(plan: Plan) -> Iterator[Notice]:
    yield Notice(
        "Dust",
        "dry clay and glaze dust holds silica that harms the lungs",
        "Sand wet or with extraction, mix under a P100 or FFP3 respirator, wipe wet, never sweep",
        "care",
        "workshop",
    )
    yield Notice(
        "Kiln",
        "heat, infrared, fumes and mains current",
        "Vent it, look in only through infrared-rated glasses, be there at the expected end, leave wiring to an electrician",
        "care",
        "kiln",
    )
    if plan.glazes:
        yield Notice(
            "Food contact is not tested",
            "a reckoning says nothing about what a glaze gives off",
            "Have the fired ware tested by a laboratory, and follow the law of where it is sold",
            "care",
            "glazes",
        )


def _too_hot(plan: Plan) -> Iterator[Notice]:
    """A kiln that is fired hotter than its file says it may be, for want of another."""
    from wareboard.kiln.chart import cone_order

    for firing in (plan.bisque, plan.glaze_firing):
        for kiln in {home.kiln.name: home.kiln for home in map(firing.home, range(1, firing.firings + 1))}.values():
            peak = firing.schedule.peak_c
            by_cone = kiln.hottest_cone is not None and cone_order(firing.cone) > cone_order(kiln.hottest_cone)
            if not by_cone and (kiln.hottest is None or peak <= kiln.hottest):
                continue
            most = f"cone {kiln.hottest_cone}" if by_cone else f"{kiln.hottest:.0f} °C"
            yield Notice(
                f"{kiln.name} may go to {most}, and the {firing.kind} goes to cone {firing.cone}, {peak:.0f} °C",
                "no kiln of the workshop's file that takes these pieces may go so hot; elements and brick fail early",
                "Fire it in another kiln, or choose a lower cone",
                "stop",
                f"{firing.kind} firing",
            )
