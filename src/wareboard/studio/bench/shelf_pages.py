"""A shelf of the workshop: the boards that lie on it, and others put on it."""

from __future__ import annotations

import re

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from wareboard.book.boards.models import Board
from wareboard.book.boards.shelves import how_many, name_of
from wareboard.studio.bench.entry_pages import keep
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.context import who


@require_http_methods(["GET", "POST"])
def shelf(request: HttpRequest, number: int) -> HttpResponse:
    """The boards on a shelf; codes typed in, one or several, are put on it."""
    if not 1 <= number <= how_many():
        raise Http404
    name = name_of(number)
    if request.method == "POST":
        _put(request, name)
        return HttpResponseRedirect(reverse("bench-shelf", args=[number]))
    boards = Board.objects.filter(shelf=name, pieces__gt=0).select_related("commission").order_by("code")
    context = {"at": "bench", "name": name, "number": number, "boards": boards, "key": fresh_key()}
    return render(request, "bench/shelf.html", context)


def _put(request: HttpRequest, name: str) -> None:
    key = (request.POST.get("key") or fresh_key())[:24]
    codes = [code for code in re.split(r"[\s,;]+", request.POST.get("codes", "")) if code]
    if not codes:
        messages.error(request, "Write the code of a board.")
    for code in codes[:60]:
        told = keep(
            {"kind": "shelve", "board": code, "place": name}, f"{key}:{code}"[:40], who(request), confirmed=False
        )
        (messages.success if told.state in ("kept", "already") else messages.error)(request, f"{told.words}.")
