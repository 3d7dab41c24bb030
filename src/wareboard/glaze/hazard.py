"""Flags on a recipe: which materials and oxides ask for care, what to do, and on whose word.

The room calculates and reminds; a laboratory and local law judge. The best that a recipe gets is `NOTHING_FLAGGED`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal

from wareboard.glaze.formula import analysis_wt
from wareboard.glaze.material import Material, materials_of
from wareboard.glaze.recipe import Recipe
from wareboard.reference import rows

NOTHING_FLAGGED = "no flagged oxide; not tested"
Weight = Literal["block", "lab test", "warn", "handling"]
WEIGHTS: tuple[Weight, ...] = ("block", "lab test", "warn", "handling")


@dataclass(frozen=True, slots=True)
class Hazard:
    """One row of the shipped table, as printed, and how heavily it weighs on ware for food."""

    key: str
    oxides: tuple[str, ...]
    applies_to: str
    flag: str
    words: str
    food_contact: str
    workplace_limit: str
    action: str
    source: str
    workplace_source: str
    trust: str

    @property
    def weight(self) -> Weight:
        """How heavily it weighs: "block", "lab test", "warn", or "handling" for what concerns powder and kiln only."""
        first = self.flag.split(";")[0]
        if first.startswith("block"):
            return "block"
        if "lab test" in first:
            return "lab test"
        return "warn" if first.startswith("warn") else "handling"


@dataclass(frozen=True, slots=True)
class Flag:
    """One hazard met in a recipe: which materials bring it, and how much of its oxides the fired glaze holds."""

    hazard: Hazard
    materials: tuple[str, ...]
    fired_wt: float

    @property
    def weight(self) -> Weight:
        """How heavily the hazard weighs."""
        return self.hazard.weight

    @property
    def action(self) -> str:
        """What to do about it; the printed action, or failing that the printed flag."""
        return self.hazard.action or self.hazard.flag

    @property
    def source(self) -> str:
        """Where the hazard is told."""
        return self.hazard.source

    def __str__(self) -> str:
        amount = f", {self.fired_wt:.1f} % of the fired glaze" if self.fired_wt > 0 else ""
        return f"{self.hazard.key} ({', '.join(self.materials)}{amount}): {self.hazard.words}. {self.action}."


@dataclass(frozen=True, slots=True)
class Flagged:
    """The flags of one recipe, heaviest first, and a verdict in words."""

    recipe: str
    flags: tuple[Flag, ...]

    @property
    def on_ware(self) -> tuple[Flag, ...]:
        """Flags that bear on the fired ware."""
        return tuple(flag for flag in self.flags if flag.weight != "handling")

    @property
    def in_handling(self) -> tuple[Flag, ...]:
        """Flags that bear on powder, skin, lungs and kiln gases."""
        return tuple(flag for flag in self.flags if flag.weight == "handling")

    @property
    def blocked(self) -> bool:
        """Whether anything in it is to be kept out of tableware."""
        return any(flag.weight == "block" for flag in self.flags)

    @property
    def verdict(self) -> str:
        """In words; never more than that nothing was flagged."""
        if not self.on_ware:
            return NOTHING_FLAGGED
        if self.blocked:
            named = ", ".join(flag.hazard.key for flag in self.flags if flag.weight == "block")
            return f"holds {named}: keep it out of tableware"
        named = ", ".join(flag.hazard.key for flag in self.on_ware)
        return f"holds {named}: a laboratory must test fired ware before it is used for food"


@cache
def hazards() -> Mapping[str, Hazard]:
    """Every hazard of the shipped table by key. Source: ``glaze/hazards.csv``, each row's own."""
    return MappingProxyType(
        {
            row["hazard"]: Hazard(
                row["hazard"],
                tuple(row["oxides"].split()),
                row["applies_to"],
                row["flag"],
                row["hazard_words"],
                row["food_contact"],
                row["workplace_limit"],
                row["action"],
                row["source"],
                row["workplace_source"],
                row["trust"],
            )
            for row in rows("glaze/hazards")
        }
    )


def flags(recipe: Recipe, materials: Mapping[str, Material] | None = None) -> Flagged:
    """What in a recipe asks for care, heaviest first, by the materials' own marks and by the oxides they hold.

    Args:
        materials: the shelf; the shipped one when left out.
    Raises:
        NotInTable, Problems: for materials that are not on the shelf.
    Source: ``glaze/hazards.csv``.
    """
    amounts = {name: grams for name, grams in recipe.parts_of_all().items() if grams > 0}
    found = materials_of(amounts, materials)
    fired = analysis_wt(recipe, materials)
    met = []
    for key, hazard in hazards().items():
        bringing = tuple(
            name for name, entry in found.items() if key in entry.hazards or set(hazard.oxides) & set(entry.oxides_wt)
        )
        if bringing:
            met.append(Flag(hazard, bringing, sum(fired.get(formula, 0.0) for formula in hazard.oxides)))
    met.sort(key=lambda flag: WEIGHTS.index(flag.weight))
    return Flagged(recipe.name, tuple(met))
