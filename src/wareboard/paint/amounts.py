"""How much of each colour: area on the wall, dry grams and millilitres of slip for a piece and for the job, and minutes.

The usual figures are a start and are wide; the workshop's own come from weighing the jar before and after the first five
pieces (`laid_on_by_jar`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.paint.coats import Coat
from wareboard.paint.colour import Floats
from wareboard.paint.tiles import Tile
from wareboard.reference import default
from wareboard.working import Estimate, Step

BRONGNIART = "clayart-brongniart"
FULL_LAYER_COATS = 3
# From memory: a few small zones take this share of the time that a coat over the whole does, at the least.
LEAST_TIME_SHARE = 0.3


@dataclass(frozen=True, slots=True)
class CoatAmount:
    """One coat on one piece: area, dry glaze, slip as it is in the jar, and the brushing."""

    coat: Coat
    area_mm2: float
    dry_g: Estimate
    slip_ml: Estimate
    minutes: Estimate


@dataclass(frozen=True, slots=True)
class JobAmount:
    """One glaze for the whole job, what is lost, what stays in jar and brush, and a reserve included."""

    glaze: str
    dry_g: Estimate
    slip_ml: Estimate


@dataclass(frozen=True, slots=True, eq=False)
class Amounts:
    """``areas_mm2`` (zones,) on the wall of one piece; a `CoatAmount` for each coat, a `JobAmount` for each glaze."""

    areas_mm2: Floats
    coats: tuple[CoatAmount, ...]
    job: tuple[JobAmount, ...]
    minutes_piece: Estimate
    minutes_job: Estimate
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Brushed:
    """What brushing lays on, as the workshop has it: a full layer of three coats, the slip, time for a coat on one piece."""

    full_layer_g_per_cm2: Estimate
    specific_gravity: Estimate
    dry_density: Estimate
    minutes_a_coat: Estimate
    lost_share: Estimate
    left_ml: Estimate
    reserve_share: float

    @property
    def dry_g_per_ml(self) -> float:
        """Dry glaze in a millilitre of this slip, g. Source: as `dry_g_per_ml`."""
        return dry_g_per_ml(self.specific_gravity.value, self.dry_density.value)


def usual_brushed() -> Brushed:
    """The usual figures, each with its range and source."""
    return Brushed(
        default("glaze.dry_g_per_cm2").estimate,
        default("glaze.brush_specific_gravity").estimate,
        default("glaze.dry_density_g_per_ml").estimate,
        default("minutes.brush_coat").estimate,
        default("glaze.loss_share").estimate,
        default("glaze.brush_dead_ml").estimate,
        default("glaze.reserve_share").value,
    )


def dry_g_per_ml(specific_gravity: float, dry_density: float) -> float:
    """Dry glaze in a millilitre of slip, g.

    Raises:
        OutOfRange: if the specific gravity does not lie between 1, water, and that of the dry powder.
    Source: Brongniart's formula (clayart-brongniart).
    """
    if not 1.0 < specific_gravity < dry_density:
        raise OutOfRange(
            f"specific gravity is {specific_gravity:g}",
            f"a slip lies between water, 1, and the dry powder, {dry_density:g}",
            "Weigh 100 ml of slip and divide by 100",
        )
    return (specific_gravity - 1.0) * dry_density / (dry_density - 1.0)


def laid_on_by_jar(
    before_g: float,
    after_g: float,
    pieces: int,
    area_mm2: float,
    times: int,
    specific_gravity: float,
    dry_density: float,
) -> float:
    """Dry glaze of a full layer of three coats, g/cm2, from the jar weighed before and after some pieces.

    Raises:
        OutOfRange: if the jar is not lighter afterwards, or a figure cannot be.
    """
    if not after_g < before_g:
        raise OutOfRange(
            f"{after_g:g} g after {before_g:g} g", "a jar painted from gets lighter", "Weigh it both times"
        )
    cm2 = positive(area_mm2, "area of the coat on a piece", "mm2") / 100.0
    coats = positive(pieces, "pieces painted") * positive(times, "coats brushed")
    slip_ml = (before_g - after_g) / specific_gravity
    return slip_ml * dry_g_per_ml(specific_gravity, dry_density) / (cm2 * coats) * FULL_LAYER_COATS


def amounts(
    areas_mm2: ArrayLike, tiles: Sequence[Tile], coats: Sequence[Coat], pieces: int, brushed: Brushed | None = None
) -> Amounts:
    """How much glaze and how many minutes for one piece and for the job.

    Args:
        areas_mm2: (zones,), area of each zone on the wall of one piece, from `laying`.
        tiles: the tile of each zone.
        coats: those of the map of zones.
        pieces: how many are painted.
        brushed: the workshop's figures, or `usual_brushed`.
    Raises:
        OutOfRange: for areas that are not one to a tile, or no pieces.
    Source: glaze.dry_g_per_cm2 (a fired layer of about 0.2 mm, three brushed coats: common practice), Brongniart's formula.
        Ranges: the figures' own, their logarithms added as independent ones.
    """
    given = np.asarray(areas_mm2, dtype=np.float64)
    if given.shape != (len(tiles),) or not np.isfinite(given).all() or (given < 0).any():
        raise OutOfRange(
            f"{given.size} areas for {len(tiles)} zones", "each zone has one, 0 or more", "Measure them again"
        )
    if pieces != int(pieces) or pieces < 1:
        raise OutOfRange(f"pieces are {pieces:g}", "they are whole, from 1 up", "Count them")
    figures = brushed or usual_brushed()
    dry_g_per_ml(figures.specific_gravity.value, figures.dry_density.value)
    per_coat, steps = [], []
    for coat in coats:
        area = float(sum(each for each, tile in zip(given, tiles, strict=True) if tile.name in coat.tiles))
        share = area / max(float(given.sum()), 1e-9)
        found, working = _coat_amount(coat, area, share, figures)
        per_coat.append(found)
        steps += working
    job, job_steps = _job(per_coat, int(pieces), figures)
    piece_min = _summed([each.minutes for each in per_coat], figures.minutes_a_coat.source)
    job_min = _times(piece_min, float(pieces))
    minutes = Step(
        "painting, whole job", "minutes_a_piece * pieces", {"minutes_a_piece": piece_min.value, "pieces": float(pieces)},
        job_min.value, piece_min.source, "min", job_min.low, job_min.high,
    )  # fmt: skip
    return Amounts(given, tuple(per_coat), job, piece_min, job_min, (*steps, *job_steps, minutes))


def _coat_amount(coat: Coat, area_mm2: float, share: float, figures: Brushed) -> tuple[CoatAmount, list[Step]]:
    layer = figures.full_layer_g_per_cm2
    each_g = area_mm2 / 100.0 / FULL_LAYER_COATS * coat.times
    dry = _times(layer, each_g)
    wet = _spread(dry.value / figures.dry_g_per_ml, [layer, _solids(figures)], layer.source)
    minutes = _times(figures.minutes_a_coat, coat.times * max(LEAST_TIME_SHARE, share))
    steps = [
        Step(
            f"{coat.name}: dry glaze, one piece",
            "area_mm2 / 100 * full_layer_g_per_cm2 / coats_of_a_full_layer * coats",
            {
                "area_mm2": area_mm2, "full_layer_g_per_cm2": layer.value,
                "coats_of_a_full_layer": float(FULL_LAYER_COATS), "coats": float(coat.times),
            },
            dry.value, layer.source, "g", dry.low, dry.high,
        ),
        Step(
            f"{coat.name}: slip, one piece",
            "dry_g / ((specific_gravity - 1) * dry_density / (dry_density - 1))",
            {
                "dry_g": dry.value, "specific_gravity": figures.specific_gravity.value,
                "dry_density": figures.dry_density.value,
            },
            wet.value, BRONGNIART, "ml", wet.low, wet.high,
        ),
        Step(
            f"{coat.name}: painting, one piece", "minutes_a_coat * coats * max(least_share, share_of_the_artwork)",
            {
                "minutes_a_coat": figures.minutes_a_coat.value, "coats": float(coat.times),
                "least_share": LEAST_TIME_SHARE, "share_of_the_artwork": share,
            },
            minutes.value, f"{minutes.source}; least share from memory", "min", minutes.low, minutes.high,
        ),
    ]  # fmt: skip
    return CoatAmount(coat, area_mm2, dry, wet, minutes), steps


def _job(per_coat: Sequence[CoatAmount], pieces: int, figures: Brushed) -> tuple[tuple[JobAmount, ...], list[Step]]:
    found, steps = [], []
    kept = 1.0 - figures.lost_share.value
    lost = Estimate(1.0 / kept, 1.0 / (1.0 - figures.lost_share.low), 1.0 / (1.0 - figures.lost_share.high), "")
    for glaze in dict.fromkeys(each.coat.glaze for each in per_coat):
        mine = [each for each in per_coat if each.coat.glaze == glaze]
        piece_ml = sum(each.slip_ml.value for each in mine)
        inputs = {
            "pieces": float(pieces), "slip_a_piece_ml": piece_ml, "lost_share": figures.lost_share.value,
            "left_ml": figures.left_ml.value, "reserve_share": figures.reserve_share,
        }  # fmt: skip
        value = (pieces * piece_ml / kept + figures.left_ml.value) * (1.0 + figures.reserve_share)
        wet = _spread(value, [figures.full_layer_g_per_cm2, _solids(figures), lost], mine[0].slip_ml.source)
        dry = _spread(value * figures.dry_g_per_ml, [figures.full_layer_g_per_cm2, lost], mine[0].dry_g.source)
        found.append(JobAmount(glaze, dry, wet))
        formula = "(pieces * slip_a_piece_ml / (1 - lost_share) + left_ml) * (1 + reserve_share)"
        steps.append(
            Step(f"{glaze}: slip to mix, whole job", formula, inputs, value, wet.source, "ml", wet.low, wet.high)
        )
        given = {"slip_ml": value, "dry_g_per_ml": figures.dry_g_per_ml}
        steps.append(
            Step(
                f"{glaze}: dry glaze, whole job",
                "slip_ml * dry_g_per_ml",
                given,
                dry.value,
                BRONGNIART,
                "g",
                dry.low,
                dry.high,
            )
        )
    return tuple(found), steps


def _solids(figures: Brushed) -> Estimate:
    """Slip for a gram of dry glaze, with its range: a thicker slip needs less of it."""
    density = figures.dry_density.value
    value, thick, thin = (
        1.0 / dry_g_per_ml(each, density)
        for each in (figures.specific_gravity.value, figures.specific_gravity.high, figures.specific_gravity.low)
    )
    return Estimate(value, thick, thin, figures.specific_gravity.source)


def _times(figure: Estimate, by: float) -> Estimate:
    return Estimate(figure.value * by, figure.low * by, figure.high * by, figure.source)


def _spread(value: float, figures: Sequence[Estimate], source: str) -> Estimate:
    """``value``, a product of ``figures`` with others, with their spreads taken together."""
    down = math.sqrt(sum(math.log(each.value / each.low) ** 2 for each in figures))
    up = math.sqrt(sum(math.log(each.high / each.value) ** 2 for each in figures))
    return Estimate(value, value * math.exp(-down), value * math.exp(up), source)


def _summed(estimates: Sequence[Estimate], source: str) -> Estimate:
    """A sum of estimates that are out together, being one hand's."""
    return Estimate(
        sum(each.value for each in estimates),
        sum(each.low for each in estimates),
        sum(each.high for each in estimates),
        source,
    )
