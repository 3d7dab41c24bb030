"""A run's chart: single pieces or boards, its limits, which rule spoke, and whether the hand holds what was agreed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from wareboard.book.measures import charts
from wareboard.book.measures.what import CHARTED, KNOWN
from wareboard.errors import WareboardError
from wareboard.studio.bench.measure_pages import chosen_from
from wareboard.studio.drawing import drawing

if TYPE_CHECKING:
    from wareboard.book.reckoning.capability import Capability
    from wareboard.book.reckoning.run_chart import RunChart


@require_GET
def chart(request: HttpRequest, code: str) -> HttpResponse:
    """The run chart of one form and size at a stage."""
    from wareboard.book.reckoning.run_chart_drawing import run_chart_svg

    chosen = chosen_from(request, code)
    commission, name = chosen.there.commission, chosen.what.name
    run = charts.run_of(commission, chosen.form, name, chosen.stage)
    agreed = charts.agreed_size(commission, chosen.form, name, chosen.stage)
    by_board = "boards" in request.GET
    found: RunChart | None = None
    trouble = ""
    try:
        found = (charts.grouped_chart_of if by_board else charts.run_chart_of)(name, run, agreed)
        if found is None:
            trouble = "Boards are charted once two or more pieces each of four boards were measured."
    except WareboardError as problem:
        trouble = f"{problem.what}: {problem.why}." if run else ""
    context = {
        "at": "bench",
        "page": "measure",
        "there": chosen.there,
        "chosen": chosen,
        "count": len(run),
        "by_board": by_board,
        "charts": [KNOWN[each] for each in CHARTED],
        "chart": found,
        "drawing": drawing(run_chart_svg(found)) if found else "",
        "signals": _spoken(found) if found else [],
        "steps": found.steps if found else (),
        "trouble": trouble,
        "agreed": agreed,
        "held": _held(run, agreed),
    }
    return render(request, "bench/run_chart.html", context)


def _spoken(found: RunChart) -> list[tuple[str, str, str]]:
    """Each rule that spoke, once: its words, what it asks for, and at which points."""
    at: dict[tuple[str, str], list[str]] = {}
    for signal in found.signals:
        at.setdefault((signal.words, signal.asks), []).append(found.labels[signal.at])
    return [(words, asks, ", ".join(dict.fromkeys(labels))) for (words, asks), labels in at.items()]


def _held(run: list[charts.Read], agreed: tuple[float, float] | None) -> Capability | None:
    from wareboard.book.reckoning.capability import capability

    if agreed is None:
        return None
    try:
        return capability([each.value for each in run], agreed)
    except WareboardError:
        return None
