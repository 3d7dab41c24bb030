"""What every page carries: the rule that it may use nothing from another host, and no inline script or style."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

POLICY = (
    "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'; "
    "img-src 'self' data:"
)


def strict_pages(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware that adds the content policy, and keeps pages out of shared caches."""

    def respond(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.setdefault("Content-Security-Policy", POLICY)
        response.setdefault("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
        if not request.path.startswith("/static/"):
            response.setdefault("Cache-Control", "no-cache, private")
        return response

    return respond
