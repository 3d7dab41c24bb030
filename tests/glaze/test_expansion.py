"""Calculated expansion against measured glazes.

F. P. Hall, J. Am. Ceram. Soc. 13 (1930) 182-199, 116 glazes read through SciGlass (data/hall1930_glazes.csv, Open Database
License, see the notice beside it); mol %, expansion in 1e-7 per kelvin. The check of each set is over the 53 glazes
without lead, colouring oxides and arsenic. Silica alone differs tenfold
between sets: Fournier p. 60, quoted in the Clayart archive 1998 (0.05 and 0.27 per weight %).
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from wareboard.errors import NotInTable, OutOfRange
from wareboard.glaze.expansion import checked, difference, expansion, factor_sets, linear_per_k
from wareboard.glaze.formula import analysis_wt, wt_percent
from wareboard.glaze.recipe import Recipe
from wareboard.working import worked_out

OXIDES = ("SiO2", "Al2O3", "B2O3", "Na2O", "K2O", "CaO", "MgO", "ZnO", "BaO")


def _hall(without: tuple[str, ...] = ("PbO", "Fe2O3", "As2O3", "Mn2O3")) -> list[tuple[dict[str, float], float]]:
    found = []
    with (Path(__file__).parent / "data" / "hall1930_glazes.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if any(float(row[f"{other}_mol_pct"]) for other in without):
                continue
            mol = {formula: float(row[f"{formula}_mol_pct"]) for formula in OXIDES}
            measured = float(row["measured_expansion_1e7_per_K"])
            found.append(({formula: amount for formula, amount in mol.items() if amount}, measured))
    return found


def _errors(factor_set: str) -> np.ndarray:
    """Measured less calculated, 1e-7/K."""
    return np.array([measured - 1e7 * linear_per_k(wt_percent(mol), factor_set) for mol, measured in _hall()])


def test_appen_meets_the_measured_glazes_within_nine_units_root_mean_square() -> None:
    errors = _errors("appen")
    assert len(errors) == 53
    assert np.sqrt(np.mean(errors**2)) <= 9.0


def test_with_the_one_that_holds_a_little_arsenic_it_is_fifty_four_and_still_within_nine_units() -> None:
    """F. P. Hall 1930, 54 lead-free uncoloured glazes: Appen bias -5.9, RMSE 8.7 as worked out apart from this code.

    Appen has no factor for the 0.19 % of As2O3 in one of them; it is left out of the whole.
    """
    glazes = _hall(without=("PbO", "Fe2O3", "Mn2O3"))
    errors = np.array([1e7 * linear_per_k(wt_percent(mol)) - measured for mol, measured in glazes])
    assert len(errors) == 54
    assert round(float(errors.mean()), 1) == -5.9
    assert round(float(np.sqrt(np.mean(errors**2))), 1) == 8.7


@pytest.mark.parametrize("factor_set", list(factor_sets()))
def test_the_shipped_summary_of_each_set_is_what_the_measured_glazes_say(factor_set: str) -> None:
    errors, told = _errors(factor_set), checked()[factor_set]
    assert told.glazes == len(errors)
    assert np.mean(errors) == pytest.approx(told.bias, abs=0.06)
    assert np.sqrt(np.mean(errors**2)) == pytest.approx(told.rmse, abs=0.06)
    assert np.quantile(errors, [0.05, 0.95]) == pytest.approx(np.array([told.low, told.high]), abs=0.06)


def test_the_range_holds_nine_measured_glazes_in_ten() -> None:
    inside = [
        (found := expansion(wt_percent(mol))).low_per_k <= measured * 1e-7 <= found.high_per_k
        for mol, measured in _hall()
    ]
    assert 0.85 <= np.mean(inside) <= 0.95


@pytest.mark.parametrize(
    ("factor_set", "printed"),
    [("appen", 0.96), ("english-turner", 0.96), ("winkelmann-schott", 0.90), ("mayer-havas", 0.90)],
)
def test_the_order_of_glazes_is_right_far_more_often_than_not(factor_set: str, printed: float) -> None:
    """Pairs of measured glazes at least 5 units apart."""
    measured = np.array([figure for _, figure in _hall()])
    calculated = measured - _errors(factor_set)
    first, second = np.triu_indices(len(measured), 1)
    apart = np.abs(measured[first] - measured[second]) >= 5
    agree = np.sign(measured[first] - measured[second]) == np.sign(calculated[first] - calculated[second])
    assert np.mean(agree[apart]) == pytest.approx(printed, abs=0.02)


EIGHT = [  # mol %, then calculated by hand with Appen, Winkelmann and Schott, English and Turner
    ((65.91, 5.86, 21.71, 2.56, 3.96, 0, 0, 0), (51.7, 55.9, 21.7)),
    ((73.36, 10.69, 0, 0.32, 2.55, 13.08, 0, 0), (49.0, 76.4, 39.9)),
    ((56.81, 13.30, 0, 1.64, 1.41, 19.91, 6.93, 0), (60.7, 89.9, 51.0)),
    ((61.97, 14.50, 2.63, 1.15, 2.11, 9.70, 0, 7.94), (50.1, 81.2, 39.4)),
    ((70.93, 10.02, 0, 2.95, 2.73, 13.37, 0, 0), (62.9, 83.8, 52.1)),
    ((56.67, 7.65, 8.21, 7.34, 4.97, 0, 15.16, 0), (79.3, 80.9, 63.1)),
    ((58.00, 6.89, 8.17, 7.51, 5.65, 13.78, 0, 0), (91.8, 99.1, 80.4)),
    ((64.30, 6.03, 0, 17.29, 0.13, 12.25, 0, 0), (107.4, 108.9, 97.2)),
]


@pytest.mark.parametrize(("mol", "units"), EIGHT)
def test_eight_glazes_meet_the_worked_figures(mol: tuple[float, ...], units: tuple[float, ...]) -> None:
    oxides_wt = wt_percent({formula: amount for formula, amount in zip(OXIDES, mol, strict=False) if amount})
    found = [1e7 * linear_per_k(oxides_wt, name) for name in ("appen", "winkelmann-schott", "english-turner")]
    assert found == pytest.approx(list(units), abs=0.11)


LIMESTONE = analysis_wt(Recipe("limestone", {"potash feldspar": 40, "flint": 30, "whiting": 20, "kaolin": 10}))


@pytest.mark.parametrize(
    ("factor_set", "units"),
    [("appen", 61.57), ("winkelmann-schott", 81.06), ("mayer-havas", 81.06), ("english-turner", 54.86)],
)
def test_sets_differ_widely_on_one_glaze(factor_set: str, units: float) -> None:
    assert 1e7 * linear_per_k(LIMESTONE, factor_set) == pytest.approx(units, abs=0.01)


def test_silica_alone_differs_tenfold_between_sets() -> None:
    assert 1e7 * linear_per_k({"SiO2": 1.0}, "english-turner") == pytest.approx(0.05 * 100)
    assert 1e7 * linear_per_k({"SiO2": 1.0}, "winkelmann-schott") == pytest.approx(0.27 * 100, rel=0.02)


def test_results_of_different_sets_are_never_compared() -> None:
    one, other = expansion(LIMESTONE, "appen"), expansion(LIMESTONE, "mayer-havas")
    with pytest.raises(OutOfRange, match="same set"):
        difference(one, other)
    assert difference(one, one) == 0.0


def test_a_result_carries_its_set_its_trust_and_its_working() -> None:
    for name in factor_sets():
        found = expansion(LIMESTONE, name)
        assert found.factor_set == name
        assert "from memory" in found.trust
        assert found.low_per_k <= found.value_per_k <= found.high_per_k
        for step in found.steps:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    assert expansion(LIMESTONE).rmse_per_k == pytest.approx(
        8.7e-7
    )  # ours: glaze/expansion_checked.csv, over Hall's glazes


def test_oxides_without_a_factor_are_told_or_refused() -> None:
    tinted = {**LIMESTONE, "Fe2O3": 1.0}
    assert list(expansion(tinted).left_out) == ["Fe2O3"]
    assert linear_per_k(tinted) == pytest.approx(linear_per_k(LIMESTONE), rel=0.05)
    with pytest.raises(OutOfRange, match="Fe2O3"):
        expansion({**LIMESTONE, "Fe2O3": 9.0})
    with pytest.raises(NotInTable, match="appen"):
        expansion(LIMESTONE, "no such set")
