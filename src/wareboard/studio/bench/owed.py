"""Messages owed to clients, each with a text to copy that has the facts in it: deposit, approval, shortfall, a later date.

A message is owed until it is ticked off as sent; a date that moves again is owed again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from wareboard.book.boards.ahead import when_packed
from wareboard.book.boards.counting import lot_of
from wareboard.book.boards.models import Tick
from wareboard.book.boards.stages import ORDER
from wareboard.book.boards.ticking import TOLD
from wareboard.studio import words
from wareboard.studio.bench.standing import InHand

DEPOSIT, APPROVAL = "deposit", "approval"
BEFORE_WORK = timedelta(days=14)  # common practice: money and word are asked for before the clay is ordered


@dataclass(frozen=True, slots=True)
class Owed:
    """One message: whose, what it is about, the text, and what ticks it off."""

    there: InHand
    about: str
    text: str
    what: str
    detail: str = ""


def messages_owed(there: Iterable[InHand], ticks: Sequence[Tick], now: datetime) -> list[Owed]:
    """Every message owed today, those of the nearest due dates first."""
    found: list[Owed] = []
    ticked: dict[int, list[Tick]] = {}
    for tick in ticks:
        ticked.setdefault(tick.commission_id, []).append(tick)
    for each in there:
        own = ticked.get(each.commission.pk, [])
        done = {tick.what for tick in own}
        told = max((tick.detail for tick in own if tick.what == TOLD), default="")
        found += [
            owed
            for owed in (
                _deposit(each, now) if DEPOSIT not in done else None,
                _approval(each, now) if APPROVAL not in done else None,
                moved(each, date.fromisoformat(told) if told else None, now),
            )
            if owed is not None
        ]
    return found


def _begins(each: InHand, now: datetime) -> date | None:
    """The day on which work begins or began, if that is near or past."""
    if each.course is None:
        return None
    if each.boards:
        return min(board.since for board in each.boards).date()
    first = each.course.first_day
    return first if first is not None and first - now.date() <= BEFORE_WORK else None


def _greeting(each: InHand) -> str:
    client = each.course.client if each.course else ""
    return f"Dear {client or 'client'},\n\nabout {each.commission.name}: "


def _deposit(each: InHand, now: datetime) -> Owed | None:
    begins = _begins(each, now)
    if begins is None or each.course is None or not each.course.deposit:
        return None
    text = (
        f"{_greeting(each)}the work is to begin on {words.day(begins)}. Before it does I ask for the deposit of "
        f"{each.course.deposit}; the rest is due when the pieces are ready, planned for {words.day(each.course.due)}.\n\n"
        "Once it is here, the day is yours."
    )
    about = f"Deposit of {each.course.deposit}" + (": the work has begun" if each.boards else "")
    return Owed(each, about, text, DEPOSIT)


def _approval(each: InHand, now: datetime) -> Owed | None:
    begins = _begins(each, now)
    past = any(ORDER[board.stage] >= ORDER["bisque"] for board in each.boards)
    if begins is None or each.course is None or past:
        return None
    rows = "\n".join(f"- {form.count} × {form.name}" for form in each.course.forms)
    text = (
        f"{_greeting(each)}before the others are made I need your yes, in writing, to the prototype of each form, or what "
        f"should be different:\n\n{rows}\n\nThe approved piece stays here and every other is held beside it."
    )
    return Owed(each, "Approval of the prototypes", text, APPROVAL)


def moved(each: InHand, told: date | None, now: datetime) -> Owed | None:
    """The message that the date moved, or that pieces are short and others must be made; None where it is not owed.

    Args:
        told: the day that the client was told last, if any.
    """
    if each.course is None or not each.begun:
        return None
    finish, due = each.packed, each.course.due
    if finish is None or finish <= due or (told is not None and finish <= told):
        return None
    later = words.in_days((finish - (told or due)).days)
    spoken = words.day(told or due)
    by_due = _in_time(each, now)
    rows = "\n".join(f"- {form.form}: {form.wanted} ordered, {form.on_boards} in the making" for form in each.forms)
    if by_due:
        short = ", ".join(f"{form.enough.more} × {form.form}" for form in each.forms if form.enough.more)
        text = (
            f"{_greeting(each)}some pieces were lost, and {short} must be thrown again. {by_due} can be ready by "
            f"{words.day(due)}; all of it about {words.day(finish)}, which is {later} after the {spoken} we spoke of.\n\n"
            f"{rows}\n\nShall the first part come on the day, or all together?"
        )
        return Owed(each, f"Pieces are short: all ready about {words.day(finish)}", text, TOLD, finish.isoformat())
    text = (
        f"{_greeting(each)}by how the work stands today, all will be ready about {words.day(finish)}, which is {later} "
        f"after the {spoken} we spoke of.\n\n{rows}\n\nWould the later day do, or shall part of it come first?"
    )
    about = f"The date moved: ready about {words.day(finish)}, {words.day(due)} was agreed"
    return Owed(each, about, text, TOLD, finish.isoformat())


def shortfall(each: InHand, now: datetime) -> Owed | None:
    """The message about a shortfall for a page about the commission: the one that is owed, else how it stands so far."""
    owed = moved(each, None, now)
    if owed is not None or each.course is None:
        return owed
    short = [form for form in each.forms if form.on_boards and form.course == "short"]
    if not short:
        return None
    rows = "\n".join(
        f"- {form.form}: {form.wanted} ordered, about {form.enough.expected:.0f} of those in hand will come good; "
        f"{form.enough.more} more {'is' if form.enough.more == 1 else 'are'} made"
        for form in short
    )
    finish = words.day(each.packed)
    text = (
        f"{_greeting(each)}more pieces were lost than usual, so I make some again:\n\n{rows}\n\nAs it stands all of it is "
        f"ready about {finish}; {words.day(each.course.due)} was agreed. You hear from me if that changes."
    )
    return Owed(each, f"Pieces are short: ready about {finish} all the same", text, TOLD)


def _in_time(each: InHand, now: datetime) -> str:
    """What can be ready by the due date without what must be thrown again; nothing where that is not the cause."""
    if each.course is None or not any(form.enough.more and form.on_boards for form in each.forms):
        return ""
    alone = when_packed(each.course, [lot_of(board) for board in each.boards], now)
    kept = [
        f"about {min(form.wanted, int(form.enough.expected))} × {form.form}"
        for form in each.forms
        if form.form in alone and alone[form.form].value.date() <= each.course.due
    ]
    return ", ".join(kept)
