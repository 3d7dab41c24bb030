"""Tracing both ways: from a piece to its clay, glaze, board and firing; from any of these to every piece it went into.

Where boards were merged it is not known which piece came from which board: all of them are named, so that a recall names
too many pieces rather than too few.
"""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from wareboard.book.boards.models import STANDS, Board, Entry
from wareboard.book.firings.loading import InFiring, firings_of, forebears
from wareboard.book.firings.models import Firing
from wareboard.book.glazes.models import GlazeBatch, Lot
from wareboard.book.models import Commission
from wareboard.book.pieces.models import ClayLot, MadeOf, Piece, Wears

HEAD = (
    "what",
    "code",
    "form",
    "pieces",
    "commission",
    "client",
    "grade",
    "fault",
    "mark",
    "firing",
    "shelf",
    "delivered",
)
NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a piece comes from; an empty tuple where it is not known."""

    clay: tuple[ClayLot, ...]
    batches: tuple[GlazeBatch, ...]
    boards: tuple[Board, ...]
    firings: tuple[InFiring, ...]


@dataclass(frozen=True, slots=True)
class Reach:
    """What something went into: boards with pieces that are not numbered yet, and numbered pieces."""

    boards: tuple[Board, ...]
    pieces: tuple[Piece, ...]

    @property
    def delivered(self) -> tuple[Piece, ...]:
        return tuple(each for each in self.pieces if each.delivered)

    @property
    def clients(self) -> tuple[tuple[Commission, str], ...]:
        """Every commission that is touched, with the client its brief names."""
        rows = [*(each.commission for each in self.pieces), *(each.commission for each in self.boards)]
        return tuple((each, client_of(each)) for each in {row.pk: row for row in rows}.values())


def origin_of(piece: Piece) -> Origin:
    """Clay lots, glaze batches, boards and firings of a piece: its own where it names any, else those of its boards."""
    boards = tuple(each for each, _ in forebears(piece.board)) if piece.board else ()
    own_clay, own_glaze = piece.made_of.filter(put_away=None), piece.wears.filter(put_away=None)
    clay = own_clay if own_clay.exists() else MadeOf.objects.filter(board__in=boards, put_away=None)
    worn = own_glaze if own_glaze.exists() else Wears.objects.filter(board__in=boards, put_away=None)
    fired = tuple(firings_of(piece.board)) if piece.board else ()
    lots = {row.lot_id: row.lot for row in clay.select_related("lot")}
    batches = {row.batch_id: row.batch for row in worn.select_related("batch__version__recipe")}
    return Origin(tuple(lots.values()), tuple(batches.values()), boards, fired)


def materials_of(origin: Origin) -> tuple[Lot, ...]:
    """The lots of raw material that the glaze batches of a piece were weighed out of; empty where none is known."""
    rows = Lot.objects.filter(lines__batch__in=origin.batches).select_related("material").distinct()
    return tuple(rows.order_by("material__name", "pk"))


def from_clay(lot: ClayLot) -> Reach:
    """Every board and piece that a clay lot went into."""
    rows = MadeOf.objects.filter(lot=lot, put_away=None)
    # A piece that names clay of its own is of that clay alone, whatever its board says.
    others = MadeOf.objects.filter(put_away=None, piece__isnull=False).exclude(lot=lot).values("piece")
    same = MadeOf.objects.filter(put_away=None, lot=lot, piece__isnull=False).values("piece")
    return _reach(rows, ~Q(pk__in=others) | Q(pk__in=same))


def from_batch(batch: GlazeBatch) -> Reach:
    """Every board and piece that wears glaze of a batch."""
    return _worn([batch])


def from_material(lot: Lot) -> Reach:
    """Every board and piece that wears a glaze with something of this lot of a raw material in it."""
    return _worn(GlazeBatch.objects.filter(lines__lot=lot).distinct())


def _worn(batches: Iterable[GlazeBatch]) -> Reach:
    own = list(batches)
    rows = Wears.objects.filter(batch__in=own, put_away=None)
    others = Wears.objects.filter(put_away=None, piece__isnull=False).exclude(batch__in=own).values("piece")
    same = Wears.objects.filter(put_away=None, batch__in=own, piece__isnull=False).values("piece")
    return _reach(rows, ~Q(pk__in=others) | Q(pk__in=same))


def from_firing(firing: Firing) -> Reach:
    """Every board and piece that was in a firing; pieces parted from a board before it was loaded are left out."""
    boards: set[int] = set()
    for row in firing.loaded.filter(put_away=None):
        boards |= _onward([row.board_id], row.written)
    return _found(boards, Q(firing=firing) | Q(board__in=boards))


def from_board(board: Board) -> Reach:
    """Every board and piece that the pieces of a board went to."""
    boards = _onward([board.pk])
    return _found(boards, Q(board__in=boards))


def _reach(rows: Iterable[MadeOf | Wears], not_otherwise: Q) -> Reach:
    named: list[MadeOf | Wears] = list(rows)
    boards = _onward([row.board_id for row in named if row.board_id])
    own = [row.piece_id for row in named if row.piece_id]
    return _found(boards, Q(pk__in=own) | (Q(board__in=boards) & not_otherwise))


def _found(boards: set[int], which: Q) -> Reach:
    pieces = Piece.objects.filter(which, put_away=None).select_related(
        "commission__paper__current", "board", "firing__kiln"
    )
    standing = Board.objects.filter(pk__in=boards).select_related("commission__paper__current").order_by("code")
    return Reach(tuple(standing), tuple(pieces.distinct()))


def _onward(boards: Iterable[int | None], since: datetime | None = None) -> set[int]:
    """These boards and every board that pieces of theirs went to, by parting or merging, since a moment or ever."""
    seen = {pk for pk in boards if pk is not None}
    fresh = set(seen)
    standing = Entry.objects.filter(standing=STANDS, undone_by=None).exclude(kind="undo")
    if since is not None:
        standing = standing.filter(written__gte=since)
    while fresh:
        parted = standing.filter(board__in=fresh, other_change__gt=0).values_list("other", flat=True)
        merged = standing.filter(other__in=fresh, kind="merge").values_list("board", flat=True)
        fresh = {pk for pk in (*parted, *merged) if pk is not None} - seen
        seen |= fresh
    return seen


def client_of(commission: Commission) -> str:
    """The client that the commission's brief names; empty where it names none or cannot be read."""
    version = commission.paper.current
    try:
        return str(tomllib.loads(version.text).get("client", "")).strip() if version else ""
    except tomllib.TOMLDecodeError:
        return ""


def as_csv(reach: Reach) -> str:
    """What was reached, a line for each board that still holds pieces and for each numbered piece."""
    out = io.StringIO()
    write = csv.writer(out)
    write.writerow(HEAD)
    for board in reach.boards:
        if board.pieces:
            row = ("board", board.code, board.form, board.pieces, board.commission.code, client_of(board.commission))
            write.writerow([*map(_plain, row), "", "", "", "", "", ""])
    for each in reach.pieces:
        firing = f"{each.firing.kiln.name} {each.firing.number}" if each.firing else NOT_KNOWN
        gone = each.delivered.isoformat() if each.delivered else ""
        row = ("piece", str(each), each.form, 1, each.commission.code, client_of(each.commission))
        write.writerow(
            map(_plain, (*row, each.grade, each.fault, each.mark or NOT_KNOWN, firing, each.shelf or NOT_KNOWN, gone))
        )
    return out.getvalue()


def _plain(value: object) -> object:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{value}" if isinstance(value, str) and value[:1] in "=+-@" else value
