"""What the records teach: all of it, one figure with everything behind it, times by hand, what the next plan makes of it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.firings import signing
from wareboard.book.firings.signing import Signed
from wareboard.book.learning import acting
from wareboard.book.learning.figures import Figure, marks
from wareboard.book.learning.minutes import by_people
from wareboard.book.learning.models import HandTime, LeftOut, NewLot
from wareboard.errors import WareboardError
from wareboard.studio import own_figures, plans, workshop_file
from wareboard.studio.context import who
from wareboard.studio.drawing import drawing
from wareboard.studio.learned.costs import price_now
from wareboard.studio.learned.drawing import figure_svg
from wareboard.studio.learned.forms import LotForm, TimeForm
from wareboard.studio.learned.shown import grouped, records, shown
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import now, today
from wareboard.studio.words import figure_in_unit

MOST_TIMES = 200


def by(request: HttpRequest) -> Signed:
    """Who writes, and when."""
    return Signed(who(request), now())


def figures() -> list[Figure]:
    """Every figure of which there is a record."""
    return own_figures.figures_now(today(), workshop_file.text())


@require_GET
def learned(request: HttpRequest) -> HttpResponse:
    """Everything learned, kind by kind; where nothing is, what to record."""
    found = figures()
    context = {
        "at": "learned",
        "page": "learned",
        "groups": grouped(found),
        "any": bool(found),
        "left_out": LeftOut.objects.filter(put_away=None).count(),
    }
    return render(request, "learned/learned.html", context)


@require_http_methods(["GET", "POST"])
def one_figure(request: HttpRequest, key: str) -> HttpResponse:
    """One figure: usual, records and what is held now, drawn and in a table; records left out or put back; a new lot."""
    found = _figure(key)
    lot_form = LotForm(initial={"day": today()})
    if request.method == "POST":
        try:
            done = _acted(request, found, lot_form)
        except WareboardError as problem:
            messages.error(request, str(problem))
            done = HttpResponseRedirect(reverse("learned-figure", args=[key]))
        if done is not None:
            return done
        lot_form = LotForm(request.POST)
    return render(request, "learned/figure.html", _context(found, lot_form), status=422 if lot_form.is_bound else 200)


def _figure(key: str) -> Figure:
    if key == "price.cost_ratio":
        return price_now(plans.basis())
    found = next((each for each in figures() if each.key == key), None)
    if found is None:
        raise Http404
    return found


def _acted(request: HttpRequest, found: Figure, lot_form: LotForm) -> HttpResponse | None:
    """What was asked, done; None where the form of a new lot is wrong."""
    asked, record = request.POST.get("do", ""), request.POST.get("record", "")
    if asked == "leave-out":
        _of_this(found, record)
        acting.leave_out(record, request.POST.get("why", ""), by(request))
        messages.success(request, "Left out; it stands below, and one tap counts it again.")
    elif asked == "put-back":
        _of_this(found, record)
        acting.put_back(record, by(request))
        messages.success(request, "It counts again.")
    elif asked == "new-lot":
        bound = LotForm(request.POST)
        if not bound.is_valid():
            return None
        acting.new_lot(found.key, bound.cleaned_data["day"], bound.cleaned_data["name"], by(request))
        messages.success(request, "Begun afresh; the records before it are kept and shown.")
    elif asked == "no-new-lot" and found.lot is not None:
        acting.no_new_lot(get_object_or_404(NewLot, pk=found.lot.pk), by(request))
        messages.success(request, "Taken back: the records before it count again.")
    else:
        raise Http404
    return HttpResponseRedirect(reverse("learned-figure", args=[found.key]))


def _of_this(found: Figure, record: str) -> None:
    if record not in {each.record for each in found.seen}:
        raise Http404


def _context(found: Figure, lot_form: LotForm) -> dict[str, Any]:
    def words(value: float) -> str:
        return figure_in_unit(value, found.unit, found.key)

    learned_now, alone = found.learned, found.learned.own
    people = by_people(found, marks(today())) if found.group == "minutes" else []
    return {
        "at": "learned",
        "shown": shown(found),
        "said": learned_now.words.partition(": ")[2] or learned_now.words,
        "figure": found,
        "records": records(found),
        "svg": drawing(figure_svg(found)),
        "alone": (words(alone.value), f"{words(alone.low)} to {words(alone.high)}") if alone else None,
        "following": (
            words(learned_now.next.value),
            f"{words(learned_now.next.low)} to {words(learned_now.next.high)}",
        ),
        "people": [
            (name, words(each.mean.value), f"{words(each.mean.low)} to {words(each.mean.high)}")
            for name, each in people
        ],
        "steps": learned_now.steps,
        "lot_form": lot_form,
        "can_leave_out": not found.key.startswith("overage."),
    }


@require_http_methods(["GET", "POST"])
def times(request: HttpRequest) -> HttpResponse:
    """Times written down by hand: a form of five boxes, and those kept."""
    form = TimeForm(initial={"day": today(), "person": who(request)})
    troubles: list[Trouble] = []
    if request.method == "POST":
        form = TimeForm(request.POST)
        if form.is_valid():
            try:
                kept = acting.write_time(form.sat(), by(request))
            except WareboardError as problem:
                troubles = [Trouble(str(problem))]
            else:
                messages.success(request, f"Kept: {kept.pieces} in {kept.minutes:g} min.")
                return HttpResponseRedirect(reverse("learned-times"))
    rows = HandTime.objects.all()[:MOST_TIMES]
    names = dict(form.fields["task"].choices)  # type: ignore[attr-defined]
    context = {
        "at": "learned",
        "page": "times",
        "form": form,
        "troubles": troubles,
        "rows": [(row, names.get(row.task, row.task)) for row in rows],
    }
    wrong = bool(troubles) or (form.is_bound and not form.is_valid())
    return render(request, "learned/times.html", context, status=422 if wrong else 200)


@require_POST
def time_move(request: HttpRequest, pk: int, move: str) -> HttpResponse:
    """A time put away or fetched back."""
    row = get_object_or_404(HandTime, pk=pk)
    moves = {"put-away": (signing.put_away, "Put away"), "fetch-back": (signing.fetch_back, "Fetched back")}
    if move not in moves:
        raise Http404
    does, words = moves[move]
    does(row, words, by(request))
    messages.success(request, f"{words}: {row}.")
    return HttpResponseRedirect(reverse("learned-times"))
