"""Which figure of energy a plan reckons with: the meter's, else the balance of heat with the best known wall."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from wareboard.kiln.energy import firing_energy
from wareboard.plan.brief import Brief
from wareboard.plan.compiling import compile
from wareboard.plan.fuller import planned_fuller
from wareboard.plan.kiln_energy import energy_words
from wareboard.plan.own import Own, OwnFigure, energy_key, wall_key
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop
from wareboard.working import worked_out

KILN = {"name": "Old kiln", "shelf_diameter": "530 mm", "usable_height": "680 mm", "power_kw": 11.5}
BRIEF = {"due": "2027-02-01", "clay": {}, "forms": [{"name": "cup", "count": 40, "height": "95 mm"}]}


def figure(key: str, value: float, low: float, high: float, records: str) -> OwnFigure:
    return OwnFigure(key, key, value, low, high, "", records, 0.95, 1.0, 0.8, 1.3, "from-memory")


def planned(own: Own | None = None, **kiln: object) -> Plan:
    workshop = Workshop.model_validate({"kilns": [KILN | kiln]}).model_copy(update={"today": date(2026, 11, 25)})
    return compile(Brief.model_validate(BRIEF), workshop, own=own, seconds=0.1)


def test_one_figure_is_reckoned_and_priced_and_the_usual_share_is_a_check() -> None:
    """Energy and its price are the balance's; the check is power x hours x duty (kiln-energy-lakeside)."""
    plan = planned()
    energy = plan.bisque.energy
    assert energy.check is not None
    assert energy.check.value == pytest.approx(firing_energy(11.5, plan.bisque.schedule, kind="bisque").kwh)
    assert energy.low < energy.kwh < energy.high
    assert energy.steps[-1].value == energy.kwh
    for step in energy.steps:
        assert not step.formula or worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    line = next(step for step in plan.price.steps if step.inputs.get("kwh") and "bisque" in step.name)
    assert line.inputs["kwh"] == pytest.approx(energy.kwh)


def test_the_table_of_fuller_loads_has_the_same_figure_as_planned() -> None:
    plan = planned()
    for firing in (plan.bisque, plan.glaze_firing):
        _, as_planned, _ = planned_fuller(plan, firing, Decimal("0.30"), 93.0)
        assert as_planned.kwh == pytest.approx(firing.energy.kwh)


def test_a_wall_fitted_to_logs_stands_before_what_the_file_tells_and_narrows_the_range() -> None:
    """Law: a wall that conducts more loses more (Fourier)."""
    fits = [Own.of([figure(wall_key("Old kiln"), f, 0.95 * f, 1.05 * f, "2 logs")]) for f in (0.8, 1.2)]
    tight, worn = (planned(own, wall="brick 64 mm").bisque.energy for own in fits)
    told = planned(wall="brick 64 mm").bisque.energy
    assert tight.kwh < told.kwh < worn.kwh
    assert "fitted to 2 logs" in worn.by
    assert (worn.high - worn.low) / worn.kwh < (told.high - told.low) / told.kwh


def test_the_meter_of_the_kiln_stands_before_everything() -> None:
    """Definition: the meter's figure is the usual reckoning times what the meter said over it."""
    own = Own.of(
        [
            figure(wall_key("Old kiln"), 1.2, 1.1, 1.3, "2 logs"),
            figure(energy_key("bisque", "Old kiln"), 0.8, 0.76, 0.84, "3 firings"),
        ]
    )
    plan = planned(own)
    duty = firing_energy(11.5, plan.bisque.schedule, kind="bisque").kwh
    assert plan.bisque.energy.kwh == pytest.approx(0.8 * duty)
    assert plan.bisque.energy.by == "by the kiln’s own meter, 3 firings"
    assert plan.bisque.energy.check is not None
    assert "takes the heat up" in plan.bisque.energy.check.name
    assert "fitted to 2 logs" in plan.glaze_firing.energy.by


def test_a_kiln_that_as_described_cannot_finish_falls_back_on_the_usual_share() -> None:
    plan = planned(power_kw=3.0, wall="thin brick")
    duty = firing_energy(3.0, plan.glaze_firing.schedule, kind="glaze")
    assert plan.glaze_firing.energy.kwh == pytest.approx(duty.kwh)
    assert "too weak" in plan.glaze_firing.energy.by
    assert replace(duty, by="") == replace(plan.glaze_firing.energy, by="")


def test_the_check_is_said_to_be_one_beside_how_the_energy_was_found() -> None:
    energy = planned().bisque.energy
    assert energy.check is not None
    assert energy_words(energy) == (
        "Energy by what takes the heat up, the wall as is usual. By the usual share of full power it would be "
        f"{energy.check.value:.0f} kWh, a check alone."
    )
    assert energy_words(replace(energy, check=None, by="")) == ""
