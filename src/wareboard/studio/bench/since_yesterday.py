"""What changed since yesterday: dates and chances that moved, plans changed, entries made overnight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from wareboard.book.boards import history
from wareboard.book.boards.models import DayStanding, Entry
from wareboard.book.models import Version
from wareboard.studio import words
from wareboard.studio.bench.entry_words import words_of
from wareboard.studio.bench.standing import InHand
from wareboard.working import per_cent

MOST_CHANGES = 12
LOOKED_BACK = timedelta(days=5)  # over a long weekend
CHANCE_MOVED = 0.05


@dataclass(frozen=True, slots=True)
class Moved:
    """A commission whose date or chance is another than it was when it was last looked at."""

    commission: str
    code: str
    words: str
    worse: bool


@dataclass(frozen=True, slots=True)
class Changes:
    """All that changed: what moved, versions of briefs, the latest entries in words, and how many more there are."""

    moved: tuple[Moved, ...]
    versions: tuple[Version, ...]
    entries: tuple[tuple[Entry, str], ...]
    more: int


def changes(there: Sequence[InHand], moment: datetime) -> Changes:
    """What changed since yesterday morning; how things stand is kept for tomorrow."""
    yesterday = datetime.combine(moment.date() - timedelta(days=1), time(0), moment.tzinfo)
    found = history.since(yesterday)
    entries = list(found[: MOST_CHANGES + 1])
    more = found.count() - MOST_CHANGES if len(entries) > MOST_CHANGES else 0
    versions = Version.objects.filter(written__gte=yesterday, number__gt=1, paper__kind="brief")
    return Changes(
        tuple(_moved(there, moment.date())),
        tuple(versions.select_related("paper__commission").order_by("-written")[:MOST_CHANGES]),
        tuple((entry, words_of(entry)) for entry in entries[:MOST_CHANGES]),
        more,
    )


def _moved(there: Sequence[InHand], today: date) -> list[Moved]:
    rows = DayStanding.objects.filter(day__gte=today - LOOKED_BACK, day__lte=today, commission__put_away=None)
    before: dict[int, DayStanding] = {}
    noted = set()
    for row in rows.order_by("day"):
        if row.day == today:
            noted.add(row.commission_id)
        else:
            before[row.commission_id] = row
    fresh = [_now(each, today) for each in there if each.course is not None and each.commission.pk not in noted]
    DayStanding.objects.bulk_create(fresh, ignore_conflicts=True)
    told = ((each, _words(before.get(each.commission.pk), each)) for each in there if each.course is not None)
    return [Moved(each.commission.name, each.commission.code, *found) for each, found in told if found]


def _now(each: InHand, today: date) -> DayStanding:
    planned = each.course.finish if each.course else None
    return DayStanding(commission=each.commission, day=today, packed=each.packed, planned=planned, chance=each.chance)


def _words(then: DayStanding | None, each: InHand) -> tuple[str, bool] | None:
    """What is another than it was, and whether for the worse; None where nothing is."""
    if then is None or each.course is None:
        return None
    said, worse = [], False
    if then.planned and each.course.finish and then.planned != each.course.finish:
        said.append(f"its calendar ends {words.day(each.course.finish)}, not {words.day(then.planned)}")
        worse = each.course.finish > then.planned
    if then.packed and each.packed and each.begun and then.packed != each.packed:
        days = (each.packed - then.packed).days
        slipped = f"slipped by {words.in_days(days)}" if days > 0 else f"came nearer by {words.in_days(-days)}"
        said.append(f"ready about {words.day(each.packed)}: {slipped}")
        worse = worse or days > 0
    if abs(then.chance - each.chance) >= CHANCE_MOVED:
        said.append(f"the chance of enough went from {per_cent(then.chance)} to {per_cent(each.chance)}")
        worse = worse or each.chance < then.chance
    return ("; ".join(said), worse) if said else None
