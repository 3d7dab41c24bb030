"""What to weigh for one form: the ball by two routes, the handle blank, the ball of the lid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wareboard.plan.assume import Assumer
from wareboard.plan.body import Body
from wareboard.plan.brief import Brief, Form
from wareboard.plan.handwork import worn_by
from wareboard.plan.poured import NOTHING, Poured
from wareboard.plan.result import KindOfForm
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.clay.ball import Agreement, BallWeight
    from wareboard.form.handle import Strap
    from wareboard.form.profile import Profile
    from wareboard.form.vessel import Vessel

GLAZE_LOSS_SHARE = 0.10  # what dry glaze loses in the fire; common practice
BALL_STEP_G = 5.0


@dataclass(frozen=True, slots=True)
class Balls:
    """The ball by both routes, which is used, and what the sheet says."""

    used: BallWeight
    by_volume: BallWeight
    by_weight: BallWeight | None
    agreement: Agreement | None
    ball_g: float
    steps: tuple[Step, ...]


def balls(
    form: Form,
    kind: KindOfForm,
    brief: Brief,
    profile: Profile,
    vessel: Vessel,
    strap: Strap | None,
    body: Body,
    high: Estimate,
    wide: Estimate,
    volume_mm3: tuple[float, float],
    assume: Assumer,
    poured: Poured = NOTHING,
) -> Balls:
    """The ball by the drawn wall and, where a fired prototype was weighed, by its weight; the second is used if there."""
    from wareboard.clay.ball import agreement, from_fired_weight, from_volume

    trim = assume.figure(f"trim.{kind}", form.trimming)
    by_volume = from_volume(
        vessel.clay_volume_mm3,
        high.value,
        wide.value,
        body.wet_density.value,
        trim.value,
        density_low=body.wet_density.low,
        density_high=body.wet_density.high,
        what=form.name,
        source=body.wet_density.source,
        trimming_low=trim.low,
        trimming_high=trim.high,
        volume_low_mm3=volume_mm3[0],
        volume_high_mm3=volume_mm3[1],
        shrinkage_low=(2 * wide.low + high.low) / 3,
        shrinkage_high=(2 * wide.high + high.high) / 3,
    )
    steps = list(by_volume.steps)
    by_weight = agreed = None
    if form.fired_weight is not None:
        bare = _bare_body(form, brief, profile, strap, assume, poured)
        by_weight = from_fired_weight(
            bare.value,
            body.water.value,
            body.loss.value,
            trim.value,
            water_low=body.water.low,
            water_high=body.water.high,
            loss_low=body.loss.low,
            loss_high=body.loss.high,
            trimming_low=trim.low,
            trimming_high=trim.high,
            what=form.name,
            source=body.water.source,
        )
        agreed = agreement(by_volume, by_weight)
        steps += [bare, *by_weight.steps, *agreed.steps]
    used = by_weight or by_volume
    rounded = max(BALL_STEP_G, round(used.ball_g / BALL_STEP_G) * BALL_STEP_G)
    steps.append(
        Step(
            "ball to weigh",
            f"round(ball_g / {BALL_STEP_G:g}) * {BALL_STEP_G:g}",
            {"ball_g": used.ball_g},
            rounded,
            "rounded as the trade weighs",
            "g",
            used.low_g,
            used.high_g,
        )
    )
    return Balls(used, by_volume, by_weight, agreed, rounded, tuple(steps))


def _bare_body(
    form: Form, brief: Brief, profile: Profile, strap: Strap | None, assume: Assumer, poured: Poured
) -> Step:
    """Fired weight of the body alone: the weighed prototype without its handle, its spout and its glaze."""
    from wareboard.form.vessel import inner_area_mm2, outer_area_mm2

    handle_g = strap.fired_g if strap else 0.0
    worn = worn_by(form, brief)
    dry = assume.figure("glaze.dry_g_per_cm2").value if worn else 0.0
    glazed_mm2 = inner_area_mm2(profile) * any(glaze.on in ("inside", "all") for glaze in worn) + outer_area_mm2(
        profile
    ) * any(glaze.on in ("outside", "all") for glaze in worn)
    inputs = {"weighed_g": form.fired_weight or 0.0, "handle_g": handle_g, "glazed_cm2": glazed_mm2 / 100}
    value = inputs["weighed_g"] - handle_g - inputs["glazed_cm2"] * dry * (1 - GLAZE_LOSS_SHARE)
    formula = "weighed_g - handle_g - glazed_cm2 * dry_g_per_cm2 * (1 - glaze_loss)"
    if poured.clay is not None:
        inputs["spout_g"] = poured.clay.fired_g
        value -= poured.clay.fired_g
        formula += " - spout_g"
    return Step(
        "fired body without handle and glaze",
        formula,
        inputs | {"dry_g_per_cm2": dry, "glaze_loss": GLAZE_LOSS_SHARE},
        value,
        "prototype weighed; glaze by its usual layer",
        "g",
    )


def handle_blank_g(form: Form, strap: Strap | None) -> float | None:
    """Wet weight of one handle blank: the brief's, else what its strap asks for; none without a handle."""
    if form.handle is None or strap is None:
        return None
    return form.handle.blank or strap.blank_g
