"""Changing a brief: by its boxes, with the ripple shown before it is accepted, or as plain text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from wareboard.book import keeping
from wareboard.book.models import Commission, Version
from wareboard.errors import Problems, WareboardError
from wareboard.plan.reading import read_brief
from wareboard.studio import plans
from wareboard.studio.brief_fields import BRIEF_PARTS
from wareboard.studio.context import WHO_COOKIE, asked_of, writer
from wareboard.studio.history import changed_lines, commission_of, current_of, moves
from wareboard.studio.looks import A_YEAR_S
from wareboard.studio.naming import name_in
from wareboard.studio.paper_form import PaperForm, Trouble
from wareboard.studio.paper_text import PaperText
from wareboard.studio.ripple import Ripple, ripple
from wareboard.studio.today import now

if TYPE_CHECKING:
    from wareboard.plan.result import Plan


@dataclass(slots=True)
class Conflict:
    """Another version came while this one was being typed: which, and what it changed."""

    version: Version
    changes: list[tuple[str, str]]


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def edit(request: HttpRequest, code: str) -> HttpResponse:
    """The boxes of the brief, what was typed, and the ripple of it."""
    commission = commission_of(code)
    version = current_of(commission)
    if request.method == "GET":
        try:
            form = PaperForm(BRIEF_PARTS, PaperText(version.text))
        except WareboardError as problem:
            messages.error(request, str(problem))
            return HttpResponseRedirect(reverse("edit-text", args=[code]))
        return _page(request, commission, form, version.pk, None)
    return _posted(request, commission, version)


def _posted(request: HttpRequest, commission: Commission, version: Version) -> HttpResponse:
    draft = request.POST.get("draft", "").replace("\r\n", "\n") or version.text
    try:
        form = PaperForm(BRIEF_PARTS, PaperText(draft), request.POST.dict())
    except WareboardError:  # the draft is ours; if it was tampered with, begin from the version
        form = PaperForm(BRIEF_PARTS, PaperText(version.text), request.POST.dict())
    asked = asked_of(request)
    seen = _number(request.POST.get("seen")) or version.pk
    if asked.startswith(("add:", "away:")) and not form.own_troubles:
        change_tables(form, asked)
        return _page(request, commission, form, seen, None)
    change = _looked_at(form, version)
    if asked != "accept" or form.troubles:
        return _page(request, commission, form, seen, change)
    try:
        return accepted(request, commission, form.text, seen, "Changed by its boxes")
    except keeping.ChangedMeanwhile as problem:
        conflict = conflict_with(problem.now, seen)
        return _page(request, commission, form, problem.now.pk, change, conflict)


def change_tables(form: PaperForm, asked: str) -> None:
    """Add a table to one of the page's arrays, or take one out; one that is added stands open."""
    what, _, key = asked.partition(":")
    key, _, number = key.partition(":")
    part = next((part for part in form.parts if part.many and part.key == key), None)
    if part is None:
        return
    if what == "add":
        form.fresh = (key, form.paper.add(key, dict(part.first)))
    elif number.isdecimal() and int(number) < len(form.paper.plain.get(key, [])):
        form.paper.take_away(key, int(number))
    form.fill()


def _looked_at(form: PaperForm, version: Version) -> Ripple | None:
    """The ripple of what was typed; what is wrong goes beside its box."""
    if form.own_troubles:
        return None
    on = plans.basis().for_paper(version.paper_id)
    try:
        text = form.text
        read_brief(text, plans.workshop_of(on), own=on.own)
        after = plans.plan_of(text, on)
    except WareboardError as problem:
        form.tell(problem)
        return None
    try:
        return ripple(plans.plan_of(version.text, on), after)
    except WareboardError:  # the old one could not be planned, so there is nothing to set the new one against
        return ripple(None, after)


def accepted(request: HttpRequest, commission: Commission, text: str, seen: int, why: str) -> HttpResponse:
    """The text written as the commission's next version, and the way back to its answers.

    Raises:
        ChangedMeanwhile: if another version came after the one that was ``seen``.
    """
    author = writer(request)
    reason = request.POST.get("why", "").strip() or why
    version = keeping.write(commission.paper, text, seen=seen, why=reason, who=author, when=now())
    keeping.rename(commission, name_in(text))
    plans.headline_of(version, plans.basis())
    if version.pk == seen:
        messages.info(request, "Nothing was changed.")
    else:
        messages.success(request, f"Kept as version {version.number}. It can be undone.")
    response = HttpResponseRedirect(reverse("answers", args=[commission.code]))
    response.set_cookie(WHO_COOKIE, quote(author), max_age=A_YEAR_S, samesite="Lax", httponly=True)
    return response


def conflict_with(now_there: Version, seen: int) -> Conflict:
    base = Version.objects.filter(pk=seen, paper=now_there.paper_id).first()
    return Conflict(now_there, changed_lines(base.text if base else "", now_there.text))


def _page(
    request: HttpRequest,
    commission: Commission,
    form: PaperForm,
    seen: int,
    change: Ripple | None,
    conflict: Conflict | None = None,
) -> HttpResponse:
    context = {
        **moves(commission),
        "form": form,
        "seen": seen,
        "ripple": change,
        "conflict": conflict,
        "at": "commissions",
        "page": "edit",
        "draft": draft_of(form),
        "why": request.POST.get("why", ""),
    }
    if getattr(request, "htmx", False):
        return render(request, "studio/_ripple.html", context)
    status = 409 if conflict else 422 if form.troubles else 200
    return render(request, "studio/edit.html", context, status=status)


def draft_of(form: PaperForm) -> str:
    try:
        return form.paper.text()
    except WareboardError:
        return ""


@require_http_methods(["GET", "POST"])
def edit_text(request: HttpRequest, code: str) -> HttpResponse:
    """The whole brief as plain text, with what is wrong by line."""
    commission = commission_of(code)
    version = current_of(commission)
    text, seen, troubles, conflict = version.text, version.pk, [], None
    change = None
    if request.method == "POST":
        text = request.POST.get("text", "").replace("\r\n", "\n")
        seen = _number(request.POST.get("seen")) or version.pk
        try:
            on = plans.basis().for_paper(version.paper_id)
            read_brief(text, plans.workshop_of(on), own=on.own)
            if request.POST.get("do") == "accept":
                return accepted(request, commission, text, seen, "Changed as plain text")
            change = ripple(_plan_or_none(version.text, on), plans.plan_of(text, on))
        except keeping.ChangedMeanwhile as problem:
            conflict, seen = conflict_with(problem.now, seen), problem.now.pk
        except WareboardError as problem:
            troubles = [
                Trouble(str(each), "brief-text", "The brief's text")
                for each in (problem.problems if isinstance(problem, Problems) else (problem,))
            ]
    context = {
        **moves(commission),
        "text": text,
        "seen": seen,
        "troubles": troubles,
        "conflict": conflict,
        "ripple": change,
        "at": "commissions",
        "page": "edit",
        "why": request.POST.get("why", ""),
    }
    status = 409 if conflict else 422 if troubles else 200
    return render(request, "studio/edit_text.html", context, status=status)


def _plan_or_none(text: str, on: plans.Basis) -> Plan | None:
    try:
        return plans.plan_of(text, on)
    except WareboardError:
        return None


def _number(written: str | None) -> int | None:
    return int(written) if written and written.isdecimal() and len(written) < 18 else None
