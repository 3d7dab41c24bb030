"""Entries: one from a form, several from a browser's list, a weight asked about, those that wait settled, who is writing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_POST

from wareboard.book.boards import acting, history
from wareboard.book.boards.acting import Done
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import Board, Entry
from wareboard.book.boards.ticking import tick_off
from wareboard.book.measures import measuring
from wareboard.book.models import Commission
from wareboard.errors import NotInTable, WareboardError
from wareboard.studio.after.grade_entry import graded_entry
from wareboard.studio.bench.entry_words import words_of
from wareboard.studio.bench.measure_reading import reading_from
from wareboard.studio.bench.measure_words import said_of
from wareboard.studio.bench.odd import asked_about
from wareboard.studio.bench.reading import asked_from, fresh_key
from wareboard.studio.bench.standing import one_in_hand
from wareboard.studio.bench.weighed_boards import after_entries
from wareboard.studio.context import WHO_COOKIE, who, writer_of
from wareboard.studio.looks import A_YEAR_S
from wareboard.studio.today import now

MOST_AT_ONCE = 200


@dataclass(frozen=True, slots=True)
class Told:
    """What became of an entry: kept, already, waits, asked or refused; with the board it is about and words."""

    state: str
    words: str
    board: str = ""


def keep(sent: Mapping[str, Any], key: str, writer: str, confirmed: bool) -> Told:
    """Keep one entry, whatever it is; a weight that is odd is asked about until it is confirmed."""
    try:
        if sent.get("kind") == "tick":
            return _ticked(sent, key, writer)
        if sent.get("kind") == "grade":
            already, words = graded_entry(sent, key, writer)
            return Told("already" if already else "kept", words, str(sent.get("board", ""))[:12])
        if sent.get("kind") in ("measure", "unmeasure"):
            return _measured(sent, key, writer, confirmed)
        asked = asked_from(sent, key, writer, now())
        if asked.kind == "begin":
            return _told(_begun(asked, sent))
        if asked.kind == "weigh" and not confirmed and not Entry.objects.filter(key=key).exists():
            question = asked_about(asked, _ball_of(asked.board))
            if question:
                return Told("asked", question, asked.board)
        return _told(acting.act(asked, now()))
    except WareboardError as problem:
        return Told("refused", str(problem), str(sent.get("board", ""))[:12])


def _ticked(sent: Mapping[str, Any], key: str, writer: str) -> Told:
    commission, what, detail = (str(sent.get(name, ""))[:80] for name in ("commission", "what", "detail"))
    tick, already = tick_off(key, commission, what, detail, writer, now())
    return Told("already" if already else "kept", f"{tick.commission.name}: ticked off")


def _measured(sent: Mapping[str, Any], key: str, writer: str, confirmed: bool) -> Told:
    from wareboard.book.measures.models import Measurement

    if sent.get("kind") == "unmeasure":
        stands = sent.get("stands") == "yes"
        held = measuring.take_back(key, str(sent.get("undoes", "")), stands, writer, now())
        return Told("kept", f"{'put back' if stands else 'taken back'}: {said_of(held)}")
    reading = reading_from(sent, key, writer, now())
    if not confirmed and not Measurement.objects.filter(key=key).exists():
        question = measuring.asked_about(reading, _ball_of(reading.board, reading.commission, reading.form))
        if question:
            return Told("asked", question)
    done = measuring.measure(reading, now())
    return Told("already" if done.already else "kept", said_of(done.measurement))


def _begun(asked: Asked, sent: Mapping[str, Any]) -> Done:
    commission = Commission.objects.filter(code=str(sent.get("commission", ""))).first()
    form = str(sent.get("form", "")).strip()
    if commission is None or not form:
        raise NotInTable("a board without a commission and a form", "nothing says whose it is", "Choose both")
    return acting.begin(asked, commission, form, str(sent.get("code", "")), now())


def _ball_of(board: str, commission: str = "", form: str = "") -> float | None:
    """The ball weight of the plan of a board's form, or of a commission's by its name; None where there is no plan."""
    held = Board.objects.filter(code=board).select_related("commission").first() if board else None
    there = one_in_hand(held.commission.code if held else commission, now())
    planned = there.form(held.form if held else form) if there else None
    return planned.ball_g if planned else None


def _told(done: Done) -> Told:
    entry = done.entry
    words = f"{entry.board.code}: {words_of(entry)}"
    if done.waits:
        return Told("waits", f"{entry.board.code}: {entry.trouble}", entry.board.code)
    return Told("already" if done.already else "kept", words, entry.board.code)


@require_POST
def act(request: HttpRequest) -> HttpResponse:
    """One entry from a form; then the page it came from, with words on what became of it."""
    sent = request.POST.dict()
    key = str(sent.get("key", ""))
    # The same page may be sent with one button and, after going back, with another: each is an entry of its own.
    button = "".join(letter for letter in f"{sent.get('kind', '')}{sent.get('reason', '')}" if letter.isalnum())
    told = keep(sent, f"{key}:{button}"[:40] if key else "", who(request), confirmed=sent.get("confirmed") == "yes")
    if told.state == "asked":
        return render(request, "bench/asked.html", {"told": told, "sent": sent, "at": "bench", "back": back(request)})
    after_entries([told.board, sent.get("board", "")])
    say(request, told)
    board = told.board if sent.get("kind") == "begin" or not sent.get("back") else ""
    return HttpResponseRedirect(reverse("bench-board", args=[board]) if board else back(request))


def say(request: HttpRequest, told: Told) -> None:
    """Say at the head of the next page what became of an entry."""
    if told.state == "kept":
        messages.success(request, f"{told.words}.")
    elif told.state == "already":
        messages.info(request, f"Kept before, and counted once. {told.words}.")
    elif told.state == "waits":
        messages.warning(request, f"Kept, but not done yet. {told.words}. Settle it below.")
    else:
        messages.error(request, told.words)


def back(request: HttpRequest) -> str:
    """The page that a form came from, if it is one of ours."""
    asked = request.POST.get("back", "")
    ours = url_has_allowed_host_and_scheme(asked, allowed_hosts={request.get_host()})
    return asked if ours and asked.startswith("/") else reverse("bench")


@require_POST
def entries(request: HttpRequest) -> JsonResponse:
    """The entries of a browser's list in their order: what became of each, so that it can strike them off."""
    try:
        rows = json.loads(request.body)["entries"]
        assert isinstance(rows, list)
        assert all(isinstance(row, dict) for row in rows)
    except (ValueError, KeyError, TypeError, AssertionError):
        return JsonResponse({"trouble": "This is no list of entries."}, status=400)
    results = []
    for row in rows[:MOST_AT_ONCE]:
        key, writer = str(row.get("key", "")), writer_of(request, str(row.get("who") or ""))
        told = keep(row, key, writer, confirmed=row.get("confirmed") == "yes")
        results.append({"key": key, "state": told.state, "words": told.words, "board": told.board})
    after_entries(str(row.get("board", "")) for row in rows[:MOST_AT_ONCE])
    return JsonResponse({"results": results})


@require_GET
def token(request: HttpRequest) -> JsonResponse:
    """A fresh token for a page that was opened long ago, and the studio's clock."""
    return JsonResponse({"token": get_token(request), "now_ms": round(now().timestamp() * 1000)})


@require_POST
def settle(request: HttpRequest, pk: int) -> HttpResponse:
    """Do an entry that waits, or let it go."""
    entry = get_object_or_404(Entry, pk=pk)
    try:
        done = acting.settle(entry, request.POST.get("do") == "it", who(request), now())
        messages.success(request, f"{done.entry.board.code}: {words_of(done.entry)}.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(back(request))


@require_GET
def waiting(request: HttpRequest) -> HttpResponse:
    """Everything that waits to be settled."""
    rows = [(entry, words_of(entry)) for entry in history.waiting()[:MOST_AT_ONCE]]
    return render(request, "bench/waiting.html", {"waiting": rows, "at": "bench", "key": fresh_key()})


@require_POST
def name(request: HttpRequest) -> HttpResponse:
    """Keep who is writing on this phone."""
    response = HttpResponseRedirect(back(request))
    response.set_cookie(
        WHO_COOKIE, quote(request.POST.get("who", "").strip()[:80]), max_age=A_YEAR_S, samesite="Lax", httponly=True
    )
    return response
