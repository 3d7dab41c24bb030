"""Clay lots, and which board is made of which lot and wears which bucket."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from wareboard.book.firings import signing
from wareboard.book.glazes.models import GlazeBatch
from wareboard.book.pieces import entering
from wareboard.book.pieces.models import ClayLot
from wareboard.errors import WareboardError
from wareboard.studio.after.piece_form import LotForm, batch_words
from wareboard.studio.bench.board_pages import board_at
from wareboard.studio.kilns.boxes import troubles_of
from wareboard.studio.kilns.kiln_pages import by


@require_http_methods(["GET", "POST"])
def lots(request: HttpRequest) -> HttpResponse:
    """Every clay lot, and a new one."""
    form = LotForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = entering.new_lot(form.cleaned_data, by(request))
        messages.success(request, f"{made} is kept.")
        return HttpResponseRedirect(reverse("clay-lots"))
    context = {
        "at": "pieces",
        "lots": ClayLot.objects.filter(put_away=None),
        "away": ClayLot.objects.exclude(put_away=None),
        "form": form,
        "troubles": troubles_of(form) if form.is_bound else [],
    }
    return render(request, "after/lots.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
def lot(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what is written of a clay lot."""
    here = get_object_or_404(ClayLot, pk=pk)
    begun = {name: getattr(here, name) for name in ClayLot.plain}
    form = LotForm(request.POST if request.method == "POST" else None, initial=begun)
    if request.method == "POST" and form.is_valid():
        signing.change(here, form.cleaned_data, "Changed", by(request))
        messages.success(request, "Kept.")
        return HttpResponseRedirect(reverse("clay-lots"))
    context = {"at": "pieces", "lot": here, "form": form, "troubles": troubles_of(form) if form.is_bound else []}
    return render(
        request,
        "after/lot.html",
        context | {"changes": signing.history(here)[:20], "can_undo": signing.can_undo(here)},
        status=422 if form.is_bound else 200,
    )


@require_POST
def lot_move(request: HttpRequest, pk: int, move: str) -> HttpResponse:
    """Undo the latest change of a lot, put it away, fetch it back."""
    here = get_object_or_404(ClayLot, pk=pk)
    try:
        if not signing.moved(here, move, by(request)):
            raise Http404
        messages.success(request, "Done.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(reverse("clay-lots"))


@require_http_methods(["GET", "POST"])
def board_made_of(request: HttpRequest, code: str) -> HttpResponse:
    """Tick of which clay a board is made and which buckets it wears."""
    board = board_at(code)
    lots, batches = _lots(), _batches()
    if request.method == "POST":
        chosen = set(request.POST.getlist("lot")), set(request.POST.getlist("batch"))
        entering.made_of([each for each in lots if str(each.pk) in chosen[0]], board, by(request))
        entering.wears([each for each in batches if str(each.pk) in chosen[1]], board, by(request))
        messages.success(request, f"Kept for {board.code}.")
        return HttpResponseRedirect(reverse("bench-made-of", args=[board.code]))
    clay = set(board.made_of.filter(put_away=None).values_list("lot", flat=True))
    worn = set(board.wears.filter(put_away=None).values_list("batch", flat=True))
    context = {
        "at": "bench",
        "board": board,
        "lots": [(each, str(each), each.pk in clay) for each in lots],
        "batches": [(each, batch_words(each), each.pk in worn) for each in batches],
    }
    return render(request, "after/made_of.html", context)


def _lots() -> list[ClayLot]:
    return list(ClayLot.objects.filter(put_away=None))


def _batches() -> list[GlazeBatch]:
    return list(GlazeBatch.objects.filter(put_away=None).select_related("version__recipe"))
