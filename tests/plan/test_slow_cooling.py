"""A glaze firing that falls by program keeps the kiln for longer than one that is switched off at its peak."""

from __future__ import annotations

import io
from datetime import date

import pikepdf
import pytest

from wareboard.kiln.energy import cooling_hours
from wareboard.kiln.segment import Schedule, Segment
from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Brief, Clay
from wareboard.plan.compiling import compile
from wareboard.plan.equipment import kilns_of
from wareboard.plan.kiln_energy import energy_of, energy_words
from wareboard.plan.own import Own, OwnFigure, energy_key
from wareboard.plan.result import FiringPlan, Plan
from wareboard.plan.workshop import Kiln, Workshop
from wareboard.sheets.schedule_cards import firing_sheet
from wareboard.sheets.typesetting import Paper, typeset
from wareboard.working import worked_out


def planned(slow: bool) -> tuple[FiringPlan, str]:
    plan = compiled(slow)
    return plan.glaze_firing, firing_sheet(plan, "a4")["cards"][1]["open_after"]


def compiled(slow: bool, own: Own | None = None) -> Plan:
    brief = {
        "due": "2027-04-01",
        "clay": {},
        "forms": [{"name": "cup", "count": 20, "height": "95 mm"}],
        "kilns": [{"name": "Kiln", "shelf_diameter": "530 mm", "usable_height": "680 mm", "power_kw": 11}],
        "firing": {"slow_cooling": slow},
    }
    return compile(Brief.model_validate(brief), Workshop(today=date(2026, 11, 25)), own=own, seconds=0.2)


def test_programmed_falls_are_part_of_the_cooling_and_the_rest_begins_where_they_end() -> None:
    """Arithmetic: each fall takes its span over its rate; after them the kiln cools from where the last one ended."""
    firing, _ = planned(slow=True)
    segments, before = firing.schedule.segments, firing.schedule.peak_c
    peak_at = max(number for number, each in enumerate(segments) if each.target_c == before)
    spans = []
    for each in segments[peak_at + 1 :]:
        spans.append((before - each.target_c) / each.rate_c_per_h + each.hold_min / 60)
        before = each.target_c
    assert len(spans) >= 1
    free = cooling_hours(before)
    assert firing.cooling_h.value == pytest.approx(sum(spans) + free.hours)
    assert firing.cooling_h.low == pytest.approx(sum(spans) + free.low)
    whole = next(step for step in firing.steps if step.name.startswith("cooling, "))
    assert worked_out(whole.formula, whole.inputs) == pytest.approx(firing.cooling_h.value)


def test_the_card_says_that_a_slowly_cooled_kiln_is_opened_later() -> None:
    """Law: programmed falls are slower than a shut kiln's own."""
    (slow, slow_words), (free, free_words) = planned(slow=True), planned(slow=False)
    assert slow.heating_h == free.heating_h
    assert slow.cooling_h.value > free.cooling_h.value + 1
    assert slow_words.startswith(f"{slow.heating_h + slow.cooling_h.value:.0f} h")
    assert free_words.startswith(f"{free.heating_h + free.cooling_h.value:.0f} h")


@pytest.mark.parametrize("factor", [None, 0.9])
def test_what_holds_the_cooling_back_is_in_the_energy_and_in_the_price_by_meter_and_by_balance(
    factor: float | None,
) -> None:
    """Arithmetic: heating as without the fall, and what holds it back; the firing's line of the price has the whole."""
    key = energy_key("glaze", "Kiln")
    learned = OwnFigure(key, key, 0.9, 0.85, 0.95, "", "3 firings", 0.95, 1.0, 0.8, 1.3, "from-memory")
    own = Own.of([learned]) if factor else Own()
    slow, free = (compiled(each, own) for each in (True, False))
    held = slow.glaze_firing.energy.held
    assert held is not None
    assert held.low < held.kwh < held.high
    assert held.kwh > 1.0
    energy = slow.glaze_firing.energy
    assert energy.kwh == pytest.approx(free.glaze_firing.energy.kwh + held.kwh)
    assert free.glaze_firing.energy.held is None
    line = next(step for step in slow.price.steps if step.inputs.get("kwh") and "glaze" in step.name)
    assert line.inputs["kwh"] == pytest.approx(energy.kwh)
    assert slow.bisque.energy == free.bisque.energy
    for step in energy.steps:
        assert not step.formula or worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    card = firing_sheet(slow, "a4")["cards"][1]
    assert f"{held.kwh:.1f} kWh of it" in card["held"]
    assert "to the end of the peak" in card["energy_check"]
    assert f"{held.kwh:.1f} kWh of it" in energy_words(energy)


def test_a_fall_faster_than_the_kilns_own_is_said_to_take_nothing() -> None:
    """Law: elements cannot cool."""
    kiln = Kiln(name="Kiln", shelf_diameter="530 mm", usable_height="680 mm", power_kw=11)
    made = Schedule("by hand", (Segment(150.0, 1200.0), Segment(2000.0, 700.0)), kind="glaze")
    (whole,) = kilns_of(
        Brief.model_construct(due=date.max, forms=(), clay=Clay(), kilns=(kiln,)), Workshop(), Assumer()
    )
    energy = energy_of("glaze", whole, made, Assumer())
    assert energy.kwh == energy_of("glaze", whole, made.heating, Assumer()).kwh
    assert "takes no electricity" in energy_words(energy)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_card_with_a_programmed_fall_stands_on_one_page_with_its_log_behind(paper: Paper) -> None:
    """Count of pages by pikepdf: two firings, a card and a log each."""
    with pikepdf.open(io.BytesIO(typeset("firing", firing_sheet(compiled(True), paper), date(2026, 11, 25)))) as made:
        assert len(made.pages) == 4
