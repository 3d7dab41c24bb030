"""A form of a plan in use: how it hangs in the hand, how it stacks, how its lid fits, where its handle is joined."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wareboard import reference
from wareboard.plan.lidded import gap_steps
from wareboard.plan.result import FormPlan, Plan
from wareboard.plan.solids import factors_at, joins_at, solid_at
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.form.balance import Beside

# Lids from the ball of their body came out about 1 % of their width apart from it: common practice.
LID_APART = 0.01
STACKED = 3


@dataclass(frozen=True, slots=True)
class InUse:
    """Lines of working about a form in use, under plain headings, with a sentence for each."""

    groups: tuple[tuple[str, str, tuple[Step, ...]], ...]

    @property
    def steps(self) -> tuple[Step, ...]:
        """Every line of working."""
        return tuple(step for _, _, steps in self.groups for step in steps)


def in_use(plan: Plan, form: FormPlan, stacked: int = STACKED) -> InUse:
    """What the fired form does in the hand, in a stack and under its lid.

    Raises:
        OutOfRange: if the handle does not go on the piece.
    """
    groups = []
    if form.strap is not None:
        groups += [_joins(form), *_in_the_hand(form)]
    if form.poured.steps:
        groups.append(("How it pours", "", form.poured.steps))
    groups.append(_stack(form, stacked))
    if form.form.lid is not None:
        groups.append(_lid(plan, form))
    return InUse(tuple(groups))


def joining(form: FormPlan, stage: str = "leather-hard") -> tuple[Step, ...]:
    """Where the handle is joined at a stage: height of each root, the wall's lean, the strap's cut, the way round.

    Raises:
        OutOfRange: if the handle does not go on the piece.
    """
    from wareboard.form.joins import join_steps
    from wareboard.form.roots import line_of

    strap = form.strap
    assert strap is not None
    line = line_of(form.profile, strap, form.handle_at_mm)
    tall, _ = factors_at(form, stage)
    heights = [
        Step(
            f"{name} root above the bat, {stage}",
            "fired_mm * taller",
            {"fired_mm": float(point[0]), "taller": tall},
            float(point[0]) * tall,
            "derived",
            unit="mm",
        )
        for name, point in (("lower", line[0]), ("upper", line[-1]))
    ]
    return (*heights, *join_steps(joins_at(form, stage), stage, form.handle_turn_deg, form.front))


def _joins(form: FormPlan) -> tuple[str, str, tuple[Step, ...]]:
    from wareboard.form.roots import finger_room_mm

    strap = form.strap
    assert strap is not None
    room = finger_room_mm(form.profile, strap, form.handle_at_mm)
    step = Step(
        "room for fingers at the widest, fired",
        "",
        {"gap_drawn_mm": strap.inside_gap_mm},
        room,
        "derived",
        unit="mm",
        how="from the wall to the handle's inner face, level",
    )
    less = strap.inside_gap_mm - room
    words = f"The wall bulges between the roots and takes {less:.0f} mm of the finger gap." if less >= 1.0 else ""
    return "Where the handle is joined", words, (*joining(form), step, *_strap_lengths(form))


def _strap_lengths(form: FormPlan) -> tuple[Step, ...]:
    strap = form.strap
    assert strap is not None
    cut, wide = strap.wet_length_mm, strap.wet_width_mm
    pull = {"cut_mm": cut, "width_mm": wide}
    return (
        Step(
            "strap to cut, wet",
            "fired_mm / (1 - shrinkage)",
            {"fired_mm": strap.length_mm, "shrinkage": form.loss_width.fired},
            cut,
            "derived",
            unit="mm",
        ),
        Step("strap to pull, wet", "cut_mm + 2 * width_mm", pull, cut + 2 * wide, "from memory", unit="mm"),
    )


def _in_the_hand(form: FormPlan) -> list[tuple[str, str, tuple[Step, ...]]]:
    from wareboard.form.balance import balance

    strap = form.strap
    assert strap is not None
    density = 1000 * form.vessel.fired_g / form.vessel.clay_volume_mm3
    found = []
    beside = _beside(form, density)
    full = "Full until it pours" if form.poured.steps else "Full to the brim"
    for name, liquid in (("Empty", 0.0), (full, form.vessel.capacity_ml)):
        held = balance(form.profile, strap, liquid, density, form.handle_at_mm, name.lower(), beside)
        words = f"Hung from a finger under the handle’s upper bend it tips {held.hangs_deg:.0f}°."
        found.append((f"In the hand, {name.lower()}", words, held.steps))
    return found


def _beside(form: FormPlan, density_g_per_ml: float) -> Beside:
    """Spout, lid and knob with their weights, as they lie in the solid; towards the handle counts above 0."""
    from wareboard.form.balance import Beside, together
    from wareboard.form.joins import turned_deg

    towards = math.radians(turned_deg(form.handle_turn_deg))
    found = []
    for part in solid_at(form).parts[1:]:
        if part.name == "handle":
            continue
        x, y, up = part.centre_mm
        out = float(x) * math.cos(towards) + float(y) * math.sin(towards)
        found.append(Beside(part.volume_mm3 / 1000 * density_g_per_ml, float(up), out))
    return together(found)


def _stack(form: FormPlan, stacked: int) -> tuple[str, str, tuple[Step, ...]]:
    from wareboard.form.roots import usual_place_mm
    from wareboard.form.stacking import stack

    handle = None
    if form.strap is not None:
        given = form.handle_at_mm
        handle = usual_place_mm(form.profile, form.strap) if given is None else given
    found = stack(form.profile, stacked, handle, form.name)
    return "In a stack", f"{found.words}.", found.steps


def _how_often(chance: float) -> str:
    """A chance in words that never promises."""
    if chance > 0.99:
        return "more than 99 times in 100"
    return "less than once in 100 times" if chance < 0.01 else f"{100 * chance:.0f} times in 100"


def _lid(plan: Plan, form: FormPlan) -> tuple[str, str, tuple[Step, ...]]:
    from wareboard.form.fit import lid_fit

    lidded = form.lidded
    assert lidded is not None
    gone, usual = form.loss_width.fired, plan.clay.shrinkage_width
    body = Estimate(gone, gone - (usual.value - usual.low), gone + (usual.high - usual.value), usual.source)
    own = Estimate(gone, max(0.0, body.low - LID_APART), body.high + LID_APART, "common-practice")
    if lidded.own:
        own = lidded.shrinkage
    _, wide = factors_at(form, "wet")
    fit = lid_fit(lidded.seat.throat_mm * wide, lidded.flange_mm / (1 - own.value), body, own, _gap(form), what="lid")
    words = (
        f"Body and lid shrink apart: as drawn it goes in {_how_often(fit.goes_in)}. "
        "Measure the mouth of the leather-hard body before you trim the flange."
    )
    gaps = gap_steps(replace(lidded, shrinkage=own), form.loss_width, body)
    return "Lid and body", words, (*fit.steps, *gaps)


def _gap(form: FormPlan) -> float:
    """The play that is wanted across, fired."""
    given = form.form.lid.gap if form.form.lid else None
    return reference.default("lid.gap_mm").value if given is None else given
