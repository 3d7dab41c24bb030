"""Boards put up mid-job: one grid, a row a board, filled by hand, by keys or from a spreadsheet; all rows kept or none."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import zip_longest

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from wareboard.book.boards import acting, shelves, whole_sheet
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.codes import on_the_ware
from wareboard.book.boards.models import Board, Entry
from wareboard.book.boards.stages import STAGES, WORDS
from wareboard.errors import Unreadable, WareboardError
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.bench.since_when import since_when
from wareboard.studio.bench.standing import InHand, all_in_hand
from wareboard.studio.context import who
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import now

COLUMNS = ("code", "form", "pieces", "stage", "since", "place")
ALSO_CALLED = {"shelf": "place", "where": "place", "sincewhen": "since", "when": "since", "board": "code"}
ROWS, MOST_ROWS = 12, 200
PASTED = "pasted"


@dataclass(slots=True)
class Row:
    """One row as it was typed, and what is wrong with it; ``number`` counts from one."""

    number: int
    code: str = ""
    form: str = ""
    pieces: str = ""
    stage: str = ""
    since: str = ""
    place: str = ""
    wrong: dict[str, str] = field(default_factory=dict)

    @property
    def empty(self) -> bool:
        return not self.pieces and not self.code


@require_http_methods(["GET", "POST"])
def begin(request: HttpRequest, code: str = "") -> HttpResponse:
    """Boards put up, also mid-job: a row for each with how many of what stand where."""
    there = all_in_hand(now())
    chosen = next((each for each in there if each.commission.code == code), there[0] if len(there) == 1 else None)
    if chosen is None:
        return render(request, "bench/begin_which.html", {"at": "bench", "there": there})
    troubles: list[Trouble] = []
    rows = _rows_sent(request) if request.method == "POST" else []
    if request.method == "POST" and "take" not in request.POST:
        key = (request.POST.get("key") or fresh_key())[:24]
        begun = _begin_rows(rows, chosen, key, who(request), troubles)
        if begun and not troubles:
            whole_sheet.note_sheet(key, f"Boards put up for {chosen.commission.code}", who(request), now())
            shown = ", ".join(f"{on_the_ware(each.code)} ({each.pieces})" for each in begun)
            messages.success(request, f"On the bench: {shown}.")
            return HttpResponseRedirect(reverse("bench"))
    context = {
        "at": "bench",
        "there": chosen,
        "rows": rows + [Row(number) for number in range(len(rows) + 1, max(ROWS, len(rows) + 2) + 1)],
        "troubles": troubles,
        "key": request.POST.get("key") or fresh_key(),
        "stages": chosen.stage_choices,
        "places": [shelves.name_of(number) for number in range(1, shelves.how_many() + 1)],
        "pasted": "" if rows else request.POST.get(PASTED, ""),
    }
    return render(request, "bench/begin.html", context, status=422 if troubles else 200)


def _rows_sent(request: HttpRequest) -> list[Row]:
    """The rows of the grid, those of a spreadsheet behind them."""
    columns = [request.POST.getlist(name) for name in COLUMNS]
    cells = [[each.strip()[:80] for each in row] for row in zip_longest(*columns, fillvalue="")]
    rows = [Row(0, code, form, pieces, stage, since, place) for code, form, pieces, stage, since, place in cells]
    while rows and rows[-1].empty:
        rows.pop()
    rows += rows_of(request.POST.get(PASTED, ""))
    for number, row in enumerate(rows[:MOST_ROWS], 1):
        row.number = number
    return rows[:MOST_ROWS]


def rows_of(text: str) -> list[Row]:
    """The rows of a spreadsheet's cells: between tabs, semicolons or commas; a first line of headings says their order."""
    lines = [line for line in text.replace("\r", "\n").split("\n") if line.strip()]
    if not lines:
        return []
    between = next((mark for mark in ("\t", ";", ",") if mark in lines[0]), "\t")
    cells = [[cell.strip().strip('"')[:80] for cell in line.split(between)] for line in lines]
    order: Sequence[str] = COLUMNS
    heads = [re.sub(r"[^a-z]", "", cell.lower()) for cell in cells[0]]
    heads = [ALSO_CALLED.get(head, head) for head in heads]
    if "pieces" in heads or "form" in heads:
        order, cells = heads, cells[1:]
    rows = []
    for line in cells:
        row = Row(0)
        for name, cell in zip(order, line, strict=False):
            if name in COLUMNS:
                setattr(row, name, cell)
        rows.append(row)
    return rows


class _NotAll(Exception):
    """Some rows will not do, so none is kept."""


def _begin_rows(rows: list[Row], there: InHand, key: str, writer: str, troubles: list[Trouble]) -> list[Board]:
    """The boards of the filled rows, all or none; an empty form, stage or since is that of the row above."""
    begun: list[Board] = []
    above = Row(0, form=there.names[0] if len(there.names) == 1 else "")
    try:
        with transaction.atomic():
            for row in rows:
                if row.empty:
                    continue
                board = _begin_row(row, above, there, key, writer)
                above = Row(0, "", row.form or above.form, "", row.stage or above.stage, row.since or above.since)
                if board is not None:
                    begun.append(board)
            troubles += [
                Trouble(words, f"{name}-{row.number}", f"Row {row.number}")
                for row in rows
                for name, words in row.wrong.items()
            ]
            if troubles:
                raise _NotAll
    except _NotAll:
        return []
    if not begun:
        troubles.append(Trouble("No row says how many.", "pieces-1", "Row 1"))
    return begun


def _begin_row(row: Row, above: Row, there: InHand, key: str, writer: str) -> Board | None:
    """The board of one row, or what is wrong put beside its cell."""
    form = _or_wrong(row, "form", row.form or above.form, there.names)
    labels = {words: stage for stage, words in there.stage_choices}
    stage = _or_wrong(row, "stage", row.stage or above.stage, [*STAGES, *labels])
    pieces = int(row.pieces) if row.pieces.isdecimal() and len(row.pieces) < 7 else -1
    if pieces < 1:
        shown = f"{row.pieces!r} is" if row.pieces else "nothing is"
        row.wrong["pieces"] = f"{shown} no count; write how many stand on it."
    since = _since_or_wrong(row, above)
    place = _place_or_wrong(row)
    if row.wrong:
        return None
    asked = Asked(f"{key}:{row.number}", "begin", writer, since, pieces=pieces, to=labels.get(stage, stage), sheet=key)
    try:
        entry: Entry = acting.begin(asked, there.commission, form, row.code, now()).entry
        if place:
            put = Asked(f"{key}:{row.number}:p", "shelve", writer, now(), entry.board.code, place=place, sheet=key)
            acting.act(put, now())
        return entry.board
    except WareboardError as problem:
        row.wrong["code" if isinstance(problem, Unreadable) or row.code else "pieces"] = str(problem)
        return None


def _since_or_wrong(row: Row, above: Row) -> datetime:
    """Since when the pieces stand at their stage; what is wrong beside the cell."""
    here = timezone.localtime(now())
    try:
        return since_when(row.since or above.since, here)
    except WareboardError as problem:
        row.wrong["since"] = str(problem)
        return here


def _place_or_wrong(row: Row) -> str:
    """What a shelf is called, for its number or its name; any other place as it was written."""
    try:
        return shelves.place_meant(row.place)[: acting.LONGEST_SHELF]
    except WareboardError as problem:
        row.wrong["place"] = str(problem)
        return ""


def _or_wrong(row: Row, name: str, written: str, known: Iterable[str]) -> str:
    """The one of the known words that was meant: whole, as its beginning, or as a part; what is wrong beside the cell."""
    names = list(known)
    plain = written.casefold()
    if not plain:
        row.wrong[name] = f"which {name}? One of {', '.join(_plain(names))}."
        return ""
    for meant in (
        [each for each in names if each.casefold() == plain],
        [each for each in names if each.casefold().startswith(plain)],
        [each for each in names if plain in each.casefold()],
    ):
        if len(_plain(meant)) == 1 or (meant and meant[0].casefold() == plain):
            return meant[0]
    row.wrong[name] = f"{written!r} is no {name} here; write one of {', '.join(_plain(names))}."
    return ""


def _plain(names: Sequence[str]) -> list[str]:
    """The names without the second words for one stage."""
    second = {words for stage, words in WORDS.items()}
    own = [name for name in names if name not in second] or list(names)
    return list(dict.fromkeys(own))
