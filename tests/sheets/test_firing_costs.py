"""The firing cards tell what a firing costs and what a fuller load changes; shelf plans name the kiln of each load."""

from __future__ import annotations

from datetime import date

from wareboard.plan.brief import Brief
from wareboard.plan.compiling import compile
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop
from wareboard.sheets.kiln_sheets import shelf_sheet
from wareboard.sheets.schedule_cards import firing_sheet

KILNS = [
    {"name": "Large", "shelf_diameter": "560 mm", "usable_height": "680 mm", "power_kw": 12},
    {"name": "Small", "shelf_diameter": "400 mm", "usable_height": "450 mm", "power_kw": 4},
]


def planned() -> Plan:
    brief = {
        "due": "2027-04-01",
        "clay": {},
        "forms": [{"name": "cup", "count": 116, "height": "95 mm", "rim": "85 mm"}],
        "kilns": KILNS,
        "prices": {"energy_per_kwh": "0.40", "currency": "GBP"},
    }
    return compile(Brief.model_validate(brief), Workshop(today=date(2026, 11, 25)), seconds=0.2)


def test_cost_stands_beside_the_kwh_and_is_their_price() -> None:
    """Arithmetic: kWh times 0.40."""
    plan = planned()
    card = firing_sheet(plan, "a4")["cards"][1]
    assert f"GBP {plan.glaze_firing.energy.kwh * 0.40:.2f};" in card["energy"]
    half, as_planned, full = card["fuller"]
    assert as_planned[-2:] == [
        f"{plan.glaze_firing.energy.kwh:.0f} kWh",
        f"GBP {plan.glaze_firing.energy.kwh * 0.40:.2f}",
    ]
    check = plan.glaze_firing.energy.check
    assert check is not None
    assert f"{check.value:.0f} kWh, a check alone" in card["energy_check"]
    assert [row[0] for row in card["fuller"]] == ["half a kiln", "as planned", "a full kiln"]
    assert float(half[-1].removeprefix("GBP ")) < float(full[-1].removeprefix("GBP "))
    assert as_planned[-1].startswith("GBP ")


def test_each_load_names_its_kiln_where_there_are_several() -> None:
    plan = planned()
    glaze = shelf_sheet(plan, "a4")["firings"][1]
    told = [load["told"] for load in glaze["loads"]]
    assert told == [f"In {plan.glaze_firing.home(at).kiln.name}." for at in range(1, plan.glaze_firing.firings + 1)]
    assert {"In Large.", "In Small."} == set(told)
    assert "Large" in glaze["kiln"]
    assert "Small" in glaze["kiln"]
