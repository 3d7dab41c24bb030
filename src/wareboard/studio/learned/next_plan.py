"""What the next plan makes of the records: one commission by the usual figures and by the workshop's own, side by side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from wareboard.book.learning import acting
from wareboard.book.learning.models import FiguresKept
from wareboard.book.models import Commission, Version
from wareboard.errors import WareboardError
from wareboard.plan.own import NOTHING_LEARNED, Own
from wareboard.studio import plans
from wareboard.studio.learned.pages import by
from wareboard.studio.ripple import ripple
from wareboard.studio.words import as_a_figure, capital, figure_in_unit

if TYPE_CHECKING:
    from wareboard.plan.result import Plan


@dataclass(frozen=True, slots=True)
class PartedShown:
    """A figure as agreed and as it is learned now, in words."""

    key: str
    label: str
    then: str
    now: str


@require_http_methods(["GET", "POST"])
def next_plan(request: HttpRequest) -> HttpResponse:
    """Before and after on a chosen commission, which figures are yours, and keeping the figures of an agreed one."""
    there = list(Commission.objects.filter(put_away=None).select_related("paper__current"))
    if request.method == "POST":
        return _kept(request, there)
    chosen = _chosen(request.GET.get("commission", ""), there)
    context: dict[str, object] = {"at": "learned", "page": "next", "there": there, "chosen": chosen}
    version = chosen.paper.current if chosen else None
    if chosen is not None and version is not None:
        context |= _compared(chosen, version)
    return render(request, "learned/next.html", context)


def _chosen(code: str, there: list[Commission]) -> Commission | None:
    if not code:
        return there[0] if there else None
    found = next((each for each in there if each.code == code), None)
    if found is None:
        raise Http404
    return found


def _compared(chosen: Commission, version: Version) -> dict[str, object]:
    on = plans.basis()
    kept = FiguresKept.objects.filter(commission=chosen, put_away=None).first()
    try:
        after = plans.plan_of_version(version, on)
    except WareboardError as problem:
        return {"trouble": str(problem), "kept": kept}
    before = _plan_or_none(version, replace(on, own=NOTHING_LEARNED, kept={}))
    without = before is None
    if before is None:
        before = _plan_or_none(version, replace(on, own=_shrinkage_alone(on.for_paper(version.paper_id).own), kept={}))
    apart = acting.parted(on.kept[version.paper_id], on.own, sorted(after.leans)) if kept else []
    return {
        "kept": kept,
        "ripple": ripple(before, after),
        "without_shrinkage": without and before is not None,
        "yours": [
            (capital(each.label), as_a_figure(each.learned), each.learned.key) for each in after.learned if each.learned
        ],
        "overruled": [
            (each, figure_in_unit(each.typed, each.learned.unit, each.learned.key)) for each in after.overruled
        ],
        "apart": [
            PartedShown(each.key, capital(each.label), _in_words(each.then, each), _in_words(each.now, each))
            for each in apart
        ],
    }


def _shrinkage_alone(own: Own) -> Own:
    """Only what is learned of clays: a brief may leave out what its clay shrinks, and no usual figure stands in for that."""
    return Own.of(each for each in own.figures.values() if each.key.startswith("shrinkage."))


def _in_words(value: float | None, each: acting.Parted) -> str:
    return "the usual figure" if value is None else figure_in_unit(value, each.unit, each.key)


def _plan_or_none(version: Version, on: plans.Basis) -> Plan | None:
    try:
        return plans.plan_of_version(version, on)
    except WareboardError:
        return None


def _kept(request: HttpRequest, there: list[Commission]) -> HttpResponse:
    chosen = _chosen(request.POST.get("commission", ""), there)
    if chosen is None:
        raise Http404
    if request.POST.get("do") == "keep":
        on = plans.basis()
        acting.keep_figures(chosen, on.own, on.day, "Kept as agreed", by(request))
        messages.success(request, f"{chosen.code} goes by the figures of today from now on.")
    elif request.POST.get("do") == "let-go":
        acting.let_figures_go(chosen, by(request))
        messages.success(request, f"{chosen.code} goes by the newest figures again.")
    else:
        raise Http404
    return HttpResponseRedirect(f"{reverse('learned-next')}?commission={chosen.code}")
