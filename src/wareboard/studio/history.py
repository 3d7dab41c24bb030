"""A commission's history: every version, undo and redo, bringing an old one back, a copy, putting away, taking out."""

from __future__ import annotations

import difflib

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from wareboard.book import keeping
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission, Version
from wareboard.book.prototypes import pictures
from wareboard.errors import WareboardError
from wareboard.studio import sections
from wareboard.studio.context import who
from wareboard.studio.naming import name_in
from wareboard.studio.today import now


def commission_of(code: str) -> Commission:
    """The commission of that code, with its current version; 404 where there is none."""
    found = get_object_or_404(Commission.objects.select_related("paper__current"), code=code)
    if found.paper.current is None:
        raise Http404
    return found


def current_of(commission: Commission) -> Version:
    """The version that counts now."""
    if commission.paper.current is None:
        raise Http404
    return commission.paper.current


def moves(commission: Commission) -> dict[str, object]:
    """What undo and redo would do, for a page's buttons."""
    return {
        "commission": commission,
        "version": commission.paper.current,
        "can_undo": keeping.can_undo(commission.paper),
        "can_redo": keeping.can_redo(commission.paper),
        "commission_sections": sections.named(None),
    }


@require_GET
def history(request: HttpRequest, code: str) -> HttpResponse:
    """Every version, newest first, each with what changed in it."""
    commission = commission_of(code)
    versions = list(commission.paper.versions.select_related("parent"))
    for version in versions:
        version.changes = changed_lines(version.parent.text if version.parent else "", version.text)  # type: ignore[attr-defined]
    return render(
        request,
        "studio/history.html",
        {**moves(commission), "versions": versions, "at": "commissions", "page": "history"},
    )


@require_GET
def one_version(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """The whole text of one version."""
    commission = commission_of(code)
    version = get_object_or_404(commission.paper.versions, number=number)
    return render(
        request,
        "studio/one_version.html",
        {**moves(commission), "shown": version, "at": "commissions", "page": "history"},
    )


@require_POST
def move(request: HttpRequest, code: str, move: str) -> HttpResponse:
    """Undo, redo, bring back, copy, put away or fetch back; then the page that shows it."""
    commission = commission_of(code)
    back = reverse("answers", args=[code])
    try:
        match move:
            case "undo":
                _said(request, commission, keeping.undo(commission.paper), "Undone: back at")
            case "redo":
                _said(request, commission, keeping.redo(commission.paper), "Done again: now at")
            case "bring-back":
                number = request.POST.get("number", "")
                wanted = int(number) if number.isdecimal() else 0
                _said(
                    request,
                    commission,
                    keeping.bring_back(commission.paper, wanted, who=who(request), when=now()),
                    "Now at",
                )
            case "copy":
                text = current_of(commission).text
                copied = keeping.new_commission(
                    text, f"{commission.name} (copy)", why=f"Copied from {code}", who=who(request), when=now()
                )
                pictures.copy_all(commission, copied, f"Copied from {code}", Signed(who(request), now()))
                messages.success(request, f"A copy is kept as {copied.code}.")
                back = reverse("edit", args=[copied.code])
            case "put-away":
                keeping.put_away(commission, now())
                messages.success(request, f"{commission.name} is put away. It can be fetched back at any time.")
                back = reverse("commissions")
            case "fetch-back":
                keeping.fetch_back(commission)
                messages.success(request, f"{commission.name} is on the list again.")
            case _:
                raise Http404
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(back)


@require_GET
def export(request: HttpRequest, code: str) -> HttpResponse:
    """The brief's file."""
    commission = commission_of(code)
    response = HttpResponse(current_of(commission).text, content_type="application/toml; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{commission.code}.toml"'
    return response


def changed_lines(before: str, after: str) -> list[tuple[str, str]]:
    """The lines taken out ("was") and put in ("now") between two texts."""
    found = []
    for line in difflib.unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0):
        if line.startswith(("---", "+++", "@@")) or not line[1:].strip():
            continue
        found.append(("was" if line[0] == "-" else "now", line[1:]))
    return found


def _said(request: HttpRequest, commission: Commission, version: Version, words: str) -> None:
    keeping.rename(commission, name_in(version.text))
    messages.success(request, f"{words} version {version.number} ({version.why}).")
