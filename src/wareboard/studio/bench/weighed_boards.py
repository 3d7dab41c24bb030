"""What weighings foretell of the boards that dry, worked out once after each weighing and kept in memory."""

from __future__ import annotations

from collections.abc import Iterable

from django.conf import settings
from django.db.models import Count, Max

from wareboard.book.boards.models import STANDS, Board, Entry
from wareboard.book.boards.stages import ORDER
from wareboard.book.measures.by_weight import LEAST, ByWeight, by_weight
from wareboard.book.measures.models import Measurement
from wareboard.book.measures.what import WEIGH_IN
from wareboard.studio.today import now

MOST_KEPT = 500
_kept: dict[tuple[str, int], tuple[object, ByWeight | None]] = {}


def weighed_boards(boards: Iterable[Board]) -> dict[int, ByWeight]:
    """By the key of a board, how its ware dries by its weights; boards weighed less than twice are left out.

    The records are asked once for all of them; only a board that was weighed, moved or covered since is reckoned anew.
    """
    drying = {each.pk: each for each in boards if ORDER["thrown"] <= ORDER[each.stage] <= ORDER["bone dry"]}
    found: dict[int, ByWeight] = {}
    for pk, mark in _marks(list(drying)).items():
        board, key = drying[pk], (str(settings.WAREBOARD.folder), pk)
        seen = (mark, board.code, board.stage, board.since, board.state, board.state_since)
        kept = _kept.get(key)
        if kept is None or kept[0] != seen:
            if len(_kept) > MOST_KEPT:
                _kept.clear()
            kept = _kept[key] = seen, by_weight(board, now())
        if kept[1] is not None:
            found[pk] = kept[1]
    return found


def alarms(board: Board, seen: ByWeight | None) -> list[tuple[str, str]]:
    """What a timer can ring for on a board's page, and in how many minutes: the early end of each window that is to come."""
    if seen is None or ORDER[board.stage] > ORDER["trimmed"]:
        return []
    moment = now()
    ahead = [(f"{board.code}: look whether it can be trimmed", seen.trim.low)] if board.stage == "thrown" else []
    if seen.join is not None:
        ahead.append((f"{board.code}: look whether handles go on", seen.join.low))
    minutes = [(words, round((when - moment).total_seconds() / 60.0)) for words, when in ahead]
    return [(words, f"{each} min") for words, each in minutes if each >= 1]


def _marks(keys: list[int]) -> dict[int, tuple[tuple[int, int], ...]]:
    """By board, how many weighings there are of each kind and the latest; those with too few left out."""
    if not keys:
        return {}
    own = Entry.objects.filter(kind="weigh", standing=STANDS, undone_by=None, board__in=keys).order_by()
    at_the_scale = Measurement.objects.filter(what=WEIGH_IN, stands=True, board__in=keys).order_by()
    rows = [each.values_list("board").annotate(many=Count("pk"), last=Max("pk")) for each in (own, at_the_scale)]
    marks: dict[int, list[tuple[int, int]]] = {}
    for board, many, last in rows[0].union(rows[1], all=True):
        marks.setdefault(board, []).append((many, last))
    return {pk: tuple(sorted(each)) for pk, each in marks.items() if max(many for many, _ in each) >= LEAST}
