"""What is still ahead of a board: its next work, what it waits for, and when it can be packed. Hours go by the clock.

A rough look ahead for pages that must answer at once: hands work at the pace of the week's hours in all, ware dries as the
plan says, a load is fired when the kiln is free and its pieces are ready, boards in the order in which they get ready. The
range comes from the drying alone. The calendar of a plan, laid out from the first day, is more exact before work begins.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal

from wareboard.book.boards.legs import Leg
from wareboard.book.boards.stages import IN_KILN, LAST, ORDER

if TYPE_CHECKING:
    from wareboard.book.boards.course import Course

End = Literal["value", "low", "high"]


@dataclass(frozen=True, slots=True)
class Lot:
    """Pieces that stand together: where, since when, in the kiln or not. ``stage`` "" means not begun."""

    key: str
    form: str
    stage: str
    pieces: int
    since: datetime
    state: str = ""
    state_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class Packed:
    """When all pieces of a form can be packed: the best guess and the range from the drying."""

    value: datetime
    low: datetime
    high: datetime


def next_leg(legs: Sequence[Leg], stage: str) -> Leg | None:
    """The leg after a stage; the first where nothing is begun; None after the last."""
    return next((leg for leg in legs if not stage or ORDER[leg.stage] > ORDER[stage]), None)


def ready_at(lot: Lot, legs: Sequence[Leg], end: End = "value") -> datetime:
    """When the next work on these pieces can begin, or the kiln they are in can be opened."""
    leg = next_leg(legs, lot.stage)
    if leg is None:
        return lot.since
    if lot.state == IN_KILN and leg.run_h and lot.state_since:
        return lot.state_since + timedelta(hours={"low": leg.run_low_h, "high": leg.run_high_h}.get(end, leg.run_h))
    return lot.since + timedelta(hours=getattr(leg.wait_h, end))


def way_left_h(lot: Lot, legs: Sequence[Leg], hands: float) -> float:
    """Hours by the clock from the moment the next work can begin until these pieces are packed, were they alone."""
    ahead = [leg for leg in legs if not lot.stage or ORDER[leg.stage] > ORDER[lot.stage]]
    waits = sum(leg.wait_h.value for leg in ahead[1:])
    work = sum(leg.minutes * lot.pieces / 60.0 / hands + leg.run_h for leg in ahead)
    return waits + work


def when_packed(course: Course, lots: Sequence[Lot], now: datetime) -> Mapping[str, Packed]:
    """By form, when the last of these pieces can be packed if all goes on from now."""
    legs = {form.name: form.legs for form in course.forms}
    known = [lot for lot in lots if lot.form in legs and lot.pieces > 0]
    ends: dict[str, dict[str, datetime]] = {}
    for end in ("value", "low", "high"):
        for form, hours in _run(course, known, legs, now, end).items():
            ends.setdefault(form, {})[end] = now + timedelta(hours=hours)
    return {form: Packed(each["value"], each["low"], each["high"]) for form, each in ends.items()}


@dataclass(slots=True)
class _Run:
    """The workshop as the look ahead runs: when hands and kiln are free, hours from now."""

    legs: Mapping[str, tuple[Leg, ...]]
    hands: float
    end: End
    hands_free_h: float = 0.0
    kiln_free_h: float = 0.0

    def by_hand(self, lots: list[tuple[float, Lot]], until: str | None) -> list[tuple[float, Lot]]:
        """Every lot taken through the work before the stage ``until``, or to the end, whichever is ready first."""
        going, arrived = list(lots), []
        while going:
            going.sort(key=lambda each: (each[0], each[1].key))
            ready, lot = going.pop(0)
            leg = next_leg(self.legs[lot.form], lot.stage)
            if leg is None or (until is not None and ORDER[leg.stage] >= ORDER[until]):
                arrived.append((ready, lot))
                continue
            work = leg.minutes * lot.pieces / 60.0 / self.hands
            over = max(ready, self.hands_free_h if work else 0.0) + work
            self.hands_free_h = over if work else self.hands_free_h
            following = next_leg(self.legs[lot.form], leg.stage)
            wait = getattr(following.wait_h, self.end) if following else 0.0
            going.append((over + wait, replace(lot, stage=leg.stage, state="")))
        return arrived

    def fired(self, lots: list[tuple[float, Lot]], stage: str, room: Mapping[str, int]) -> list[tuple[float, Lot]]:
        """Every lot fired to ``stage``: loads filled in the order in which lots get ready, one after the other."""
        out = [each for each in lots if ORDER.get(each[1].stage, -1) >= ORDER[stage]]
        inside = [each for each in lots if each not in out and each[1].state == IN_KILN]
        waiting = sorted((each for each in lots if each not in out and each not in inside), key=lambda each: each[0])
        loads = [inside] if inside else []
        loads += _filled(waiting, room)
        for load in loads:
            out += self._one_load(load, stage)
        return out

    def _one_load(self, load: list[tuple[float, Lot]], stage: str) -> list[tuple[float, Lot]]:
        ready = max(ready for ready, _ in load)
        if load[0][1].state == IN_KILN:
            over = max(ready, 0.0)
        else:
            run = max(leg.run_h for _, lot in load for leg in self.legs[lot.form] if leg.stage == stage)
            # Kilns are loaded and unloaded in working hours: a firing takes whole days.
            over = max(self.kiln_free_h, ready) + 24.0 * math.ceil(run / 24.0)
        self.kiln_free_h = max(self.kiln_free_h, over)
        out = []
        for _, lot in load:
            following = next_leg(self.legs[lot.form], stage)
            wait = getattr(following.wait_h, self.end) if following else 0.0
            out.append((over + wait, replace(lot, stage=stage, state="")))
        return out


def _filled(waiting: list[tuple[float, Lot]], room: Mapping[str, int]) -> list[list[tuple[float, Lot]]]:
    """Loads filled in the given order; a lot that does not fit in whole is parted."""
    loads: list[list[tuple[float, Lot]]] = []
    left = 0.0
    for ready, lot in waiting:
        one = 1.0 / max(1, room.get(lot.form, lot.pieces))
        pieces = lot.pieces
        while pieces:
            if left < one - 1e-9:
                loads.append([])
                left = 1.0
            taken = min(pieces, max(1, int(left / one + 1e-9)))
            loads[-1].append((ready, replace(lot, pieces=taken)))
            pieces -= taken
            left -= taken * one
    return loads


def _run(
    course: Course, lots: Sequence[Lot], legs: Mapping[str, tuple[Leg, ...]], now: datetime, end: End
) -> dict[str, float]:
    run = _Run(legs, course.hands, end)
    going = [
        (max(0.0, (ready_at(lot, legs[lot.form], end) - now).total_seconds() / 3600.0), lot)
        for lot in lots
        if lot.stage != LAST
    ]
    for stage in ("bisque", "fired"):
        rooms = {form.name: form.rooms[stage] for form in course.forms}
        behind = [each for each in going if ORDER.get(each[1].stage, -1) >= ORDER[stage]]
        before = [each for each in going if each not in behind]
        going = run.fired(run.by_hand(before, stage), stage, rooms) + behind
    done = run.by_hand(going, None)
    found: dict[str, float] = {lot.form: 0.0 for lot in lots}
    for ready, lot in done:
        found[lot.form] = max(found[lot.form], ready)
    return found
