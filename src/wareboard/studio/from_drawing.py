"""A form from a drawing of its outline, or from a table of radii: read, corrected, kept as a commission or put into one."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from wareboard.errors import WareboardError
from wareboard.studio.from_photograph import BOXES, brief_with
from wareboard.studio.kilns.boxes import told
from wareboard.studio.outline_board import plain_board, sent_handle, sent_rows
from wareboard.studio.outline_into import into_chosen, places
from wareboard.studio.outline_sources import SOURCES, taken_in
from wareboard.studio.starting import begun_with


@require_http_methods(["GET", "POST"])
def from_a_drawing(request: HttpRequest) -> HttpResponse:
    """Read a drawing or a table; or begin a commission with its points, or lay them beside a form that stands."""
    asked, source = request.POST.get("do", ""), request.POST.get("from", "")
    typed = {name: request.POST.get(name, "").strip() for name in BOXES}
    context: dict[str, Any] = {
        "typed": typed, "at": "four-numbers", "troubles": [], "rows": sent_rows(request), "places": places(),
        "action": reverse("from-a-drawing"), "into": request.POST.get("into", ""), "tall": request.POST.get("tall", ""),
        "radii": request.POST.get("radii", ""), "handle": sent_handle(request),
        "from": source if source in SOURCES else "drawing",
    }  # fmt: skip
    try:
        if asked in ("drawing", "table"):
            found = taken_in(request, asked)
            context |= {"rows": found.rows, "notes": found.notes, "from": asked}
        elif asked == "into":
            return into_chosen(request)
        elif asked == "begin":
            what = str(context["from"])
            text = brief_with(typed, context["rows"], what, sent_handle(request))
            return begun_with(request, text, f"Begun from {SOURCES[what]}")
    except WareboardError as problem:
        context["troubles"] = told(problem)
    context["plain"] = plain_board(context["rows"])
    return render(request, "studio/from_drawing.html", context, status=422 if context["troubles"] else 200)
