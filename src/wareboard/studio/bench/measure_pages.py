"""Measuring at the bench: one reading after another under one thumb or from a scale; what was measured; the room's air."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import ORDER, WORDS
from wareboard.book.measures import charts
from wareboard.book.measures.measuring import last_of
from wareboard.book.measures.models import Measurement, Turn
from wareboard.book.measures.what import (
    CHARTED,
    DENSITY,
    HEIGHT,
    HUMIDITY,
    KNOWN,
    OF_A_FORM,
    PICK_UP,
    TEMPERATURE,
    WEIGH_IN,
    What,
)
from wareboard.studio.bench.measure_words import said_of
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.bench.standing import InHand, all_in_hand, one_in_hand
from wareboard.studio.context import who
from wareboard.studio.today import now

MOST_COMMISSIONS, MOST_SHOWN = 24, 8


@dataclass(frozen=True, slots=True)
class Chosen:
    """What is being measured: of which form, what, at which stage, on which board."""

    there: InHand
    form: str
    what: What
    stage: str
    board: Board | None

    @property
    def address(self) -> str:
        """The same page again, and the run's chart under the same words."""
        asked = {"form": self.form, "what": self.what.name, "stage": self.stage}
        return urlencode(asked | ({"board": self.board.code} if self.board else {}))


@require_GET
def measures(request: HttpRequest) -> HttpResponse:
    """Where measuring begins: the forms in hand; slip, pick-up and the room's air; what was measured last."""
    there = all_in_hand(now())
    lately = Measurement.objects.filter(stands=True).order_by("-id")[:MOST_SHOWN]
    turns = Turn.objects.select_related("measurement").order_by("-pk")[:MOST_SHOWN]
    context = {
        "at": "bench",
        "page": "measure",
        "turns": [(turn, turn.measurement, said_of(turn.measurement)) for turn in turns],
        "there": there if "all" in request.GET else there[:MOST_COMMISSIONS],
        "left": 0 if "all" in request.GET else max(0, len(there) - MOST_COMMISSIONS),
        "air": [KNOWN[TEMPERATURE], KNOWN[HUMIDITY], KNOWN[DENSITY]],
        "pick_up": KNOWN[PICK_UP],
        "lately": [(each, said_of(each)) for each in lately],
        **measure_undo(request),
    }
    return render(request, "bench/measures.html", context)


@require_GET
def measure(request: HttpRequest, code: str) -> HttpResponse:
    """One form under the scale or the gauge: a reading, Enter, the next; and what the run so far says."""
    chosen = chosen_from(request, code)
    own = Measurement.objects.filter(
        commission=chosen.there.commission, form=chosen.form, what=chosen.what.name, stage=chosen.stage, stands=True
    )
    if chosen.board is not None and chosen.what.name == WEIGH_IN:
        own = own.filter(board=chosen.board)
    rows = list(own.order_by("-id")[:MOST_SHOWN])
    run = charts.standing_run(chosen.there.commission, chosen.form, chosen.what.name, chosen.stage)
    context = {
        "at": "bench",
        "page": "measure",
        "there": chosen.there,
        "chosen": chosen,
        "whats": OF_A_FORM if chosen.board else [each for each in OF_A_FORM if each.name != WEIGH_IN],
        "stages": chosen.there.stage_choices,
        "rows": [(each, each.piece, chosen.what.show(each.value)) for each in rows],
        "piece": _next_piece(chosen, rows),
        "usual": rows[0].value if rows else "",
        "run": run,
        "charted": chosen.what.name in CHARTED,
        **measure_undo(request),
    }
    return render(request, "bench/measure.html", context)


def chosen_from(request: HttpRequest, code: str) -> Chosen:
    """What the address asks for; what it leaves out is as the boards stand."""
    there = one_in_hand(code, now())
    if there is None or not there.names:
        raise Http404
    asked = request.GET
    board = next((each for each in there.boards if each.code == asked.get("board", "")), None)
    form = board.form if board else asked.get("form", "")
    form = form if form in there.names else there.names[0]
    known = KNOWN.get(asked.get("what", ""), KNOWN[HEIGHT])
    known = known if known.of_a_form and (known.name != WEIGH_IN or board) else KNOWN[HEIGHT]
    stage = asked.get("stage", "")
    if stage not in ORDER:
        at = [each.stage for each in there.boards if each.form == form]
        stage = board.stage if board else max(at, key=ORDER.__getitem__, default="thrown")
    return Chosen(there, form, known, stage, board)


def _next_piece(chosen: Chosen, rows: list[Measurement]) -> str:
    """The number of the next piece; the same piece again where it is weighed while it dries."""
    last = rows[0].piece if rows else ""
    if chosen.what.name == WEIGH_IN:
        return last or "1"
    numbers = [int(each.piece) for each in rows if each.piece.isdecimal()]
    return str(max(numbers) + 1) if numbers else "1"


def measure_undo(request: HttpRequest) -> dict[str, Any]:
    """What undo would take back from here: the last measurement of whoever holds this phone."""
    last = last_of(who(request))
    return {"last_measured": last, "last_words": said_of(last) if last else "", "key": fresh_key()}


def stage_words(stage: str) -> str:
    """A stage as headings say it."""
    return WORDS.get(stage, stage)


def page_of(code: str, form: str, name: str, stage: str, page: str = "bench-measure") -> str:
    """The address of a run's page."""
    return f"{reverse(page, args=[code])}?{urlencode({'form': form, 'what': name, 'stage': stage})}"
