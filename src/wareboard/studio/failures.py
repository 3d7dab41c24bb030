"""Pages for what went wrong."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseServerError
from django.shortcuts import render
from django.template.loader import render_to_string


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page for an address where nothing stands."""
    return render(
        request,
        "studio/failure.html",
        {
            "heading": "Nothing stands here",
            "words": "There is no such page or commission. It may have had another code.",
        },
        status=404,
    )


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The page for a form that came without its token: most often the page is old."""
    return render(
        request,
        "studio/failure.html",
        {
            "heading": "The page was too old to save from",
            "words": "Go back, load the page again and save once more. What you typed is still in the box when you go back.",
        },
        status=403,
    )


def broke(request: HttpRequest) -> HttpResponse:
    """The page for a fault of the studio's own; it must not lean on anything that may be at fault."""
    return HttpResponseServerError(render_to_string("studio/broke.html"))
