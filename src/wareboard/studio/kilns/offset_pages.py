"""Offsets of every thermocouple by level, the records that they are learned from, and which of those count."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from wareboard.book.firings import kiln_names, reckoning, signing
from wareboard.book.firings.models import ConeReading
from wareboard.book.firings.offsets import MOST_COUNTED, ByThermocouple, offsets
from wareboard.studio.kilns import known_kilns, standing
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.kilns.page import page


@require_GET
def kiln_offsets(request: HttpRequest, slug: str) -> HttpResponse:
    """What each level says more than each thermocouple, with its spread, and every record behind it."""
    kiln = known_kilns.kiln_at(slug)
    found: list[ByThermocouple] = []
    if kiln.record is not None:
        found = offsets(kiln.name, reckoning.firings_of(kiln.record), kiln.record.counted)
    context: dict[str, Any] = {
        "at": "kilns",
        "kiln": kiln,
        "every": found,
        "counted": kiln.record.counted if kiln.record else 0,
        "most": MOST_COUNTED,
        "care": standing.CARE,
    }
    return page(request, "kilns/offsets.html", context)


@require_POST
def count_firings(request: HttpRequest, slug: str) -> HttpResponse:
    """Say from how many firings offsets are learned."""
    kiln = known_kilns.kiln_at(slug)
    if kiln.record is None:
        raise Http404
    written = request.POST.get("counted", "").strip()
    if written.isdecimal() and 1 <= int(written) <= MOST_COUNTED:
        count = int(written)
        words = f"Offsets learned from the last {count} firing{'' if count == 1 else 's'}"
        signing.change(kiln.record, {"counted": count}, words, by(request))
        messages.success(request, f"{words} that tell.")
    else:
        messages.error(
            request, f"“{written[:20]}” firings cannot count: write a whole number from 1 to {MOST_COUNTED}."
        )
    return HttpResponseRedirect(reverse("kiln-offsets", args=[slug]))


@require_POST
def count_reading(request: HttpRequest, slug: str, pk: int, move: str) -> HttpResponse:
    """Leave one level's pack of one firing out of what is learned, or put it back."""
    kiln = known_kilns.kiln_at(slug)
    line = [each for each, _ in kiln_names.line_of(kiln.record)] if kiln.record else []
    row = get_object_or_404(ConeReading.objects.select_related("firing"), pk=pk, firing__kiln__in=line)
    if move not in ("leave-out", "put-back"):
        raise Http404
    out = move == "leave-out"
    words = f"Cones on {row.level} {'left out of the offsets' if out else 'count for the offsets again'}"
    signing.change(row, {"left_out": out}, words, by(request))
    messages.success(request, f"Firing {row.firing.number}: {words[0].lower()}{words[1:]}.")
    return HttpResponseRedirect(reverse("kiln-offsets", args=[slug]) + f"#reading-{pk}")
