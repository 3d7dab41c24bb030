"""The firings of a job: what goes in, how many loads, the schedule, where the cone goes down, energy and cooling."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from wareboard.errors import placed
from wareboard.plan.assume import Assumer
from wareboard.plan.equipment import inside_of
from wareboard.plan.kiln_energy import energy_of, shelves_in, ware_in
from wareboard.plan.kiln_stock import packs_on
from wareboard.plan.own import hours_key
from wareboard.plan.result import FiringPlan, FormPlan
from wareboard.plan.workshop import Firing, Kiln
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.kiln.load import LoadPiece
    from wareboard.kiln.segment import Schedule

KindOfFiring = Literal["bisque", "glaze"]
# The state in which a piece goes in, and the stage of making before which its losses have happened.
GOING_IN: dict[KindOfFiring, tuple[str, str]] = {"bisque": ("dry", "bisque"), "glaze": ("bisque", "fired")}
PLATES_OPEN_COOLER = "plate"
LEAST_FALL_H = 0.01


def firing_plan(
    kind: KindOfFiring,
    forms: Sequence[FormPlan],
    kiln: Kiln,
    firing: Firing,
    assume: Assumer,
    seconds: float = 0.0,
    pieces: Sequence[LoadPiece] | None = None,
) -> FiringPlan:
    """All firings of one kind, in one kiln; of ``pieces`` alone where these are given.

    Raises:
        OutOfRange: naming the form, where a piece does not go into the kiln.
    """
    from wareboard.kiln.cone import reading
    from wareboard.kiln.load import plan_loads
    from wareboard.kiln.schedule import bisque_schedule, glaze_schedule

    inside = inside_of(kiln, assume)
    gap = assume.figure(f"kiln.gap_{kind}_mm").value
    pieces = [load_piece(form, kind) for form in forms] if pieces is None else pieces
    with placed(kiln.name):
        loads = plan_loads(pieces, inside, kind, gap_mm=gap, seconds=seconds, mix=seconds > 0)
    loads = replace(loads, loads=tuple(packs_on(load, kiln.cone_packs) for load in loads.loads))
    thickest = max(max(form.profile.floor_mm, _handle_mm(form)) / (1 - form.loss_width.fired) for form in forms)
    cone = (firing.bisque_cone if kind == "bisque" else firing.glaze_cone) or ""
    schedule = (
        bisque_schedule(cone, thickest, candle_h=firing.candle, form=firing.cone_form)
        if kind == "bisque"
        else glaze_schedule(cone, firing.hold or 0.0, firing.slow_cooling, thickest, form=firing.cone_form)
    )
    last = next(segment for segment in reversed(schedule.segments) if segment.target_c == schedule.peak_c)
    end_point = reading(cone, last.rate_c_per_h, firing.cone_form)
    energy = energy_of(
        kind, kiln, schedule, assume, ware_in(loads.loads, forms, assume), shelves_in(loads.loads, inside)
    )
    cooling, cools = _cooling(schedule, kind == "glaze" and any(f.kind == PLATES_OPEN_COOLER for f in forms))
    lag, lagging = _as_long_as_here(schedule, kind, kiln, assume)
    whole = Step(
        f"energy of all {kind} firings",
        "one_kwh * firings",
        {"one_kwh": energy.kwh, "firings": float(loads.firings)},
        energy.kwh * loads.firings,
        energy.steps[-1].source,
        "kWh",
        energy.low * loads.firings,
        energy.high * loads.firings,
    )
    return FiringPlan(
        kind,
        cone,
        kiln,
        inside,
        loads,
        schedule,
        end_point,
        energy,
        cooling,
        (*loads.steps, *schedule.steps, *lagging, *energy.steps, whole, *cools),
        lag,
    )


def _cooling(schedule: Schedule, plates: bool) -> tuple[Estimate, tuple[Step, ...]]:
    """Hours from the end of the hold until the kiln may be opened: the falls that are programmed, then by itself."""
    from wareboard.kiln.energy import cooling_hours

    free = cooling_hours(schedule, plates=plates)
    fall_h = schedule.duration_h - schedule.heating_h
    if fall_h < LEAST_FALL_H:
        return free.estimate, free.steps
    hours, low, high = (fall_h + each for each in (free.hours, free.low, free.high))
    source, inputs = free.steps[-1].source, {"programmed_h": fall_h, "free_h": free.hours}
    whole = Step("cooling, its programmed falls first", "programmed_h + free_h", inputs, hours, source, "h", low, high)
    return Estimate(hours, low, high, source), (*free.steps, whole)


def _as_long_as_here(
    schedule: Schedule, kind: KindOfFiring, kiln: Kiln, assume: Assumer
) -> tuple[float, tuple[Step, ...]]:
    """How many times the schedule's hours this kiln takes to the top, by its logs, with the working; 1 without them."""
    factor = assume.learned(hours_key(kind, kiln.name))
    if factor is None:
        return 1.0, ()
    planned = schedule.heating_h
    step = Step(
        f"hours that the {kind} firing heats here",
        "planned * factor",
        {"planned": planned, "factor": factor.value},
        planned * factor.value,
        factor.source,
        "h",
        planned * factor.low,
        planned * factor.high,
    )
    return factor.value, (step,)


def _handle_mm(form: FormPlan) -> float:
    return form.strap.thickness_mm if form.strap else 0.0


def across_mm(form: FormPlan) -> float:
    """Fired width of the round that covers the body, and its lip or spout where that stands out beyond it.

    The round touches the body on the handle's side, so that a handle opposite the spout reaches as far from it as before.
    """
    from wareboard.form.poured_section import reach_of

    body = form.profile.widest_mm
    return body / 2 + max(body / 2, reach_of(form.profile, form.poured.lip, form.poured.spout))


def high_mm(form: FormPlan) -> float:
    """Fired height of all that stands on the shelf: the body, a spout above its rim, its lid with its knob.

    A lid is fired on its pot, so that both keep one shape; it takes no place of its own on the shelf.
    """
    from wareboard.form.poured_section import top_of
    from wareboard.plan.solids import lid_at

    tall = top_of(form.profile, form.poured.spout)
    lid = lid_at(form, "fired")
    return max(tall, lid.top_mm) if lid is not None else tall


def load_piece(form: FormPlan, kind: KindOfFiring) -> LoadPiece:
    """One form as it goes into a firing: its size at that stage, and how many are still there by then."""
    from wareboard.kiln.load import LoadPiece

    stage, before = GOING_IN[kind]
    up = (1 - form.loss_height.by(stage)) / (1 - form.loss_height.fired)
    out = (1 - form.loss_width.by(stage)) / (1 - form.loss_width.fired)
    reach = width = 0.0
    if form.strap is not None:
        reach = (form.strap.inside_gap_mm + form.strap.thickness_mm) * out
        width = form.strap.width_mm * out
    return LoadPiece(
        form.name,
        form.pieces_into(before),
        across_mm(form) * out,
        high_mm(form) * up,
        # Nothing stands in a pot that wears its lid.
        nests=kind == "bisque" and form.kind in ("bowl", "plate") and form.lidded is None,
        handle_reach_mm=reach,
        handle_width_mm=width,
    )
