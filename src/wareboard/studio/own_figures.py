"""What the workshop's records teach, worked out once and kept in memory until a record says otherwise."""

from __future__ import annotations

import hashlib
import threading
from datetime import date, datetime
from typing import TYPE_CHECKING

from django.conf import settings
from django.db.models import Subquery

from wareboard.book.boards.models import Entry
from wareboard.book.firings.models import Change
from wareboard.book.learning.own import FromBoards, figures_on, from_boards, own_of, start_of
from wareboard.book.measures.models import Measurement, Turn
from wareboard.book.models import Version
from wareboard.errors import WareboardError
from wareboard.plan.own import Own

if TYPE_CHECKING:
    from wareboard.book.learning.figures import Figure
    from wareboard.plan.workshop import Workshop

Stamp = tuple[object, ...]
_kept: dict[str, tuple[Stamp, list[Figure], Own]] = {}
_boards: dict[str, tuple[Stamp, FromBoards]] = {}
_one_at_a_time = threading.Lock()


def figures_now(day: date, workshop_text: str) -> list[Figure]:
    """Every figure of which there is a record, on that day."""
    return _worked_out(day, workshop_text)[0]


def own_now(day: date, workshop_text: str) -> Own:
    """The figures that plans lean on, on that day."""
    return _worked_out(day, workshop_text)[1]


def forget() -> None:
    """Let go of what is kept in memory."""
    _kept.clear()
    _boards.clear()


def _worked_out(day: date, workshop_text: str) -> tuple[list[Figure], Own]:
    place, stamp = str(settings.WAREBOARD.folder), _stamp(day, workshop_text)
    found = _kept.get(place)
    if found is None or found[0] != stamp:
        with _one_at_a_time:
            found = _kept.get(place)
            if found is None or found[0] != stamp:
                figures = figures_on(day, _workshop(workshop_text), _from_boards(place, day, stamp))
                found = _kept[place] = (stamp, figures, own_of(figures))
    return found[1], found[2]


def _from_boards(place: str, day: date, stamp: Stamp) -> FromBoards:
    """What the boards told, read again only on another day, after an entry of an earlier one, or with another brief."""
    _, _, entry, _, version, *_ = stamp
    found, mark = _boards.get(place), (day, entry, version)
    if found is None or found[0] != mark:
        found = _boards[place] = mark, from_boards(day)
    return found[1]


def _workshop(text: str) -> Workshop | None:
    from wareboard.plan.reading import read_workshop

    try:
        return read_workshop(text)
    except WareboardError:
        return None


def _stamp(day: date, workshop_text: str) -> Stamp:
    """What changes whenever a record that counts does: the newest of each kind, entries and measurements before the day.

    Entries are only ever added, and every other record's change is kept beside it.
    """
    before = Entry.objects.filter(written__lt=start_of(day)).order_by("-written")
    changes, versions = Change.objects.order_by("-pk"), Version.objects.order_by("-pk")
    measured = Measurement.objects.filter(written__lt=start_of(day)).order_by("-written")
    turn = Subquery(Turn.objects.order_by("-pk").values("pk")[:1])  # with the measurement, in one question
    newest: list[tuple[int, datetime] | None] = [
        rows.values_list("pk", "written").first() for rows in (before, changes, versions)
    ]
    newest_measured = measured.values_list("pk", "written", turn).first()
    print_of_workshop = hashlib.sha256(workshop_text.encode("utf-8", "surrogatepass")).hexdigest()
    return (day, print_of_workshop, *newest, newest_measured)
