"""A kiln of the workshop's file as heat sees it: as the file tells, as is usual, and as a log of its own has told."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Brief, Clay
from wareboard.plan.equipment import kilns_of, prices_of
from wareboard.plan.kiln_heat import fitted_wall, kiln_heat, power_steps, voltage_share
from wareboard.plan.workshop import Kiln, Workshop

if TYPE_CHECKING:
    from wareboard.kiln.inside import KilnInside
    from wareboard.kiln.thermal import KilnModel

BRICK_MM, WARE_KG, SHELVES_KG = 64.0, 30.0, 25.0  # two and a half inches of insulating brick, half a load; from memory
SHELF_TO_WALL_MM = 25.0


@dataclass(frozen=True, slots=True)
class Fit:
    """How a kiln's model met one of its logs: the two factors with 90 % ranges, what is still missed, and which firing."""

    firing: int
    wall: tuple[float, float, float]  # value, low, high
    load: tuple[float, float, float]
    rms_c: float

    @property
    def words(self) -> str:
        both = (("wall", self.wall), ("load", self.load))
        told = ", ".join(f"{name} {value:.2f} ({low:.2f} to {high:.2f})" for name, (value, low, high) in both)
        return f"fitted to the log of firing {self.firing}: {told} times as taken, {self.rms_c:.0f} °C off on average"


@dataclass(frozen=True, slots=True)
class Estimated:
    """A kiln as heat sees it, and in words what of it was taken for want of better."""

    model: KilnModel
    taken: str


def whole(kiln: Kiln) -> Kiln:
    """A kiln of the workshop's file with its blanks filled in."""
    return workshop_kilns(Workshop(kilns=(kiln,)))[0]


def workshop_kilns(workshop: Workshop) -> tuple[Kiln, ...]:
    """The workshop's kilns, or one usual kiln, with their blanks filled in."""
    nobodys = Brief.model_construct(due=date.max, forms=(), clay=Clay(), kilns=())
    return kilns_of(nobodys, workshop, Assumer())


def energy_price(workshop: Workshop) -> tuple[Decimal, str]:
    """What a kWh costs in the workshop, the usual price where its file tells none, and its currency."""
    found = prices_of(Brief.model_construct(due=date.max, forms=(), clay=Clay()), workshop, Assumer())
    return found.energy_per_kwh or Decimal(0), found.currency or ""


def inside(kiln: Kiln) -> KilnInside:
    """The room inside a kiln without blanks."""
    from wareboard.plan.equipment import inside_of

    return inside_of(kiln, Assumer())


def estimated(kiln: Kiln, fit: Fit | None = None) -> Estimated:
    """The kiln's model: as the workshop's file tells its wall, furniture, wiring and vent, the rest as is usual.

    Args:
        kiln: without blanks.
        fit: to one of its logs; wall and load are then `fit_base` as that log told, for its factors are of that.
    Source: `wareboard.plan.kiln_heat`; a fit to a log (`wareboard.kiln.calibrate`) is better.
    """
    if fit is None:
        heat = kiln_heat(kiln, Assumer())
        usual = f"; taken as usual: {heat.taken}" if heat.taken else ""
        return Estimated(heat.model, f"{_power_words(kiln)}{usual}")
    from wareboard.kiln.calibrate import scaled

    taken = (
        f"{_power_words(kiln)}; taken from memory: {BRICK_MM:g} mm of insulating brick, {wall_area_m2(kiln):.1f} m² of "
        f"wall, {WARE_KG:g} kg of ware and {SHELVES_KG:g} kg of shelves"
    )
    return Estimated(scaled(fit_base(kiln), fit.wall[0], fit.load[0]), f"{taken}; {fit.words}")


def fit_base(kiln: Kiln) -> KilnModel:
    """What a log's fit multiplies: brick of 64 mm all round shelf and height, 30 kg of ware, 25 kg of shelves and posts.

    It is the same for every kiln whatever its file tells of its wall, so that a fit that is kept still means what it did;
    the voltage alone is the file's, for no fit changes the power.
    """
    from wareboard.kiln.thermal import KilnModel

    wall = fitted_wall(1.0)
    power = kiln.power_kw or 0.0
    return KilnModel(power, wall, wall_area_m2(kiln), WARE_KG, SHELVES_KG, voltage=voltage_share(kiln))


def _power_words(kiln: Kiln) -> str:
    steps = power_steps(kiln)
    at = f", {steps[0].value:.1f} kW at {kiln.supply_volts:g} V" if steps else ""
    return f"{kiln.power_kw:g} kW{at}"


def wall_area_m2(kiln: Kiln) -> float:
    """Area of wall, floor and lid through the middle of the brick, m²."""
    high = (kiln.usable_height or 0.0) + BRICK_MM
    if kiln.shape == "rectangular":
        wide, deep = (
            (each or 0.0) + 2.0 * SHELF_TO_WALL_MM + BRICK_MM for each in (kiln.shelf_width, kiln.shelf_depth)
        )
        return 2.0 * (wide * deep + (wide + deep) * high) / 1e6
    across = (kiln.shelf_diameter or 0.0) + 2.0 * SHELF_TO_WALL_MM + BRICK_MM
    return math.pi * across * (across / 2.0 + high) / 1e6
