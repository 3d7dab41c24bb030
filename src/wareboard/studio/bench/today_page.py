"""Today: the page opened every morning, printable on one page."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from wareboard.book.boards import history
from wareboard.book.boards.models import Entry, Tick
from wareboard.book.models import Commission, Version
from wareboard.studio.bench.board_pages import undo_bar
from wareboard.studio.bench.days_work import days_work, message_for
from wareboard.studio.bench.entry_words import words_of
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.bench.standing import InHand, all_in_hand
from wareboard.studio.context import who
from wareboard.studio.today import now
from wareboard.studio.today import today as workshop_day

MOST_CHANGES = 12
TOLD = "told"


def moment_here() -> datetime:
    """This moment in the workshop's zone, on the day that the settings name if they name one."""
    here = timezone.localtime(now())
    return datetime.combine(workshop_day(), here.time(), here.tzinfo)


@require_GET
def today(request: HttpRequest) -> HttpResponse:
    """What to do today and in which order, what waits, what changed since yesterday, messages owed."""
    moment = moment_here()
    there = all_in_hand(moment)
    ticks = list(Tick.objects.filter(undone=None, commission__put_away=None).select_related("commission"))
    ticked = {(tick.commission.code, tick.what) for tick in ticks}
    work = days_work(there, ticked, moment)
    entries, more = _changed(moment)
    context = {
        "at": "bench",
        "page": "today",
        "day": moment.date(),
        "there": there,
        "jobs": work.jobs,
        "waits": work.waits,
        "messages_owed": _owed(there, ticks),
        "changes": [(each, words_of(each)) for each in entries],
        "changes_left": more,
        "versions": _versions(moment),
        "settle": history.waiting().count(),
        "just_ticked": [tick for tick in ticks if tick.written >= moment - timedelta(hours=24)],
        **undo_bar(request),
    }
    return render(request, "bench/today.html", context)


def _yesterday(moment: datetime) -> datetime:
    return datetime.combine(moment.date() - timedelta(days=1), time(0), moment.tzinfo)


def _changed(moment: datetime) -> tuple[list[Entry], int]:
    """The latest entries since yesterday, and how many more there are."""
    found = history.since(_yesterday(moment))
    return list(found[:MOST_CHANGES]), max(0, found.count() - MOST_CHANGES)


def _versions(moment: datetime) -> list[Version]:
    found = Version.objects.filter(written__gte=_yesterday(moment), number__gt=1, paper__kind="brief")
    return list(found.select_related("paper__commission").order_by("-written")[:MOST_CHANGES])


def _owed(there: list[InHand], ticks: list[Tick]) -> list[tuple[InHand, date, str]]:
    found = []
    for each in there:
        told = [tick.detail for tick in ticks if tick.what == TOLD and tick.commission_id == each.commission.pk]
        owed = message_for(each, date.fromisoformat(max(told)) if told else None)
        if owed is not None:
            found.append((each, *owed))
    return found


@require_POST
def tick(request: HttpRequest) -> HttpResponse:
    """Tick off what belongs to no board: a glaze mixed, a client told."""
    commission = get_object_or_404(Commission, code=request.POST.get("commission", ""))
    what, detail = request.POST.get("what", "")[:80], request.POST.get("detail", "")[:80]
    if not what:
        return HttpResponseRedirect(reverse("bench-today"))
    if what == TOLD:
        try:
            date.fromisoformat(detail)
        except ValueError:
            messages.error(request, "That is not a day to have told.")
            return HttpResponseRedirect(reverse("bench-today"))
    Tick.objects.get_or_create(
        key=(request.POST.get("key") or fresh_key())[:40],
        defaults={"commission": commission, "what": what, "detail": detail, "who": who(request), "written": now()},
    )
    messages.success(request, "Ticked off.")
    return HttpResponseRedirect(reverse("bench-today"))


@require_POST
def untick(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a tick back."""
    found = get_object_or_404(Tick, pk=pk)
    found.undone = now()
    found.save(update_fields=["undone"])
    messages.success(request, "The tick is taken back.")
    return HttpResponseRedirect(reverse("bench-today"))
