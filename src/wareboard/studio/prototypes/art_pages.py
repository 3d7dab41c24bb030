"""The mark's page and the painting's: the picture and its boxes, what comes of it, and its sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_http_methods

from wareboard.book.firings import signing
from wareboard.book.models import Commission
from wareboard.book.prototypes import pictures
from wareboard.book.prototypes.models import MARK, PAINTING, ClientPicture
from wareboard.errors import WareboardError
from wareboard.plan.slug import slug
from wareboard.studio.kilns.boxes import told, troubles_of
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.printed import pdf
from wareboard.studio.prototypes import worked
from wareboard.studio.prototypes.approval_pages import since_approval
from wareboard.studio.prototypes.picture_forms import MarkForm, OnAForm, PaintForm

if TYPE_CHECKING:
    from wareboard.plan.result import Plan
    from wareboard.studio.commission_pages import Opened

FORMS: Mapping[str, type[OnAForm]] = {MARK: MarkForm, PAINTING: PaintForm}
LONGEST_FILE = 80_000_000


def _opened(code: str, kind: str) -> Opened:
    from wareboard.studio.commission_pages import opened

    if kind not in FORMS:
        raise Http404
    return opened(code, "art")


@require_http_methods(["GET", "POST"])
def art(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """The picture, its boxes, and room for what comes of it."""
    page = _opened(code, kind)
    if page.plan is None:
        return render(request, "studio/no_plan.html", page.context())
    names = [form.name for form in page.plan.forms]
    held = pictures.standing(page.commission, kind)
    troubles = []
    boxes = FORMS[kind](held.given if held else None, names=names)
    if request.method == "POST":
        if request.POST.get("do") in ("undo", "redo"):
            return _moved(request, code, kind, page.commission)
        boxes = FORMS[kind](request.POST, names=names)
        troubles = _kept(request, page.commission, kind, boxes)
        if not troubles:
            messages.success(request, "Kept.")
            return HttpResponseRedirect(reverse("art", args=[code, kind]))
    context = page.context() | {
        "kind": kind, "boxes": boxes, "held": held, "troubles": troubles, "ready": held is not None and not troubles,
        "can_undo_art": held is not None and signing.can_undo(held),
    }  # fmt: skip
    return render(request, "prototypes/art.html", context, status=422 if troubles else 200)


def _kept(request: HttpRequest, commission: Commission, kind: str, boxes: OnAForm) -> list[Any]:
    if not boxes.is_valid():
        return troubles_of(boxes)
    sent = request.FILES.get("picture")
    try:
        if sent is not None and (sent.size or 0) > LONGEST_FILE:
            raise WareboardError(str(sent.name), "it is larger than 80 MB", "Send a smaller picture")
        data = (sent.read(), sent.name or kind) if sent is not None else None
        pictures.keep(commission, kind, data, boxes.typed(), by(request))
    except WareboardError as problem:
        return told(problem)
    return []


def _moved(request: HttpRequest, code: str, kind: str, commission: Commission) -> HttpResponse:
    held = ClientPicture.objects.filter(commission=commission, kind=kind).first()
    if held is None:
        raise Http404
    try:
        (signing.undo if request.POST["do"] == "undo" else signing.redo)(held, by(request))
        messages.success(request, "Undone." if request.POST["do"] == "undo" else "Done again.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(reverse("art", args=[code, kind]))


@dataclass(frozen=True, slots=True)
class Found:
    """What came of a picture: the room's result, or why there is none."""

    made: Any
    trouble: str = ""


def found_of(plan: Plan, held: ClientPicture) -> Found:
    """The mark or the painting worked out, or what stands in the way."""
    boxes = FORMS[held.kind](held.given, names=[form.name for form in plan.forms])
    if not boxes.is_valid():
        return Found(None, "; ".join(f"{each.label}: {each.words}" for each in troubles_of(boxes)))
    try:
        work: Callable[..., Any] = worked.mark_of if held.kind == MARK else worked.painting_of
        return Found(work(plan, held, boxes))
    except WareboardError as problem:
        return Found(None, str(problem))


@require_GET
def worked_out(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """What comes of the picture, as a part of its page; also a page of its own where no script runs."""
    page = _opened(code, kind)
    held = pictures.standing(page.commission, kind)
    if page.plan is None or held is None:
        raise Http404
    found = found_of(page.plan, held)
    context = page.context() | {"kind": kind, "found": found.made, "trouble": found.trouble}
    if found.made is not None:
        context["form_code"] = slug(found.made.form)
        context |= _mark(found.made) if kind == MARK else _painting(found.made)
    whole = not request.headers.get("HX-Request")
    return render(request, "prototypes/art_alone.html" if whole else f"prototypes/_{kind}.html", context)


def _mark(found: Any) -> dict[str, Any]:
    from wareboard.mark.distortion import picture_svg

    # Both are drawn by ourselves, in numbers and our own words.
    return {"page_svg": mark_safe(found.pages[0].svg()), "give_svg": mark_safe(picture_svg(found.made.patch))}


def _painting(found: Any) -> dict[str, Any]:
    from wareboard.paint.card_svg import map_svg
    from wareboard.paint.preview_svg import preview_svg
    from wareboard.sheets.painter_sheet import zone_rows

    svg, _, _ = map_svg(found.found, found.drawn, set(range(len(found.found.tiles))))
    preview = "" if found.inside else preview_svg(found.found, found.laid, found.form, facing_share=0.5)
    rows = [{**row, "hatch": mark_safe(row["hatch"])} for row in zone_rows(found)]
    by_coat = {each.coat: each for each in found.worked.coats}
    coats = [(by_coat[coat], why) for coat, why in zip(found.order.coats, found.order.why, strict=True)]
    return {
        "map_svg": mark_safe(svg),
        "preview_svg": mark_safe(preview),
        "rows": rows,
        "coats": coats,
    }


@require_GET
def art_sheet(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """The mark's sheet or the painter's card, as PDF."""
    page = _opened(code, kind)
    held = pictures.standing(page.commission, kind)
    if page.plan is None or held is None:
        raise Http404
    made = dict(sheets_of(page.commission, page.plan, only=kind))
    if not made:
        messages.error(request, "The sheet cannot be made yet: see below.")
        return HttpResponseRedirect(reverse("art", args=[code, kind]))
    name, (template, data) = next(iter(made.items()))
    from wareboard.sheets.since_approval import told
    from wareboard.sheets.typesetting import typeset

    approval = told(since_approval(page.commission, page.plan))
    sheet = typeset(template, {**data, **approval}, page.plan.brief.due)
    return pdf(sheet, f"{code} {name.removesuffix('.pdf')}", framed=True)


def sheets_of(
    commission: Commission, plan: Plan, only: str = ""
) -> Iterator[tuple[str, tuple[str, Mapping[str, object]]]]:
    """File name, template and data of each sheet of the client's pictures; those that cannot be made are left out."""
    from wareboard.sheets.mark_sheet import mark_sheet
    from wareboard.sheets.painter_sheet import painter_sheet

    for kind, name, template in ((MARK, "mark.pdf", "mark"), (PAINTING, "painters-card.pdf", "painter")):
        held = pictures.standing(commission, kind) if only in ("", kind) else None
        found = found_of(plan, held).made if held else None
        if found is not None:
            yield name, (template, mark_sheet(plan, found) if kind == MARK else painter_sheet(plan, found))


def print_of(commission: Commission) -> str:
    """What the sheets of the client's pictures are made from, so that they are written anew when it changes."""
    from wareboard.book.prototypes.models import ColourTile

    rows = ClientPicture.objects.filter(commission=commission, put_away=None).order_by("kind")
    held = list(rows.values_list("kind", "file_id", "given"))
    fired = list(ColourTile.objects.filter(put_away=None).values_list("name", "fired", "raw", "coats")) if held else []
    return repr((held, fired))
