"""What a fuller load changes: more hours and energy by laws of heat, money by its price, the kiln refused by its voltage."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from wareboard.kiln.energy import firing_energy
from wareboard.kiln.schedule import glaze_schedule
from wareboard.kiln.thermal import BRICK_23, KilnModel, Layer
from wareboard.plan.brief import Brief
from wareboard.plan.compiling import compile
from wareboard.plan.fuller import cost_step, fired_by, fuller_loads, planned_fuller, planned_ware, with_ware
from wareboard.plan.workshop import Workshop
from wareboard.working import worked_out

KILN = KilnModel(10.0, (Layer(BRICK_23, 64.0),), 2.2, 30.0, 25.0)
PRICE = Decimal("0.30")
BRIEF = {"due": "2027-02-01", "clay": {}, "forms": [{"name": "cup", "count": 40, "height": "95 mm"}]}


def test_more_ware_takes_no_less_heat_and_cools_no_sooner() -> None:
    """Law: heat taken up grows with the mass that takes it up (first law of thermodynamics)."""
    half, taken, twice = fuller_loads(KILN, glaze_schedule("6"), 93.0, PRICE)
    assert half.kwh < taken.kwh < twice.kwh
    assert half.open_h < taken.open_h < twice.open_h
    assert half.hours <= taken.hours <= twice.hours
    assert (half.ware_kg, twice.ware_kg) == (15.0, 60.0)


def test_thirty_kilos_more_take_about_their_own_heat_capacity_more() -> None:
    """Closed form: the integral of c0 + c1 t from 20 °C to the peak, and lags a little on the way."""
    made = glaze_schedule("6")
    _, taken, twice = fuller_loads(KILN, made, 93.0, PRICE)
    ware, peak = KILN.ware, made.peak_c
    own = 30.0 * (ware.c0 * (peak - 20.0) + 0.5 * ware.c1 * (peak**2 - 20.0**2)) / 3.6e6
    assert twice.kwh - taken.kwh == pytest.approx(own, rel=0.5)


def test_money_is_energy_times_price_and_its_step_works_out() -> None:
    made = glaze_schedule("6")
    taken = fuller_loads(KILN, made, 93.0, PRICE)[1]
    assert float(taken.cost) == pytest.approx(taken.kwh * 0.30)
    step = cost_step(firing_energy(10.0, made).steps[-1], PRICE, "EUR")
    assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    assert step.low is not None
    assert step.low < step.value


def test_a_kiln_too_weak_for_twice_the_ware_says_so() -> None:
    weak = replace(KILN, power_kw=2.0)
    assert not fuller_loads(weak, glaze_schedule("6"), 93.0, PRICE)[2].reached


def test_the_same_ware_is_the_same_kiln_and_is_followed_once() -> None:
    assert with_ware(KILN, 1.0) == KILN
    made = glaze_schedule("6")
    assert fired_by(KILN, made) is fired_by(with_ware(KILN, 1.0), made)


def test_the_planned_load_stands_between_and_its_ware_is_the_clay_of_its_pieces() -> None:
    plan = compile(Brief.model_validate(BRIEF), Workshop(today=date(2026, 11, 25)), seconds=0.1)
    firing = plan.glaze_firing
    kg, share = planned_ware(plan, firing)
    form = plan.forms[0]
    each = form.vessel.clay_volume_mm3 / 1000.0 * 2.25  # g, at the usual density of the fired body
    assert kg * firing.firings == pytest.approx(each * form.pieces_into("fired") / 1000.0)
    assert 0.0 < share <= 1.0
    half, planned, full = planned_fuller(plan, firing, PRICE, 93.0)
    assert half.kwh < full.kwh
    assert planned.ware_kg == pytest.approx(kg)
    assert full.ware_kg == pytest.approx(2.0 * half.ware_kg)
