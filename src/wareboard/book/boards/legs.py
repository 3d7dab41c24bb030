"""The way of a form through the workshop: a leg to each stage with its wait, its hands and its hours in the kiln."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wareboard import reference
from wareboard.book.boards.stages import stages_for
from wareboard.plan.tasks import COVERED_OVERNIGHT_H, GLAZED_DRY_H, LINED_DRY_H, WASHED_DRY_H
from wareboard.working import Estimate

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan

HOURS_IN_A_WEEK = 168.0
MINUTES = {
    "ball": ("weigh",),
    "thrown": ("throw", "lid", "spout"),
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
    run_low_h: float = 0.0
    run_high_h: float = 0.0

    @property
    def act(self) -> str:
        return ACTS[self.stage]


def legs_of(form: FormPlan, plan: Plan) -> tuple[Leg, ...]:
    """The way of one form, a leg to each stage that it needs."""
    stages = stages_for(form.minutes)
    found = []
    for place, stage in enumerate(stages):
        before = stages[place - 1] if place else ""
        minutes = sum(form.minutes[task].value for task in MINUTES.get(stage, ()) if task in form.minutes)
        kiln = {"bisque": plan.bisque, "fired": plan.glaze_firing}.get(stage)
        runs = (0.0, 0.0, 0.0)
        if kiln:
            hot, cooling = kiln.heating_h + _by_the_kiln_h(kiln.kind), kiln.cooling_h
            runs = (hot + cooling.value, hot + cooling.low, hot + cooling.high)
        found.append(Leg(stage, _wait_h(form, before, stage), minutes, *runs))
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


def pace(plan: Plan) -> float:
    """Hands-on hours for each hour of the clock, all people together."""
    week = sum((person.hours_per_day or 0.0) * len(person.days) for person in plan.people)
    return max(week / HOURS_IN_A_WEEK, 1e-3)
