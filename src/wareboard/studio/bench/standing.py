"""The commissions in hand with their courses, their boards and how they stand, for every page of the bench."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from wareboard.book.boards.counting import FormStanding, boards_of, standing_of
from wareboard.book.boards.course import Course, FormCourse
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import STAGES, WORDS
from wareboard.book.models import Commission
from wareboard.errors import WareboardError
from wareboard.studio import plans
from wareboard.studio.bench.courses import Found, courses_of

if TYPE_CHECKING:
    from wareboard.plan.result import Plan

LOOKED_AHEAD_EVERY = timedelta(minutes=15)  # the look ahead goes by days; between boards' entries it is not done anew
MOST_KEPT = 1000
_stood: dict[int, tuple[object, tuple[FormStanding, ...]]] = {}  # by the commission


@dataclass(frozen=True, slots=True)
class InHand:
    """A commission with its course (or what stands in the way of one), its boards, and how each form stands."""

    commission: Commission
    course: Course | None
    trouble: str
    boards: tuple[Board, ...]
    forms: tuple[FormStanding, ...]

    @property
    def names(self) -> list[str]:
        """The forms that can be put on boards."""
        planned = [form.name for form in self.course.forms] if self.course else []
        return list(dict.fromkeys([*planned, *(board.form for board in self.boards)]))

    def form(self, name: str) -> FormCourse | None:
        return self.course.form(name) if self.course else None

    def standing(self, name: str) -> FormStanding | None:
        return next((each for each in self.forms if each.form == name), None)

    def stages(self, name: str) -> tuple[str, ...]:
        """The stages that a form needs; all where nothing is planned."""
        form = self.form(name)
        return form.stages if form else STAGES

    @property
    def stage_choices(self) -> list[tuple[str, str]]:
        needed = {stage for name in self.names for stage in self.stages(name)} or set(STAGES)
        return [(stage, WORDS[stage]) for stage in STAGES if stage in needed]

    @property
    def packed(self) -> date | None:
        """When the last piece can be packed, as it stands."""
        return max((each.packed.value.date() for each in self.forms if each.packed), default=None)

    @property
    def chance(self) -> float:
        """The chance of enough of the form that is worst off, among those begun."""
        return min((each.enough.chance for each in self.forms if each.on_boards), default=1.0)

    @property
    def begun(self) -> bool:
        """Whether pieces stand on boards."""
        return bool(self.boards)

    @property
    def plan(self) -> Plan | None:
        """The whole plan, worked out if it is not at hand: for a page about this commission, not for a list."""
        version = self.commission.paper.current
        try:
            return plans.plan_of_version(version, plans.basis()) if version else None
        except WareboardError:
            return None


def in_hand(commissions: Iterable[Commission], now: datetime) -> list[InHand]:
    """These commissions as they stand, in the order of their due dates."""
    rows = list(commissions)
    boards: dict[int, list[Board]] = {}
    for board in boards_of(rows):
        boards.setdefault(board.commission_id, []).append(board)
    begun = {key: min(each.since for each in own).date() for key, own in boards.items()}
    found = courses_of(rows, begun, plans.basis())
    there = [_one(each, found[each.pk], tuple(boards.get(each.pk, ())), now) for each in rows]
    return sorted(there, key=lambda each: (str(each.course.due) if each.course else "", each.commission.code))


def _one(commission: Commission, found: Found, boards: tuple[Board, ...], now: datetime) -> InHand:
    forms: tuple[FormStanding, ...] = ()
    trouble = found.trouble
    if found.course is not None:
        try:
            forms = _standing(commission.pk, found, boards, now)
        except WareboardError as problem:
            trouble = str(problem)
    return InHand(commission, found.course, trouble, boards, forms)


def _standing(key: int, found: Found, boards: tuple[Board, ...], now: datetime) -> tuple[FormStanding, ...]:
    """How the forms stand: as they were found the last time, where no board moved since and it was not long ago."""
    assert found.course is not None
    quarter = int(now.timestamp() // LOOKED_AHEAD_EVERY.total_seconds())
    seen = (
        found.print,
        quarter,
        tuple((b.pk, b.form, b.pieces, b.stage, b.state, b.since, b.state_since) for b in boards),
    )
    kept = _stood.get(key)
    if kept is None or kept[0] != seen:
        if len(_stood) > MOST_KEPT:
            _stood.clear()
        kept = _stood[key] = seen, standing_of(found.course, boards, now)
    return kept[1]


def all_in_hand(now: datetime) -> list[InHand]:
    """Every commission that is not put away."""
    return in_hand(Commission.objects.filter(put_away=None).select_related("paper__current"), now)


def one_in_hand(code: str, now: datetime) -> InHand | None:
    """One commission by its code, put away or not."""
    return next(iter(in_hand(Commission.objects.filter(code=code).select_related("paper__current"), now)), None)
