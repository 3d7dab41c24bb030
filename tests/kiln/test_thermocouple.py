"""Type K and S against the printed NIST ITS-90 tables."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import NotInTable, OutOfRange
from wareboard.kiln.thermocouple import RANGES_C, millivolts, temperature_c

TEMPS = (25, 100, 200, 400, 573, 600, 800, 1000, 1063, 1100, 1200, 1222, 1285, 1300)
K_MV = (1.000, 4.096, 8.138, 16.397, 23.757, 24.905, 33.275, 41.276, 43.710, 45.119, 48.838, 49.637, 51.885, 52.410)
S_MV = (0.143, 0.646, 1.441, 3.259, 4.964, 5.239, 7.345, 9.587, 10.320, 10.757, 11.951, 12.216, 12.977, 13.159)


@pytest.mark.parametrize(("kind", "printed"), [("K", K_MV), ("S", S_MV)])
def test_millivolts_meet_the_table(kind: str, printed: tuple[float, ...]) -> None:
    """NIST SRD 60, evaluated apart from the coefficients; at 100, 1000 and 1200 °C equal to the printed table."""
    np.testing.assert_allclose(millivolts(TEMPS, kind), printed, atol=0.00051)


@pytest.mark.parametrize(("force", "kind", "temp"), [(48.0, "K", 1204.44), (12.0, "S", 1215.95)])
def test_the_cold_junction_is_put_in(force: float, kind: str, temp: float) -> None:
    """Terminals at 25 °C, worked from the reference functions; forgetting them reads type K as 1177.14 °C."""
    assert float(temperature_c(force, kind, 25.0)) == pytest.approx(temp, abs=0.006)
    assert float(temperature_c(48.0, "K")) == pytest.approx(1177.14, abs=0.006)


@given(st.sampled_from("KS"), st.floats(0.0, 1371.0), st.floats(0.0, 45.0))
def test_there_and_back(kind: str, temp: float, terminals: float) -> None:
    force = float(millivolts(temp, kind)) - float(millivolts(terminals, kind))
    assert float(temperature_c(force, kind, terminals)) == pytest.approx(temp, abs=0.01)


def test_the_two_halves_of_type_s_join() -> None:
    join = millivolts([1064.18, 1064.1801], "S")
    assert join[1] - join[0] == pytest.approx(0.0001 * 0.0117, abs=2e-5)


@pytest.mark.parametrize("kind", ["K", "S"])
def test_outside_the_reference_function_it_refuses(kind: str) -> None:
    low, high = RANGES_C[kind]
    for temp in (low - 1.0, high + 1.0, float("nan")):
        with pytest.raises(OutOfRange, match=f"type {kind}"):
            millivolts(temp, kind)
    with pytest.raises(OutOfRange, match="mV"):
        temperature_c(99.0, kind)
    with pytest.raises(NotInTable, match="K and S"):
        millivolts(100.0, "J")
