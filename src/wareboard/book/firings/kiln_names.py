"""A kiln by its names: one that was renamed in the workshop's file keeps its record, and records joined can be parted.

A rename changes the record's name. Where the new name has a record of its own already, that one is made to carry on the
earlier one: each firing keeps the number it was written down with, and what is learned is learned from both.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.db import transaction

from wareboard.book.firings.models import Kiln
from wareboard.book.firings.signing import Signed, begin, change, fetch_back
from wareboard.errors import OutOfRange


def line_of(kiln: Kiln) -> list[tuple[Kiln, int]]:
    """The records that make one kiln, oldest first, each with what its firings' numbers are raised by in the whole line.

    A record that goes on counting where the earlier one stopped is raised by nothing.
    """
    line, at, seen = [], kiln, set()
    while at.pk not in seen:
        seen.add(at.pk)
        line.append(at)
        if at.continues is None or at.continues.put_away is not None:
            break
        at = at.continues
    found, reached = [], 0
    for each in reversed(line):
        numbers = list(each.firings.filter(put_away=None).values_list("number", flat=True))
        raised = reached if numbers and min(numbers) <= reached else 0
        found.append((each, raised))
        reached = max([reached, *(number + raised for number in numbers)])
    return found


def newest_of(kiln: Kiln) -> Kiln:
    """The record that carries this one on, and the one that carries that on; itself where none does."""
    at, seen = kiln, set()
    while at.pk not in seen:
        seen.add(at.pk)
        after = at.continued_by.filter(put_away=None).first()
        if after is None:
            return at
        at = after
    return kiln


def strangers(named_in_file: Iterable[str]) -> list[Kiln]:
    """Records with firings whose name the workshop's file knows no more, and which nothing carries on."""
    rows = Kiln.objects.filter(put_away=None).exclude(name__in=list(named_in_file))
    return [each for each in rows if each.firings.exists() and not each.continued_by.filter(put_away=None).exists()]


def formerly(name: str, record: Kiln | None, named_in_file: Sequence[str]) -> list[Kiln]:
    """The kilns that the one of this name may have been called before: to be asked, never taken for granted."""
    if record is not None and record.continues_id is not None:
        return []
    apart = record.apart if record is not None else []
    return [each for each in strangers(named_in_file) if each.pk not in apart and each.name != name]


def join(name: str, earlier: Kiln, by: Signed) -> Kiln:
    """The record of the kiln called ``name``, made one with the earlier record.

    Raises:
        OutOfRange: if they are joined already, the one way or the other.
    """
    with transaction.atomic():
        earlier = Kiln.objects.select_for_update().get(pk=earlier.pk)
        own = Kiln.objects.filter(name=name).first()
        if own is None:
            return change(earlier, {"name": name}, f"{earlier.name} is called {name} now", by)
        if own.put_away is not None:
            own = fetch_back(own, f"{name} fetched back", by)
        if own.pk in {each.pk for each, _ in line_of(earlier)} or own.continues_id is not None:
            raise OutOfRange(
                f"{name} and {earlier.name}", "they are one kiln already", "Part them first if that is wrong"
            )
        return change(own, {"continues_id": earlier.pk}, f"{name} was formerly called {earlier.name}", by)


def part(kiln: Kiln, by: Signed) -> Kiln:
    """The record on its own again, and said to be another kiln than the one it carried on."""
    if kiln.continues is None:
        raise OutOfRange(kiln.name, "it carries on no other record", "Nothing needs parting")
    apart = sorted({*kiln.apart, kiln.continues.pk})
    why = f"{kiln.name} is another kiln than {kiln.continues.name}"
    return change(kiln, {"continues_id": None, "apart": apart}, why, by)


def say_apart(name: str, slug: str, earlier: Sequence[Kiln], by: Signed) -> Kiln:
    """The record of the kiln called ``name``, begun if need be, said to be none of the earlier ones."""
    with transaction.atomic():
        own = Kiln.objects.filter(name=name).first() or begin(Kiln(name=name, slug=slug), f"{name} begun", by)
        apart = sorted({*own.apart, *(each.pk for each in earlier)})
        return change(own, {"apart": apart}, f"{name} is none of the kilns before", by)
