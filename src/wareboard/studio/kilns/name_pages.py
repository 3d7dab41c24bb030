"""Asking whether a kiln is one that was called something else before; joining its records, parting them, undoing it."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from wareboard.book.firings import kiln_names, signing
from wareboard.book.firings.models import Kiln
from wareboard.errors import WareboardError
from wareboard.studio.kilns import known_kilns
from wareboard.studio.kilns.kiln_pages import by, failed


@require_POST
def name_move(request: HttpRequest, slug: str, move: str) -> HttpResponseRedirect:
    """Say that this kiln is the one formerly called so, or that it is none of them; part it again; undo and redo."""
    kiln = known_kilns.kiln_at(slug)
    try:
        match move:
            case "same":
                earlier = get_object_or_404(Kiln, slug=request.POST.get("formerly", ""))
                made = kiln_names.join(kiln.name, earlier, by(request))
                messages.success(
                    request, f"{kiln.name} and {earlier.name} are one kiln now; nothing was changed in the firings."
                )
                return HttpResponseRedirect(reverse("one-kiln", args=[made.slug]))
            case "another":
                asked = kiln_names.formerly(kiln.name, kiln.record, known_kilns.names_in_file())
                made = kiln_names.say_apart(kiln.name, kiln.slug, asked, by(request))
                messages.success(request, f"{kiln.name} is kept as a kiln of its own.")
                return HttpResponseRedirect(reverse("one-kiln", args=[made.slug]))
            case "part" if kiln.record is not None:
                kiln_names.part(kiln.record, by(request))
                messages.success(request, "The records are parted again; Undo joins them.")
            case "undo" | "redo" if kiln.record is not None:
                does = signing.undo if move == "undo" else signing.redo
                if move == "undo" and not can_undo(kiln.record):
                    raise Http404
                does(kiln.record, by(request))
                last = signing.history(kiln.record).first()
                messages.success(request, f"{last.why}." if last else "Done.")
            case _:
                raise Http404
    except WareboardError as problem:
        failed(request, problem)
    record = Kiln.objects.filter(slug=slug).first()
    return HttpResponseRedirect(reverse("one-kiln", args=[record.slug if record else slug]))


def can_undo(record: Kiln) -> bool:
    """Whether a change of the kiln's record can be undone; that it was begun is none."""
    last = signing.history(record).filter(undoes=None, undone=False).first()
    return last is not None and last.before is not None
