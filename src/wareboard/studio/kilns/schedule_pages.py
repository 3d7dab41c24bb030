"""A schedule solved for a cone or written by hand: plot, notices, hold against peak, energy, cooling; card and CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import numpy as np
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from wareboard.book.firings import kiln_model, reckoning
from wareboard.errors import WareboardError
from wareboard.plan.assume import Assumer
from wareboard.plan.fuller import COOL_C, LoadHeat, as_reckoned, cost_step, fired_by, fuller_loads
from wareboard.plan.kiln_energy import energy_of, energy_words
from wareboard.plan.noticing import OF_EVERY_FIRING
from wareboard.studio import words, workshop_file
from wareboard.studio.answer import Row
from wareboard.studio.drawing import drawing
from wareboard.studio.kilns import boxes
from wareboard.studio.kilns.firing_shown import position_words
from wareboard.studio.kilns.known_kilns import KnownKiln, known_kilns, workshop
from wareboard.studio.kilns.schedule_form import Asked, ScheduleForm, asked_for, rows_of, with_habits
from wareboard.studio.kilns.schedule_text import lines_of
from wareboard.studio.kilns.standing import CARE
from wareboard.studio.own_figures import own_now
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import today
from wareboard.working import Step

if TYPE_CHECKING:
    from wareboard.kiln.cone import HeatWork
    from wareboard.kiln.energy import Energy
    from wareboard.kiln.segment import Schedule
    from wareboard.kiln.thermal import KilnModel

HOLDS_MIN = (0.0, 10.0, 20.0, 30.0, 60.0)


@require_GET
def schedule(request: HttpRequest) -> HttpResponse:
    """The boxes, and the schedule that they ask for."""
    form, kilns, given = _form(request)
    context: dict[str, Any] = {"at": "kilns", "form": form, "troubles": boxes.troubles_of(form), "care": CARE}
    asked = None
    if form.is_valid():
        try:
            asked = asked_for(form, kilns, given)
            context |= _shown(asked, given)
        except WareboardError as problem:
            asked, context["troubles"] = None, boxes.told(problem)
    context["rows"] = rows_of(asked.schedule if asked else None, given)
    return render(request, "kilns/schedule.html", context, status=422 if context["troubles"] else 200)


@require_GET
def schedule_csv(request: HttpRequest) -> HttpResponse:
    """The schedule's segments as CSV."""
    from wareboard.kiln.schedule_plot import schedule_csv as text_of

    made = _asked(request).schedule
    response = HttpResponse(text_of(made), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{made.kind}-cone-{made.cone}.csv"'
    return response


@require_GET
def schedule_card(request: HttpRequest) -> HttpResponse:
    """The schedule as a card for the kiln's door, as PDF."""
    from wareboard.sheets.firing_card import Card, card_pdf

    asked = _asked(request)
    heat, cooling = heat_of(asked.schedule), _cooling(asked)
    card = Card(
        asked.kiln.name if asked.kiln else "Any kiln",
        asked.schedule,
        f"{heat.words} ({position_words(heat.low)} to {position_words(heat.high)})",
        cooling,
        tuple(_notices(asked)),
        today(),
    )
    return pdf(card_pdf(card, paper_of(request)), f"{asked.schedule.kind}-cone-{asked.schedule.cone}")


def _form(request: HttpRequest) -> tuple[ScheduleForm, list[KnownKiln], dict[str, str]]:
    there, _ = workshop()
    kilns = known_kilns()
    given = with_habits(request.GET.dict(), there.firing, kilns)
    return ScheduleForm(given, kilns), kilns, given


def _asked(request: HttpRequest) -> Asked:
    form, kilns, given = _form(request)
    try:
        if form.is_valid():
            return asked_for(form, kilns, given)
    except WareboardError:
        pass
    raise Http404  # the page itself tells what is wrong and leads here only once nothing is


def _shown(asked: Asked, given: dict[str, str]) -> dict[str, Any]:
    from wareboard.kiln.schedule_plot import schedule_svg

    made = asked.schedule
    heat = heat_of(made)
    query = urlencode(given)
    begin = {"kind": made.kind, "cone": made.cone, "form": made.form, "schedule": lines_of(made)}
    return {
        "asked": asked,
        "made": made,
        "heat": heat,
        "heat_range": f"{position_words(heat.low)} to {position_words(heat.high)}",
        "lean": f"{heat.bend(made.cone):.0f}°",
        "plot": drawing(schedule_svg(made, "plan")),
        "trade": list(_trade(asked)),
        "rows_shown": list(_rows(asked)),
        "kiln_words": list(_kiln_words(asked)),
        "energy_words": _energy_words(asked),
        "fuller": _fuller(asked),
        "open_c": _cooling(asked).to_c,
        "notices": [(each, "care" if each.what in OF_EVERY_FIRING else "mind") for each in _notices(asked)],
        "query": query,
        "begin": urlencode(begin),
        "steps_of": made.steps,
        "wear_kiln": asked.kiln,
    }


def heat_of(made: Schedule) -> HeatWork:
    """The cone that a schedule brings down by the end of its hold, if the kiln follows it."""
    from wareboard.kiln.cone import equivalent
    from wareboard.kiln.segment import heating_points

    hours, temps = heating_points(made)
    return equivalent(hours * 3600.0, temps, made.form)


def _notices(asked: Asked) -> Iterator[Any]:
    from wareboard.kiln.schedule import schedule_notices

    model = _model(asked)
    yield from schedule_notices(asked.schedule, asked.thickest_mm, wettest_share=asked.wet_share, kiln=model)


def _model(asked: Asked) -> KilnModel | None:
    return _estimated(asked.kiln).model if asked.kiln else None


def _estimated(kiln: KnownKiln) -> kiln_model.Estimated:
    return kiln_model.estimated(kiln.sizes, reckoning.newest_fit(kiln.record))


def _trade(asked: Asked) -> Iterator[tuple[str, str, str, bool, Step]]:
    """The peak for each of some holds, for the same cone at the same last rate; whether it is the one chosen."""
    from wareboard.kiln.hold import peak_for_hold

    made = asked.schedule
    top = next(each for each in made.segments if each.target_c == made.peak_c)
    own = sum(each.hold_min for each in made.segments if each.target_c == made.peak_c)
    rate = min(max(top.rate_c_per_h, 5.0), 600.0)
    for hold in sorted({*HOLDS_MIN, min(own, 600.0)}):
        trade = peak_for_hold(made.cone, hold, rate, made.form)
        step = next(each for each in trade.steps if each.key == "peak_c")
        yield (
            f"{hold:g}\N{NO-BREAK SPACE}min",
            f"{trade.low_c:.0f} to {trade.high_c:.0f} °C",
            f"{trade.lower_by_c:.0f} °C",
            hold == own,
            step,
        )


def _rows(asked: Asked) -> Iterator[Row]:
    made, cooling = asked.schedule, _cooling(asked)
    yield Row("Peak", f"{made.peak_c:.0f} °C", _named(made, "peak_to_program_c"))
    yield Row(
        "Heating, to the end of the hold", f"{made.heating_h:.1f} h", note="The sum of span over rate, and of holds."
    )
    if made.duration_h > made.heating_h + 0.01:
        yield Row("To the end of the programmed fall", f"{made.duration_h:.1f} h", note="The falls added.")
    step = cooling.steps[-1]
    yield Row(words.capital(step.name), words.value_of_step(step), step, words.spread(step))
    if asked.kiln and asked.kiln.sizes.power_kw:
        energy = _energy(asked.kiln, made).steps[-1]
        yield Row("Energy", words.value_of_step(energy), energy, words.spread(energy))
        price, currency = kiln_model.energy_price(workshop()[0])
        cost = cost_step(energy, price, currency)
        yield Row("What that costs", words.money(cost.value, currency), cost, _money_spread(cost, currency))


def _energy(kiln: KnownKiln, made: Schedule) -> Energy:
    """What the schedule takes in that kiln, as a plan reckons it, with half a usual load."""
    own = own_now(today(), workshop_file.text())
    return energy_of(made.kind or "glaze", kiln.sizes, made, Assumer(own))


def _energy_words(asked: Asked) -> str:
    """How the energy was found, and the other road's figure as a check."""
    if not (asked.kiln and asked.kiln.sizes.power_kw):
        return ""
    return energy_words(_energy(asked.kiln, asked.schedule))


def _money_spread(cost: Step, currency: str) -> str:
    return words.money_between(cost.low, cost.high, currency) if cost.low is not None and cost.high is not None else ""


def _fuller(asked: Asked) -> list[tuple[LoadHeat, str]]:
    """The same firing with less and more in the kiln, and what its energy costs in words."""
    if asked.kiln is None:
        return []
    price, currency = kiln_model.energy_price(workshop()[0])
    fit = reckoning.newest_fit(asked.kiln.record)
    model, factor = _estimated(asked.kiln).model, fit.load[0] if fit else 1.0
    loads = fuller_loads(model, asked.schedule, _cooling(asked).to_c, price, load_factor=factor)
    found = as_reckoned(loads, _energy(asked.kiln, asked.schedule).kwh, price)
    return [(each, words.money(each.cost, currency)) for each in found]


def _named(made: Schedule, key: str) -> Step | None:
    return next((step for step in made.steps if step.key == key), None)


def _cooling(asked: Asked) -> Any:
    from wareboard.kiln.energy import cooling_hours

    return cooling_hours(asked.schedule, kiln=asked.loader, plates=asked.plates)


def _kiln_words(asked: Asked) -> Iterator[str]:
    """What the kiln's model says of this schedule: whether it keeps up, when it is cool."""
    if asked.kiln is None:
        return
    estimated = _estimated(asked.kiln)
    fired = fired_by(estimated.model, asked.schedule, min(COOL_C, _cooling(asked).to_c))
    if fired.reached:
        late = 60.0 * (fired.program_ends_s / 3600.0 - asked.schedule.duration_h)
        pace = f"ends its program {late:.0f} min late" if late > 5.0 else "keeps up with its program"
        cool = (
            float(fired.times_s[int(np.argmax((fired.times_s >= fired.program_ends_s) & (fired.ware_c <= COOL_C)))])
            / 3600.0
        )
        yield f"{asked.kiln.name} {pace}"
        yield f"Its ware is at {COOL_C:g} °C some {cool:.0f} h after switching on, if it stays shut"
    else:
        yield f"{asked.kiln.name} cannot finish this program; see below"
    yield f"By its model, known to some 12 % where it is not fitted to a log: {estimated.taken}"
