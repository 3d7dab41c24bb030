"""What people say of the records: leave one out, put it back, begin a new lot, write a time down, keep figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from wareboard import reference
from wareboard.book.firings import signing
from wareboard.book.firings.signing import Signed
from wareboard.book.learning.models import FiguresKept, HandTime, LeftOut, NewLot
from wareboard.book.models import Commission
from wareboard.errors import NotInTable, OutOfRange, Unreadable
from wareboard.plan.own import Own

MOST_PIECES, LONGEST_MIN = 5000, 24 * 60.0


def leave_out(record: str, why: str, by: Signed) -> LeftOut:
    """A record that counts no longer, with the reason.

    Raises:
        Unreadable: without a reason, or a record's name that is none.
    """
    why = why.strip()[:200]
    if not why:
        raise Unreadable("a record left out without a reason", "in a year nobody will know why", "Write a word or two")
    if not record or len(record) > 160:
        raise Unreadable("the record to leave out", "the page did not say which", "Load the page again")
    with transaction.atomic():
        held = LeftOut.objects.select_for_update().filter(record=record).first()
        if held is None:
            return signing.begin(LeftOut(record=record, why=why), f"Left out: {why}", by)
        return signing.change(held, {"put_away": None, "why": why}, f"Left out: {why}", by)


def put_back(record: str, by: Signed) -> LeftOut:
    """A record that counts again.

    Raises:
        NotInTable: if it was not left out.
    """
    held = LeftOut.objects.filter(record=record).first()
    if held is None:
        raise NotInTable("the record to put back", "it was not left out", "Load the page again")
    return signing.put_away(held, "Counts again", by)


def new_lot(figure: str, day: date, name: str, by: Signed) -> NewLot:
    """A figure that starts afresh from that day.

    Raises:
        Unreadable: without a name for the lot.
    """
    name = name.strip()[:80]
    if not name or not figure or len(figure) > 160:
        raise Unreadable("a new lot without a name", "its records could not be told from others", "Name it")
    return signing.begin(NewLot(figure=figure, day=day, name=name), f"{name} from {day}", by)


def no_new_lot(lot: NewLot, by: Signed) -> NewLot:
    """The figure as it was without that lot."""
    return signing.put_away(lot, f"{lot.name} taken back", by)


@dataclass(frozen=True, slots=True)
class Sat:
    """A sitting as it was written down."""

    task: str
    pieces: int
    minutes: float
    day: date
    person: str = ""
    commission_code: str = ""
    note: str = ""


def write_time(sat: Sat, by: Signed) -> HandTime:
    """A sitting kept.

    Raises:
        NotInTable: for a task of which nothing is held.
        OutOfRange: for pieces or minutes that cannot be.
    """
    if not sat.task.startswith("minutes.") or not reference.has_default(sat.task):
        raise NotInTable(f"task {sat.task[:40]!r}", "no minutes are held for it", "Choose one of the list")
    if not 1 <= sat.pieces <= MOST_PIECES:
        raise OutOfRange(f"{sat.pieces} pieces", f"a sitting has 1 to {MOST_PIECES}", "Count them again")
    if not (math.isfinite(sat.minutes) and 0.0 < sat.minutes <= LONGEST_MIN):
        raise OutOfRange(f"{sat.minutes:g} minutes", "a sitting lasts above 0 and up to a day", "Write the time again")
    row = HandTime(
        task=sat.task, person=sat.person.strip()[:60], pieces=sat.pieces, minutes=sat.minutes, day=sat.day,
        commission_code=sat.commission_code[:12], note=sat.note.strip()[:200],
    )  # fmt: skip
    return signing.begin(row, "Written down", by)


# --- figures kept with a commission ------------------------------------------------------------------------------------


def keep_figures(commission: Commission, own: Own, day: date, why: str, by: Signed) -> FiguresKept:
    """The learned figures that this commission goes by from now on; call it when a client is shown or agrees to a version.

    Figures that are kept already stay: what was agreed first is what was agreed.
    """
    with transaction.atomic():
        held = FiguresKept.objects.select_for_update().filter(commission=commission).first()
        fields = {"figures": own.as_plain(), "day": day, "why": why[:200]}
        if held is None:
            return signing.begin(FiguresKept(commission=commission, **fields), why, by)
        if held.put_away is None:
            return held
        return signing.change(held, {**fields, "put_away": None}, why, by)


def let_figures_go(commission: Commission, by: Signed) -> None:
    """The commission goes by what is learned up to now, again."""
    held = FiguresKept.objects.filter(commission=commission, put_away=None).first()
    if held is not None:
        signing.put_away(held, "Goes by the newest figures again", by)


def kept_figures() -> dict[int, Own]:
    """The figures of every commission that goes by kept ones, by the key of its brief's paper."""
    rows = FiguresKept.objects.filter(put_away=None).values_list("commission__paper_id", "figures")
    return {paper: Own.from_plain(figures) for paper, figures in rows}


@dataclass(frozen=True, slots=True)
class Parted:
    """A figure that a commission goes by, beside what is learned of it now; None where one side has none."""

    key: str
    label: str
    unit: str
    then: float | None
    now: float | None


def parted(then: Own, now: Own, keys: Sequence[str]) -> list[Parted]:
    """Which of these figures differ between the kept ones and those learned up to now."""
    found = []
    for key in keys:
        old, new = then.get(key), now.get(key)
        either = old or new
        if either is None or then.print_of(key) == now.print_of(key):
            continue
        found.append(Parted(key, either.label, either.unit, old.value if old else None, new.value if new else None))
    return found
