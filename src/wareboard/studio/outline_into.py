"""An outline put into a form of a commission that stands: old and new section together, what changes, asked once."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_http_methods

from wareboard.book import keeping
from wareboard.book.models import Commission, Version
from wareboard.errors import Unreadable, WareboardError
from wareboard.plan.slug import slug
from wareboard.studio import plans, words
from wareboard.studio.drawing import drawing
from wareboard.studio.editing import Conflict, accepted, conflict_with
from wareboard.studio.history import commission_of, current_of, moves
from wareboard.studio.kilns.boxes import told
from wareboard.studio.outline_board import HandleSizes, Row, pairs_of, plain_board, sent_handle, sent_rows
from wareboard.studio.outline_sources import SOURCES, taken_in
from wareboard.studio.paper_text import PaperText
from wareboard.studio.ripple import Ripple, ripple

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan

# With a profile these say nothing more, and would be named in a notice where they differ.
GIVE_WAY = ("height", "rim", "foot", "belly")


@dataclass(frozen=True, slots=True)
class Before:
    """One measure of the form before and after."""

    name: str
    before: str
    after: str
    before_range: str = ""
    after_range: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """What putting the outline in would change."""

    text: str
    drawing: SafeString
    measures: list[Before]
    ripple: Ripple

    @property
    def mark(self) -> str:
        """What the text that was looked at goes by, so that nothing is put in that was not."""
        return hashlib.sha256(self.text.encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Place:
    """A form of a commission that an outline can go into."""

    key: str
    words: str


def places() -> list[Place]:
    """Every form of the commissions in hand, the newest commission first."""
    found: list[Place] = []
    for commission in Commission.objects.filter(put_away__isnull=True).select_related("paper__current"):
        if commission.paper.current is not None:
            names = _names(commission.paper.current.text)
            found += [Place(f"{commission.code}/{slug(name)}", f"{commission}: {name}") for name in names if name]
    return found


@require_http_methods(["GET", "POST"])
def form_outline(request: HttpRequest, code: str, form: str) -> HttpResponse:
    """Take an outline in from a drawing or a table, correct it, see what it changes, and put it into the form."""
    return put_into(request, code, form)


def into_chosen(request: HttpRequest) -> HttpResponse:
    """The points that were sent, shown beside the form that was chosen for them.

    Raises:
        Unreadable: if no form that stands was chosen.
    """
    code, _, form = request.POST.get("into", "").partition("/")
    try:
        return put_into(request, code, form)
    except Http404:
        raise Unreadable(
            "no form", "none was chosen, or it is there no longer", "Choose the form to put it into"
        ) from None


def put_into(request: HttpRequest, code: str, form: str) -> HttpResponse:
    """The page of `form_outline`, also for points that were sent from another page."""
    commission = commission_of(code)
    version = current_of(commission)
    number, name = _numbered(version.text, form)
    asked, seen = request.POST.get("do", ""), _seen(request, version)
    source = request.POST.get("from", "")
    context: dict[str, Any] = {
        **moves(commission), "at": "commissions", "page": "forms", "form": form, "name": name, "seen": version.pk,
        "rows": [], "troubles": [], "from": source, "radii": request.POST.get("radii", ""),
        "tall": request.POST.get("tall", ""), "why": request.POST.get("why", ""), "handle": sent_handle(request),
    }  # fmt: skip
    try:
        context["rows"] = rows = sent_rows(request)
        if asked in ("drawing", "table"):
            found = taken_in(request, asked)
            context |= {"rows": (rows := found.rows), "notes": found.notes, "from": (source := asked)}
        if rows or asked in ("show", "accept", "into"):
            context["change"] = change = _changed(version, number, name, rows, source, sent_handle(request))
            context["moved"] = asked == "accept" and request.POST.get("looked") != change.mark
            if asked == "accept" and not context["moved"]:
                return accepted(request, commission, change.text, seen, f"Outline of {name} from {_words(source)}")
    except keeping.ChangedMeanwhile as problem:
        conflict: Conflict = conflict_with(problem.now, seen)
        context |= {"conflict": conflict, "seen": problem.now.pk}
    except WareboardError as problem:
        context["troubles"] = told(problem)
    context["plain"] = plain_board(context["rows"])
    status = 409 if context.get("conflict") else 422 if context["troubles"] else 200
    return render(request, "studio/form_outline.html", context, status=status)


def _seen(request: HttpRequest, version: Version) -> int:
    written = request.POST.get("seen", "")
    return int(written) if written.isdecimal() and len(written) < 18 else version.pk


def _words(source: str) -> str:
    return SOURCES.get(source, "a drawing")


def _names(text: str) -> list[str]:
    """The names of a brief's forms, in order; none where the text cannot be read."""
    try:
        forms = PaperText(text).plain.get("forms")
    except WareboardError:
        return []
    tables = forms if isinstance(forms, list) else []
    return [str(each.get("name", "piece")) if isinstance(each, dict) else "" for each in tables]


def _numbered(text: str, form: str) -> tuple[int, str]:
    """Which of the brief's forms has that short key, from 0, and its name."""
    for number, name in enumerate(_names(text)):
        if name and slug(name) == form:
            return number, name
    raise Http404


def with_outline(
    text: str, number: int, pairs: list[tuple[float, float]], source: str, handle: HandleSizes | None = None
) -> str:
    """A brief's text in which one form has the outline, and no longer the sizes that an outline makes needless.

    The sizes of a handle that is wanted come in too; what else the brief says of it stays.

    Raises:
        Unreadable: if the text is laid out so that the change would not read back.
    """
    paper = PaperText(text)
    for key in GIVE_WAY:
        paper.put(("forms", number, key), "")
    paper.put_pairs(("forms", number, "profile"), pairs, f"From {_words(source)}; confirm it by the prototype.")
    for key, size in (handle.fields if handle else {}).items():
        paper.put(("forms", number, "handle", key), size)
    return paper.text()


def _changed(
    version: Version, number: int, name: str, rows: list[Row], source: str, handle: HandleSizes | None
) -> Change:
    """What the outline changes.

    Raises:
        WareboardError: with what is wrong in the points, or what the plan cannot do with them.
    """
    from wareboard.form.compared import compared_svg
    from wareboard.plan.reading import read_brief

    text = with_outline(version.text, number, pairs_of(rows), source, handle)
    on = plans.basis().for_paper(version.paper_id)
    read_brief(text, plans.workshop_of(on), own=on.own)
    after = plans.plan_of(text, on)
    before = _plan_or_none(version.text, on)
    new, old = after.forms[number], before.forms[number] if before else None
    title = f"{name}, fired: the section as it would be, filled" + ("; as it is, in dashes" if old else "")
    return Change(
        text,
        drawing(compared_svg(new.profile, old.profile if old else None, title)),
        list(_measures(old, new, after.length_unit)),
        ripple(before, after),
    )


def _plan_or_none(text: str, on: plans.Basis) -> Plan | None:
    try:
        return plans.plan_of(text, on)
    except WareboardError:
        return None


def _measures(old: FormPlan | None, new: FormPlan, lengths: str) -> Iterator[Before]:
    """Height, mouth, greatest width, foot, what it holds and weighs, fired, before and after."""

    def length(value: float) -> str:
        return words.with_unit(value, "mm", lengths)

    names = ("Height", "Mouth", "Greatest width", "Foot")
    for name, key in zip(names, ("height_mm", "rim_mm", "widest_mm", "foot_mm"), strict=True):
        yield Before(name, length(getattr(old.profile, key)) if old else "", length(getattr(new.profile, key)))
    for name, key, unit in (("Holds, to the brim", "capacity", "ml"), ("Weighs, fired", "fired_weight", "g")):
        (was, was_range), (now, now_range) = (_spread(each, key, unit) for each in (old, new))
        yield Before(name, was, now, was_range, now_range)
    yield Before("Ball", *(words.with_unit(each.ball_g, "g") if each else "" for each in (old, new)))


def _spread(form: FormPlan | None, key: str, unit: str) -> tuple[str, str]:
    if form is None:
        return "", ""
    found = getattr(form.vessel, key)
    low, high = (words.with_unit(each, unit) for each in (found.low, found.high))
    return words.with_unit(found.value, unit), f"{low} to {high}"
