"""Recipes to formulas.

Seger's standard cone 8 batch: H. Seger, "Pyrometers and the measurement of high temperature. Standard cones", quoted by
J. Hesselberth, Clayart archive 2000: feldspar 83.55, marble 35.00, quartz 156.00, kaolin 64.75 is 0.3 K2O, 0.7 CaO,
0.8 Al2O3, 8.0 SiO2. Cone series: Hamer and Hamer, Potter's Dictionary (cone 6 and upward); E. Bastarache 2005 (cone 4);
cone 5 from memory; the batches for 4 to 7, 9 and 10 from memory. Calcined dolomite: L. Katz. Kaolin and metakaolin:
Binns, The Potter's Craft, 1910, equivalents 258 and 222.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import NotInTable, OutOfRange
from wareboard.glaze.formula import (
    TWENTY_OXIDES,
    analyses_wt,
    analysis_mol,
    analysis_wt,
    flux_shares,
    loi_share,
    mol_percent,
    r2o_share,
    silica_alumina_ratio,
    unity,
    wt_percent,
)
from wareboard.glaze.material import shelf
from wareboard.glaze.recipe import Recipe

FELDSPAR, WHITING, KAOLIN, FLINT = "potash feldspar", "whiting", "kaolin", "silica / flint"
LIMESTONE = Recipe("four three two one", {FELDSPAR: 40, FLINT: 30, WHITING: 20, KAOLIN: 10})


@pytest.mark.parametrize(
    ("quartz", "kaolin", "alumina", "silica"),
    [
        (54, 25.90, 0.5, 4),
        (84, 25.90, 0.5, 5),
        (108, 38.85, 0.6, 6),
        (132, 51.80, 0.7, 7),
        (156, 64.75, 0.8, 8),
        (180, 77.70, 0.9, 9),
        (204, 90.65, 1.0, 10),
    ],
)
def test_segers_half_mole_batches_give_his_formulas(
    quartz: float, kaolin: float, alumina: float, silica: float
) -> None:
    found = unity(analysis_wt(Recipe("cone", {FELDSPAR: 83.55, WHITING: 35.00, FLINT: quartz, KAOLIN: kaolin})))
    assert dict(found) == pytest.approx({"SiO2": silica, "Al2O3": alumina, "K2O": 0.3, "CaO": 0.7}, abs=0.003)


@pytest.mark.parametrize(
    ("alumina", "silica", "parts"),
    [
        (0.5, 4, (42.08, 17.65, 13.01, 27.25)),
        (0.5, 5, (36.55, 15.33, 11.30, 36.82)),
        (0.6, 6, (31.46, 13.20, 14.59, 40.75)),
        (0.7, 7, (27.62, 11.59, 17.08, 43.72)),
        (0.8, 8, (24.61, 10.32, 19.02, 46.04)),
        (0.9, 9, (22.19, 9.31, 20.59, 47.91)),
        (1.0, 10, (20.21, 8.48, 21.87, 49.44)),
    ],
)
def test_recipes_of_the_cone_series_give_the_formulas_they_were_made_from(
    alumina: float, silica: float, parts: tuple[float, ...]
) -> None:
    recipe = Recipe("cone", dict(zip((FELDSPAR, WHITING, KAOLIN, FLINT), parts, strict=True)))
    assert dict(unity(analysis_wt(recipe))) == pytest.approx(
        {"SiO2": silica, "Al2O3": alumina, "K2O": 0.3, "CaO": 0.7}, abs=0.003
    )


def test_the_limestone_glaze_meets_its_worked_example() -> None:
    """Recipe common practice; figures worked by hand from the theoretical minerals."""
    weight = analysis_wt(LIMESTONE)
    assert dict(weight) == pytest.approx({"SiO2": 67.43, "Al2O3": 12.56, "CaO": 12.48, "K2O": 7.54}, abs=0.006)
    assert dict(unity(weight)) == pytest.approx(
        {"K2O": 0.2645, "CaO": 0.7355, "Al2O3": 0.4071, "SiO2": 3.7099}, abs=2e-4
    )
    assert dict(analysis_mol(LIMESTONE)) == pytest.approx(
        {"SiO2": 72.50, "Al2O3": 7.96, "CaO": 14.37, "K2O": 5.17}, abs=0.006
    )
    assert silica_alumina_ratio(weight) == pytest.approx(9.11, abs=0.005)
    assert loi_share(LIMESTONE) == pytest.approx(0.1019, abs=5e-5)


def test_the_limestone_glaze_with_soda_feldspar_meets_its_worked_example() -> None:
    recipe = Recipe("soda", {"soda feldspar": 40, FLINT: 30, WHITING: 20, KAOLIN: 10})
    assert dict(unity(analysis_wt(recipe))) == pytest.approx(
        {"Na2O": 0.2762, "CaO": 0.7238, "Al2O3": 0.4165, "SiO2": 3.7465}, abs=2e-4
    )


def test_dolomite_is_half_lime_and_half_magnesia() -> None:
    assert dict(unity(analysis_wt(Recipe("dolomite", {"dolomite": 100})))) == pytest.approx(
        {"CaO": 0.5, "MgO": 0.5}, abs=0.001
    )


def test_calcined_kaolin_in_the_place_of_kaolin_keeps_the_formula() -> None:
    """10.000 of kaolin are 8.604 of metakaolin (Binns rounds the pair to 258 and 222)."""
    calcined = Recipe("calcined", {FELDSPAR: 40, FLINT: 30, WHITING: 20, "calcined kaolin": 8.604})
    assert dict(unity(analysis_wt(calcined))) == pytest.approx(dict(unity(analysis_wt(LIMESTONE))), abs=2e-4)


def test_a_printed_recipe_and_formula_that_do_not_agree_are_told_apart() -> None:
    """GTZ 1993, appendix glaze 1: the printed formula is not that of the printed recipe (K2O .25 against .343)."""
    recipe = Recipe(
        "printed",
        {"boron frit (generic)": 35.7, FELDSPAR: 25.8, KAOLIN: 1.0, FLINT: 17.2, "soda feldspar": 20.3},
    )
    found = unity(analysis_wt(recipe))
    worked = {"K2O": 0.343, "Na2O": 0.261, "CaO": 0.397, "Al2O3": 0.530, "SiO2": 4.375, "B2O3": 0.751}
    assert dict(found) == pytest.approx(worked, abs=0.003)
    assert abs(found["SiO2"] - 3.50) > 0.5


def test_the_frit_of_that_book_meets_its_own_unity_formula() -> None:
    found = unity(analysis_wt(Recipe("frit", {"boron frit (generic)": 100})))
    worked = {"K2O": 0.2217, "Na2O": 0.1441, "CaO": 0.6342, "Al2O3": 0.2217, "SiO2": 1.3301, "B2O3": 1.2001}
    assert dict(found) == pytest.approx(worked, abs=0.002)


def test_colouring_oxides_count_as_flux_only_when_asked() -> None:
    coloured = analysis_wt(Recipe("blue", LIMESTONE.base, {"cobalt carbonate": 3}))
    off, on = unity(coloured), unity(coloured, count_colours=True)
    assert off["K2O"] + off["CaO"] == pytest.approx(1.0)
    assert on["K2O"] + on["CaO"] + on["CoO"] == pytest.approx(1.0)
    assert on["CaO"] < off["CaO"]


def test_no_flux_is_told_clearly() -> None:
    with pytest.raises(OutOfRange, match="no flux"):
        unity(analysis_wt(Recipe("clay and flint", {KAOLIN: 50, FLINT: 50})))


def test_no_alumina_and_unknown_oxides_are_told_clearly() -> None:
    with pytest.raises(OutOfRange, match="alumina"):
        silica_alumina_ratio({"SiO2": 60, "CaO": 40})
    with pytest.raises(NotInTable, match="XyO"):
        unity({"XyO": 5})
    with pytest.raises(OutOfRange, match="CaO"):
        unity({"CaO": float("nan")})


@given(st.dictionaries(st.sampled_from(list(TWENTY_OXIDES)), st.floats(0.01, 80), min_size=1))
def test_weight_and_mol_per_cent_go_there_and_back(oxides_wt: dict[str, float]) -> None:
    whole = sum(oxides_wt.values())
    back = wt_percent(mol_percent(oxides_wt))
    assert dict(back) == pytest.approx({formula: 100 * wt / whole for formula, wt in oxides_wt.items()})


NAMES = [FELDSPAR, "soda feldspar", KAOLIN, FLINT, WHITING, "dolomite", "talc", "zinc oxide", "boron frit (generic)"]


@given(st.lists(st.lists(st.floats(0.1, 60), min_size=9, max_size=9), min_size=1, max_size=4))
def test_many_at_once_agree_with_one_at_a_time(table: list[list[float]]) -> None:
    found = analyses_wt(np.array(table), [shelf()[name] for name in NAMES])
    for row, parts in zip(found, table, strict=True):
        one = analysis_wt(Recipe("one", dict(zip(NAMES, parts, strict=True))))
        assert row == pytest.approx(np.array([one.get(formula, 0.0) for formula in TWENTY_OXIDES]), abs=1e-9)


def test_many_at_once_leave_the_parts_alone_and_refuse_what_cannot_be() -> None:
    parts = np.array([[40.0, 60.0]])
    chosen = [shelf()[FELDSPAR], shelf()[FLINT]]
    analyses_wt(parts, chosen)
    assert parts.tolist() == [[40.0, 60.0]]
    with pytest.raises(OutOfRange, match="shape"):
        analyses_wt(np.ones((2, 3)), chosen)
    for wrong in (-1.0, np.nan, np.inf):
        with pytest.raises(OutOfRange, match="negative or not finite"):
            analyses_wt(np.array([[1.0, wrong], [1.0, 1.0]]), chosen)
    with pytest.raises(OutOfRange, match="recipe 1"):
        analyses_wt(np.array([[1.0, 1.0], [0.0, 0.0]]), chosen)
    with pytest.raises(OutOfRange, match="PbO"):
        analyses_wt(parts, [shelf()[FELDSPAR], shelf()["white lead"]])


def test_each_fluxs_share_and_the_ratio_of_alkalis_to_earths_meet_the_limestone_glaze() -> None:
    """Worked example A2: K2O 0.2645, CaO 0.7355; the fluxes add up to one, so the shares are those figures."""
    shares = flux_shares(analysis_wt(LIMESTONE))
    assert dict(shares) == {"K2O": pytest.approx(0.2645, abs=5e-5), "CaO": pytest.approx(0.7355, abs=5e-5)}
    assert r2o_share(analysis_wt(LIMESTONE)) == pytest.approx(0.2645, abs=5e-5)
    with pytest.raises(OutOfRange, match="no flux"):
        flux_shares({"SiO2": 60.0, "Fe2O3": 40.0})
