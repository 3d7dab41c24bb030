"""The pages of one commission: the answers, and a page for each part of the plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from wareboard.book.models import Commission
from wareboard.errors import Problems, WareboardError
from wareboard.studio import form_artwork, plans, sections
from wareboard.studio.answer import Steps
from wareboard.studio.history import commission_of, current_of, moves
from wareboard.studio.paper_form import Trouble
from wareboard.studio.prototypes import approval_pages
from wareboard.studio.today import now

if TYPE_CHECKING:
    from wareboard.plan.result import Plan

LOOK_LONGER_S = 3.0


@dataclass(slots=True)
class Opened:
    """A commission opened at a page, with its plan or with what stands in the way of one."""

    commission: Commission
    page: str
    plan: Plan | None
    trouble: WareboardError | None

    def context(self) -> dict[str, Any]:
        """What every page of a commission shows."""
        told = self.trouble.problems if isinstance(self.trouble, Problems) else (self.trouble,) if self.trouble else ()
        steps = Steps.of(self.plan) if self.plan else None
        return {
            **moves(self.commission),
            "at": "commissions",
            "page": self.page,
            "plan": self.plan,
            "steps": steps,
            "lengths": steps.lengths if steps else "mm",
            "troubles": [Trouble(str(each)) for each in told],
            "commission_sections": sections.named(self.plan),
        }


def opened(code: str, page: str) -> Opened:
    """The commission of that code with its plan."""
    commission = commission_of(code)
    try:
        plan, trouble = plans.plan_of_version(current_of(commission), plans.basis()), None
    except WareboardError as problem:
        plan, trouble = None, problem
    return Opened(commission, page, plan, trouble)


@require_GET
def answers(request: HttpRequest, code: str) -> HttpResponse:
    """What to throw, how much clay, when, how many loads, what price."""
    plans.headline_of(current_of(commission_of(code)), plans.basis())
    return _shown(request, code, "answers")


@require_http_methods(["GET", "POST"])
def section(request: HttpRequest, code: str, page: str) -> HttpResponse:
    """One part of the plan."""
    if page not in sections.BUILDERS:
        raise Http404
    if request.method == "POST":
        if page != "calendar":
            raise Http404
        plans.look_longer(current_of(commission_of(code)), plans.basis(), LOOK_LONGER_S)
        return HttpResponseRedirect(reverse("section", args=[code, "calendar"]))
    return _shown(request, code, page)


@require_GET
def calendar_file(request: HttpRequest, code: str) -> HttpResponse:
    """The calendar for a telephone or another calendar, as iCalendar."""
    from wareboard.plan.calendar import ics

    page = opened(code, "calendar")
    if page.plan is None:
        raise Http404
    response = HttpResponse(
        ics(page.plan.calendar, f"wareboard-{code}", now()), content_type="text/calendar; charset=utf-8"
    )
    response["Content-Disposition"] = f'attachment; filename="{code}.ics"'
    return response


def _shown(request: HttpRequest, code: str, page: str) -> HttpResponse:
    here = opened(code, page)
    context = here.context()
    if here.plan is None:
        return render(request, "studio/no_plan.html", context)
    context |= sections.BUILDERS[page](here.plan, context["steps"], request.GET)
    if page == "forms":
        context["art_on"] = form_artwork.codes_on(here.commission)
    if page == "answers":
        context |= _on_boards(code) | approval_pages.at_a_glance(here.commission, here.plan)
    return render(request, f"studio/section_{page}.html", context)


def _on_boards(code: str) -> dict[str, Any]:
    """How the pieces stand once they are on boards, and what to tell the client where they are short."""
    from wareboard.studio.bench.owed import shortfall
    from wareboard.studio.bench.standing import one_in_hand

    stands = one_in_hand(code, now())
    return {"stands": stands, "message": shortfall(stands, now()) if stands else None}
