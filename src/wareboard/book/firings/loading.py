"""What went into a firing, board by board, and back: in which firings a board's pieces were. For tracing a fault.

A board is tied to a firing with the pieces that it held then. Boards part and merge afterwards, so the way back from a
board follows its own entries to the boards that its pieces came from.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction

from wareboard.book.boards.models import STANDS, Board, Entry
from wareboard.book.boards.stages import IN_KILN
from wareboard.book.firings.models import Firing, LoadedBoard
from wareboard.book.firings.signing import Signed, begin, change, fetch_back, put_away
from wareboard.errors import OutOfRange

STILL_OPEN_DAYS = 4  # how long a firing without cones and without a log is offered at the bench
DEEPEST = 40


@dataclass(frozen=True, slots=True)
class InFiring:
    """Pieces of one board in one firing; ``through`` is the board that was loaded, where they have moved on since."""

    firing: Firing
    board: Board
    form: str
    pieces: int
    shelf: str
    through: Board


def load_board(firing: Firing, board: Board, by: Signed, pieces: int | None = None, shelf: str = "") -> LoadedBoard:
    """The board tied to the firing with its pieces; loaded once more, the figures are those of the last time.

    Args:
        pieces: how many of the board's went in; all where it is left out.
    Raises:
        OutOfRange: for a board without pieces, or more pieces than it holds.
    """
    count = board.pieces if pieces is None else pieces
    if not 1 <= count <= board.pieces:
        raise OutOfRange(
            f"{count} pieces of {board.code}", f"the board holds {board.pieces}", "Count the board, then load it"
        )
    with transaction.atomic():
        held = LoadedBoard.objects.filter(firing=firing, board=board).first()
        if held is None:
            fresh = LoadedBoard(
                firing=firing, board=board, form=board.form, pieces=count, shelf=shelf[:40], written=by.when
            )
            return begin(fresh, f"{board.code} loaded: {count} × {board.form}", by)
        if held.put_away is not None:
            held = fetch_back(held, f"{board.code} loaded again", by)
        return change(held, {"pieces": count, "shelf": shelf[:40]}, f"{board.code}: {count} loaded", by)


def take_out(loaded: LoadedBoard, by: Signed) -> LoadedBoard:
    """The board taken out of the firing's list; undo puts it back."""
    return put_away(loaded, f"{loaded.board.code} was not in this firing", by)


def boards_in(firing: Firing) -> list[InFiring]:
    """Every board that went into a firing, with its pieces then, in the order in which they were loaded."""
    rows = firing.loaded.filter(put_away=None).select_related("board__commission", "firing__kiln")
    return [InFiring(row.firing, row.board, row.form, row.pieces, row.shelf, row.board) for row in rows]


def firings_of(board: Board) -> list[InFiring]:
    """Every firing that a board's pieces were in, the first first, also those they went through on another board.

    Where pieces of several boards were merged, each board's firings are named: which piece came from which is not known.
    """
    found: dict[tuple[int, int], InFiring] = {}
    for forebear, until in forebears(board):
        rows = LoadedBoard.objects.filter(board=forebear, put_away=None, firing__put_away=None)
        if until is not None:
            rows = rows.filter(written__lte=until)
        for row in rows.select_related("firing__kiln", "board__commission"):
            found.setdefault(
                (row.firing_id, row.board_id), InFiring(row.firing, board, row.form, row.pieces, row.shelf, row.board)
            )
    return sorted(found.values(), key=lambda each: (each.firing.day, each.firing.pk, each.through.code))


def forebears(board: Board) -> Iterable[tuple[Board, datetime | None]]:
    """The board itself, and every board that pieces of it came from with the moment until which they stood there."""
    seen: dict[int, tuple[Board, datetime | None]] = {board.pk: (board, None)}
    todo = [(board, None, 0)]
    while todo:
        here, until, deep = todo.pop()
        yield here, until
        for giver, when in _givers(here):
            upto = when if until is None else min(when, until)
            if deep < DEEPEST and giver.pk not in seen:
                seen[giver.pk] = (giver, upto)
                todo.append((giver, upto, deep + 1))  # type: ignore[arg-type]


def _givers(board: Board) -> list[tuple[Board, datetime]]:
    """Boards that this one was parted from or took over, with when; what was undone counts no more."""
    standing = Entry.objects.filter(standing=STANDS, undone_by=None).select_related("board", "other")
    # A move of some pieces parts the board as well: any entry of another board that put pieces on this one.
    parted = standing.filter(other=board, other_change__gt=0).exclude(kind="undo")
    merged = standing.filter(board=board, kind="merge").exclude(other=None)
    return [(each.board, each.written) for each in parted] + [
        (each.other, each.written) for each in merged if each.other is not None
    ]


def open_firings(today: date) -> list[Firing]:
    """The firings that are being loaded: of these days, without cones and without a log, the newest first."""
    days = (today - timedelta(days=STILL_OPEN_DAYS), today + timedelta(days=STILL_OPEN_DAYS))
    rows = Firing.objects.filter(put_away=None, kiln__put_away=None, day__range=days, cones=None, logs=None)
    return list(rows.select_related("kiln").order_by("-day", "-pk"))


def in_no_firing() -> list[Board]:
    """Boards that stand in a kiln by the bench's entries and were tied to no firing since they went in."""
    boards = Board.objects.filter(state=IN_KILN, pieces__gt=0).select_related("commission").order_by("code")
    tied = LoadedBoard.objects.filter(put_away=None, board__in=boards).values_list("board_id", "written")
    latest: dict[int, datetime] = {}
    for board, when in tied:
        latest[board] = max(when, latest.get(board, when))
    return [each for each in boards if each.pk not in latest or latest[each.pk] < (each.state_since or each.since)]


def boards_in_any(board: Board) -> list[LoadedBoard]:
    """Every tie of this very board to a firing, without those of the boards that its pieces came from."""
    return list(LoadedBoard.objects.filter(board=board, put_away=None).select_related("firing__kiln"))
