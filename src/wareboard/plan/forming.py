"""One form of a brief worked through: shrinkage, sizes at every stage, weights, capacity, drying, how many to start."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from wareboard import reference
from wareboard.plan.assume import Assumer
from wareboard.plan.body import Body, shrinkage_of
from wareboard.plan.brief import Brief, Form
from wareboard.plan.drying_here import drying_of
from wareboard.plan.handwork import minutes_a_piece
from wareboard.plan.lidded import Lidded, lidded_of
from wareboard.plan.overage import StageYield, how_many_to_start
from wareboard.plan.own import of_a_form
from wareboard.plan.poured import Poured, poured_of, until_it_pours
from wareboard.plan.result import FormPlan, KindOfForm
from wareboard.plan.shape import KINDS, profile_of, shape_of, sizes_of, volume_range_mm3
from wareboard.plan.stages import STAGES
from wareboard.plan.weights import balls, handle_blank_g
from wareboard.plan.workshop import OwnFigures
from wareboard.working import Estimate

if TYPE_CHECKING:
    from wareboard.clay.shrinkage import StageLengths, StageLoss
    from wareboard.form.handle import Strap
    from wareboard.form.profile import Profile


def form_plan(
    form: Form, brief: Brief, body: Body, own: OwnFigures, assume: Assumer, air: str | None = None
) -> FormPlan:
    """Everything about one form.

    Raises:
        OutOfRange: naming the form, where its sizes do not go together or lie outside what a rule covers.
    """
    from wareboard.form.vessel import describe

    shape = shape_of(form, assume)
    kind = KINDS[shape]
    sizes = sizes_of(form, kind, assume)
    profile = profile_of(form, shape, sizes)
    high, wide, shrink_steps = shrinkage_of(form, brief.clay, body, assume)
    loss_height, loss_width = _stages(high), _stages(wide)
    wet_profile = profile.scaled(1 / (1 - high.value), 1 / (1 - wide.value))
    density = body.fired_density
    vessel = describe(profile, density.value, density.low, density.high, what=form.name)
    poured = poured_of(form, profile, body, wide, assume)
    vessel = until_it_pours(vessel, profile, poured, form.name)
    strap = _strap(form, sizes.height, body, wide, assume)
    room = volume_range_mm3(form, shape, sizes, vessel.clay_volume_mm3)
    lidded = lidded_of(form, sizes, profile, body, wide, assume)
    lengths = _lengths(form, profile, strap, poured, lidded, loss_height, loss_width, high, wide)
    weighed = balls(form, kind, brief, profile, vessel, strap, body, high, wide, room, assume, poured)
    yields = _yields(form, kind, own, assume)
    together = assume.figure("overage.correlation")
    overage = how_many_to_start(
        form.count,
        yields,
        chance=assume.figure("overage.chance", brief.chance).value,
        correlation=together.value,
        correlation_source=together.source.removeprefix("default: "),
    )
    thickest = max(sizes.wall, sizes.floor, strap.thickness_mm if strap else 0.0) / (1 - wide.value)
    drying = drying_of(thickest, kind == "plate", assume, air)
    steps = [*shrink_steps]
    for each in lengths.values():
        steps += each.steps
    steps += [
        *vessel.steps,
        *(strap.steps if strap else ()),
        *poured.steps,
        *weighed.steps,
        *(lidded.steps if lidded else ()),
    ]
    return FormPlan(
        form=form,
        kind=kind,
        shape=shape,
        profile=profile,
        wet_profile=wet_profile,
        loss_height=loss_height,
        loss_width=loss_width,
        lengths=lengths,
        vessel=vessel,
        strap=strap,
        ball=weighed.used,
        by_volume=weighed.by_volume,
        by_weight=weighed.by_weight,
        agreement=weighed.agreement,
        ball_g=weighed.ball_g,
        handle_blank_g=handle_blank_g(form, strap),
        lid_ball_g=lidded.lid.ball_g if lidded else None,
        yields=yields,
        overage=overage,
        drying=drying,
        cut=None,
        minutes=minutes_a_piece(form, kind, brief, own, assume),
        steps=(*steps, *overage.steps, *drying.steps),
        poured=poured,
        lidded=lidded,
    )


def _stages(total: Estimate) -> StageLoss:
    from wareboard.clay.shrinkage import stage_loss

    return stage_loss(total.value)


def _lengths(
    form: Form,
    profile: Profile,
    strap: Strap | None,
    poured: Poured,
    lidded: Lidded | None,
    loss_height: StageLoss,
    loss_width: StageLoss,
    high: Estimate,
    wide: Estimate,
) -> Mapping[str, StageLengths]:
    from wareboard.clay.shrinkage import lengths_by_stage

    def at_stages(what: str, fired_mm: float, loss: StageLoss, spread: Estimate) -> StageLengths:
        return lengths_by_stage(fired_mm, loss, what, spread.source, spread.low, spread.high)

    found = {"height": at_stages("height", profile.height_mm, loss_height, high)}
    found["rim"] = at_stages("rim", profile.rim_mm, loss_width, wide)
    if profile.widest_mm > max(profile.rim_mm, profile.foot_mm) + 0.5:
        found["belly"] = at_stages("belly", profile.widest_mm, loss_width, wide)
    found["foot"] = at_stages("foot", profile.foot_mm, loss_width, wide)
    found["depth inside"] = at_stages("depth inside", profile.depth_mm, loss_height, high)
    found["floor"] = at_stages("floor", profile.floor_mm, loss_height, high)
    if form.handle is not None and strap is not None:
        for what, mm in (
            ("handle height", strap.outside_height_mm),
            ("handle gap", strap.inside_gap_mm),
            ("handle width", strap.width_mm),
            ("handle thickness", strap.thickness_mm),
            ("handle strap length", strap.length_mm),
        ):
            up = what == "handle height"
            found[what] = at_stages(what, mm, loss_height if up else loss_width, high if up else wide)
    for what, mm, up in _pouring_sizes(poured):
        found[what] = at_stages(what, mm, loss_height if up else loss_width, high if up else wide)
    if lidded is not None:
        own = (lidded.loss, lidded.shrinkage) if lidded.own else (loss_width, wide)
        found["lid"] = at_stages("lid", lidded.profile.widest_mm, *own)
        for what, mm, of_lid in _lid_sizes(lidded):
            found[what] = at_stages(what, mm, *(own if of_lid else (loss_width, wide)))
    return found


def _lid_sizes(lidded: Lidded) -> Iterator[tuple[str, float, bool]]:
    """Widths of gallery, flange and knob: what, fired mm, and whether they shrink with the lid; depths go with widths."""
    if lidded.gallery is not None:
        yield "lid flange", lidded.flange_mm, True
        yield "gallery mouth", lidded.seat.mouth_mm, False
        yield "gallery throat", lidded.seat.throat_mm, False
        yield "gallery depth", lidded.gallery.deep_mm, False
    if lidded.knob_mm is not None:
        yield "knob", lidded.knob_mm[0], True
        yield "knob height", lidded.knob_mm[1], True


def _pouring_sizes(poured: Poured) -> Iterator[tuple[str, float, bool]]:
    """Sizes of lip and spout: what, fired mm, and whether they are measured up."""
    if poured.lip is not None:
        yield "lip pulled out", poured.lip.out_mm, False
        yield "lip width", poured.lip.width_mm, False
        if poured.lip.dip_mm:
            yield "lip dips", poured.lip.dip_mm, True
    if poured.spout is not None:
        yield "spout join", poured.spout.join_mm, True
        yield "spout length", poured.spout.length_mm, False
        yield "spout base", poured.spout.base_mm, False
        yield "spout tip", poured.spout.tip_mm, False


def _strap(form: Form, height_mm: float, body: Body, wide: Estimate, assume: Assumer) -> Strap | None:
    if form.handle is None:
        return None
    from wareboard.form.handle import strap

    handle = form.handle
    tall = handle.height
    if tall is None:
        tall = height_mm * assume.figure("handle.height_share").value
    return strap(
        tall,
        assume.figure("handle.gap_mm", handle.gap).value,
        assume.figure("handle.width_mm", handle.width).value,
        assume.figure("handle.thickness_mm", handle.thickness).value,
        density_g_per_ml=body.fired_density.value,
        shrinkage=wide.value,
        water_share=body.water.value,
        loss_on_ignition=body.loss.value,
        used_share=1 - assume.figure("handle.waste_share").value,
    )


def _yields(form: Form, kind: KindOfForm, own: OwnFigures, assume: Assumer) -> tuple[StageYield, ...]:
    """What comes good through each stage: the brief's figure, else the workshop's, else the usual."""
    found: list[StageYield] = []
    for stage in STAGES:
        key = f"yield.{kind}.{stage}"
        if (stage == "handled" and form.handle is None) or not reference.has_default(key):
            continue
        typed = own.good.get(f"{kind}.{stage}", own.good.get(stage))
        nearest = assume.nearest(of_a_form(key, form.name), key)
        good = assume.figure(key, form.good.get(stage), typed, nearest)
        found.append(StageYield(stage, good.value, good.low, good.high, good.source))
    return tuple(found)
