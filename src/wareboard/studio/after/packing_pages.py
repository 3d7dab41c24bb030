"""Packing: boxes for what is ready or went on a day, and what goes along: packing list, delivery note, care card."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from wareboard import quantities
from wareboard.book.models import Commission
from wareboard.book.pieces import tracing
from wareboard.book.pieces.models import Piece
from wareboard.book.reckoning.box_sizes import MixedPacking, Sized
from wareboard.book.reckoning.boxes import Box
from wareboard.errors import Problems, WareboardError
from wareboard.plan.fields import plain_number
from wareboard.studio import plans
from wareboard.studio.after import parcels
from wareboard.studio.after.parcels import USUAL, Asked, InBox, Standing
from wareboard.studio.after.reorders import plan_then
from wareboard.studio.kilns.boxes import told
from wareboard.studio.paper_form import Trouble
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import today

if TYPE_CHECKING:
    from wareboard.plan.result import Plan

LABELS = (
    ("width", "Box inside, width"),
    ("depth", "Box inside, depth"),
    ("height", "Box inside, height"),
    ("most", "Most a full box weighs"),
    ("own", "The empty box weighs"),
    ("price", "Price of a box"),
    ("wrap", "Wrapping round a piece"),
    ("wrap_g", "Wrapping of a piece weighs"),
)
OF_A_BOX = LABELS[:6]
FURTHER = (2, 3, 4)  # more sizes of box; each left out where its boxes are empty
MASSES = ("most", "own", "wrap_g")


@dataclass(slots=True)
class Looked:
    """Everything of one look at the packing."""

    commission: Commission
    day: date | None
    plan: Plan | None
    pieces: list[Piece]
    standing: list[Standing]
    packing: MixedPacking | None = None
    boxes: list[InBox] = field(default_factory=list)
    asked: Asked | None = None
    troubles: list[Trouble] = field(default_factory=list)


def _look(request: HttpRequest, code: str) -> Looked:
    commission = get_object_or_404(Commission, code=code)
    plan, troubles = None, []
    try:
        plan = plan_then(commission, plans.basis())[0]
    except WareboardError as problem:
        troubles.append(Trouble(f"There is no plan to take sizes from: {problem}"))
    day = _day(request, troubles)
    pieces = parcels.to_go(commission, day)
    looked = Looked(commission, day, plan, pieces, parcels.standing(commission, plan, pieces, day), troubles=troubles)
    try:
        looked.asked = _asked(request)
        if pieces:
            looked.packing, looked.boxes = parcels.boxes_of(pieces, plan, looked.asked)
    except WareboardError as problem:
        troubles += told(problem)
    return looked


def _day(request: HttpRequest, troubles: list[Trouble]) -> date | None:
    written = request.GET.get("day", "").strip()
    try:
        return date.fromisoformat(written) if written else None
    except ValueError:
        troubles.append(Trouble(f"{written[:20]} is not a day. Choose one of the list."))
        return None


def _asked(request: HttpRequest) -> Asked:
    wrong: list[WareboardError] = []
    first = {name: request.GET.get(name, "").strip() or USUAL[name] for name, _ in LABELS}
    found = _read(first, LABELS, "", wrong)
    further = []
    for number in FURTHER:
        written = {name: request.GET.get(f"{name}-{number}", "").strip() for name, _ in OF_A_BOX}
        if any(written.values()):
            further.append(_read(written, OF_A_BOX, f", size {number}", wrong))
    if wrong:
        raise Problems(wrong)
    return Asked(tuple(_sized(each) for each in (found, *further)), found["wrap"], found["wrap_g"])


def _read(
    written: Mapping[str, str], labels: Sequence[tuple[str, str]], which: str, wrong: list[WareboardError]
) -> dict[str, float]:
    found = {}
    for name, label in labels:
        try:
            found[name] = _figure(name, written[name])
        except WareboardError as problem:
            problem.where = label + which
            wrong.append(problem)
    return found


def _figure(name: str, written: str) -> float:
    if name == "price":
        return plain_number(written) if written else 0.0
    return quantities.mass_g(written) if name in MASSES else quantities.length_mm(written)


def _sized(found: Mapping[str, float]) -> Sized:
    box = Box(found["width"], found["depth"], found["height"], found["most"], found["own"])
    return Sized(f"{box.width_mm:.0f} × {box.depth_mm:.0f} × {box.height_mm:.0f} mm", box, found["price"])


def _tally(looked: Looked) -> str:
    """How many boxes of which size, and what they cost in all where they have prices."""
    if looked.asked is None or looked.packing is None or (len(looked.asked.sizes) == 1 and not looked.packing.priced):
        return ""
    counts = Counter(each.size for each in looked.boxes)
    words = ", ".join(f"{count} of {size}" for size, count in sorted(counts.items()))
    return f"{words}; {looked.packing.price:.2f} in all" if looked.packing.priced else words


@require_GET
def packing(request: HttpRequest, code: str) -> HttpResponse:
    """Which boxes, what is in each, what is short; the papers to print."""
    looked = _look(request, code)
    gone = Piece.objects.filter(commission=looked.commission, put_away=None, delivered__isnull=False)
    context = {
        "at": "pieces",
        "commission": looked.commission,
        "looked": looked,
        "days": sorted({each.delivered for each in gone if each.delivered}, reverse=True),
        "asked_boxes": [(name, label, request.GET.get(name, USUAL[name])) for name, label in LABELS],
        "further": [
            (number, [(f"{name}-{number}", label, request.GET.get(f"{name}-{number}", "")) for name, label in OF_A_BOX])
            for number in FURTHER
        ],
        "any_further": any(request.GET.get(f"{name}-{number}") for name, _ in OF_A_BOX for number in FURTHER),
        "several": len(looked.asked.sizes) > 1 if looked.asked else False,
        "tally": _tally(looked),
        "query": request.GET.urlencode(),
        "masses": [(each, quantities.show_mass(each.mass_g)) for each in looked.boxes],
        "in_all": quantities.show_mass(sum(each.mass_g for each in looked.boxes)),
        "troubles": looked.troubles,
    }
    return render(request, "after/packing.html", context, status=422 if looked.troubles else 200)


def _must(looked: Looked) -> None:
    if looked.troubles or not looked.pieces:
        raise Http404("nothing to pack")


@require_GET
def packing_paper(request: HttpRequest, code: str) -> HttpResponse:
    """The packing list: each box, its size, its weight, its pieces."""
    from wareboard.sheets.after_sheets import AfterSheet, Table, after_sheet

    looked = _look(request, code)
    _must(looked)
    assert looked.asked is not None
    several = len(looked.asked.sizes) > 1
    rows = [
        (
            f"Box {each.number} of {len(looked.boxes)}" + (f", {each.size}" if several else ""),
            ", ".join(f"{count} × {form}" for form, count in each.forms),
            ", ".join(str(piece.number) for piece in each.pieces),
            str(each.layers),
            quantities.show_mass(each.mass_g),
        )
        for each in looked.boxes
    ]
    inside = [f"{each.name} inside, at most {quantities.show_mass(each.box.most_g)}" for each in looked.asked.sizes]
    tally = _tally(looked)
    sheet = AfterSheet(
        "Packing list",
        looked.commission.name,
        looked.day or today(),
        under=_under(looked),
        facts=[
            ("boxes", "\n".join(inside)),
            *([("used", tally)] if tally else []),
            ("wrapping", f"{looked.asked.wrap_mm:.0f} mm round each piece"),
        ],
        tables=[Table("", ("box", "what", "numbers", ">layers", ">weight"), rows, wide=2)],
        sums=[(f"{len(looked.pieces)} pieces, {len(looked.boxes)} boxes", _in_all(looked))],
        words=["Weights are reckoned from measured or planned pieces; the carrier's scale has the last word."],
        fields=("packed by", "day"),
        invented=bool(looked.plan and looked.plan.brief.invented),
    )
    return pdf(after_sheet(sheet, paper_of(request)), f"{code}-packing-list")


def _in_all(looked: Looked) -> str:
    return quantities.show_mass(sum(each.mass_g for each in looked.boxes))


def _under(looked: Looked) -> str:
    return f"{looked.commission.code}, {'delivered' if looked.day else 'to be delivered'}"


@require_GET
def delivery_note(request: HttpRequest, code: str) -> HttpResponse:
    """What goes to the client: pieces by form and number, boxes, what is still to come."""
    from wareboard.sheets.after_sheets import AfterSheet, Table, after_sheet

    looked = _look(request, code)
    _must(looked)
    rows = [
        (each.form, ", ".join(str(p.number) for p in looked.pieces if p.form == each.form), str(each.now), _owed(each))
        for each in looked.standing
        if each.now or each.short
    ]
    client = tracing.client_of(looked.commission)
    sheet = AfterSheet(
        "Delivery note",
        looked.commission.name,
        looked.day or today(),
        under=looked.commission.code,
        facts=[*_from(), ("for", client or "………………………………………")],
        tables=[Table("", ("piece", "numbers", ">now", ">still to come"), rows, wide=1)],
        sums=[("in this delivery", f"{len(looked.pieces)} pieces in {len(looked.boxes)} boxes")],
        words=[
            "Please unpack and look at every piece, and write within the days agreed, with its number and a photograph."
        ],
        fields=("handed over by", "received by", "day"),
        invented=bool(looked.plan and looked.plan.brief.invented),
    )
    return pdf(after_sheet(sheet, paper_of(request)), f"{code}-delivery-note")


def _from() -> list[tuple[str, str]]:
    workshop = plans.workshop_of(plans.basis())
    sender = workshop.seller.sender(workshop.name)
    return [("from", sender or "………………………………………")]


def _owed(each: Standing) -> str:
    return str(each.short) if each.short else "none"


@require_GET
def care_card(request: HttpRequest, code: str) -> HttpResponse:
    """The card that goes with the ware, with the clay lots and firings that its pieces come from."""
    from wareboard.sheets.client_sheets import care_sheet
    from wareboard.sheets.typesetting import typeset

    looked = _look(request, code)
    if looked.plan is None:
        raise Http404("no plan")
    lots, firings = set(), set()
    for each in looked.pieces:
        origin = tracing.origin_of(each)
        lots |= {lot.code for lot in origin.clay if lot.code}
        firings |= {str(row.firing) for row in origin.firings if row.firing.kind == "glaze"}
    data = care_sheet(looked.plan, paper_of(request))
    data |= {"lot": ", ".join(sorted(lots)) or data["lot"], "firing": "; ".join(sorted(firings))}
    return pdf(typeset("care", data, looked.day or today()), f"{code}-care-card")
