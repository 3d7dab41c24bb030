"""What a recipe comes to: analysis, unity formula, ratios, expansion by each set, loss in the fire, flags."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wareboard.errors import WareboardError
from wareboard.glaze.expansion import Expansion, checked, expansion, factor_sets
from wareboard.glaze.formula import (
    analysis_wt,
    flux_shares,
    loi_share,
    mol_percent,
    r2o_share,
    silica_alumina_ratio,
    unity,
)
from wareboard.glaze.hazard import Flagged, flags
from wareboard.glaze.material import Material, materials_of
from wareboard.glaze.oxide import oxides
from wareboard.glaze.recipe import Recipe
from wareboard.working import Step

FIRST_SET = "appen"
CARE = (
    "Dry glaze is dust that harms the lungs: wear a fitted P100 or FFP3 respirator, clean up wet, air the room when firing, "
    "and settle wash water and dispose of it as the law where you work says."
)


@dataclass(frozen=True, slots=True)
class OxideRow:
    """One oxide of the fired glaze."""

    formula: str
    name: str
    wt: float
    mol: float
    unity: float | None


@dataclass(frozen=True, slots=True)
class Moved:
    """An expansion as a page shows it, in 1e-7/K, or why there is none."""

    name: str
    shown: str
    spread: str
    step: Step | None
    note: str


@dataclass(frozen=True, slots=True)
class Reckoned:
    """Everything that a page shows of a recipe."""

    recipe: Recipe
    oxides: tuple[OxideRow, ...]
    no_unity: str
    ratio: Step | None
    no_ratio: str
    alkali: Step | None
    loss: Step
    expansions: tuple[Moved, ...]
    flagged: Flagged
    not_known: str
    notes: tuple[str, ...]
    of_the_base: Moved | None = None
    flux_ratio: str = ""
    fluxes: tuple[Step, ...] = ()
    care: str = CARE


def reckoned(recipe: Recipe, shelf: Mapping[str, Material]) -> Reckoned:
    """What a recipe comes to.

    Raises:
        NotInTable, Problems: for materials that are not on the shelf. OutOfRange: where nothing is left in the fire.
    """
    wt = analysis_wt(recipe, shelf)
    mol = mol_percent(wt)
    formula, no_unity = _unity(wt)
    rows = tuple(OxideRow(name, oxides()[name].name, wt[name], mol[name], formula.get(name)) for name in wt)
    ratio, no_ratio = _ratio(wt, mol)
    notes = () if recipe.sums_to_100 else (
        f"The base adds up to {recipe.base_parts:g} parts; it is brought to 100 before anything is worked out.",
    )  # fmt: skip
    return Reckoned(
        recipe, rows, no_unity, ratio, no_ratio, _alkali(wt, mol) if formula else None, _loss(recipe, shelf),
        _expansions(wt), flags(recipe, shelf), _not_known(recipe, shelf), notes, _of_the_base(recipe, shelf, wt),
        _flux_ratio(wt) if formula else "", _fluxes(wt, mol) if formula else (),
    )  # fmt: skip


def _unity(wt: Mapping[str, float]) -> tuple[Mapping[str, float], str]:
    try:
        return unity(wt), ""
    except WareboardError as problem:
        return {}, str(problem)


def _ratio(wt: Mapping[str, float], mol: Mapping[str, float]) -> tuple[Step | None, str]:
    try:
        value = silica_alumina_ratio(wt)
    except WareboardError as problem:
        return None, str(problem)
    inputs = {"SiO2": mol.get("SiO2", 0.0), "Al2O3": mol["Al2O3"]}
    return Step("silica to alumina, in moles", "SiO2 / Al2O3", inputs, value, "seger-unity"), ""


def _alkali(wt: Mapping[str, float], mol: Mapping[str, float]) -> Step:
    """Share of the fluxes that are alkalis (R2O), the rest being RO."""
    fluxes = {name: mol[name] for name in flux_shares(wt)}
    alkalis = [name for name in fluxes if oxides()[name].group == "R2O"]
    formula = f"({' + '.join(alkalis) or 'R2O'}) / ({' + '.join(fluxes)})"
    inputs = fluxes if alkalis else {"R2O": 0.0, **fluxes}
    return Step("R2O, share of the fluxes (RO is the rest of 1)", formula, inputs, r2o_share(wt), "seger-unity")


def _flux_ratio(wt: Mapping[str, float]) -> str:
    """The way the trade writes it: the two shares, which add up to 1."""
    alkalis = r2o_share(wt)
    return f"{alkalis:.2f} : {1 - alkalis:.2f}"


def _fluxes(wt: Mapping[str, float], mol: Mapping[str, float]) -> tuple[Step, ...]:
    """Each flux's share of all the fluxes, moles, per cent."""
    shares = flux_shares(wt)
    whole = " + ".join(shares)
    inputs = {name: mol[name] for name in shares}
    return tuple(
        Step(f"{name} of the fluxes", f"100 * {name} / ({whole})", inputs, 100.0 * share, "seger-unity", "%")
        for name, share in shares.items()
    )


def _loss(recipe: Recipe, shelf: Mapping[str, Material]) -> Step:
    return Step(
        "loss on ignition of the dry mix", "", {}, 100.0 * loi_share(recipe, shelf), "derived", "%",
        how="what each material loses, added up by its share of the dry mix",
    )  # fmt: skip


def _expansions(wt: Mapping[str, float]) -> tuple[Moved, ...]:
    names = sorted(factor_sets(), key=lambda name: name != FIRST_SET)
    return tuple(_moved(name, wt) for name in names)


def _of_the_base(recipe: Recipe, shelf: Mapping[str, Material], wt: Mapping[str, float]) -> Moved | None:
    """The base's own expansion by the first set, where what is on top leaves the whole without a figure."""
    if not recipe.additions or _moved(FIRST_SET, wt).step is not None:
        return None
    found = _moved(FIRST_SET, analysis_wt(Recipe(recipe.name, recipe.base), shelf))
    return found if found.step is not None else None


def _moved(name: str, wt: Mapping[str, float]) -> Moved:
    met = checked()[name]
    try:
        found: Expansion = expansion(wt, name)
    except WareboardError as problem:
        return Moved(name, "not worked out", "", None, str(problem))
    left_out = "".join(
        f" Left out for want of a factor: {oxide}, {amount:.1f} %." for oxide, amount in found.left_out.items()
    )
    return Moved(
        name,
        f"{found.value_per_k * 1e7:.0f} × 10⁻⁷ per K",
        f"{found.low_per_k * 1e7:.0f} to {found.high_per_k * 1e7:.0f}",
        found.steps[0],
        f"{found.temperature}; on {met.glazes} measured glazes it was off by {met.rmse:.1f} × 10⁻⁷ (rms).{left_out}",
    )


def _not_known(recipe: Recipe, shelf: Mapping[str, Material]) -> str:
    """Materials of which the analysis is the mineral's own, not that of what stands on the shelf."""
    found = materials_of(recipe.parts_of_all(), shelf)
    bare = [entry.name for entry in found.values() if entry.trust == "computed"]
    if not bare:
        return ""
    return (
        f"Worked out from the theoretical mineral for {', '.join(bare)}: "
        "put your supplier's analyses on the shelf for figures of your own materials."
    )
