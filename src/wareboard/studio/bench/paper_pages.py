"""Paper for the bench, and the page on which its pencil marks are entered in one go."""

from __future__ import annotations

from dataclasses import dataclass, field
from urllib.parse import urlsplit

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.boards import shelves, whole_sheet
from wareboard.book.boards.codes import INCISED, SCHEMES, chosen, on_the_ware, read_code
from wareboard.book.boards.models import BenchChoice, Board, KeptSheet
from wareboard.book.boards.stages import ORDER, STAGES, WORDS, next_stage, reasons_at
from wareboard.book.measures.measuring import take_back_sheet
from wareboard.errors import WareboardError
from wareboard.studio.bench import labelled
from wareboard.studio.bench.entry_pages import Told, keep
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.bench.standing import InHand, all_in_hand
from wareboard.studio.context import who
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import now, today

MOST_TAGS, MOST_LABELS = 120, 400
MARKS = ("lost", "why", "part", "count", "grams", "unwrap", "turn", "move", "shelf", "note")


@dataclass(slots=True)
class Row:
    """One board on the tally: where it stands, what comes next, what was marked, and what became of it."""

    board: Board
    following: str
    marks: dict[str, str] = field(default_factory=dict)
    told: list[Told] = field(default_factory=list)

    @property
    def asked(self) -> Told | None:
        return next((each for each in self.told if each.state == "asked"), None)

    @property
    def troubles(self) -> list[Told]:
        return [each for each in self.told if each.state in ("refused", "waits")]

    @property
    def reasons(self) -> tuple[str, ...]:
        return reasons_at(self.board.stage)


@require_GET
def paper(request: HttpRequest) -> HttpResponse:
    """What can be printed for the bench, sheets entered in one go, and how codes and labels are made."""
    from wareboard.sheets.bench_labels import SIZES

    base = base_address(request)
    context = {
        "at": "bench",
        "page": "paper",
        "tags": [
            (each.commission, f"{reverse('bench-tags')}?commission={each.commission.code}")
            for each in all_in_hand(now())
            if each.boards
        ],
        "entered": whole_sheet.latest_sheets(),
        "schemes": SCHEMES.items(),
        "scheme": chosen("codes") or INCISED,
        "shelves": shelves.how_many(),
        "sizes": SIZES.values(),
        "base": base,
        "only_here": (urlsplit(base).hostname or "") in ("localhost", "127.0.0.1", "::1"),
    }
    return render(request, "bench/paper.html", context)


def base_address(request: HttpRequest) -> str:
    """The address that codes to scan begin with: the one that was chosen, else the one this page was opened by."""
    return chosen("address") or request.build_absolute_uri("/").rstrip("/")


@require_POST
def choose(request: HttpRequest) -> HttpResponse:
    """Keep how codes are made, how many shelves there are, and the address that codes to scan begin with."""
    as_it_is = {"codes": INCISED, "shelves": str(shelves.how_many()), "address": base_address(request)}
    for name in as_it_is:
        written = request.POST.get(name)
        if written is None or (written := written.strip().rstrip("/")) == (chosen(name) or as_it_is[name]):
            continue
        trouble = _no_choice(name, written)
        if trouble:
            messages.error(request, trouble)
            continue
        BenchChoice.objects.create(name=name, value=written[:200], who=who(request), written=now())
        messages.success(request, "Kept.")
    return HttpResponseRedirect(reverse("bench-paper"))


def _no_choice(name: str, written: str) -> str:
    if name == "codes" and written not in SCHEMES:
        return "That is no way of making codes."
    if name == "shelves" and not (written.isdecimal() and 0 < int(written) <= shelves.MOST_SHELVES):
        return f"{written!r} is no number of shelves: write 1 to {shelves.MOST_SHELVES}."
    if name == "address" and written:
        parts = urlsplit(written)
        if parts.scheme not in ("http", "https") or not parts.hostname or parts.path or parts.query:
            return f"{written!r} is no address: write it like https://workshop.local:8471."
    return ""


@require_GET
def things(request: HttpRequest) -> HttpResponse:
    """Labels for boards, buckets, shelves and kilns, each with the address of its page to scan."""
    from wareboard.sheets.bench_labels import SIZES, label_sheet

    asked = request.GET.getlist("what") or list(labelled.KINDS)
    labels = labelled.labels_for(asked, base_address(request), all_in_hand(now()) if "boards" in asked else [])
    size = next((each for each in SIZES if each == request.GET.get("size", "middle")), None)
    if not labels or size is None:
        raise Http404
    page = paper_of(request)
    return pdf(label_sheet(labels[:MOST_LABELS], size, today(), page), "labels", framed=True)


@require_POST
def undo_whole(request: HttpRequest, pk: int) -> HttpResponse:
    """Every entry of a sheet taken back in one go."""
    sheet = get_object_or_404(KeptSheet, pk=pk)
    measured = take_back_sheet(sheet.key, who(request), now())
    undone = whole_sheet.undo_sheet(sheet, who(request), now())
    count = undone.count + measured
    messages.success(request, f"{count} entr{'y' if count == 1 else 'ies'} undone.")
    for words in undone.left:
        messages.error(request, words)
    return HttpResponseRedirect(reverse("bench-paper"))


@require_GET
def begin_form(request: HttpRequest) -> HttpResponse:
    """The empty form for boards that are put up, its columns those of the grid."""
    from wareboard.sheets.bench_paper import boards_form

    there = all_in_hand(now())
    known = [f"{each.commission.code}: {', '.join(each.names)}" for each in there]
    return pdf(boards_form(known, list(STAGES), today(), paper_of(request)), "boards put up", framed=True)


@require_GET
def tags(request: HttpRequest) -> HttpResponse:
    """Tags for the boards asked for, or for all of a commission, or for all that stand."""
    from wareboard.sheets.bench_paper import BoardTag, board_tags

    there = all_in_hand(now())
    wanted = {_plain(code) for code in request.GET.getlist("board")}
    commission = request.GET.get("commission", "")
    found = []
    for each in there:
        for board in each.boards:
            if (wanted and board.code not in wanted) or (commission and each.commission.code != commission):
                continue
            stages = each.stages(board.form)
            found.append(
                BoardTag(
                    on_the_ware(board.code),
                    board.form,
                    f"{each.commission.code} {each.commission.name}",
                    board.pieces,
                    board.stage,
                    stages,
                    sum(ORDER[stage] <= ORDER[board.stage] for stage in stages),
                    base_address(request) + reverse("bench-board", args=[board.code]),
                )
            )
    if not found:
        raise Http404
    return pdf(board_tags(found[:MOST_TAGS], today(), paper_of(request)), "board tags", framed=True)


def _plain(code: str) -> str:
    try:
        return read_code(code)
    except WareboardError:
        return ""


@require_GET
def tally(request: HttpRequest) -> HttpResponse:
    """The tally form with every board that stands."""
    from wareboard.sheets.bench_paper import TallyRow, tally_form

    rows = _rows(all_in_hand(now()))
    reasons = dict.fromkeys(reason for row in rows for reason in row.reasons)
    lines = [
        TallyRow(
            row.board.code,
            row.board.form,
            row.board.commission.code,
            row.board.pieces,
            row.board.stage + (f", {row.board.state}" if row.board.state else ""),
            row.following,
        )
        for row in rows
    ]
    return pdf(
        tally_form(lines, list(reasons) or list(reasons_at("thrown")), today(), paper_of(request)),
        "bench tally",
        framed=True,
    )


def _rows(there: list[InHand]) -> list[Row]:
    return [
        Row(board, next_stage(board.stage, each.stages(board.form)) or "")
        for each in there
        for board in each.boards
        if next_stage(board.stage, STAGES)
    ]


@require_http_methods(["GET", "POST"])
def marks(request: HttpRequest) -> HttpResponse:
    """The tally as a form: everything marked on paper entered in one go."""
    rows = _rows(all_in_hand(now()))
    if request.method == "POST":
        kept, left = _enter(request, rows)
        whole_sheet.note_sheet(request.POST.get("key", "")[:24], "Marks of the tally", who(request), now())
        if kept:
            messages.success(request, f"{kept} entr{'y' if kept == 1 else 'ies'} kept.")
        if not left:
            return HttpResponseRedirect(reverse("bench-marks"))
    key = request.POST.get("key") or fresh_key()
    context = {"at": "bench", "page": "paper", "rows": rows, "key": key, "words": WORDS}
    left_over = any(row.asked or row.troubles for row in rows)
    return render(request, "bench/marks.html", context, status=422 if left_over else 200)


def _enter(request: HttpRequest, rows: list[Row]) -> tuple[int, bool]:
    """How many entries were kept, and whether any is asked about, waits or was refused."""
    key, writer, kept = request.POST.get("key", ""), who(request), 0
    for row in rows:
        code = row.board.code
        row.marks = {name: request.POST.get(f"{code}-{name}", "").strip() for name in MARKS}
        confirmed = request.POST.get(f"{code}-confirmed") == "yes"
        for name, sent in _sent(row):
            told = _trouble_with(sent) or keep(
                {"board": code, "sheet": key[:24]} | sent, f"{key[:24]}:{code}:{name}", writer, confirmed
            )
            row.told.append(told)
            kept += told.state == "kept"
    return kept, any(row.asked or row.troubles for row in rows)


def _trouble_with(sent: dict[str, str]) -> Told | None:
    """A shelf that there is not; a number becomes the shelf's name."""
    if sent["kind"] == "shelve":
        try:
            sent["place"] = shelves.place_meant(sent["place"])
        except WareboardError as problem:
            return Told("refused", str(problem))
    return None


def _sent(row: Row) -> list[tuple[str, dict[str, str]]]:
    """What was marked for one board, in the order in which it can only have happened: the move comes last."""
    marked, found = row.marks, []
    stage = {"stage_seen": row.board.stage}
    if marked["grams"]:
        found.append(("weigh", {"kind": "weigh", "grams": marked["grams"]}))
    if marked["lost"] and marked["lost"] != "0":
        found.append(("lose", {"kind": "lose", "pieces": marked["lost"], "reason": marked["why"] or "other"}))
    if marked["count"]:
        found.append(("count", {"kind": "count", "pieces": marked["count"]}))
    if marked["turn"]:
        found.append(("turn", {"kind": "turn"}))
    if marked["shelf"]:
        found.append(("shelf", {"kind": "shelve", "place": marked["shelf"]}))
    if marked["note"]:
        found.append(("note", {"kind": "note", "note": marked["note"]}))
    if marked["move"] and row.following:
        found.append(("move", {"kind": "move", "to": row.following, "pieces": marked["part"]} | stage))
    elif marked["unwrap"]:
        found.append(("unwrap", {"kind": "unwrap"} | stage))
    return found
