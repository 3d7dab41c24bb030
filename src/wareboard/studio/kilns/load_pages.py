"""A planned load arranged by hand: dragged or typed, checked as the plan is, kept over it with undo, printed to scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.firings import recording, signing
from wareboard.book.firings.models import MovedLoad
from wareboard.errors import WareboardError
from wareboard.plan.brief import Brief
from wareboard.studio import plans
from wareboard.studio.drawing import drawing
from wareboard.studio.history import commission_of, current_of
from wareboard.studio.kilns import arrangement, boxes
from wareboard.studio.kilns.arrangement import Fault, Place
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.kilns.load_drawing import editable_svg
from wareboard.studio.paper_form import Trouble

if TYPE_CHECKING:
    from wareboard.book.models import Commission
    from wareboard.kiln.inside import Load, ShelfLayout
    from wareboard.plan.result import FiringPlan, Plan


@dataclass(frozen=True, slots=True)
class Planned:
    """One load of a plan: the commission, the firing, which load of how many, and every form's letter."""

    commission: Commission
    brief: Brief
    firing: FiringPlan
    number: int
    lettered: dict[str, str]
    every: Sequence[tuple[str, int]]

    @property
    def load(self) -> Load:
        return self.firing.loads.loads[self.number - 1]

    @property
    def address(self) -> list[Any]:
        return [self.commission.code, self.firing.kind, self.number]


def planned_load(code: str, kind: str, number: int) -> Planned:
    """The load that the plan has under that number; no page where it has none.

    Raises:
        WareboardError: if the commission cannot be planned, such as for a shelf smaller than its piece.
    """
    from wareboard.kiln.shelf_map import letters

    commission = commission_of(code)
    plan: Plan = plans.plan_of_version(current_of(commission), plans.basis())
    firing = {"bisque": plan.bisque, "glaze": plan.glaze_firing}.get(kind)
    if firing is None or not 1 <= number <= firing.firings:
        raise Http404
    every = [(each.kind, at) for each in (plan.bisque, plan.glaze_firing) for at in range(1, each.firings + 1)]
    lettered = letters([form.name for form in plan.forms])
    return Planned(commission, plan.brief, firing, number, lettered, every)


def arranged(planned: Planned) -> tuple[list[list[Place]], MovedLoad | None, bool]:
    """Where the pieces stand: as kept by hand, else as planned; the record; whether it was made from another plan."""
    record = MovedLoad.objects.filter(
        commission_code=planned.commission.code, kind=planned.firing.kind, number=planned.number
    ).first()
    as_planned = [arrangement.places(layout) for layout in planned.load]
    if record is None or record.put_away is not None:
        return as_planned, record, False
    if record.made_from != arrangement.made_from(planned.load):
        return as_planned, record, True
    return [[(x, y, angle) for x, y, angle in row] for row in record.places], record, False


def layouts(planned: Planned, to: list[list[Place]]) -> Load:
    """The load with its pieces at those places."""
    return tuple(arrangement.moved(layout, row) for layout, row in zip(planned.load, to, strict=True))


@require_http_methods(["GET", "POST"])
def moved_load(request: HttpRequest, code: str, kind: str, number: int) -> HttpResponse:
    """The shelves of a load to arrange; what was moved is checked, and kept where it can stand so."""
    try:
        planned = planned_load(code, kind, number)
    except WareboardError as problem:
        return _no_load(request, code, problem)
    to, _, stale = arranged(planned)
    if request.method == "GET":
        return _shown(request, planned, to, [], stale)
    try:
        to = arrangement.read_places(planned.load, request.POST.dict())
    except WareboardError as problem:
        return _shown(request, planned, to, boxes.told(problem), stale, typed=request.POST.dict())
    found = _faults(planned, to)
    hard = [each for each in found if each.hard]
    if hard or (found and request.POST.get("do") != "keep-anyway"):
        return _shown(request, planned, to, _troubles(planned, found), stale, only_near=not hard)
    keep = [[list(place) for place in row] for row in to]
    recording.keep_moved(code, kind, number, arrangement.made_from(planned.load), keep, by(request))
    messages.success(request, "The arrangement is kept over the plan." + (" Some pieces stand near." if found else ""))
    return HttpResponseRedirect(reverse("moved-load", args=planned.address))


@require_POST
def load_move(request: HttpRequest, code: str, kind: str, number: int, move: str) -> HttpResponse:
    """Undo or redo the latest arrangement, or go back to the plan."""
    record = MovedLoad.objects.filter(commission_code=code, kind=kind, number=number).first()
    does = {
        "undo": lambda held: signing.undo(held, by(request)),
        "redo": lambda held: signing.redo(held, by(request)),
        "to-the-plan": lambda held: signing.put_away(held, "Back to the plan", by(request)),
    }.get(move)
    if record is None or does is None:
        raise Http404
    try:
        does(record)
        last = signing.history(record).first()
        messages.success(request, f"{last.why}." if last else "Done.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(reverse("moved-load", args=[code, kind, number]))


@require_GET
def load_map(request: HttpRequest, code: str, kind: str, number: int) -> HttpResponse:
    """Every shelf of the load as it is arranged, to scale, a page for each, as PDF."""
    from wareboard.sheets.firing_shelf import shelf_pdf

    try:
        planned = planned_load(code, kind, number)
    except WareboardError:
        raise Http404 from None
    to, record, stale = arranged(planned)
    by_hand = record is not None and record.put_away is None and not stale
    pdf = shelf_pdf(
        layouts(planned, to),
        list(planned.lettered),
        planned.firing.kiln.name,
        f"{planned.commission.name}, {kind} load {number}",
        f"{code}{', arranged by hand' if by_hand else ', as planned'}",
        planned.brief.due,
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{code}-{kind}-load-{number}.pdf"'
    return response


def _faults(planned: Planned, to: list[list[Place]]) -> list[Fault]:
    return arrangement.faults(
        layouts(planned, to), planned.firing.inside, planned.firing.loads.gap_mm, planned.lettered
    )


def _troubles(planned: Planned, found: list[Fault]) -> list[Trouble]:
    return [Trouble(each.words, f"x-{each.shelf}-{each.piece}", f"Shelf {each.shelf + 1}") for each in found]


def _shown(
    request: HttpRequest,
    planned: Planned,
    to: list[list[Place]],
    troubles: list[Trouble],
    stale: bool,
    only_near: bool = False,
    typed: dict[str, str] | None = None,
) -> HttpResponse:
    load, inside, gap_mm = planned.load, planned.firing.inside, planned.firing.loads.gap_mm
    _, record, _ = arranged(planned)
    context = {
        "at": "kilns",
        "commission": planned.commission,
        "planned": planned,
        "kind": planned.firing.kind,
        "number": planned.number,
        "shelves": [_shelf(planned, at, layout, to[at], typed or {}) for at, layout in enumerate(load)],
        "measures": arrangement.measures(load, inside, gap_mm, planned.lettered),
        "gap": f"{gap_mm:g}",
        "edge": f"{inside.edge_mm:g}",
        "troubles": troubles,
        "only_near": only_near,
        "seen": signing.latest(record) if record else 0,
        "stale": stale,
        "by_hand": record is not None and record.put_away is None and not stale,
        "can_undo": record is not None and signing.can_undo(record),
        "can_redo": record is not None and signing.can_redo(record) is not None,
        "key": [(letter, form) for form, letter in planned.lettered.items()],
    }
    return render(request, "kilns/load.html", context, status=422 if troubles else 200)


def _shelf(planned: Planned, at: int, layout: ShelfLayout, to: list[Place], typed: dict[str, str]) -> dict[str, Any]:
    here = arrangement.moved(layout, to)
    inside, gap_mm = planned.firing.inside, planned.firing.loads.gap_mm
    found = arrangement.faults((here,), inside, gap_mm, planned.lettered)
    faulty: dict[int, bool] = {}
    for each in found:
        faulty[each.piece] = faulty.get(each.piece, False) or each.hard
    half = f", {'left' if layout.half == 0 else 'right'} half" if planned.firing.inside.halves else ""
    rows = [
        {
            "i": i,
            "name": name,
            "form": layout.forms[i],
            "handle": layout.handle_reach_mm[i] > 0.0,
            "x": typed.get(f"x-{at}-{i}", f"{place[0]:.1f}"),
            "y": typed.get(f"y-{at}-{i}", f"{place[1]:.1f}"),
            "a": typed.get(f"a-{at}-{i}", f"{place[2]:.1f}"),
        }
        for i, (name, place) in enumerate(zip(arrangement.names(layout, planned.lettered), to, strict=True))
    ]
    return {
        "at": at,
        "number": layout.level + 1,
        "half": half,
        "counts": list(layout.counts.items()),
        "face": f"{layout.level_mm:.0f}",
        "svg": drawing(editable_svg(layout, at, to, planned.lettered, faulty)),
        "rows": rows,
        "faults": found,
    }


def _no_load(request: HttpRequest, code: str, problem: WareboardError) -> HttpResponse:
    context = {"at": "kilns", "commission": commission_of(code), "troubles": boxes.told(problem)}
    return render(request, "kilns/no_load.html", context)
