"""Records turned into what the glaze room works with: the shelf, a recipe, prices."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from wareboard.book.glazes.models import Lot, RecipeVersion, ShelfMaterial
from wareboard.glaze.material import Material, shelf
from wareboard.glaze.recipe import Recipe

OWN = {"shipped": "shipped table", "supplier": "supplier's sheet", "typed": "typed in"}


def as_material(record: ShelfMaterial) -> Material:
    """The material of a record."""
    return Material(
        record.name,
        {formula: float(wt) for formula, wt in record.oxides_wt.items()},
        record.loi_share,
        tuple(record.hazards),
        record.is_clay,
        record.solubility,
        record.note,
        record.source or "given",
        OWN[record.analysis_from],
    )


def own_shelf() -> Mapping[str, Material]:
    """What stands on the potter's own shelf, by name."""
    return {record.name: as_material(record) for record in ShelfMaterial.objects.filter(put_away=None)}


def whole_shelf() -> Mapping[str, Material]:
    """The potter's own materials, and the shipped ones for every name of which there is no own one.

    Recipes can so be worked out before a shelf is written down. What is put away still answers to its name.
    """
    own = {record.name: as_material(record) for record in ShelfMaterial.objects.all()}
    taken = {name.casefold() for name in own}
    return own | {name: entry for name, entry in shelf().items() if name.casefold() not in taken}


def as_recipe(version: RecipeVersion) -> Recipe:
    """The recipe of a version."""
    return recipe_of(version.recipe.name, version.base, version.additions)


def recipe_of(name: str, base: Sequence[Any], additions: Sequence[Any]) -> Recipe:
    """The recipe of two lists of [material, parts]; a material that stands twice in a list is added up."""
    held: tuple[dict[str, float], dict[str, float]] = ({}, {})
    for lines, into in zip((base, additions), held, strict=True):
        for material, amount in lines:
            into[material] = into.get(material, 0.0) + float(amount)
    return Recipe(name, *held)


def prices() -> Mapping[str, float]:
    """The price per kg of each material by the newest of its lots that has one."""
    found: dict[str, float] = {}
    for lot in Lot.objects.filter(put_away=None, price_per_kg__isnull=False).select_related("material"):
        found.setdefault(lot.material.name, float(lot.price_per_kg or 0.0))
    return found
