"""Glaze slip: dry content, water, thinning, the bucket, and how much a job needs. Density of water taken as 1 g/ml."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive, share
from wareboard.glaze.given import estimate
from wareboard.working import Estimate, Step

MM2_PER_CM2 = 100.0
# Lighter than any mineral in a glaze, heavier than any: outside these a density is a slip of the pen.
LIGHTEST_POWDER, HEAVIEST_POWDER = 1.5, 7.0


def _density(dry_density: float) -> float:
    if not (math.isfinite(dry_density) and LIGHTEST_POWDER <= dry_density <= HEAVIEST_POWDER):
        raise OutOfRange(
            f"density of the dry powder is {dry_density:g} g/ml",
            why=f"glaze powders lie between {LIGHTEST_POWDER:g} and {HEAVIEST_POWDER:g}",
            mend="Take 2.5 to 2.65 where it was not measured",
        )
    return dry_density


def _gravity(value: float, dry_density: float, name: str = "specific gravity") -> float:
    """A slip is heavier than water and lighter than its own powder."""
    if not (math.isfinite(value) and 1.0 <= value < dry_density):
        raise OutOfRange(
            f"{name} is {value:g}",
            why=f"a slip lies between water, 1, and its dry powder, {dry_density:g}",
            mend="Weigh a known volume: grams over millilitres, such as 1.45",
        )
    return value


def dry_content_g(volume_ml: float, specific_gravity: float, dry_density: float) -> float:
    """Grams of dry glaze in a volume of slip.

    Args:
        volume_ml: volume of slip, ml.
        specific_gravity: grams of slip per ml, from 1 (water) up to ``dry_density``.
        dry_density: density of the dry powder, g/ml, 1.5 to 7; 2.5 to 2.65 in most glazes.
    Raises:
        OutOfRange: for a volume below 0, or densities outside those ranges.
    Source: Brongniart's formula, dry = (slip - water) * d / (d - 1).
    """
    not_negative(volume_ml, "volume of slip", "ml")
    _gravity(specific_gravity, _density(dry_density))
    return volume_ml * (specific_gravity - 1.0) * dry_density / (dry_density - 1.0)


def water_for_ml(dry_g: float, specific_gravity: float, dry_density: float) -> float:
    """Water to add to a weight of dry glaze for a slip of that specific gravity, ml.

    Raises:
        OutOfRange: for a weight below 0, densities outside the range of `dry_content_g`, or a specific gravity of 1 exactly.
    Source: Brongniart's formula turned round: per ml of slip, water = (d - slip) / (d - 1).
    """
    not_negative(dry_g, "dry weight", "g")
    _gravity(specific_gravity, _density(dry_density))
    positive(specific_gravity - 1.0, "specific gravity less 1")
    return dry_g * (dry_density - specific_gravity) / (dry_density * (specific_gravity - 1.0))


def slip_ml(dry_g: float, specific_gravity: float, dry_density: float) -> float:
    """Volume of slip that a dry weight makes at that specific gravity, ml. Raises as `water_for_ml` does."""
    return water_for_ml(dry_g, specific_gravity, dry_density) + dry_g / dry_density


def water_to_thin_ml(volume_ml: float, sg_now: float, sg_want: float) -> float:
    """Water to stir into a volume of slip to bring its specific gravity down, ml.

    Raises:
        OutOfRange: if ``sg_want`` is above ``sg_now``: that wants dry glaze added, or water stood off and poured away.
    Source: conservation of mass and volume.
    """
    not_negative(volume_ml, "volume of slip", "ml")
    _gravity(sg_now, HEAVIEST_POWDER, "specific gravity now")
    _gravity(sg_want, HEAVIEST_POWDER, "specific gravity wanted")
    positive(sg_want - 1.0, "specific gravity wanted, less 1")
    if sg_want > sg_now:
        raise OutOfRange(
            f"specific gravity {sg_want:g} from {sg_now:g}",
            why="water only thins",
            mend="Let the bucket settle and pour off clear water, or stir in more of the dry batch",
        )
    return volume_ml * (sg_now - sg_want) / (sg_want - 1.0)


def dry_to_thicken_g(volume_ml: float, sg_now: float, sg_want: float, dry_density: float) -> float:
    """Dry batch to stir into a volume of slip to bring its specific gravity up, g.

    Raises:
        OutOfRange: if ``sg_want`` is below ``sg_now``, or densities are outside the range of `dry_content_g`.
    Source: conservation of mass and volume.
    """
    not_negative(volume_ml, "volume of slip", "ml")
    _gravity(sg_now, _density(dry_density), "specific gravity now")
    _gravity(sg_want, dry_density, "specific gravity wanted")
    if sg_want < sg_now:
        raise OutOfRange(
            f"specific gravity {sg_want:g} from {sg_now:g}", "dry glaze only thickens", "Add water instead"
        )
    return volume_ml * (sg_want - sg_now) * dry_density / (dry_density - sg_want)


def specific_gravity(mass_g: float, volume_ml: float) -> float:
    """Specific gravity from the net weight of a known volume. It measures solids, not how the slip flows.

    Raises:
        OutOfRange: if the weight or the volume is not a finite number above 0.
    """
    return positive(mass_g, "net weight", "g") / positive(volume_ml, "volume", "ml")


def specific_gravity_of(dry_g: float, water_ml: float, dry_density: float) -> float:
    """Specific gravity that a dry batch and its water must come to: a measured one 0.02 off says that something is amiss.

    Raises:
        OutOfRange: for weights below 0, nothing at all, or a density outside the range of `dry_content_g`.
    Source: conservation of mass and volume.
    """
    not_negative(dry_g, "dry weight", "g")
    not_negative(water_ml, "water", "ml")
    volume_ml = positive(water_ml + dry_g / _density(dry_density), "slip", "ml")
    return (dry_g + water_ml) / volume_ml


def addition_g(volume_ml: float, specific_gravity: float, dry_density: float, addition_share: float) -> float:
    """What to weigh for an addition of ``addition_share`` of the dry glaze in a bucket already wet, g.

    The share is of the dry glaze in the bucket, never of the slip.

    Raises:
        OutOfRange: if the addition is below 0, or as `dry_content_g` for the rest.
    """
    not_negative(addition_share, "addition")
    return addition_share * dry_content_g(volume_ml, specific_gravity, dry_density)


@dataclass(frozen=True, slots=True)
class Bucket:
    """What stands in a bucket of slip: its volume, weight, dry glaze and water."""

    volume_ml: float
    slip_g: float
    dry_g: float
    water_ml: float
    specific_gravity: float
    steps: tuple[Step, ...]


def bucket(dry_g: float, specific_gravity: float, dry_density: float) -> Bucket:
    """The bucket that a dry batch makes at a specific gravity, with the working. Raises as `water_for_ml` does."""
    water_ml = water_for_ml(dry_g, specific_gravity, dry_density)
    given = {"dry": dry_g, "slip_density": specific_gravity, "dry_density": dry_density}
    water = Step(
        "water for the batch",
        "dry * (dry_density - slip_density) / (dry_density * (slip_density - 1))",
        given,
        water_ml,
        "brongniart",
        "ml",
    )
    volume = Step(
        "slip in the bucket",
        "water + dry / dry_density",
        {"water": water_ml, "dry": dry_g, "dry_density": dry_density},
        water_ml + dry_g / dry_density,
        "brongniart",
        "ml",
    )
    return Bucket(volume.value, dry_g + water_ml, dry_g, water_ml, specific_gravity, (water, volume))


def bucket_now(volume_ml: float, specific_gravity: float, dry_density: float) -> Bucket:
    """What stands in a bucket whose volume and specific gravity were measured. Raises as `dry_content_g` does."""
    dry = Step(
        "dry glaze in the bucket",
        "volume * (slip_density - 1) * dry_density / (dry_density - 1)",
        {"volume": volume_ml, "slip_density": specific_gravity, "dry_density": dry_density},
        dry_content_g(volume_ml, specific_gravity, dry_density),
        "brongniart",
        "g",
    )
    slip_g = volume_ml * specific_gravity
    return Bucket(volume_ml, slip_g, dry.value, slip_g - dry.value, specific_gravity, (dry,))


@dataclass(frozen=True, slots=True)
class GlazeNeed:
    """How much of one glaze a job needs: dry weight and slip to mix, with losses, dead slip and reserve in.

    ``per_piece_g`` is dry glaze left on one piece, the mean where several forms share the glaze. ``dry`` and ``slip`` carry
    the range.
    """

    dry_g: float
    slip_ml: float
    per_piece_g: float
    on_ware_g: float
    water_ml: float
    dry: Estimate
    slip: Estimate
    notes: tuple[str, ...]
    steps: tuple[Step, ...]


def _with_ends(figures: Mapping[str, Estimate]) -> dict[str, NDArray[np.float64]]:
    """Each figure as a row: all at their best first, then each one alone at its low and at its high end."""
    cases = {name: np.full(1 + 2 * len(figures), figure.value) for name, figure in figures.items()}
    for k, (name, figure) in enumerate(figures.items()):
        cases[name][1 + 2 * k : 3 + 2 * k] = figure.low, figure.high
    return cases


def _spread(row: NDArray[np.float64]) -> Estimate:
    """The value and range of a result worked out over `_with_ends`: moves below and above are added as squares.

    Source: JCGM 100:2008, 5.1.2, first order, inputs independent, with the two sides kept apart.
    """
    moves = (row[1:] - row[0]).reshape(-1, 2)
    below = math.sqrt(float(np.sum(np.minimum(0.0, moves.min(axis=1)) ** 2)))
    above = math.sqrt(float(np.sum(np.maximum(0.0, moves.max(axis=1)) ** 2)))
    return Estimate(float(row[0]), float(row[0]) - below, float(row[0]) + above, "derived")


def need(
    area_mm2_per_piece: float | Sequence[float],
    pieces: int | Sequence[int],
    dry_g_per_cm2: float | Estimate,
    sg: float | Estimate,
    dry_density: float | Estimate,
    dead_ml: float | Estimate = 0.0,
    loss_share: float | Estimate = 0.0,
    reserve_ml: float | Estimate = 0.0,
    coats: int = 1,
    *,
    coats_for_full_layer: float | Estimate = 1.0,
    reserve_share: float | Estimate = 0.0,
) -> GlazeNeed:
    """How much dry glaze and slip to mix, before the first piece, so that the job does not run out.

    Slip = (dry on the ware / dry in a ml of slip / (1 - loss) + dead) * (1 + reserve share) + reserve.

    Args:
        area_mm2_per_piece: glazed area of one piece, fired mm2; or one figure for each form that takes this glaze.
        pieces: how many; or one figure for each form.
        dry_g_per_cm2: dry glaze that a full layer lays on 1 cm2. A range goes into the result.
        sg: specific gravity of the slip. dry_density: of the powder, g/ml.
        dead_ml: slip that cannot be used at the bottom. loss_share: share of the slip drawn that is lost, 0 up to 1.
        reserve_ml: kept for touching up and later orders. reserve_share: mixed over the rest, a share of it.
        coats: coats laid. coats_for_full_layer: how many coats make a full layer: 1 for dipping and pouring, 2 to 3 brushed.
    Raises:
        OutOfRange: for figures that are negative or not finite, a loss of all of it, or densities out of range.
    Source: Brongniart's formula; the rest conservation of mass. Range: JCGM 100:2008, 5.1.2, inputs taken as independent.
    """
    areas, counts = _forms(area_mm2_per_piece, pieces)
    layer = estimate(dry_g_per_cm2)
    gravity, density = estimate(sg), estimate(dry_density)
    figures = {"layer": layer, "dead": estimate(dead_ml), "loss": estimate(loss_share), "reserve": estimate(reserve_ml)}
    figures |= {"reserve_share": estimate(reserve_share), "full": estimate(coats_for_full_layer)}
    _look_at(figures, gravity, density, coats)
    total_cm2 = math.fsum(area * count for area, count in zip(areas, counts, strict=True)) / MM2_PER_CM2
    sizes = {"area": estimate(total_cm2), "coats": estimate(float(coats)), "count": estimate(float(sum(counts)))}
    slip_given = {"slip_density": gravity, "dry_density": density}
    return _added_up(sizes, figures, slip_given, _need_notes(coats, figures["full"].value))


def _added_up(
    sizes: Mapping[str, Estimate],
    figures: Mapping[str, Estimate],
    densities: Mapping[str, Estimate],
    notes: tuple[str, ...],
) -> GlazeNeed:
    whole = {**sizes, **figures, **densities}
    case = _with_ends(whole)
    ware = case["area"] * case["layer"] * case["coats"] / case["full"]
    in_a_ml = (case["slip_density"] - 1) * case["dry_density"] / (case["dry_density"] - 1)
    drawn = ware / in_a_ml / (1 - case["loss"]) + case["dead"]
    slip = drawn * (1 + case["reserve_share"]) + case["reserve"]
    water = slip * (case["dry_density"] - case["slip_density"]) / (case["dry_density"] - 1)
    found = {"on_ware": ware, "each": ware / case["count"], "in_a_ml": in_a_ml, "slip": slip, "dry": slip * in_a_ml}
    ranges = {name: _spread(row) for name, row in (found | {"water": water}).items()}
    steps = _need_steps(
        {name: figure.value for name, figure in (whole | ranges).items()}, ranges, figures["layer"].source
    )
    return GlazeNeed(
        ranges["dry"].value,
        ranges["slip"].value,
        ranges["each"].value,
        ranges["on_ware"].value,
        ranges["water"].value,
        ranges["dry"],
        ranges["slip"],
        notes,
        steps,
    )


def _need_steps(best: Mapping[str, float], ranges: Mapping[str, Estimate], laid: str) -> tuple[Step, ...]:
    def line(name: str, key: str, formula: str, shown: str, unit: str, source: str = "brongniart") -> Step:
        found = ranges[key]
        given = MappingProxyType({part: best[part] for part in shown.split()})
        return Step(name, formula, given, found.value, source, unit, found.low, found.high)

    drawn = "(on_ware / in_a_ml / (1 - loss) + dead) * (1 + reserve_share) + reserve"
    per_ml = "(slip_density - 1) * dry_density / (dry_density - 1)"
    watered = "slip * (dry_density - slip_density) / (dry_density - 1)"
    return (
        line("dry glaze on all the ware", "on_ware", "area * layer * coats / full", "area layer coats full", "g", laid),
        line("dry glaze on one piece", "each", "on_ware / count", "on_ware count", "g", laid),
        line("dry glaze in a millilitre of slip", "in_a_ml", per_ml, "slip_density dry_density", "g/ml"),
        line("slip to mix", "slip", drawn, "on_ware in_a_ml loss dead reserve_share reserve", "ml"),
        line("dry glaze to mix", "dry", "slip * in_a_ml", "slip in_a_ml", "g"),
        line("water for it", "water", watered, "slip dry_density slip_density", "ml"),
    )


def _forms(areas: float | Sequence[float], pieces: int | Sequence[int]) -> tuple[tuple[float, ...], tuple[int, ...]]:
    area_list = tuple(areas) if isinstance(areas, Sequence) else (float(areas),)
    count_list = tuple(pieces) if isinstance(pieces, Sequence) else (pieces,)
    if len(area_list) != len(count_list):
        raise OutOfRange(
            f"{len(area_list)} areas and {len(count_list)} counts",
            "each form has one of each",
            "Give as many counts as areas",
        )
    for area, count in zip(area_list, count_list, strict=True):
        not_negative(area, "glazed area of one piece", "mm2")
        not_negative(count, "pieces")
    positive(sum(count_list), "pieces in all")
    return area_list, count_list


def _look_at(figures: Mapping[str, Estimate], gravity: Estimate, density: Estimate, coats: int) -> None:
    names = {
        "layer": "dry glaze on 1 cm2",
        "dead": "slip that cannot be used",
        "reserve": "reserve of slip",
        "reserve_share": "reserve share",
    }
    for key, name in names.items():
        for value in (figures[key].value, figures[key].low, figures[key].high):
            not_negative(value, name)
    for value in (figures["loss"].value, figures["loss"].low, figures["loss"].high):
        share(value, "loss", "the slip drawn")
    for value in (figures["full"].value, figures["full"].low, figures["full"].high):
        positive(value, "coats for a full layer")
    positive(coats, "coats")
    ends: tuple[Callable[[Estimate], float], ...] = (lambda e: e.value, lambda e: e.low, lambda e: e.high)
    for end in ends:
        positive(_gravity(end(gravity), _density(end(density))) - 1.0, "specific gravity less 1")


def _need_notes(coats: int, full: float) -> tuple[str, ...]:
    notes = ["Mix all of it before the first piece: a second batch seldom matches."]
    if coats < full:
        notes.append(f"{coats:g} of the {full:g} coats that make a full layer: the ground may show through.")
    return tuple(notes)
