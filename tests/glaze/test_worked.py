"""Printed worked examples met to the printed digit, or the disagreement stated.

Binns: C. F. Binns, The Potter's Craft, 1910, matt glaze by the stepwise table (p. 48 of the copy read) and his oxygen ratio:
a lead glaze, here as arithmetic alone. Surface tension: Kucuk and others 1999, at 1400 C. Viscosity: Lakatos and others
1972 (constants from memory) and Giordano and others 2008. Stability: J. Hesselberth, Clayart archive 2003 (thread 68797) and
1999 (thread 18879). Silica to alumina: McWhinnie's course, Clayart archive 2000 (thread 31225).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from wareboard.errors import OutOfRange
from wareboard.glaze.formula import analysis_mol, analysis_wt, silica_alumina_ratio, unity
from wareboard.glaze.hazard import flags
from wareboard.glaze.material import shelf
from wareboard.glaze.oxide import molar_mass_g
from wareboard.glaze.recipe import Recipe
from wareboard.glaze.target import cheapest

BINNS = {"PbO": 0.50, "CaO": 0.35, "K2O": 0.15, "Al2O3": 0.35, "SiO2": 1.54}
PRINTED = {
    "white lead": 129, "whiting": 35, "potash feldspar": 83, "calcined kaolin": 33, "kaolin": 13, "silica / flint": 14
}  # fmt: skip
BEFORE_ROUNDING = dict(zip(PRINTED, (129.0, 35.0, 83.55, 33.3, 12.9, 14.4), strict=True))
LIMESTONE = Recipe("4-3-2-1", {"potash feldspar": 40, "silica / flint": 30, "whiting": 20, "kaolin": 10})


def test_binns_batch_gives_the_formula_that_he_made_it_from() -> None:
    """B1. His products before rounding give every mole within 0.005; as printed, in whole parts, silica comes to 1.53."""
    for parts, near in ((BEFORE_ROUNDING, 0.005), (PRINTED, 0.0125)):
        found = unity(analysis_wt(Recipe("matt", parts)))
        assert dict(found) == {oxide: pytest.approx(moles, abs=near) for oxide, moles in BINNS.items()}
    assert round(unity(analysis_wt(Recipe("matt", PRINTED)))["SiO2"], 2) == 1.53  # he wanted 1.54


def test_binns_formula_gives_his_batch_but_for_the_feldspar_that_he_cut() -> None:
    """B1 backwards, with his .15 of calcined to .05 of raw kaolin: 129, 35, 33, 13, 14 as printed, and feldspar 83.5.

    He prints 83: his own .15 x 557 is 83.55, cut and not rounded. White lead of theory is 258.5, so it comes to 129.3.
    """
    columns = [shelf()[name] for name in ("white lead", "whiting", "potash feldspar", "silica / flint")]
    clay = [(shelf()["calcined kaolin"], 0.15), (shelf()["kaolin"], 0.05)]
    held = np.array([[entry.oxides_wt.get(o, 0.0) / 100 / molar_mass_g(o) for entry in columns] for o in BINNS])
    clay_g = {each.name: moles / (each.oxides_wt["Al2O3"] / 100 / molar_mass_g("Al2O3")) for each, moles in clay}
    from_clay = np.array(
        [sum(clay_g[each.name] * each.oxides_wt.get(o, 0.0) / 100 / molar_mass_g(o) for each, _ in clay) for o in BINNS]
    )
    grams = np.linalg.lstsq(held, np.array(list(BINNS.values())) - from_clay, rcond=None)[0]
    found = dict(zip(("white lead", "whiting", "potash feldspar", "silica / flint"), grams, strict=True)) | clay_g
    assert {name: round(float(found[name])) for name in PRINTED if name != "potash feldspar"} == {
        name: parts for name, parts in PRINTED.items() if name != "potash feldspar"
    }
    assert found["potash feldspar"] == pytest.approx(83.5, abs=0.1)
    assert math.floor(found["potash feldspar"]) == PRINTED["potash feldspar"]


def test_binns_lead_glaze_is_arithmetic_and_is_never_looked_for() -> None:
    with pytest.raises(OutOfRange, match="no place on tableware"):
        cheapest(BINNS, shelf())


def test_binns_oxygen_ratio_of_a_matt_glaze() -> None:
    """B2. SiO2 = 3 (3 Al2O3 + 1) / 4 = 1.5375, printed as 1.54: oxygen of silica to that of the rest is 3 to 2."""
    assert 3 * (3 * BINNS["Al2O3"] + 1) / 4 == pytest.approx(1.5375, abs=1e-12)
    found = unity(analysis_wt(Recipe("matt", BEFORE_ROUNDING)))
    assert 2 * found["SiO2"] / (1 + 3 * found["Al2O3"]) == pytest.approx(3 / 2, abs=0.01)


def test_our_mol_per_cents_give_the_printed_surface_tension() -> None:
    """D1. 271.2 + 3.34 CaO - 2.22 K2O + 3.47 Al2O3 = 335.3 mN/m at 1400 C for 4-3-2-1."""
    mol = analysis_mol(LIMESTONE)
    assert round(271.2 + 3.34 * mol["CaO"] - 2.22 * mol["K2O"] + 3.47 * mol["Al2O3"], 1) == 335.3


def _lakatos(mol: dict[str, float], warm_c: float) -> float:
    """log10 of viscosity in Pa s; moles to one of silica."""
    k, c, a = (mol[o] / mol["SiO2"] for o in ("K2O", "CaO", "Al2O3"))
    first = 1.455 + 0.835 * k + 1.603 * c - 1.5183 * a
    slope = 5736.4 - 1439.6 * k - 3919.3 * c + 2253.4 * a
    start = 198.1 - 321.0 * k + 544.3 * c + 294.4 * a
    return -first + slope / (warm_c - start) - 1.0


def _giordano(mol: dict[str, float], warm_c: float) -> float:
    """log10 of viscosity in Pa s, of a dry melt of silica, alumina, lime and potash."""
    s, a, c, k = (mol[o] for o in ("SiO2", "Al2O3", "CaO", "K2O"))
    slope = 159.6 * s - 173.3 * a - 39.0 * c - 0.91 * (s + a) * k + 17.6 * a * k
    start = 2.75 * s + 15.7 * a + 10.2 * c - 12.3 * k + 0.3 * (a + c) * k
    return -4.55 + slope / (warm_c + 273.15 - start)


def test_two_published_viscosities_of_one_glaze_lie_a_hundredfold_apart() -> None:
    """D2, D3. 3.104 and 2.626 by the one, 5.125 and 4.429 by the other at 1200 and 1280 C: why no viscosity is printed."""
    mol = dict(analysis_mol(LIMESTONE))
    assert [round(_lakatos(mol, warm), 3) for warm in (1200, 1280)] == [3.104, 2.626]
    assert [round(_giordano(mol, warm), 3) for warm in (1200, 1280)] == [5.125, 4.429]
    assert 10 ** (_giordano(mol, 1200) - _lakatos(mol, 1200)) > 90


def test_nothing_in_the_glaze_room_names_a_viscosity() -> None:
    """The published models disagree a hundredfold on stoneware glazes, so none is worked out."""
    from pathlib import Path

    from wareboard import glaze

    for file in Path(glaze.__path__[0]).glob("*.py"):
        assert "viscosity" not in file.read_text(encoding="utf-8").casefold(), file.name


@pytest.mark.parametrize("feldspar", ["potash feldspar", "soda feldspar"])
@pytest.mark.parametrize("borate", ["colemanite", "ulexite"])
def test_a_glaze_well_within_the_stability_rules_leached_all_the_same(feldspar: str, borate: str) -> None:
    """H, H1. Alumina and silica above 0.25 and 2.5 (Hesselberth and Roy), yet it gave off 20.65 ppm of copper.

    The borate was a natural calcium borate of no stated analysis: colemanite and ulexite stand on either side of it. So
    limits are no test: the glaze is flagged by what it holds, whatever its formula.
    """
    black = Recipe(
        "black", {feldspar: 79, "whiting": 5.5, borate: 10.7},
        {"copper carbonate (basic)": 4, "manganese dioxide": 4, "cobalt carbonate": 3},
    )  # fmt: skip
    found = unity(analysis_wt(black))
    assert found["Al2O3"] >= 0.25
    assert found["SiO2"] >= 3.0
    assert "laboratory" in flags(black).verdict


def test_the_limestone_glaze_falls_between_two_of_the_printed_ratios() -> None:
    """H. McWhinnie: satin 7 to 9, gloss 10 to 12 at cone 8 to 10; 4-3-2-1 is 9.11 and so is in neither: stated."""
    ratio = silica_alumina_ratio(analysis_wt(LIMESTONE))
    assert round(ratio, 2) == 9.11
    assert not 7 <= ratio <= 9
    assert not 10 <= ratio <= 12
    assert 2.50 <= unity(analysis_wt(LIMESTONE))["SiO2"] <= 4.50
