"""The shelf of materials and the oxides.

Molar masses: molmass as used, against periodictable (an independent library; the two hold different editions of the
atomic weights, so they agree within 50 parts per million). Theoretical analyses: recomputed here from each mineral's
formula with periodictable. Calcined dolomite: L. Katz, sources of fluxes, prints CaO 58.17 %, MgO 41.83 %.
"""

from __future__ import annotations

import periodictable
import pytest

from wareboard.errors import NotInTable, OutOfRange, Problems
from wareboard.glaze.hazard import hazards
from wareboard.glaze.material import Material, material, materials_of, near_names, shelf
from wareboard.glaze.oxide import molar_mass_g, oxides
from wareboard.reference import rows, sources

WORDS = {"common-practice", "from-memory", "definition", "derived"}


@pytest.mark.parametrize("formula", list(oxides()))
def test_molar_masses_meet_an_independent_library(formula: str) -> None:
    assert molar_mass_g(formula) == pytest.approx(periodictable.formula(formula).mass, rel=5e-5)


def _atoms(formula: str) -> dict[str, float]:
    return {str(atom): float(count) for atom, count in periodictable.formula(formula).atoms.items()}


THEORETICAL = [row["material"] for row in rows("glaze/materials") if row["kind"] == "theoretical" and row["formula"]]
FIRED_OXIDES = set(next(iter(rows("glaze/materials")))) & set(oxides()) - {"FeO"}
FIRED_AS = {str(next(iter(periodictable.formula(formula).atoms))): formula for formula in sorted(FIRED_OXIDES)}
IRON_KEPT_AS_PRINTED = {"ilmenite": "FeO"}


@pytest.mark.parametrize("name", THEORETICAL)
def test_theoretical_minerals_hold_what_their_formula_says(name: str) -> None:
    formula = next(row["formula"] for row in rows("glaze/materials") if row["material"] == name)
    atoms = _atoms(formula)
    whole = periodictable.formula(formula).mass
    expected: dict[str, float] = {}
    for atom, count in atoms.items():
        if atom in FIRED_AS:
            as_oxide = IRON_KEPT_AS_PRINTED.get(name, FIRED_AS[atom]) if atom == "Fe" else FIRED_AS[atom]
            fired = periodictable.formula(as_oxide)
            held = {str(key): number for key, number in fired.atoms.items()}[atom]
            expected[as_oxide] = 100.0 * count / held * fired.mass / whole
    assert dict(shelf()[name].oxides_wt) == pytest.approx(expected, abs=0.0006)


@pytest.mark.parametrize("name", list(shelf()))
def test_oxides_and_loss_add_up_to_the_raw_weight(name: str) -> None:
    """Within 1 %, as printed sums of published analyses are (99.49 to 100.0)."""
    entry = shelf()[name]
    assert sum(entry.oxides_wt.values()) + 100 * entry.loi_share == pytest.approx(100.0, abs=0.6)


def test_calcined_dolomite_meets_the_printed_halves() -> None:
    """L. Katz, sources of fluxes: CaO 58.17 %, MgO 41.83 %."""
    held = shelf()["dolomite"].oxides_wt
    whole = held["CaO"] + held["MgO"]
    assert 100 * held["CaO"] / whole == pytest.approx(58.17, abs=0.02)
    assert 100 * held["MgO"] / whole == pytest.approx(41.83, abs=0.02)


def test_the_tables_keep_their_rows_and_every_row_its_source() -> None:
    for table, count in (
        ("materials", 58),
        ("oxides", 33),
        ("expansion", 64),
        ("hazards", 21),
        ("expansion_checked", 4),
    ):
        lines = rows(f"glaze/{table}")
        assert len(lines) == count
        for line in lines:
            assert None not in line
            assert line["source"] in sources() or line["source"] in WORDS, line
    assert sum(float(row["SiO2"] or 0) for row in rows("glaze/materials")) == pytest.approx(1125.08, abs=0.005)  # ours


def test_every_hazard_a_material_names_is_in_the_table() -> None:
    for entry in shelf().values():
        assert set(entry.hazards) <= set(hazards()), entry.name


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("Whiting", "whiting"),
        ("silica", "silica / flint"),
        ("FLINT", "silica / flint"),
        ("quartz", "silica / flint"),
        ("copper carbonate", "copper carbonate (basic)"),
        ("titanium dioxide", "rutile / titanium dioxide"),
    ],
)
def test_a_material_answers_to_its_plain_names(written: str, found: str) -> None:
    assert material(written).name == found


def test_an_unknown_name_is_refused_with_the_nearest_names() -> None:
    with pytest.raises(NotInTable, match="'kaolin'"):
        material("kaoline")
    with pytest.raises(NotInTable, match="'silica / flint'"):
        material("quarz")
    with pytest.raises(NotInTable, match="more than one"):
        material("nepheline syenite")
    assert near_names("xyzzy", shelf().values()) == ()


def test_several_unknown_names_are_told_at_once() -> None:
    with pytest.raises(Problems) as caught:
        materials_of(["whiting", "moon dust", "stardust"])
    assert "moon dust" in str(caught.value)
    assert "stardust" in str(caught.value)


def test_a_material_refuses_what_is_no_analysis() -> None:
    with pytest.raises(NotInTable, match="SiO3"):
        Material("invented", {"SiO3": 50}, 0.0)
    with pytest.raises(OutOfRange, match="Al2O3"):
        Material("invented", {"Al2O3": -1}, 0.0)
