"""Today: the page opened every morning, and the one sheet of paper that it prints as."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from wareboard.book.boards import history
from wareboard.book.boards.models import Given, Tick
from wareboard.book.boards.ticking import TOLD, tick_off
from wareboard.errors import WareboardError
from wareboard.studio.bench.board_pages import undo_bar
from wareboard.studio.bench.days_work import days_work
from wareboard.studio.bench.hours import DaysHours, hours_of
from wareboard.studio.bench.jobs import DaysWork, Job
from wareboard.studio.bench.owed import APPROVAL, DEPOSIT, Owed, messages_owed
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.bench.since_yesterday import Changes, changes
from wareboard.studio.bench.standing import InHand, all_in_hand
from wareboard.studio.bench.weighed_boards import weighed_boards
from wareboard.studio.context import door, who
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import now
from wareboard.studio.today import today as workshop_day

MOST_JOBS, MOST_WAITS, MOST_MESSAGES, MOST_STANDINGS = 40, 30, 12, 12
SAID = {TOLD: "client told", DEPOSIT: "deposit asked for", APPROVAL: "approval asked for"}


@dataclass(frozen=True, slots=True)
class TheDay:
    """Everything that Today says, for the screen and for paper."""

    moment: datetime
    there: list[InHand]
    work: DaysWork
    hours: DaysHours
    owed: list[Owed]
    changes: Changes
    ticks: list[Tick]


def moment_here() -> datetime:
    """This moment in the workshop's zone."""
    return timezone.localtime(now())


def the_day(request: HttpRequest | None = None) -> TheDay:
    """What is to be done today, by whom, what waits, what changed, what is owed."""
    moment = moment_here()
    there = all_in_hand(moment)
    ticks = list(Tick.objects.filter(undone=None, commission__put_away=None).select_related("commission"))
    weighed = weighed_boards(board for each in there for board in each.boards)
    work = days_work(there, {(tick.commission.code, tick.what) for tick in ticks}, moment, weighed)
    given = dict(Given.objects.filter(day=moment.date()).order_by("pk").values_list("job", "person"))
    hours = hours_of(work, there, given, moment.date())
    theirs = request is None or door(request)["role"] == "potter"
    owed = [] if not theirs else messages_owed(there, ticks, moment)  # they name clients and prices
    return TheDay(moment, there, work, hours, owed, changes(there, moment), ticks)


@require_GET
def today(request: HttpRequest) -> HttpResponse:
    """What to do today and in which order, what waits, what changed since yesterday, messages owed."""
    day = the_day(request)
    whole = "all" in request.GET
    jobs = day.work.jobs if whole else day.work.jobs[:MOST_JOBS]
    _link(jobs)
    troubled = [each for each in day.there if each.trouble or any(form.course != "on course" for form in each.forms)]
    in_trouble = {each.commission.pk for each in troubled}
    shown = troubled if whole else troubled[:MOST_STANDINGS]
    context = {
        "at": "bench",
        "page": "today",
        "day": day.moment.date(),
        "there": day.there,
        "jobs": jobs,
        "jobs_left": len(day.work.jobs) - len(jobs),
        "does_not_fit": next((job for job in jobs if not job.fits), None),
        "hours": day.hours,
        "people": [share.name for share in day.hours.shares],
        "waits": day.work.waits if whole else day.work.waits[:MOST_WAITS],
        "waits_left": 0 if whole else max(0, len(day.work.waits) - MOST_WAITS),
        "owed": day.owed if whole else day.owed[:MOST_MESSAGES],
        "owed_left": 0 if whole else max(0, len(day.owed) - MOST_MESSAGES),
        "behind": day.work.behind,
        "changes": day.changes,
        "stands": shown,
        "stands_left": len(troubled) - len(shown),
        "on_course": [each for each in day.there if each.commission.pk not in in_trouble and each.course is not None],
        "settle": history.waiting().count(),
        "just_ticked": _just_ticked(day),
        **undo_bar(request),
    }
    return render(request, "bench/today.html", context)


def _just_ticked(day: TheDay) -> list[tuple[Tick, str]]:
    """What was ticked off since yesterday, in words, to be taken back."""
    lately = [tick for tick in day.ticks if tick.written >= day.moment - timedelta(hours=24)]
    return [(tick, SAID.get(tick.what) or f"{tick.what.removeprefix('mix-')} mixed") for tick in lately]


def _link(jobs: tuple[Job, ...]) -> None:
    """Where a glaze is mixed in the glaze book, how a load stands on its shelves, where its firing is written down."""
    from wareboard.book.firings.recording import slug_of
    from wareboard.book.glazes.models import GlazeRecipe

    mixes = [job for job in jobs if job.tick.startswith("mix-")]
    recipes = {}
    if mixes:
        for key, name in GlazeRecipe.objects.filter(put_away=None).values_list("pk", "name"):
            recipes[name.casefold()] = key
    for job in mixes:
        name = job.what.removeprefix("Weigh out, mix and sieve ").casefold()
        job.link = reverse("glaze-mix", args=[recipes[name]]) if name in recipes else reverse("glazes")
        job.link_words = "Weigh it out in the glaze book"
    for job in jobs:
        if job.kind == "load" and "|" in job.link:
            kiln, kind, cone, number = job.link.split("|")
            if int(number):
                job.shelves = reverse("moved-load", args=[job.code, kind, int(number)])
            asked = urlencode({"kind": kind, "cone": cone, "commission": job.code})
            job.link = f"{reverse('new-firing', args=[slug_of(kiln)])}?{asked}"
            job.link_words = "Begin its firing record"


@require_GET
def today_paper(request: HttpRequest) -> HttpResponse:
    """Today on one sheet of paper, with boxes to tick and the boards' codes."""
    from wareboard.sheets.bench_today import today_sheet
    from wareboard.studio.bench.today_paper import sheet_of

    day = the_day(request)
    sheet = today_sheet(sheet_of(day), day.moment.date(), paper_of(request))
    return pdf(sheet, f"today {day.moment.date()}", framed=True)


@require_POST
def give(request: HttpRequest) -> HttpResponse:
    """Give a job of today to a person, or take it back."""
    job, person = request.POST.get("job", "")[:120], request.POST.get("person", "").strip()[:80]
    if job:
        Given.objects.create(day=workshop_day(), job=job, person=person, who=who(request), written=now())
        messages.success(request, f"Given to {person}." if person else "Whoever is free does it.")
    return HttpResponseRedirect(reverse("bench-today"))


@require_POST
def tick(request: HttpRequest) -> HttpResponse:
    """Tick off what belongs to no board: a glaze mixed, a client told."""
    sent = request.POST
    key = (sent.get("key") or fresh_key())[:40]
    try:
        tick_off(key, sent.get("commission", ""), sent.get("what", ""), sent.get("detail", ""), who(request), now())
        messages.success(request, "Ticked off.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(reverse("bench-today"))


@require_POST
def untick(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a tick back."""
    found = get_object_or_404(Tick, pk=pk)
    found.undone = now()
    found.save(update_fields=["undone"])
    messages.success(request, "The tick is taken back.")
    return HttpResponseRedirect(reverse("bench-today"))
