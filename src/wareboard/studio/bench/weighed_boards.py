"""What weighings foretell of the boards that dry, worked out once after each weighing and kept in memory."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from django.conf import settings
from django.db.models import Count, Max, QuerySet

from wareboard.book.boards.models import STANDS, Board, Entry
from wareboard.book.boards.stages import ORDER, STAGES
from wareboard.book.measures.by_weight import LEAST, ByWeight, Foretold, by_weight
from wareboard.book.measures.models import KeptDrying, Measurement
from wareboard.book.measures.what import WEIGH_IN
from wareboard.quantities import show_duration
from wareboard.studio.today import now

Weighings = tuple[tuple[int, int], ...]
EDITION = 1  # of the reckoning; one of another edition is worked out anew
MOST_KEPT = 200
MOST_AT_A_LOOK, MOST_AFTER = 1, 4  # each takes about a third of a second
MANY, MOST_READ = 100, 10_000
DRYING = tuple(stage for stage in STAGES if ORDER["thrown"] <= ORDER[stage] <= ORDER["bone dry"])
_kept: dict[tuple[str, int], tuple[str, ByWeight | None]] = {}
_read: dict[tuple[str, int], tuple[str, Foretold | None]] = {}


def weighed_boards(boards: Iterable[Board]) -> dict[int, Foretold]:
    """By the key of a board, what its weights foretell; boards weighed less than twice are left out.

    The records are asked for all of them at once. What was worked out is kept with the records; of boards that were weighed,
    moved or covered since, only so many are worked out at one look, so that a page never waits for all; the others
    are told as they were.
    """
    drying = {each.pk: each for each in boards if each.stage in DRYING}
    if not drying:
        return {}
    standing = Board.objects.filter(
        pieces__gt=0, stage__in=DRYING
    )  # asked within the question: keys by thousands are slow
    marks = {pk: each for pk, each in _marks(standing).items() if pk in drying}
    told = _told(standing)
    found: dict[int, Foretold] = {}
    fresh = 0
    for pk, weighings in marks.items():
        kept, foretold = told.get(pk, ("", None))
        mark = _mark(drying[pk], weighings)
        if kept != mark and fresh < MOST_AT_A_LOOK:
            fresh += 1
            seen = _worked_out(drying[pk], mark)
            foretold = Foretold.of(seen) if seen is not None else None
        if foretold is not None:
            found[pk] = foretold
    return found


def _told(boards: QuerySet[Board]) -> dict[int, tuple[str, Foretold | None]]:
    """By board, the mark and what was kept under it; only what is not in memory under that mark is read from the records."""
    folder = str(settings.WAREBOARD.folder)
    rows = KeptDrying.objects.filter(board__in=boards)
    marks = dict(rows.values_list("board", "mark"))
    unread = [pk for pk, mark in marks.items() if _read.get((folder, pk), ("", None))[0] != mark]
    if len(_read) + len(unread) > MOST_READ:
        _read.clear()
        unread = list(marks)
    if unread:
        wanted = rows.filter(board__in=unread) if len(unread) < MANY else rows
        for pk, mark, figures in wanted.values_list("board", "mark", "figures"):
            _read[folder, pk] = mark, Foretold.read(figures) if figures is not None else None
    return {pk: _read[folder, pk] for pk in marks if (folder, pk) in _read}


def weighed_board(board: Board) -> ByWeight | None:
    """One board's drying by its weights with all its working, for its own page; None where they say nothing."""
    if board.stage not in DRYING:
        return None
    weighings = _marks([board.pk]).get(board.pk)
    if weighings is None:
        return None
    mark = _mark(board, weighings)
    kept = _kept.get((str(settings.WAREBOARD.folder), board.pk))
    return kept[1] if kept is not None and kept[0] == mark else _worked_out(board, mark)


def after_entries(codes: Iterable[str]) -> None:
    """Work out, while an entry is being kept, what the next pages would wait for."""
    wanted = list(dict.fromkeys(code for code in codes if code))[-MOST_AFTER:]
    if not wanted:
        return
    boards = Board.objects.select_related("commission__paper__current").filter(code__in=wanted, pieces__gt=0)
    drying = {each.pk: each for each in boards if each.stage in DRYING}
    marks = _marks(list(drying)) if drying else {}
    there = dict(KeptDrying.objects.filter(board__in=list(marks)).values_list("board", "mark")) if marks else {}
    for pk, weighings in marks.items():
        mark = _mark(drying[pk], weighings)
        if there.get(pk) != mark:
            _worked_out(drying[pk], mark)


def _worked_out(board: Board, mark: str) -> ByWeight | None:
    seen = by_weight(board, now())
    if len(_kept) >= MOST_KEPT:
        _kept.clear()
    _kept[str(settings.WAREBOARD.folder), board.pk] = mark, seen
    figures = Foretold.of(seen).written() if seen is not None else None
    KeptDrying.objects.update_or_create(board=board, defaults={"mark": mark, "figures": figures})
    return seen


def _mark(board: Board, weighings: Weighings) -> str:
    """Which weighings, at which stage, under which cover, by which brief: another mark, another drying."""
    version = board.commission.paper.current_id
    plain = (EDITION, weighings, board.code, board.stage, board.since, board.state, board.state_since, version)
    return hashlib.sha256(repr(plain).encode()).hexdigest()


def alarms(board: Board, seen: ByWeight | None) -> list[tuple[str, str]]:
    """What a timer can ring for on a board's page, and in how many minutes: the early end of each window that is to come."""
    if seen is None or ORDER[board.stage] > ORDER["trimmed"]:
        return []
    moment = now()
    ahead = [(f"{board.code}: look whether it can be trimmed", seen.trim.low)] if board.stage == "thrown" else []
    if seen.join is not None:
        ahead.append((f"{board.code}: look whether handles go on", seen.join.low))
    minutes = [(words, round((when - moment).total_seconds() / 60.0)) for words, when in ahead]
    return [(words, show_duration(60.0 * each)) for words, each in minutes if each >= 1]


def _marks(boards: QuerySet[Board] | list[int]) -> dict[int, Weighings]:
    """By board, how many weighings there are of each kind and the latest; those with too few left out."""
    own = Entry.objects.filter(kind="weigh", standing=STANDS, undone_by=None, board__in=boards).order_by()
    at_the_scale = Measurement.objects.filter(what=WEIGH_IN, stands=True, board__in=boards).order_by()
    rows = [each.values_list("board").annotate(many=Count("pk"), last=Max("pk")) for each in (own, at_the_scale)]
    marks: dict[int, list[tuple[int, int]]] = {}
    for board, many, last in rows[0].union(rows[1], all=True):
        marks.setdefault(board, []).append((many, last))
    return {pk: tuple(sorted(each)) for pk, each in marks.items() if max(many for many, _ in each) >= LEAST}
