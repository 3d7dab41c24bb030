"""The clay of a commission with no blanks: its shrinkage each way with ranges, water, loss and densities."""

from __future__ import annotations

from dataclasses import dataclass

from wareboard import reference
from wareboard.plan.assume import GIVEN, Assumer
from wareboard.plan.brief import Clay, Form, Measured
from wareboard.working import Estimate, Step

# How far a figure off a bag, or typed in without a range, is from this clay fired here: dealers state ± 2 points.
STATED_SPREAD = 0.02
# How far one form strays from its clay's bars: a body and its lid were seen to part by about 1 % (Altmann 1997).
FORM_SPREAD = 0.01


@dataclass(frozen=True, slots=True)
class Body:
    """The clay of a commission with no blanks, and its shrinkage each way with ranges."""

    height: Estimate
    width: Estimate
    water: Estimate
    loss: Estimate
    wet_density: Estimate
    fired_density: Estimate
    steps: tuple[Step, ...]


def body_of(clay: Clay, assume: Assumer) -> Body:
    """The clay: what is stated, sharpened by its measured bars, each way."""
    height, high_step = _shrinkage("height", clay.shrinkage_height, clay.shrinkage, clay.measured)
    width, wide_step = _shrinkage("width", clay.shrinkage_width, clay.shrinkage, clay.measured)
    return Body(
        height,
        width,
        assume.figure("clay.water_share", clay.water),
        assume.figure("clay.loss_on_ignition", clay.loss_on_ignition),
        assume.figure("clay.wet_density_g_per_ml", clay.wet_density),
        assume.figure("clay.fired_density_g_per_ml", clay.fired_density),
        (high_step, wide_step),
    )


def _shrinkage(
    direction: str, own_way: float | None, both_ways: float | None, measured: tuple[Measured, ...]
) -> tuple[Estimate, Step]:
    """Total shrinkage in one direction, from the stated figure and the bars that speak of it."""
    from wareboard.clay.shrinkage import combined, from_measures

    stated = own_way if own_way is not None else both_ways
    bars = [from_measures(bar.wet, bar.fired) for bar in measured if bar.direction in (direction, "both")]
    prior = None
    if stated is not None:
        prior = Estimate(stated, max(0.0, stated - STATED_SPREAD), stated + STATED_SPREAD, GIVEN)
    elif not bars:
        prior = reference.default("clay.shrinkage").estimate
    found = combined(bars, prior=prior)
    how = "stated" if not bars else f"{len(bars)} measured" + (", leaning on the stated figure" if prior else "")
    step = Step(
        f"shrinkage in {direction}",
        "",
        {"stated": stated} if stated is not None else {},
        found.value,
        found.source,
        low=found.low,
        high=found.high,
        how=f"{how}; weighed by their ranges",
    )
    return found, step


def shrinkage_of(form: Form, body: Body) -> tuple[Estimate, Estimate, tuple[Step, ...]]:
    """Shrinkage of this form each way: its own prototypes first, leaning on the clay's."""
    from wareboard.clay.shrinkage import combined, from_measures

    found: list[Estimate] = []
    steps: list[Step] = []
    for direction, clay in (("height", body.height), ("width", body.width)):
        own = [from_measures(each.wet, each.fired) for each in form.measured if each.direction in (direction, "both")]
        if not own:
            found.append(clay)
            continue
        wider = Estimate(clay.value, clay.low - FORM_SPREAD, clay.high + FORM_SPREAD, clay.source)
        value = combined(own, prior=wider)
        found.append(value)
        steps.append(
            Step(
                f"shrinkage in {direction} of this form",
                "",
                {"clay": clay.value},
                value.value,
                value.source,
                low=value.low,
                high=value.high,
                how=f"{len(own)} measured on prototypes of this form, leaning on the clay's",
            )
        )
    return found[0], found[1], tuple(steps)
