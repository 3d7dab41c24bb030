"""The drying of one piece: water against time, when it is leather-hard, when it is dry, each with its range.

Each part is one box of its own (its thickness is small beside its way to the next part); a thick part leaves the straight
fall earlier. Water that creeps from a damp base into a dry wall is left out, and so is the shrinking of the faces. Under a
tight cover the later, slow part comes out too slow: nobody dries ware bone dry in a wrap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.clay.damp_piece import Piece, Spell
from wareboard.clay.drying_belief import Belief, Figures, figures_of, heat_transfer, shares_counted
from wareboard.clay.drying_curve import hours_until, lagged_critical, water_after
from wareboard.clay.drying_figures import figure, log_deviation
from wareboard.clay.evaporation import evaporation, leaking_g_per_h, under_cover_g_per_h
from wareboard.errors import OutOfRange

Floats = NDArray[np.float64]
MM2_H_IN_KG_M2 = 1.0e-3  # 1 kg/m2 is 0.001 g/mm2
DRY_WITHIN = 0.005  # bone dry: within this of what the room leaves in it, fraction of the dry weight
HALVINGS = 50


def wandering_h(hours: Floats, wanders: float) -> Floats:
    """Standard deviation of the hours by which drying runs ahead of the clock after so many hours of wandering air.

    The rate wanders about its mean by the share ``wanders``, and forgets that over ``room remembers``; what is given is
    the spread of its sum. Many hours: grows as their square root; few: in proportion to them.

    Source: integrated Ornstein-Uhlenbeck process, 2 s^2 m^2 (t / m - 1 + exp(-t / m)); from memory.
    """
    memory_h = figure("room remembers").value
    told = np.where(np.isfinite(hours), np.maximum(0.0, hours), 0.0) / memory_h
    return np.asarray(wanders * memory_h * np.sqrt(2.0 * np.maximum(0.0, told - 1.0 + np.exp(-told))))


@dataclass(frozen=True, slots=True)
class Reckoned:
    """What one spell takes from a piece before any figure is doubted.

    Attributes:
        open_kg_per_m2_h: from an open wet surface.
        cover: share of it that the cover lets through, 1 when open.
        cover_deviation: standard deviation of its logarithm.
        areas_mm2: that count, one for each part.
        reaches_mm: way of the furthest water to its face, one for each part.
        rates_per_h: water lost an hour while the surface is wet, fraction of the dry weight, one for each part.
    """

    open_kg_per_m2_h: float
    cover: float
    cover_deviation: float
    areas_mm2: tuple[float, ...]
    reaches_mm: tuple[float, ...]
    rates_per_h: tuple[float, ...]


def reckoned(piece: Piece, spell: Spell) -> Reckoned:
    """What one spell takes from a piece, by the balance at its surface, the areas that count, and the cover.

    Raises:
        OutOfRange: as for `evaporation`.
    Source: lewis-relation; covers by conservation of water (tight) or common practice (light).
    """
    open_loss = evaporation(spell.air, heat_transfer(spell).value).kg_per_m2_h
    inside, under = shares_counted(piece, spell)
    counted = [part.counted(inside.value, under.value) for part in piece.parts]
    cover, deviation = 1.0, 0.0
    if spell.cover == "light":
        left = figure("rate left, light cover")
        cover, deviation = left.value, log_deviation(left.low, left.high)
    elif spell.cover == "tight":
        leak = figure("leak, tight cover")
        open_g_per_h = open_loss * sum(area for area, _ in counted) * MM2_H_IN_KG_M2
        wide = leak.value if spell.leak_l_per_min is None else spell.leak_l_per_min
        cover = under_cover_g_per_h(open_g_per_h, leaking_g_per_h(spell.air, wide)) / open_g_per_h
        deviation = log_deviation(leak.low, leak.high)
        if cover <= 0.0:
            raise OutOfRange(
                "a cover that does not leak at all", why="under it ware never dries", mend="Give a leak above 0"
            )
    rates = [
        open_loss * cover * area * MM2_H_IN_KG_M2 / part.dry_g
        for part, (area, _) in zip(piece.parts, counted, strict=True)
    ]
    reaches = [part.thickness_mm * across for part, (_, across) in zip(piece.parts, counted, strict=True)]
    return Reckoned(open_loss, cover, deviation, tuple(area for area, _ in counted), tuple(reaches), tuple(rates))


@dataclass(frozen=True, slots=True)
class Stretch:
    """One spell with every figure in place: rates and critical waters of shape (points, parts)."""

    hours: float
    rate: Floats
    critical: Floats


@dataclass(frozen=True, slots=True)
class Curves:
    """The courses of all parts at all points of a belief, in closed form.

    Attributes:
        stretches: one for each spell; the last has no end.
        start, end: water, shape (points, 1).
        dry_g: dry weight of the parts, shape (points, parts).
        ahead_h, to_come: as in `Figures`, shape (points, 1).
        weighed_at_h: hour of the last weighing.
        wanders: share by which the air of the room wanders.
    """

    stretches: tuple[Stretch, ...]
    start: Floats
    end: Floats
    dry_g: Floats
    ahead_h: Floats
    to_come: Floats
    weighed_at_h: float = 0.0
    wanders: float = 0.0

    def by_the_clock(self, hours: Floats) -> Floats:
        """Hours by the clock from hours of even air: less what it was ahead when weighed, and what the air does after."""
        after = hours - self.ahead_h - self.weighed_at_h
        return np.asarray(np.maximum(0.0, hours - self.ahead_h - self.to_come * wandering_h(after, self.wanders)))

    def water(self, hours: float | Floats) -> Floats:
        """Water of each part after so many hours of even air, shape (points, parts); ``hours`` one number or (points, 1)."""
        water = np.broadcast_to(self.start, self.dry_g.shape)
        left = np.maximum(0.0, np.asarray(hours, dtype=np.float64))
        for stretch in self.stretches:
            spent = np.minimum(left, stretch.hours)
            water = water_after(water, spent, stretch.rate, stretch.critical, self.end)
            left = left - spent
        return water

    def mean_water(self, hours: float | Floats) -> Floats:
        """Water of the whole piece, by weight of its parts, shape (points,)."""
        return np.asarray(np.sum(self.water(hours) * self.dry_g, axis=-1) / np.sum(self.dry_g, axis=-1))

    def weight_g(self, hours: float | Floats) -> Floats:
        """Weight of the piece after so many hours of even air, g, shape (points,)."""
        return np.asarray(np.sum((1.0 + self.water(hours)) * self.dry_g, axis=-1))

    def until(self, target: ArrayLike) -> Floats:
        """Hours by the clock until each part falls to ``target``, shape (points, parts); infinite where it never will."""
        return self.by_the_clock(self.even_until(target))

    def even_until(self, target: ArrayLike) -> Floats:
        """The same in hours of even air."""
        wanted = np.broadcast_to(np.asarray(target, dtype=np.float64), self.dry_g.shape)
        water = np.broadcast_to(self.start, self.dry_g.shape)
        found = np.full(self.dry_g.shape, math.inf)
        gone = 0.0
        for stretch in self.stretches:
            within = hours_until(water, wanted, stretch.rate, stretch.critical, self.end)
            found = np.where(np.isinf(found) & (within <= stretch.hours), gone + within, found)
            if math.isfinite(stretch.hours):
                water = water_after(water, np.asarray(stretch.hours), stretch.rate, stretch.critical, self.end)
                gone += stretch.hours
        return found

    def mean_until(self, target: float) -> Floats:
        """Hours by the clock until the whole piece has fallen to ``target``, shape (points,)."""
        by_part = self.even_until(target)
        low, high = by_part.min(axis=-1, keepdims=True), by_part.max(axis=-1, keepdims=True)
        never = ~np.isfinite(high[..., 0])
        high = np.where(np.isfinite(high), high, np.where(np.isfinite(low), low, 0.0))
        low = np.minimum(low, high)
        for _ in range(HALVINGS if self.dry_g.shape[-1] > 1 else 0):
            middle = 0.5 * (low + high)
            above = self.mean_water(middle)[..., None] > target
            low, high = np.where(above, middle, low), np.where(above, high, middle)
        return np.asarray(np.where(never, math.inf, self.by_the_clock(0.5 * (low + high))[..., 0]))

    def bone_dry(self) -> Floats:
        """Hours until the last part is within `DRY_WITHIN` of what the room leaves in it, shape (points,)."""
        return np.asarray(self.until(self.end + DRY_WITHIN).max(axis=-1))


def without_a_gap(spells: Sequence[Spell]) -> tuple[Spell, ...]:
    """The spells, when there is one at least and only the last of them has no end.

    Raises:
        OutOfRange: if not.
    """
    found = tuple(spells)
    if not found or not all(math.isfinite(spell.hours) for spell in found[:-1]):
        raise OutOfRange(
            "the spells of drying do not follow each other",
            why="each but the last must say how many hours it lasts",
            mend="Give the hours of every spell but the last",
        )
    last = found[-1]
    if math.isfinite(last.hours):
        # What is not said goes on as it was.
        found = (*found[:-1], _endless(last))
    return found


def _endless(spell: Spell) -> Spell:
    from dataclasses import replace

    return replace(spell, hours=math.inf)


def curves(piece: Piece, spells: Sequence[Spell], figures: Figures, belief: Belief | None = None) -> Curves:
    """The courses of a piece's parts for one or many sets of figures.

    Args:
        piece: its parts.
        spells: one after another; the last goes on for ever.
        figures: numbers, or arrays of shape (points,).
        belief: that the figures come from, which knows of the last weighing and of wandering air; even air when left out.
    Source: drying-stages and crank-1975, as in `drying_curve`.
    """
    column = {name: np.atleast_1d(np.asarray(getattr(figures, name)))[:, None] for name in Figures.__slots__}
    stretches = []
    for spell in without_a_gap(spells):
        found = reckoned(piece, spell)
        factor = column["rate_factor"] * np.exp(found.cover_deviation * column["cover"]) / column["dry_factor"]
        rate = np.array(found.rates_per_h) * factor
        critical = lagged_critical(
            column["critical"], column["end"], rate, np.array(found.reaches_mm), column["diffusivity_m2_per_s"]
        )
        stretches.append(Stretch(spell.hours, rate, critical))
    dry_g = np.array([part.dry_g for part in piece.parts]) * column["dry_factor"]
    return Curves(
        tuple(stretches),
        column["start"],
        column["end"],
        dry_g,
        column["ahead_h"],
        column["to_come"],
        *((belief.weighed_at_h, belief.wanders) if belief else (0.0, 0.0)),
    )


def best_and_spread(piece: Piece, spells: Sequence[Spell], belief: Belief) -> tuple[Curves, Curves]:
    """The course at the best figures, and the courses at the points of the belief."""
    best = curves(piece, spells, figures_of(belief.best[None, :]), belief)
    return best, curves(piece, spells, figures_of(belief.points()), belief)
