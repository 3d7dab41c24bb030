"""Electricity of a cooling that is held back: steady loss, the exponential of a lumped body, a meter, and free falls."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from wareboard.kiln.energy import firing_energy
from wareboard.kiln.energy_balance import Doubt, balance_energy
from wareboard.kiln.held_cooling import held_cooling, with_held
from wareboard.kiln.schedule import bisque_schedule, glaze_schedule
from wareboard.kiln.segment import Schedule, Segment
from wareboard.kiln.thermal import BRICK_23, KilnModel, Layer, Material, simulate, steady_wall
from wareboard.working import worked_out

KILN = KilnModel(11.5, (Layer(BRICK_23, 64.0),), 2.2, 30.0, 25.0)
# All heat in the chamber, all loss by leaks: a wall that neither holds nor conducts.
NOTHING = Material("nothing", 1e-3, 1e-6, 0.0, 1.0, 0.0, "from-memory")
LUMP = KilnModel(11.5, (Layer(NOTHING, 100.0),), 0.05, 0.0, 0.0, leak_w_per_k=4.0, chamber_kj_per_k=40.0)
TAU_H = 40_000.0 / 4.0 / 3600.0
TOP_C, ROOM_C = 1000.0, 20.0


def ramps(*segments: tuple[float, float, float]) -> Schedule:
    return Schedule("by hand", tuple(Segment(*each) for each in segments), kind="glaze")


@pytest.mark.parametrize("hold_c", [1000.0, 700.0])
def test_a_long_hold_takes_the_steady_loss_for_its_hours(hold_c: float) -> None:
    """Closed form: kWh = loss x hours: at rest Fourier's law through the wall meets grey radiation (Stefan-Boltzmann, with
    the model's 5 W/(m² K) of convection) from the chamber to its hot face, which scipy.optimize.brentq finds; and leaks.
    """
    short, long = (held_cooling(KILN, ramps((150.0, 1200.0, 0.0), (100.0, hold_c, 60.0 * h))).kwh for h in (40.0, 60.0))

    def left_over(face_c: float) -> float:
        shone = 0.7 * 5.670374419e-8 * ((hold_c + 273.15) ** 4 - (face_c + 273.15) ** 4) + 5.0 * (hold_c - face_c)
        return shone - steady_wall(KILN.wall, face_c).flux_w_per_m2

    face = brentq(left_over, 100.0, hold_c - 0.01)
    loss_kw = (steady_wall(KILN.wall, face).flux_w_per_m2 * 2.2 + 0.5 * (hold_c - ROOM_C)) / 1000.0
    assert long - short == pytest.approx(20.0 * loss_kw, rel=0.001)


def test_a_hold_of_a_lumped_body_at_once_takes_its_loss() -> None:
    """Closed form: a body with no wall to soak is at rest at once, so ten hours at 800 °C are 4 W/K x 780 K x 10 h."""
    made = ramps((200.0, TOP_C, 0.0), (2000.0, 800.0, 600.0))
    free_h = TAU_H * math.log((TOP_C - ROOM_C) / (800.0 - ROOM_C))  # Newton: it coasts down to the hold
    late_h = free_h - 200.0 / 2000.0
    assert held_cooling(LUMP, made).kwh == pytest.approx(4.0 * 780.0 / 1000.0 * (10.0 - late_h), rel=0.01)


@pytest.mark.parametrize("rate", [40.0, 90.0, 150.0, 300.0])
def test_a_slow_fall_of_a_lumped_body_takes_the_integral_of_loss_less_heat_given_off(rate: float) -> None:
    """scipy.integrate.quad of max(0, G (T - room) - C r) over the ramp; below room + C r / G it falls by itself, and slower.
    300 °C/h lies under the 353 °C/h of G (T - room) / C at the top alone.
    """
    low_c = 150.0
    made = ramps((200.0, TOP_C, 0.0), (rate, low_c, 0.0))

    def watts(hours: float) -> float:
        return max(0.0, 4.0 * (TOP_C - rate * hours - ROOM_C) - 40_000.0 * rate / 3600.0)

    alone_c = ROOM_C + 40_000.0 * rate / 3600.0 / 4.0
    ends_h = (TOP_C - max(low_c, alone_c)) / rate
    wanted = quad(watts, 0.0, ends_h)[0] / 1000.0
    found = held_cooling(LUMP, made)
    assert found.kwh == pytest.approx(wanted, rel=0.01, abs=0.015)  # steps of two minutes
    assert found.on_h == pytest.approx(ends_h, abs=0.1)


def test_a_program_that_falls_as_the_body_cools_by_itself_takes_nothing() -> None:
    """Newton's law of cooling: tangents to the exponential from above are faster than the body at every moment after."""
    marks = [TOP_C]
    while marks[-1] > 200.0:
        marks.append(ROOM_C + (marks[-1] - ROOM_C) * math.exp(-0.25 / TAU_H))
    falls = [((before - ROOM_C) / TAU_H, after, 0.0) for before, after in pairwise(marks)]
    found = held_cooling(LUMP, ramps((200.0, TOP_C, 0.0), *falls))
    assert found.kwh == 0.0
    assert found.step is None


def test_a_drop_as_fast_as_can_be_takes_nothing_and_one_without_a_fall_neither() -> None:
    """Law: elements cannot cool."""
    assert held_cooling(KILN, ramps((150.0, 1200.0, 0.0), (2000.0, 600.0, 0.0))).kwh == 0.0
    none = held_cooling(KILN, glaze_schedule("6"))
    assert (none.kwh, none.step) == (0.0, None)


def test_it_is_the_power_of_the_firing_followed_with_its_load_and_works_out() -> None:
    """First law: power summed after the peak, step by step, is what is lost less what is given off."""
    made = glaze_schedule("6", slow_cool=True)
    for ware in (10.0, 80.0):
        heavy = replace(KILN, ware_kg=ware)
        found = held_cooling(heavy, made)
        run = simulate(heavy, made, cool_to_c=None, step_s=30.0)
        after = run.times_s > 3600.0 * made.heating_h + 30.0
        assert found.kwh == pytest.approx(float(np.sum(run.power_kw[after])) * 30.0 / 3600.0, rel=0.02)
        assert found.step is not None
        assert worked_out(found.step.formula, found.step.inputs) == pytest.approx(found.kwh)
        assert found.low < found.kwh < found.high
    assert found.kwh < held_cooling(replace(KILN, ware_kg=10.0), made).kwh  # more ware gives off more


def test_heating_is_reckoned_as_without_a_fall_and_the_whole_is_both() -> None:
    """Definition; and the usual share of full power runs to the end of the peak, whatever the fall."""
    slow, free = glaze_schedule("6", slow_cool=True), glaze_schedule("6")
    one, other = balance_energy(KILN, slow, "glaze"), balance_energy(KILN, free, "glaze")
    assert one is not None
    assert other is not None
    assert (one.kwh, one.low, one.high) == (other.kwh, other.low, other.high)
    assert firing_energy(11.5, slow).kwh == firing_energy(11.5, free).kwh
    held = held_cooling(KILN, slow)
    whole = with_held(one, held, "glaze")
    followed = simulate(KILN, slow, cool_to_c=None)
    assert whole.kwh == pytest.approx(followed.put_in_kwh, rel=0.02)
    assert whole.low < one.kwh + held.kwh == whole.kwh < whole.high
    assert worked_out(whole.steps[-1].formula, whole.steps[-1].inputs) == pytest.approx(whole.kwh)
    bisque = balance_energy(KILN, bisque_schedule("04"), "bisque")
    assert bisque is not None
    assert with_held(bisque, held_cooling(KILN, bisque_schedule("04")), "bisque") == bisque


def test_a_wall_of_which_less_is_known_and_a_weak_kiln_show_it() -> None:
    """Law: the range grows with the doubt; Joule: no more than full power over the hours that it is on."""
    made = glaze_schedule("6", slow_cool=True)
    known, told = held_cooling(KILN, made, Doubt(leak=(0.0, 0.0), fitted=True)), held_cooling(KILN, made)
    assert known.high - known.low < told.high - told.low
    untold = held_cooling(KILN, made, Doubt(loss=(0.6, 0.0)))
    assert untold.low < told.low
    weak = held_cooling(replace(KILN, power_kw=1.0), made)
    assert weak.kwh == pytest.approx(1.0 * weak.on_h)
    assert weak.step is not None
    assert worked_out(weak.step.formula, weak.step.inputs) == pytest.approx(weak.kwh)
