"""Order a delivered commission again, and on the new one's page: how the first was made, and what has changed since."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from wareboard.book.models import Commission
from wareboard.book.pieces.models import Reorder
from wareboard.errors import WareboardError
from wareboard.studio import plans
from wareboard.studio.after import reorders
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.paper_form import Trouble


@require_http_methods(["GET", "POST"])
def again(request: HttpRequest, code: str) -> HttpResponse:
    """What has changed since it was made; by when it is wanted again; the new commission."""
    commission, on = get_object_or_404(Commission, code=code), plans.basis()
    troubles: list[Trouble] = []
    shown, typed = None, request.POST.get("due", "")
    try:
        shown = reorders.look(commission, on)
        if request.method == "POST":
            due = _day(typed)
            new, already = reorders.order(commission, due, request.POST.get("key", ""), on, by(request))
            words = "was kept already" if already else "is kept, with what has changed since below"
            messages.success(request, f"{new.code} {words}.")
            return HttpResponseRedirect(reverse("made-as", args=[new.code]))
    except WareboardError as problem:
        each = getattr(problem, "problems", (problem,))
        troubles = [Trouble(str(one), "due" if shown else "", "By when" if shown else "") for one in each]
    context = {
        "at": "pieces",
        "commission": commission,
        "again": shown,
        "typed": typed,
        "key": request.POST.get("key") or fresh_key(),
        "troubles": troubles,
    }
    return render(request, "after/again.html", context, status=422 if troubles and request.method == "POST" else 200)


def _day(typed: str) -> date:
    from wareboard.errors import Unreadable

    try:
        return date.fromisoformat(typed.strip())
    except ValueError:
        raise Unreadable(f"day {typed[:20]!r}", "it is not a day", "Write it as year-month-day") from None


@require_GET
def made_as(request: HttpRequest, code: str) -> HttpResponse:
    """A commission that was ordered again: how the first one was made, and what has changed since."""
    row = get_object_or_404(Reorder.objects.select_related("of", "commission"), commission__code=code)
    troubles, shown = [], None
    try:
        shown = reorders.look(row.of, plans.basis())
    except WareboardError as problem:
        troubles = [Trouble(str(problem))]
    context = {"at": "pieces", "commission": row.of, "new": row.commission, "again": shown, "troubles": troubles}
    return render(request, "after/made_as.html", context)
