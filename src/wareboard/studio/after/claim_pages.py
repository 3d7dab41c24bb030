"""Claims: all of them, a new one against a piece, one with where it comes from and what came of it."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.firings import signing
from wareboard.book.pieces import claiming, tracing
from wareboard.book.pieces.grading import faults
from wareboard.book.pieces.models import OUTCOMES, Claim, Piece
from wareboard.errors import Unreadable, WareboardError
from wareboard.studio.after.piece_pages import piece_at
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import today


@require_GET
def claims(request: HttpRequest) -> HttpResponse:
    """Every claim, open ones first."""
    rows = Claim.objects.filter(put_away=None).select_related("piece__commission", "replaced_by__commission")
    context = {
        "at": "pieces",
        "open": [each for each in rows if each.outcome == "open"],
        "settled": [each for each in rows if each.outcome != "open"],
        "away": Claim.objects.exclude(put_away=None).select_related("piece__commission"),
    }
    return render(request, "after/claims.html", context)


@require_http_methods(["GET", "POST"])
def new_claim(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """Write down what a client says is wrong with a piece."""
    here, troubles = piece_at(code, number), []
    if request.method == "POST":
        try:
            sent = request.FILES.get("photo")
            photo = (sent.read(), sent.name or "photograph") if sent else None
            day = _day(request.POST.get("day", ""))
            words = request.POST.get("words", "")
            made = claiming.claim(here, day, request.POST.get("what", ""), words, photo, by(request))
        except WareboardError as problem:
            troubles = [Trouble(str(problem))]
        else:
            messages.success(request, "The claim is kept. It can be undone on its page.")
            return HttpResponseRedirect(reverse("claim", args=[made.pk]))
    context = {
        "at": "pieces",
        "piece": here,
        "known": [each.name for each in faults()],
        "typed": {name: request.POST.get(name, "") for name in ("what", "words")},
        "day": request.POST.get("day", today().isoformat()),
        "troubles": troubles,
    }
    return render(request, "after/claim_new.html", context, status=422 if troubles else 200)


def _day(written: str) -> date:
    try:
        return date.fromisoformat(written.strip())
    except ValueError:
        raise Unreadable(f"day {written[:20]!r}", "it is not a day", "Write it as year-month-day") from None


@require_http_methods(["GET", "POST"])
def claim(request: HttpRequest, pk: int) -> HttpResponse:
    """One claim: the piece and what it shares with others; what came of it."""
    rows = Claim.objects.select_related("piece__commission__paper__current", "piece__board", "piece__firing__kiln")
    here = get_object_or_404(rows, pk=pk)
    troubles = []
    if request.method == "POST":
        try:
            other = _replacement(here, request.POST.get("replacement", ""))
            outcome, words = request.POST.get("outcome", ""), request.POST.get("outcome_words", "")
            claiming.settle(here, outcome, words, other, today(), by(request))
        except WareboardError as problem:
            troubles = [Trouble(str(problem))]
        else:
            messages.success(request, "Kept.")
            return HttpResponseRedirect(reverse("claim", args=[pk]))
    posted = request.POST if request.method == "POST" else None
    old = str(here.replaced_by.number) if here.replaced_by else ""
    context = {
        "at": "pieces",
        "claim": here,
        "piece": here.piece,
        "client": tracing.client_of(here.piece.commission),
        "shared": claiming.shared(here.piece),
        "outcomes": OUTCOMES,
        "outcome": posted.get("outcome", "") if posted else here.outcome,
        "outcome_words": posted.get("outcome_words", "") if posted else here.outcome_words,
        "replacement": posted.get("replacement", "") if posted else old,
        "changes": signing.history(here)[:20],
        "can_undo": signing.can_undo(here),
        "troubles": troubles,
    }
    return render(request, "after/claim.html", context, status=422 if troubles else 200)


def _replacement(here: Claim, written: str) -> Piece | None:
    number = written.strip().rpartition("/")[2]
    if not number:
        return None
    found = None
    if number.isdecimal() and len(number) < 8:
        found = Piece.objects.filter(commission=here.piece.commission, number=int(number)).first()
    if found is None:
        raise Unreadable(f"piece {written[:20]}", "this commission has none of that number", "Look at its pieces")
    return found


@require_POST
def claim_move(request: HttpRequest, pk: int, move: str) -> HttpResponse:
    """Undo the latest change of a claim, put it away, fetch it back."""
    here = get_object_or_404(Claim, pk=pk)
    try:
        if not signing.moved(here, move, by(request)):
            raise Http404
        messages.success(request, "Done.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(reverse("claim", args=[pk]))
