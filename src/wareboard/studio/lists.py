"""The list of commissions, each with its answer at a glance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from wareboard.book.models import Commission
from wareboard.studio import plans


@dataclass(frozen=True, slots=True)
class Glance:
    """One commission as the list shows it: its headline figures, and whether they still hold."""

    commission: Commission
    figures: dict[str, Any]
    fresh: bool


@require_GET
def commissions(request: HttpRequest) -> HttpResponse:
    """The commissions in hand; nothing is worked out here, each card fetches its own answer where it has none."""
    found = _glances(put_away=False)
    return render(
        request,
        "studio/commissions.html",
        {
            "glances": found,
            "put_away": Commission.objects.filter(put_away__isnull=False).count(),
            "pieces": sum(glance.figures.get("pieces", 0) for glance in found),
            "at": "commissions",
        },
    )


@require_GET
def those_put_away(request: HttpRequest) -> HttpResponse:
    """The commissions that were put away."""
    return render(request, "studio/put_away.html", {"glances": _glances(put_away=True), "at": "commissions"})


@require_GET
@vary_on_headers("HX-Request")
def glance(request: HttpRequest, code: str) -> HttpResponse:
    """One card of the list, worked out."""
    commission = get_object_or_404(Commission.objects.select_related("paper__current"), code=code)
    assert commission.paper.current is not None
    headline = plans.headline_of(commission.paper.current, plans.basis())
    shown = Glance(commission, headline.figures if headline else {}, fresh=True)
    template = "studio/_glance.html" if getattr(request, "htmx", False) else "studio/one_glance.html"
    return render(request, template, {"glance": shown, "at": "commissions"})


def _glances(put_away: bool) -> list[Glance]:
    on = plans.basis()
    rows = Commission.objects.filter(put_away__isnull=not put_away).select_related("paper__current__headline")
    found = []
    for commission in rows:
        headline = getattr(commission.paper.current, "headline", None)
        fresh = headline is not None and on.holds(headline, commission.paper_id)
        found.append(Glance(commission, headline.figures if headline else {}, fresh))
    return sorted(found, key=lambda glance: str(glance.figures.get("due", "9999")))
