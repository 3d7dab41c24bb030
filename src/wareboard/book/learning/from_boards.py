"""What the boards' entries tell: pieces that went through each stretch of the making, and how long each board took.

A stretch is what one yield of a plan covers: throwing and trimming, handles, drying, carrying, bisque, glazing, the glaze
firing with grading. A board tells of a stretch once none of its pieces is in it any more; what is still on its way says
nothing yet. Entries of the day itself wait until the next morning, so that no plan moves under the hands at work.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone

from wareboard.book.boards.models import STANDS, Board, Entry
from wareboard.book.boards.stages import IN_KILN, ORDER
from wareboard.book.learning.briefs import FormFacts, facts_of
from wareboard.book.models import Commission

MOST_BOARDS = 1500  # the newest: years of them, and the older ones have faded
TELLING = ("begin", "move", "lose", "gain", "count", "split", "merge", "load")
STRETCH_AT = {
    "ball": "thrown",
    "thrown": "thrown",
    "trimmed": "handled",
    "handled": "dried",
    "marked": "dried",
    "drying": "dried",
    "bone dry": "carried",
    "bisque": "bisque",
    "washed": "glazed",
    "lined": "glazed",
    "painted": "glazed",
    "glazed": "glazed",
    "fired": "fired",
    "ground": "fired",
}
FIRED_STRETCHES = {"bisque": "bisque", "fired": "fired"}  # by the load: pieces of one firing go together
NEXT_BEST = {"handled": "dried", "carried": "bisque"}  # where the form has no such stretch
FIELDS = (
    "pk", "board_id", "number", "kind", "pieces", "change", "other_id", "other_change", "stage_from", "stage_to",
    "state_from", "state_to", "who", "happened",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Told:
    """One entry as it is read here."""

    pk: int
    board_id: int
    number: int
    kind: str
    pieces: int
    change: int
    other_id: int | None
    other_change: int
    stage_from: str
    stage_to: str
    state_from: str
    state_to: str
    who: str
    happened: datetime


@dataclass(frozen=True, slots=True)
class Through:
    """Pieces of one board that went into a stretch and those that came good, and when that was known."""

    board: Board
    form: FormFacts
    stretch: str
    started: int
    good: int
    when: datetime
    arrived: datetime


@dataclass(slots=True)
class Tally:
    """One board: pieces it holds, the stretch they are in, and by stretch how many passed, were lost, when, since when."""

    pieces: int = 0
    here: str | None = None
    passed: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    lost: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    when: dict[str, datetime] = field(default_factory=dict)
    arrived: dict[str, datetime] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class BoardsRead:
    """The boards with their entries, in order, and each board's form."""

    boards: dict[int, Board]
    forms: dict[int, FormFacts]
    entries: dict[int, list[Told]]
    first_stage: dict[int, str]
    come_over: dict[int, int]  # pieces from (or to, below 0) other boards


def read_boards(before: datetime | None, of: Commission | None = None) -> BoardsRead:
    """The newest boards, of one commission or of all, with every entry that stands and was written before that moment."""
    found_boards = Board.objects.select_related("commission__paper__current").order_by("-pk")
    rows = (found_boards.filter(commission=of) if of else found_boards)[:MOST_BOARDS]
    boards = {board.pk: board for board in rows}
    forms = {}
    for pk, board in boards.items():
        form = facts_of(board.commission).forms.get(board.form)
        if form is not None:
            forms[pk] = form
    entries: dict[int, list[Told]] = defaultdict(list)
    come_over: dict[int, int] = defaultdict(int)
    if boards:
        found = Entry.objects.filter(kind__in=TELLING, standing=STANDS)
        found = found.exclude(undone_by__written__lt=before) if before else found.filter(undone_by=None)
        found = found.filter(board__commission=of) if of else found.filter(board_id__gte=min(boards))
        if before is not None:
            found = found.filter(written__lt=before)
        for row in found.order_by("board_id", "number").values_list(*FIELDS):
            entry = Told(*row)
            entries[entry.board_id].append(entry)
            if entry.other_id is not None:
                come_over[entry.other_id] += entry.other_change
    first = {pk: (entries[pk][0].stage_from if entries.get(pk) else board.stage) for pk, board in boards.items()}
    return BoardsRead(boards, forms, entries, first, come_over)


def local_day(when: datetime) -> date:
    """The day in the workshop's own time; quicker than asking which time zone it is for each of thousands."""
    return when.astimezone(timezone.get_default_timezone()).date()


def stretch_of(stage: str, state: str, yields: Sequence[str]) -> str | None:
    """The stretch that pieces at a stage are in; None once they are through all."""
    found = STRETCH_AT.get(stage)
    if state == IN_KILN and found in ("carried", "glazed"):
        found = "bisque" if found == "carried" else "fired"
    if found is not None and found not in yields:
        found = NEXT_BEST.get(found, found)
    return found if found in yields else None


def through(read: BoardsRead) -> list[Through]:
    """For every board and stretch that it has left behind, how many went in and how many came good."""
    return [each for pk, tally in counted(read).items() for each in _told(read.boards[pk], read.forms[pk], tally)]


def counted(read: BoardsRead) -> dict[int, Tally]:
    """What each board's pieces have gone through so far, by the board's key."""
    tallies = {pk: _tally(pk, form, read) for pk, form in read.forms.items() if read.entries.get(pk)}
    _with_losses_before_merging(tallies, read)
    return tallies


def _tally(pk: int, form: FormFacts, read: BoardsRead) -> Tally:
    tally, yields, entries = Tally(pieces=read.come_over.get(pk, 0)), form.yields, read.entries[pk]
    stage, state = read.first_stage[pk] or entries[0].stage_to, entries[0].state_from
    tally.arrived[stretch_of(stage, state, yields) or ""] = entries[0].happened
    for entry in entries:
        _take_in(entry, tally, yields, read)
        tally.pieces += entry.change
        stage, state = (entry.stage_to or entry.stage_from), entry.state_to
        tally.arrived.setdefault(stretch_of(stage, state, yields) or "", entry.happened)
    tally.here = stretch_of(stage, state, yields)
    return tally


def _with_losses_before_merging(tallies: dict[int, Tally], read: BoardsRead) -> None:
    """What a board lost in a stretch before its pieces went onto another counts with that other's pieces."""
    for pk, tally in tallies.items():
        for entry in read.entries[pk]:
            gone = tallies.get(entry.other_id or 0)
            if entry.kind != "merge" or gone is None:
                continue
            stretch = stretch_of(entry.stage_from, entry.state_from, read.forms[pk].yields)
            if stretch is not None:
                tally.lost[stretch] += gone.lost.pop(stretch, 0)


def _told(board: Board, form: FormFacts, tally: Tally) -> list[Through]:
    yields, here = form.yields, tally.here
    behind = yields if here is None or tally.pieces <= 0 else yields[: yields.index(here)]
    told = []
    for stretch in behind:
        started = tally.passed[stretch] + tally.lost[stretch]
        if started > 0:
            when = tally.when.get(stretch, board.since)
            arrived = tally.arrived.get(stretch, when)
            told.append(Through(board, form, stretch, started, tally.passed[stretch], when, arrived))
    return told


def _take_in(entry: Told, tally: Tally, yields: Sequence[str], read: BoardsRead) -> None:
    before = stretch_of(entry.stage_from, entry.state_from, yields) if entry.stage_from else None
    if entry.kind in ("lose", "count") and entry.change < 0:
        stretch = before or (yields[-1] if entry.stage_from == "packed" else None)
        if stretch is not None:
            tally.lost[stretch] += -entry.change
            tally.when[stretch] = entry.happened
        return
    if entry.kind not in ("move", "load", "split") or before is None:
        return
    stage, state, moved = entry.stage_to, entry.state_to, entry.pieces
    if entry.other_id is not None and entry.other_change > 0:  # part of the board went on as a board of its own
        stage, state, moved = read.first_stage.get(entry.other_id, entry.stage_to), "", entry.other_change
    after = stretch_of(stage, state, yields)
    start = yields.index(before)
    end = yields.index(after) if after is not None else len(yields) if ORDER[stage] > ORDER["ground"] else start
    for stretch in yields[start:end]:
        tally.passed[stretch] += moved
        tally.when[stretch] = entry.happened


def by_person(entries: Iterable[Told]) -> dict[str, list[Told]]:
    """The entries of each person who signed, in the order in which things happened."""
    found: dict[str, list[Told]] = defaultdict(list)
    for entry in entries:
        if entry.who:
            found[entry.who].append(entry)
    for own in found.values():
        own.sort(key=lambda entry: (entry.happened, entry.pk))
    return found
