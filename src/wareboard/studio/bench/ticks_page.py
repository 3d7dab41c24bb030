"""Today's pencil ticks entered in one go, from the printed page."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from wareboard.book.boards import whole_sheet
from wareboard.book.boards.models import Board
from wareboard.book.boards.ticking import tick_off
from wareboard.studio.bench.entry_pages import Told, keep
from wareboard.studio.bench.jobs import Job
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.bench.today_page import TheDay, the_day
from wareboard.studio.context import who
from wareboard.studio.today import now


@dataclass(slots=True)
class Box:
    """One box to tick: a job on one board, or a job that belongs to none; what became of it."""

    job: Job
    board: Board | None
    told: list[Told] = field(default_factory=list)

    @property
    def name(self) -> str:
        """What the box is called in the form."""
        about = self.board.code if self.board else self.job.code
        return "-".join(part for part in ("do", about, self.job.kind, self.job.to, self.job.tick) if part).replace(
            " ", "_"
        )


@require_http_methods(["GET", "POST"])
def ticks(request: HttpRequest) -> HttpResponse:
    """Today's jobs as boxes; all that are ticked are kept at once, and can be undone at once."""
    day = the_day(request)
    boxes = _boxes(day)
    left = False
    if request.method == "POST":
        key = (request.POST.get("key") or fresh_key())[:24]
        kept = _enter(request, boxes, key)
        whole_sheet.note_sheet(key, "Ticks of Today", who(request), now())
        left = any(told.state in ("refused", "waits") for box in boxes for told in box.told)
        if kept:
            messages.success(request, f"{kept} kept.")
        if not left:
            return HttpResponseRedirect(reverse("bench-ticks"))
    context = {"at": "bench", "page": "paper", "boxes": boxes, "key": request.POST.get("key") or fresh_key()}
    return render(request, "bench/ticks.html", context, status=422 if left else 200)


def _boxes(day: TheDay) -> list[Box]:
    found = []
    for job in day.work.jobs:
        if job.boards and job.kind:
            found += [Box(job, board) for board in job.boards]
        elif job.tick:
            found.append(Box(job, None))
    return found


def _enter(request: HttpRequest, boxes: list[Box], key: str) -> int:
    kept = 0
    for number, box in enumerate(boxes):
        if request.POST.get(box.name) != "yes":
            continue
        if box.board is None:
            kept += _tick(request, box.job, f"{key}:t{number}")
            continue
        sent = {"kind": box.job.kind, "board": box.board.code, "to": box.job.to, "stage_seen": box.board.stage}
        told = keep(sent | {"sheet": key}, f"{key}:{box.board.code}:{box.job.kind}", who(request), confirmed=False)
        box.told.append(told)
        kept += told.state == "kept"
    return kept


def _tick(request: HttpRequest, job: Job, key: str) -> int:
    return int(not tick_off(key[:40], job.code, job.tick, "", who(request), now())[1])
