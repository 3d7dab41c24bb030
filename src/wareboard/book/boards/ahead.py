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

from wareboard import reference
from wareboard.book.boards.stages import IN_KILN, LAST, ORDER, stages_for
from wareboard.plan.tasks import COVERED_OVERNIGHT_H, GLAZED_DRY_H, LINED_DRY_H, WASHED_DRY_H
from wareboard.working import Estimate

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan

End = Literal["value", "low", "high"]
HOURS_IN_A_WEEK = 168.0
MINUTES = {
    "ball": ("weigh",),
    "thrown": ("throw", "lid"),
    "trimmed": ("trim",),
    "handled": ("handle",),
    "marked": ("mark",),
    "washed": ("sand",),
    "lined": ("liner",),
    "painted": ("paint",),
    "glazed": ("dip",),
    "ground": ("grind",),
    "packed": ("pack",),
}
ACTS = {
    "ball": "Weigh the balls of",
    "thrown": "Throw",
    "trimmed": "Trim",
    "handled": "Join the handles of",
    "marked": "Carve the mark in",
    "drying": "Set to dry under cover",
    "bone dry": "Weigh whether dry",
    "bisque": "Load for bisque",
    "washed": "Sand (wet) and wash",
    "lined": "Line",
    "painted": "Paint",
    "glazed": "Glaze",
    "fired": "Load for glaze firing",
    "ground": "Grind the feet of",
    "packed": "Look over and pack",
}
WAITS_FOR = {
    "trimmed": "leather-hard",
    "bone dry": "bone dry",
    "lined": "dry after washing",
    "painted": "dry before the outside is glazed",
    "glazed": "dry before it is glazed",
    "fired": "dry after glazing",
}


@dataclass(frozen=True, slots=True)
class Leg:
    """The way to one stage: the wait since the stage before, hands for each piece, hours in the kiln."""

    stage: str
    wait_h: Estimate
    minutes: float
    run_h: float = 0.0

    @property
    def act(self) -> str:
        return ACTS[self.stage]


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


def legs_of(form: FormPlan, plan: Plan) -> tuple[Leg, ...]:
    """The way of one form, a leg to each stage that it needs."""
    stages = stages_for(form.minutes)
    found = []
    for place, stage in enumerate(stages):
        before = stages[place - 1] if place else ""
        minutes = sum(form.minutes[task].value for task in MINUTES.get(stage, ()) if task in form.minutes)
        kiln = {"bisque": plan.bisque, "fired": plan.glaze_firing}.get(stage)
        run_h = kiln.schedule.heating_h + kiln.cooling_h.value + _by_the_kiln_h(kiln.kind) if kiln else 0.0
        found.append(Leg(stage, _wait_h(form, before, stage), minutes, run_h))
    return tuple(found)


def _by_the_kiln_h(kind: str) -> float:
    """Hours for loading and unloading."""
    return (reference.default(f"minutes.load_{kind}").value + reference.default("minutes.unload").value) / 60.0


def _wait_h(form: FormPlan, before: str, stage: str) -> Estimate:
    """How long pieces that came to the stage before must stand until the work for this one can begin."""
    drying = form.drying
    if before == "thrown":
        return drying.leather_hard_h
    if stage == "bone dry":
        days, soft = drying.bone_dry_days, drying.leather_hard_h
        ends = [24.0 * each - soft.value for each in (days.value, days.low, days.high)]
        least = [max(COVERED_OVERNIGHT_H, each) for each in ends]
        return Estimate(least[0], least[1], least[2], days.source)
    usual = {
        "washed": (WASHED_DRY_H, "common-practice"),
        "lined": (LINED_DRY_H, "common-practice"),
    }.get(before)
    if usual is None and stage == "fired":
        usual = (GLAZED_DRY_H, "common-practice")
    hours, source = usual or (0.0, "")
    return Estimate(hours, hours, hours, source)


def next_leg(legs: Sequence[Leg], stage: str) -> Leg | None:
    """The leg after a stage; the first where nothing is begun; None after the last."""
    return next((leg for leg in legs if not stage or ORDER[leg.stage] > ORDER[stage]), None)


def ready_at(lot: Lot, legs: Sequence[Leg], end: End = "value") -> datetime:
    """When the next work on these pieces can begin, or the kiln they are in can be opened."""
    leg = next_leg(legs, lot.stage)
    if leg is None:
        return lot.since
    if lot.state == IN_KILN and leg.run_h and lot.state_since:
        return lot.state_since + timedelta(hours=leg.run_h)
    return lot.since + timedelta(hours=getattr(leg.wait_h, end))


def pace(plan: Plan) -> float:
    """Hands-on hours for each hour of the clock, all people together."""
    week = sum((person.hours_per_day or 0.0) * len(person.days) for person in plan.people)
    return max(week / HOURS_IN_A_WEEK, 1e-3)


def way_left_h(lot: Lot, legs: Sequence[Leg], hands: float) -> float:
    """Hours by the clock from the moment the next work can begin until these pieces are packed, were they alone."""
    ahead = [leg for leg in legs if not lot.stage or ORDER[leg.stage] > ORDER[lot.stage]]
    waits = sum(leg.wait_h.value for leg in ahead[1:])
    work = sum(leg.minutes * lot.pieces / 60.0 / hands + leg.run_h for leg in ahead)
    return waits + work


def when_packed(plan: Plan, lots: Sequence[Lot], now: datetime) -> Mapping[str, Packed]:
    """By form, when the last of these pieces can be packed if all goes on from now."""
    legs = {form.name: legs_of(form, plan) for form in plan.forms}
    known = [lot for lot in lots if lot.form in legs and lot.pieces > 0]
    ends: dict[str, dict[str, datetime]] = {}
    for end in ("value", "low", "high"):
        for form, hours in _run(plan, known, legs, now, end).items():
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
    plan: Plan, lots: Sequence[Lot], legs: Mapping[str, tuple[Leg, ...]], now: datetime, end: End
) -> dict[str, float]:
    run = _Run(legs, pace(plan), end)
    going = [
        (max(0.0, (ready_at(lot, legs[lot.form], end) - now).total_seconds() / 3600.0), lot)
        for lot in lots
        if lot.stage != LAST
    ]
    for stage, firing in (("bisque", plan.bisque), ("fired", plan.glaze_firing)):
        rooms = {form.name: firing.loads.pieces_in_a_load(form.name) for form in plan.forms}
        behind = [each for each in going if ORDER.get(each[1].stage, -1) >= ORDER[stage]]
        before = [each for each in going if each not in behind]
        going = run.fired(run.by_hand(before, stage), stage, rooms) + behind
    done = run.by_hand(going, None)
    found: dict[str, float] = {lot.form: 0.0 for lot in lots}
    for ready, lot in done:
        found[lot.form] = max(found[lot.form], ready)
    return found
