"""A study of the gauge: two people measure the same pieces twice each; the page says whether they read alike."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from wareboard.book.firings import signing
from wareboard.book.firings.signing import Signed
from wareboard.book.measures.models import GaugeReadings
from wareboard.book.measures.what import CHARTED, KNOWN, WEIGHT, What
from wareboard.errors import WareboardError
from wareboard.studio.bench.measure_reading import read_value
from wareboard.studio.context import who
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import now
from wareboard.studio.today import today as workshop_day

if TYPE_CHECKING:
    from wareboard.book.reckoning.gauge_study import GaugeStudy

PIECES, REPEATS, PEOPLE = 5, 2, 2
MOST_SHOWN = 12


@dataclass(slots=True)
class Grid:
    """The form as it was typed: names, and a text for each person, piece and repeat."""

    what: What = KNOWN["height"]
    people: list[str] = field(default_factory=lambda: ["", ""])
    span: str = ""
    cells: list[list[list[str]]] = field(default_factory=list)
    troubles: list[Trouble] = field(default_factory=list)

    @property
    def rows(self) -> list[tuple[int, list[tuple[int, int, str]]]]:
        """By piece: its number, and the person, repeat and text of each box."""
        return [
            (piece + 1, [(p, r, self.cells[p][piece][r]) for p in range(PEOPLE) for r in range(REPEATS)])
            for piece in range(PIECES)
        ]


@require_http_methods(["GET", "POST"])
def gauge(request: HttpRequest) -> HttpResponse:
    """The form of a study, and the studies so far."""
    grid = Grid(cells=[[[""] * REPEATS for _ in range(PIECES)] for _ in range(PEOPLE)])
    if request.method == "POST":
        record = _taken(request, grid)
        if record is not None:
            return HttpResponseRedirect(reverse("bench-gauge-study", args=[record.pk]))
    context = {
        "at": "bench",
        "page": "measure",
        "grid": grid,
        "whats": [KNOWN[each] for each in CHARTED],
        "studies": GaugeReadings.objects.filter(put_away=None)[:MOST_SHOWN],
        "troubles": grid.troubles,
    }
    return render(request, "bench/gauge.html", context, status=422 if grid.troubles else 200)


def _taken(request: HttpRequest, grid: Grid) -> GaugeReadings | None:
    """The study kept; None with what is wrong beside its box."""
    sent = request.POST
    grid.what = KNOWN.get(sent.get("what", ""), KNOWN["height"])
    grid.people = [sent.get(f"person-{p}", "").strip()[:40] for p in range(PEOPLE)]
    grid.span = sent.get("span", "").strip()[:20]
    for p, name in enumerate(grid.people):
        if not name:
            grid.troubles.append(Trouble("Each needs a name.", f"person-{p}", f"Person {p + 1}"))
    grid.cells = [
        [[sent.get(f"r-{p}-{n}-{r}", "").strip()[:20] for r in range(REPEATS)] for n in range(PIECES)]
        for p in range(PEOPLE)
    ]
    pieces = [n for n in range(PIECES) if any(grid.cells[p][n][r] for p in range(PEOPLE) for r in range(REPEATS))]
    readings = [[[_number(grid, p, n, r) for r in range(REPEATS)] for n in pieces] for p in range(PEOPLE)]
    span = _span(grid)
    if grid.troubles:
        return None
    try:
        study_of(readings, grid.people, span, grid.what)
    except WareboardError as problem:
        grid.troubles.append(Trouble(str(problem), "r-0-0-0", "The readings"))
        return None
    made = GaugeReadings(
        what=grid.what.name, people=grid.people, readings=readings, agreed_span=span, day=workshop_day()
    )
    return signing.begin(made, "Gauge study", Signed(who(request), now()))


def _number(grid: Grid, person: int, piece: int, repeat: int) -> float:
    try:
        return read_value(grid.what.name, grid.cells[person][piece][repeat])
    except WareboardError as problem:
        where = f"{grid.people[person] or f'Person {person + 1}'}, piece {piece + 1}"
        grid.troubles.append(Trouble(str(problem), f"r-{person}-{piece}-{repeat}", where))
        return 0.0


def _span(grid: Grid) -> float | None:
    """Highest less lowest agreed: what was typed as plus or minus, doubled; None where the box is empty."""
    if not grid.span:
        return None
    try:
        return 2.0 * read_value(WEIGHT if grid.what.unit == "g" else "height", grid.span.lstrip("±+/- "))
    except WareboardError as problem:
        grid.troubles.append(Trouble(str(problem), "span", "Agreed"))
        return None


def study_of(readings: list[list[list[float]]], people: list[str], span: float | None, known: What) -> GaugeStudy:
    """What the readings say of the measuring."""
    from wareboard.book.reckoning.gauge_study import gauge_study

    return gauge_study(readings, people, span, known.unit)


@require_http_methods(["GET", "POST"])
def study(request: HttpRequest, pk: int) -> HttpResponse:
    """What one study says; put away and fetched back by a tap."""
    record = get_object_or_404(GaugeReadings, pk=pk)
    if request.method == "POST":
        by = Signed(who(request), now())
        away = record.put_away is None
        signing.put_away(record, "Put away", by) if away else signing.fetch_back(record, "Fetched back", by)
        messages.success(request, "Put away; nothing of it is lost." if away else "Fetched back.")
        return HttpResponseRedirect(reverse("bench-gauge-study", args=[pk]))
    known = KNOWN[record.what]
    found = study_of(record.readings, record.people, record.agreed_span, known)
    rows = [
        (piece + 1, [known.show(value) for person in record.readings for value in person[piece]])
        for piece in range(len(record.readings[0]))
    ]
    context = {"at": "bench", "page": "measure", "record": record, "known": known, "study": found, "rows": rows}
    return render(request, "bench/gauge_study.html", context)
