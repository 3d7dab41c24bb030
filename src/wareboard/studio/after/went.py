"""How a commission went: what was planned beside what the records say, as tables for a page and for a sheet of paper."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.utils import timezone

from wareboard import quantities
from wareboard.book.boards.models import STANDS, Entry
from wareboard.book.glazes.models import BucketLine, TiedGlaze
from wareboard.book.learning.actual import WORK, Against, PlanAgainstActual, finished_on, plan_against_actual
from wareboard.book.models import Commission
from wareboard.book.pieces.grading import fault_named, graded
from wareboard.book.pieces.models import Claim, Piece
from wareboard.plan.result import Plan
from wareboard.working import MINUS

NOT_RECORDED = "not recorded"
COLUMNS = ("what", ">planned", ">as it was", ">difference")


@dataclass(frozen=True, slots=True)
class Rows:
    """One table: its name, rows of what, planned, as it was, difference; and a line below."""

    name: str
    rows: tuple[tuple[str, str, str, str], ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Went:
    """All of it: tables, what went wrong most, what was not recorded, and whether the job is done."""

    tables: tuple[Rows, ...]
    faults: tuple[tuple[str, int, str], ...]
    missing: tuple[str, ...]
    done: bool


def went(commission: Commission, plan: Plan) -> Went:
    """How a commission went against the plan by which it was made."""
    against = plan_against_actual(commission, plan)
    tables = [_dates(commission, plan), _money(plan, against)]
    for form in against.forms:
        lost = [replace(each, name=f"lost, {each.name}") for each in form.losses]
        counted = [each for each in form.pieces if each.name != "ordered"]
        tables.append(_rows(f"{form.name}: pieces and losses", (*counted, *lost)))
        if any(each.actual is not None for each in form.minutes):
            tables.append(_rows(f"{form.name}: minutes a piece", form.minutes))
    tables += [_rows("Clay and firings", (*against.clay, *against.firings)), _glaze(commission, plan)]
    tables.append(_rows("Cost", against.cost, "What was not recorded stands as planned."))
    pieces = Piece.objects.filter(commission=commission, put_away=None)
    missing = list(against.missing)
    if not pieces.exclude(grade="").exists():
        missing.append("no grades")
    return Went(tuple(each for each in tables if each.rows), _faults(pieces), tuple(missing), against.done)


def _dates(commission: Commission, plan: Plan) -> Rows:
    calendar = plan.calendar
    begun = Entry.objects.filter(board__commission=commission, kind="begin", standing=STANDS, undone_by=None)
    first = begun.order_by("happened").values_list("happened", flat=True).first()
    packed = finished_on(commission)
    gone = Piece.objects.filter(commission=commission, put_away=None, delivered__isnull=False)
    last = gone.order_by("-delivered").values_list("delivered", flat=True).first()
    rows = (
        _dated("first day", calendar.first_day, timezone.localtime(first).date() if first else None),
        _dated("packed", calendar.finish, packed.date() if packed else None),
        _dated("delivered, against the day agreed", plan.brief.due, last),
    )
    return Rows("Dates", rows)


def _dated(name: str, planned: date | None, actual: date | None) -> tuple[str, str, str, str]:
    apart = (actual - planned).days if planned and actual else None
    words = (
        "" if apart is None else "on the day" if not apart else f"{abs(apart)} days {'late' if apart > 0 else 'early'}"
    )
    shown = [f"{each.day} {each:%b %Y}" if each else "" for each in (planned, actual)]
    return name, shown[0] or "none", shown[1] or NOT_RECORDED, words


def _money(plan: Plan, against: PlanAgainstActual) -> Rows:
    price = float(plan.price.agreed_price if plan.price.agreed_price is not None else plan.price.quote)
    work = next((each for each in against.cost if each.name == WORK), None)
    ratio = work.actual / work.planned if work and work.planned and work.actual is not None else 1.0
    hours = plan.price.hours.value
    rows = (
        Against("price", price, price, against.currency),
        Against("cost of making", against.reckoned_cost, against.true_cost, against.currency),
        Against("left over", price - against.reckoned_cost, price - against.true_cost, against.currency),
        Against("hours", hours, hours * ratio, "h"),
    )
    note = "Hours and cost as the records have them; what was not timed or counted stands as planned."
    return _rows("Price, cost and hours", rows, note)


def _glaze(commission: Commission, plan: Plan) -> Rows:
    """Slip that the pieces took by the buckets' cards, beside the slip planned; what stays in the bucket is not in it."""
    lines = BucketLine.objects.filter(commission_code=commission.code, put_away=None).select_related("batch__version")
    tied = {
        row.glaze: row.version.recipe_id
        for row in TiedGlaze.objects.filter(commission_code=commission.code, put_away=None).select_related("version")
    }
    rows = []
    for glaze in plan.glazes:
        own = [
            each
            for each in lines
            if (recipe := tied.get(glaze.glaze.name)) is not None and each.batch.version.recipe_id == recipe
        ]
        weighed = [each for each in own if each.pieces and each.each_took_ml]
        took = sum(each.pieces * sum(each.each_took_ml) / len(each.each_took_ml) for each in weighed if each.pieces)
        rows.append(Against(glaze.glaze.name, glaze.need.slip_ml, took or None, "ml"))
    return _rows("Glaze slip", rows, "Planned with losses and what stays in the bucket; taken: by the buckets' cards.")


def _faults(pieces: Iterable[Piece]) -> tuple[tuple[str, int, str], ...]:
    rows = list(pieces)
    claimed = Claim.objects.filter(piece__in=rows, put_away=None).count()
    found = []
    for name, count in graded(rows).faults:
        known = fault_named(name)
        found.append((name, count, f"look first at {', '.join(known.first_checks)}" if known else ""))
    if claimed:
        found.append(("claims by the client", claimed, ""))
    return tuple(found)


def _rows(name: str, against: Sequence[Against], note: str = "") -> Rows:
    rows = tuple(
        (
            each.name,
            _shown(each.planned, each.unit) or "not planned",
            _shown(each.actual, each.unit) or NOT_RECORDED,
            _shown(each.difference, each.unit, sign=True),
        )
        for each in against
        if each.planned or each.actual
    )
    notes = dict.fromkeys(each.note for each in against if each.note)
    return Rows(name, rows, note or "; ".join(notes))


def _shown(value: float | None, unit: str, sign: bool = False) -> str:
    if value is None:
        return ""
    before = ("+" if value > 0 else MINUS if value < 0 else "") if sign else ""
    size = abs(value) if sign else value
    if unit == "g":
        return before + quantities.show_mass(size)
    if unit == "ml":
        return before + quantities.show_volume(size)
    if unit in ("", "pieces"):
        return f"{before}{size:.0f}" if float(size).is_integer() else f"{before}{size:.1f}"
    places = 0 if unit in ("kWh", "min") and size >= 10 else 1 if unit in ("kWh", "min", "h") else 2
    if len(unit) == 3 and unit.isupper():
        return f"{before}{unit} {size:,.2f}"  # as money stands on every page
    return f"{before}{size:,.{places}f} {unit}"
