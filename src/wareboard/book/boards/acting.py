"""Doing what is asked of boards: each entry is one short transaction, kept once by its key, and undone by another entry.

Where the board is no longer as it was seen (someone else moved it, or fewer pieces are there than are to be taken), the
entry is kept all the same: it changes nothing and waits until a person settles it. Nothing that was recorded is dropped.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from wareboard.book.boards.asking import Asked, check
from wareboard.book.boards.codes import apart, next_code, read_code
from wareboard.book.boards.models import LET_GO, STANDS, WAITS, Board, Entry
from wareboard.book.boards.stages import IN_KILN, WRAPPED
from wareboard.book.models import Commission
from wareboard.errors import NotInTable, OutOfRange, WareboardError

TIMES = ("since", "state_since", "turned")
LONGEST_SHELF = 40


class NoLonger(WareboardError):
    """The board is not as whoever made the entry saw it."""


@dataclass(frozen=True, slots=True)
class Done:
    """The entry as it is kept, and whether it was there already from an earlier sending."""

    entry: Entry
    already: bool = False

    @property
    def waits(self) -> bool:
        return self.entry.standing == WAITS


@dataclass(slots=True)
class _Effect:
    """What an entry does to its board and to another."""

    pieces: int = 0
    change: int = 0
    other: Board | None = None
    other_change: int = 0
    stage_to: str | None = None
    state_to: str | None = None
    turned: datetime | None = None
    shelf: str | None = None
    undoes: Entry | None = None
    times: dict[str, str | None] | None = None  # to go back to


def begin(asked: Asked, commission: Commission, form: str, code: str, now: datetime) -> Done:
    """A new board with its pieces; ``code`` where it has one already, such as a mark scratched mid-job.

    Raises:
        OutOfRange, Unreadable: for what could never be right, and where the code is taken.
    """
    check(asked)
    return _once(asked, lambda: _begin(asked, commission, form, code, now))


def _begin(asked: Asked, commission: Commission, form: str, code: str, now: datetime) -> Done:
    board = _new_board(commission, form, asked.to, asked.happened, code)
    count = asked.pieces or 0
    effect = _Effect(count, count, stage_to=asked.to, state_to=_state_at(asked.to))
    return Done(_keep(board, asked, effect, now, stage_from=""))


def act(asked: Asked, now: datetime) -> Done:
    """The entry, kept: done, or waiting where the board is no longer as it was seen.

    Args:
        asked: any kind but begin.
        now: this moment by the studio's clock.
    Raises:
        OutOfRange, Unreadable: for what could never be right.
        NotInTable: if there is no such board or entry.
        NoLonger: if an entry cannot be undone any more.
    """
    check(asked)
    return _once(asked, lambda: _act(asked, now))


def _once(asked: Asked, do: Callable[[], Done]) -> Done:
    """What was kept under the key before, else ``do`` in one transaction."""
    try:
        with transaction.atomic():
            found = Entry.objects.filter(key=asked.key).select_related("board").first()
            return Done(found, already=True) if found else do()
    except IntegrityError:  # the same entry came along another way at the same moment
        found = Entry.objects.filter(key=asked.key).select_related("board").first()
        if found is None:
            raise
        return Done(found, already=True)


def _act(asked: Asked, now: datetime) -> Done:
    if asked.kind == "undo":
        return _undo(asked, now)
    board, other = _held(asked)
    try:
        effect = _DOERS[asked.kind](board, asked, other)
    except NoLonger as problem:
        return Done(_keep(board, asked, _Effect(asked.pieces or 0, other=other), now, trouble=problem))
    return Done(_keep(board, asked, effect, now))


def settle(entry: Entry, do_it: bool, who: str, now: datetime) -> Done:
    """A waiting entry settled: done on the board as it is now, or let go; it stays in the history either way.

    Raises:
        NoLonger: if it still cannot be done.
    """
    with transaction.atomic():
        held = Entry.objects.select_for_update().get(pk=entry.pk)
        if held.standing != WAITS:
            return Done(held, already=True)
        held.standing = LET_GO
        held.save(update_fields=["standing"])
        if not do_it:
            return Done(held)
        again = Asked(
            key=f"settled:{held.pk:08d}",
            kind=held.kind,
            who=who,
            happened=held.happened,
            board=held.board.code,
            pieces=held.pieces or None,
            to=held.stage_to,
            other=held.other.code if held.other else "",
            reason=held.reason,
            place=held.place,
            note=held.note,
            sheet=held.sheet,
        )
        if held.kind == "count":
            again = replace(again, pieces=held.pieces)
        done = act(again, now)
        if done.waits:
            raise NoLonger(
                f"{held.board.code} cannot be changed so", done.entry.trouble, "Let it go, or mend the board"
            )
        return done


def _new_board(commission: Commission, form: str, stage: str, when: datetime, code: str = "") -> Board:
    code = read_code(code) if code.strip() else next_code(form, commission)
    letters, number = apart(code)
    known = {"letters": letters, "number": number, "commission": commission, "form": form[:80], "stage": stage}
    there = Board.objects.select_for_update().filter(code=code).first()
    if there is None:
        return Board.objects.create(code=code, since=when, **known)
    if there.pieces or Entry.objects.filter(board=there, standing=STANDS, undone_by=None).exclude(kind="undo").exists():
        raise OutOfRange(f"board {code}", "there is one of that code already", "Give another, or none")
    # All that was ever done to it was undone: the code is scratched into the ware and is free for it again.
    Board.objects.filter(pk=there.pk).update(since=when, state="", state_since=None, turned=None, **known)
    return Board.objects.get(pk=there.pk)


def _held(asked: Asked) -> tuple[Board, Board | None]:
    """The boards of an entry, held in the order of their keys so that two writers never wait for each other."""
    codes = [read_code(each) for each in (asked.board, asked.other) if each]
    rows = {each.code: each for each in Board.objects.select_for_update().filter(code__in=codes).order_by("pk")}
    for code in codes:
        if code not in rows:
            raise NotInTable(f"board {code}", "there is no board of that code", "Look it up on the bench page")
    return rows[codes[0]], rows[codes[1]] if len(codes) > 1 else None


def _as_seen(board: Board, asked: Asked) -> None:
    if asked.stage_seen and asked.stage_seen != board.stage:
        last = Entry.objects.filter(board=board, stage_to=board.stage).order_by("-number").first()
        by = f", moved by {last.who or 'someone'}" if last else ""
        raise NoLonger(
            f"{board.code} is at {board.stage} now{by}",
            f"it was at {asked.stage_seen} when this was entered",
            "Do it all the same, or let it go",
        )


def _enough(board: Board, wanted: int) -> None:
    if wanted > board.pieces:
        raise NoLonger(
            f"{board.code} holds {board.pieces}", f"{wanted} were to be taken from it", "Count it, then settle this"
        )


def _move(board: Board, asked: Asked, other: Board | None) -> _Effect:
    if board.stage == asked.to:  # someone was quicker; nothing is left to do
        return _Effect(board.pieces)
    _as_seen(board, asked)
    moved = asked.pieces or board.pieces
    _enough(board, max(moved, 1))
    if moved < board.pieces:
        return _split(board, replace(asked, pieces=moved), other)
    return _Effect(moved, stage_to=asked.to, state_to=_state_at(asked.to))


def _state_at(stage: str) -> str:
    return WRAPPED if stage == "drying" else ""  # ware is set to dry under cover


def _lose(board: Board, asked: Asked, other: Board | None) -> _Effect:
    lost = asked.pieces or 1
    _enough(board, lost)
    return _Effect(lost, -lost)


def _gain(board: Board, asked: Asked, other: Board | None) -> _Effect:
    _as_seen(board, asked)
    return _Effect(asked.pieces or 1, asked.pieces or 1)


def _count(board: Board, asked: Asked, other: Board | None) -> _Effect:
    counted = asked.pieces or 0
    if asked.pieces_seen is not None and asked.pieces_seen != board.pieces:
        raise NoLonger(
            f"{board.code} holds {board.pieces} by the entries",
            f"it held {asked.pieces_seen} when {counted} were counted",
            "Count again",
        )
    return _Effect(counted, counted - board.pieces)


def _split(board: Board, asked: Asked, other: Board | None) -> _Effect:
    _as_seen(board, asked)
    taken = asked.pieces or 1
    _enough(board, taken + 1)
    stage = asked.to or board.stage
    fresh = _new_board(board.commission, board.form, stage, board.since if stage == board.stage else asked.happened)
    fresh.state = board.state if stage == board.stage else _state_at(stage)
    fresh.state_since = board.state_since if stage == board.stage else asked.happened
    fresh.save(update_fields=["state", "state_since"])
    return _Effect(taken, -taken, fresh, taken)


def _merge(board: Board, asked: Asked, other: Board | None) -> _Effect:
    if other is None or other.pk == board.pk:
        raise OutOfRange("one board", "two are needed to merge", "Name the board whose pieces come over")
    alike = (other.commission_id, other.form, other.stage) == (board.commission_id, board.form, board.stage)
    if not alike:
        raise NoLonger(
            f"{other.code} ({other.form}, {other.stage}) and {board.code} ({board.form}, {board.stage})",
            "only pieces of one form at one stage go on one board",
            "Move one of them on first, or let it go",
        )
    _enough(other, 1)
    return _Effect(other.pieces, other.pieces, other, -other.pieces)


def _put(state: str) -> Callable[[Board, Asked, Board | None], _Effect]:
    def put(board: Board, asked: Asked, other: Board | None) -> _Effect:
        _as_seen(board, asked)
        return _Effect(board.pieces, state_to=state)

    return put


def _turn(board: Board, asked: Asked, other: Board | None) -> _Effect:
    return _Effect(board.pieces, turned=asked.happened)


def _weigh(board: Board, asked: Asked, other: Board | None) -> _Effect:
    return _Effect(1)


def _note(board: Board, asked: Asked, other: Board | None) -> _Effect:
    return _Effect(board.pieces)


def _shelve(board: Board, asked: Asked, other: Board | None) -> _Effect:
    return _Effect(board.pieces, shelf=asked.place.strip()[:LONGEST_SHELF])


_DOERS: dict[str, Callable[[Board, Asked, Board | None], _Effect]] = {
    "move": _move,
    "lose": _lose,
    "gain": _gain,
    "count": _count,
    "split": _split,
    "merge": _merge,
    "wrap": _put(WRAPPED),
    "unwrap": _put(""),
    "load": _put(IN_KILN),
    "turn": _turn,
    "weigh": _weigh,
    "note": _note,
    "shelve": _shelve,
}


def _undo(asked: Asked, now: datetime) -> Done:
    entry = Entry.objects.filter(key=asked.undoes).select_related("board", "other").first()
    if entry is None:
        raise NotInTable("the entry to undo", "there is none of that key", "Load the page again")
    if (before := Entry.objects.filter(undoes=entry).first()) is not None:
        return Done(before, already=True)
    ours = replace(asked, board=entry.board.code, other=entry.other.code if entry.other else "")
    board, other = _held(ours)
    return Done(_keep(board, ours, _back(entry, board, other), now))


def _back(entry: Entry, board: Board, other: Board | None) -> _Effect:
    """The effect that takes an entry back."""

    def refuse(why: str) -> NoLonger:
        return NoLonger(f"{entry.get_kind_display()} on {board.code} cannot be undone now", why, "Undo what came after")

    if entry.standing != STANDS:
        raise refuse("it changed nothing")
    staged = bool(entry.stage_from) and entry.stage_from != entry.stage_to
    stated = entry.state_from != entry.state_to
    if staged and board.stage != entry.stage_to:
        raise refuse(f"the board stands at {board.stage}")
    if board.pieces < entry.change or (other is not None and other.pieces < entry.other_change):
        raise refuse("pieces it would take back are no longer there")
    effect = _Effect(entry.pieces, -entry.change, other, -entry.other_change, undoes=entry)
    if staged:
        effect.stage_to = entry.stage_from
    if stated and board.state == entry.state_to:
        effect.state_to = entry.state_from
    latest = entry.number == board.entries_made
    back = {"since": staged, "state_since": stated, "turned": latest}
    effect.times = {name: entry.before.get(name) for name in TIMES if back[name]}
    if entry.kind == "shelve" and board.shelf == entry.place:
        effect.shelf = entry.before.get("shelf", "")
    return effect


def _keep(
    board: Board,
    asked: Asked,
    effect: _Effect,
    now: datetime,
    stage_from: str | None = None,
    trouble: WareboardError | None = None,
) -> Entry:
    """Write the entry, and bring the boards to what it says; a waiting one leaves them as they are."""
    happened = min(asked.happened, now)
    entry = Entry(
        key=asked.key,
        board=board,
        number=board.entries_made + 1,
        kind=asked.kind,
        pieces=effect.pieces,
        change=effect.change,
        other=effect.other,
        other_change=effect.other_change,
        stage_from=board.stage if stage_from is None else stage_from,
        stage_to=board.stage if effect.stage_to is None else effect.stage_to,
        state_from=board.state,
        state_to=board.state if effect.state_to is None else effect.state_to,
        before={name: _written(getattr(board, name)) for name in TIMES} | {"shelf": board.shelf},
        reason=asked.reason.strip()[:30],
        place=asked.place.strip()[:40],
        grams=asked.grams,
        note=asked.note.strip()[:500],
        sheet=asked.sheet[:40],
        who=asked.who[:80],
        happened=happened,
        written=now,
        undoes=effect.undoes,
    )
    if trouble is not None:
        entry.standing, entry.trouble = WAITS, f"{trouble.what}: {trouble.why}"[:300]
        entry.stage_to = asked.to or entry.stage_to
    else:
        _apply(board, effect, entry)
    board.entries_made += 1
    board.save()
    entry.save()
    return entry


def _apply(board: Board, effect: _Effect, entry: Entry) -> None:
    board.pieces += effect.change
    if entry.stage_to != board.stage:
        board.stage, board.since = entry.stage_to, entry.happened
    if entry.state_to != board.state:
        board.state, board.state_since = entry.state_to, entry.happened
    if effect.turned is not None:
        board.turned = effect.turned
    if effect.shelf is not None:
        board.shelf = effect.shelf
    for name, value in (effect.times or {}).items():
        setattr(board, name, datetime.fromisoformat(value) if value else None)
    if effect.other is not None and effect.other_change:
        effect.other.pieces += effect.other_change
        effect.other.save(update_fields=["pieces"])


def _written(value: Any) -> str | None:
    return value.isoformat() if value is not None else None
