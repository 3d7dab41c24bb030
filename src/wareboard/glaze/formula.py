"""From recipe to fired glaze: weight %, mol % and the unity formula, for one recipe or for very many at once."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.given import not_negative
from wareboard.glaze.material import Material, materials_of
from wareboard.glaze.oxide import molar_mass_g, oxide, oxides
from wareboard.glaze.recipe import Recipe

# Lead, antimony, vanadium, nickel and iron(II) are left to whoever asks for them by name.
TWENTY_OXIDES = (
    "SiO2", "TiO2", "ZrO2", "SnO2", "P2O5", "Al2O3", "B2O3", "Na2O", "K2O", "Li2O",
    "CaO", "MgO", "BaO", "SrO", "ZnO", "Fe2O3", "MnO", "CoO", "CuO", "Cr2O3",
)  # fmt: skip


def _in_table_order(amounts: Mapping[str, float]) -> Mapping[str, float]:
    return MappingProxyType({formula: amounts[formula] for formula in oxides() if formula in amounts})


def _looked_at(amounts: Mapping[str, float], unit: str) -> Mapping[str, float]:
    for formula, amount in amounts.items():
        oxide(formula)
        not_negative(amount, formula, unit)
    if not math.fsum(amounts.values()) > 0:
        raise OutOfRange(
            "the analysis", f"it holds no oxide ({unit} all nought)", "Give the oxides that the glaze holds"
        )
    return amounts


def fired_g_per_100(recipe: Recipe, materials: Mapping[str, Material] | None = None) -> Mapping[str, float]:
    """Grams of each oxide left in the fired glaze by 100 g of base and its additions; the table's order.

    Raises:
        NotInTable, Problems: for materials that are not on the shelf.
    """
    amounts = recipe.parts_of_all()
    found = materials_of(amounts, materials)
    left: dict[str, float] = {}
    for name, grams in amounts.items():
        for formula, wt in found[name].oxides_wt.items():
            left[formula] = left.get(formula, 0.0) + grams * wt / 100.0
    return _in_table_order({formula: grams for formula, grams in left.items() if grams > 0})


def analysis_wt(recipe: Recipe, materials: Mapping[str, Material] | None = None) -> Mapping[str, float]:
    """Oxides of the fired glaze in weight %, adding up to 100, additions and all.

    Args:
        materials: the shelf; the shipped one when left out.
    Raises:
        NotInTable, Problems: for materials that are not on the shelf.
    Source: conservation of mass; analyses of the materials as their rows say.
    """
    left = _looked_at(fired_g_per_100(recipe, materials), "g")
    whole = math.fsum(left.values())
    return MappingProxyType({formula: 100.0 * grams / whole for formula, grams in left.items()})


def moles(oxides_wt: Mapping[str, float]) -> Mapping[str, float]:
    """Moles of each oxide in as many grams as ``oxides_wt`` says."""
    return _in_table_order({formula: wt / molar_mass_g(formula) for formula, wt in _looked_at(oxides_wt, "%").items()})


def mol_percent(oxides_wt: Mapping[str, float]) -> Mapping[str, float]:
    """Mol % from weight %; adds up to 100."""
    counted = moles(oxides_wt)
    whole = math.fsum(counted.values())
    return MappingProxyType({formula: 100.0 * count / whole for formula, count in counted.items()})


def wt_percent(oxides_mol: Mapping[str, float]) -> Mapping[str, float]:
    """Weight % from moles (a unity formula or mol %); adds up to 100."""
    grams = {formula: count * molar_mass_g(formula) for formula, count in _looked_at(oxides_mol, "mol").items()}
    whole = math.fsum(grams.values())
    return _in_table_order({formula: 100.0 * amount / whole for formula, amount in grams.items()})


def analysis_mol(recipe: Recipe, materials: Mapping[str, Material] | None = None) -> Mapping[str, float]:
    """Oxides of the fired glaze in mol %, adding up to 100. Raises as `analysis_wt` does."""
    return mol_percent(analysis_wt(recipe, materials))


def unity(oxides_wt: Mapping[str, float], *, count_colours: bool = False) -> Mapping[str, float]:
    """The unity formula: moles of each oxide with the fluxes (R2O and RO) adding up to 1.

    Args:
        oxides_wt: oxides in weight %, or grams.
        count_colours: count FeO, MnO, CoO, CuO, NiO and their like with the fluxes. Off by default: a convention.
    Raises:
        OutOfRange: if there is no flux to bring to 1.
    Source: Seger's unity formula; classes as in ``glaze/oxides.csv``.
    """
    counted = moles(oxides_wt)
    fluxes = flux_moles(counted, count_colours=count_colours)
    if not fluxes > 0:
        raise OutOfRange(
            "unity formula",
            why=f"there is no flux to bring to one: only {', '.join(counted)}",
            mend="Add a flux such as whiting or a feldspar, or show the glaze as mol % instead",
        )
    return MappingProxyType({formula: count / fluxes for formula, count in counted.items()})


def flux_moles(counted: Mapping[str, float], *, count_colours: bool = False) -> float:
    """Moles of flux among ``counted``."""
    return math.fsum(
        count
        for formula, count in counted.items()
        if oxides()[formula].is_flux or (count_colours and oxides()[formula].may_count_as_flux)
    )


def flux_shares(oxides_wt: Mapping[str, float]) -> Mapping[str, float]:
    """What share of the fluxes each flux is, in moles, fractions that add up to 1; the table's order.

    Raises:
        OutOfRange: if there is no flux.
    Source: as `unity`.
    """
    formula = unity(oxides_wt)
    return MappingProxyType({name: moles for name, moles in formula.items() if oxides()[name].is_flux})


def r2o_share(oxides_wt: Mapping[str, float]) -> float:
    """The alkalis' (R2O) share of the fluxes in moles; RO is the rest of 1, and R2O : RO is share : (1 - share).

    Raises:
        OutOfRange: if there is no flux.
    Source: as `unity`.
    """
    return math.fsum(share for name, share in flux_shares(oxides_wt).items() if oxides()[name].group == "R2O")


def silica_alumina_ratio(oxides_wt: Mapping[str, float]) -> float:
    """Moles of SiO2 to one of Al2O3.

    Raises:
        OutOfRange: if the glaze holds no alumina.
    """
    counted = moles(oxides_wt)
    if not counted.get("Al2O3", 0.0) > 0:
        raise OutOfRange(
            "silica to alumina", "the glaze holds no alumina", "Give a glaze with some clay or feldspar in it"
        )
    return counted.get("SiO2", 0.0) / counted["Al2O3"]


def loi_share(recipe: Recipe, materials: Mapping[str, Material] | None = None) -> float:
    """Loss on ignition of the raw dry mix, a fraction of its weight, additions and all.

    Raises:
        NotInTable, Problems: for materials that are not on the shelf.
    """
    amounts = recipe.parts_of_all()
    found = materials_of(amounts, materials)
    return math.fsum(grams * found[name].loi_share for name, grams in amounts.items()) / math.fsum(amounts.values())


def analyses_wt(
    parts: NDArray[np.float64], materials: Sequence[Material], oxides_wanted: Sequence[str] = TWENTY_OXIDES
) -> NDArray[np.float64]:
    """Fired weight % of very many recipes at once.

    Args:
        parts: (n, m) raw parts by weight, one row a recipe, one column a material; left alone.
        materials: the m materials.
        oxides_wanted: the k columns of the answer.
    Returns:
        (n, k) weight %, each row adding up to 100.
    Raises:
        OutOfRange: if shapes disagree, parts are negative or not finite, a row holds nothing, or a material holds an oxide
            that is not among those wanted (its row would then not add up).
    """
    held = _held(materials, oxides_wanted)
    grams = np.asarray(parts, dtype=np.float64)
    if grams.ndim != 2 or grams.shape[1] != len(materials):
        raise OutOfRange(
            f"parts of shape {grams.shape}",
            f"there are {len(materials)} materials",
            "Give one column for each material",
        )
    # One pass over the parts for each end: a NaN shows in either.
    if grams.size and not (grams.min() >= 0 and grams.max() < np.inf):
        raise OutOfRange("the parts", "some are negative or not finite", "Put finite parts from 0 up in")
    left = grams @ held
    whole = left.sum(axis=1, keepdims=True)
    if grams.shape[0] and not whole.min() > 0:
        raise OutOfRange(
            f"recipe {int(whole.argmin())}", "nothing of it is left after firing", "Give every row some parts"
        )
    np.divide(100.0, whole, out=whole)
    left *= whole
    return left


def _held(materials: Sequence[Material], oxides_wanted: Sequence[str]) -> NDArray[np.float64]:
    """(m, k) fraction of each raw material that is each oxide."""
    held = np.zeros((len(materials), len(oxides_wanted)))
    column = {formula: k for k, formula in enumerate(oxides_wanted)}
    for row, entry in enumerate(materials):
        for formula, wt in entry.oxides_wt.items():
            if formula not in column:
                raise OutOfRange(
                    f"{entry.name} holds {formula}", "it is not among the oxides wanted", f"Add {formula} to them"
                )
            held[row, column[formula]] = wt / 100.0
    return held
