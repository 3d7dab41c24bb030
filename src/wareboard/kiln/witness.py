"""Witness cones: from how a pack leans to the heat work of each level, how uneven the kiln is, and ONE next change.

A pack holds a guide (one cone softer), the target and a guard (one harder). A cone that stands has told only that it has not
moved; a cone that lies flat tells no more; the reading is taken from the cones between. Half a cone under cone 6 is twice
as many degrees as half a cone over it, so levels are compared in degrees as well as in cones.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.arrhenius import ZERO_C_K, scale_k
from wareboard.kiln.chart import FORMS, PRESENT, cone_name, cone_order, cones, next_cone
from wareboard.kiln.cone import end_point_c
from wareboard.kiln.heat_work import BEND_STARTS, DOWN_DEG, UPRIGHT_DEG, Z_90, ladder
from wareboard.working import Step, signed

FLAT_DEG = 87.0  # from here on a cone lies down and cannot be told from one that went further
STANDING_DEG = 12.0  # set at 8 to 10 degrees; up to here it has not been seen to move
READING_DEG = 5.0  # how closely a lean is read with a template; by eye against a clock face about three times as much
CLOCK_DEG = 15.0
TOP_TO_BOTTOM_CONES = 0.5  # accepted for a set, common practice
WORTH_A_CHANGE_C = 6.0


def lean_from_clock(clock: float) -> float:
    """Degrees from upright of a cone whose tip points to a place on a clock face: 12 is upright, 3 level, 6 hangs down.

    Potters call the end point six o'clock, since the tip has come down to the level of the base; read so, the whole arc
    from 12 to 6 is taken as the 8 to 90 degrees of lean.

    Raises:
        OutOfRange: for a place that is not from 12 (or 0) over 3 to 6.
    Source: kiln-s24 (end point is a 90 degree bend, called six o'clock); straight between, common practice.
    """
    hour = 0.0 if clock == 12.0 else clock
    if not (math.isfinite(hour) and 0.0 <= hour <= 6.0):
        raise OutOfRange(
            f"cone at {clock:g} o'clock",
            why="a cone leans from twelve round to six, when its tip is level with its base",
            mend="Read the tip as on a clock face with the cone leaning to the right",
        )
    return UPRIGHT_DEG + (DOWN_DEG - UPRIGHT_DEG) * hour / 6.0


@dataclass(frozen=True, slots=True)
class ConePack:
    """One level's pack after a firing: lean of each cone in degrees from upright, by the cone's name.

    ``by_clock`` says that the leans were judged by eye, which is some three times as rough as with a template.
    """

    level: str
    leans_deg: Mapping[str, float]
    form: str = FORMS[0]
    by_clock: bool = False

    def __post_init__(self) -> None:
        if not self.leans_deg:
            raise OutOfRange(f"pack on {self.level}", why="it holds no cone", mend="Give the lean of at least one cone")
        for cone, lean in self.leans_deg.items():
            cone_name(cone)
            if not (math.isfinite(lean) and 0.0 <= lean <= 180.0):
                raise OutOfRange(
                    f"cone {cone} on {self.level} leans {lean:g} degrees",
                    why="a lean runs from 0, upright, to 90, level with the base (more, if it hangs)",
                    mend="Measure from upright with a template",
                )

    @classmethod
    def by_clock_face(cls, level: str, clocks: Mapping[str, float], form: str = FORMS[0]) -> ConePack:
        """A pack judged by eye: the tip of each cone on a clock face, 12 to 6."""
        return cls(level, {cone: lean_from_clock(clock) for cone, clock in clocks.items()}, form, True)


@dataclass(frozen=True, slots=True)
class LevelReading:
    """Heat work of one level, as a position between cones (see `chart.cone_order`) and as °C at the stated rate.

    ``low`` and ``high`` hold nine in ten. ``bound`` is "at least" when every cone lies flat, "at most" when none has moved:
    then the position is only that limit.
    """

    level: str
    position: float
    low: float
    high: float
    temp_c: float
    low_c: float
    high_c: float
    bound: str
    told_by: str
    steps: tuple[Step, ...]

    @property
    def words(self) -> str:
        """The level in the potter's words."""
        cone, part = _nearest(self.position)
        lead = f"{self.bound} " if self.bound else ""
        return f"{self.level}: {lead}cone {cone}" + (f" {signed(part, 1)}" if abs(part) >= 0.05 else "")


def _nearest(position: float) -> tuple[str, float]:
    whole = [cone for cone in cones() if "." not in cone]
    at = int(np.argmin([abs(cone_order(cone) - position) for cone in whole]))
    return whole[at], position - cone_order(whole[at])


def read_pack(pack: ConePack, rate_c_per_h: float = 60.0) -> LevelReading:
    """Heat work of a level from its pack, with a 90 % range.

    Args:
        pack: how the cones lean.
        rate_c_per_h: rate over the last 100 °C, at which cones are set against degrees.
    Raises:
        OutOfRange: if a harder cone leans further than a softer one by more than it can be misread.
        NotInTable: for cones that are not in the chart.
    Source: bend against heat work, kiln-s24; end points, cone chart; cone to cone spread as a row seen once.
    """
    order = sorted(pack.leans_deg, key=lambda cone: cone_order(cone_name(cone)))
    _check_order(pack, order)
    rough = CLOCK_DEG if pack.by_clock else READING_DEG
    told = [cone for cone in order if STANDING_DEG < pack.leans_deg[cone] < FLAT_DEG]
    bound = ""
    if not told:
        flat = [cone for cone in order if pack.leans_deg[cone] >= FLAT_DEG]
        bound = "at least" if len(flat) == len(order) else "at most" if not flat else ""
        # One flat and the next standing: the truth lies between, and both edges tell of it.
        told = [flat[-1]] if bound == "at least" else [order[0]] if bound == "at most" else [flat[-1], order[len(flat)]]
    found = [_from_one(cone_name(cone), pack.leans_deg[cone], rough, rate_c_per_h, pack.form) for cone in told]
    # Each cone's word counts by how closely its lean pins the temperature; flat and standing cones are worst.
    weights = np.array([1.0 / each[1] ** 2 for each in found])
    temp_c = float(np.sum(weights * [each[0] for each in found]) / np.sum(weights))
    half_c = Z_90 * max(1.0 / math.sqrt(float(np.sum(weights))), _spread_c([each[0] for each in found]))
    places = [position_at_c(each, rate_c_per_h, pack.form) for each in (temp_c, temp_c - half_c, temp_c + half_c)]
    words = " and ".join(f"{cone_name(cone)} at {pack.leans_deg[cone]:.0f}°" for cone in told)
    step = Step(
        f"heat work on {pack.level}",
        "",
        {f"lean_of_{cone_name(cone)}": pack.leans_deg[cone] for cone in told},
        temp_c,
        "kiln-s24",
        "°C",
        temp_c - half_c,
        temp_c + half_c,
        how=f"lean of cone {words} at {rate_c_per_h:g} °C/h on the {PRESENT} chart, {pack.form}",
    )
    return LevelReading(
        pack.level, places[0], places[1], places[2], temp_c, temp_c - half_c, temp_c + half_c, bound, words, (step,)
    )


def _spread_c(temps: list[float]) -> float:
    return float(np.std(temps)) if len(temps) > 1 else 0.0


def _check_order(pack: ConePack, order: list[str]) -> None:
    for softer, harder in pairwise(order):
        if pack.leans_deg[harder] > pack.leans_deg[softer] + 2.0 * CLOCK_DEG:
            raise OutOfRange(
                f"on {pack.level} cone {harder} leans {pack.leans_deg[harder]:.0f} degrees and cone {softer} only "
                f"{pack.leans_deg[softer]:.0f}",
                why="a softer cone goes down first",
                mend="Check that the two were not swapped, touched, or set at a wrong angle",
            )


def _from_one(cone: str, lean_deg: float, rough_deg: float, rate_c_per_h: float, form: str) -> tuple[float, float]:
    """Temperature that a ramp at this rate would have reached for such a lean, °C, and its standard deviation."""
    end_c = end_point_c(cone, rate_c_per_h, form)
    steps = ladder(form)
    scale_c = float(scale_k(end_c + ZERO_C_K, steps.energy_kj[steps.place(cone)]))
    share = min(max((lean_deg - UPRIGHT_DEG) / (DOWN_DEG - UPRIGHT_DEG), 0.0), 1.0)
    work = BEND_STARTS + (1.0 - BEND_STARTS) * share
    by_lean = scale_c * (1.0 - BEND_STARTS) * rough_deg / (DOWN_DEG - UPRIGHT_DEG) / work / Z_90
    # A flat or standing cone has stopped telling: its edge is worth half a cone either way.
    edge = 8.0 if lean_deg >= FLAT_DEG or lean_deg <= STANDING_DEG else 0.0
    cone_c = 4.0 / Z_90  # one cone against another of the same number, as for a row of the chart seen once
    return end_c + scale_c * math.log(work), math.sqrt(by_lean**2 + edge**2 + cone_c**2)


def position_at_c(temp_c: float, rate_c_per_h: float = 60.0, form: str = FORMS[0]) -> float:
    """Position between cones of a ramp that stops at a temperature: straight between the end points of whole cones."""
    whole = [cone for cone in cones(form) if "." not in cone]
    ends = [end_point_c(cone, rate_c_per_h, form) for cone in whole]
    return float(np.interp(temp_c, ends, [cone_order(cone) for cone in whole]))


@dataclass(frozen=True, slots=True)
class Advice:
    """The one next change: what to do, why, and by how much (°C, or 0 where it is no matter of degrees)."""

    change: str
    why: str
    by_c: float = 0.0


@dataclass(frozen=True, slots=True)
class PackReview:
    """A firing's packs read together: each level, how uneven, how far from the target, and one next change."""

    target: str
    levels: tuple[LevelReading, ...]
    uneven_cones: float
    uneven_c: float
    uneven_c_low: float
    uneven_c_high: float
    off_c: float
    off_cones: float
    advice: Advice
    steps: tuple[Step, ...]


def review_packs(packs: Sequence[ConePack], target: str | float, rate_c_per_h: float = 60.0) -> PackReview:
    """All levels of a firing read together, with ONE next change.

    Unevenness comes before calibration: moving the end point cannot mend a set that is split between two levels. Several
    changes at once would leave no cause known, so only the first is given.

    Args:
        packs: one pack a level, from the bottom up.
        target: the cone wanted.
        rate_c_per_h: rate over the last 100 °C.
    Raises:
        OutOfRange: if there are no packs.
    Source: half a cone from top to bottom accepted for a set, common practice.
    """
    if not packs:
        raise OutOfRange("the cone packs", why="there are none", mend="Give the pack of at least one level")
    levels = tuple(read_pack(pack, rate_c_per_h) for pack in packs)
    wanted_c = end_point_c(target, rate_c_per_h, packs[0].form)
    temps, places = [level.temp_c for level in levels], [level.position for level in levels]
    uneven_c, mean_c = max(temps) - min(temps), float(np.mean(temps))
    hot, cold = levels[int(np.argmax(temps))], levels[int(np.argmin(temps))]
    apart = math.hypot(hot.high_c - hot.temp_c, cold.high_c - cold.temp_c)
    off_c, off = mean_c - wanted_c, float(np.mean(places)) - cone_order(cone_name(target))
    uneven = max(places) - min(places)
    inputs = {f"level_{at}_c": temp for at, temp in enumerate(temps, 1)}
    names = ", ".join(inputs)
    spread = Step(
        "hottest less coldest level",
        f"max({names}) - min({names})" if len(temps) > 1 else "level_1_c - level_1_c",
        inputs,
        uneven_c,
        "derived",
        "°C",
        max(uneven_c - apart, 0.0),
        uneven_c + apart,
    )
    shift = Step(
        "mean of the levels less the target",
        f"({' + '.join(inputs)}) / {len(temps)} - target_c",
        {**inputs, "target_c": wanted_c},
        off_c,
        "derived",
        "°C",
    )
    advice = _advice(levels, hot, cold, uneven if uneven_c > apart else 0.0, off_c, cone_name(target))
    steps = (*(step for level in levels for step in level.steps), spread, shift)
    low, high = max(uneven_c - apart, 0.0), uneven_c + apart
    return PackReview(cone_name(target), levels, uneven, uneven_c, low, high, off_c, off, advice, steps)


def _advice(
    levels: tuple[LevelReading, ...], hot: LevelReading, cold: LevelReading, uneven: float, off_c: float, target: str
) -> Advice:
    """The first change that is worth making, and no more; ``uneven`` in cones, 0 where it may be misreading alone."""
    if any(level.bound for level in levels):
        blind = next(level for level in levels if level.bound)
        if blind.bound == "at least":
            guard = next_cone(target, 1)
            return Advice(
                f"Set a guard of cone {guard} or harder on {blind.level}",
                "every cone there lies flat, and a flat cone no longer measures",
            )
        return Advice(
            f"Set a softer guide than now on {blind.level}",
            "no cone there has moved, so it is not known how cold it was",
        )
    if uneven > TOP_TO_BOTTOM_CONES:
        return Advice(
            f"Open up {cold.level}: set its shelves wider apart and put less mass there",
            f"{hot.level} is {uneven:.1f} of a cone hotter than {cold.level}; {TOP_TO_BOTTOM_CONES:g} is accepted for a set",
        )
    if abs(off_c) > WORTH_A_CHANGE_C:
        way = "Lower" if off_c > 0.0 else "Raise"
        return Advice(
            f"{way} the end of the firing by {abs(off_c):.0f} °C, by the thermocouple's offset or the hold",
            f"all levels together are {abs(off_c):.0f} °C {'over' if off_c > 0.0 else 'under'} cone {target}",
            -off_c,
        )
    if len(levels) == 1:
        return Advice(
            "Stand a pack on every level",
            f"{levels[0].level} met the target, but one pack does not tell how even the kiln is",
        )
    return Advice("Change nothing", "the levels agree within what cones can tell, and with the target")


def drifts(reviews: Sequence[PackReview]) -> tuple[Trend, Trend]:
    """How calibration and evenness move over firings, oldest first: off the target, and hottest less coldest.

    Raises:
        OutOfRange: for fewer than three firings.
    """
    off = trend([each.off_c for each in reviews], "mean of the levels less the target")
    return off, trend([each.uneven_c for each in reviews], "hottest less coldest level")


@dataclass(frozen=True, slots=True)
class Trend:
    """A straight line through a figure over firings: change for each firing, with its 90 % range, and what it says."""

    per_firing: float
    low: float
    high: float
    firings: int
    words: str


def trend(values: Sequence[float], what: str, unit: str = "°C") -> Trend:
    """Drift of a figure over firings in order, by least squares; told only where the range leaves out zero.

    Fit for whatever is kept firing by firing: packs, or the hours over the last 100 °C, which grow as elements wear.

    Args:
        values: one figure a firing, oldest first, at least three.
        what, unit: how to name it.
    Raises:
        OutOfRange: for fewer than three, or a missing number.
    Source: least squares and Student's t (any text of statistics).
    """
    from scipy.stats import linregress
    from scipy.stats import t as student

    seen = np.asarray(values, dtype=np.float64)
    if len(seen) < 3 or not np.isfinite(seen).all():
        raise OutOfRange(
            f"trend over {len(seen)} firings",
            why="a drift and its range need at least three firings, each with a number",
            mend="Read the packs of more firings",
        )
    line = linregress(np.arange(len(seen)), seen)
    half = float(student.ppf(0.95, len(seen) - 2)) * float(line.stderr)
    slope = float(line.slope)
    steady = abs(slope) <= half
    words = (
        f"{what}: no drift to be seen over {len(seen)} firings"
        if steady
        else f"{what}: {'rising' if slope > 0.0 else 'falling'} by {abs(slope):.2g} {unit} a firing over {len(seen)} firings"
    )
    return Trend(slope, slope - half, slope + half, len(seen), words)
