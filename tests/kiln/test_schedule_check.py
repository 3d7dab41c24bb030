"""Lag and stress through the wall, the wettest board, and what the kiln cannot do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from wareboard.errors import OutOfRange
from wareboard.kiln.schedule import Schedule, Segment, bisque_schedule, glaze_schedule
from wareboard.kiln.schedule_check import (
    ShockBody,
    schedule_notices,
    shock_step_k,
    surface_when_dry,
    usual_body,
    wall_lag,
    wall_lag_share,
)
from wareboard.kiln.thermal import BRICK_23, KilnModel, Layer, Material, simulate, wall_history
from wareboard.working import worked_out

# Invented: a top-loader of some 200 L with 64 mm of brick.
KILN = KilnModel(9.0, (Layer(BRICK_23, 64.0),), 2.2, 30.0, 25.0)
GLAZE = glaze_schedule("6")


def told(made: Schedule, wall: float = 6.0, **more: object) -> str:
    return "\n".join(map(str, schedule_notices(made, wall, **more)))  # type: ignore[arg-type]


@pytest.mark.parametrize(("wall", "rate", "lag"), [(10, 150, 1.04), (20, 150, 4.17), (50, 60, 10.42)])
def test_the_lag_of_a_wall_meets_its_closed_form(wall: float, rate: float, lag: float) -> None:
    """Carslaw-jaeger, slab heated at a steady rate, diffusivity 5e-7 m²/s: b L² / (2 α)."""
    step = wall_lag(wall, rate, 5e-7)
    assert step.value == pytest.approx(lag, abs=0.005)
    assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, rel=1e-12)


@pytest.mark.parametrize(
    ("fo", "share"), [(0.1, 0.19775), (0.25, 0.44321), (0.5, 0.69945), (1.0, 0.91248), (2.0, 0.99258)]
)
def test_the_lag_builds_up_as_the_series_says(fo: float, share: float) -> None:
    """Carslaw-jaeger, the series evaluated beforehand with scipy."""
    assert float(wall_lag_share(fo)) == pytest.approx(share, abs=5e-6)


def test_the_lag_meets_the_wall_followed_in_time() -> None:
    """A second road: half the wall, insulated in its middle, by the implicit scheme that is checked against Kern's wall."""
    clay = Material("clay", 2000.0, 1.0, 0.0, 1000.0, 0.0, "by definition")  # 5e-7 m²/s
    times = np.arange(0.0, 1801.0, 2.0)
    faces = 20.0 + 150.0 / 3600.0 * times
    middle = wall_history((Layer(clay, 25.0),), times, faces, 20.0, cell_mm=0.25)[-1, -1]
    fo = 5e-7 * 1800.0 / 0.025**2
    want = wall_lag(50.0, 150.0, 5e-7).value * float(wall_lag_share(fo))
    assert faces[-1] - middle == pytest.approx(want, rel=0.01)


def test_thermal_shock_meets_its_worked_example() -> None:
    """Strength 50 MPa, E 70 GPa, ν 0.2, 6e-6 1/K, 1.5 W/mK: R 95.2 K, R' 142.9 W/m; a 5 mm wall bears 2000 K in air, 329
    and 173 K in water (manson-kingery, formula from memory; worked beforehand). An order of magnitude.
    """
    body = ShockBody(50.0, 70.0, 0.2, 6e-6, 1.5)
    assert body == usual_body()
    assert body.r_k == pytest.approx(95.2, abs=0.05)
    assert body.r_prime_w_per_m == pytest.approx(142.9, abs=0.05)
    for film, step in ((100.0, 2000.0), (1000.0, 329.0), (5000.0, 173.0)):
        assert shock_step_k(5.0, film) == pytest.approx(step, rel=0.004)


@given(st.floats(1.0, 60.0), st.floats(1.0, 60.0))
def test_a_thicker_wall_bears_a_smaller_step_and_lags_more(one: float, other: float) -> None:
    thin, thick = sorted([one, other])
    assert shock_step_k(thin, 1000.0) >= shock_step_k(thick, 1000.0) - 1e-9
    assert wall_lag(thin, 100.0).value <= wall_lag(thick, 100.0).value + 1e-12


def test_a_wet_wall_dries_where_a_followed_front_says() -> None:
    """A second road: the front's own equation, ρ w h dx/dt = k (b t) / x, integrated with scipy.integrate.solve_ivp."""
    step = surface_when_dry(10.0, 0.05, 100.0)
    b, soaked, k = 100.0 / 3600.0, 1800.0 * 0.05 * 2.257e6, 0.5
    start = 1.0
    x0 = start * np.sqrt(k * b / soaked)
    arrives = solve_ivp(
        lambda t, x: k * b * t / (soaked * x),
        (start, 1e5),
        [x0],
        events=_at_the_middle,
        rtol=1e-9,
        atol=1e-12,
    ).t_events[0][0]
    assert step.value == pytest.approx(100.0 + b * arrives, abs=0.05)
    assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, rel=1e-12)
    assert surface_when_dry(10.0, 0.0, 100.0).value == 100.0


def _at_the_middle(t: float, x: np.ndarray) -> float:
    return float(x[0]) - 0.005


_at_the_middle.terminal = True  # type: ignore[attr-defined]


def test_usual_ware_is_told_nothing_of_lag_or_stress_and_very_thick_ware_is() -> None:
    """By the closed form: 6 mm at 150 °C/h lags 0.4 °C; 60 mm falling at 300 °C/h lags 75 °C, tension half of R."""
    assert "lags" not in told(GLAZE)
    assert "strength of a wall" not in told(GLAZE)
    heavy = Schedule("heavy", (Segment(60.0, 1222.0), Segment(300.0, 200.0)), kind="glaze")
    assert "lags its faces by some 75 °C on the way from 1222 to 200 °C" in told(heavy, 60.0)
    assert "cooling at 300 °C/h takes some 52 % of the strength" in told(heavy, 60.0)
    assert "order of magnitude" in told(heavy, 60.0)


def test_a_short_ramp_has_no_time_to_lag() -> None:
    short = Schedule("short", (Segment(60.0, 100.0), Segment(600.0, 105.0), Segment(30.0, 1000.0)), kind="glaze")
    full = wall_lag(60.0, 600.0).value
    assert full > 100.0
    assert "some 150 °C" not in told(short, 60.0)
    assert "heating at 600" not in told(short, 60.0)


def test_a_board_that_is_not_bone_dry_is_told() -> None:
    made = bisque_schedule("04")
    assert "wettest board" not in told(made, wettest_share=0.01)
    wet = told(made, wettest_share=0.05)
    assert "the wettest board holds 5.0 % water" in wet
    assert "Leave that board out" in wet
    with pytest.raises(OutOfRange, match=r"Write 3 % as 0\.03"):
        told(made, wettest_share=3.0)


def test_a_kiln_that_keeps_up_is_told_nothing() -> None:
    assert schedule_notices(GLAZE, kiln=KILN) == schedule_notices(GLAZE)


def test_where_the_schedule_outruns_the_kiln_it_says_which_ramp_and_by_how_much() -> None:
    """Against the simulated firing itself: the lateness told is the program's own end, later than planned."""
    worn = replace(KILN, wear=0.25)
    text = told(GLAZE, kiln=worn)
    assert "outruns this kiln" in text
    assert "1109 to 1209 °C" in text
    late = simulate(worn, GLAZE, cool_to_c=None).program_ends_s / 60.0 - GLAZE.duration_h * 60.0
    parts = [float(line.split(" comes ")[1].split(" min")[0]) for line in text.splitlines() if " comes " in line]
    assert sum(parts) == pytest.approx(late, abs=30.0)


def test_a_kiln_too_weak_for_its_wall_stalls_where_its_losses_eat_its_power() -> None:
    """The steady loss at the stall is the full power, within a tenth (the wall still warms after ten days' firing)."""
    weak = replace(KILN, power_kw=5.0)
    text = told(GLAZE, kiln=weak)
    assert "stalls at some" in text
    stalled_c = float(text.split("stalls at some ")[1].split(" °C")[0])
    assert weak.loss_kw(stalled_c) == pytest.approx(5.0, rel=0.1)
    assert "electrician" in text


def test_a_fall_faster_than_the_kiln_falls_is_told() -> None:
    crash = Schedule("crash", (Segment(150.0, 1222.0), Segment(1500.0, 600.0)), kind="glaze")
    assert "fall to 600 °C outruns this kiln" in told(crash, kiln=KILN)
    slow = Schedule("slow", (Segment(150.0, 1222.0), Segment(60.0, 900.0)), kind="glaze")
    assert "fall to 900 °C outruns" not in told(slow, kiln=KILN)


def test_every_notice_has_why_and_mend_and_none_says_safe() -> None:
    heavy = Schedule("heavy", (Segment(300.0, 1222.0), Segment(600.0, 200.0)), kind="bisque")
    for notice in schedule_notices(heavy, 60.0, True, wettest_share=0.1, kiln=replace(KILN, wear=0.2)):
        assert notice.why
        assert notice.mend
        assert "safe" not in str(notice).lower()


@pytest.mark.parametrize(("wall_mm", "film"), [(-6.0, -100.0), (0.0, 100.0), (6.0, float("nan"))])
def test_a_shock_on_no_wall_or_by_no_air_is_refused_by_name(wall_mm: float, film: float) -> None:
    """Two numbers below 0 make a quotient above 0, which must not pass."""
    with pytest.raises(OutOfRange, match=r"(wall|film of air or water) is"):
        shock_step_k(wall_mm, film)
