"""A grading out of a phone's list: kept once by its key, or refused in words, never dropped."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from wareboard.book.boards.codes import read_code
from wareboard.book.boards.models import Board
from wareboard.book.firings.signing import Signed
from wareboard.book.pieces import grading
from wareboard.book.pieces.models import Piece
from wareboard.errors import NotInTable, Unreadable
from wareboard.studio.today import now


def graded_entry(sent: Mapping[str, Any], key: str, writer: str) -> tuple[bool, str]:
    """Whether it was kept before, and words on what became of it.

    Raises:
        WareboardError: for a board that is not there or not fired, more pieces than are left, a grade without a fault.
    """
    code = read_code(str(sent.get("board", ""))[:12])
    board = Board.objects.filter(code=code).first()
    if board is None:
        raise NotInTable(f"board {code}", "there is none of that code", "Look at the boards at the bench")
    if not key:
        raise Unreadable("a grading without its key", "the page did not send it", "Load the page again")
    already = Piece.objects.filter(key=f"{key[:34]}:0").exists()
    written = str(sent.get("pieces", "1"))
    count = int(written) if written.isdecimal() and len(written) < 5 else 0
    fault = str(sent.get("own_fault", "")).strip() or str(sent.get("fault", ""))
    place = str(sent.get("place", ""))
    made = grading.grade(board, key, str(sent.get("grade", "")), Signed(writer, now()), fault, place, count)
    of = f", {made[0].fault}" if made[0].fault else ""
    return already, f"{board.code}: {len(made)} {made[0].grade}{of}"
