"""Handles and lids against the elliptic integral, a plain integral and the trade's weights."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe

from tests.form.working import meets_its_working
from wareboard.errors import OutOfRange
from wareboard.form.handle import half_ellipse_mm, lid, strap


@given(tall=st.floats(10.0, 100.0), ratio=st.floats(0.2, 5.0))
def test_half_an_ellipse_meets_the_elliptic_integral(tall: float, ratio: float) -> None:
    """scipy.special.ellipe, the complete elliptic integral of the second kind: the perimeter is 4 a E(1 - b^2 / a^2)."""
    great, small = max(tall, tall * ratio), min(tall, tall * ratio)
    assert half_ellipse_mm(tall, tall * ratio) == pytest.approx(2 * great * ellipe(1 - (small / great) ** 2), rel=1e-5)


def test_half_a_circle_is_pi_r() -> None:
    assert half_ellipse_mm(30.0, 30.0) == pytest.approx(math.pi * 30)


def test_the_middle_line_drawn_is_as_long_as_said() -> None:
    """Arithmetic: half the 7 mm of the strap beyond the gap of 30 mm is 33.5; as far in at each end."""
    made = strap(75.0, 30.0, 20.0, 7.0)
    drawn = np.hypot(*np.diff(made.centre_mm, axis=0).T).sum()
    assert drawn == pytest.approx(made.length_mm, rel=1e-3)
    assert made.centre_mm[0] == pytest.approx([3.5, 0.0])
    assert made.centre_mm[-1] == pytest.approx([71.5, 0.0], abs=1e-9)
    assert made.centre_mm[:, 1].max() == pytest.approx(33.5)


def test_the_clay_of_a_tapered_strap_meets_a_plain_sum() -> None:
    made = strap(75.0, 30.0, 20.0, 7.0, taper=2 / 3, rounded=0.87)
    along = (np.arange(100_000) + 0.5) / 100_000
    left = 1 - (1 - 2 / 3) * along
    assert made.volume_mm3 == pytest.approx((0.87 * 20 * left * 7 * left).mean() * made.length_mm, rel=1e-8)


def test_a_usual_mug_handle_takes_the_trades_clay() -> None:
    """Strap 18-25 by 6-9 mm, opening 25-35 by 60-80: 25-50 g stays of a lug of 60-100 g. Common practice."""
    made = strap(80.0, 32.0, 24.0, 8.5)
    assert 25.0 <= made.kept_wet_g <= 55.0
    assert 60.0 <= made.blank_g <= 110.0
    assert made.blank_low_g < made.blank_g < made.blank_high_g


def test_wet_sizes_are_fired_over_one_less_shrinkage() -> None:
    """Definition of linear shrinkage on the plastic length."""
    made = strap(75.0, 30.0, 20.0, 7.0, shrinkage=0.12)
    assert made.wet_length_mm == pytest.approx(made.length_mm / 0.88)
    assert made.wet_gap_mm == pytest.approx(34.0909, abs=5e-5)
    assert made.wet_width_mm == pytest.approx(20 / 0.88)
    assert made.wet_thickness_mm == pytest.approx(7 / 0.88)


def test_handle_and_lid_show_their_working() -> None:
    meets_its_working(strap(75.0, 30.0, 20.0, 7.0).steps)
    meets_its_working(lid(120.0, 40.0, knob_mm=25.0).steps)


def test_a_knob_adds_its_ball_of_clay() -> None:
    """Volume of a sphere, pi d^3 / 6 (closed form)."""
    bare, knobbed = lid(120.0, 40.0), lid(120.0, 40.0, knob_mm=25.0)
    assert knobbed.clay_volume_mm3 - bare.clay_volume_mm3 == pytest.approx(math.pi * 25**3 / 6)
    assert knobbed.ball_g > knobbed.kept_wet_g > knobbed.fired_g


@pytest.mark.parametrize(("over_ledge_mm", "high_mm", "knob_mm"), [(70.0, 25.0, 20.0), (78.0, 28.0, 22.0)])
def test_a_teapots_lid_takes_the_trades_ball(over_ledge_mm: float, high_mm: float, knob_mm: float) -> None:
    """Lid of a teapot of a litre: 120 to 200 g of clay, common practice; the lids' own sizes are invented."""
    assert 120.0 <= lid(over_ledge_mm, high_mm, knob_mm=knob_mm).ball_g <= 200.0


def test_a_handle_that_cannot_be_is_refused() -> None:
    with pytest.raises(OutOfRange, match="finger gap"):
        strap(75.0, -1.0, 20.0, 7.0)
    with pytest.raises(OutOfRange, match="no room between"):
        strap(20.0, 30.0, 20.0, 12.0)
    with pytest.raises(OutOfRange, match="taper"):
        strap(75.0, 30.0, 20.0, 7.0, taper=1.5)
    with pytest.raises(OutOfRange, match="used share"):
        strap(75.0, 30.0, 20.0, 7.0, used_share=0.0)
    with pytest.raises(OutOfRange, match="shrinkage is 12"):
        strap(75.0, 30.0, 20.0, 7.0, shrinkage=12.0)
