"""A load as it is planned, and as it was arranged by hand over the plan: for the page, the maps and the dossier."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from django.http import Http404

from wareboard.book.firings import signing
from wareboard.book.firings.models import MovedLoad
from wareboard.plan.brief import Brief
from wareboard.studio import plans, words
from wareboard.studio.history import commission_of, current_of
from wareboard.studio.kilns import arrangement, pieces
from wareboard.studio.kilns.pieces import Piece

if TYPE_CHECKING:
    from wareboard.book.models import Commission
    from wareboard.kiln.inside import Load
    from wareboard.plan.result import FiringPlan, Plan


class NoSuchLoad(Http404):
    """The plan has fewer loads of that kind than the address asks for, as after a change of the commission."""

    def __init__(self, commission: Commission, firing: FiringPlan, number: int) -> None:
        super().__init__()
        self.commission, self.kind, self.number, self.firings = commission, firing.kind, number, firing.firings


@dataclass(frozen=True, slots=True)
class Planned:
    """One load of a plan: the commission, the firing, which load of how many, and every form's letter."""

    commission: Commission
    brief: Brief
    plan: Plan
    firing: FiringPlan
    number: int
    lettered: dict[str, str]
    every: Sequence[tuple[str, int]]

    @property
    def load(self) -> Load:
        """The load as planned."""
        return self.firing.loads.loads[self.number - 1]

    @property
    def address(self) -> list[Any]:
        """What its pages' addresses are made of."""
        return [self.commission.code, self.firing.kind, self.number]

    @property
    def pieces(self) -> list[Piece]:
        """Every piece as planned."""
        return pieces.planned_pieces(self.load, self.lettered)


@dataclass(frozen=True, slots=True)
class Arranged:
    """Where the pieces of a load stand: by hand where a person arranged them, else as planned.

    ``stale`` says that an arrangement is kept which was made over another plan; then the plan's places are shown.
    """

    pieces: list[Piece]
    record: MovedLoad | None
    by_hand: bool
    stale: bool

    @property
    def words(self) -> str:
        """By whom and when it was arranged."""
        last = signing.history(self.record).first() if self.record and self.by_hand else None
        if last is None:
            return "as planned"
        return f"arranged by hand{f' by {last.who}' if last.who else ''}, {words.day(last.written.date())}"


def planned_load(code: str, kind: str, number: int) -> Planned:
    """The load that the plan has under that number; no page where it has none.

    Raises:
        WareboardError: if the commission cannot be planned, such as for a shelf smaller than its piece.
    """
    commission = commission_of(code)
    plan: Plan = plans.plan_of_version(current_of(commission), plans.basis())
    firing = firing_of(plan, kind)
    if firing is None or number < 1:
        raise Http404
    if number > firing.firings:
        raise NoSuchLoad(commission, firing, number)
    return of_plan(commission, plan, firing, number)


def firing_of(plan: Plan, kind: str) -> FiringPlan | None:
    """The plan's firing of that kind."""
    return {"bisque": plan.bisque, "glaze": plan.glaze_firing}.get(kind)


def of_plan(commission: Commission, plan: Plan, firing: FiringPlan, number: int) -> Planned:
    """One load of a plan."""
    from wareboard.kiln.shelf_map import letters

    every = [(each.kind, at) for each in (plan.bisque, plan.glaze_firing) for at in range(1, each.firings + 1)]
    return Planned(
        commission, plan.brief, plan, firing.in_load(number), number, letters([form.name for form in plan.forms]), every
    )


def arranged(planned: Planned) -> Arranged:
    """Where the pieces stand: as kept by hand, else as planned."""
    record = MovedLoad.objects.filter(
        commission_code=planned.commission.code, kind=planned.firing.kind, number=planned.number
    ).first()
    if record is None or record.put_away is not None:
        return Arranged(planned.pieces, record, False, False)
    if record.made_from != arrangement.made_from(planned.load):
        return Arranged(planned.pieces, record, False, True)
    return Arranged(pieces.as_kept(planned.pieces, record.places, record.extra), record, True, False)


def arranged_plan(commission: Commission, plan: Plan) -> tuple[Plan, Mapping[tuple[str, int], str]]:
    """The plan with every load that was arranged by hand as it was arranged, and words on each: by whom, when, what is out.

    For paper alone: what is reckoned from a plan goes by the plan.
    """
    told: dict[tuple[str, int], str] = {}
    firings = {}
    kept = {
        (each.kind, each.number) for each in MovedLoad.objects.filter(commission_code=commission.code, put_away=None)
    }
    for kind in ("bisque", "glaze"):
        firing = firing_of(plan, kind)
        if firing is None or not any(each == kind for each, _ in kept):
            continue
        loads = list(firing.loads.loads)
        for number in range(1, firing.firings + 1):
            here = arranged(of_plan(commission, plan, firing, number)) if (kind, number) in kept else None
            if here is not None and here.by_hand:
                loads[number - 1] = pieces.layouts_of(loads[number - 1], here.pieces)
                told[kind, number] = f"{words.sentence(here.words)}{_not_loaded(here.pieces)}"
        firings[kind] = replace(firing, loads=replace(firing.loads, loads=tuple(loads)))
    if not told:
        return plan, {}
    return replace(
        plan,
        bisque=firings.get("bisque", plan.bisque),
        glaze_firing=firings.get("glaze", plan.glaze_firing),
    ), told


def _not_loaded(every: Sequence[Piece]) -> str:
    counts: dict[str, int] = {}
    for piece in every:
        if piece.shelf == pieces.OFF:
            counts[piece.words] = counts.get(piece.words, 0) + piece.count
    out = ", ".join(f"{count} × {form}" for form, count in counts.items())
    return f" Not loaded: {out}." if out else ""


def print_of(commission: Commission) -> str:
    """A print of every arrangement of a commission, by which sheets know that they are written from older ones."""
    rows = MovedLoad.objects.filter(commission_code=commission.code).order_by("pk")
    return ";".join(f"{row.pk}:{signing.latest(row)}" for row in rows)
