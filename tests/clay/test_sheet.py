"""Diffusion in a plane sheet against Crank's series worked apart, and against a plain march through time.

Source: J. Crank, The Mathematics of Diffusion, 2nd ed., 1975. The values for T = 0.25 are those that an independent
package prints in its documentation (0.562233541762138 gone, centre change 0.3145542331096478).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from wareboard.clay.sheet import (
    centre_gone,
    lag,
    share_gone,
    share_gone_by_evaporation,
    share_gone_early,
    surface_roots,
    time_for_share,
)
from wareboard.errors import OutOfRange

SERIES = {
    0.01: 0.112838, 0.10: 0.356823, 0.20: 0.504088, 0.25: 0.562234, 0.30: 0.613236, 0.50: 0.763950, 1.00: 0.931260,
    1.50: 0.979982, 2.00: 0.994170,
}  # fmt: skip
EARLY = {0.01: 0.112838, 0.10: 0.356825, 0.20: 0.504627, 0.25: 0.564190, 0.30: 0.618039, 0.50: 0.797885}
CENTRE = {0.05: 0.00313, 0.10: 0.05069, 0.20: 0.22769, 0.25: 0.31455, 0.50: 0.62922, 1.00: 0.89202}
ROOTS = {
    0.1: (0.3111, 3.1731, 6.2991, 9.4354),
    0.5: (0.6533, 3.2923, 6.3616, 9.4775),
    1.0: (0.8603, 3.4256, 6.4373, 9.5293),
    5.0: (1.3138, 4.0336, 6.9096, 9.8928),
    10.0: (1.4289, 4.3058, 7.2281, 10.2003),
}
EVAPORATING = {
    0.1: (0.0098, 0.0474, 0.0924, 0.1761, 0.3837, 0.6201),
    0.5: (0.0446, 0.1957, 0.3502, 0.5760, 0.8821, 0.9860),
    1.0: (0.0804, 0.3189, 0.5296, 0.7756, 0.9756, 0.9994),
    5.0: (0.2186, 0.6148, 0.8375, 0.9711, 0.9998, 1.0000),
    10.0: (0.2739, 0.6850, 0.8865, 0.9853, 1.0000, 1.0000),
}
AT = (0.1, 0.5, 1.0, 2.0, 5.0, 10.0)


def test_the_series_meets_the_table_to_the_printed_digits() -> None:
    assert np.round(share_gone(list(SERIES)), 6).tolist() == list(SERIES.values())
    assert np.round(share_gone_early(list(EARLY)), 6).tolist() == list(EARLY.values())
    assert np.round(centre_gone(list(CENTRE)), 5).tolist() == list(CENTRE.values())


def test_a_quarter_meets_an_independent_packages_fifteen_digits() -> None:
    """The digits are printed in the documentation of an independent package, as said at the head."""
    assert float(share_gone(0.25)) == pytest.approx(0.562233541762138, abs=2e-15)
    assert float(centre_gone(0.25)) == pytest.approx(0.3145542331096478, abs=2e-15)


def test_half_ninety_and_ninety_nine_per_cent_times_meet_the_table() -> None:
    found = [time_for_share(gone) for gone in (0.5, 0.9, 0.99)]
    assert found == pytest.approx([0.1967307, 0.8480854, 1.7812880], abs=5e-8)


@pytest.mark.parametrize("surface_number", list(ROOTS))
def test_roots_and_shares_by_evaporation_meet_the_tables(surface_number: float) -> None:
    assert tuple(np.round(surface_roots(surface_number, 4), 4)) == ROOTS[surface_number]
    assert tuple(np.round(share_gone_by_evaporation(AT, surface_number), 4)) == EVAPORATING[surface_number]


@given(surface_number=st.floats(1e-3, 1e3))
def test_the_first_root_meets_scipys_search(surface_number: float) -> None:
    theirs = brentq(lambda beta: beta * np.sin(beta) - surface_number * np.cos(beta), 0.0, np.pi / 2)
    assert float(surface_roots(surface_number)[0]) == pytest.approx(theirs, rel=1e-9)


def march(surface_number: float, until: float, cells: int = 100) -> float:
    """Share gone by T, from a plain explicit march in finite volumes: half sheet, sealed middle, loss L c at the surface."""
    width = 1.0 / cells
    step = 0.2 * width**2
    held = np.ones(cells)
    for _ in range(round(until / step)):
        flow = np.zeros(cells + 1)
        flow[1:-1] = (held[:-1] - held[1:]) / width
        flow[-1] = held[-1] / (1.0 / surface_number + width / 2.0)
        held = held + step / width * (flow[:-1] - flow[1:])
    return 1.0 - float(held.mean())


@pytest.mark.parametrize(("surface_number", "until"), [(0.5, 0.5), (5.0, 0.3)])
def test_evaporation_meets_a_plain_march_through_time(surface_number: float, until: float) -> None:
    assert float(share_gone_by_evaporation(until, surface_number)) == pytest.approx(
        march(surface_number, until), abs=2e-4
    )


def test_the_early_form_and_the_series_meet_where_they_change_over() -> None:
    below, above = share_gone([0.02 * (1 - 1e-12), 0.02])
    assert below == pytest.approx(above, rel=1e-11)
    assert share_gone(0.0) == 0.0
    assert centre_gone(0.0) == 0.0
    assert share_gone_by_evaporation(0.0, 2.0) == pytest.approx(0.0, abs=1e-12)


@given(surface_number=st.floats(1e-4, 50.0))
def test_a_thin_sheet_lags_by_a_third_of_its_number_and_a_thick_one_more(surface_number: float) -> None:
    """A constant flow draws a parabola whose mean stands L / 3 of the surface's excess above the surface."""
    found = float(lag(surface_number))
    assert 1.0 <= found <= 1.0 + surface_number / 3.0 + 0.09 * surface_number
    if surface_number < 0.01:
        assert found == pytest.approx(1.0 + surface_number / 3.0, abs=1e-5)


def test_negative_times_and_numbers_are_refused() -> None:
    with pytest.raises(OutOfRange, match="time"):
        share_gone(-0.1)
    with pytest.raises(OutOfRange, match="surface number"):
        lag(0.0)
    with pytest.raises(OutOfRange, match="share gone"):
        time_for_share(1.0)
