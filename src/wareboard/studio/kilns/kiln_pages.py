"""All kilns at a glance, one kiln with its firings and trends, and the record of parts changed."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.firings import kiln_names, recording, signing
from wareboard.book.firings.models import PARTS, KeptFile, PartsChange
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.errors import WareboardError
from wareboard.studio.context import who
from wareboard.studio.drawing import drawing
from wareboard.studio.kilns import boxes, degrees, known_kilns
from wareboard.studio.kilns.page import page
from wareboard.studio.kilns.standing import standing_of
from wareboard.studio.kilns.trend_plot import charts
from wareboard.studio.today import now, today


def by(request: HttpRequest) -> Signed:
    """Who writes, and when."""
    return Signed(who(request), now())


class PartsForm(forms.Form):
    """What was changed, and when."""

    part = forms.ChoiceField(label="Part", choices=PARTS)
    day = boxes.day("Day")
    resistance_ohm = boxes.number("New elements, ohm, cold", "As measured by the electrician.", "14.4", 0.1, 1000.0)
    notes = forms.CharField(label="Notes", required=False, max_length=200)


@require_GET
def overview(request: HttpRequest) -> HttpResponse:
    """Every kiln: firings since parts were changed, evenness, offset, drift, ONE next change, elements."""
    there, trouble = known_kilns.workshop()
    found = [standing_of(kiln, there.firing) for kiln in known_kilns.known_kilns()]
    return page(
        request,
        "kilns/overview.html",
        {
            "at": "kilns",
            "standings": found,
            "troubles": boxes.told(trouble) if trouble else [],
            "loads_of": [
                (each, reverse("moved-load", args=[each.code, "glaze", 1]))
                for each in Commission.objects.filter(put_away=None)
            ],
        },
    )


@require_GET
def one_kiln(request: HttpRequest, slug: str) -> HttpResponse:
    """One kiln: how it stands, the last ten firings as charts, every firing, parts changed, what was put away."""
    return _shown(request, slug, PartsForm(initial={"day": today()}))


@require_POST
def parts(request: HttpRequest, slug: str) -> HttpResponse:
    """Keep that a part was changed."""
    kiln, form = known_kilns.kiln_at(slug), PartsForm(request.POST)
    if not form.is_valid():
        return _shown(request, slug, form, status=422)
    made = recording.keep_parts(kiln.recorded(by(request)), form.cleaned_data, by(request))
    messages.success(request, f"{made.get_part_display()} changed after firing {made.after_firing}: kept.")
    return HttpResponseRedirect(reverse("one-kiln", args=[slug]))


@require_POST
def parts_move(request: HttpRequest, slug: str, pk: int, move: str) -> HttpResponse:
    """Put a change of parts away, or fetch it back."""
    change = get_object_or_404(PartsChange, pk=pk, kiln__slug=slug)
    moves = {"put-away": (signing.put_away, "Put away"), "fetch-back": (signing.fetch_back, "Fetched back")}
    if move not in moves:
        raise Http404
    does, words = moves[move]
    does(change, words, by(request))
    messages.success(
        request, f"{words}: {change.get_part_display().lower()} changed after firing {change.after_firing}."
    )
    return HttpResponseRedirect(reverse("one-kiln", args=[slug]))


@require_http_methods(["GET", "HEAD"])
def kept_file(request: HttpRequest, pk: int) -> HttpResponse:
    """A file as it is kept: a photograph to look at, a logger's file to take out."""
    file = get_object_or_404(KeptFile, pk=pk)
    picture = file.kind.startswith("image/")
    response = HttpResponse(
        recording.content_of(file), content_type=file.kind if picture else "application/octet-stream"
    )
    if not picture:
        plain = "".join(letter if letter.isalnum() or letter in "-_. " else "-" for letter in file.name)
        response["Content-Disposition"] = f'attachment; filename="{plain.encode("ascii", "replace").decode()}"'
    response["Cache-Control"] = "private, max-age=86400"
    return response


def _shown(request: HttpRequest, slug: str, form: PartsForm, status: int = 200) -> HttpResponse:
    from wareboard.studio.kilns import name_pages

    kiln = known_kilns.kiln_at(slug)
    there, _ = known_kilns.workshop()
    standing = standing_of(kiln, there.firing)
    context = {
        "at": "kilns",
        "standing": standing,
        "kiln": kiln,
        "charts": [(each, drawing(each.svg)) for each in charts(standing.fired, degrees.chosen(request))],
        "parts_form": form,
        "troubles": boxes.troubles_of(form) if form.is_bound else [],
    }
    context["formerly"] = (
        kiln_names.formerly(kiln.name, kiln.record, known_kilns.names_in_file()) if kiln.in_file else []
    )
    if kiln.record is not None:
        line = [each for each, _ in kiln_names.line_of(kiln.record)]
        context |= {
            "firings": [row for each in reversed(line) for row in each.firings.filter(put_away=None)],
            "put_away": [row for each in reversed(line) for row in each.firings.exclude(put_away=None)],
            "parts": [row for each in reversed(line) for row in each.parts_changes.all()],
            "line": line,
            "can_undo": name_pages.can_undo(kiln.record),
            "can_redo": signing.can_redo(kiln.record) is not None,
        }
    return page(request, "kilns/one_kiln.html", context, status)


def failed(request: HttpRequest, problem: WareboardError) -> None:
    """Say what is wrong at the head of the next page."""
    for trouble in boxes.told(problem):
        messages.error(request, trouble.words)
