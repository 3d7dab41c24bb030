"""What is asked of a board, checked for what could never be right before any board is looked at."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import datetime

from wareboard.book.boards.models import KINDS
from wareboard.book.boards.stages import STAGES
from wareboard.errors import OutOfRange, Unreadable

MOST_PIECES = 2000
MOST_GRAMS = 100_000.0
KEY = re.compile(r"[A-Za-z0-9:_-]{8,40}")
NAMES_OF_KINDS = frozenset(name for name, _ in KINDS)
WITH_PIECES = {"begin": 1, "split": 1, "lose": 1, "gain": 1, "count": 0}  # the fewest that each may be about


@dataclass(frozen=True, slots=True)
class Asked:
    """One entry as it was made: ``key`` from whoever made it, ``stage_seen`` and ``pieces_seen`` what they had before them.

    ``pieces`` None means the whole board; ``undoes`` is the key of the entry to take back.
    """

    key: str
    kind: str
    who: str
    happened: datetime
    board: str = ""
    pieces: int | None = None
    to: str = ""
    other: str = ""
    reason: str = ""
    place: str = ""
    grams: float | None = None
    undoes: str = ""
    stage_seen: str = ""
    pieces_seen: int | None = None
    note: str = ""
    sheet: str = ""


def check(asked: Asked) -> None:
    """Refuse what could never be right, whatever stands on the board.

    Raises:
        Unreadable, OutOfRange: naming what is wrong.
    """
    if not KEY.fullmatch(asked.key):
        raise Unreadable(
            "the entry has no key of its own", "without one a double tap counts twice", "Load the page again"
        )
    if asked.kind not in NAMES_OF_KINDS:
        raise Unreadable(f"entry {asked.kind[:20]!r}", "there is no such entry", "Load the page again")
    least = WITH_PIECES.get(asked.kind)
    if least is not None or asked.pieces is not None:
        _check_pieces(asked.pieces, 1 if least is None else least)
    if asked.kind in ("move", "begin") and asked.to not in STAGES:
        raise Unreadable(f"stage {asked.to[:20]!r}", "it is none of the making", f"Choose from {', '.join(STAGES)}")
    if asked.kind == "split" and asked.to and asked.to not in STAGES:
        raise Unreadable(f"stage {asked.to[:20]!r}", "it is none of the making", f"Choose from {', '.join(STAGES)}")
    if asked.kind == "lose" and not asked.reason.strip():
        raise Unreadable("a loss without a reason", "one word is enough to learn from", "Tap why it was lost")
    if asked.kind == "weigh":
        _check_grams(asked.grams)
    if asked.kind == "note" and not asked.note.strip():
        raise Unreadable("an empty note", "there is nothing to keep", "Write or say a few words")
    if asked.kind == "undo" and not asked.undoes:
        raise Unreadable("nothing named to undo", "the page did not say which entry", "Load the page again")


def _check_pieces(pieces: int | None, least: int) -> None:
    if pieces is None or not least <= pieces <= MOST_PIECES:
        shown = "no number" if pieces is None else f"{pieces}"
        raise OutOfRange(
            f"pieces: {shown}", f"a board holds {least} to {MOST_PIECES}", "Count again, or make several boards"
        )


def _check_grams(grams: float | None) -> None:
    if grams is None or not math.isfinite(grams) or not 0.0 < grams <= MOST_GRAMS:
        shown = "nothing" if grams is None else f"{grams:g} g"
        raise OutOfRange(
            f"weight: {shown}", f"it must lie above 0 and up to {MOST_GRAMS:,.0f} g", "Zero the scale and weigh again"
        )
