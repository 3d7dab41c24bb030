"""The bench and its boards: all that stand, one board large under the thumb, its history, and boards put up mid-job."""

from __future__ import annotations

import json
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from wareboard.book.boards import history
from wareboard.book.boards.codes import on_the_ware, read_code
from wareboard.book.boards.models import Board
from wareboard.book.boards.photographs import photos_of
from wareboard.book.boards.shelves import how_many as shelf_count
from wareboard.book.boards.shelves import name_of as shelf_name
from wareboard.book.boards.stages import (
    IN_KILN,
    LAST,
    ORDER,
    PLACES,
    STAGES,
    WORDS,
    WRAPPED,
    next_stage,
    reasons_at,
)
from wareboard.errors import WareboardError
from wareboard.studio.bench.entry_words import changed_words, words_of
from wareboard.studio.bench.owed import shortfall
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.bench.standing import InHand, all_in_hand, one_in_hand
from wareboard.studio.bench.weighed_boards import alarms, weighed_board
from wareboard.studio.context import who
from wareboard.studio.today import now

BEFORE_A_KILN = ("bone dry", "washed", "lined", "painted", "glazed")
MOST_OF_HISTORY = 500
MOST_COMMISSIONS = 24  # those due first; the others a tap away


@require_GET
def bench(request: HttpRequest) -> HttpResponse:
    """The boards that hold pieces, by commission, those due first; a code typed in goes straight to its board."""
    if wanted := request.GET.get("code", "").strip():
        return _found(request, wanted)
    there = all_in_hand(now())
    context = {
        "at": "bench",
        "page": "bench",
        "there": there if "all" in request.GET else there[:MOST_COMMISSIONS],
        "left": 0 if "all" in request.GET else max(0, len(there) - MOST_COMMISSIONS),
        "waiting": history.waiting().count(),
        **undo_bar(request),
    }
    return render(request, "bench/bench.html", context)


def _found(request: HttpRequest, wanted: str) -> HttpResponse:
    try:
        code = read_code(wanted)
    except WareboardError as problem:
        messages.error(request, str(problem))
        return HttpResponseRedirect(reverse("bench"))
    if not Board.objects.filter(code=code).exists():
        messages.error(request, f"There is no board {code}.")
        return HttpResponseRedirect(reverse("bench"))
    return HttpResponseRedirect(reverse("bench-board", args=[code]))


def undo_bar(request: HttpRequest) -> dict[str, Any]:
    """What undo would take back from here: the last entry of whoever holds this phone."""
    last = history.to_undo(history.latest(who(request), most=8))
    return {"last": last, "last_words": words_of(last) if last else "", "key": fresh_key()}


@require_GET
def board(request: HttpRequest, code: str) -> HttpResponse:
    """One board: move it on, lose a piece, wrap, turn, weigh, split, merge, count; the last entry undone."""
    found = board_at(code)
    rows = history.entries_of(found)
    last = history.to_undo(rows)
    there = one_in_hand(found.commission.code, now())
    stages = there.stages(found.form) if there else STAGES
    following = next_stage(found.stage, stages)
    context = {
        "at": "bench",
        "board": found,
        "there": there,
        "standing": there.standing(found.form) if there else None,
        "stage_words": WORDS[found.stage],
        "next": following,
        "next_words": WORDS[following] if following else "",
        "stages": [(stage, WORDS[stage]) for stage in stages if stage != found.stage],
        "all_stages": json.dumps([(stage, WORDS[stage]) for stage in stages]),
        "reasons": reasons_at(found.stage),
        "places": PLACES,
        "can_wrap": ORDER[found.stage] < ORDER["bisque"],
        "wrapped": found.state == WRAPPED,
        "in_kiln": found.state == IN_KILN,
        "can_load": found.stage in BEFORE_A_KILN and found.state != IN_KILN,
        "others": _alike(found, there),
        "waiting": [(each, words_of(each)) for each in rows if each.standing == "waits"],
        "entries": [(each, words_of(each)) for each in rows[:4]],
        "last": last,
        "last_words": words_of(last) if last else "",
        "key": fresh_key(),
        "packed": found.stage == LAST,
        "photos": photos_of(found, most=6),
        "message": shortfall(there, now()) if there else None,
        "shelves": [shelf_name(number) for number in range(1, shelf_count() + 1)],
        "ware_code": on_the_ware(found.code),
        "by_weight": (seen := weighed_board(found)),
        "alarms": alarms(found, seen),
    }
    return render(request, "bench/board.html", context)


def board_at(code: str) -> Board:
    """The board of that code, however it is written."""
    try:
        plain = read_code(code)
    except WareboardError:
        raise Http404 from None
    return get_object_or_404(Board.objects.select_related("commission"), code=plain)


def _alike(board: Board, there: InHand | None) -> list[Board]:
    own = there.boards if there else ()
    return [each for each in own if (each.form, each.stage) == (board.form, board.stage) and each.pk != board.pk]


@require_GET
def board_history(request: HttpRequest, code: str) -> HttpResponse:
    """Everything that was ever done to a board, each with who, when and what was before, each to be undone."""
    found = board_at(code)
    rows = history.entries_of(found, MOST_OF_HISTORY)
    shown = [
        (each, words_of(each), history.can_be_undone(each), changed_words(each, found, before, after))
        for each, before, after in history.with_counts(found, rows)
    ]
    return render(request, "bench/history.html", {"at": "bench", "board": found, "entries": shown, "key": fresh_key()})
