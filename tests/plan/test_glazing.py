"""How much surface a glaze covers: wall, handle, lid with its knob, spout; beside the faces of the solids.

Sources: areas of closed meshes by trimesh; closed form of a sphere; K. Thomsen’s spheroid is checked by quadrature of the
surface of revolution with scipy.
"""

from __future__ import annotations

import math
from datetime import date

import pytest
import trimesh
from scipy.integrate import quad

from wareboard.plan import compile
from wareboard.plan.glazed_parts import parts_mm2, spheroid_mm2
from wareboard.plan.reading import read_brief
from wareboard.plan.result import FormPlan, Plan
from wareboard.plan.solids import solid_at
from wareboard.plan.workshop import Workshop
from wareboard.working import worked_out

TODAY = date(2026, 11, 25)
BRIEF = """
due = 2027-03-01
[clay]
shrinkage = "12 %"
[[forms]]
name = "Lidded bowl"
count = 18
shape = "bowl"
height = "83 mm"
rim = "140 mm"
[forms.lid]
gallery = "5 mm"
gallery_depth = "7 mm"
height = "32 mm"
knob = "25 mm"
knob_height = "19 mm"
diameter = "140 mm"
[[forms]]
name = "Teapot"
count = 2
shape = "teapot"
height = "110 mm"
rim = "80 mm"
[forms.spout]
[forms.handle]
height = "80 mm"
gap = "30 mm"
[forms.lid]
[[glazes]]
name = "All over"
on = "all"
[[glazes]]
name = "Liner"
on = "inside"
[[glazes]]
name = "Reeds"
on = "painting"
covers = "20 %"
"""


@pytest.fixture(scope="module")
def plan() -> Plan:
    return compile(read_brief(BRIEF, today=TODAY), Workshop(today=TODAY), seconds=0.05)


def _mesh_mm2(form: FormPlan, name: str) -> float:
    part = next(part for part in solid_at(form, "fired", 192).parts if part.name == name)
    return float(trimesh.Trimesh(part.points_mm, part.faces, process=False).area)


def test_a_ball_for_a_knob_has_the_surface_of_a_sphere() -> None:
    assert spheroid_mm2(25.0, 25.0) == pytest.approx(math.pi * 25.0**2, rel=1e-12)


@pytest.mark.parametrize("high", [8.0, 19.0, 40.0])
def test_a_knob_pressed_flat_or_drawn_out_meets_its_surface_by_quadrature(high: float) -> None:
    a, c = 12.5, high / 2

    def band(turn: float) -> float:
        return 2 * math.pi * a * math.sin(turn) * math.hypot(a * math.cos(turn), c * math.sin(turn))

    assert spheroid_mm2(25.0, high) == pytest.approx(quad(band, 0, math.pi)[0], rel=0.012)


def test_handle_and_lid_are_glazed_and_come_near_to_their_solids(plan: Plan) -> None:
    """A solid has also what is left bare: roots within the wall, ledge and flange of the lid, and the foot of its knob."""
    bowl, pot = plan.forms
    lid, knob = _mesh_mm2(bowl, "lid"), _mesh_mm2(bowl, "knob")
    assert 0.75 * (lid + knob) < parts_mm2(bowl, "all")["lid"] < lid + knob
    assert parts_mm2(pot, "all")["handle"] == pytest.approx(_mesh_mm2(pot, "handle"), rel=0.12)
    assert 0.6 * _mesh_mm2(pot, "spout") < parts_mm2(pot, "all")["spout"] < 1.1 * _mesh_mm2(pot, "spout")


def test_each_glaze_covers_the_parts_that_it_names_and_says_them(plan: Plan) -> None:
    over, liner, reeds = plan.glazes
    bowl = plan.forms[0]
    inside, outside = parts_mm2(bowl, "inside"), parts_mm2(bowl, "outside")
    assert over.areas_mm2["Lidded bowl"] == pytest.approx(sum(inside.values()) + sum(outside.values()))
    assert liner.areas_mm2["Lidded bowl"] == pytest.approx(sum(inside.values()))
    assert "lid" in inside
    assert "lid" in outside
    assert reeds.areas_mm2["Lidded bowl"] == pytest.approx(0.2 * outside["wall"])
    for glaze in plan.glazes:
        for step in glaze.steps:
            if step.name.startswith("area on one"):
                assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    assert any("lid_cm2" in step.inputs for step in over.steps)


def test_a_lid_wider_than_its_gallery_is_told_with_the_width_that_goes_in(plan: Plan) -> None:
    told = [notice for notice in plan.notices if "lid’s width" in notice.what]
    assert [notice.about for notice in told] == ["Lidded bowl"]
    assert "140 mm" in told[0].what
    assert "gallery" in told[0].why


def test_a_glaze_rich_in_iron_is_reckoned_by_a_set_that_knows_iron() -> None:
    """Hall's, Winkelmann and Schott's and Appen's factors name no iron oxide; Mayer and Havas do (``expansion_factors``)."""
    iron = BRIEF + (
        '[[glazes]]\nname = "Tenmoku"\nrecipe = { "potash feldspar" = 45, "silica / flint" = 27, "whiting" = 18, '
        '"kaolin" = 10 }\nadditions = { "red iron oxide" = 9 }\n'
    )
    glaze = compile(read_brief(iron, today=TODAY), Workshop(today=TODAY), seconds=0.05).glazes[-1]
    assert glaze.expansion_per_k is not None
    assert 5e-6 < glaze.expansion_per_k.value < 12e-6
    told = [str(flag.what) + flag.why for flag in glaze.flags if "expansion" in flag.what]
    assert len(told) == 1
    assert "Fe2O3" in told[0]
    assert "by moles" in told[0]
