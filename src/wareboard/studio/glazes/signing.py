"""Who writes on a page of the glaze book and when, and the way back from what was written."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote

from django.contrib import messages
from django.db.models import Model
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_POST

from wareboard.book.firings import signing
from wareboard.book.firings.models import Kept
from wareboard.book.firings.signing import Signed
from wareboard.book.glazes import models, writing
from wareboard.errors import WareboardError
from wareboard.studio.context import WHO_COOKIE, writer
from wareboard.studio.looks import A_YEAR_S
from wareboard.studio.today import now

KINDS: Mapping[str, tuple[type[Kept], str]] = {
    "recipe": (models.GlazeRecipe, "Recipe"),
    "material": (models.ShelfMaterial, "Material"),
    "lot": (models.Lot, "Lot"),
    "bucket": (models.GlazeBatch, "Bucket"),
    "line": (models.BucketLine, "Line of a bucket's card"),
    "piece": (models.WeighedPiece, "Weighed piece"),
    "blend": (models.BlendPlan, "Blend"),
    "tile": (models.TestTile, "Tile"),
    "fit": (models.FitTest, "Fit test"),
    "body": (models.MeasuredBody, "Body"),
    "tied": (models.TiedGlaze, "Glaze of a commission"),
    "ware": (models.FoodWare, "Ware for food"),
    "result": (models.LabResult, "Laboratory result"),
}


def signed(request: HttpRequest) -> Signed:
    """Who writes, as the page's own box or else the last one says, and this moment."""
    return Signed(writer(request), now())


def going(request: HttpRequest, address: str, words: str = "") -> HttpResponseRedirect:
    """On to a page, with words on what was done, and who did it remembered for the next time."""
    if words:
        messages.success(request, words)
    response = HttpResponseRedirect(address)
    if name := request.POST.get("who", "").strip():
        response.set_cookie(WHO_COOKIE, quote(name[:80]), max_age=A_YEAR_S, samesite="Lax", httponly=True)
    return response


@require_POST
def move(request: HttpRequest, kind: str, key: int, move: str) -> HttpResponse:
    """Undo, redo, put away or bring back one record; then the page that it was asked from."""
    record = record_of(kind, key)
    back = request.POST.get("back", "")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        back = reverse("glazes")
    name, by, was_away = KINDS[kind][1], signed(request), record.put_away is not None
    try:
        match move:
            case "undo":
                signing.undo(record, by)
                words = f"{name}: the last change is undone."
            case "redo":
                signing.redo(record, by)
                words = f"{name}: done again."
            case "put-away":
                signing.put_away(record, "Put away", by)
                words = f"{name} {record} is put away. It can be brought back at any time."
            case "bring-back":
                signing.fetch_back(record, "Brought back", by)
                words = f"{name} {record} is back."
            case _:
                raise Http404
    except WareboardError as problem:
        messages.error(request, str(problem))
        return HttpResponseRedirect(back)
    if isinstance(record, models.GlazeBatch):
        words = f"{words} {writing.settle_stock(record, was_away, by)}".strip()
    return going(request, back, words)


@require_GET
def history(request: HttpRequest, kind: str, key: int) -> HttpResponse:
    """Every change of one record, newest first, each with who made it, when, and what it changed."""
    record = record_of(kind, key)
    changes = [(change, _differences(change.before or {}, change.after)) for change in signing.history(record)]
    return render(
        request,
        "glazes/history.html",
        {**moves(kind, record), "name": KINDS[kind][1], "changes": changes, "at": "glazes"},
    )


@require_GET
def those_put_away(request: HttpRequest) -> HttpResponse:
    """Everything in the glaze book that was put away."""
    found = [
        (kind, words, list(model._default_manager.exclude(put_away=None))) for kind, (model, words) in KINDS.items()
    ]
    shown = [each for each in found if each[2]]
    return render(request, "glazes/put_away.html", {"found": shown, "at": "glazes", "page": "put-away"})


def moves(kind: str, record: Kept) -> dict[str, object]:
    """What a page's buttons for undo and the like need."""
    return {
        "kind": kind,
        "record": record,
        "can_undo": signing.can_undo(record),
        "can_redo": signing.can_redo(record) is not None,
    }


def record_of(kind: str, key: int) -> Kept:
    """The record; 404 where there is none."""
    if kind not in KINDS:
        raise Http404
    found: Model = get_object_or_404(KINDS[kind][0], pk=key)
    assert isinstance(found, Kept)
    return found


def _differences(before: Mapping[str, object], after: Mapping[str, object]) -> list[tuple[str, object, object]]:
    return [
        (name.removesuffix("_id").replace("_", " "), before.get(name), value)
        for name, value in after.items()
        if before.get(name) != value and value not in (None, "", [], {})
    ] + [
        (name.removesuffix("_id").replace("_", " "), before[name], None)
        for name, value in after.items()
        if before.get(name) not in (None, "", [], {}) and value in (None, "", [], {})
    ]
