"""The main road: a brief and a workshop become a plan."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from wareboard.errors import Problems, WareboardError
from wareboard.plan.assume import Assumer
from wareboard.plan.body import body_of
from wareboard.plan.brief import Brief, Form, Glaze
from wareboard.plan.clay_plan import clay_plan
from wareboard.plan.costing import price_of
from wareboard.plan.equipment import alike, days_off, firing_of, kilns_of, people_of, prices_of
from wareboard.plan.forming import form_plan
from wareboard.plan.glazing import glaze_plan
from wareboard.plan.kiln_choice import firings_in
from wareboard.plan.noticing import notices_of
from wareboard.plan.numbering import in_order, reordered
from wareboard.plan.own import NOTHING_LEARNED, Own
from wareboard.plan.result import Plan
from wareboard.plan.scheduling import calendar_of
from wareboard.plan.tasks import tasks_of
from wareboard.plan.workshop import Workshop

Part = TypeVar("Part", Form, Glaze)
Result = TypeVar("Result")


def compile(
    brief: Brief,
    workshop: Workshop | None = None,
    *,
    own: Own | None = None,
    seconds: float = 10.0,
    load_seconds: float = 0.0,
) -> Plan:
    """Everything that follows from a brief in a workshop.

    Args:
        brief: what is asked.
        workshop: what there is; a workshop of defaults when left out. Its ``today`` is the first day where the brief has no
            start; where neither is known the calendar is laid out backwards from the due date.
        own: what the workshop's records taught; what was typed wins over it, and it over the usual figures.
        seconds: the longest search for the calendar; the best found so far is used, and its gap shown.
        load_seconds: work to spend on filling each shelf, forms mixed where that saves a firing; 0 takes what is kept.
    Raises:
        Problems: naming every form or glaze that cannot be worked out.
    """
    workshop = workshop or Workshop()
    assume = Assumer(own or NOTHING_LEARNED)
    body = body_of(brief.clay, assume)
    air = workshop.drying_air
    drafted = _every(brief.forms, lambda form: form_plan(form, brief, body, workshop.own, assume, air))
    clay, forms = clay_plan(brief.clay, body, drafted, workshop, assume)
    kilns = kilns_of(brief, workshop, assume)
    people = people_of(brief, workshop, assume)
    firing = firing_of(brief, workshop, assume)
    prices = prices_of(brief, workshop, assume)
    bisque = firings_in("bisque", forms, kilns, firing, prices, assume, load_seconds)
    glaze_firing = firings_in("glaze", forms, kilns, firing, prices, assume, load_seconds)
    glazes = _every(brief.glazes, lambda glaze: glaze_plan(glaze, forms, assume))
    first_day = brief.start or workshop.today
    if first_day is not None and workshop.today is not None and first_day < workshop.today:
        first_day = workshop.today  # what has not been begun by today begins today
    tasks = tasks_of(forms, glazes, bisque, glaze_firing, assume, any_kiln=alike(kilns))
    calendar = calendar_of(tasks, people, kilns, first_day, brief.due, days_off(brief, workshop), seconds, assume)
    calendar, orders = in_order(calendar)
    bisque, glaze_firing = reordered(bisque, orders), reordered(glaze_firing, orders)
    price = price_of(brief, forms, glazes, (bisque, glaze_firing), prices, assume)
    draft = Plan(
        brief=brief,
        workshop=workshop,
        first_day=first_day,
        forms=forms,
        clay=clay,
        glazes=glazes,
        bisque=bisque,
        glaze_firing=glaze_firing,
        kilns=kilns,
        people=people,
        calendar=calendar,
        price=price,
        assumed=assume.assumed,
        notices=(),
        overruled=tuple(assume.overruled.values()),
        leans=dict(assume.asked),
    )
    return notices_of(draft)


def _every(parts: Iterable[Part], work: Callable[[Part], Result]) -> tuple[Result, ...]:
    """Each part worked out; or, if any cannot be, everything that is wrong with any of them."""
    found: list[Result] = []
    problems: list[WareboardError] = []
    for part in parts:
        try:
            found.append(work(part))
        except Problems as several:
            problems.extend(several.problems)
        except WareboardError as problem:
            problem.where = problem.where or part.name
            problems.append(problem)
    if problems:
        raise Problems(problems, "The brief cannot be planned as it stands")
    return tuple(found)
