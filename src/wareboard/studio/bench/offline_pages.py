"""The bench without a network: the worker that keeps pages, the manifest to install it, the page for those not kept."""

from __future__ import annotations

from pathlib import Path

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_GET

WORKER = Path(__file__).parent.parent / "static" / "studio" / "bench-offline.js"


@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """The worker; it stands among the bench's pages because it may only answer for what lies below it."""
    return HttpResponse(WORKER.read_bytes(), content_type="text/javascript; charset=utf-8")


@require_GET
def manifest(request: HttpRequest) -> JsonResponse:
    """What a phone needs to put the bench among its programs."""
    words = {
        "name": "Wareboard bench",
        "short_name": "Bench",
        "description": "Boards, losses and the day's work, also without a network.",
        "start_url": reverse("bench"),
        "id": reverse("bench"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#f7f4ed",
        "theme_color": "#8a4b22",
        "icons": [
            _icon("192x192", "studio/icon-192.png", "any"),
            _icon("512x512", "studio/icon-512.png", "any"),
            _icon("512x512", "studio/icon-512-maskable.png", "maskable"),
        ],
    }
    return JsonResponse(words, content_type="application/manifest+json")


def _icon(sizes: str, file: str, purpose: str) -> dict[str, str]:
    return {"src": static(file), "sizes": sizes, "type": "image/png", "purpose": purpose}


@require_GET
def away(request: HttpRequest) -> HttpResponse:
    """The page in place of one that was never opened while there was a network."""
    return render(request, "bench/away.html", {"at": "bench"})
