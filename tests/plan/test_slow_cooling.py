"""A glaze firing that falls by program keeps the kiln for longer than one that is switched off at its peak."""

from __future__ import annotations

from datetime import date

import pytest

from wareboard.kiln.energy import cooling_hours
from wareboard.plan.brief import Brief
from wareboard.plan.compiling import compile
from wareboard.plan.result import FiringPlan
from wareboard.plan.workshop import Workshop
from wareboard.sheets.schedule_cards import firing_sheet
from wareboard.working import worked_out


def planned(slow: bool) -> tuple[FiringPlan, str]:
    brief = {
        "due": "2027-04-01",
        "clay": {},
        "forms": [{"name": "cup", "count": 20, "height": "95 mm"}],
        "kilns": [{"name": "Kiln", "shelf_diameter": "530 mm", "usable_height": "680 mm", "power_kw": 11}],
        "firing": {"slow_cooling": slow},
    }
    plan = compile(Brief.model_validate(brief), Workshop(today=date(2026, 11, 25)), seconds=0.2)
    return plan.glaze_firing, firing_sheet(plan, "a4")["cards"][1]["open_after"]


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
