"""Element wear from firings, and when the kiln falls behind."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress
from scipy.stats import t as student

from wareboard.errors import OutOfRange
from wareboard.kiln.elements import (
    CAUTION,
    ElementFiring,
    element_wear,
    hours_near_the_top,
    power_left,
    wear_limits,
)
from wareboard.kiln.schedule import glaze_schedule, plot_points
from wareboard.kiln.thermal import BRICK_23, KilnModel, Layer, element_power_kw, simulate
from wareboard.kiln.wear_line import crossing, line_through
from wareboard.kiln.witness import trend
from wareboard.working import Estimate, worked_out

# Invented: a top-loader of some 200 L with 64 mm of brick.
KILN = KilnModel(9.0, (Layer(BRICK_23, 64.0),), 2.2, 30.0, 25.0)
GLAZE = glaze_schedule("6")
NEW_OHM = 6.4


def measured(numbers: list[int], a_firing: float = 0.001, noise: float = 0.004) -> list[ElementFiring]:
    """Invented: resistance that rises steadily, with a meter's error from a fixed seed."""
    error = np.random.default_rng(2).normal(0.0, noise, len(numbers))
    return [
        ElementFiring(n, resistance_ohm=float(NEW_OHM * (1.0 + a_firing * n + e)))
        for n, e in zip(numbers, error, strict=True)
    ]


def test_a_tenth_more_resistance_leaves_909_thousandths_of_the_power() -> None:
    """P = V²/R by arithmetic: +10 % leaves 90.9 %; 3 kW at 240 V falls to 2.73 kW (worked with kiln-p7's factors)."""
    assert power_left(0.10) == pytest.approx(0.909, abs=0.0005)
    assert 3.0 * power_left(0.10) == pytest.approx(2.73, abs=0.005)
    cold = 240.0**2 / 3000.0 / 1.04
    for rise in (0.0, 0.06, 0.12, 0.5):
        assert power_left(rise) == pytest.approx(
            element_power_kw(240.0, cold, wear=rise) / element_power_kw(240.0, cold)
        )
    for odd in (-0.1, float("nan")):
        with pytest.raises(OutOfRange, match="rise is"):
            power_left(odd)


def test_the_kiln_falls_behind_where_the_trade_changes_elements() -> None:
    """Listed resistance tolerance 6 to 12 % (kiln-elements), for an invented kiln of usual power."""
    limits = wear_limits(KILN, GLAZE)
    assert 0.06 <= limits.falls_behind.value <= 0.12
    assert limits.falls_behind.low < limits.falls_behind.value < limits.falls_behind.high
    assert limits.stalls.value > limits.falls_behind.value


def test_a_kiln_fitted_to_its_log_has_a_narrower_forecast_that_lies_ahead() -> None:
    """Losses known to 2 % instead of 7.4 % (kiln-p31): the range of the limit narrows in that proportion."""
    rough, fitted = wear_limits(KILN, GLAZE), wear_limits(KILN, GLAZE, loss_spread=0.02)
    demand = [each.steps[0] for each in (rough, fitted)]
    apart = [(step.high or 0.0) - (step.low or 0.0) for step in demand]
    assert apart[0] / apart[1] == pytest.approx(7.4 / 2.0)
    firings = measured(list(range(5, 65, 5)))
    wide, narrow = (element_wear(firings, KILN, GLAZE, NEW_OHM, loss_spread=s).falls_behind for s in (None, 0.02))
    assert wide is not None
    assert narrow is not None
    assert wide.high is not None
    assert narrow.high is not None
    assert 60.0 <= wide.low <= narrow.low < narrow.high < wide.high
    with pytest.raises(OutOfRange, match="loss_spread"):
        wear_limits(KILN, GLAZE, loss_spread=2.0)


def test_just_inside_the_limit_the_kiln_keeps_pace_and_past_it_does_not() -> None:
    """The limit comes from one firing with ample power; worn kilns fired one by one must agree with it."""
    limits = wear_limits(KILN, GLAZE)
    hours = [
        simulate(replace(KILN, wear=limits.falls_behind.value + more), GLAZE, cool_to_c=None).program_ends_s / 3600.0
        for more in (-0.08, 0.0, 0.08)
    ]
    assert hours[1] - hours[0] < 0.5 < hours[2] - hours[1]
    near, past = (simulate(replace(KILN, wear=limits.stalls.value + d), GLAZE, None, 180.0) for d in (-0.05, 0.05))
    assert near.reached
    assert not past.reached


def test_the_line_and_its_prediction_interval_meet_scipy_and_polyfit() -> None:
    """scipy.stats.linregress for the line, numpy.polyfit's covariance for the spread of one more firing."""
    rng = np.random.default_rng(4)
    x = np.array([3.0, 10.0, 22.0, 40.0, 41.0, 77.0])
    y = 0.01 + 0.001 * x + rng.normal(0.0, 0.01, 6)
    line, seen = line_through(list(x), list(y)), linregress(x, y)
    at, quantile = 120.0, float(student.ppf(0.95, 4))
    assert line.slope == pytest.approx(seen.slope, rel=1e-10)
    assert float(line.at(at)) == pytest.approx(seen.intercept + seen.slope * at, rel=1e-10)
    by_scipy = quantile * np.sqrt(
        seen.intercept_stderr**2
        + at**2 * seen.stderr**2
        - 2.0 * at * x.mean() * seen.stderr**2
        + np.sum((y - seen.intercept - seen.slope * x) ** 2) / 4.0
    )
    assert float(line.half(at)) == pytest.approx(by_scipy, rel=1e-9)
    _, cov = np.polyfit(x, y, 1, cov=True)
    of_line = quantile * np.sqrt(np.array([at, 1.0]) @ cov @ np.array([at, 1.0]))
    assert float(line.half(at, one_more=False)) == pytest.approx(of_line, rel=1e-9)


def test_the_range_of_one_more_firing_holds_it_nine_times_in_ten() -> None:
    """2000 invented sets of six firings from a fixed seed; three standard errors."""
    rng, held = np.random.default_rng(9), 0
    x = np.arange(1.0, 7.0)
    for _ in range(2000):
        line = line_through(list(x), list(0.02 * x + rng.normal(0.0, 0.05, 6)))
        new = 0.02 * 12.0 + rng.normal(0.0, 0.05)
        held += abs(new - float(line.at(12.0))) <= float(line.half(12.0))
    assert held / 2000 == pytest.approx(0.90, abs=0.02)


def test_the_forecast_range_holds_the_true_firing_at_least_nine_times_in_ten() -> None:
    """Invented wear of 0.1 % a firing to a limit of 10 %: true firing 100; ranges from twelve firings, fixed seed."""
    rng, held, limit = np.random.default_rng(21), 0, Estimate(0.10, 0.10, 0.10, "given")
    x = np.arange(5.0, 65.0, 5.0)
    for _ in range(400):
        found = crossing(line_through(list(x), list(0.001 * x + rng.normal(0.0, 0.004, len(x)))), limit)
        assert found is not None
        held += found[1] <= 100.0 and (found[2] is None or found[2] >= 100.0)
    assert held / 400 >= 0.90


def test_a_line_without_error_crosses_where_arithmetic_says() -> None:
    line = line_through([10, 20, 30, 40], [0.01, 0.02, 0.03, 0.04])
    assert crossing(line, Estimate(0.10, 0.10, 0.10, "given")) == pytest.approx((100.0, 100.0, 100.0), abs=1.0)
    early = crossing(line, Estimate(0.10, 0.08, 0.15, "given"))
    assert early is not None
    assert (early[1], early[2]) == pytest.approx((80.0, 150.0), abs=1.0)


@given(st.floats(-0.01, 0.0), st.floats(0.0, 0.05))
def test_elements_that_do_not_wear_have_no_last_firing(slope: float, start: float) -> None:
    line = line_through([1, 2, 3, 4, 5], [start + slope * n for n in (1, 2, 3, 4, 5)])
    if line.slope <= 0.0:
        assert crossing(line, Estimate(0.10, 0.09, 0.11, "given")) is None


def test_ohms_give_rise_power_left_and_the_last_firing_with_its_day() -> None:
    """Invented wear of 0.1 % a firing: at firing 60 94.3 % of the power is left (1/1.06), and 10 % comes at about 100."""
    seen = element_wear(
        measured(list(range(5, 65, 5))), KILN, GLAZE, NEW_OHM, firings_a_week=2.0, today=date(2026, 3, 2)
    )
    assert seen.rise is not None
    assert seen.power_left is not None
    assert seen.falls_behind is not None
    assert seen.rise.low < 0.06 < seen.rise.high
    assert seen.power_left.value == pytest.approx(1.0 / 1.06, abs=0.006)
    assert seen.falls_behind.firing == pytest.approx(seen.limits.falls_behind.value / 0.001, rel=0.1)
    assert seen.falls_behind.low < seen.falls_behind.firing
    assert seen.falls_behind.day is not None
    ahead = (seen.falls_behind.day - date(2026, 3, 2)).days
    assert ahead == pytest.approx(7.0 * (seen.falls_behind.firing - 60.0) / 2.0, abs=1.0)
    assert any("no longer keep this schedule to its cone" in line for line in seen.words)
    assert seen.stalls is not None
    assert seen.stalls.firing > seen.falls_behind.firing


def test_firings_that_follow_each_other_are_told_as_the_witness_trend_tells_them() -> None:
    firings = measured(list(range(1, 9)), a_firing=0.01, noise=0.001)
    seen = element_wear(firings, KILN, GLAZE, NEW_OHM)
    assert seen.trend == trend([each.resistance_ohm or 0.0 for each in firings], "resistance", "ohm")
    gaps = element_wear(measured([1, 5, 9, 30, 50], noise=0.0005), KILN, GLAZE, NEW_OHM)
    assert gaps.trend is not None
    assert gaps.trend.per_firing == pytest.approx(0.001 * NEW_OHM, rel=0.1)
    assert "a firing over firings 1 to 50" in gaps.words[0]


def test_the_slope_range_over_gaps_meets_scipy() -> None:
    """scipy.stats.linregress's standard error of the slope, times Student's t."""
    firings = measured([1, 5, 9, 30, 50])
    seen = element_wear(firings, KILN, GLAZE, NEW_OHM).trend
    fit = linregress([1, 5, 9, 30, 50], [each.resistance_ohm for each in firings])
    assert seen is not None
    assert seen.high - seen.per_firing == pytest.approx(float(student.ppf(0.95, 3)) * fit.stderr, rel=1e-9)


def test_under_four_firings_it_says_so_and_gives_the_life_of_the_trade() -> None:
    """Elements last 100 to 200 firings (kiln-elements-plume)."""
    seen = element_wear(measured([1, 2, 3]), KILN, GLAZE)
    assert seen.words[0].startswith("Not enough firings: 3")
    assert "100 to 200" in seen.words[1]
    assert (seen.falls_behind, seen.power_left, seen.trend) == (None, None, None)
    mixed = [ElementFiring(1, last_100_h=1.7), ElementFiring(2, kwh=60.0), ElementFiring(3), ElementFiring(4, 1.7)]
    assert element_wear(mixed, KILN, GLAZE).words[0].startswith("Not enough firings: 2")


def test_hours_of_a_kiln_that_keeps_pace_tell_no_wear_and_it_says_so() -> None:
    firings = [ElementFiring(n, last_100_h=1.65 + 0.01 * (n % 2)) for n in range(1, 7)]
    seen = element_wear(firings, KILN, GLAZE)
    assert seen.rise is None
    assert any("keeps pace" in line for line in seen.words)
    assert "Ohms would tell" in seen.words


@pytest.mark.parametrize("hold_min", [0.0, 15.0, 60.0])
def test_a_hold_does_not_look_like_wear(hold_min: float) -> None:
    """By arithmetic: 97 °C at 60 °C/h are 1.62 h, under 1 °C of noise from a fixed seed, whatever hold follows."""
    hours, temps = plot_points(glaze_schedule("6", hold_min))
    times = np.arange(0.0, hours[-1] * 3600.0, 30.0)
    noise = np.random.default_rng(1).normal(0.0, 1.0, len(times))
    assert hours_near_the_top(times, np.interp(times, hours * 3600.0, temps) + noise) == pytest.approx(1.62, abs=0.06)
    with pytest.raises(OutOfRange, match="does not rise"):
        hours_near_the_top([0.0, 60.0], [20.0, 100.0])


@pytest.mark.parametrize("key", ["last_100_h", "kwh"])
def test_a_late_kiln_tells_its_wear_through_its_model(key: str) -> None:
    """There and back: firings followed as heat with a known rise of resistance, read back as that rise."""
    firings = []
    for number in (10, 11, 12, 13, 14):
        fired = simulate(replace(KILN, wear=0.016 * number), GLAZE, cool_to_c=None)
        told = {"last_100_h": hours_near_the_top(fired.times_s, fired.chamber_c), "kwh": fired.put_in_kwh}
        firings.append(ElementFiring(number, **{key: told[key]}))
    seen = element_wear(firings, KILN, GLAZE)
    assert seen.rise is not None
    assert seen.rise.value == pytest.approx(0.016 * 14, abs=0.02)
    assert seen.falls_behind is not None
    assert seen.falls_behind.firing < 10.0


def test_the_working_works_out_and_the_electrician_is_named() -> None:
    seen = element_wear(measured(list(range(5, 65, 5))), KILN, GLAZE, NEW_OHM)
    worked = [step for step in seen.steps if step.formula]
    assert len(worked) == 5
    for step in worked:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, rel=1e-9)
    assert seen.caution == CAUTION
    assert "electrician" in CAUTION
    assert "\n" not in CAUTION


def test_without_a_new_resistance_the_first_is_taken_and_told() -> None:
    seen = element_wear(measured([40, 50, 60, 70, 80]), KILN, GLAZE)
    assert any("taken as new" in line for line in seen.words)
    assert seen.rise is not None
    assert seen.rise.value < 0.06


def test_odd_firings_are_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="kwh of firing 3 is -1"):
        ElementFiring(3, kwh=-1.0)
    with pytest.raises(OutOfRange, match="number of firing 0"):
        ElementFiring(0)
    with pytest.raises(OutOfRange, match="new_ohm"):
        element_wear(measured([1, 2, 3, 4]), KILN, GLAZE, new_ohm=float("nan"))
    with pytest.raises(OutOfRange, match="different firings"):
        element_wear(measured([1, 2, 2, 4]), KILN, GLAZE)
    with pytest.raises(OutOfRange, match="firings_a_week"):
        element_wear(measured([1, 2, 3, 4]), KILN, GLAZE, firings_a_week=0.0)
