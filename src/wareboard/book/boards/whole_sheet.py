"""A sheet entered in one go, undone in one go: its entries taken back from the last to the first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from wareboard.book.boards import acting
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import STANDS, Entry, KeptSheet
from wareboard.errors import WareboardError


@dataclass(frozen=True, slots=True)
class Undone:
    """How many entries were taken back, and those that could not be, in words."""

    count: int
    left: tuple[str, ...]


def note_sheet(key: str, words: str, who: str, now: datetime, measured: int = 0) -> KeptSheet | None:
    """The sheet with as many entries as were kept under its key; None where there is none.

    Args:
        measured: how many measurements were kept under it besides.
    """
    entries = Entry.objects.filter(sheet=key).exclude(kind="undo").count() if key else 0
    entries += measured if key else 0
    if not entries:
        return None
    return KeptSheet.objects.update_or_create(
        key=key[:40],
        defaults={"words": words[:60], "entries": entries},
        create_defaults={
            "words": words[:60],
            "entries": entries,
            "who": who[:80],
            "written": now,
        },
    )[0]


def undo_sheet(sheet: KeptSheet, who: str, now: datetime) -> Undone:
    """Every entry of the sheet that still can be, taken back; what was built upon stays and is named."""
    count, left = 0, []
    entries = Entry.objects.filter(sheet=sheet.key, standing=STANDS, undone_by=None).exclude(kind="undo")
    for entry in entries.select_related("board").order_by("-pk"):
        asked = Asked(f"{sheet.key[:24]}:u:{entry.pk}"[:40], "undo", who, now, undoes=entry.key)
        try:
            with transaction.atomic():
                acting.act(asked, now)
            count += 1
        except WareboardError as problem:
            left.append(str(problem))
    if not left:
        sheet.undone = now
        sheet.save(update_fields=["undone"])
    return Undone(count, tuple(left))


def latest_sheets(most: int = 6) -> list[KeptSheet]:
    """The sheets entered last that still stand."""
    return list(KeptSheet.objects.filter(undone=None).order_by("-pk")[:most])
