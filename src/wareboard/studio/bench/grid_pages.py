"""A paper form of readings, and the grid on which its pencil marks are entered in one go; undone in one go from Paper."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from wareboard.book.boards import whole_sheet
from wareboard.book.measures import measuring
from wareboard.book.measures.what import CHARTED, KNOWN, What
from wareboard.studio.bench.entry_pages import Told, keep
from wareboard.studio.bench.measure_pages import Chosen, chosen_from
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.context import who
from wareboard.studio.paper_form import Trouble
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import now
from wareboard.studio.today import today as workshop_day

ROWS, MOST_ROWS = 12, 60


@dataclass(slots=True)
class Cell:
    """One box: what it measures, what was typed, and what became of it."""

    what: What
    name: str
    text: str = ""
    told: Told | None = None

    @property
    def wrong(self) -> bool:
        return self.told is not None and self.told.state in ("asked", "refused")


@dataclass(slots=True)
class Row:
    """One piece of the form; ``confirmed`` that what was asked about is right."""

    number: int
    piece: str
    cells: list[Cell] = field(default_factory=list)
    confirmed: bool = False

    @property
    def asked(self) -> bool:
        return any(cell.told and cell.told.state == "asked" for cell in self.cells)

    @property
    def words(self) -> list[str]:
        return [cell.told.words for cell in self.cells if cell.told and cell.wrong]


@require_http_methods(["GET", "POST"])
def grid(request: HttpRequest, code: str) -> HttpResponse:
    """A row a piece, a column a size: all entered at once, whatever is wrong told beside it, everything typed kept."""
    chosen = chosen_from(request, code)
    rows = [_row(request, number) for number in range(1, _how_many(request) + 1)]
    key = (request.POST.get("key") or fresh_key())[:24]
    troubles: list[Trouble] = []
    if request.method == "POST":
        kept = _enter(request, rows, chosen, key)
        words, so_far = f"{chosen.form} measured, {chosen.stage}", measuring.how_many_of_sheet(key)
        whole_sheet.note_sheet(key, words, who(request), now(), so_far)
        troubles = [
            Trouble(cell.told.words, cell.name, f"Piece {row.piece}, {cell.what.words.lower()}")
            for row in rows
            for cell in row.cells
            if cell.told and cell.wrong
        ]
        if kept:
            messages.success(request, f"{kept} reading{'' if kept == 1 else 's'} kept.")
        if kept and not troubles:
            return HttpResponseRedirect(f"{reverse('bench-measure-grid', args=[code])}?{chosen.address}")
    context = {
        "at": "bench",
        "page": "measure",
        "there": chosen.there,
        "chosen": chosen,
        "whats": [KNOWN[each] for each in CHARTED],
        "rows": rows,
        "troubles": troubles,
        "key": key,
    }
    return render(request, "bench/measure_grid.html", context, status=422 if troubles else 200)


def _how_many(request: HttpRequest) -> int:
    asked = request.POST.get("rows") or request.GET.get("rows", "")
    return min(MOST_ROWS, max(1, int(asked))) if asked.isdecimal() and len(asked) < 4 else ROWS


def _row(request: HttpRequest, number: int) -> Row:
    sent = request.POST
    piece = sent.get(f"piece-{number}", "").strip()[:20] or str(number)
    cells = [Cell(KNOWN[name], f"{name}-{number}", sent.get(f"{name}-{number}", "").strip()[:40]) for name in CHARTED]
    return Row(number, piece, cells, sent.get(f"confirmed-{number}") == "yes")


def _enter(request: HttpRequest, rows: list[Row], chosen: Chosen, key: str) -> int:
    """How many readings were kept; a cell sent again with the same page is kept once."""
    writer, kept = who(request), 0
    for row in rows:
        for cell in row.cells:
            if not cell.text:
                continue
            sent = {
                "kind": "measure",
                "commission": chosen.there.commission.code,
                "form": chosen.form,
                "stage": chosen.stage,
                "board": chosen.board.code if chosen.board else "",
                "what": cell.what.name,
                "value": cell.text,
                "piece": row.piece,
                "sheet": key,
            }
            cell.told = keep(sent, f"{key}:{cell.name}"[:40], writer, row.confirmed)
            kept += cell.told.state == "kept"
    return kept


@require_GET
def paper(request: HttpRequest, code: str) -> HttpResponse:
    """The empty form to be filled with a pencil, its columns those of the grid."""
    from wareboard.sheets.bench_paper import readings_form

    chosen = chosen_from(request, code)
    columns = [f"{KNOWN[name].words}, {KNOWN[name].shown}" for name in CHARTED]
    about = f"{chosen.form}, {chosen.stage}; {chosen.there.commission.code} {chosen.there.commission.name}"
    return pdf(readings_form(about, columns, workshop_day(), paper_of(request)), "readings", framed=True)
