"""A commission's page of the portfolio: pictures chosen, words, and its client's name only where that was allowed."""

from __future__ import annotations

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from wareboard.book.firings import signing
from wareboard.book.models import Commission
from wareboard.book.pieces import tracing
from wareboard.book.pieces.models import PiecePhoto, Portfolio
from wareboard.studio.kilns.kiln_pages import by


@require_http_methods(["GET", "POST"])
def portfolio(request: HttpRequest, code: str) -> HttpResponse:
    """What is shown of a commission, and below it what can be chosen."""
    commission = get_object_or_404(Commission.objects.select_related("paper__current"), code=code)
    photos = list(PiecePhoto.objects.filter(piece__commission=commission, put_away=None, piece__put_away=None))
    here = Portfolio.objects.filter(commission=commission).first()
    if request.method == "POST":
        _keep(request, commission, here, photos)
        messages.success(request, "Kept.")
        return HttpResponseRedirect(reverse("portfolio", args=[code]))
    if here is not None and here.put_away is not None:  # its beginning was undone
        here = None
    shown = [each for each in photos if each.shown]
    client = tracing.client_of(commission)
    forms = dict.fromkeys(each.piece.form for each in shown)
    context = {
        "at": "pieces",
        "commission": commission,
        "portfolio": here,
        # A commission is often called after its client: without a title of its own only the forms are named.
        "title": (here.title if here else "") or ", ".join(forms) or "Untitled",
        "named": client if here and here.client_may_be_named else "",
        "client": client,
        "shown": shown,
        "photos": photos,
        "can_undo": bool(here and signing.can_undo(here)),
    }
    return render(request, "after/portfolio.html", context)


def _keep(request: HttpRequest, commission: Commission, here: Portfolio | None, photos: list[PiecePhoto]) -> None:
    if request.POST.get("do") == "undo":
        if here is not None and signing.can_undo(here):
            signing.undo(here, by(request))
        return
    fields = {
        "title": request.POST.get("title", "").strip()[:120],
        "words": request.POST.get("words", "").strip()[:1000],
        "client_may_be_named": request.POST.get("named") == "yes",
        "put_away": None,
    }
    chosen = set(request.POST.getlist("photo"))
    with transaction.atomic():
        if here is None:
            signing.begin(Portfolio(commission=commission, **fields), "Begun", by(request))
        else:
            signing.change(here, fields, "Changed", by(request))
        for each in photos:
            signing.change(each, {"shown": str(each.pk) in chosen}, "Portfolio", by(request))
