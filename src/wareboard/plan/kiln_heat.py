"""A kiln of the workshop's file as heat sees it: wall, furniture, wiring and vent, as given or as usual, and said so."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wareboard.errors import OutOfRange
from wareboard.plan.assume import Assumer
from wareboard.plan.equipment import shelf_of
from wareboard.plan.kiln_words import wall_layers
from wareboard.plan.own import wall_key
from wareboard.plan.workshop import Kiln
from wareboard.working import Estimate, Step, per_cent

if TYPE_CHECKING:
    from wareboard.kiln.energy_balance import Doubt, Shares
    from wareboard.kiln.thermal import KilnModel, Layer
    from wareboard.plan.own import OwnFigure

SHELF_TO_WALL_MM = 25.0  # from memory
POST_WIDTH_MM = 32.0  # from memory
WARE_KG = 30.0  # where no load is planned; half a load of a usual kiln, from memory
WARE_FACE_M2_PER_KG = 0.06  # of ware and shelves that sees the elements; from memory
POSTS_TO_A_SHELF = 3.0
WARE_OFF = (0.5, 1.0)  # of half a load, as shares: 15 to 60 kg
FURNITURE_OFF = (0.3, 0.2)  # of shelves and posts by size: density, and light shelves; from memory
FIT_BRICK_MM, FIT_LEAK_W_PER_K = 64.0, 0.5  # what a fit to a log begins from; never changed, for kept fits are of it
LEAST_VOLTAGE, MOST_VOLTAGE = 0.5, 1.3


@dataclass(frozen=True, slots=True)
class KilnHeat:
    """A kiln with a load as heat sees it, the working of what was reckoned, and in words what was taken as usual.

    ``by`` says on whose word the wall stands; ``doubt`` how well the parts are known, but for a wall that was not told
    (``wall_told``).
    """

    model: KilnModel
    steps: tuple[Step, ...]
    taken: str
    by: str = ""
    doubt: Doubt | None = None
    wall_told: bool = True


def kiln_heat(kiln: Kiln, assume: Assumer, ware_kg: float | None = None, shelves: float | None = None) -> KilnHeat:
    """The heat model of a kiln with its load.

    Args:
        kiln: without blanks in shelf, height and power; what else its file leaves out is taken as usual, and noted.
        ware_kg: ware in the load; half a usual load where no load is planned.
        shelves: shelves in the load; as many as the height takes at the usual distance where no load is planned.
    Source: power by the square of the supply over the rated voltage (Ohm's law); densities kiln-p24; wall builds, vents and
        distances from memory. Where logs of the kiln were fitted, its wall and leaks are theirs: brick of 64 mm that
        conducts so many times as much.
    """
    from wareboard.kiln.energy_balance import Doubt
    from wareboard.kiln.thermal import KilnModel

    fitted = assume.learned(wall_key(kiln.name))
    wall, wall_words = _wall(kiln, assume) if fitted is None else (fitted_wall(fitted.value), "")
    area = _wall_area(kiln, sum(layer.thickness_mm for layer in wall))
    furniture, furniture_steps, furniture_words = _furniture(kiln, assume, shelves)
    power = power_steps(kiln)
    leak, leak_words, leak_off = _leak(kiln, assume) if fitted is None else (FIT_LEAK_W_PER_K, "", (0.0, 0.0))
    ware = WARE_KG if ware_kg is None else ware_kg
    model = KilnModel(
        kiln.power_kw or 0.0,
        wall,
        area.value,
        ware,
        furniture,
        ware_area_m2=max(0.3, WARE_FACE_M2_PER_KG * (ware + furniture)),
        voltage=voltage_share(kiln),
        leak_w_per_k=leak,
    )
    ware_words = f"{ware:.0f} kg of ware, from memory" if ware_kg is None else ""
    taken = "; ".join(words for words in (wall_words, furniture_words, leak_words, ware_words) if words)
    doubt = Doubt(
        ware=WARE_OFF if ware_kg is None else (0.0, 0.0),
        shelves=(0.0, 0.0) if kiln.furniture is not None else FURNITURE_OFF,
        wall=_off(fitted) if fitted is not None else (0.0, 0.0),
        leak=leak_off,
        fitted=fitted is not None,
    )
    told = kiln.wall is not None or fitted is not None
    return KilnHeat(model, (area, *furniture_steps, *power), taken, _by(kiln, fitted), doubt, told)


def fitted_wall(factor: float) -> tuple[Layer, ...]:
    """What a fit to logs multiplies, so many times as conducting: brick of 64 mm all round."""
    from wareboard.kiln.thermal import BRICK_23, Layer

    brick = replace(BRICK_23, k0=BRICK_23.k0 * factor, k1=BRICK_23.k1 * factor)
    return (Layer(brick, FIT_BRICK_MM),)


def _off(figure: Estimate | OwnFigure) -> Shares:
    return 1.0 - figure.low / figure.value, figure.high / figure.value - 1.0


def _by(kiln: Kiln, fitted: OwnFigure | None) -> str:
    if fitted is not None:
        return f"by what takes the heat up, the wall as fitted to {fitted.records}"
    if kiln.wall is not None:
        return "by what takes the heat up, the wall as the workshop’s file tells it"
    return "by what takes the heat up, the wall as is usual"


def voltage_share(kiln: Kiln) -> float:
    """Supply over rated voltage; 1 where either is not told.

    Raises:
        OutOfRange: where one is no supply for the other.
    """
    found = kiln.supply_volts / kiln.rated_volts if kiln.supply_volts and kiln.rated_volts else 1.0
    if not LEAST_VOLTAGE <= found <= MOST_VOLTAGE:
        raise OutOfRange(
            f"{kiln.name}: {kiln.supply_volts:g} V on elements for {kiln.rated_volts:g} V",
            f"a kiln runs on {per_cent(LEAST_VOLTAGE)} to {per_cent(MOST_VOLTAGE)} of its own voltage",
            "Check both voltages in the workshop's file; an electrician looks after the wiring",
        )
    return found


def power_steps(kiln: Kiln) -> tuple[Step, ...]:
    """What the elements give at the supply's voltage, with its working; nothing where the voltages are not both told."""
    if not (kiln.supply_volts and kiln.rated_volts and kiln.power_kw):
        return ()
    given = {"rated_kw": kiln.power_kw, "supply_v": kiln.supply_volts, "rated_v": kiln.rated_volts}
    value = kiln.power_kw * (kiln.supply_volts / kiln.rated_volts) ** 2
    name = f"power of {kiln.name} at its supply"
    return (Step(name, "rated_kw * (supply_v / rated_v) ** 2", given, value, "Ohm's law", "kW", key="power_kw"),)


def _wall(kiln: Kiln, assume: Assumer) -> tuple[tuple[Layer, ...], str]:
    from wareboard.kiln.thermal import BRICK_23, FIBRE_128, Layer

    kinds = {"brick": BRICK_23, "fibre": FIBRE_128}
    if kiln.wall is not None:
        return tuple(Layer(kinds[what], thick) for what, thick in wall_layers(kiln.wall)), ""
    usual = assume.figure("kiln.wall_brick_mm").value
    return (Layer(BRICK_23, usual),), f"{usual:g} mm of insulating brick, from memory"


def _wall_area(kiln: Kiln, thick_mm: float) -> Step:
    """Area of wall, floor and lid through the middle of the wall, m²."""
    high, outer = kiln.usable_height or 0.0, 2.0 * SHELF_TO_WALL_MM
    if kiln.shape == "rectangular":
        given = {"wide": kiln.shelf_width or 0.0, "deep": kiln.shelf_depth or 0.0}
        wide, deep = (each + outer + thick_mm for each in given.values())
        value = 2.0 * (wide * deep + (wide + deep) * (high + thick_mm)) / 1e6
        formula = (
            "2 * ((wide + room + wall) * (deep + room + wall) + (wide + deep + 2 * room + 2 * wall) * (high + wall)) "
            "/ 1000000"
        )
    else:
        given = {"across": kiln.shelf_diameter or 0.0}
        across = given["across"] + outer + thick_mm
        value = math.pi * across * (across / 2.0 + high + thick_mm) / 1e6
        formula = "pi * (across + room + wall) * ((across + room + wall) / 2 + high + wall) / 1000000"
    inputs = {**given, "room": outer, "wall": thick_mm, "high": high}
    return Step(f"wall of {kiln.name}, through its middle", formula, inputs, value, "derived", "m²", key="wall_area_m2")


def _furniture(kiln: Kiln, assume: Assumer, shelves: float | None) -> tuple[float, tuple[Step, ...], str]:
    """Mass of shelves and posts, kg: as given, else by size and density."""
    if kiln.furniture is not None:
        return kiln.furniture / 1000.0, (), ""
    density = assume.figure("kiln.shelf_density_kg_per_m3")
    high = kiln.usable_height or 0.0
    words = f"shelves and posts by size and {density.value:g} kg/m³"
    if shelves is None:
        pitch = assume.figure("kiln.shelf_pitch_mm").value
        shelves = max(1.0, math.floor(high / pitch))
        words += f", {shelves:g} shelves"
    shelf = shelf_of(kiln)
    whole = 2.0 if kiln.shape == "half-round" else 1.0
    inputs = {
        "shelves": shelves,
        "area_mm2": shelf.floor().area_mm2() * whole,
        "thick_mm": shelf.thickness_mm,
        "posts": POSTS_TO_A_SHELF,
        "post_mm2": POST_WIDTH_MM**2,
        "high_mm": high,
        "density": density.value,
    }
    value = (
        shelves * inputs["area_mm2"] * shelf.thickness_mm + POSTS_TO_A_SHELF * POST_WIDTH_MM**2 * high
    ) * density.value
    step = Step(
        f"shelves and posts in {kiln.name}",
        "(shelves * area_mm2 * thick_mm + posts * post_mm2 * high_mm) * density / 1000000000",
        inputs,
        value / 1e9,
        density.source,
        "kg",
        value / 1e9 * density.low / density.value,
        value / 1e9 * density.high / density.value,
        key="furniture_kg",
    )
    return value / 1e9, (step,), words


def _leak(kiln: Kiln, assume: Assumer) -> tuple[float, str, Shares]:
    figure: Estimate = assume.figure(f"kiln.leak_{kiln.vent or 'hole'}_w_per_k")
    words = "" if kiln.vent else "an open vent hole"
    return figure.value, words, _off(figure)
