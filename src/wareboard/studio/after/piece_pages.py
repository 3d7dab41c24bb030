"""Finished pieces: all at a glance, those of one commission, one piece with where it comes from; entered and changed."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import ORDER
from wareboard.book.firings import signing
from wareboard.book.models import Commission
from wareboard.book.pieces import entering, grading, tracing
from wareboard.book.pieces.grading import graded, to_grade
from wareboard.book.pieces.models import FIRST, SECOND, Piece, PiecePhoto
from wareboard.errors import WareboardError
from wareboard.glaze.hazard import NOTHING_FLAGGED
from wareboard.studio import workshop_file
from wareboard.studio.after.piece_form import PieceForm, as_written
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.bench.standing import one_in_hand
from wareboard.studio.kilns.boxes import troubles_of
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.today import now, today


@require_GET
def overview(request: HttpRequest) -> HttpResponse:
    """Every commission with finished pieces or boards ready to be graded."""
    rows = []
    for each in Commission.objects.filter(put_away=None):
        ready = _ready(each)
        pieces = list(each.pieces.filter(put_away=None))
        if ready or pieces:
            rows.append((each, graded(pieces), len(pieces), sum(left for _, left in ready), ready))
    others = Commission.objects.filter(put_away=None).exclude(pk__in=[row[0].pk for row in rows])
    links = [(each, reverse("new-piece", args=[each.code])) for each in others]
    return render(request, "after/overview.html", {"at": "pieces", "rows": rows, "others": links})


def _ready(commission: Commission) -> list[tuple[Board, int]]:
    """The boards with pieces to grade, and how many are left on each."""
    boards = Board.objects.filter(commission=commission, pieces__gt=0).order_by("letters", "number")
    fired = [each for each in boards if ORDER[each.stage] >= ORDER[grading.READY]]
    return [(each, left) for each in fired if (left := to_grade(each))]


@require_GET
def find(request: HttpRequest) -> HttpResponse:
    """A piece by its number or by the mark on it."""
    wanted = request.GET.get("wanted", "").strip()
    code, _, number = wanted.replace(" ", "/").rpartition("/")
    if number.isdecimal() and len(number) < 8:
        exact = Piece.objects.filter(commission__code=code, number=int(number)).first()
        if exact is not None:
            return HttpResponseRedirect(place_of(exact))
    found = list(Piece.objects.filter(mark__iexact=wanted, put_away=None)[:50]) if wanted else []
    if len(found) == 1:
        return HttpResponseRedirect(place_of(found[0]))
    return render(request, "after/found.html", {"at": "pieces", "wanted": wanted, "found": found})


def place_of(piece: Piece) -> str:
    """The address of a piece's page."""
    return reverse("piece", args=[piece.commission.code, piece.number])


@require_GET
def of_commission(request: HttpRequest, code: str) -> HttpResponse:
    """A commission's pieces by form, what is left to grade, and what is wrong most often."""
    commission = get_object_or_404(Commission, code=code)
    pieces = list(commission.pieces.filter(put_away=None).select_related("board", "commission"))
    forms: dict[str, list[Piece]] = {}
    for each in pieces:
        forms.setdefault(each.form, []).append(each)
    there = one_in_hand(code, now())
    rows = [(name, own, graded(own), there.standing(name) if there else None) for name, own in forms.items()]
    context = {
        "at": "pieces",
        "commission": commission,
        "rows": rows,
        "ready": _ready(commission),
        "faults": [(name, count, grading.fault_named(name)) for name, count in graded(pieces).faults],
        "away": commission.pieces.exclude(put_away=None),
        "client": tracing.client_of(commission),
    }
    return render(request, "after/commission.html", context)


def piece_at(code: str, number: int) -> Piece:
    """The piece of that number of that commission."""
    rows = Piece.objects.select_related("commission__paper__current", "board", "firing__kiln")
    return get_object_or_404(rows, commission__code=code, number=number)


@require_GET
def piece(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """One piece: where it comes from, how it came out, where it went, its photographs, its history."""
    here = piece_at(code, number)
    origin = tracing.origin_of(here)
    context = {
        "at": "pieces",
        "piece": here,
        "origin": origin,
        "claims": here.claims.filter(put_away=None).select_related("replaced_by__commission"),
        "origin_materials": tracing.materials_of(origin),
        "nothing_flagged": NOTHING_FLAGGED,
        "client": tracing.client_of(here.commission),
        "fault": grading.fault_named(here.fault) if here.fault else None,
        "photos": here.photos.filter(put_away=None),
        "changes": signing.history(here)[:20],
        "can_undo": signing.can_undo(here),
        "sizes": _sizes(here),
    }
    return render(request, "after/piece.html", context)


def _sizes(piece: Piece) -> list[tuple[str, str]]:
    from wareboard import quantities

    found = []
    for name, words in (("height_mm", "height"), ("width_mm", "width")):
        if getattr(piece, name) is not None:
            found.append((words, quantities.show_length(getattr(piece, name), "mm")))
    if piece.weight_g is not None:
        found.append(("weight", f"{piece.weight_g:.0f} g"))
    if None not in (piece.colour_l, piece.colour_a, piece.colour_b):
        found.append(("colour", f"L* {piece.colour_l:.1f}, a* {piece.colour_a:.1f}, b* {piece.colour_b:.1f}"))
    return found


@require_http_methods(["GET", "POST"])
def new_piece(request: HttpRequest, code: str) -> HttpResponse:
    """Enter a piece, also mid-job: only its form is asked."""
    commission = get_object_or_404(Commission, code=code)
    names = _names(commission)
    begun = {"form": names[0] if len(names) == 1 else "", "kind": "ware", "grade": FIRST}
    form = PieceForm(request.POST if request.method == "POST" else None, initial=begun, forms_known=names)
    if request.method == "POST" and form.is_valid():
        try:
            with transaction.atomic():
                _no_loss_unseen(form)
                fields = form.plain() | {"day": today() if form.cleaned_data["grade"] else None}
                made, already = entering.enter_piece(commission, request.POST.get("key", "")[:40], fields, by(request))
                if not already:
                    _tie(made, form, request)
        except WareboardError as problem:
            form.add_error(None, str(problem))
        else:
            messages.success(request, f"{made} is kept. It can be undone on its page.")
            again = "another" in request.POST
            return HttpResponseRedirect(reverse("new-piece", args=[code]) if again else place_of(made))
    return _form_page(request, form, {"commission": commission, "heading": "Enter a piece", "another": True})


def _no_loss_unseen(form: PieceForm) -> None:
    """A piece that left its board must be taken off it, which only grading on the board does."""
    board, grade = form.cleaned_data["board"], form.cleaned_data["grade"]
    if board is not None and grade not in ("", FIRST):
        raise WareboardError(
            f"a piece of {board.code} that is {grade}",
            "it has to leave the board as well, or the board counts one too many",
            "Grade it on the board's page, or leave the board empty if it was taken off already",
        )


def _tie(piece: Piece, form: PieceForm, request: HttpRequest) -> None:
    entering.made_of(form.cleaned_data["lots"], piece, by(request))
    entering.wears(form.cleaned_data["batches"], piece, by(request))


def _names(commission: Commission) -> list[str]:
    there = one_in_hand(commission.code, now())
    return there.names if there else []


def _form_page(request: HttpRequest, form: PieceForm, more: dict[str, Any]) -> HttpResponse:
    shown = {
        "at": "pieces",
        "form": form,
        "key": request.POST.get("key") or fresh_key(),
        "troubles": troubles_of(form) if form.is_bound else [],
        **more,
    }
    return render(request, "after/piece_edit.html", shown, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
def change_piece(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """Change what is written of a piece."""
    here = piece_at(code, number)
    posted = request.POST if request.method == "POST" else None
    form = PieceForm(posted, initial=as_written(here), forms_known=_names(here.commission))
    if request.method == "POST" and form.is_valid():
        try:
            with transaction.atomic():
                _change(here, form, request)
        except WareboardError as problem:
            form.add_error(None, str(problem))
        else:
            messages.success(request, "Kept.")
            return HttpResponseRedirect(place_of(here))
    return _form_page(request, form, {"commission": here.commission, "piece": here, "heading": f"Change {here}"})


def _change(here: Piece, form: PieceForm, request: HttpRequest) -> None:
    fields = form.plain()
    entering.check_sizes(fields)
    if here.board_id and fields["grade"] != here.grade:
        raise WareboardError(
            f"the grade of {here}",
            "it was graded on its board, and the board's count goes by it",
            "Undo its grade on its page, then grade it on the board",
        )
    board, firing = fields.pop("board"), fields.pop("firing")
    fields |= {"board_id": board.pk if board else None, "firing_id": firing.pk if firing else None}
    signing.change(here, fields, "Changed", by(request))
    _tie(here, form, request)


@require_POST
def piece_move(request: HttpRequest, code: str, number: int, move: str) -> HttpResponse:
    """Undo the latest change of a piece (its grading too), put it away, fetch it back."""
    here, back = piece_at(code, number), None
    try:
        match move:
            case "undo" if here.loss and not here.put_away:
                alike = grading.alike(here)
                grading.take_back(alike, by(request))
                messages.success(request, f"The grading of {', '.join(map(str, alike))} is undone.")
                back = reverse("bench-grade", args=[here.board.code]) if here.board else None
            case "undo":
                signing.undo(here, by(request))
                messages.success(request, "Undone.")
            case "fetch-back" if here.loss:
                messages.error(request, "Its loss was taken back on the board. Grade it on the board again.")
            case "fetch-back" if here.board and here.grade == FIRST and not to_grade(here.board):
                messages.error(request, f"Every piece on {here.board.code} is graded: there is no room for it.")
            case "put-away" if here.loss:
                messages.error(request, "It has left its board. Undo its grade instead.")
            case "put-away":
                signing.put_away(here, "Put away", by(request))
                back = reverse("pieces-of", args=[code])
                messages.success(request, f"{here} is put away; it can be fetched back below.")
            case "fetch-back":
                signing.fetch_back(here, "Fetched back", by(request))
                messages.success(request, f"{here} is back.")
            case _:
                raise Http404
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(back or place_of(here))


@require_POST
def photo(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """Keep a photograph of the piece, without the place it was taken at."""
    here, sent = piece_at(code, number), request.FILES.get("photo")
    if sent is None:
        messages.error(request, "No picture was chosen.")
        return HttpResponseRedirect(place_of(here))
    try:
        entering.add_photo(here, sent.read(), sent.name or "photograph", request.POST.get("words", ""), by(request))
        messages.success(request, "The photograph is kept, without the place and time that a telephone writes into it.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(place_of(here) + "#photos")


@require_POST
def photo_move(request: HttpRequest, code: str, number: int, pk: int, move: str) -> HttpResponse:
    """Show a photograph in the portfolio or not, or put it away."""
    here = get_object_or_404(PiecePhoto, pk=pk, piece__commission__code=code, piece__number=number)
    match move:
        case "show" | "hide":
            signing.change(here, {"shown": move == "show"}, f"Portfolio: {move}", by(request))
        case "put-away":
            signing.put_away(here, "Put away", by(request))
        case _:
            raise Http404
    messages.success(request, "Kept.")
    return HttpResponseRedirect(place_of(here.piece) + "#photos")


@require_POST
def delivered(request: HttpRequest, code: str) -> HttpResponse:
    """Say that the chosen pieces went to the client today, or that they did not."""
    commission = get_object_or_404(Commission, code=code)
    chosen = [int(each) for each in request.POST.getlist("piece") if each.isdecimal() and len(each) < 8]
    rows = Piece.objects.filter(commission=commission, number__in=chosen, put_away=None, grade__in=("", FIRST, SECOND))
    gone = request.POST.get("do") != "not"
    twice = [each for each in rows if gone and each.delivered]
    if twice:
        words = ", ".join(f"{each} on {each.delivered:%d %b %Y}" for each in twice if each.delivered)
        messages.error(
            request, f"Delivered already, and left as they are: {words}. Say “not delivered” first to change the day."
        )
    rows = rows.filter(delivered=None) if gone else rows
    count = rows.count()
    if gone and count:
        workshop_file.paper(now())  # how the workshop's file stands today is kept, for when this is ordered again
    for each in list(rows):
        words = "Delivered" if gone else "Not delivered"
        signing.change(each, {"delivered": today() if gone else None}, words, by(request))
    if count or not twice:
        messages.success(request, f"{count} pieces {'delivered' if gone else 'not delivered'}: kept.")
    return HttpResponseRedirect(reverse("pieces-of", args=[code]))
