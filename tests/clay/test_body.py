"""Water, density and absorption of a body against worked tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.clay.body import (
    absorption,
    dry_density_g_per_ml,
    drying_shrinkage,
    fired_density_g_per_ml,
    saturated_density_g_per_ml,
    water_dry_basis,
    water_wet_basis,
)
from wareboard.errors import OutOfRange


@pytest.mark.parametrize(
    ("weights_g", "percent_absorption", "percent_porosity", "bulk", "gravity"),
    [
        ((152.40, 91.20, 155.75), 2.1982, 5.1898, 2.36096, 2.49020),
        ((120.00, 74.00, 138.00), 15.0000, 28.1250, 1.87500, 2.60870),
    ],
)
def test_three_weighings_meet_the_worked_table(
    weights_g: tuple[float, float, float],
    percent_absorption: float,
    percent_porosity: float,
    bulk: float,
    gravity: float,
) -> None:
    """Formulas of ASTM C373 (from memory), worked apart; half of the last printed digit, and the identity P = A * B."""
    found = absorption(*weights_g)
    assert found.absorption * 100 == pytest.approx(percent_absorption, abs=5e-5)
    assert found.apparent_porosity * 100 == pytest.approx(percent_porosity, abs=5e-5)
    assert found.bulk_density_g_per_ml == pytest.approx(bulk, abs=5e-6)
    assert found.apparent_specific_gravity == pytest.approx(gravity, abs=5e-6)
    assert found.apparent_porosity == pytest.approx(found.absorption * found.bulk_density_g_per_ml)


def test_water_at_20_c_takes_the_density_down_with_it() -> None:
    """0.99821 g/cm3 makes the first specimen's bulk density 2.35673 (arithmetic)."""
    assert absorption(152.40, 91.20, 155.75, 0.99821).bulk_density_g_per_ml == pytest.approx(2.35673, abs=5e-6)


def test_a_boiled_bonsai_pot_meets_its_owners_figure() -> None:
    """1162 g dry and 1210 g boiled make 4.13 % (a public forum's worked case); the weight in water does not enter it."""
    assert absorption(1162.0, 600.0, 1210.0).absorption == pytest.approx(0.0413, abs=5e-5)


def test_weights_in_a_wrong_order_are_refused() -> None:
    with pytest.raises(OutOfRange, match="weighs less than dry"):
        absorption(120.0, 138.0, 74.0)


@pytest.mark.parametrize(
    ("water", "critical", "wet", "percent", "dry", "percent_pores"),
    [
        (0.25, 0.12, 1.97885, 7.3931, 1.99330, 23.920),
        (0.27, 0.13, 1.94881, 7.7454, 1.95435, 25.407),
        (0.27, 0.15, 1.94881, 6.5588, 1.88083, 28.212),
        (0.30, 0.14, 1.90705, 8.5309, 1.91689, 26.837),
    ],
)
def test_a_saturated_body_meets_the_worked_table(
    water: float, critical: float, wet: float, percent: float, dry: float, percent_pores: float
) -> None:
    """Conservation of mass and volume with particles of 2.62 g/cm3, worked apart.

    The last row's porosity is 26.8364 by its own dry density; the table that it comes from has one more in the last digit.
    """
    assert saturated_density_g_per_ml(2.62, water) == pytest.approx(wet, abs=5e-6)
    assert drying_shrinkage(2.62, water, critical) * 100 == pytest.approx(percent, abs=5e-5)
    assert dry_density_g_per_ml(2.62, critical) == pytest.approx(dry, abs=5e-6)
    assert (1 - dry_density_g_per_ml(2.62, critical) / 2.62) * 100 == pytest.approx(percent_pores, abs=7e-4)


def test_fired_density_meets_the_mass_and_volume_identity() -> None:
    """w0 0.26, particles 2.62, loss on ignition 0.06, shrinkage 0.125: wet 1.96360, fired 2.18668 (worked apart)."""
    wet = saturated_density_g_per_ml(2.62, 0.26)
    assert wet == pytest.approx(1.96360, abs=5e-6)
    assert fired_density_g_per_ml(wet, 0.26, 0.06, 0.125) == pytest.approx(2.18668, abs=5e-6)
    assert fired_density_g_per_ml(wet, 0.26, 0.06, 0.125, shrinkage_height=0.125) == pytest.approx(2.18668, abs=5e-6)


@given(water=st.floats(0.0, 2.0))
def test_wet_and_dry_basis_go_there_and_back(water: float) -> None:
    assert water_dry_basis(water_wet_basis(water)) == pytest.approx(water)


def test_water_of_throwing_clay_is_the_same_on_both_bases() -> None:
    """19 to 23 % of the wet weight is 0.23 to 0.30 of the dry: common practice."""
    assert round(water_dry_basis(0.19), 2) == 0.23
    assert round(water_dry_basis(0.23), 2) == 0.30


def test_critical_water_above_the_water_as_thrown_is_refused() -> None:
    with pytest.raises(OutOfRange, match="critical water"):
        drying_shrinkage(2.62, 0.2, 0.3)
