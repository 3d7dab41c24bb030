"""Grading on a phone: one board large under the thumb, a first in one tap, anything else in two; a whole firing's boards."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import ORDER, PLACES
from wareboard.book.firings.loading import boards_in
from wareboard.book.firings.models import Firing
from wareboard.book.pieces import grading, tracing
from wareboard.book.pieces.models import FIRST, GRADES, Piece
from wareboard.errors import WareboardError
from wareboard.studio.bench.board_pages import board_at
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.bench.standing import one_in_hand
from wareboard.studio.kilns.boxes import told
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import now


@require_http_methods(["GET", "POST"])
def grade_board(request: HttpRequest, code: str) -> HttpResponse:
    """Grade the pieces of one board, one after the other."""
    board = board_at(code)
    troubles: list[Trouble] = []
    if request.method == "POST":
        try:
            made = _grade(request, board)
        except WareboardError as problem:
            troubles = told(problem)
        else:
            if request.POST["grade"] != FIRST:
                messages.success(request, f"{', '.join(map(str, made))}: {made[0].grade}, {made[0].fault}.")
            return HttpResponseRedirect(reverse("bench-grade", args=[board.code]))
    return _shown(request, board_at(code), troubles)


def _grade(request: HttpRequest, board: Board) -> list[Piece]:
    sent = request.POST
    written = sent.get("pieces", "1")
    count = int(written) if written.isdecimal() and len(written) < 5 else 0
    fault = sent.get("own_fault", "").strip() or sent.get("fault", "")
    return grading.grade(
        board, sent.get("key", ""), sent.get("grade", ""), by(request), fault, sent.get("place", ""), count
    )


def _shown(request: HttpRequest, board: Board, troubles: list[Trouble]) -> HttpResponse:
    there = one_in_hand(board.commission.code, now())
    known = grading.faults()
    last = grading.last_graded(board)
    pieces = Piece.objects.filter(board=board, put_away=None).exclude(grade="")
    context = {
        "at": "bench",
        "page": "grade",
        "board": board,
        "left": grading.to_grade(board),
        "graded": grading.graded(pieces),
        "ready": ORDER[board.stage] >= ORDER[grading.READY],
        "kinds": [
            (grade, words, [each for each in known if grade == "failed" or not each.spoils_use])
            for grade, words in GRADES
            if grade != FIRST
        ],
        "places": PLACES,
        "standing": there.standing(board.form) if there else None,
        "there": there,
        "last": last,
        "latest": pieces.order_by("-pk")[:6],
        "key": fresh_key(),
        "troubles": troubles,
    }
    return render(request, "after/grade.html", context, status=422 if troubles else 200)


@require_POST
def undo_grade(request: HttpRequest, code: str) -> HttpResponse:
    """Take back the last grading on this board."""
    board = board_at(code)
    last = grading.last_graded(board)
    try:
        if not last:
            messages.info(request, "Nothing is graded on this board.")
        else:
            grading.take_back(last, by(request))
            messages.success(request, f"Undone: {', '.join(map(str, last))} {last[0].grade}.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(reverse("bench-grade", args=[board.code]))


@require_GET
def grade_firing(request: HttpRequest, pk: int) -> HttpResponse:
    """The boards of one firing, each to be graded, and how all of its pieces came out."""
    firing = get_object_or_404(Firing.objects.select_related("kiln"), pk=pk)
    rows = []
    for each in boards_in(firing):
        own = Piece.objects.filter(board=each.board, put_away=None).exclude(grade="")
        rows.append((each, grading.to_grade(each.board), grading.graded(own)))
    pieces = tracing.from_firing(firing).pieces
    by_shelf: dict[str, list[Piece]] = {}
    for piece in pieces:
        by_shelf.setdefault(piece.shelf or "not known", []).append(piece)
    context = {
        "at": "bench",
        "page": "grade",
        "firing": firing,
        "rows": rows,
        "graded": grading.graded(pieces),
        "by_shelf": [(shelf, grading.graded(own)) for shelf, own in sorted(by_shelf.items())],
    }
    return render(request, "after/grade_firing.html", context)
