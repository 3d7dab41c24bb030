"""The workshop's own page: kilns, people, prices, losses and times, and its history; and a backup to take away."""

from __future__ import annotations

import tempfile
from pathlib import Path

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book import keeping
from wareboard.book.models import Paper
from wareboard.errors import Problems, WareboardError
from wareboard.plan.reading import read_workshop
from wareboard.studio import workshop_file
from wareboard.studio.brief_fields import WORKSHOP_PARTS
from wareboard.studio.context import who
from wareboard.studio.editing import change_tables, conflict_with, draft_of
from wareboard.studio.history import changed_lines
from wareboard.studio.paper_form import PaperForm, Trouble
from wareboard.studio.paper_text import PaperText
from wareboard.studio.today import now, today


def _moves(paper: Paper) -> dict[str, object]:
    return {
        "at": "workshop",
        "version": paper.current,
        "can_undo": keeping.can_undo(paper),
        "can_redo": keeping.can_redo(paper),
    }


@require_http_methods(["GET", "POST"])
def workshop(request: HttpRequest) -> HttpResponse:
    """The workshop's boxes, and keeping what was typed in them."""
    paper = workshop_file.paper(now())
    version = paper.current
    assert version is not None
    base = request.POST.get("draft", "").replace("\r\n", "\n") or version.text
    try:
        posted = request.POST.dict() if request.method == "POST" else {}
        form = PaperForm(WORKSHOP_PARTS, PaperText(base), posted)
    except WareboardError as problem:
        messages.error(request, str(problem))
        return HttpResponseRedirect(reverse("workshop-text"))
    seen = int(request.POST["seen"]) if request.POST.get("seen", "").isdecimal() else version.pk
    conflict = None
    if request.method == "POST":
        asked = request.POST.get("do", "accept")
        if asked.startswith(("add:", "away:")) and not form.own_troubles:
            change_tables(form, asked)
        elif not form.own_troubles:
            try:
                read_workshop(form.text)
                return _kept(request, paper, form.text, seen)
            except keeping.ChangedMeanwhile as problem:
                conflict, seen = conflict_with(problem.now, seen), problem.now.pk
            except WareboardError as problem:
                form.tell(problem)
    context = {**_moves(paper), "form": form, "seen": seen, "draft": draft_of(form), "conflict": conflict}
    return render(request, "studio/workshop.html", context, status=409 if conflict else 422 if form.troubles else 200)


@require_http_methods(["GET", "POST"])
def workshop_text(request: HttpRequest) -> HttpResponse:
    """The workshop's file as plain text."""
    paper = workshop_file.paper(now())
    version = paper.current
    assert version is not None
    text, seen, troubles, conflict = version.text, version.pk, [], None
    if request.method == "POST":
        text = request.POST.get("text", "").replace("\r\n", "\n")
        seen = int(request.POST["seen"]) if request.POST.get("seen", "").isdecimal() else version.pk
        try:
            read_workshop(text)
            return _kept(request, paper, text, seen)
        except keeping.ChangedMeanwhile as problem:
            conflict, seen = conflict_with(problem.now, seen), problem.now.pk
        except WareboardError as problem:
            troubles = [
                Trouble(str(each), "brief-text", "The workshop’s text")
                for each in (problem.problems if isinstance(problem, Problems) else (problem,))
            ]
    context = {**_moves(paper), "text": text, "seen": seen, "troubles": troubles, "conflict": conflict}
    return render(request, "studio/workshop_text.html", context, status=409 if conflict else 422 if troubles else 200)


@require_GET
def workshop_history(request: HttpRequest) -> HttpResponse:
    """Every version of the workshop's file."""
    paper = workshop_file.paper(now())
    versions = list(paper.versions.select_related("parent"))
    for version in versions:
        version.changes = changed_lines(version.parent.text if version.parent else "", version.text)  # type: ignore[attr-defined]
    return render(request, "studio/workshop_history.html", {**_moves(paper), "versions": versions})


@require_POST
def workshop_move(request: HttpRequest, move: str) -> HttpResponse:
    """Undo, redo or bring back; the file follows."""
    paper = workshop_file.paper(now())
    try:
        match move:
            case "undo":
                version = keeping.undo(paper)
            case "redo":
                version = keeping.redo(paper)
            case "bring-back":
                number = request.POST.get("number", "")
                wanted = int(number) if number.isdecimal() else 0
                version = keeping.bring_back(paper, wanted, who=who(request), when=now())
            case _:
                raise Http404
        workshop_file.put(version)
        messages.success(request, f"Now at version {version.number} ({version.why}).")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(reverse("workshop"))


@require_GET
def download_backup(request: HttpRequest) -> HttpResponse:
    """All records and the workshop's file in one zip."""
    from wareboard.book.backup import back_up

    with tempfile.TemporaryDirectory() as room:
        file = back_up(settings.WAREBOARD.folder, Path(room) / "backup.zip")
        response = HttpResponse(file.read_bytes(), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="wareboard-{today():%Y-%m-%d}.zip"'
    return response


def _kept(request: HttpRequest, paper: Paper, text: str, seen: int) -> HttpResponse:
    reason = request.POST.get("why", "").strip() or "Changed in the studio"
    version = keeping.write(paper, text, seen=seen, why=reason, who=who(request), when=now())
    workshop_file.put(version)
    messages.success(request, "Nothing was changed." if version.pk == seen else f"Kept as version {version.number}.")
    return HttpResponseRedirect(reverse("workshop"))
