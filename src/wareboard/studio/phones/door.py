"""The door that every request goes through: who it is, whether they may, and what their browser keeps.

On this machine whoever sits there is the potter, unless that was asked to be otherwise. From the network everybody signs in.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import render
from django.urls import resolve, reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode

from wareboard.book.people import entering
from wareboard.book.people.models import HELPER, POTTER, Phone
from wareboard.studio.phones.access import OPEN, READS, may
from wareboard.studio.phones.network import FROM_NETWORK
from wareboard.studio.today import now

NETWORK_COOKIE, HERE_COOKIE = "__Host-wareboard", "wareboard-here"
ASK_HERE = "ask-on-this-machine"  # a file in the workshop folder: taking it away opens the door again
Respond = Callable[[HttpRequest], HttpResponse]


def at_the_door(get_response: Respond) -> Respond:
    """Middleware that lets a request through, sends it to sign in, or refuses it."""

    def respond(request: HttpRequest) -> HttpResponse:
        request.role = POTTER  # type: ignore[attr-defined]
        request.phone = None  # type: ignore[attr-defined]
        if request.path.startswith(settings.STATIC_URL):
            return _secured(request, get_response(request))
        if must_sign_in(request):
            refused = _refusal(request)
            if refused is not None:
                return _secured(request, refused)
        return _secured(request, get_response(request))

    return respond


def from_network(request: HttpRequest) -> bool:
    """Whether a request came from another machine, or was handed on by something that stands before the studio."""
    if request.META.get(FROM_NETWORK) or "HTTP_X_FORWARDED_FOR" in request.META or "HTTP_FORWARDED" in request.META:
        return True
    try:
        return not ipaddress.ip_address(request.META.get("REMOTE_ADDR") or "127.0.0.1").is_loopback
    except ValueError:
        return True


def must_sign_in(request: HttpRequest) -> bool:
    """Whether being at this machine is not enough."""
    return from_network(request) or asks_here()


def asks_here() -> bool:
    """Whether a password is asked for on this machine too."""
    return (Path(settings.WAREBOARD.folder) / ASK_HERE).is_file()


def phone_of(request: HttpRequest) -> Phone | None:
    """The phone that somebody is signed in on; None at the machine itself, and where nobody is."""
    return getattr(request, "phone", None)


def let_in(request: HttpRequest, response: HttpResponse, token: str) -> HttpResponse:
    """Have the browser keep what lets it in, out of reach of scripts."""
    network = from_network(request)
    response.set_cookie(
        NETWORK_COOKIE if network else HERE_COOKIE,
        token,
        max_age=int(entering.STAYS_IN.total_seconds()) * 6,  # the studio forgets it sooner than the browser
        path="/",
        httponly=True,
        samesite="Lax",
        secure=network,
    )
    return response


def let_out(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """Have the browser forget what let it in."""
    name = NETWORK_COOKIE if from_network(request) else HERE_COOKIE
    response.set_cookie(name, "", max_age=0, path="/", httponly=True, samesite="Lax", secure=from_network(request))
    return response


def onward(request: HttpRequest, asked: str) -> str:
    """The page to go on to after signing in: the one asked for if it is ours, else the bench."""
    ours = url_has_allowed_host_and_scheme(asked, allowed_hosts=None) and asked.startswith("/")
    return asked if ours else reverse("bench")


def _refusal(request: HttpRequest) -> HttpResponse | None:
    name, method = _page(request), request.method or "GET"
    cookie = NETWORK_COOKIE if from_network(request) else HERE_COOKIE
    phone = entering.signed_in(request.COOKIES.get(cookie, ""), now())
    request.phone, request.role = phone, phone.person.role if phone else ""  # type: ignore[attr-defined]
    if name in OPEN:
        return None
    by_script = (
        name in ("bench-entries", "bench-token")
        or request.headers.get("X-Fresh")
        or "json" in (request.headers.get("Accept", ""))
    )
    if phone is None:
        if by_script or request.headers.get("HX-Request"):
            answer = JsonResponse({"trouble": "Sign in first."}, status=401)
            answer["HX-Redirect"] = reverse("sign-in")
            return answer
        on = urlencode({"on": request.get_full_path()}) if method in READS else ""
        return HttpResponseRedirect(reverse("sign-in") + (f"?{on}" if on else ""))
    if may(phone.person.role, name, method):
        return None
    if name == "commissions" and phone.person.role == HELPER:
        return HttpResponseRedirect(reverse("bench"))
    if by_script:
        return JsonResponse({"trouble": "This is not yours to do."}, status=403)
    words = "This page is the potter’s. What you were about to do was not done."
    return render(request, "phones/not_yours.html", {"heading": "Not yours to open", "words": words}, status=403)


def _page(request: HttpRequest) -> str:
    try:
        return resolve(request.path_info).view_name or "?"
    except Http404:
        return ""


def _secured(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    if request.is_secure() or from_network(request):
        for cookie in response.cookies.values():
            cookie["secure"] = True
    return response
