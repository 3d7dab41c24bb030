"""Which boards go into which firing: one tap at the bench, a list to tick on the firing's page, and taken out again."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from wareboard.book.boards import acting
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import IN_KILN, ORDER
from wareboard.book.firings import loading, recording
from wareboard.book.firings.models import Firing, LoadedBoard
from wareboard.errors import WareboardError
from wareboard.studio.context import who
from wareboard.studio.kilns import known_kilns
from wareboard.studio.kilns.firing_form import begun_fields
from wareboard.studio.kilns.kiln_pages import by, failed
from wareboard.studio.kilns.page import page
from wareboard.studio.today import now, today


def kind_for(board: Board) -> str:
    """What a board at its stage is loaded for."""
    return "bisque" if ORDER[board.stage] < ORDER["bisque"] else "glaze"


def offered(board: Board) -> list[dict[str, Any]]:
    """The firings that a board may be tapped into, open ones first; for a kiln without one, a new firing of it."""
    kind = kind_for(board)
    held = {each.firing.pk for each in loading.boards_in_any(board)}
    open_ones = [each for each in loading.open_firings(today()) if each.kind == kind]
    found: list[dict[str, Any]] = [
        {
            "firing": each.pk,
            "words": f"Firing {each.number} of {each.kiln.name}",
            "in_it": each.pk in held and board.state == IN_KILN,
        }
        for each in open_ones
    ]
    busy = {each.kiln_id for each in open_ones}
    new = [
        {"kiln": kiln.slug, "words": f"New {kind} firing of {kiln.name}", "in_it": False}
        for kiln in known_kilns.known_kilns()
        if kiln.in_file and (kiln.record is None or kiln.record.pk not in busy)
    ]
    return [*found, *new]


@require_POST
def into_firing(request: HttpRequest) -> HttpResponse:
    """One tap: the board is in the kiln, and in that firing; the firing is begun where it is a new one."""
    board = get_object_or_404(Board, code=request.POST.get("board", ""))
    back = HttpResponseRedirect(reverse("bench-board", args=[board.code]))
    try:
        with transaction.atomic():
            if not _in_the_kiln(request, board):
                return back
            firing = _firing_asked(request, board)
            board.refresh_from_db()
            loading.load_board(firing, board, by(request))
        messages.success(request, f"{board.code} is in firing {firing.number} of {firing.kiln.name}.")
    except WareboardError as problem:
        failed(request, problem)
    return back


def _in_the_kiln(request: HttpRequest, board: Board) -> bool:
    """The bench's own entry that the board is in the kiln, made where it was not; False where it has to wait."""
    if board.state == IN_KILN:
        return True
    asked = Asked(
        key=f"{request.POST.get('key', '')}:load"[:40],
        kind="load",
        who=who(request),
        happened=now(),
        board=board.code,
        stage_seen=request.POST.get("stage_seen", ""),
    )
    done = acting.act(asked, now())
    if done.waits:
        messages.warning(request, f"{board.code}: {done.entry.trouble}. It waits to be settled.")
    return not done.waits


def _firing_asked(request: HttpRequest, board: Board) -> Firing:
    asked = request.POST.get("firing", "")
    if asked.isdecimal():
        return get_object_or_404(Firing.objects.select_related("kiln"), pk=int(asked), put_away=None)
    kiln = known_kilns.kiln_at(request.POST.get("kiln", ""))
    record = kiln.recorded(by(request))
    kind = kind_for(board)
    # Two phones tapping "new" at once mean the same firing: the first one's is taken.
    for each in loading.open_firings(today()):
        if (each.kiln_id, each.kind, each.day) == (record.pk, kind, today()):
            return each
    there, _ = known_kilns.workshop()
    return recording.new_firing(record, begun_fields(kind, there.firing, today(), board.commission.code), by(request))


@require_POST
def boards_of_firing(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Boards ticked on a firing's page, each with its pieces, tied to it."""
    firing = get_object_or_404(Firing.objects.select_related("kiln"), kiln__slug=slug, number=number)
    wanted = request.POST.getlist("board")
    rows = list(Board.objects.filter(code__in=wanted, pieces__gt=0).order_by("code"))
    with transaction.atomic():
        for row in rows:
            loading.load_board(firing, row, by(request))
    if rows:
        messages.success(request, f"In firing {number}: {', '.join(each.code for each in rows)}.")
    else:
        messages.error(request, "No board was ticked.")
    return HttpResponseRedirect(reverse("firing", args=[slug, number]) + "#boards")


@require_POST
def board_out(request: HttpRequest, slug: str, number: int, pk: int) -> HttpResponse:
    """Say that a board was not in the firing; Undo puts it back."""
    loaded = get_object_or_404(
        LoadedBoard.objects.select_related("board"), pk=pk, firing__kiln__slug=slug, firing__number=number
    )
    loading.take_out(loaded, by(request))
    messages.success(request, f"{loaded.board.code} is out of firing {number}. Undo puts it back.")
    return HttpResponseRedirect(reverse("firing", args=[slug, number]) + "#boards")


@require_GET
def trace(request: HttpRequest, code: str) -> HttpResponse:
    """Every firing that a board's pieces went through, and what else was in each."""
    board = Board.objects.filter(code=code).select_related("commission").first()
    if board is None:
        raise Http404
    rows = [(each, loading.boards_in(each.firing)) for each in loading.firings_of(board)]
    return page(request, "kilns/trace.html", {"board": board, "rows": rows}, commission_code=board.commission.code)


def boards_shown(firing: Firing) -> dict[str, Any]:
    """What the page of a firing shows of boards: those in it, and those at hand that it could be."""
    there = list(firing.loaded.filter(put_away=None).select_related("board__commission"))
    inside = {each.board_id for each in there}
    loose = [each for each in loading.in_no_firing() if each.pk not in inside and kind_for(each) == firing.kind]
    return {"boards": there, "loose": loose, "pieces": sum(each.pieces for each in there)}
