"""Light or dark: the choice is kept in a cookie."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from wareboard.studio.context import LOOK_COOKIE, LOOKS

A_YEAR_S = 365 * 86400


@require_POST
def choose_look(request: HttpRequest) -> HttpResponse:
    """Keep the look chosen and go back to the page it was chosen on."""
    back = request.POST.get("back", "/")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        back = "/"
    response = HttpResponseRedirect(back)
    chosen = request.POST.get("look", "machine")
    if chosen in LOOKS:
        response.set_cookie(LOOK_COOKIE, chosen, max_age=A_YEAR_S, samesite="Lax", httponly=True)
    return response
