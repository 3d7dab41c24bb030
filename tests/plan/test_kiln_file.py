"""What a workshop's file says of its kilns, and the heat model and inside that follow from it."""

from __future__ import annotations

import math

import pytest
from pydantic import ValidationError

from wareboard.errors import OutOfRange, Unreadable
from wareboard.kiln.wall_heat import BRICK_23, FIBRE_128
from wareboard.plan.assume import Assumer
from wareboard.plan.equipment import angle_at_hour, inside_of
from wareboard.plan.kiln_heat import kiln_heat, voltage_share
from wareboard.plan.kiln_words import posts_of, wall_layers
from wareboard.plan.own import NOTHING_LEARNED
from wareboard.plan.reading import read_workshop, to_toml
from wareboard.plan.workshop import Kiln
from wareboard.working import worked_out

PLAIN = Kiln(
    name="invented kiln", shape="round", shelf_diameter=530.0, shelf_thickness=19.0, usable_height=680.0, power_kw=11.5
)
TOLD = """
[[kilns]]
name = "invented kiln"
shelf_diameter = "530 mm"
wall = "brick 2.5 in + fibre 25 mm"
furniture = "38 kg"
rated_volts = 240
supply_volts = "228"
vent = "fan"
hottest = "2350 F"
hottest_cone = "10"
element_gap = "20 mm"
thermocouple_gap = "2 in"
thermocouple_at = 12
cone_packs = ["top", "bottom"]
cone_packs_at = 6
posts_owned = ["12 x 150 mm", "9 × 6 in"]
shelves = 6
half_shelves = 4
"""


def assumer() -> Assumer:
    return Assumer(NOTHING_LEARNED)


def test_a_kiln_told_in_full_is_read_and_written_back_the_same() -> None:
    workshop = read_workshop(TOLD)
    kiln = workshop.kilns[0]
    assert kiln.hottest == pytest.approx(1287.8, abs=0.1)
    assert kiln.posts_owned == ("12 x 150 mm", "9 x 152.4 mm")
    written = to_toml(workshop)
    assert to_toml(read_workshop(written)) == written
    assert 'wall = "brick 2.5 in + fibre 25 mm"' in written


@pytest.mark.parametrize(
    ("words", "layers"),
    [
        ("brick 64 mm", (("brick", 64.0),)),
        ("Brick 2.5 in + fiber 25 mm", (("brick", 63.5), ("fibre", 25.0))),
        ("brick 76", (("brick", 76.0),)),
        ("thick brick", (("brick", 114.0),)),
        ("brick backed with  fibre", (("brick", 76.0), ("fibre", 25.0))),
    ],
)
def test_a_wall_is_read_from_words(words: str, layers: tuple[tuple[str, float], ...]) -> None:
    assert wall_layers(words) == layers


@pytest.mark.parametrize("words", ["stone 64 mm", "brick thick", "", "brick 64 mm + ", "64 mm"])
def test_a_wall_that_is_none_is_refused_with_the_mend(words: str) -> None:
    with pytest.raises(Unreadable, match=r"brick 64 mm \+ fibre 25 mm|Write it like"):
        wall_layers(words)


def test_a_wall_of_no_thickness_is_refused() -> None:
    with pytest.raises(OutOfRange, match="5 to 600 mm"):
        wall_layers("brick 1 mm")


def test_posts_without_a_count_are_refused() -> None:
    assert posts_of("3 of 6 in") == (3, pytest.approx(152.4))
    with pytest.raises(Unreadable, match="how many posts"):
        posts_of("150 mm")
    with pytest.raises(OutOfRange, match="3 to 1200"):
        posts_of("3 x 2 m")


@pytest.mark.parametrize(
    "line", ["supply_volts = 12", 'hottest = "200 C"', "thermocouple_at = 13", 'vent = "open"', "shelves = -1"]
)
def test_what_no_kiln_has_is_refused(line: str) -> None:
    key, value = line.split(" = ")
    with pytest.raises(ValidationError):
        Kiln.model_validate({"name": "k", key: value.strip('"')})


def test_the_inside_follows_the_file() -> None:
    kiln = read_workshop(TOLD).kilns[0].model_copy(update={"usable_height": 680.0, "shelf_thickness": 19.0})
    inside = inside_of(kiln, assumer())
    assert inside.wall_gap_mm == 20.0
    assert inside.post_lengths_mm == pytest.approx((150.0, 152.4))
    assert inside.thermocouple is not None
    assert inside.cone_pack is not None
    assert (inside.thermocouple.angle_deg, inside.thermocouple.gap_mm) == (90.0, pytest.approx(50.8))
    assert inside.cone_pack.angle_deg == 270.0
    assert inside_of(PLAIN.model_copy(update={"cone_packs": ("none",)}), assumer()).cone_pack is None


def test_hours_of_a_clock_are_directions() -> None:
    assert [angle_at_hour(hour) for hour in (3.0, 12.0, 9.0, 6.0)] == [0.0, 90.0, 180.0, 270.0]


def test_what_is_left_out_is_taken_as_usual_and_noted() -> None:
    assume = assumer()
    heat = kiln_heat(PLAIN, assume)
    noted = {each.key for each in assume.assumed}
    assert {"kiln.wall_brick_mm", "kiln.shelf_density_kg_per_m3", "kiln.leak_hole_w_per_k"} <= noted
    assert heat.model.wall[0].thickness_mm == 64.0
    assert heat.model.wall[0].material == BRICK_23
    for words in ("64 mm of insulating brick", "2000 kg/m³", "vent hole", "from memory"):
        assert words in heat.taken


def test_what_is_given_is_used_and_not_noted() -> None:
    assume = assumer()
    told = {"wall": "brick 64 mm + fibre 25 mm", "furniture": 38000.0, "vent": "fan"}
    heat = kiln_heat(PLAIN.model_copy(update=told), assume, ware_kg=20.0)
    assert [layer.material for layer in heat.model.wall] == [BRICK_23, FIBRE_128]
    assert heat.model.shelves_kg == 38.0
    assert heat.model.leak_w_per_k == 1.5
    assert heat.taken == ""
    assert {each.key for each in assume.assumed} == {"kiln.leak_fan_w_per_k"}


def test_power_goes_with_the_square_of_the_voltage() -> None:
    """Source: Ohm's law. 208 V at an element made for 240 V gives (208/240)² = 0.7511 of its power, a common figure."""
    kiln = PLAIN.model_copy(update={"rated_volts": 240.0, "supply_volts": 208.0})
    heat = kiln_heat(kiln, assumer())
    assert heat.model.full_kw == pytest.approx(11.5 * 0.7511, rel=1e-3)
    step = next(step for step in heat.steps if step.key == "power_kw")
    assert step.value == pytest.approx(heat.model.full_kw)
    assert voltage_share(PLAIN) == 1.0


def test_furniture_by_size_is_the_sum_of_discs_and_bars() -> None:
    """A plain second way: four discs of 530 by 19 mm and three square bars of 32 mm, 680 mm high, of 2.0 g/ml."""
    heat = kiln_heat(PLAIN, assumer(), shelves=4.0)
    litres = 4 * math.pi / 4 * 5.3**2 * 0.19 + 3 * 0.32**2 * 6.8
    assert heat.model.shelves_kg == pytest.approx(2.0 * litres, rel=1e-4)


@pytest.mark.parametrize("shape", ["round", "half-round", "rectangular", "octagonal"])
def test_every_line_of_working_comes_out(shape: str) -> None:
    sizes = {"shape": shape, "shelf_width": 400.0, "shelf_depth": 500.0, "rated_volts": 240.0, "supply_volts": 230.0}
    heat = kiln_heat(PLAIN.model_copy(update=sizes), assumer())
    for step in heat.steps:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
