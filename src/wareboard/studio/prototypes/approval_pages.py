"""Approve the prototype of a commission, take that back, and see what has changed since."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from wareboard.book.firings import signing
from wareboard.book.models import Commission
from wareboard.book.prototypes import approving
from wareboard.book.prototypes.approved_pictures import pictures_of
from wareboard.book.prototypes.models import Approval
from wareboard.plan.approved import facts_of
from wareboard.studio import plans
from wareboard.studio.history import current_of
from wareboard.studio.kilns.kiln_pages import by

if TYPE_CHECKING:
    from wareboard.plan.result import Plan
    from wareboard.sheets.since_approval import Since
    from wareboard.studio.commission_pages import Opened


@require_http_methods(["GET", "POST"])
def approval(request: HttpRequest, code: str) -> HttpResponse:
    """What was approved, what has changed since, and the buttons to approve, to take it back, to note the sending."""
    from wareboard.studio.commission_pages import opened

    page = opened(code, "approval")
    if request.method == "POST":
        return _done(request, page)
    held = Approval.objects.select_related("version").filter(commission=page.commission).first()
    stands = held if held is not None and held.put_away is None else None
    context = page.context() | {
        "approval": stands,
        "taken_back": held if stands is None else None,
        "changes": signing.history(held)[:20] if held else [],
        "changed": approving.changed_since(stands, page.plan) if stands and page.plan else (),
        "facts": _by_what([(name, words) for _, name, words, *_ in stands.facts] if stands else _now(page.plan)),
        "pictures": [name for name, _ in (stands.pictures if stands else pictures_of(page.commission))],
    }
    return render(request, "prototypes/approval.html" if page.plan else "studio/no_plan.html", context)


def _now(plan: Plan | None) -> list[tuple[str, str]]:
    return [(fact.name, fact.words) for fact in facts_of(plan)] if plan else []


def _by_what(facts: list[tuple[str, str]]) -> list[tuple[str, list[tuple[str, str]]]]:
    """The facts under what they are about: "Cup, height fired" as "height fired" under "Cup", the rest under nothing."""
    heads = [(*name.rpartition(", ")[::2], words) for name, words in facts]
    return [(of, [each[1:] for each in rows]) for of, rows in groupby(heads, key=lambda each: each[0])]


def _done(request: HttpRequest, page: Opened) -> HttpResponse:
    commission, do, on = page.commission, request.POST.get("do"), plans.basis()
    own = on.for_paper(commission.paper_id).own
    if do == "approve" and page.plan is not None:
        why, version = request.POST.get("why", ""), current_of(commission)
        if request.POST.get("seen", str(version.pk)) != str(version.pk):
            messages.error(request, "The brief was changed meanwhile: look at what would be approved, then approve.")
            return HttpResponseRedirect(reverse("approval", args=[commission.code]))
        approving.approve(commission, version, page.plan, own, on.day, why, by(request))
        messages.success(request, "Approved: this is what the client agreed to, and changes are told from now on.")
    elif do == "take-back":
        approving.take_back(commission, by(request))
        messages.success(request, "The approval is taken back. It can be put back as it was, below.")
    elif do == "again":
        approving.again(commission, own, on.day, by(request))
        messages.success(request, "The approval stands again, just as it was.")
    elif do == "sent":
        approving.sent(commission, own, on.day, by(request))
        messages.success(request, "Written down as sent: the plan keeps to the learned figures of today.")
    else:
        raise Http404
    return HttpResponseRedirect(reverse("approval", args=[commission.code]))


def at_a_glance(commission: Commission, plan: Plan) -> dict[str, Any]:
    """The approval, and what has changed since, for the commission's first page."""
    stands = approving.standing(commission)
    return {"approval": stands, "since_approval": approving.changed_since(stands, plan) if stands else ()}


def since_approval(commission: Commission, plan: Plan) -> Since | None:
    """What every sheet says of the approval; None where none stands."""
    from wareboard.sheets.since_approval import Since

    stands = approving.standing(commission)
    return Since(stands.day, approving.changed_since(stands, plan)) if stands else None
