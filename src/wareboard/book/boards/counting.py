"""How a commission stands: pieces of each form at each stage, whether there will be enough, and by when."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import TYPE_CHECKING, Literal

from wareboard.book.boards.ahead import Lot, Packed, when_packed
from wareboard.book.boards.enough import Enough, Group, will_there_be
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import STAGES, share_ahead
from wareboard.book.models import Commission

if TYPE_CHECKING:
    from wareboard.book.boards.course import Course, FormCourse

Word = Literal["on course", "watch", "short", "late"]
DAY_BEGINS_H = 9
WATCH_BELOW = 0.95  # common practice: a chance above the one asked, but not by much, is looked at


@dataclass(frozen=True, slots=True)
class FormStanding:
    """One form: how many stand where, whether that is enough, and when the last can be packed."""

    form: str
    wanted: int
    at: Mapping[str, int]
    enough: Enough
    packed: Packed | None
    course: Word

    @property
    def on_boards(self) -> int:
        return sum(self.at.values())

    @property
    def rows(self) -> list[tuple[str, int]]:
        """The stages where pieces stand, in order."""
        return [(stage, self.at[stage]) for stage in STAGES if self.at.get(stage)]


def boards_of(commissions: Iterable[Commission]) -> list[Board]:
    """The boards that hold pieces, by commission, form and how far they are."""
    owners = {each.pk: each for each in commissions}
    found = list(Board.objects.filter(commission__in=list(owners), pieces__gt=0))
    for board in found:
        board.commission = owners[
            board.commission_id
        ]  # at hand already: two thousand boards do not each bring their own
    order = {stage: place for place, stage in enumerate(STAGES)}
    return sorted(found, key=lambda each: (each.commission_id, each.form, order[each.stage], each.letters, each.number))


def lot_of(board: Board) -> Lot:
    """A board as the look ahead takes it."""
    return Lot(board.code, board.form, board.stage, board.pieces, board.since, board.state, board.state_since)


def standing_of(course: Course, boards: Sequence[Board], now: datetime) -> tuple[FormStanding, ...]:
    """How every form of a commission's course stands with these boards."""
    chance = course.chance
    found = [(form, _counts(form, boards), _enough(form, boards, chance)) for form in course.forms]
    lots = [lot_of(board) for board in boards]
    begins = _begins(course, now)
    lots += [Lot(f"~{form.name}", form.name, "", enough.more, begins) for form, _, enough in found if enough.more]
    packed = when_packed(course, lots, now)
    return tuple(
        FormStanding(
            form.name,
            form.count,
            at,
            enough,
            packed.get(form.name),
            _course(course, enough, packed.get(form.name), chance),
        )
        for form, at, enough in found
    )


def _begins(course: Course, now: datetime) -> datetime:
    """When work not yet begun can begin: now, or on the first day that the brief gives."""
    first = course.first_day
    if first is None or first <= now.date():
        return now
    return datetime.combine(first, time(DAY_BEGINS_H), now.tzinfo)


def _counts(form: FormCourse, boards: Sequence[Board]) -> dict[str, int]:
    at: dict[str, int] = {}
    for board in boards:
        if board.form == form.name:
            at[board.stage] = at.get(board.stage, 0) + board.pieces
    return at


def _enough(form: FormCourse, boards: Sequence[Board], chance: float) -> Enough:
    stages = form.stages
    counts = _counts(form, boards)
    groups = [
        Group(stage, counts[stage], share_ahead(stage, stages, form.yields)) for stage in STAGES if stage in counts
    ]
    first = share_ahead("ball", stages, form.yields)
    return will_there_be(groups, form.count, first, form.correlation, chance)


def _course(course: Course, enough: Enough, packed: Packed | None, chance: float) -> Word:
    if packed is not None and packed.value.date() > course.due:
        return "late"
    if enough.pieces and enough.chance < chance:
        return "short"
    close = packed is not None and packed.high.date() > course.due
    return "watch" if close or (enough.pieces and enough.chance < WATCH_BELOW) else "on course"
