"""Grading: first, second or failed. A piece that is no first leaves its board by an entry, so that "enough?" stays right."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction

from wareboard import reference
from wareboard.book.boards import acting
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import ORDER
from wareboard.book.firings.signing import Signed, put_away
from wareboard.book.pieces.entering import enter_piece, last_firing
from wareboard.book.pieces.models import FIRST, SECOND, Piece
from wareboard.errors import OutOfRange, Unreadable

READY = "fired"
MOST_AT_ONCE = 200


@dataclass(frozen=True, slots=True)
class Fault:
    """What can be wrong with a finished piece, where it is born and seen, and what to look at first."""

    name: str
    born: str
    seen: str
    first_checks: tuple[str, ...]
    spoils_use: bool
    source: str


@dataclass(frozen=True, slots=True)
class Graded:
    """How the pieces of a board, or of anything else, came out so far."""

    firsts: int
    seconds: int
    failed: int
    faults: tuple[tuple[str, int], ...]

    @property
    def all(self) -> int:
        return self.firsts + self.seconds + self.failed


def faults() -> tuple[Fault, ...]:
    """The faults of finished ware; common practice."""
    return tuple(
        Fault(
            row["fault"],
            row["born"],
            row["seen"],
            tuple(each.strip() for each in row["first_checks"].split(";")),
            row["spoils_use"] == "yes",
            row["source"],
        )
        for row in reference.rows("book/faults")
    )


def fault_named(name: str) -> Fault | None:
    """The fault of that name, if it is one of the table's."""
    return next((each for each in faults() if each.name == name), None)


def to_grade(board: Board) -> int:
    """How many pieces on the board were not graded yet: those that stand there less the firsts among them."""
    firsts = Piece.objects.filter(board=board, grade=FIRST, put_away=None).count()
    return max(0, board.pieces - firsts)


def graded(pieces: Iterable[Piece]) -> Graded:
    """The count of each grade, and the faults by how often they came."""
    rows = list(pieces)
    grades = Counter(each.grade for each in rows)
    found = Counter(each.fault for each in rows if each.fault)
    return Graded(grades[FIRST], grades[SECOND], grades["failed"], tuple(found.most_common()))


def grade(
    board: Board, key: str, grade: str, by: Signed, fault: str = "", place: str = "", count: int = 1
) -> list[Piece]:
    """Pieces of a board graded, one or several alike, kept once by their key; what is no first leaves the board.

    Args:
        key: of this tap, so that a double tap counts once.
        fault: needed for what is no first.
        count: how many alike, 1 or more, no more than are left to grade.
    Raises:
        OutOfRange: for a board that is not fired, or more pieces than are left, or a second that could not be used.
        Unreadable: for a grade that there is not, or none without a fault.
    """
    _check(board, grade, fault, count)
    keys = [f"{key[:34]}:{at}" for at in range(count)]
    with transaction.atomic():
        held = Board.objects.select_for_update().get(pk=board.pk)
        known = list(Piece.objects.filter(key__in=keys))
        if known:
            return known
        if count > to_grade(held):
            raise OutOfRange(
                f"{count} pieces of {board.code}", f"{to_grade(held)} are left to grade", "Count the board, or undo one"
            )
        loss = "" if grade == FIRST else _lose(board, key, fault, place, count, by)
        firing, shelf = last_firing(board)
        fields = {
            "form": board.form,
            "board": board,
            "firing": firing,
            "shelf": shelf,
            "grade": grade,
            "fault": "" if grade == FIRST else fault[:30],
            "place": "" if grade == FIRST else place[:40],
            "loss": loss,
            "day": by.when.date(),
        }
        return [enter_piece(board.commission, each, fields, by)[0] for each in keys]


def _check(board: Board, grade: str, fault: str, count: int) -> None:
    if grade not in (FIRST, SECOND, "failed"):
        raise Unreadable(f"grade {grade[:20]!r}", "a piece is a first, a second or failed", "Load the page again")
    if grade != FIRST and not fault.strip():
        raise Unreadable("a grade without a reason", "one word is enough to learn from", "Tap what is wrong")
    known = fault_named(fault)
    if grade == SECOND and known and known.spoils_use:
        raise OutOfRange(
            f"a second that is {fault}", "such a piece does not serve and is broken up", "Grade it as failed"
        )
    if not 1 <= count <= MOST_AT_ONCE:
        raise OutOfRange(f"{count} pieces at once", f"1 to {MOST_AT_ONCE} are graded at once", "Count again")
    if ORDER[board.stage] < ORDER[READY]:
        raise OutOfRange(
            f"{board.code} is at {board.stage}", "pieces are graded when they are fired", "Move the board on first"
        )


def _lose(board: Board, key: str, fault: str, place: str, count: int, by: Signed) -> str:
    """The key of the entry that takes the pieces off the board."""
    asked = Asked(
        key=f"{key[:32]}:lost",
        kind="lose",
        who=by.who,
        happened=by.when,
        board=board.code,
        pieces=count,
        reason=fault,
        place=place,
    )
    done = acting.act(asked, by.when)
    if done.waits:
        raise OutOfRange(f"{board.code} cannot lose {count}", done.entry.trouble, "Count the board, then grade again")
    return asked.key


def take_back(pieces: Iterable[Piece], by: Signed) -> list[Piece]:
    """The grading of these pieces undone, with the entries that took them off their boards.

    Raises:
        WareboardError: if the board has moved on so that the loss cannot be taken back; then nothing is undone.
    """
    rows = list(pieces)
    with transaction.atomic():
        for loss in dict.fromkeys(each.loss for each in rows if each.loss):
            _give_back(loss, by)
        return [put_away(each, "Grading undone", by) for each in rows]


def _give_back(loss: str, by: Signed) -> None:
    done = acting.act(Asked(key=f"{loss[:34]}:back", kind="undo", who=by.who, happened=by.when, undoes=loss), by.when)
    if done.waits:
        raise OutOfRange("the loss cannot be taken back", done.entry.trouble, "Undo what came after on the board")


def alike(piece: Piece) -> list[Piece]:
    """The pieces graded by the same tap, this one among them."""
    stem = piece.key.rsplit(":", 1)[0]
    return list(Piece.objects.filter(key__startswith=f"{stem}:", put_away=None)) if ":" in piece.key else [piece]


def last_graded(board: Board) -> list[Piece]:
    """The pieces of the last tap on this board that still stands; empty where there is none."""
    last = Piece.objects.filter(board=board, put_away=None).exclude(grade="").order_by("-pk").first()
    return alike(last) if last else []
