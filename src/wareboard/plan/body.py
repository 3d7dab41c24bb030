"""The clay of a commission with no blanks: its shrinkage each way with ranges, water, loss and densities."""

from __future__ import annotations

from dataclasses import dataclass

from wareboard.errors import Unreadable
from wareboard.plan.assume import GIVEN, Assumer
from wareboard.plan.brief import Clay, Form, Measured
from wareboard.plan.own import shrinkage_key
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
    """The clay: what is stated, sharpened by its measured bars, each way; where nothing is, the workshop's own records."""
    height, high_step = _shrinkage("height", clay.shrinkage_height, clay, assume)
    width, wide_step = _shrinkage("width", clay.shrinkage_width, clay, assume)
    return Body(
        height,
        width,
        assume.figure("clay.water_share", clay.water),
        assume.figure("clay.loss_on_ignition", clay.loss_on_ignition),
        assume.figure("clay.wet_density_g_per_ml", clay.wet_density),
        assume.figure("clay.fired_density_g_per_ml", clay.fired_density),
        (high_step, wide_step),
    )


def _shrinkage(direction: str, own_way: float | None, clay: Clay, assume: Assumer) -> tuple[Estimate, Step]:
    """Total shrinkage in one direction: the stated figure and the bars that speak of it, else records, else the usual."""
    from wareboard.clay.shrinkage import combined

    stated = own_way if own_way is not None else clay.shrinkage
    bars = _speaking_of(direction, clay.measured)
    prior, how = None, "stated"
    if stated is not None:
        prior = Estimate(stated, max(0.0, stated - STATED_SPREAD), stated + STATED_SPREAD, GIVEN)
        assume.compare(shrinkage_key(direction, clay.name), stated, GIVEN)
    elif not bars:
        prior = assume.figure("clay.shrinkage", learned_as=shrinkage_key(direction, clay.name))
        how = prior.source
        _refuse_unknown(clay, direction, assume)
    found = combined(bars, prior=prior)
    if bars:
        how = f"{len(bars)} measured" + (", leaning on the stated figure" if prior else "")
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


def _refuse_unknown(clay: Clay, direction: str, assume: Assumer) -> None:
    """Wet sizes from a shrinkage that nobody knows would be a guess that looks like a figure."""
    key = shrinkage_key(direction, clay.name)
    if clay.name.strip() and assume.own.get(key) is None:
        raise Unreadable(
            f"the shrinkage of {clay.name}",
            "the brief does not state it and the workshop has no record of this clay",
            'Add shrinkage = "12 %" to [clay], or measured bars',
            "clay",
        )


def _speaking_of(direction: str, measured: tuple[Measured, ...]) -> list[Estimate]:
    from wareboard.clay.shrinkage import from_measures

    return [from_measures(each.wet, each.fired) for each in measured if each.direction in (direction, "both")]


def _is_stated(direction: str, clay: Clay) -> bool:
    """Whether the brief says what the clay shrinks in that direction."""
    one_way = clay.shrinkage_height if direction == "height" else clay.shrinkage_width
    return one_way is not None or clay.shrinkage is not None or bool(_speaking_of(direction, clay.measured))


def shrinkage_of(
    form: Form, brief_clay: Clay, body: Body, assume: Assumer
) -> tuple[Estimate, Estimate, tuple[Step, ...]]:
    """Shrinkage of this form each way: its own prototypes first, then its records, leaning on the clay's."""
    from wareboard.clay.shrinkage import combined

    found: list[Estimate] = []
    steps: list[Step] = []
    for direction, clay in (("height", body.height), ("width", body.width)):
        own = _speaking_of(direction, form.measured)
        if not own:
            value, step = _from_records(form, direction, brief_clay, clay, assume)
            found.append(value)
            steps += [step] if step else []
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


def _from_records(
    form: Form, direction: str, clay: Clay, clays: Estimate, assume: Assumer
) -> tuple[Estimate, Step | None]:
    """What pieces of this form measured wet and fired say, unless the brief states the clay's shrinkage; else the clay's."""
    key = shrinkage_key(direction, clay.name, form.name)
    if _is_stated(direction, clay):
        assume.compare(key, clays.value, GIVEN)
        return clays, None
    learned = assume.learned(key)
    if learned is None:
        return clays, None
    step = Step(
        f"shrinkage in {direction} of this form",
        "",
        {"clay": clays.value},
        learned.value,
        learned.source,
        low=learned.low,
        high=learned.high,
        how="pieces of this form measured wet and fired, leaning on the clay's",
    )
    return learned.estimate, step
