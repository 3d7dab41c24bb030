"""Damp air against the handbook's tables.

Source: 2017 ASHRAE Handbook: Fundamentals, ch. 1, Tables 1, 2 and 3 and Example 1, as quoted in the tests of the open
library psychrolib (tests/test_psychrolib_si.py); and that library's own printed results, version 2.5.0. It has no wheel, so
it is no dependency: its printed values stand here.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.clay.air import (
    Air,
    air_from_wet_bulb,
    humidity_ratio,
    pressure_at_altitude_pa,
    ratio_from_wet_bulb,
    saturation_pressure_pa,
    vapour_density_kg_per_m3,
    vapour_pressure_pa,
)
from wareboard.errors import OutOfRange


@pytest.mark.parametrize(
    ("temp_c", "table_pa"),
    [(-20, 103.24), (-5, 401.74), (5, 872.6), (25, 3169.7), (50, 12351.3), (100, 101418.0), (150, 476101.4)],
)
def test_saturation_pressure_meets_the_handbooks_table_to_three_parts_in_ten_thousand(
    temp_c: float, table_pa: float
) -> None:
    """Table 3; the handbook itself claims 300 parts in a million."""
    assert saturation_pressure_pa(temp_c) == pytest.approx(table_pa, rel=3e-4)


@pytest.mark.parametrize(("temp_c", "table_pa"), [(10, 1227), (15, 1704), (20, 2337), (25, 3167), (30, 4243)])
def test_saturation_pressure_lies_near_an_older_formulation(temp_c: float, table_pa: float) -> None:
    """An engineering reference site's table, older formulation; agrees within 0.1 %."""
    assert saturation_pressure_pa(temp_c) == pytest.approx(table_pa, rel=1e-3)


def test_saturation_pressure_at_room_temperature_is_as_the_library_prints_it() -> None:
    """psychrolib 2.5.0: 2338.80 Pa at 20 °C, 3169.22 Pa at 25 °C."""
    assert saturation_pressure_pa(20.0) == pytest.approx(2338.80, abs=0.005)
    assert saturation_pressure_pa(25.0) == pytest.approx(3169.22, abs=0.005)


@pytest.mark.parametrize(
    ("temp_c", "table", "within"),
    [(-20, 0.0006373, 0.01), (-5, 0.0024863, 0.005), (5, 0.005425, 0.005), (25, 0.020173, 0.005), (50, 0.086863, 0.01)],
)
def test_humidity_of_saturated_air_meets_the_table_as_nearly_as_an_ideal_mixture_can(
    temp_c: float, table: float, within: float
) -> None:
    """Table 2, at 101325 Pa; the tolerances are those that the library's own tests allow the ideal mixture."""
    assert Air(temp_c, 1.0).ratio == pytest.approx(table, rel=within)


def test_heat_and_volume_of_air_meet_the_table() -> None:
    """Table 2: saturated air at 25 °C 76504 J/kg (ideal mixture 0.26 % off), dry air 25148 J/kg and 0.8443 m3/kg."""
    assert Air(25, 1.0).enthalpy_j_per_kg_dry == pytest.approx(76504, rel=0.003)
    assert Air(25, 1.0).enthalpy_j_per_kg_dry == pytest.approx(76306.7, abs=0.1)
    assert Air(25, 0.0).enthalpy_j_per_kg_dry == pytest.approx(25148, rel=3e-4)
    assert Air(25, 0.0).volume_m3_per_kg_dry == pytest.approx(0.8443, rel=1e-3)


def test_the_handbooks_first_example_is_met() -> None:
    """Example 1: 40 °C dry, 20 °C wet: W 0.0065, RH 14 %, 56.7 kJ/kg, 0.896 m3/kg, dew point 7 °C (within half a degree)."""
    air = air_from_wet_bulb(40.0, 20.0)
    # 0.00640 by the ideal mixture: the handbook's example is read off its real-gas chart, 1.5 % higher.
    assert air.ratio == pytest.approx(0.0065, abs=1e-4)
    assert air.rh == pytest.approx(0.14, abs=0.005)
    assert air.enthalpy_j_per_kg_dry == pytest.approx(56700, abs=100)
    assert air.volume_m3_per_kg_dry == pytest.approx(0.896, abs=5e-4)
    assert air.dew_point_c == pytest.approx(7.0, abs=0.5)


def test_room_air_is_as_the_library_prints_it() -> None:
    """psychrolib 2.5.0, 20 and 25 °C at 50 %: humidity ratio, dew point, wet bulb."""
    cool, warm = Air(20.0, 0.5), Air(25.0, 0.5)
    assert Air(20.0, 1.0).ratio == pytest.approx(0.0146951, abs=5e-8)
    assert cool.ratio == pytest.approx(0.00726174, abs=5e-9)
    assert warm.ratio == pytest.approx(0.00988104, abs=5e-9)
    assert cool.dew_point_c == pytest.approx(9.2724, abs=5e-4)
    assert warm.dew_point_c == pytest.approx(13.8640, abs=5e-4)
    # Its wet bulb is found only to within 0.001 °C.
    assert cool.wet_bulb_c == pytest.approx(13.7834, abs=1e-3)
    assert warm.wet_bulb_c == pytest.approx(17.8894, abs=1e-3)


@pytest.mark.parametrize(
    ("temp_c", "rh", "wet_c"),
    [(20, 0.5, 13.783), (20, 0.7, 16.441), (20, 0.9, 18.864), (25, 0.4, 16.210), (15, 0.6, 10.818)],
)
def test_wet_bulbs_of_the_drying_table_are_met(temp_c: float, rh: float, wet_c: float) -> None:
    """Computed with psychrolib 2.5.0, whose search stops within 0.001 °C."""
    assert Air(temp_c, rh).wet_bulb_c == pytest.approx(wet_c, abs=1.5e-3)


def test_the_wet_and_dry_thermometer_equations_meet_a_spreadsheets_values() -> None:
    """psychrolib's tests, worked in a spreadsheet: 30/25 °C and -1/-5 °C at 95461 Pa; damp air at 30 °C, W 0.02."""
    assert ratio_from_wet_bulb(30, 25, 95461) == pytest.approx(0.0192281274241096, rel=3e-4)
    assert ratio_from_wet_bulb(-1, -5, 95461) == pytest.approx(0.00120399819933844, rel=3e-4)
    assert humidity_ratio(3169.7, 95461) == pytest.approx(0.0213603998047487, rel=1e-6)
    air = Air(30, vapour_pressure_pa(0.02, 95461) / saturation_pressure_pa(30), 95461)
    assert air.enthalpy_j_per_kg_dry == pytest.approx(81316, rel=3e-4)
    assert air.volume_m3_per_kg_dry == pytest.approx(0.940855374352943, rel=3e-4)
    assert air.density_kg_per_m3 == pytest.approx(1.08411986348219, rel=3e-4)


@pytest.mark.parametrize(
    ("altitude_m", "table_pa"), [(-500, 107478), (0, 101325), (500, 95461), (1000, 89875), (4000, 61640)]
)
def test_air_pressure_by_altitude_meets_the_table(altitude_m: float, table_pa: float) -> None:
    """Table 1 of the same chapter."""
    assert pressure_at_altitude_pa(altitude_m) == pytest.approx(table_pa, abs=1.0)


def test_saturated_vapour_at_20_weighs_17_grams_a_cubic_metre() -> None:
    """17.287 g/m3: p / (461.52 T), worked apart."""
    assert vapour_density_kg_per_m3(saturation_pressure_pa(20), 20) * 1000 == pytest.approx(17.287, abs=5e-4)


@given(temp_c=st.floats(1.0, 45.0), rh=st.floats(0.05, 0.999), altitude_m=st.floats(0.0, 3000.0))
def test_dew_point_wet_bulb_and_air_stand_in_order_and_lead_back(temp_c: float, rh: float, altitude_m: float) -> None:
    air = Air(temp_c, rh, pressure_at_altitude_pa(altitude_m))
    assert air.dew_point_c <= air.wet_bulb_c + 0.02 <= temp_c + 0.04
    back = air_from_wet_bulb(temp_c, air.wet_bulb_c, air.pressure_pa)
    # At 0 °C the equation jumps from water to ice, and no wet bulb meets a ratio within the jump.
    if abs(air.wet_bulb_c) > 0.01:
        assert back.rh == pytest.approx(rh, abs=1e-6)


@pytest.mark.parametrize(("temp_c", "rh"), [(20, -0.1), (20, 1.1), (20, 55), (float("nan"), 0.5), (400, 0.5), (120, 1)])
def test_air_that_cannot_be_is_refused(temp_c: float, rh: float) -> None:
    with pytest.raises(OutOfRange, match=r"humidity|temperature|vapour"):
        Air(temp_c, rh)


def test_a_wet_thermometer_above_the_dry_one_is_refused() -> None:
    with pytest.raises(OutOfRange, match="wick"):
        ratio_from_wet_bulb(20, 21)
