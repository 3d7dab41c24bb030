"""The commissions in hand with their plans, their boards and how they stand, for every page of the bench."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from wareboard.book.boards.counting import FormStanding, boards_of, standing_of
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import STAGES, WORDS, stages_for
from wareboard.book.models import Commission
from wareboard.errors import Problems, WareboardError
from wareboard.studio import plans

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan


@dataclass(frozen=True, slots=True)
class InHand:
    """A commission with its plan (or what stands in the way of one), its boards, and how each form stands."""

    commission: Commission
    plan: Plan | None
    trouble: str
    boards: tuple[Board, ...]
    forms: tuple[FormStanding, ...]

    @property
    def names(self) -> list[str]:
        """The forms that can be put on boards."""
        planned = [form.name for form in self.plan.forms] if self.plan else []
        return list(dict.fromkeys([*planned, *(board.form for board in self.boards)]))

    def form(self, name: str) -> FormPlan | None:
        return next((form for form in self.plan.forms if form.name == name), None) if self.plan else None

    def standing(self, name: str) -> FormStanding | None:
        return next((each for each in self.forms if each.form == name), None)

    def stages(self, name: str) -> tuple[str, ...]:
        """The stages that a form needs; all where nothing is planned."""
        form = self.form(name)
        return stages_for(form.minutes) if form else STAGES

    @property
    def stage_choices(self) -> list[tuple[str, str]]:
        needed = {stage for name in self.names for stage in self.stages(name)} or set(STAGES)
        return [(stage, WORDS[stage]) for stage in STAGES if stage in needed]


def in_hand(commissions: Iterable[Commission], now: datetime) -> list[InHand]:
    """These commissions as they stand, in the order of their due dates."""
    rows = list(commissions)
    boards = boards_of(rows)
    on = plans.basis()
    found = []
    for commission in rows:
        own = tuple(board for board in boards if board.commission_id == commission.pk)
        plan, trouble = _plan_of(commission, on)
        forms: tuple[FormStanding, ...] = ()
        if plan is not None:
            try:
                forms = standing_of(plan, own, now)
            except WareboardError as problem:
                trouble = str(problem)
        found.append(InHand(commission, plan, trouble, own, forms))
    return sorted(found, key=lambda each: (str(each.plan.brief.due) if each.plan else "", each.commission.code))


def all_in_hand(now: datetime) -> list[InHand]:
    """Every commission that is not put away."""
    return in_hand(Commission.objects.filter(put_away=None).select_related("paper__current"), now)


def one_in_hand(code: str, now: datetime) -> InHand | None:
    """One commission by its code, put away or not."""
    return next(iter(in_hand(Commission.objects.filter(code=code).select_related("paper__current"), now)), None)


def _plan_of(commission: Commission, on: plans.Basis) -> tuple[Plan | None, str]:
    version = commission.paper.current
    if version is None:
        return None, "There is no brief"
    try:
        return plans.plan_of_version(version, on), ""
    except WareboardError as problem:
        first = problem.problems[0] if isinstance(problem, Problems) and problem.problems else problem
        return None, str(first)
