"""The answer at a glance: the few figures of a plan that a list shows, as plain values that the book can keep."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wareboard.errors import Problems, WareboardError
from wareboard.plan.noticing import standing
from wareboard.quantities import show_mass
from wareboard.studio import words

if TYPE_CHECKING:
    from wareboard.plan.result import Plan


def figures_of(plan: Plan) -> dict[str, Any]:
    """State, pieces, due day, last day, clay, firings and price of a plan, as text and numbers."""
    return {
        "state": standing(plan),
        "standing": how_it_stands(plan),
        "pieces": sum(form.count for form in plan.brief.forms),
        "due": plan.brief.due.isoformat(),
        "client": plan.brief.client,
        "clay": show_mass(plan.clay.bags.clay_g),
        "firings": plan.bisque.firings + plan.glaze_firing.firings,
        "price": words.money(plan.price.quote, plan.price.currency),
    }


def how_it_stands(plan: Plan) -> str:
    """When all is done and what that leaves: "done 12 Jan 2027, 16 days to spare"."""
    calendar = plan.calendar
    if calendar.finish is None:
        return calendar.why
    if calendar.late_days:
        return f"done {words.day(calendar.finish)}, {words.in_days(calendar.late_days)} after {words.day(calendar.due)}"
    left = calendar.slack_days or 0
    return f"done {words.day(calendar.finish)}, {words.in_days(left)} to spare"


def figures_of_trouble(problem: WareboardError) -> dict[str, Any]:
    """What stands in place of the figures where a brief cannot be planned."""
    first = problem.problems[0] if isinstance(problem, Problems) and problem.problems else problem
    return {"state": "trouble", "trouble": str(first)[:400]}
