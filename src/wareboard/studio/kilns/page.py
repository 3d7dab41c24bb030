"""A kiln page: rendered with the degrees it is shown in, and the switch that changes them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from wareboard.studio.kilns import degrees
from wareboard.studio.looks import A_YEAR_S


def page(
    request: HttpRequest, template: str, context: Mapping[str, Any], status: int = 200, commission_code: str = ""
) -> HttpResponse:
    """The page, in the degrees that the person chose, else those of the commission."""
    shown = {"at": "kilns", "degrees": degrees.chosen(request, commission_code), **context}
    return render(request, template, shown, status=status)


@require_POST
def choose_degrees(request: HttpRequest) -> HttpResponse:
    """Keep in which degrees this browser is shown the kiln pages, and go back."""
    back = request.POST.get("back", "")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        back = reverse("kilns")
    response = HttpResponseRedirect(back)
    asked = request.POST.get("degrees", "")
    if asked in (degrees.C, degrees.F):
        response.set_cookie(degrees.COOKIE, asked, max_age=A_YEAR_S, samesite="Lax")
    else:
        response.delete_cookie(degrees.COOKIE)
    return response
