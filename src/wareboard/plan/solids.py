"""A form of a plan as a solid at a stage: fired, or before, when it was larger."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wareboard.errors import NotInTable, OutOfRange, placed
from wareboard.plan.result import FormPlan
from wareboard.working import Step

if TYPE_CHECKING:
    from wareboard.form.gallery import LidOn
    from wareboard.form.handle import Strap
    from wareboard.form.joins import Join
    from wareboard.form.lip import PulledLip
    from wareboard.form.profile import Profile
    from wareboard.form.solid import Solid
    from wareboard.form.spout import ThrownSpout

STAGES = ("wet", "leather-hard", "dry", "bisque", "fired")


def factors_at(form: FormPlan, stage: str) -> tuple[float, float]:
    """How many times higher and wider the form is at a stage than fired.

    Raises:
        OutOfRange: if there is no such stage.
    """
    if stage not in STAGES:
        raise OutOfRange(f"stage {stage!r}", why="ware does not pass through it", mend="Use " + ", ".join(STAGES))
    losses = (form.loss_height, form.loss_width)
    tall, wide = ((1 - loss.by(stage)) / (1 - loss.fired) for loss in losses)
    return tall, wide


def profile_at(form: FormPlan, stage: str) -> Profile:
    """The form's profile at a stage."""
    return form.profile.scaled(*factors_at(form, stage))


def handle_place_at(form: FormPlan, stage: str) -> float | None:
    """Height of the handle's lower end above the foot at a stage, where the brief says; None for midway up."""
    at = form.handle_at_mm
    return None if at is None else at * factors_at(form, stage)[0]


def strap_at(form: FormPlan, stage: str) -> Strap:
    """The form's handle at a stage.

    Raises:
        NotInTable: if the form has none.
    """
    from wareboard.form.handle import strap

    fired = form.strap
    if fired is None:
        raise NotInTable(f"handle of {form.name}", why="the form has none", mend="Add [forms.handle] to the brief")
    tall, wide = factors_at(form, stage)
    return strap(
        fired.outside_height_mm * tall,
        fired.inside_gap_mm * wide,
        fired.width_mm * wide,
        fired.thickness_mm * wide,
        fired.taper,
    )


def joins_at(form: FormPlan, stage: str) -> tuple[Join, Join]:
    """The roots of the form's handle at a stage."""
    from wareboard.form.joins import joins_of

    return joins_of(profile_at(form, stage), strap_at(form, stage), handle_place_at(form, stage))


def poured_at(form: FormPlan, stage: str) -> tuple[PulledLip | None, ThrownSpout | None]:
    """The form's pulled lip and thrown spout at a stage."""
    by, pours = factors_at(form, stage), form.poured
    return (pours.lip.scaled(*by) if pours.lip else None, pours.spout.scaled(*by) if pours.spout else None)


def solid_at(form: FormPlan, stage: str = "fired", sides: int = 96, fine: bool = True) -> Solid:
    """The form with its wall, foot, handle and lid as it stands at a stage; wet means thrown and already trimmed.

    Args:
        form: of a plan.
        stage: one of `STAGES`.
        sides, fine: as in `wareboard.form.solid.solid`.
    Raises:
        OutOfRange: if there is no such stage, or the handle does not go on the piece.
    """
    from wareboard.form.solid import Solid, lid_parts, solid

    pours = form.poured
    with placed(form.name):
        fired = solid(
            form.profile,
            form.strap,
            form.handle_at_mm,
            sides=sides,
            fine=fine,
            lip=pours.lip,
            spout=pours.spout,
            handle_turn_deg=form.handle_turn_deg,
        )
    body = fired.scaled(*factors_at(form, stage))
    lid = lid_at(form, stage)
    on = lid_parts(lid.lid, lid.at_mm, lid.knob_mm, sides, fine) if lid else ()
    return Solid((*body.parts, *on))


def lid_at(form: FormPlan, stage: str) -> LidOn | None:
    """The lid with its knob where it sits on the body at a stage, as much larger as it still has to shrink."""
    from wareboard.form.gallery import LidOn

    lidded = form.lidded
    if lidded is None:
        return None
    tall, wide = factors_at(form, stage)
    seat = lidded.seat.height_mm * tall
    if lidded.own:
        by = (1 - lidded.loss.by(stage)) / (1 - lidded.loss.fired)
        tall, wide = by * tall / wide, by
    knob = (lidded.knob_mm[0] * wide, lidded.knob_mm[1] * tall) if lidded.knob_mm else None
    return LidOn(lidded.profile.scaled(tall, wide), seat, knob)


def clay_steps(form: FormPlan, stage: str, solid: Solid) -> tuple[Step, ...]:
    """The clay in each part of a solid, beside the fired body's reckoned from its profile."""
    tall, wide = factors_at(form, stage)
    found = [
        Step(
            f"{form.name}: body of clay, {stage}",
            "fired_mm3 * taller * wider ** 2",
            {"fired_mm3": form.vessel.clay_volume_mm3, "taller": tall, "wider": wide},
            solid.parts[0].volume_mm3,
            "derived",
            unit="mm3",
        )
    ]
    for part in solid.parts[1:]:
        how = "space within the faces of its solid"
        found.append(
            Step(f"{form.name}: {part.name} of clay, {stage}", "", {}, part.volume_mm3, "derived", unit="mm3", how=how)
        )
    return tuple(found)
