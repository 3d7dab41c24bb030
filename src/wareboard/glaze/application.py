"""Laying glaze on: how pick-up grows with dwell, how thick the layer is, and how far the bucket will still reach.

The pick-up law is fitted to the workshop's own weighings; the shipped figures are only a start.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive, share
from wareboard.glaze.given import estimate
from wareboard.glaze.slip import dry_content_g
from wareboard.working import Estimate, Step

CHANCE_INSIDE = 0.90
CM_TO_MM = 10.0
# A law is used a little beyond the dwells it was fitted to, and no further.
REACH_BEYOND = 1.5
# Readings that differ by less than this say nothing on what a density or an absorption does.
LEAST_SPREAD = 0.02
# From memory: how much one piece's share of glaze differs from the next, where single weighings are missing.
USUAL_SPREAD_SHARE = 0.15
MOST_TIMES_AS_FAR = 10

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Weighing:
    """One piece or shard, weighed before glazing and when the glaze had dried: the dwell and what it picked up.

    ``absorption_share`` of the bisque is a fraction of its dry weight, where it was measured.
    """

    dwell_s: float
    dry_g_per_cm2: float
    specific_gravity: float = 1.45
    dry_density: float = 2.6
    absorption_share: float | None = None

    @property
    def dry_g_per_ml(self) -> float:
        """Dry glaze in a millilitre of this slip, g. Source: Brongniart's formula, as `dry_content_g`."""
        return dry_content_g(1.0, self.specific_gravity, self.dry_density)

    @property
    def dry_to_water(self) -> float:
        """Grams of dry glaze that come with a gram of water drawn out of the slip."""
        return self.dry_g_per_ml / (self.specific_gravity - self.dry_g_per_ml)


def picked_up(before_g: float, after_g: float, area_mm2: float) -> float:
    """Dry glaze on a square centimetre, g/cm2, from two weighings of the dry piece.

    Raises:
        OutOfRange: if the piece is not heavier afterwards, or the area is not positive.
    """
    positive(before_g, "weight before", "g")
    if not after_g > before_g:
        raise OutOfRange(
            f"{after_g:g} g after {before_g:g} g", "a glazed piece is heavier", "Weigh it when dry, both times"
        )
    return (after_g - before_g) / (positive(area_mm2, "glazed area", "mm2") / 100.0)


@dataclass(frozen=True, slots=True)
class PickUp:
    """Fitted law: log pick-up = terms . (1, log dwell, log dry to water, log absorption), with its covariance.

    ``exponent`` is that of the dwell; ``terms`` says which of the four the weighings could tell. ``scatter`` is the standard
    deviation of the logarithm about the law, ``freedom`` the degrees of freedom behind it.
    """

    coefficients: tuple[float, ...]
    terms: tuple[str, ...]
    exponent: float
    covariance: tuple[tuple[float, ...], ...]
    scatter: float
    freedom: int
    dwell_from_s: float
    dwell_to_s: float
    weighings: int
    mean_log_solids: float
    mean_log_absorption: float
    notes: tuple[str, ...]

    def pick_up_g_per_cm2(
        self,
        dwell_s: float,
        specific_gravity: float = 1.45,
        dry_density: float = 2.6,
        absorption_share: float | None = None,
    ) -> Estimate:
        """Dry glaze that one more piece will pick up, g/cm2, with the range that holds nine pieces in ten.

        Raises:
            OutOfRange: for a dwell well outside the weighings.
        Source: prediction interval of least squares, as in any textbook of regression.
        """
        positive(dwell_s, "dwell", "s")
        if not self.dwell_from_s / REACH_BEYOND <= dwell_s <= self.dwell_to_s * REACH_BEYOND:
            raise OutOfRange(
                f"dwell is {dwell_s:g} s",
                why=f"the weighings run from {self.dwell_from_s:g} to {self.dwell_to_s:g} s",
                mend="Weigh a shard at that dwell and put it in",
            )
        row = self._row(Weighing(dwell_s, 1.0, specific_gravity, dry_density, absorption_share))
        fixed = self.exponent * math.log(dwell_s) if "dwell" not in self.terms else 0.0
        centre = float(row @ np.array(self.coefficients)) + fixed
        spread = math.sqrt(self.scatter**2 + float(row @ np.array(self.covariance) @ row))
        reach = _students_t(self.freedom) * spread
        return Estimate(math.exp(centre), math.exp(centre - reach), math.exp(centre + reach), "own records")

    def dwell_s(self, wanted_g_per_cm2: float, specific_gravity: float = 1.45, dry_density: float = 2.6) -> float:
        """Dwell for a wanted pick-up, s. Raises as `pick_up_g_per_cm2` does."""
        positive(wanted_g_per_cm2, "pick-up wanted", "g/cm2")
        middle = math.sqrt(self.dwell_from_s * self.dwell_to_s)
        there = self.pick_up_g_per_cm2(middle, specific_gravity, dry_density).value
        dwell = float(middle * (wanted_g_per_cm2 / there) ** (1.0 / self.exponent))
        self.pick_up_g_per_cm2(dwell, specific_gravity, dry_density)  # refuses what is out of reach
        return dwell

    def _row(self, one: Weighing) -> Array:
        absorption = math.log(one.absorption_share) if one.absorption_share else self.mean_log_absorption
        values = {
            "whole": 1.0,
            "dwell": math.log(one.dwell_s),
            "solids": math.log(one.dry_to_water) - self.mean_log_solids,
            "absorption": absorption - self.mean_log_absorption,
        }
        return np.array([values[term] for term in self.terms])


def fit_pick_up(weighings: Sequence[Weighing], *, exponent: float | None = 0.5) -> PickUp:
    """The pick-up law that fits the workshop's own weighings best.

    Pick-up grows with the square root of the dwell on dry bisque (filter-cake law); with ``exponent=None`` that power is
    fitted too. What slip density and absorption do is fitted only where the weighings differ in them.

    Args:
        weighings: three at least, and one more for each thing that is fitted.
    Raises:
        OutOfRange: for too few weighings, or figures that cannot be.
    Source: filter-cake law, from memory; least squares on logarithms.
    """
    _look_at(weighings)
    solids = np.array([math.log(one.dry_to_water) for one in weighings])
    known = [math.log(one.absorption_share) for one in weighings if one.absorption_share]
    mean_absorption = sum(known) / len(known) if known else 0.0
    soaked = np.array(
        [math.log(one.absorption_share) if one.absorption_share else mean_absorption for one in weighings]
    )
    dwell = np.array([math.log(one.dwell_s) for one in weighings])
    columns = {"whole": np.ones(len(dwell))}
    if exponent is None:
        columns["dwell"] = dwell
    if np.ptp(solids) > LEAST_SPREAD:
        columns["solids"] = solids - solids.mean()
    if len(known) == len(dwell) and np.ptp(soaked) > LEAST_SPREAD:
        columns["absorption"] = soaked - mean_absorption
    fixed = 0.0 if exponent is None else exponent
    logs = np.log([one.dry_g_per_cm2 for one in weighings]) - fixed * dwell
    coefficients, covariance, scatter, freedom = _least_squares(np.column_stack(list(columns.values())), logs)
    found = dict(zip(columns, coefficients, strict=True))
    return PickUp(
        tuple(float(number) for number in coefficients),
        tuple(columns),
        float(found["dwell"]) if exponent is None else exponent,
        tuple(tuple(float(number) for number in row) for row in covariance),
        scatter,
        freedom,
        min(one.dwell_s for one in weighings),
        max(one.dwell_s for one in weighings),
        len(weighings),
        float(solids.mean()),
        mean_absorption,
        tuple(
            f"The weighings do not differ enough to tell what {words} does."
            for term, words in (("solids", "the slip's density"), ("absorption", "the bisque's absorption"))
            if term not in columns
        ),
    )


def _look_at(weighings: Sequence[Weighing]) -> None:
    for one in weighings:
        positive(one.dwell_s, "dwell", "s")
        positive(one.dry_g_per_cm2, "pick-up", "g/cm2")
        positive(one.dry_g_per_ml, "dry glaze in a ml of slip", "g")
        if one.absorption_share is not None:
            positive(share(one.absorption_share, "absorption", "the dry weight"), "absorption")


def _least_squares(design: Array, logs: Array) -> tuple[Array, Array, float, int]:
    count, fitted = design.shape
    freedom = count - fitted
    if freedom < 2:
        raise OutOfRange(
            f"{count} weighings",
            f"{fitted} figures are fitted, and {fitted + 2} weighings tell their range",
            "Weigh more",
        )
    if np.linalg.matrix_rank(design) < fitted:
        raise OutOfRange(
            "the weighings", "their dwell, density and absorption go together, so they cannot be told apart",
            "Change one at a time",
        )  # fmt: skip
    coefficients: Array = np.asarray(np.linalg.lstsq(design, logs, rcond=None)[0], dtype=np.float64)
    left = logs - design @ coefficients
    variance = float(left @ left) / freedom
    covariance: Array = np.asarray(variance * np.linalg.inv(design.T @ design), dtype=np.float64)
    return coefficients, covariance, math.sqrt(variance), int(freedom)


def _students_t(freedom: int) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.5 + CHANCE_INSIDE / 2))


@dataclass(frozen=True, slots=True)
class Thickness:
    """One layer of glaze: as slip, dried, and fired, mm."""

    wet_mm: float
    raw_mm: float
    fired_mm: float
    steps: tuple[Step, ...]


def thickness(
    dry_g_per_cm2: float | Estimate,
    *,
    dry_g_per_ml: float,
    loi_share: float = 0.10,
    raw_bulk_density: float = 1.3,
    fired_density: float = 2.4,
) -> Thickness:
    """How thick a layer is when wet, raw and fired, from the dry glaze on a square centimetre.

    Args:
        dry_g_per_ml: dry glaze in a ml of the slip it was laid from.
        loi_share: what the raw glaze loses in the fire, 0 up to 1. raw_bulk_density, fired_density: g/ml.
    Raises:
        OutOfRange: for figures that cannot be.
    Source: conservation of mass; bulk density of the raw layer from J. Sankey's pair, 0.41 mm raw to 0.20 mm fired.
    """
    laid = estimate(dry_g_per_cm2)
    for value in (laid.value, laid.low, laid.high):
        not_negative(value, "dry glaze on 1 cm2", "g")
    share(loi_share, "loss on ignition", "the raw weight")
    raw = positive(raw_bulk_density, "bulk density of the raw layer", "g/ml")
    fired = positive(fired_density, "fired density", "g/ml")

    def line(name: str, formula: str, inputs: dict[str, float], source: str) -> Step:
        per_gram = _thickness_of(1.0, inputs)
        ends = sorted((laid.low * per_gram, laid.high * per_gram))
        value = laid.value * per_gram
        return Step(name, formula, {"layer": laid.value, **inputs}, value, source, "mm", ends[0], ends[1])

    steps = (
        line(
            "layer as wet slip",
            "10 * layer / density",
            {"density": positive(dry_g_per_ml, "dry glaze in a ml")},
            "derived",
        ),
        line("layer when dry", "10 * layer / density", {"density": raw}, "sankey-thickness"),
        line("layer when fired", "10 * layer * (1 - loss) / density", {"density": fired, "loss": loi_share}, "derived"),
    )
    return Thickness(steps[0].value, steps[1].value, steps[2].value, steps)


def _thickness_of(layer: float, inputs: dict[str, float]) -> float:
    return CM_TO_MM * layer * (1.0 - inputs.get("loss", 0.0)) / inputs["density"]


@dataclass(frozen=True, slots=True)
class Reach:
    """How many more pieces the bucket will do: the likely number, and a low and a high that hold nine times in ten."""

    more: int
    low: int
    high: int
    per_piece: Estimate
    words: str
    steps: tuple[Step, ...]


def reach(
    stock_g: float,
    used_g: Sequence[float] | float,
    pieces: int | None = None,
    *,
    dead_g: float = 0.0,
    still_to_do: int | None = None,
) -> Reach:
    """How many more pieces a bucket will do, from what the first few took.

    Args:
        stock_g: what is left, g of slip (or ml: the same unit throughout).
        used_g: what each piece took; or what they took together, with ``pieces``.
        dead_g: what cannot be used at the bottom.
        still_to_do: pieces still to be glazed, for the words.
    Raises:
        OutOfRange: for fewer than two weighed pieces, or figures that cannot be.
    Source: prediction of a mean, Student's t; a spread of 15 % from piece to piece where they were weighed together.
    """
    not_negative(stock_g, "stock")
    not_negative(dead_g, "what cannot be used")
    mean, spread, freedom, count = _took(used_g, pieces)
    usable = max(0.0, stock_g - dead_g)
    best = math.floor(usable / mean)
    t = 1.645 if freedom is None else _students_t(freedom)
    low, high = (_lasts(usable, mean, spread, count, sign * t) for sign in (1, -1))
    # The mean of those to come is known less well than the mean of those weighed.
    off = t * spread / math.sqrt(count)
    each = Estimate(mean, max(0.0, mean - off), mean + off, "own records")
    steps = (
        Step(
            "glaze a piece took", "", {}, mean, "own records", "g", each.low, each.high, how=f"mean of {count} pieces"
        ),
        Step(
            "pieces the bucket still does",
            "floor(max(0, stock - dead) / each)",
            {"stock": stock_g, "dead": dead_g, "each": mean},
            float(best),
            "own records",
            "pieces",
            float(low),
            float(high),
        ),
    )
    return Reach(best, low, high, each, _reach_words(best, low, still_to_do), steps)


def _took(used_g: Sequence[float] | float, pieces: int | None) -> tuple[float, float, int | None, int]:
    if isinstance(used_g, Sequence):
        if len(used_g) < 2:
            raise OutOfRange(f"{len(used_g)} weighed pieces", "two at least tell a spread", "Weigh the bucket for five")
        for took in used_g:
            positive(took, "what a piece took", "g")
        return float(np.mean(used_g)), float(np.std(used_g, ddof=1)), len(used_g) - 1, len(used_g)
    if pieces is None or pieces < 1:
        raise OutOfRange("pieces", "a total needs to know for how many", "Say how many pieces took it")
    mean = positive(used_g, "what the pieces took", "g") / pieces
    return mean, USUAL_SPREAD_SHARE * mean, None, pieces


def _lasts(usable: float, mean: float, spread: float, count: int, t: float) -> int:
    """Most pieces n with n * mean + t * spread * sqrt(n + n^2 / count) within what is usable."""

    def takes(n: int) -> float:
        return n * mean + t * spread * math.sqrt(n + n * n / count)

    # Counted down from what no piece could beat, or up while it lasts: the take grows with n at either end.
    n = math.floor(usable / mean)
    while n > 0 and takes(n) > usable:
        n -= 1
    # Where the few weighed pieces differ wildly there is no upper end; this many times the likely number says so.
    most = MOST_TIMES_AS_FAR * (n + 1)
    while takes(n + 1) <= usable and n < most:
        n += 1
    return n


def _reach_words(best: int, low: int, still_to_do: int | None) -> str:
    told = f"This bucket does {best} more, {low} at least nine times in ten."
    if still_to_do is None:
        return told
    if low >= still_to_do:
        return f"{told} {still_to_do} are still to do: it should last."
    short = still_to_do - best
    if short > 0:
        return f"{told} {still_to_do} are still to do: it falls {short} short. Mix more now, and blend the two."
    return (
        f"{told} {still_to_do} are still to do: it may just last. Mix more before it is half empty, and blend the two."
    )
