"""Ticking off what belongs to no board: a glaze mixed, a client told. Once by its key, taken back by a tap."""

from __future__ import annotations

from datetime import date, datetime

from wareboard.book.boards.asking import KEY
from wareboard.book.boards.models import Tick
from wareboard.book.models import Commission
from wareboard.errors import NotInTable, Unreadable

TOLD = "told"


def tick_off(key: str, commission: str, what: str, detail: str, who: str, now: datetime) -> tuple[Tick, bool]:
    """The tick, and whether it was there already.

    Args:
        commission: its code.
        what: told, deposit, approval, or mix- and the glaze's name.
        detail: of told, the day that the client was told, as year-month-day.
    Raises:
        NotInTable, Unreadable: naming what is not there or cannot be read.
    """
    if not KEY.fullmatch(key):
        raise Unreadable(
            "the tick has no key of its own", "without one a double tap counts twice", "Load the page again"
        )
    found = Commission.objects.filter(code=commission[:12]).first()
    if found is None or not what:
        raise NotInTable("a tick without a commission", "nothing says what was done", "Load Today again")
    if what == TOLD:
        try:
            date.fromisoformat(detail)
        except ValueError:
            raise Unreadable(f"{detail[:20]!r}", "that is not a day to have told", "Load Today again") from None
    made = {"commission": found, "what": what[:80], "detail": detail[:80], "who": who[:80], "written": now}
    tick, fresh = Tick.objects.get_or_create(key=key, defaults=made)
    return tick, not fresh
