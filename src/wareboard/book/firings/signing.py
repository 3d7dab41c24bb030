"""Writing records with their history: begin, change, put away, fetch back, undo, redo. Each is one short transaction."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar

from django.db import models, transaction

from wareboard.book.firings.models import Change, Kept
from wareboard.book.keeping import NothingThere

Record = TypeVar("Record", bound=Kept)


@dataclass(frozen=True, slots=True)
class Signed:
    """Who writes, and when."""

    who: str
    when: datetime


def begin(record: Record, why: str, by: Signed) -> Record:
    """The new record, saved, with the first line of its history."""
    with transaction.atomic():
        record.save()
        _keep(record, None, why, by)
    return record


def change(record: Record, fields: Mapping[str, Any], why: str, by: Signed) -> Record:
    """The record with ``fields`` changed; nothing is written where they say what stands there already."""
    with transaction.atomic():
        held = _held(record)
        before = state(held)
        for name, value in fields.items():
            setattr(held, name, value)
        if state(held) != before:
            held.save(update_fields=list(fields))
            _keep(held, before, why, by)
    return held


def put_away(record: Record, why: str, by: Signed) -> Record:
    """The record taken off the pages; nothing of it is lost."""
    return change(record, {"put_away": by.when}, why, by)


def fetch_back(record: Record, why: str, by: Signed) -> Record:
    """The record back on the pages."""
    return change(record, {"put_away": None}, why, by)


def moved(record: Kept, move: str, by: Signed) -> bool:
    """Whether ``move`` is one that every record knows (undo, put-away, fetch-back); it is done then.

    Raises:
        WareboardError: if there is nothing to undo.
    """
    match move:
        case "undo":
            undo(record, by)
        case "put-away":
            put_away(record, "Put away", by)
        case "fetch-back":
            fetch_back(record, "Fetched back", by)
        case _:
            return False
    return True


def undo(record: Record, by: Signed) -> Record:
    """The record as it was before its latest change that still stands; where that began it, the record put away."""
    with transaction.atomic():
        held = _held(record)
        last = _to_undo(held)
        if last is None:
            raise NothingThere("nothing to undo", "every change of this was undone", "Go on from here")
        before = state(held)
        _put(held, last.before or {**last.after, "put_away": by.when.isoformat()})
        last.undone = True
        last.save(update_fields=["undone"])
        _keep(held, before, f"Undone: {last.why}", by, undoes=last)
    return held


def redo(record: Record, by: Signed) -> Record:
    """The record as it was before the latest undoing, if nothing was written since."""
    with transaction.atomic():
        held = _held(record)
        undoing = can_redo(held)
        if undoing is None or undoing.undoes is None:
            raise NothingThere("nothing to redo", "nothing was undone, or it was written over", "Go on from here")
        before, again = state(held), undoing.undoes
        _put(held, again.after)
        again.undone, undoing.undone = False, True
        again.save(update_fields=["undone"])
        undoing.save(update_fields=["undone"])
        _keep(held, before, f"Done again: {again.why}", by, undoes=undoing, undone=True)
    return held


def undo_latest(records: Iterable[Kept], by: Signed) -> Kept:
    """The one of several records that was changed last, with that change undone.

    Raises:
        NothingThere: if no change of any stands.
    """
    last = [(change.pk, record) for record in records if (change := _to_undo(record))]
    if not last:
        raise NothingThere("nothing to undo", "every change here was undone", "Go on from here")
    return undo(max(last, key=lambda each: each[0])[1], by)


def redo_latest(records: Iterable[Kept], by: Signed) -> Kept:
    """The one of several records in which something was undone last, with that done again.

    Raises:
        NothingThere: if nothing was undone, or it was written over.
    """
    last = [(undoing.pk, record) for record in records if (undoing := can_redo(record))]
    if not last:
        raise NothingThere("nothing to redo", "nothing was undone, or it was written over", "Go on from here")
    return redo(max(last, key=lambda each: each[0])[1], by)


def can_undo(record: Kept) -> bool:
    """Whether there is a change to undo."""
    return _to_undo(record) is not None


def _to_undo(record: Kept) -> Change | None:
    return history(record).filter(undoes=None, undone=False).first()


def can_redo(record: Kept) -> Change | None:
    """The undoing that redo would take back."""
    undoing = history(record).exclude(undoes=None).filter(undone=False).first()
    if undoing is None or history(record).filter(undoes=None, undone=False, pk__gt=undoing.pk).exists():
        return None
    return undoing


def latest(record: Kept) -> int:
    """The key of a record's newest change, by which a writer knows whether it was changed meanwhile; 0 where it has none."""
    return history(record).values_list("pk", flat=True).first() or 0


def history(record: Kept) -> models.QuerySet[Change]:
    """Every change of a record, newest first."""
    return Change.objects.filter(of=type(record).__name__, record=record.pk)


def state(record: Kept) -> dict[str, Any]:
    """The plain fields of a record, as they go into its history."""
    return {name: _plain(getattr(record, name)) for name in ("put_away", *record.plain)}


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date | datetime) else value


def _put(record: Kept, fields: Mapping[str, Any]) -> None:
    for name, value in fields.items():
        field = type(record)._meta.get_field(name.removesuffix("_id"))
        if isinstance(field, models.Field) and not name.endswith("_id"):
            value = field.to_python(value)  # days come back from text
        setattr(record, name, value)
    record.save(update_fields=list(fields))


def _held(record: Record) -> Record:
    return type(record)._default_manager.select_for_update().get(pk=record.pk)


def _keep(
    record: Kept,
    before: dict[str, Any] | None,
    why: str,
    by: Signed,
    undoes: Change | None = None,
    undone: bool = False,
) -> None:
    Change.objects.create(
        of=type(record).__name__,
        record=record.pk,
        before=before,
        after=state(record),
        why=why[:200],
        who=by.who[:80],
        written=by.when,
        undoes=undoes,
        undone=undone,
    )
