"""What the cones on one level of a kiln say more, or less, than its thermocouple: learned from packs, firing by firing.

Few firings are pulled towards a stated prior, so that one odd pack does not move the next firing; many outweigh it. The
offset belongs to one kiln, one level and firings near one cone: a thermocouple errs differently at 1050 and at 1220 °C.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.arrhenius import ZERO_C_K, scale_k
from wareboard.kiln.chart import cone_order
from wareboard.kiln.cone import cones, end_point_c
from wareboard.kiln.figures import firing_figure
from wareboard.kiln.heat_work import Z_90, HeatWork, ladder, position_of
from wareboard.kiln.witness import LevelReading, PackReview, Trend, position_at_c, trend
from wareboard.working import Estimate, Step, signed

PRIOR_FIRINGS = 4.0  # firings that the prior word on the scatter counts for


@dataclass(frozen=True, slots=True)
class Prior:
    """What is held of an offset before any pack was read, °C: mean and standard deviation, and the usual scatter."""

    mean_c: float
    sd_c: float
    scatter_c: float
    source: str

    def __post_init__(self) -> None:
        for name, number, least in (("sd_c", self.sd_c, 0.0), ("scatter_c", self.scatter_c, 0.0)):
            if not (math.isfinite(number) and number > least):
                raise OutOfRange(
                    f"{name} of the prior is {number:g}",
                    why="it must be above zero",
                    mend="Give a standard deviation in °C",
                )
        if not math.isfinite(self.mean_c):
            raise OutOfRange(
                f"mean of the prior is {self.mean_c:g}", why="it must be a number", mend="Give 0 if unknown"
            )


def usual_prior() -> Prior:
    """No offset, give or take what control and thermocouple may be off by: 14 °C nine times in ten, 8.5 °C as a deviation.

    Source: kiln-control (25 °F); scatter of 5 °C from firing to firing, common practice.
    """
    control, scatter = firing_figure("control_accuracy"), firing_figure("pack_scatter")
    return Prior(control.value, control.high / Z_90, scatter.value, f"{control.source}+{scatter.source}")


@dataclass(frozen=True, slots=True)
class Shrunken:
    """A normal mean after some readings: its value and standard deviation, and that of one more reading."""

    mean: float
    sd: float
    one_more_sd: float


def shrunken_mean(values: Sequence[float], sd: float, prior_mean: float, prior_sd: float) -> Shrunken:
    """The mean of readings with a known spread, pulled towards a prior by the weight of each.

    Args:
        values: readings, any number; none gives the prior back.
        sd: standard deviation of one reading, above 0.
        prior_mean, prior_sd: what was held before; prior_sd above 0.
    Raises:
        OutOfRange: for a missing number, or a deviation that is not above 0.
    Source: normal mean with known variance, gelman-bda, ch. 2: precisions add, and means are weighted by them.
    """
    if not np.isfinite([*values, sd, prior_mean, prior_sd]).all() or sd <= 0.0 or prior_sd <= 0.0:
        raise OutOfRange(
            "readings to be averaged",
            why="each must be a number, and each deviation above 0",
            mend="Leave out what is missing",
        )
    precision = 1.0 / prior_sd**2 + len(values) / sd**2
    mean = (prior_mean / prior_sd**2 + sum(values) / sd**2) / precision
    return Shrunken(mean, math.sqrt(1.0 / precision), math.sqrt(1.0 / precision + sd**2))


def temp_of_position_c(position: float, rate_c_per_h: float, form: str) -> float:
    """°C at which a ramp stops for a position between cones: `witness.position_at_c` the other way about."""
    whole = [cone for cone in cones(form) if "." not in cone]
    return float(
        np.interp(
            position, [cone_order(cone) for cone in whole], [end_point_c(cone, rate_c_per_h, form) for cone in whole]
        )
    )


def offset_seen_c(level: LevelReading, logged: HeatWork, rate_c_per_h: float = 60.0) -> float | None:
    """What a level's pack says more than the log, °C; None where the pack or the chart only bounds it.

    Args:
        level: the level's pack, read.
        logged: heat work of the same firing by the thermocouple, cooling included, since the cones felt that too.
        rate_c_per_h: rate at which the pack was read.
    """
    if level.bound or logged.off_scale:
        return None
    return level.temp_c - temp_of_position_c(logged.position, rate_c_per_h, logged.form)


@dataclass(frozen=True, slots=True)
class LevelOffset:
    """The learned offset of one level of one kiln: add it to what the thermocouple says.

    ``c`` and ``cones`` hold the offset with the 90 % range of its mean; ``one_more_c`` is the half width that holds the next
    firing nine times in ten; ``scatter_c`` the standard deviation from firing to firing. ``drift`` is None under three
    firings.
    """

    kiln: str
    level: str
    c: Estimate
    cones: Estimate
    scatter_c: float
    one_more_c: float
    firings: int
    drift: Trend | None
    prior: Prior
    steps: tuple[Step, ...]

    @property
    def words(self) -> str:
        """The offset with its range, in °C and in cones, in words."""
        told = f"{self.kiln}, {self.level}: {signed(self.c.value)} °C ({signed(self.c.low)} to {signed(self.c.high)}), "
        told += f"{signed(self.cones.value, 1)} of a cone, "
        return f"{told}from {self.firings} firing{'s' if self.firings != 1 else ''}"


def learned_offset(
    kiln: str,
    level: str,
    offsets_c: Sequence[float],
    cone: str | float = "6",
    rate_c_per_h: float = 60.0,
    form: str = "self-supporting",
    prior: Prior | None = None,
) -> LevelOffset:
    """The offset of a level from what its packs said more than the log, oldest first.

    The scatter is the firings' own round the shrunken mean, joined with that of the prior, which counts for four firings;
    ranges by Student's t with the degrees of freedom of both.

    Args:
        offsets_c: `offset_seen_c` of each firing near ``cone``; none gives the prior back.
        cone, rate_c_per_h, form: where degrees are turned into cones.
        prior: by default `usual_prior`.
    Raises:
        OutOfRange: for a missing number.
    Source: normal mean with a prior, gelman-bda, ch. 2 and 3.
    """
    from scipy.stats import t as student

    held, seen = prior or usual_prior(), np.asarray(offsets_c, dtype=np.float64)
    if not np.isfinite(seen).all():
        raise OutOfRange(f"offsets on {level}", why="one is not a number", mend="Leave out firings without a pack")
    own = float(np.sum((seen - seen.mean()) ** 2)) if len(seen) > 1 else 0.0
    freedom = PRIOR_FIRINGS + max(len(seen) - 1, 0)
    scatter = math.sqrt((PRIOR_FIRINGS * held.scatter_c**2 + own) / freedom)
    mean = shrunken_mean([float(each) for each in seen], scatter, held.mean_c, held.sd_c)
    quantile = float(student.ppf(0.95, freedom))
    half, one_more = quantile * mean.sd, quantile * mean.one_more_sd
    end_c = end_point_c(cone, rate_c_per_h, form)
    start = position_at_c(end_c, rate_c_per_h, form)
    low, middle, high = (
        position_at_c(end_c + each, rate_c_per_h, form) - start
        for each in (mean.mean - half, mean.mean, mean.mean + half)
    )
    source = "own records" if len(seen) else f"default: {held.source}"
    return LevelOffset(
        kiln,
        level,
        Estimate(mean.mean, mean.mean - half, mean.mean + half, source),
        Estimate(middle, low, high, source),
        scatter,
        one_more,
        len(seen),
        trend([float(each) for each in seen], f"offset on {level}") if len(seen) > 2 else None,
        held,
        _working(level, [float(each) for each in seen], held, scatter, own, mean.mean, half),
    )


def _working(
    level: str, seen: list[float], held: Prior, scatter: float, own: float, mean: float, half: float
) -> tuple[Step, ...]:
    count = float(len(seen))
    spread = Step(
        f"scatter on {level} from firing to firing",
        "sqrt((prior_firings * prior_scatter_c ** 2 + own_squares) / (prior_firings + max(firings - 1, 0)))",
        {"prior_firings": PRIOR_FIRINGS, "prior_scatter_c": held.scatter_c, "own_squares": own, "firings": count},
        scatter,
        held.source,
        "°C",
    )
    inputs = {
        "prior_c": held.mean_c,
        "prior_sd_c": held.sd_c,
        "mean_seen_c": sum(seen) / count if seen else 0.0,
        "firings": count,
        "scatter_c": scatter,
    }
    formula = (
        "(prior_c / prior_sd_c ** 2 + firings * mean_seen_c / scatter_c ** 2) "
        "/ (1 / prior_sd_c ** 2 + firings / scatter_c ** 2)"
    )
    name = f"offset of {level} from the thermocouple"
    return spread, Step(name, formula, inputs, mean, "gelman-bda", "°C", mean - half, mean + half, key="offset_c")


def offsets_by_level(
    kiln: str,
    firings: Sequence[tuple[PackReview, HeatWork]],
    rate_c_per_h: float = 60.0,
    prior: Prior | None = None,
) -> Mapping[str, LevelOffset]:
    """The learned offset of every level that any pack stood on, from firings near one cone, oldest first.

    Packs that only bound their level are left out of its count. Every firing's log is to be the same thermocouple's.

    Raises:
        OutOfRange: if the firings were for different cones, or their logs counted for different forms of cone.
    """
    kinds = {(review.target, logged.form) for review, logged in firings}
    if len(kinds) != 1:
        raise OutOfRange(
            f"offsets of {kiln}",
            why="there are no firings"
            if not kinds
            else "the firings are for " + " and ".join(f"cone {cone}, {form}" for cone, form in sorted(kinds)),
            mend="Learn from firings for one cone, with cones of one form: a thermocouple errs differently at each heat",
        )
    ((cone, form),) = kinds
    seen: dict[str, list[float]] = {}
    for review, logged in firings:
        for level in review.levels:
            told = offset_seen_c(level, logged, rate_c_per_h)
            seen.setdefault(level.level, []).extend([] if told is None else [told])
    return {name: learned_offset(kiln, name, each, cone, rate_c_per_h, form, prior) for name, each in seen.items()}


def corrected(logged: HeatWork, offset: LevelOffset) -> HeatWork:
    """The heat work of a level: that of the log moved by the level's offset, with a wider range.

    The firing is taken as hotter by the offset throughout, which heat work feels near the peak alone; ``peak_c`` moves with
    it. To the range of the log the scatter of one more firing is added (root of the sum of squares), so it never narrows:
    what packs share, such as the spread from cone to cone, stays in it.
    """
    steps = ladder(logged.form)
    peak_k = logged.peak_c + ZERO_C_K
    scales = scale_k(np.full(len(steps.cones), peak_k), steps.energy_kj)
    felt = np.asarray(logged.ln_works) + offset.c.value / scales
    chosen = [at for at, name in enumerate(steps.cones) if "." not in name]
    whole = [steps.cones[at] for at in chosen]
    apart = offset.one_more_c / scales[chosen]
    position, off = position_of(felt[chosen], whole)
    below, above = (position_of(felt[chosen] + sign * apart, whole)[0] for sign in (-1.0, 1.0))
    low = position - math.hypot(logged.position - logged.low, position - below)
    high = position + math.hypot(logged.high - logged.position, above - position)
    orders = np.asarray([cone_order(name) for name in whole])
    nearest = whole[int(np.argmin(np.abs(orders - position)))]
    return replace(
        logged,
        cone=nearest,
        position=position,
        low=low,
        high=high,
        peak_c=logged.peak_c + offset.c.value,
        off_scale=off,
        ln_works=tuple(float(each) for each in felt),
    )
