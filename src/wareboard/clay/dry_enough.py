"""Dry enough for bisque? Told by weight: two weighings a day apart that agree, or a known dry weight; not by looks."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wareboard.clay.drying import HOURS_IN_A_DAY
from wareboard.clay.shrinkage import HALF_WIDTH_OF_90_PER_CENT
from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.working import Estimate, Step, per_cent

LOSS_A_DAY = 0.005  # two weighings a day apart agree within this share of the weight: common practice
WATER_FOR_BISQUE = 0.02  # of the dry weight, into a bisque kiln without a long soak: common practice
SHORTEST_H = 12.0  # over a shorter time the loss is smaller than a kitchen scale can tell
DRY, DAMP, TOO_NEAR = "dry enough", "still damp", "too near to tell"
CAUTION = (
    "Water that is still in ware turns to steam and bursts it, and its neighbours with it. When in doubt candle: hold the "
    "kiln below the boil, at about 90 °C, with the vent open for some hours, longest for thick ware."
)
WRAPPED = "This tells only of ware that stands open: wrapped ware loses nothing and is wet."


@dataclass(frozen=True, slots=True)
class DryEnough:
    """Whether ware may go into bisque, by its weight.

    Attributes:
        verdict: `DRY`, `DAMP` or `TOO_NEAR`.
        measure: loss in 24 h as a share of the weight, or water left as a share of the dry weight, with its 90 % range.
        steps: the working. words: what to do, with the caution.
    """

    verdict: str
    measure: Estimate
    steps: tuple[Step, ...]
    words: str


def _judged(measure: Estimate, limit: float) -> str:
    if measure.high < limit:
        return DRY
    return DAMP if measure.low >= limit else TOO_NEAR


def by_two_weighings(
    earlier_g: float, later_g: float, hours: float = HOURS_IN_A_DAY, scale_g: float = 1.0, limit: float = LOSS_A_DAY
) -> DryEnough:
    """Whether two weighings of the same open-standing ware agree: less than 0.5 % lost in 24 h.

    Args:
        earlier_g, later_g: weights, g, of one piece or of the same pieces together.
        hours: between them, 12 or more; the loss is taken as even over longer times.
        scale_g: greatest error of one weight, g.
        limit: share of the weight that may be lost in 24 h.
    Raises:
        OutOfRange: if the weights rise by more than the scale allows, or the time between is too short.
    Source: common practice; scale error rectangular, jcgm-100 sections 4.3.7 and 5.1.2.
    """
    positive(earlier_g, "earlier weight", "g")
    positive(later_g, "later weight", "g")
    positive(scale_g, "reading of the scale", "g")
    positive(limit, "loss allowed in a day")
    if not (math.isfinite(hours) and hours >= SHORTEST_H):
        raise OutOfRange(
            f"{hours:g} h between the weighings",
            why=f"the loss of less than {SHORTEST_H:g} h is too small to tell",
            mend="Weigh again when a day has passed since the first",
        )
    if later_g > earlier_g + 2.0 * scale_g:
        raise OutOfRange(
            f"the later weight is {later_g:g} g, the earlier one {earlier_g:g} g",
            why="ware that dries does not gain weight",
            mend="See that it is the same ware, that the room has not turned damp, and that the scale stands at nought",
        )
    formula = "(earlier_g - later_g) / earlier_g * 24 / hours"
    given = {"earlier_g": earlier_g, "later_g": later_g, "hours": hours}
    lost = (earlier_g - later_g) / earlier_g * HOURS_IN_A_DAY / hours
    half = HALF_WIDTH_OF_90_PER_CENT * math.sqrt(2.0 / 3.0) * scale_g / earlier_g * HOURS_IN_A_DAY / hours
    measure = Estimate(lost, lost - half, lost + half, "own records")
    step = Step("lost in 24 h, share of the weight", formula, given, lost, "common-practice",
                low=measure.low, high=measure.high, key="lost_a_day")  # fmt: skip
    verdict = _judged(measure, limit)
    together_g = HALF_WIDTH_OF_90_PER_CENT * math.sqrt(2.0 / 3.0) * scale_g / (limit / 2.0) * HOURS_IN_A_DAY / hours
    said = {
        DRY: f"Dry enough: {per_cent(lost, 2)} lost in a day, under {per_cent(limit, 1)}.",
        DAMP: f"Still damp: {per_cent(lost, 2)} lost in a day; it must be under {per_cent(limit, 1)}. Weigh again tomorrow.",
        TOO_NEAR: (
            f"Too near to tell: {per_cent(lost, 2)} lost in a day, and this scale cannot say "
            f"whether that is under {per_cent(limit, 1)}. "
            f"Weigh again tomorrow, or weigh several pieces together, about {max(together_g, earlier_g):.0f} g or more."
        ),
    }[verdict]
    return DryEnough(verdict, measure, (step,), f"{said} {WRAPPED} {CAUTION}")


def by_dry_weight(weight_g: float, dry_g: Estimate, scale_g: float = 1.0, limit: float = WATER_FOR_BISQUE) -> DryEnough:
    """Whether the water left, against a known dry weight, is under 2 % of it.

    Args:
        weight_g: now, g.
        dry_g: bone-dry weight with its 90 % range, g: of the same piece, or from its wet weight and the water of the clay.
        scale_g: greatest error of the weight, g.
        limit: water, fraction of the dry weight.
    Raises:
        OutOfRange: if the piece weighs clearly less than its dry weight.
    Source: definition; the limit is common practice.
    """
    positive(weight_g, "weight", "g")
    positive(scale_g, "reading of the scale", "g")
    for each in (dry_g.low, dry_g.value, dry_g.high):
        positive(each, "dry weight", "g")
    if weight_g + scale_g < dry_g.low:
        raise OutOfRange(
            f"it weighs {weight_g:g} g, less than its dry weight of {dry_g.value:g} g",
            why="no piece is lighter than bone dry",
            mend="See that the dry weight belongs to this piece, with the same trimming and handle",
        )
    left = weight_g / dry_g.value - 1.0
    deviation = math.hypot(
        scale_g / math.sqrt(3.0) / dry_g.value,
        weight_g / dry_g.value**2 * (dry_g.high - dry_g.low) / (2.0 * HALF_WIDTH_OF_90_PER_CENT),
    )
    half = HALF_WIDTH_OF_90_PER_CENT * deviation
    measure = Estimate(left, left - half, left + half, dry_g.source)
    step = Step("water left, share of the dry weight", "(weight_g - dry_g) / dry_g",
                {"weight_g": weight_g, "dry_g": dry_g.value}, left, dry_g.source,
                low=measure.low, high=measure.high, key="water_left")  # fmt: skip
    verdict = _judged(measure, limit)
    said = {
        DRY: f"Dry enough: {per_cent(max(0.0, left), 1)} of water left, under {per_cent(limit)}.",
        DAMP: f"Still damp: {per_cent(left, 1)} of water left; it must be under {per_cent(limit)}.",
        TOO_NEAR: (
            f"Too near to tell: {per_cent(max(0.0, left), 1)} of water left, give or take {per_cent(half, 1)}; "
            f"the limit is {per_cent(limit)}. "
            "Weigh twice a day apart instead."
        ),
    }[verdict]
    return DryEnough(verdict, measure, (step,), f"{said} {CAUTION}")


@dataclass(frozen=True, slots=True)
class Tail:
    """The end of drying from three weighings at even times.

    Attributes:
        end_g: weight that it runs to, g.
        half_time_h: hours in which what is left halves.
        days_to_go: days from the last weighing until a day's loss is under the limit.
        steps: the working.
    """

    end_g: float
    half_time_h: float
    days_to_go: float
    steps: tuple[Step, ...]


def by_three_weighings(
    first_g: float, second_g: float, third_g: float, hours: float = HOURS_IN_A_DAY, limit: float = LOSS_A_DAY
) -> Tail:
    """When ware that already dries slower and slower will lose less than the limit in a day.

    Near the end the loss halves in a fixed time, so that three weights at even times give the end (Aitken's rule).

    Args:
        first_g, second_g, third_g: weights at even times, g.
        hours: between each and the next.
        limit: share of the weight that may be lost in 24 h.
    Raises:
        OutOfRange: if the loss is not yet growing smaller.
    Source: first-order tail, from memory; Aitken's extrapolation of a geometric sequence.
    """
    for weight, name in ((first_g, "first weight"), (second_g, "second weight"), (third_g, "third weight")):
        positive(weight, name, "g")
    positive(hours, "hours between weighings", "h")
    positive(limit, "loss allowed in a day")
    before, after = first_g - second_g, second_g - third_g
    if not 0.0 < after < before:
        raise OutOfRange(
            f"{before:g} g lost, then {after:g} g",
            why="the end can be told only while each loss is smaller than the one before",
            mend="Wait for the next weighing: the surface is still wet, or the scale is too coarse for what is left",
        )
    weights = {"first_g": first_g, "second_g": second_g, "third_g": third_g}
    end_g = third_g - after**2 / (before - after)
    half_time_h = hours * math.log(2.0) / math.log(before / after)
    a_day = (third_g - end_g) * (1.0 - 0.5 ** (HOURS_IN_A_DAY / half_time_h))
    days = max(0.0, half_time_h / HOURS_IN_A_DAY * math.log2(a_day / (limit * end_g)))
    steps = (
        Step("weight that it runs to", "third_g - (second_g - third_g) ** 2 / (first_g - 2 * second_g + third_g)",
             weights, end_g, "from-memory", unit="g", key="end_g"),
        Step("what is left halves in", "hours * log(2) / log((first_g - second_g) / (second_g - third_g))",
             {**weights, "hours": hours}, half_time_h, "from-memory", unit="h", key="half_time_h"),
        Step("days until a day's loss is under the limit",
             "max(0, half_time_h / 24 * log((third_g - end_g) * (1 - 0.5 ** (24 / half_time_h)) / (limit * end_g))"
             " / log(2))",
             {"half_time_h": half_time_h, "third_g": third_g, "end_g": end_g, "limit": limit}, days, "from-memory",
             unit="d", key="days_to_go"),
    )  # fmt: skip
    return Tail(end_g, half_time_h, days, steps)
