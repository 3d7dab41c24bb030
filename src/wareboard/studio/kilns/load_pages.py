"""A planned load arranged by hand: moved, turned, taken out, filled up; checked as the plan is; undone; printed to scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.firings import recording, signing
from wareboard.book.firings.models import MovedLoad
from wareboard.errors import WareboardError
from wareboard.studio.drawing import drawing
from wareboard.studio.history import commission_of
from wareboard.studio.kilns import adding, arrangement, boxes, known_kilns, pieces
from wareboard.studio.kilns.arrangement import Fault
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.kilns.load_drawing import editable_svg, fault_sign, legend_svg, loose_svg
from wareboard.studio.kilns.page import page
from wareboard.studio.kilns.pieces import OFF, Piece
from wareboard.studio.kilns.planned_load import Arranged, NoSuchLoad, Planned, arranged, planned_load
from wareboard.studio.paper_form import Trouble
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.prototypes.approval_pages import since_approval

if TYPE_CHECKING:
    from wareboard.kiln.inside import Load, ShelfLayout

MEANWHILE = (
    "This load was arranged in another window while you were at it: {words}. Your places are below and are not lost; keep "
    "them again to put them over the other, which stays in the history, or put yours back to see the other"
)


@require_http_methods(["GET", "POST"])
def moved_load(request: HttpRequest, code: str, kind: str, number: int) -> HttpResponse:
    """The shelves of a load to arrange; what was moved is checked, and kept where it can stand so."""
    try:
        planned = planned_load(code, kind, number)
    except NoSuchLoad as none:
        return _fewer_loads(request, none)
    except WareboardError as problem:
        return _no_load(request, code, problem)
    here = arranged(planned)
    if request.method == "GET":
        return _shown(request, planned, here, here.pieces)
    posted = request.POST.dict()
    before = here.pieces
    try:
        if "extra" in posted:
            before = [each for each in here.pieces if not each.added] + pieces.read_added(posted["extra"])
        read = pieces.read_pieces(before, posted, len(planned.load))
        if posted.get("do") in ("add", "forms"):
            return _added(request, planned, here, read, posted)
    except WareboardError as problem:
        return _shown(request, planned, here, before, boxes.told(problem), typed=posted, asked=posted)
    read = pieces.stood_anew(read, before, planned.load, planned.firing.inside, planned.firing.loads.gap_mm)
    if posted.get("do") == "fill":
        read = [*read, *adding.proposed(planned, read)]
    return _kept(request, planned, here, read, posted)


def _kept(
    request: HttpRequest, planned: Planned, here: Arranged, read: list[Piece], posted: dict[str, str]
) -> HttpResponse:
    """The places kept, or the page again with what stands in the way of that."""
    if posted.get("seen", "") not in ("", str(_seen(here))):
        return _shown(request, planned, here, read, [Trouble(MEANWHILE.format(words=here.words))], status=409)
    found = _faults(planned, read)
    hard = [each for each in found if each.hard]
    if hard or (found and posted.get("do") != "keep-anyway"):
        return _shown(request, planned, here, read, _troubles(planned, read, found), only_near=not hard)
    places, extra = pieces.to_keep(read)
    made_from = arrangement.made_from(planned.load)
    code, kind, number = planned.commission.code, planned.firing.kind, planned.number
    recording.keep_moved(code, kind, number, made_from, places, by(request), extra)
    out = sum(each.count for each in read if each.shelf == OFF)
    words = "The arrangement is kept over the plan." + (" Some pieces stand near." if found else "")
    messages.success(request, words + (f" {out} piece{'' if out == 1 else 's'} not loaded." if out else ""))
    return HttpResponseRedirect(reverse("moved-load", args=planned.address))


def _added(
    request: HttpRequest, planned: Planned, here: Arranged, read: list[Piece], posted: dict[str, str]
) -> HttpResponse:
    """The page with more pieces in the gaps, not kept yet; or with the forms of the commission that was asked for."""
    if posted["do"] == "forms":
        return _shown(request, planned, here, read, asked=posted)
    fresh = adding.pieces_asked(planned, posted, read)
    at = [each.shelf for each in fresh]
    stood, out = sum(each >= 0 for each in at), sum(each < 0 for each in at)
    if stood:
        messages.success(request, f"{stood} added in the gaps. Keep the arrangement when all stands right.")
    if out:
        messages.warning(
            request, f"No gap is left for {out}; listed under “Not loaded”, to be put where you make room."
        )
    return _shown(request, planned, here, [*read, *fresh], asked=posted)


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
    """Every shelf of the load as it is arranged, to scale, a page for each, and the load from the side, as PDF."""
    from wareboard.sheets.firing_shelf import shelf_pdf

    try:
        planned = planned_load(code, kind, number)
    except WareboardError:
        raise Http404 from None
    here = arranged(planned)
    load = pieces.layouts_of(planned.load, here.pieces)
    out = [each.name for each in here.pieces if each.shelf == OFF]
    map_pdf = shelf_pdf(
        load,
        list(planned.lettered),
        planned.firing.kiln.name,
        f"{planned.commission.name}, {kind} load {number}",
        f"{code}, {here.words}",
        planned.brief.due,
        paper=paper_of(request),
        named=pieces.named_on(planned.load, here.pieces),
        inside=planned.firing.inside,
        not_loaded=", ".join(out),
        since=since_approval(planned.commission, planned.plan),
    )
    return pdf(map_pdf, f"{code}-{kind}-load-{number}")


def _seen(here: Arranged) -> int:
    return signing.latest(here.record) if here.record else 0


def _faults(planned: Planned, every: Sequence[Piece]) -> list[Fault]:
    load = pieces.layouts_of(planned.load, every)
    firing = planned.firing
    named = pieces.named_on(planned.load, every)
    return arrangement.faults(load, firing.inside, firing.loads.gap_mm, planned.lettered, named)


def _by_key(every: Sequence[Piece], fault: Fault) -> str:
    return [each.key for each in every if each.shelf == fault.shelf][fault.piece]


def _troubles(planned: Planned, every: Sequence[Piece], found: list[Fault]) -> list[Trouble]:
    return [
        Trouble(each.words, f"x-{_by_key(every, each)}", _shelf_name(planned.load, each.shelf, planned))
        for each in found
    ]


def _shelf_name(load: Load, at: int, planned: Planned) -> str:
    layout = load[at]
    half = f", {'left' if layout.half == 0 else 'right'} half" if planned.firing.inside.halves else ""
    return f"Shelf {layout.level + 1}{half}"


def _shown(
    request: HttpRequest,
    planned: Planned,
    here: Arranged,
    every: list[Piece],
    troubles: Sequence[Trouble] = (),
    only_near: bool = False,
    typed: dict[str, str] | None = None,
    asked: dict[str, str] | None = None,
    status: int = 0,
) -> HttpResponse:
    firing, record = planned.firing, here.record
    every = [each for each in every if each.shelf != pieces.GONE]
    forms = list(dict.fromkeys([*planned.lettered, *(each.words for each in every)]))
    named = [_shelf_name(planned.load, at, planned) for at in range(len(planned.load))]
    faults = _faults(planned, every)
    loose = [each for each in every if each.shelf == OFF]
    context = {
        "commission": planned.commission,
        "planned": planned,
        "kind": firing.kind,
        "number": planned.number,
        "shelves": [
            _shelf(at, layout, named, [each for each in every if each.shelf == at], forms, faults, typed or {})
            for at, layout in enumerate(planned.load)
        ],
        "loose": [_row(each, typed or {}) for each in loose],
        "loose_svg": drawing(loose_svg(loose, forms)),
        "choices": list(enumerate(named)),
        "extra": pieces.added_json(every),
        "measures": arrangement.measures(planned.load, firing.inside, firing.loads.gap_mm, every),
        "gap": f"{firing.loads.gap_mm:g}",
        "edge": f"{firing.inside.edge_mm:g}",
        "troubles": troubles,
        "only_near": only_near,
        "seen": _seen(here),
        "stale": here.stale,
        "by_hand": here.by_hand,
        "arranged": here.words,
        "can_undo": record is not None and signing.can_undo(record),
        "can_redo": record is not None and signing.can_redo(record) is not None,
        "key": _key(planned, every),
        "signs": [(drawing(legend_svg(what)), words) for what, words in _SIGNS],
        "hard_sign": drawing(fault_sign(True)),
        "near_sign": drawing(fault_sign(False)),
        "record_at": _record_at(planned),
        "adding": adding.choices(planned, asked or {}),
        "fillers": [(named[at], words) for at, words in adding.proposed_words(adding.proposed(planned, every))],
        "has_fillers": bool(planned.plan.workshop.fillers),
    }
    return page(request, "kilns/load.html", context, status or (422 if troubles else 200), planned.commission.code)


def _record_at(planned: Planned) -> str:
    """Where a firing of this load is recorded, its boxes filled: the load's own kiln, else the list of kilns."""
    firing = planned.firing
    kiln = next((each for each in known_kilns.known_kilns() if each.name == firing.kiln.name), None)
    asked = {"kind": firing.kind, "cone": firing.cone, "commission": planned.commission.code, "load": planned.number}
    return f"{reverse('new-firing', args=[kiln.slug])}?{urlencode(asked)}" if kiln else reverse("kilns")


_SIGNS = (("post", "post"), ("cone pack", "witness cones"), ("thermocouple", "thermocouple"))


def _key(planned: Planned, every: Sequence[Piece]) -> list[tuple[str, str]]:
    """What the names of pieces begin with, and the form each stands for."""
    there = {each.form for each in every if not each.added}
    key = [(letter, form) for form, letter in planned.lettered.items() if form in there]
    return key + [(each.name, each.words) for each in every if each.added]


def _shelf(
    at: int,
    layout: ShelfLayout,
    named: list[str],
    own: list[Piece],
    forms: list[str],
    faults: list[Fault],
    typed: dict[str, str],
) -> dict[str, Any]:
    found = [each for each in faults if each.shelf == at]
    faulty: dict[str, bool] = {}
    for each in found:
        faulty[own[each.piece].key] = faulty.get(own[each.piece].key, False) or each.hard
    counts: dict[str, int] = {}
    for piece in own:
        counts[piece.words] = counts.get(piece.words, 0) + piece.count
    return {
        "at": at,
        "name": named[at],
        "counts": list(counts.items()),
        "face": f"{layout.level_mm:.0f}",
        "svg": drawing(editable_svg(layout, at, named[at], own, forms, faulty)),
        "rows": [_row(piece, typed) for piece in own],
        "faults": found,
    }


def _row(piece: Piece, typed: dict[str, str]) -> dict[str, Any]:
    """A piece's boxes: what was typed where something was wrong, else where it stands."""
    return {
        "piece": piece,
        "x": typed.get(f"x-{piece.key}", f"{piece.x:.1f}"),
        "y": typed.get(f"y-{piece.key}", f"{piece.y:.1f}"),
        "a": typed.get(f"a-{piece.key}", f"{piece.angle:.1f}"),
        "shelf": piece.shelf,
    }


def _fewer_loads(request: HttpRequest, none: NoSuchLoad) -> HttpResponse:
    """What the plan has in place of the load that was asked for; an empty page where it has none of that kind."""
    there = [(none.kind, at) for at in range(1, none.firings + 1)]
    context = {"commission": none.commission, "kind": none.kind, "number": none.number, "there": there}
    return page(request, "kilns/fewer_loads.html", context, 404 if there else 200, none.commission.code)


def _no_load(request: HttpRequest, code: str, problem: WareboardError) -> HttpResponse:
    context = {"commission": commission_of(code), "troubles": boxes.told(problem)}
    return page(request, "kilns/no_load.html", context)
