"""A commission's plan set against what its records say happened: pieces, losses, minutes, clay, firings, cost.

What was not recorded is named, and stands as planned in the cost: a figure nobody wrote down is not called right.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.utils import timezone

from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import LAST
from wareboard.book.firings.models import Firing
from wareboard.book.learning.from_boards import BoardsRead, counted, read_boards
from wareboard.book.learning.minutes import task_key, timed
from wareboard.book.models import Commission
from wareboard.plan.costing import TASKS_AT

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan

WORK, LOADING, OVERHEAD = "work on the pieces", "loading and unloading", "overhead"


@dataclass(frozen=True, slots=True)
class Against:
    """One figure as planned and as it was; None where it was not planned, or not recorded."""

    name: str
    planned: float | None
    actual: float | None
    unit: str = ""
    note: str = ""

    @property
    def difference(self) -> float | None:
        """Actual less planned, where both are known."""
        if self.planned is None or self.actual is None:
            return None
        return self.actual - self.planned


@dataclass(frozen=True, slots=True)
class FormAgainst:
    """One form: pieces started, lost in each stretch and packed; minutes a piece by task where any were timed."""

    name: str
    pieces: tuple[Against, ...]
    losses: tuple[Against, ...]
    minutes: tuple[Against, ...]


@dataclass(frozen=True, slots=True)
class PlanAgainstActual:
    """A whole commission. ``missing`` says what was not recorded; ``done`` whether all pieces wanted are packed."""

    code: str
    currency: str
    forms: tuple[FormAgainst, ...]
    clay: tuple[Against, ...]
    firings: tuple[Against, ...]
    cost: tuple[Against, ...]
    missing: tuple[str, ...]
    done: bool

    @property
    def reckoned_cost(self) -> float:
        """The cost as planned."""
        return self.cost[-1].planned or 0.0

    @property
    def true_cost(self) -> float:
        """The cost by the records, with what was not recorded as planned."""
        return self.cost[-1].actual or 0.0


@dataclass(frozen=True, slots=True)
class Counts:
    """Pieces of one form as its boards tell: begun, into each stretch, lost in it, packed."""

    begun: int
    into: Mapping[str, int]
    lost: Mapping[str, int]
    packed: int


def plan_against_actual(commission: Commission, plan: Plan, until: datetime | None = None) -> PlanAgainstActual:
    """What was planned beside what happened.

    Args:
        commission: the commission.
        plan: the plan to compare with, such as the one that the client agreed to.
        until: only what was written before that moment; everything when left out.
    """
    read = read_boards(until, commission)
    by_form = {form.name: _counts(form.name, read, commission) for form in plan.forms}
    times = timed(read, commission.code)
    forms = tuple(_form(form, by_form[form.name], times) for form in plan.forms)
    fired = _fired(commission, plan)
    cost = _cost(plan, by_form, times, fired)
    missing = tuple(_missing(by_form, times, fired))
    done = all(by_form[form.name].packed >= form.form.count for form in plan.forms)
    return PlanAgainstActual(
        commission.code, plan.price.currency, forms, _clay(plan, by_form), fired, cost, missing, done
    )


def _counts(name: str, read: BoardsRead, commission: Commission) -> Counts:
    into: dict[str, int] = defaultdict(int)
    lost: dict[str, int] = defaultdict(int)
    begun = 0
    for pk, tally in counted(read).items():
        if read.boards[pk].form != name:
            continue
        begun += sum(max(0, each.change) for each in read.entries[pk] if each.kind in ("begin", "gain"))
        for stretch in read.forms[pk].yields:
            lost[stretch] += tally.lost.get(stretch, 0)
            into[stretch] += tally.lost.get(stretch, 0) + tally.passed.get(stretch, 0)
        if tally.here is not None:
            into[tally.here] += max(0, tally.pieces)
    packed = Board.objects.filter(commission=commission, form=name, stage=LAST).values_list("pieces", flat=True)
    return Counts(begun, into, lost, sum(packed))


def _form(form: FormPlan, counts: Counts, times: Mapping[str, Sequence[float]]) -> FormAgainst:
    begun = bool(counts.begun)
    pieces = (
        Against("ordered", float(form.form.count), None),
        Against("started", float(form.start), float(counts.begun) if begun else None),
        Against("packed", float(form.form.count), float(counts.packed) if begun else None),
    )
    planned = {each.stage: each.going_in - each.expected_after for each in form.overage.stage_counts}
    losses = tuple(
        Against(stage, lost, float(counts.lost.get(stage, 0)) if counts.into.get(stage) else None, "pieces")
        for stage, lost in planned.items()
    )
    minutes = tuple(
        Against(task, planned_minutes.value, _mean(times.get(task_key(task, form.kind), ())), "min")
        for task, planned_minutes in form.minutes.items()
    )
    return FormAgainst(form.name, pieces, losses, minutes)


def _mean(found: Sequence[float]) -> float | None:
    return sum(found) / len(found) if found else None


def _clay(plan: Plan, by_form: Mapping[str, Counts]) -> tuple[Against, ...]:
    planned = sum(form.ball_g * form.start for form in plan.forms)
    begun = sum(form.ball_g * by_form[form.name].begun for form in plan.forms)
    note = "balls of the pieces begun, at the weight on the sheet; handles, trimmings and slurry not counted"
    return (Against("clay in balls", planned, begun or None, "g", note),)


def _fired(commission: Commission, plan: Plan) -> tuple[Against, ...]:
    rows = list(Firing.objects.filter(commission_code=commission.code, put_away=None))
    found = []
    for firing in (plan.bisque, plan.glaze_firing):
        own = [row for row in rows if row.kind == firing.kind]
        kwh = [row.energy_kwh for row in own if row.energy_kwh]
        found.append(Against(f"{firing.kind} firings", float(firing.firings), float(len(own)) if own else None))
        energy = sum(kwh) * len(own) / len(kwh) if kwh else None
        note = "" if len(kwh) == len(own) else f"meter read at {len(kwh)} of {len(own)}; the others taken as these"
        found.append(Against(f"{firing.kind} energy", firing.energy.kwh * firing.firings, energy, "kWh", note))
    return tuple(found)


def _cost(
    plan: Plan, by_form: Mapping[str, Counts], times: Mapping[str, Sequence[float]], fired: Sequence[Against]
) -> tuple[Against, ...]:
    """Each line of the planned cost, moved as the records ask."""
    moved = {WORK: _work_ratio(plan, by_form, times), LOADING: 1.0}
    begun = sum(by_form[form.name].begun for form in plan.forms)
    moved["clay"] = begun / sum(form.start for form in plan.forms) if begun else 1.0
    ratios = {each.name: each.actual / each.planned for each in fired if each.actual and each.planned}
    counts = [ratios[name] for name in ("bisque firings", "glaze firings") if name in ratios]
    moved[LOADING] = sum(counts) / len(counts) if counts else 1.0
    for kind in ("bisque", "glaze"):
        moved[f"{kind} firings"] = ratios.get(f"{kind} energy", ratios.get(f"{kind} firings", 1.0))
    lines = [
        Against(line.name, float(line.amount), float(line.amount) * moved.get(line.name, 1.0), plan.price.currency)
        for line in plan.price.lines
        if line.name != OVERHEAD
    ]
    planned, actual = (
        sum(value or 0.0 for value in side) for side in zip(*((e.planned, e.actual) for e in lines), strict=True)
    )
    over = next((line for line in plan.price.lines if line.name == OVERHEAD), None)
    if over is not None:
        share = float(over.amount) / planned if planned else 0.0
        lines.append(Against(OVERHEAD, float(over.amount), share * actual, plan.price.currency))
        planned, actual = planned + float(over.amount), actual * (1.0 + share)
    return (*lines, Against("cost in all", planned, actual, plan.price.currency))


def _work_ratio(plan: Plan, by_form: Mapping[str, Counts], times: Mapping[str, Sequence[float]]) -> float:
    """Minutes by the records over the minutes planned; what was not timed or not counted stands as planned."""
    planned = actual = 0.0
    for form in plan.forms:
        counts = by_form[form.name]
        rows = [*TASKS_AT.items(), ("packed", ("pack",))]
        for stage, tasks in rows:
            pieces = form.going_into(stage) if stage != "packed" else float(form.form.count)
            seen = counts.packed if stage == "packed" else counts.into.get(stage, 0)
            done = float(seen) if counts.begun and seen else pieces
            for task in tasks:
                if task in form.minutes:
                    usual = form.minutes[task].value
                    planned += pieces * usual
                    actual += done * (_mean(times.get(task_key(task, form.kind), ())) or usual)
    return actual / planned if planned else 1.0


def _missing(
    by_form: Mapping[str, Counts], times: Mapping[str, Sequence[float]], fired: Sequence[Against]
) -> list[str]:
    found = [f"no boards of {name}" for name, counts in by_form.items() if not counts.begun]
    if not times:
        found.append("no times: nobody timed a task, and no two boards were moved one after the other")
    found += [f"no {each.name}" for each in fired if each.actual is None]
    return found


def finished_on(commission: Commission) -> datetime | None:
    """When the last board of a commission was packed; None while one of its boards still holds pieces before that."""
    boards = Board.objects.filter(commission=commission)
    if not boards.exists() or boards.filter(pieces__gt=0).exclude(stage=LAST).exists():
        return None
    when = boards.filter(stage=LAST).order_by("-since").values_list("since", flat=True).first()
    return timezone.localtime(when) if when else None
