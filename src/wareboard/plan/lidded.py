"""A form's lid: its gallery and seat, the lid with its knob, its own shrinkage where it has one, the gap at every stage."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wareboard.errors import placed
from wareboard.plan.assume import GIVEN, Assumer
from wareboard.plan.body import FORM_SPREAD, STATED_SPREAD, Body
from wareboard.plan.brief import Form
from wareboard.plan.shape import FiredSizes, gallery_of
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.clay.shrinkage import StageLoss
    from wareboard.form.gallery import Gallery, Seat
    from wareboard.form.handle import Lid
    from wareboard.form.profile import Profile

LID_HEIGHT_SHARE = 0.3  # height of a lid over its width; from memory
FLAT_SHARE = 0.35  # flat top over its width, as the table of shapes has it
STAGES = ("wet", "leather-hard", "dry", "bisque", "fired")
POINT_OF_WATER = 0.01  # how near the moisture of clay is known by hand; from memory


@dataclass(frozen=True, slots=True)
class Lidded:
    """A lid and where it sits, all fired, with its clay, its shrinkage and the working."""

    lid: Lid
    seat: Seat
    gallery: Gallery | None
    shrinkage: Estimate
    loss: StageLoss
    own: bool  # whether it shrinks by a figure of its own
    knob_mm: tuple[float, float] | None  # width and height
    steps: tuple[Step, ...]

    @property
    def profile(self) -> Profile:
        """The lid as it is thrown, top down."""
        return self.lid.profile

    @property
    def flange_mm(self) -> float:
        """Outside of its flange, across."""
        return 2 * float(self.profile.outer_mm[-1, 1])


def lidded_of(
    form: Form, sizes: FiredSizes, profile: Profile, body: Body, wide: Estimate, assume: Assumer
) -> Lidded | None:
    """The form's lid worked through; None where it has none.

    Raises:
        OutOfRange: naming the form, where lid and body do not go together.
    """
    if form.lid is None:
        return None
    with placed(form.name):
        return _worked(form, sizes, profile, body, wide, assume)


def _worked(form: Form, sizes: FiredSizes, profile: Profile, body: Body, wide: Estimate, assume: Assumer) -> Lidded:
    from wareboard.clay.shrinkage import stage_loss
    from wareboard.form.gallery import lid_in, seat_of
    from wareboard.form.handle import lid

    given = form.lid
    assert given is not None
    gallery = gallery_of(form, sizes)
    seat = seat_of(profile, gallery)
    drawn = None
    across = given.diameter or sizes.rim
    if gallery is not None:
        gap = assume.figure("lid.gap_mm", given.gap).value
        across = seat.mouth_mm - gap
        tall = given.height or across * LID_HEIGHT_SHARE
        drawn = lid_in(seat, gap, tall, sizes.wall, sizes.floor, FLAT_SHARE)
    knob = _knob(form)
    made = lid(
        across,
        given.height or across * LID_HEIGHT_SHARE,
        sizes.wall,
        sizes.floor,
        knob_mm=knob[0] if knob else 0.0,
        knob_height_mm=knob[1] if knob else None,
        density_g_per_ml=body.fired_density.value,
        water_share=body.water.value if given.water is None else given.water,
        loss_on_ignition=body.loss.value,
        profile=drawn,
    )
    shrinkage, told, own = _shrinkage(form, body, wide)
    loss = stage_loss(shrinkage.value)
    found = Lidded(made, seat, gallery, shrinkage, loss, own, knob, ())
    return replace(found, steps=(*told, *made.steps))


def _knob(form: Form) -> tuple[float, float] | None:
    if form.lid is None or form.lid.knob is None:
        return None
    return form.lid.knob, form.lid.knob_height or form.lid.knob


def _shrinkage(form: Form, body: Body, wide: Estimate) -> tuple[Estimate, tuple[Step, ...], bool]:
    """What the lid shrinks across: measured apart, stated, or by its own moisture; else as its body, less surely."""
    from wareboard.clay.moisture import wetter
    from wareboard.clay.shrinkage import combined, from_measures

    given = form.lid
    assert given is not None
    apart = Estimate(wide.value, max(0.0, wide.low - FORM_SPREAD), wide.high + FORM_SPREAD, wide.source)
    how = ""
    if given.water is not None:
        step = wetter(wide.value, body.water.value, given.water)
        ends = [
            wetter(wide.value, body.water.value, given.water + by).value for by in (-POINT_OF_WATER, POINT_OF_WATER)
        ]
        shift = step.value - wide.value
        low = min(wide.low + shift, ends[0])
        apart = Estimate(step.value, max(0.0, low), max(wide.high + shift, ends[1]), step.source)
        if given.shrinkage is None and not given.measured:
            return apart, (replace(step, low=apart.low, high=apart.high),), True
    if given.shrinkage is not None:
        stated = given.shrinkage
        apart = Estimate(stated, max(0.0, stated - STATED_SPREAD), stated + STATED_SPREAD, GIVEN)
        how = "stated for the lid"
    if given.measured:
        own = [from_measures(each.wet, each.fired) for each in given.measured if each.direction in ("width", "both")]
        if own:
            apart = combined(own, prior=apart)
            how = f"{len(own)} measured on lids, leaning on {how or 'the body'}"
    if not how:
        return apart, (), False
    step = Step(
        "lid: shrinkage in width of its own",
        "",
        {"body": wide.value},
        apart.value,
        apart.source,
        low=apart.low,
        high=apart.high,
        how=how,
    )
    return apart, (step,), True


def gap_steps(found: Lidded, body_loss: StageLoss, body: Estimate) -> tuple[Step, ...]:
    """The gap across between body and lid at every stage, with its range: round the flange, and round the lid in a gallery.

    Args:
        found: the lid.
        body_loss: of the body across.
        body: its total shrinkage with its range.
    """
    from wareboard.form.fit import lid_fit

    steps = []
    pairs = [("gap round the flange", found.seat.throat_mm, found.flange_mm)]
    if found.gallery is not None:
        pairs.append(("gap round the lid", found.seat.mouth_mm, found.profile.widest_mm))
    for name, hole_mm, plug_mm in pairs:
        wet = hole_mm / (1 - body_loss.fired), plug_mm / (1 - found.loss.fired)
        for stage in STAGES:
            gone = _by(body, body_loss.by(stage)), _by(found.shrinkage, found.loss.by(stage))
            fit = lid_fit(wet[0], wet[1], *gone)
            steps.append(replace(fit.steps[0], name=f"lid: {name}, {stage}"))
    return tuple(steps)


def _by(total: Estimate, gone: float) -> Estimate:
    """The shrinkage by a stage with its range, which grows as the shrinkage does."""
    part = gone / total.value if total.value else 0.0
    return Estimate(gone, total.low * part, total.high * part, total.source)
