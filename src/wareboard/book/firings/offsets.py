"""What each level's cones say more than each thermocouple, and which records that is learned from.

Every record is listed with why it counts or does not; a person may leave one out and put it back, and says how many
firings count. Only firings for the cone that was last read count, with cones of one form: a thermocouple errs differently
at each heat.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wareboard.book.firings.models import ConeReading
from wareboard.book.firings.reckoning import Fired, last_rate, leans
from wareboard.errors import WareboardError

if TYPE_CHECKING:
    from wareboard.kiln.cone import HeatWork
    from wareboard.kiln.offset import LevelOffset
    from wareboard.kiln.witness import LevelReading

USUAL_COUNT, MOST_COUNTED = 10, 200
OTHER_CONE = "for another cone, or with cones of another form"


@dataclass(frozen=True, slots=True)
class Seen:
    """One pack beside one thermocouple: what it says more, °C, and whether it counts; ``why`` where it does not."""

    fired: Fired
    row: ConeReading
    seen_c: float | None
    counts: bool
    why: str


@dataclass(frozen=True, slots=True)
class ByThermocouple:
    """The offsets of one thermocouple by level, and every record of the firings with that log, newest first."""

    channel: str
    levels: Mapping[str, LevelOffset]
    seen: tuple[Seen, ...]
    cone: str
    form: str
    trouble: str = ""

    @property
    def firings(self) -> int:
        """How many firings count."""
        return len({each.fired.firing.pk for each in self.seen if each.counts})


def offsets(name: str, found: Sequence[Fired], count: int = USUAL_COUNT) -> list[ByThermocouple]:
    """For every thermocouple of the newest log: the offset of each level, from the last ``count`` firings that tell.

    Args:
        name: the kiln's.
        found: its firings, oldest first.
        count: how many firings count, from the newest back.
    """
    newest = next((each for each in reversed(found) if each.review and each.channels), None)
    if newest is None:
        return []
    names = [each["name"] for each in newest.channels]
    return [_of_channel(name, found, newest, channel, at, len(names), count) for at, channel in enumerate(names)]


def _of_channel(
    name: str, found: Sequence[Fired], newest: Fired, channel: str, at: int, of: int, count: int
) -> ByThermocouple:
    from wareboard.kiln.offset import offsets_by_level

    cone, form = newest.firing.cone, newest.firing.form
    pairs, seen, left = [], [], count
    for each in reversed(found):
        work = each.heat_work(channel, at, of)
        if each.review is None or work is None:
            continue
        like = (each.firing.cone, each.firing.form) == (cone, form)
        why = OTHER_CONE if not like else "" if left > 0 else f"further back than the {count} firings that count"
        rows = list(_seen_of(each, work, why))
        seen += rows
        counting = {row.row.level for row in rows if row.counts}
        if counting:
            left -= 1
            levels = tuple(level for level in each.review.levels if level.level in counting)
            pairs.append((replace(each.review, levels=levels), work))
    if not pairs:
        return ByThermocouple(channel, {}, tuple(seen), cone, form, "")
    try:
        learned = offsets_by_level(name, pairs[::-1], last_rate(newest.firing))
    except WareboardError as problem:
        return ByThermocouple(channel, {}, tuple(seen), cone, form, str(problem))
    return ByThermocouple(channel, learned, tuple(seen), cone, form)


def _seen_of(each: Fired, work: HeatWork, why: str) -> list[Seen]:
    """The packs of one firing beside one thermocouple; ``why`` where none of them counts."""
    from wareboard.kiln.offset import offset_seen_c

    assert each.review is not None
    rows = [row for row in each.firing.cones.all() if row.put_away is None and leans(row)]
    found = []
    for row, level in zip(rows, each.review.levels, strict=False):
        told = offset_seen_c(level, work, last_rate(each.firing))
        own = why or ("left out by hand" if row.left_out else "" if told is not None else _bound(level))
        found.append(Seen(each, row, told, not own, own))
    return found


def _bound(level: LevelReading) -> str:
    if level.bound == "at least":
        return "every cone lies flat, so the pack only bounds it"
    return "no cone has moved, so the pack only bounds it" if level.bound else "beyond the chart"
