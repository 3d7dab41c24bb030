"""Sheets as an answer: a PDF that opens in the browser, on the paper asked for."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from wareboard.errors import WareboardError
from wareboard.plan.reading import read_workshop
from wareboard.sheets.typesetting import Paper
from wareboard.studio import workshop_file
from wareboard.studio.today import today


def paper_of(request: HttpRequest) -> Paper:
    """The paper that the address asks for, else the workshop's own."""
    asked = request.GET.get("paper")
    return ("letter" if asked == "letter" else "a4") if asked else paper_here()


def paper_here() -> Paper:
    """What the workshop prints on, by its file; A4 where that says nothing or cannot be read."""
    try:
        return read_workshop(workshop_file.text(), today=today()).paper
    except WareboardError:
        return "a4"


def pdf(data: bytes, name: str, *, framed: bool = False) -> HttpResponse:
    """The PDF, to look at or print; ``framed``: a page of the studio may show it within itself."""
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    if framed:
        response["X-Frame-Options"] = "SAMEORIGIN"
    return response
