"""Sheets as an answer: a PDF that opens in the browser, on the paper asked for."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from wareboard.sheets.typesetting import Paper


def paper_of(request: HttpRequest) -> Paper:
    """The paper that the address asks for; A4 unless it says letter."""
    return "letter" if request.GET.get("paper") == "letter" else "a4"


def pdf(data: bytes, name: str, *, framed: bool = False) -> HttpResponse:
    """The PDF, to look at or print; ``framed``: a page of the studio may show it within itself."""
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    if framed:
        response["X-Frame-Options"] = "SAMEORIGIN"
    return response
