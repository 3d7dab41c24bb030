"""Wet sizes from fired sizes, stage by stage, and shrinkage learned from what was measured.

Lengths in mm; shrinkage as a fraction of the plastic (wet) length. Shrinkage is not the same in all directions: keep one
factor for height and one for width, and learn both from the prototype.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields
from functools import cache
from itertools import pairwise

from wareboard.errors import OutOfRange
from wareboard.given import positive, share
from wareboard.reference import rows
from wareboard.working import Estimate, Step

STAGES = ("wet", "leather-hard", "dry", "bisque", "fired")
# Standard normal quantile that leaves 5 % on each side: turns a 90 % range into a standard deviation and back.
HALF_WIDTH_OF_90_PER_CENT = 1.6448536269514722


def wet_length_mm(fired_mm: float, shrinkage: float) -> float:
    """Length to make so that it fires to ``fired_mm``.

    Args:
        fired_mm: wanted fired length, mm, above 0.
        shrinkage: total linear shrinkage on the plastic length, fraction, 0 <= s < 1.
    Raises:
        OutOfRange: if ``shrinkage`` is not such a fraction, or the length is not a finite number above 0.
    Source: definition of linear shrinkage on the plastic length (ASTM C326 style).
    """
    positive(fired_mm, "fired length", "mm")
    share(shrinkage, "shrinkage", "the wet length")
    # Divide: multiplying by (1 + s) takes the fired length as the base and comes out short.
    return fired_mm / (1.0 - shrinkage)


def wrong_rule_error(shrinkage: float) -> float:
    """Share by which a piece thrown to fired * (1 + s) fires too small: s squared.

    Args:
        shrinkage: total linear shrinkage on the plastic length, fraction.
    Raises:
        OutOfRange: if it is not a fraction from 0 up to 1.
    Source: by arithmetic, 1 - (1 + s)(1 - s) = s^2.
    """
    return share(shrinkage, "shrinkage", "the wet length") ** 2


def composed(*stage_shares: float) -> float:
    """Total shrinkage on the first length, from shares that each stand on the length before their own stage.

    Raises:
        OutOfRange: if a share is not a fraction from 0 up to 1.
    Source: composition of linear shrinkages, 1 - S = product of (1 - S_i); never their sum.
    """
    return 1.0 - math.prod(1.0 - share(each, "stage shrinkage", "the length before the stage") for each in stage_shares)


def volume_shrinkage(height: float, width: float | None = None) -> float:
    """Share of the volume that goes, from the linear shrinkage up and across (the same both ways when one is given).

    Raises:
        OutOfRange: if a shrinkage is not a fraction from 0 up to 1.
    Source: definition; 1 - (1 - s_height)(1 - s_width)^2.
    """
    across = height if width is None else width
    share(height, "shrinkage in height", "the wet length")
    share(across, "shrinkage in width", "the wet length")
    return 1.0 - (1.0 - height) * (1.0 - across) ** 2


@dataclass(frozen=True, slots=True)
class StageLoss:
    """Shares of the WET length that are gone by each stage: they add up, and never fall.

    Raises:
        OutOfRange: if a share is no fraction from 0 up to 1, or a later stage is said to have lost less than an earlier.
    """

    leather_hard: float
    dry: float
    bisque: float
    fired: float

    def __post_init__(self) -> None:
        before, earlier = 0.0, "wet"
        for stage, gone in zip(STAGES[1:], self.cumulative[1:], strict=True):
            share(gone, f"shrinkage by {stage}", "the wet length")
            if gone < before - 1e-12:
                raise OutOfRange(
                    f"shrinkage by {stage} is {gone:g}",
                    why=f"by {earlier} it was {before:g} already, and clay does not grow back",
                    mend="Give every share on the wet length, adding up from stage to stage",
                )
            before, earlier = gone, stage

    @property
    def cumulative(self) -> tuple[float, float, float, float, float]:
        """The shares in the order of `STAGES`, the first of them 0."""
        return (0.0, self.leather_hard, self.dry, self.bisque, self.fired)

    def by(self, stage: str) -> float:
        """Share of the wet length gone by ``stage``, one of `STAGES`."""
        return self.cumulative[_place_of(stage)]

    def between(self, earlier: str, later: str) -> float:
        """Share of the length at ``earlier`` that goes on the way to ``later``."""
        return 1.0 - (1.0 - self.by(later)) / (1.0 - self.by(earlier))


def _place_of(stage: str) -> int:
    try:
        return STAGES.index(stage)
    except ValueError:
        raise OutOfRange(
            f"stage {stage!r}", why="no such stage is kept", mend="Use one of: " + ", ".join(STAGES)
        ) from None


@cache
def usual_stage_loss() -> StageLoss:
    """The usual pattern of loss, from the shipped table ``clay/stage_losses`` (each row on the length before it)."""
    left, gone = 1.0, []
    for row in rows("clay/stage_losses"):
        left *= 1.0 - float(row["typical_percent"]) / 100.0
        gone.append(1.0 - left)
    return StageLoss(*gone)


def stage_loss(
    total: float,
    leather_hard: float | None = None,
    dry: float | None = None,
    bisque: float | None = None,
    usual: StageLoss | None = None,
) -> StageLoss:
    """Loss by each stage, meeting ``total`` exactly; a stage that is not given follows the usual pattern.

    Between the stages that are known, the logarithms of the usual losses are scaled, so that the parts compose to the
    whole as shrinkages do (1 - S = product of (1 - S_i)), and do not merely add.

    Args:
        total: total linear shrinkage, fraction of the wet length.
        leather_hard, dry, bisque: shares of the wet length gone by that stage, where they have been measured.
        usual: the pattern to follow; the shipped one when left out.
    Raises:
        OutOfRange: if a share is no fraction, or the given shares fall or pass the total.
    Source: composition of linear shrinkages; pattern from ``clay/stage_losses``, common practice.
    """
    share(total, "total shrinkage", "the wet length")
    pattern = [-math.log1p(-gone) for gone in (usual or usual_stage_loss()).cumulative]
    known = [0.0, leather_hard, dry, bisque, total]
    StageLoss(*_filled_upwards(known))  # refuses shares that fall or pass the total, before anything is scaled
    places = [place for place, gone in enumerate(known) if gone is not None]
    result = [0.0] * len(STAGES)
    for first, last in pairwise(places):
        low = -math.log1p(-(known[first] or 0.0))
        high = -math.log1p(-(known[last] or 0.0))
        span = pattern[last] - pattern[first]
        for place in range(first + 1, last):
            part = (pattern[place] - pattern[first]) / span if span > 0 else 0.0
            result[place] = -math.expm1(-(low + part * (high - low)))
        result[last] = known[last] or 0.0
    return StageLoss(*result[1:])


def _filled_upwards(known: list[float | None]) -> list[float]:
    """The known shares with every gap holding the share before it, without the wet stage."""
    filled: list[float] = []
    for gone in known:
        filled.append(filled[-1] if gone is None else gone)
    return filled[1:]


@dataclass(frozen=True, slots=True)
class StageLengths:
    """One length at every stage, mm, with the working behind it."""

    wet_mm: float
    leather_hard_mm: float
    dry_mm: float
    bisque_mm: float
    fired_mm: float
    steps: tuple[Step, ...]

    def at(self, stage: str) -> float:
        """The length at ``stage``, mm.

        Raises:
            OutOfRange: if ``stage`` is not one of `STAGES`.
        """
        return float(getattr(self, fields(self)[_place_of(stage)].name))


def lengths_by_stage(
    fired_mm: float,
    loss: StageLoss,
    what: str = "height",
    source: str = "definition",
    shrinkage_low: float | None = None,
    shrinkage_high: float | None = None,
) -> StageLengths:
    """One fired length at every stage before it.

    Args:
        fired_mm: wanted fired length, mm, above 0.
        loss: what is gone by each stage.
        what: the dimension in plain words, for the working.
        source: on whose word the shrinkage stands.
        shrinkage_low, shrinkage_high: 90 % range of the total shrinkage; the wet length then carries its own.
    Raises:
        OutOfRange: if the length or a range is not such a number.
    Source: definition of linear shrinkage on the plastic length.
    """
    wet = wet_length_mm(fired_mm, loss.fired)
    low = None if shrinkage_low is None else wet_length_mm(fired_mm, shrinkage_low)
    high = None if shrinkage_high is None else wet_length_mm(fired_mm, shrinkage_high)
    steps = [
        Step(
            f"{what}, wet",
            "fired_mm / (1 - shrinkage)",
            {"fired_mm": fired_mm, "shrinkage": loss.fired},
            wet,
            source,
            unit="mm",
            low=low,
            high=high,
            key="wet",
        )
    ]
    lengths = [wet]
    for stage in STAGES[1:]:
        gone = loss.by(stage)
        lengths.append(fired_mm if stage == "fired" else wet * (1.0 - gone))
        given = {"wet_mm": wet, "gone": gone}
        steps.append(Step(f"{what}, {stage}", "wet_mm * (1 - gone)", given, lengths[-1], source, unit="mm", key=stage))
    leather_hard, dry, bisque, fired = lengths[1:]
    return StageLengths(wet, leather_hard, dry, bisque, fired, tuple(steps))


def from_measures(wet_mm: float, fired_mm: float, reading_mm: float = 0.5) -> Estimate:
    """Total linear shrinkage seen on one bar or prototype, with the range that the reading leaves.

    Both lengths are taken as read to within plus or minus ``reading_mm``, anywhere in that interval alike, so each carries
    a standard deviation of reading / sqrt(3); the two are put together to first order.

    Args:
        wet_mm, fired_mm: distance between the same two marks, mm.
        reading_mm: greatest error of one reading, mm, above 0.
    Raises:
        OutOfRange: if a length is not a finite number above 0, or the fired length is the greater.
    Source: definition; jcgm-100 section 4.3.7 (rectangular) and 5.1.2 (propagation).
    """
    positive(wet_mm, "wet length", "mm")
    positive(fired_mm, "fired length", "mm")
    positive(reading_mm, "reading error", "mm")
    if fired_mm > wet_mm:
        raise OutOfRange(
            f"fired length is {fired_mm:g} mm on {wet_mm:g} mm wet",
            why="a body shrinks from wet to fired",
            mend="See whether the two were written down the wrong way round",
        )
    shrinkage = (wet_mm - fired_mm) / wet_mm
    deviation = reading_mm / math.sqrt(3.0) / wet_mm * math.hypot(1.0, fired_mm / wet_mm)
    half = HALF_WIDTH_OF_90_PER_CENT * deviation
    return Estimate(shrinkage, shrinkage - half, shrinkage + half, "own records")


def combined(estimates: Iterable[Estimate], prior: Estimate | None = None) -> Estimate:
    """One shrinkage out of several, each weighing as its range allows.

    Ranges are read as 90 % ranges of a normal error. When the estimates scatter more than their ranges allow (Cochran's Q
    above its degrees of freedom), the variance between them is added to each (random effects), so the answer gets wider and
    not falsely sharp. The range is that of the mean: the next single piece scatters more.

    Args:
        estimates: what was measured; one alone comes back as it is when there is no prior.
        prior: what was thought before, such as a maker's figure; it is weighed in once, after the rest are pooled.
    Raises:
        OutOfRange: if there is nothing to combine, or a range has no width.
    Source: inverse-variance mean and normal prior, gelman-bda ch. 2; between-variance, dersimonian-laird-1986.
    """
    measured = tuple(estimates)
    if not measured:
        if prior is None:
            raise OutOfRange("nothing to combine", why="no estimate was given", mend="Measure one bar or piece first")
        return prior
    if len(measured) == 1 and prior is None:
        return measured[0]
    mean, variance = _pooled([each.value for each in measured], [_deviation(each) ** 2 for each in measured])
    if prior is not None:
        belief = _deviation(prior) ** 2
        mean = (mean / variance + prior.value / belief) / (1 / variance + 1 / belief)
        variance = 1 / (1 / variance + 1 / belief)
    half = HALF_WIDTH_OF_90_PER_CENT * math.sqrt(variance)
    count = f"{len(measured)} measure{'s' if len(measured) > 1 else ''}"
    leaning = "" if prior is None else f", leaning on {prior.source}"
    return Estimate(mean, mean - half, mean + half, f"own records, {count}{leaning}")


def _deviation(estimate: Estimate) -> float:
    width = estimate.high - estimate.low
    if not (math.isfinite(width) and width > 0 and math.isfinite(estimate.value)):
        raise OutOfRange(
            f"range of {estimate.value:g} is {estimate.low:g} to {estimate.high:g}",
            why="an estimate needs a range with some width to be weighed",
            mend="Give the low and the high end between which it lies nine times in ten",
        )
    return width / (2.0 * HALF_WIDTH_OF_90_PER_CENT)


def _pooled(values: list[float], variances: list[float]) -> tuple[float, float]:
    """Mean and variance of the mean, with the variance between the values added where their scatter asks for it."""
    weights = [1.0 / variance for variance in variances]
    total = sum(weights)
    mean = sum(weight * value for weight, value in zip(weights, values, strict=True)) / total
    scatter = sum(weight * (value - mean) ** 2 for weight, value in zip(weights, values, strict=True))
    excess = scatter - (len(values) - 1)
    if excess <= 0:
        return mean, 1.0 / total
    between = excess / (total - sum(weight**2 for weight in weights) / total)
    widened = [1.0 / (variance + between) for variance in variances]
    mean = sum(weight * value for weight, value in zip(widened, values, strict=True)) / sum(widened)
    return mean, 1.0 / sum(widened)
