"""Looking back: what was done to a board, the last thing that can be undone, what waits, what was done since a moment."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from heapq import merge

from django.db.models import QuerySet

from wareboard.book.boards.models import STANDS, WAITS, Board, Entry

MOST_SHOWN = 60


def _whole(entries: QuerySet[Entry]) -> QuerySet[Entry]:
    return entries.select_related("board", "other", "undone_by", "undoes")


def entries_of(board: Board, most: int = MOST_SHOWN) -> list[Entry]:
    """The latest entries about a board, its own and those of boards split from or merged with it, newest first."""
    # Two short looks along two indexes; asked for at once with OR, the records would be read from end to end.
    own = _whole(board.entries.order_by("-number"))[:most]
    elsewhere = _whole(board.entries_from_elsewhere.order_by("-pk"))[:most]
    return list(merge(own, elsewhere, key=lambda entry: entry.pk, reverse=True))[:most]


def with_counts(board: Board, entries: Iterable[Entry]) -> list[tuple[Entry, int, int]]:
    """Each entry with how many stood on the board before and after it.

    Args:
        entries: the latest about the board without a gap, newest first, as `entries_of` gives them.
    """
    after, found = board.pieces, []
    for entry in entries:
        change = entry.change if entry.board_id == board.pk else entry.other_change
        found.append((entry, after - change, after))
        after -= change
    return found


def can_be_undone(entry: Entry) -> bool:
    """Whether an entry stands and was not taken back."""
    return entry.standing == STANDS and getattr(entry, "undone_by", None) is None


def to_undo(entries: Iterable[Entry]) -> Entry | None:
    """The latest of several entries that undo would take back: one that stands and is itself no undoing."""
    return next((each for each in entries if each.kind != "undo" and can_be_undone(each)), None)


def latest(who: str = "", most: int = 20) -> list[Entry]:
    """The latest entries of all, or of one person, newest first."""
    found = Entry.objects.filter(who=who) if who else Entry.objects.all()
    return list(_whole(found.order_by("-pk"))[:most])


def since(moment: datetime) -> QuerySet[Entry]:
    """Every entry written since a moment, newest first."""
    return _whole(Entry.objects.filter(written__gte=moment).order_by("-written", "-pk"))


def waiting() -> QuerySet[Entry]:
    """The entries that wait to be settled, the first first."""
    return Entry.objects.filter(standing=WAITS).select_related("board", "other").order_by("written", "pk")
