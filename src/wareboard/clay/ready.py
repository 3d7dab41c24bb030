"""When a drying piece is leather-hard and when it is bone dry, what it then weighs, and the working behind each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.clay.damp_piece import Piece, Spell
from wareboard.clay.drying import HOURS_IN_A_DAY, RoughDrying
from wareboard.clay.drying_belief import Belief, figures_of, heat_transfer, shares_counted, usual_belief
from wareboard.clay.drying_course import DRY_WITHIN, Curves, best_and_spread, reckoned, without_a_gap
from wareboard.clay.drying_figures import window
from wareboard.clay.evaporation import evaporation
from wareboard.working import Estimate, Step

Floats = NDArray[np.float64]
LOW_AND_HIGH = (0.05, 0.95)
CURVE_POINTS = 61
UNEVEN = 0.03  # parts further apart than this, fraction of the dry weight, are told of
STEAM = (
    "Water left in ware turns to steam in the kiln and bursts it: weigh before bisque, and when in doubt hold the kiln "
    "below the boil (about 90 °C) until a cold mirror or pane at the spy hole stays clear."
)
RULE = (
    "max(0, start - max(target, critical)) / rate + (critical - end) / rate"
    " * log((min(start, critical) - end) / (min(target, critical) - end))"
)


@dataclass(frozen=True, slots=True)
class PartTimes:
    """Hours from the start at which one part comes to leather-hard, leaves it, and is bone dry."""

    name: str
    leather_hard_from_h: Estimate
    leather_hard_until_h: Estimate
    bone_dry_h: Estimate


@dataclass(frozen=True, slots=True)
class Drying:
    """The drying of one piece from its start, with ranges that hold nine times in ten.

    Attributes:
        soft_from_h: hours until it is soft leather-hard, when handles begin to go on.
        leather_hard_from_h, leather_hard_until_h: the window for turning, carving and stamping.
        bone_dry_h: hours until its last part is bone dry.
        leather_hard_g, bone_dry_g: weights to look for, as leather-hard begins and when dry.
        parts: the same by part.
        hours: shape (n,); water, water_low, water_high: of the whole piece, fraction of the dry weight, shape (n,).
        steps: the working. words: in plain words, with the caution.
    """

    soft_from_h: Estimate
    leather_hard_from_h: Estimate
    leather_hard_until_h: Estimate
    bone_dry_h: Estimate
    leather_hard_g: Estimate
    bone_dry_g: Estimate
    parts: tuple[PartTimes, ...]
    hours: Floats
    water: Floats
    water_low: Floats
    water_high: Floats
    steps: tuple[Step, ...]
    words: str

    def as_rough(self) -> RoughDrying:
        """The same in the form that a calendar takes in place of the rough rule."""
        dry = self.bone_dry_h
        days = Estimate(dry.value / HOURS_IN_A_DAY, dry.low / HOURS_IN_A_DAY, dry.high / HOURS_IN_A_DAY, dry.source)
        return RoughDrying(self.leather_hard_from_h, days, self.steps, self.words, rough=False)


def spread(best: Floats, points: Floats, source: str) -> Estimate:
    """The best value with the range that holds nine in ten of the points."""
    value = float(np.asarray(best).ravel()[0])
    low, high = (float(np.quantile(points, share, method="linear")) for share in LOW_AND_HIGH)
    return Estimate(value, min(low, value), max(high, value), source)


def drying(piece: Piece, spells: Sequence[Spell], belief: Belief | None = None) -> Drying:
    """When a piece is leather-hard and bone dry, from its faces, its weight, the air and the cover.

    Args:
        piece: as `straight_piece`, `handle_piece` or `weighed_piece` give it, or parts of your own.
        spells: what it is left in, one after another; the last goes on for ever.
        belief: the usual one when left out; what weighings taught (`learned`) where there are some.
    Raises:
        OutOfRange: for figures outside what the formulas cover.
    Source: lewis-relation, drying-stages, crank-1975; windows and usual figures from ``clay/``, common practice.
    """
    spells = without_a_gap(spells)
    belief = belief or usual_belief(piece, spells[0])
    best, all_points = best_and_spread(piece, spells, belief)
    leather_hard, soft = window("leather-hard"), window("soft leather-hard")
    mean = {
        target: spread(best.mean_until(target), all_points.mean_until(target), belief.source)
        for target in (soft[1], leather_hard[1], leather_hard[0])
    }
    dry_h = spread(best.bone_dry(), all_points.bone_dry(), belief.source)
    weights = _weights(best, all_points, leather_hard[1], belief.source)
    parts = _by_part(piece, best, all_points, leather_hard, belief.source)
    hours = np.linspace(0.0, dry_h.value, CURVE_POINTS)
    water = np.stack([best.mean_water(float(hour)) for hour in hours])[:, 0]
    cloud = np.stack([all_points.mean_water(float(hour)) for hour in hours])
    low, high = np.quantile(cloud, LOW_AND_HIGH, axis=1)
    from_h, until_h = mean[leather_hard[1]], mean[leather_hard[0]]
    return Drying(
        mean[soft[1]],
        from_h,
        until_h,
        dry_h,
        *weights,
        parts,
        hours,
        water,
        np.minimum(low, water),
        np.maximum(high, water),
        _steps(piece, spells, belief, best, parts, (from_h, until_h, dry_h, *weights)),
        _words(best, piece, from_h),
    )


def _weights(best: Curves, points: Curves, target: float, source: str) -> tuple[Estimate, Estimate]:
    def at(of: Curves, water: float | Floats) -> Floats:
        return np.asarray((1.0 + np.asarray(water)) * of.dry_g.sum(axis=-1))

    return (
        spread(at(best, target), at(points, target), source),
        spread(at(best, best.end[:, 0]), at(points, points.end[:, 0]), source),
    )


def _by_part(
    piece: Piece, best: Curves, points: Curves, leather_hard: tuple[float, float], source: str
) -> tuple[PartTimes, ...]:
    columns = [
        (best.until(target), points.until(other))
        for target, other in (
            (leather_hard[1], leather_hard[1]),
            (leather_hard[0], leather_hard[0]),
            (best.end + DRY_WITHIN, points.end + DRY_WITHIN),
        )
    ]
    return tuple(
        PartTimes(part.name, *(spread(mine[:, place], theirs[:, place], source) for mine, theirs in columns))
        for place, part in enumerate(piece.parts)
    )


def _words(best: Curves, piece: Piece, from_h: Estimate) -> str:
    water = best.water(from_h.value)[0]
    said = ["Leather-hard and dry come by the clock only roughly; the weights are the surer sign."]
    if len(piece.parts) > 1 and float(np.ptp(water)) > UNEVEN:
        quick, slow = piece.parts[int(water.argmin())].name, piece.parts[int(water.argmax())].name
        said.append(
            f"The {quick} runs ahead of the {slow}: cover the {quick}, or turn the piece so that the {slow} is open."
        )
    return " ".join([*said, STEAM])


def _steps(
    piece: Piece,
    spells: Sequence[Spell],
    belief: Belief,
    best: Curves,
    parts: Sequence[PartTimes],
    whole: tuple[Estimate, Estimate, Estimate, Estimate, Estimate],
) -> tuple[Step, ...]:
    figures = figures_of(belief.best)
    steps: list[Step] = []
    for number, spell in enumerate(spells):
        steps += _spell_steps(piece, spell, belief, best, number, len(spells))
    for place, part in enumerate(parts):
        steps += _part_steps(best, spells, place, part, belief.source)
    from_h, until_h, dry_h, leather_hard_g, bone_dry_g = whole
    leather_hard = window("leather-hard")
    how = "the hour at which all parts together hold that much water, found by halving"
    for name, target, found, key in (
        ("leather-hard from", leather_hard[1], from_h, "leather_hard_from"),
        ("leather-hard until", leather_hard[0], until_h, "leather_hard_until"),
    ):
        given = {"water": target}
        steps.append(Step(name, "", given, found.value, found.source, "h", found.low, found.high, how, key))
    by_name = {f"{part.name}_h": part.bone_dry_h.value for part in parts}
    formula = next(iter(by_name)) if len(by_name) == 1 else f"max({', '.join(by_name)})"
    steps.append(
        Step("bone dry after", formula, by_name, dry_h.value, dry_h.source, "h", dry_h.low, dry_h.high, key="bone_dry")
    )
    dry_g = piece.dry_g * float(figures.dry_factor)
    for name, water, found, key in (
        ("weight as leather-hard begins", leather_hard[1], leather_hard_g, "leather_hard_g"),
        ("weight when bone dry", float(figures.end), bone_dry_g, "bone_dry_g"),
    ):
        given = {"dry_g": dry_g, "water": water}
        steps.append(
            Step(name, "dry_g * (1 + water)", given, found.value, found.source, "g", found.low, found.high, key=key)
        )
    return tuple(steps)


def _spell_steps(piece: Piece, spell: Spell, belief: Belief, best: Curves, number: int, count: int) -> list[Step]:
    found, figures = reckoned(piece, spell), figures_of(belief.best)
    heat, (inside, under) = heat_transfer(spell), shares_counted(piece, spell)
    which = f" (spell {number + 1})" if count > 1 else ""
    ends = [evaporation(spell.air, h).kg_per_m2_h for h in (heat.low, heat.high)]
    air = {"air_c": spell.air.temp_c, "rh": spell.air.rh, "h_w_per_m2_k": heat.value}
    how = "heat taken from air and walls against heat that the vapour carries off"
    steps = [
        Step(f"an open damp surface loses{which}", "", air, found.open_kg_per_m2_h, "lewis-relation", "kg/(m2 h)",
             ends[0], ends[1], how)
    ]  # fmt: skip
    through = found.cover * math.exp(found.cover_deviation * float(figures.cover))
    if spell.cover != "open":
        source = "common-practice" if spell.cover == "light" else "forum-drying-2025"
        how = f"{spell.cover} cover, beside no cover at all"
        steps.append(Step(f"share that the cover lets through{which}", "", {}, through, source, how=how))
    for place, part in enumerate(piece.parts):
        faces = {"outside_mm2": part.outside_mm2, "inside_mm2": part.inside_mm2, "inside_share": inside.value,
                 "under_mm2": part.under_mm2, "under_share": under.value}  # fmt: skip
        area = "outside_mm2 + inside_mm2 * inside_share + under_mm2 * under_share"
        steps.append(
            Step(
                f"area of the {part.name} that counts{which}",
                area,
                faces,
                found.areas_mm2[place],
                "common-practice",
                "mm2",
            )
        )
        given = {"loss_kg_per_m2_h": found.open_kg_per_m2_h, "cover": through, "area_mm2": found.areas_mm2[place],
                 "rate_factor": float(figures.rate_factor), "dry_g": part.dry_g * float(figures.dry_factor)}  # fmt: skip
        rate = "loss_kg_per_m2_h * cover * rate_factor * area_mm2 / 1000 / dry_g"
        value = float(best.stretches[number].rate[0, place])
        steps.append(
            Step(f"water lost by the {part.name} while its surface is wet{which}", rate, given, value, "derived",
                 "of the dry weight an hour")
        )  # fmt: skip
        steps.append(_critical_step(best, number, place, f"{part.name}{which}", float(figures.critical)))
    return steps


def _critical_step(best: Curves, number: int, place: int, name: str, thin: float) -> Step:
    end, critical = float(best.end[0, 0]), float(best.stretches[number].critical[0, place])
    given = {"end": end, "thin": thin, "lag": (critical - end) / (thin - end)}
    formula = "end + (thin - end) * lag"
    return Step(f"water when the surface goes dry, {name}", formula, given, critical, "crank-1975", "of the dry weight")


def _part_steps(best: Curves, spells: Sequence[Spell], place: int, part: PartTimes, source: str) -> list[Step]:
    leather_hard, end = window("leather-hard"), float(best.end[0, 0])
    steps = []
    ahead_h = float(best.ahead_h[0, 0])
    for name, target, found in (
        ("leather-hard from", leather_hard[1], part.leather_hard_from_h),
        ("bone dry after", end + DRY_WITHIN, part.bone_dry_h),
    ):
        number, earlier_h = _spell_at(spells, float(best.even_until(target)[0, place]))
        stretch = best.stretches[number]
        start = float(best.water(earlier_h)[0, place])
        given = {"start": start, "target": min(start, target), "rate": float(stretch.rate[0, place]),
                 "critical": float(stretch.critical[0, place]), "end": end}  # fmt: skip
        formula = RULE
        if number:
            formula, given = f"earlier_h + {RULE}", {"earlier_h": earlier_h, **given}
        if ahead_h:
            # Nobody is told that a piece was ready before it was begun.
            formula, given = f"max(0, {formula} - ahead_h)", {**given, "ahead_h": ahead_h}
        steps.append(Step(f"{part.name}: {name}", formula, given, found.value, source, "h", found.low, found.high))
    return steps


def _spell_at(spells: Sequence[Spell], hour: float) -> tuple[int, float]:
    """The spell that an hour falls in, and when that spell began."""
    gone = 0.0
    for number, spell in enumerate(spells):
        if hour <= gone + spell.hours:
            return number, gone
        gone += spell.hours
    return len(spells) - 1, gone
