"""What is believed of a piece's drying, before it is weighed and after: nine figures and how their errors hang together.

The air of a room wanders about its mean, so that drying runs ahead of the clock or behind it. That is carried too: how far
ahead the piece stood when last weighed, and what the air may do after that.

The spread is carried by a fixed set of points laid evenly through the normal distribution, not by chance: the same question
always gets the same answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from wareboard.clay.air import Air
from wareboard.clay.damp_piece import Piece, Spell
from wareboard.clay.drying_figures import figure, log_deviation
from wareboard.clay.evaporation import evaporation
from wareboard.clay.shrinkage import HALF_WIDTH_OF_90_PER_CENT
from wareboard.errors import OutOfRange
from wareboard.given import share
from wareboard.working import Estimate

Floats = NDArray[np.float64]

# The figures, in their order; those named "log" are carried as logarithms, and the cover as standard deviations of its own.
NAMES = (
    "log rate factor", "critical", "log end", "start", "log diffusivity", "log dry factor", "cover",
    "ahead h", "air to come",
)  # fmt: skip
RATE, CRITICAL, END, START, DIFFUSIVITY, DRY, COVER, AHEAD, TO_COME = range(len(NAMES))
POINTS = 1024
# What keeps the figures in order in the far tails of the spread.
LEAST_START_OVER_CRITICAL, LEAST_CRITICAL_OVER_END, LEAST_CRITICAL = 0.005, 0.03, 0.04
COVERED = {"light": "rate left, light cover", "tight": "leak, tight cover"}
DRY_WEIGHED_DEVIATION = 0.01  # a dry weight from a wet weight and a bag's usual water
ROOM_APART_C = 2.0


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures that a course runs on; each a number, or one number to each point of the spread.

    Attributes:
        rate_factor: what the reckoned rate is multiplied by.
        critical, end, start: water, fraction of the dry weight.
        diffusivity_m2_per_s: of water in the clay.
        dry_factor: what the dry weight is multiplied by.
        cover: how far the cover lets more through than thought, in standard deviations of its logarithm.
        ahead_h: hours by which drying stood ahead of the clock when last weighed; 0 before.
        to_come: what the air does from then on, in standard deviations, above 0 when it takes more.
    """

    rate_factor: Floats
    critical: Floats
    end: Floats
    start: Floats
    diffusivity_m2_per_s: Floats
    dry_factor: Floats
    cover: Floats
    ahead_h: Floats
    to_come: Floats


def figures_of(points: Floats) -> Figures:
    """The figures at points of shape (..., 9), kept in order (end below critical below start)."""
    columns = np.moveaxis(np.asarray(points, dtype=np.float64), -1, 0)
    start = np.maximum(columns[START], LEAST_CRITICAL + LEAST_START_OVER_CRITICAL)
    critical = np.clip(columns[CRITICAL], LEAST_CRITICAL, start - LEAST_START_OVER_CRITICAL)
    end = np.minimum(np.exp(columns[END]), critical - LEAST_CRITICAL_OVER_END)
    rate, diffusivity, dry = (np.exp(np.clip(columns[place], -60.0, 60.0)) for place in (RATE, DIFFUSIVITY, DRY))
    return Figures(rate, critical, end, start, diffusivity, dry, columns[COVER], columns[AHEAD], columns[TO_COME])


@cache
def even_normals(count: int, size: int) -> Floats:
    """Points laid evenly in the unit cube by powers of the generalised golden ratio, through the normal quantile.

    Source: M. Roberts, additive recurrence with the root of x^(d+1) = x + 1; from memory. Shape (count, size), read-only.
    """
    root = 2.0
    for _ in range(100):
        root = (1.0 + root) ** (1.0 / (size + 1))
    steps = root ** -np.arange(1.0, size + 1.0)
    cube = (0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0
    quantile = np.vectorize(NormalDist().inv_cdf, otypes=[float])
    normals = quantile(np.clip(cube, 1e-9, 1.0 - 1e-9))
    normals = (normals - normals.mean(axis=0)) / normals.std(axis=0)
    normals.flags.writeable = False
    return np.asarray(normals)


@dataclass(frozen=True, slots=True)
class Belief:
    """The nine figures: best values (9,), their covariance (9, 9), on whose word, the hour of the last weighing,
    and the share by which the air of the room wanders about its mean.

    Raises:
        OutOfRange: if the shapes are wrong or a number is not finite.
    """

    best: Floats
    covariance: Floats
    source: str
    weighed_at_h: float = 0.0
    wanders: float = 0.0

    def __post_init__(self) -> None:
        size = len(NAMES)
        if self.best.shape != (size,) or self.covariance.shape != (size, size):
            raise OutOfRange(
                "a belief of another shape", why=f"it holds {size} figures", mend="Start from usual_belief"
            )
        if not (np.all(np.isfinite(self.best)) and np.all(np.isfinite(self.covariance))):
            raise OutOfRange("a belief that is not finite", why="a figure is missing", mend="Start from usual_belief")

    def points(self, count: int = POINTS) -> Floats:
        """Points that stand for the spread, shape (count, 9)."""
        # Eigenvalues, because a figure known exactly leaves no square root of Cholesky's kind.
        values, vectors = np.linalg.eigh(self.covariance)
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        return np.asarray(self.best + even_normals(count, len(NAMES)) @ root.T)

    def _deviation(self, place: int) -> float:
        return HALF_WIDTH_OF_90_PER_CENT * math.sqrt(max(0.0, float(self.covariance[place, place])))

    def plain(self, place: int) -> Estimate:
        """One figure carried as itself, with its 90 % range."""
        best, half = float(self.best[place]), self._deviation(place)
        return Estimate(best, best - half, best + half, self.source)

    def from_log(self, place: int) -> Estimate:
        """One figure carried as a logarithm, with its 90 % range."""
        at = self.plain(place)
        return Estimate(math.exp(at.value), math.exp(at.low), math.exp(at.high), self.source)

    @property
    def rate_factor(self) -> Estimate:
        """What the reckoned rate is multiplied by; 1 until the piece has been weighed."""
        return self.from_log(RATE)

    @property
    def critical_water(self) -> Estimate:
        """Water at which the surface goes dry and shrinkage is practically over, fraction of the dry weight."""
        return self.plain(CRITICAL)


def heat_transfer(spell: Spell) -> Estimate:
    """Heat transfer of a spell, W/(m2 K), with its range; a tenth either way where it was given."""
    if spell.h_w_per_m2_k is not None:
        given = spell.h_w_per_m2_k
        return Estimate(given, 0.9 * given, 1.1 * given, "given")
    return figure(f"heat transfer, {spell.draught}")


def shares_counted(piece: Piece, spell: Spell) -> tuple[Estimate, Estimate]:
    """How far the inside and the underside count as the piece stands in that spell."""
    inside = Estimate(piece.inside_share, piece.inside_low, piece.inside_high, "common-practice")
    if spell.standing == "upturned" and piece.inside_share < 1.0:
        inside = figure("inside counted, upturned")
    return inside, figure(f"underside counted, {spell.standing}")


def _rate_deviation(piece: Piece, spell: Spell) -> float:
    """Standard deviation of the logarithm of the rate, each cause moved to the ends of its range in turn."""
    air, heat = spell.air, heat_transfer(spell)

    def loss(temp_c: float, rh: float, h: float) -> float:
        return evaporation(Air(temp_c, min(0.99, max(0.01, rh)), air.pressure_pa), h).kg_per_m2_h

    drier, damper = air.rh - spell.rh_apart, min(air.rh + spell.rh_apart, 0.5 * (1.0 + air.rh))
    cooler = max(1.0, air.temp_c - ROOM_APART_C)
    inside, under = shares_counted(piece, spell)
    areas = [
        sum(part.counted(*shares)[0] for part in piece.parts)
        for shares in ((inside.low, under.low), (inside.high, under.high))
    ]
    ends = (
        (loss(air.temp_c, damper, heat.value), loss(air.temp_c, drier, heat.value)),
        (loss(air.temp_c, air.rh, heat.low), loss(air.temp_c, air.rh, heat.high)),
        (loss(cooler, air.rh, heat.value), loss(min(60.0, air.temp_c + ROOM_APART_C), air.rh, heat.value)),
        (areas[0], areas[1]),
        (figure("rate, all else").low, figure("rate, all else").high),
    )
    return math.sqrt(sum(log_deviation(*pair) ** 2 for pair in ends))


def usual_belief(
    piece: Piece,
    spell: Spell,
    start: Estimate | None = None,
    critical: Estimate | None = None,
    end: Estimate | None = None,
    wanders: float | None = None,
) -> Belief:
    """What is believed of a piece before it is weighed.

    Args:
        piece: with the dry weight that goes with the best value of ``start``.
        spell: the first one; how far its air, draught and the areas may be off goes into the rate.
        start, critical, end: water, fractions of the dry weight with 90 % ranges; the usual figures when left out.
        wanders: share by which the rate of the room wanders about its mean over some hours; 0 in a drying cupboard;
            the usual figure when left out.
    Raises:
        OutOfRange: if a water is no fraction, or they do not fall from start to critical to end.
    Source: ``clay/drying_figures``; ranges read as 90 % of a normal or, for rate, end and diffusivity, a lognormal spread.
    """
    start = start or figure("water as thrown")
    critical = critical or figure("critical water")
    end = end or figure("end water")
    for water, name in ((start, "water at the start"), (critical, "critical water"), (end, "end water")):
        share(water.value, name, "the dry weight")
    if not end.value + LEAST_CRITICAL_OVER_END < critical.value < start.value - LEAST_START_OVER_CRITICAL:
        raise OutOfRange(
            f"water {start.value:g} at the start, {critical.value:g} critical, {end.value:g} at the end",
            why="water falls from the start past the critical water to the end",
            mend="Give all three on the dry weight, such as 0.265, 0.125 and 0.012",
        )
    diffusivity = figure("diffusivity of plastic clay")
    sized = figure("dry weight from sizes")
    best = [0.0, critical.value, math.log(end.value), start.value, math.log(diffusivity.value)]
    best += [0.0] * (len(NAMES) - len(best))
    deviations = [
        _rate_deviation(piece, spell),
        (critical.high - critical.low) / (2.0 * HALF_WIDTH_OF_90_PER_CENT),
        log_deviation(end.low, end.high),
        (start.high - start.low) / (2.0 * HALF_WIDTH_OF_90_PER_CENT),
        log_deviation(diffusivity.low, diffusivity.high),
        log_deviation(sized.low, sized.high) if piece.sized else DRY_WEIGHED_DEVIATION,
        1.0,
        0.0,
        1.0,
    ]
    share_wandering = figure("room wanders").value if wanders is None else share(wanders, "wandering", "the rate")
    covariance = np.diag(np.square(deviations))
    return Belief(np.array(best), covariance, "default: usual figures of drying", wanders=share_wandering)
