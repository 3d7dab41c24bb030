"""The mark's page and the painting's: the picture and its boxes, what comes of it, and its sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
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
from wareboard.named_file import MOST_BYTES
from wareboard.studio.kilns.boxes import told, troubles_of
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.paper_form import Trouble
from wareboard.studio.printed import pdf
from wareboard.studio.prototypes import worked
from wareboard.studio.prototypes.approval_pages import since_approval
from wareboard.studio.prototypes.picture_forms import MarkForm, OnAForm, PaintForm
from wareboard.studio.prototypes.which_form import Choice, art_address, choices, chosen, context_of

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan
    from wareboard.studio.commission_pages import Opened

FORMS: Mapping[str, type[OnAForm]] = {MARK: MarkForm, PAINTING: PaintForm}
MOVED = {
    "undo": "Undone.",
    "put-away": "Put away. It can be fetched back at any time.",
    "fetch-back": "Fetched back.",
}


def _opened(code: str, kind: str) -> Opened:
    from wareboard.studio.commission_pages import opened

    if kind not in FORMS:
        raise Http404
    return opened(code, "art")


@require_http_methods(["GET", "POST"])
def art(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """A form's picture, its boxes, and room for what comes of it."""
    page = _opened(code, kind)
    if page.plan is None:
        return render(request, "studio/no_plan.html", page.context())
    among = choices(page.commission, page.plan, kind)
    here = chosen(request, among)
    others = {each.name: each.held for each in among if each.held is not None and each is not here}
    if here.held is not None and here.held.same_as is not None:
        others.setdefault(here.held.same_as.form, here.held.same_as)
    troubles: list[Trouble] = []
    boxes = FORMS[kind](_given(here.held), others=tuple(others))
    if request.method == "POST":
        if request.POST.get("do"):
            return _moved(request, page, kind, here)
        boxes = FORMS[kind](request.POST, others=tuple(others))
        troubles = _kept(request, page.commission, kind, here, boxes, others)
        if not troubles:
            messages.success(request, f"Kept for {here.name}.")
            return HttpResponseRedirect(art_address(code, kind, here.name))
    ever = pictures.ever(page.commission, kind, here.name)
    context = page.context() | {
        "kind": kind, "boxes": boxes, "held": here.held, "troubles": troubles,
        "ready": here.held is not None and not troubles and not here.gone,
        "can_undo_art": here.held is not None and signing.can_undo(here.held),
        "can_redo_art": ever is not None and signing.can_redo(ever) is not None,
        "away": ever is not None and ever.put_away is not None,
        "file_name": pictures.file_of(here.held).name if here.held else "",
        **context_of(page.commission, kind, here, among),
    }  # fmt: skip
    return render(request, "prototypes/art.html", context, status=422 if troubles else 200)


def _given(held: ClientPicture | None) -> dict[str, Any] | None:
    """The boxes of a picture as they were typed, with whose drawing it is."""
    return {**held.given, "same_as": held.same_as.form if held.same_as else ""} if held else None


def _kept(
    request: HttpRequest,
    commission: Commission,
    kind: str,
    here: Choice,
    boxes: OnAForm,
    others: Mapping[str, ClientPicture],
) -> list[Trouble]:
    if not boxes.is_valid():
        return troubles_of(boxes)
    sent = request.FILES.get("picture")
    try:
        if sent is not None and (sent.size or 0) > MOST_BYTES:
            raise WareboardError(str(sent.name), "it is larger than 80 MB", "Send a smaller picture")
        data = (sent.read(), sent.name or kind) if sent is not None else None
        same_as = others.get(boxes.cleaned_data.get("same_as", ""))
        pictures.keep(commission, kind, here.name, data, boxes.typed(), by(request), same_as)
    except WareboardError as problem:
        return told(problem)
    return []


def _moved(request: HttpRequest, page: Opened, kind: str, here: Choice) -> HttpResponse:
    """Undo, redo, put away, fetch back, or keep for another form; then the page that shows it."""
    held = pictures.ever(page.commission, kind, here.name)
    if held is None:
        raise Http404
    back = here.name
    try:
        match request.POST["do"]:
            case "redo":
                signing.redo(held, by(request))
                messages.success(request, "Done again.")
            case "for":
                back = request.POST.get("for", "")
                if page.plan is None or back not in [form.name for form in page.plan.forms]:
                    raise Http404
                pictures.move(held, back, by(request))
                messages.success(request, f"Kept for {back}.")
            case other:
                if not signing.moved(held, other, by(request)):
                    raise Http404
                messages.success(request, MOVED[other])
    except WareboardError as problem:
        messages.error(request, str(problem))
        back = here.name
    gone = here.gone and pictures.standing(page.commission, kind, here.name) is None
    if gone and back == here.name:
        return HttpResponseRedirect(reverse("art", args=[page.commission.code, kind]))
    return HttpResponseRedirect(art_address(page.commission.code, kind, back))


@dataclass(frozen=True, slots=True)
class Found:
    """What came of a picture: the room's result, or why there is none."""

    made: Any
    trouble: str = ""


def found_of(plan: Plan, held: ClientPicture) -> Found:
    """The mark or the painting worked out, or what stands in the way."""
    boxes = FORMS[held.kind](held.given)
    if not boxes.is_valid():
        return Found(None, "; ".join(f"{each.label}: {each.words}" for each in troubles_of(boxes)))
    try:
        work: Callable[..., Any] = worked.mark_of if held.kind == MARK else worked.painting_of
        return Found(work(plan, held, boxes))
    except WareboardError as problem:
        return Found(None, str(problem))


def _asked(request: HttpRequest, code: str, kind: str) -> tuple[Opened, Plan, Choice, ClientPicture, list[Choice]]:
    """The commission, its plan, and the form asked for with its picture; a page that is not there without one."""
    page = _opened(code, kind)
    if page.plan is None:
        raise Http404
    among = choices(page.commission, page.plan, kind)
    here = chosen(request, among)
    if here.held is None:
        raise Http404
    return page, page.plan, here, here.held, among


@require_GET
def worked_out(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """What comes of the picture, as a part of its page; also a page of its own where no script runs."""
    page, plan, here, held, among = _asked(request, code, kind)
    found = found_of(plan, held)
    context = page.context() | {"kind": kind, "found": found.made, "trouble": found.trouble}
    context |= context_of(page.commission, kind, here, among)
    if found.made is not None:
        form = worked.form_named(plan, here.name)
        context |= _mark(found.made, form, plan) if kind == MARK else _painting(found.made, form)
    whole = not request.headers.get("HX-Request")
    return render(request, "prototypes/art_alone.html" if whole else f"prototypes/_{kind}.html", context)


def _mark(found: Any, form: FormPlan, plan: Plan) -> dict[str, Any]:
    from wareboard.mark.distortion import picture_svg
    from wareboard.plan.handwork import marks_a_piece

    carved, reckoned = len(found.places.places), marks_a_piece(form.form, plan.brief)
    # Both are drawn by ourselves, in numbers and our own words.
    return {
        "page_svg": mark_safe(found.pages[0].svg()),
        "give_svg": mark_safe(picture_svg(found.made.patch)),
        "carved": carved,
        "reckoned": reckoned,
        "hours_differ": carved != reckoned,
        "brief_has_a_mark": plan.brief.mark is not None,
    }


def _painting(found: Any, form: FormPlan) -> dict[str, Any]:
    from wareboard.paint.card_svg import map_svg
    from wareboard.paint.preview_svg import preview_svg
    from wareboard.sheets.painter_sheet import zone_rows

    svg, _, _ = map_svg(found.found, found.drawn, set(range(len(found.found.tiles))))
    preview = (
        "" if found.inside else preview_svg(found.found, found.laid, found.form, facing_share=0.5, left_bare=found.bare)
    )
    rows = [{**row, "hatch": mark_safe(row["hatch"])} for row in zone_rows(found)]
    by_coat = {each.coat: each for each in found.worked.coats}
    takes, reckoned = found.worked.minutes_piece, form.minutes.get("paint")
    coats = [(by_coat[coat], why) for coat, why in zip(found.order.coats, found.order.why, strict=True)]
    return {
        "map_svg": mark_safe(svg),
        "preview_svg": mark_safe(preview),
        "rows": rows,
        "coats": coats,
        "takes": takes,
        "reckoned": reckoned,
        "hours_differ": reckoned is None or not takes.low <= reckoned.value <= takes.high,
    }


@require_GET
def art_sheet(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """The mark's sheet or the painter's card, as PDF."""
    page, plan, here, held, _ = _asked(request, code, kind)
    made = next(iter(sheets_of(plan, [held])), None)
    if made is None:
        messages.error(request, "The sheet cannot be made yet: see below.")
        return HttpResponseRedirect(art_address(code, kind, here.name))
    name, (template, data) = made
    from wareboard.sheets.since_approval import told
    from wareboard.sheets.typesetting import typeset

    approval = told(since_approval(page.commission, plan))
    sheet = typeset(template, {**data, **approval}, plan.brief.due)
    return pdf(sheet, f"{code} {name.removesuffix('.pdf')}", framed=True)


def sheets_of(plan: Plan, held: Iterable[ClientPicture]) -> Iterator[tuple[str, tuple[str, Mapping[str, object]]]]:
    """File name, template and data of each sheet of the client's pictures; those that cannot be made are left out."""
    from wareboard.sheets.dossier import names_of_forms
    from wareboard.sheets.mark_sheet import mark_sheet
    from wareboard.sheets.painter_sheet import painter_sheet

    names = names_of_forms(plan)
    for each in sorted(held, key=lambda row: row.kind):
        found = found_of(plan, each).made
        if found is not None and each.kind == MARK:
            yield f"mark-{names[found.form]}.pdf", ("mark", mark_sheet(plan, found))
        elif found is not None:
            yield f"painters-card-{names[found.form]}.pdf", ("painter", painter_sheet(plan, found))


def print_of(commission: Commission) -> str:
    """What the sheets of the client's pictures are made from, so that they are written anew when it changes."""
    from wareboard.book.prototypes.models import ColourTile

    rows = pictures.all_of(commission)
    held = [(row.kind, row.form, pictures.file_of(row).pk, row.given) for row in rows]
    fired = list(ColourTile.objects.filter(put_away=None).values_list("name", "fired", "raw", "coats")) if held else []
    return repr((held, fired))
