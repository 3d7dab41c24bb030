"""Timers: long ones kept by their end, so that no locked screen and no closed browser stops them; short ones aloud."""

from __future__ import annotations

from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from wareboard.book.boards.models import LongTimer
from wareboard.errors import OutOfRange, WareboardError
from wareboard.quantities import duration_s
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.context import who
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import now

LONGEST_S = 14 * 86400.0
SHOWN_AFTER = timedelta(hours=12)
DWELLS_S = (2, 3, 4, 5, 8)
USUAL = (("Hold at the top", "15 min"), ("Soak of a cone", "30 min"), ("Candle", "2 h"), ("Rest of a glaze", "24 h"))


@require_http_methods(["GET", "POST"])
def timers(request: HttpRequest) -> HttpResponse:
    """The timers that run, those just over, a new one, and the dwell counter."""
    troubles = []
    if request.method == "POST":
        try:
            timer = _begun(request)
            messages.success(request, f"{timer.words}: set.")
            return HttpResponseRedirect(reverse("bench-timers"))
        except WareboardError as problem:
            troubles.append(Trouble(str(problem), "how-long", "How long"))
    moment = now()
    running = list(LongTimer.objects.filter(stopped=None, ends__gte=moment - SHOWN_AFTER).order_by("ends"))
    left = [max(0, round((each.ends - moment).total_seconds())) for each in running]
    context = {
        "at": "bench",
        "page": "timers",
        "timers": [(each, f"{each.ends.timestamp() * 1000:.0f}", s) for each, s in zip(running, left, strict=True)],
        "now_ms": f"{moment.timestamp() * 1000:.0f}",
        "again_s": min((s for s in left if s), default=0),
        "dwells": DWELLS_S,
        "usual": USUAL,
        "troubles": troubles,
        "key": fresh_key(),
        "sent": request.POST,
    }
    return render(request, "bench/timers.html", context, status=422 if troubles else 200)


def _begun(request: HttpRequest) -> LongTimer:
    usual = request.POST.get("usual", "")
    words, _, long = usual.partition("|")
    words = words or request.POST.get("words", "").strip() or "Timer"
    seconds = duration_s(long or request.POST.get("long", ""), "min")
    if not 1.0 <= seconds <= LONGEST_S:
        raise OutOfRange(f"{seconds:g} s", "a timer runs from 1 s to 14 days", "Write it like 45 min or 2 h")
    moment = now()
    timer, _ = LongTimer.objects.get_or_create(
        key=(request.POST.get("key") or fresh_key())[:40],
        defaults={
            "words": words[:60],
            "begun": moment,
            "ends": moment + timedelta(seconds=seconds),
            "who": who(request),
        },
    )
    return timer


@require_POST
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    """Stop a timer, or set it going again to the same end."""
    timer = get_object_or_404(LongTimer, pk=pk)
    again = request.POST.get("do") == "again"
    timer.stopped = None if again else now()
    timer.save(update_fields=["stopped"])
    messages.success(request, f"{timer.words}: {'running again' if again else 'stopped'}.")
    return HttpResponseRedirect(reverse("bench-timers"))
