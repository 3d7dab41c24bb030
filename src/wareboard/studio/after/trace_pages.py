"""Tracing: from a clay lot, a bucket, a lot of raw material, a board or a firing to every piece it went into."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from wareboard.book.boards.models import Board
from wareboard.book.firings.models import Firing
from wareboard.book.glazes.models import GlazeBatch, Lot
from wareboard.book.pieces import tracing
from wareboard.book.pieces.models import ClayLot
from wareboard.book.pieces.tracing import Reach
from wareboard.plan.slug import slug

KINDS: dict[str, tuple[Any, str, Callable[[Any], Reach]]] = {
    "clay": (ClayLot, "pk", tracing.from_clay),
    "batch": (GlazeBatch, "number", tracing.from_batch),
    "material": (Lot, "pk", tracing.from_material),
    "firing": (Firing, "pk", tracing.from_firing),
    "board": (Board, "code", tracing.from_board),
}


def _reached(kind: str, key: str) -> tuple[Any, Reach]:
    if kind not in KINDS or (kind != "board" and not (key.isdecimal() and len(key) < 12)):
        raise Http404
    model, name, find = KINDS[kind]
    here = get_object_or_404(model, **{name: key})
    return here, find(here)


@require_GET
def trace(request: HttpRequest, kind: str, key: str) -> HttpResponse:
    """Everything that one thing went into, with the clients; for a recall."""
    here, reach = _reached(kind, key)
    context = {
        "at": "pieces",
        "kind": kind,
        "key": key,
        "named": str(here) if kind != "board" else f"board {here.code}",
        "reach": reach,
        "standing": [each for each in reach.boards if each.pieces],
    }
    return render(request, "after/trace.html", context)


@require_GET
def trace_csv(request: HttpRequest, kind: str, key: str) -> HttpResponse:
    """The same as a table for a spreadsheet."""
    here, reach = _reached(kind, key)
    response = HttpResponse("\ufeff" + tracing.as_csv(reach), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="pieces-of-{slug(str(here))[:60]}.csv"'
    return response
