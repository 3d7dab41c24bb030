"""A kiln as heat: elements, chamber, ware and shelves, and a layered wall, followed through a firing and its cooling.

The chamber (what the thermocouple reads) is heated by the elements and gives heat by radiation to the ware with its shelves
and to the hot face of the wall; the wall loses it to the room. Two lumps and a one-dimensional wall: no hot or cold corners,
no lag inside the ware, no heat of reactions in raw clay.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive
from wareboard.kiln.segment import Schedule, plot_points
from wareboard.kiln.wall_heat import (
    BRICK_23,
    FIBRE_128,
    SHELF,
    STEFAN_BOLTZMANN,
    STONEWARE,
    ZERO_C_K,
    Layer,
    Material,
    cells,
    outer_film,
    steady_wall,
    wall_history,
)

__all__ = [
    "BRICK_23",
    "FIBRE_128",
    "SHELF",
    "STONEWARE",
    "Fired",
    "KilnModel",
    "Layer",
    "Material",
    "element_power_kw",
    "element_resistance_ohm",
    "simulate",
    "steady_wall",
    "wall_history",
]
Array = NDArray[np.float64]
PASSES = 3
BEHIND_C = 5.0  # a controller waits while the kiln is this far behind its program
LONGEST_H = 240.0
# Temperature factor of resistance of FeCrAl A-1, to 1400 °C, as printed (kiln-p7).
FACTOR_TEMPS_C = (20.0, 400.0, 500.0, 600.0, 700.0, 800.0, 900.0, 1000.0, 1300.0, 1400.0)
FACTORS = (1.00, 1.00, 1.01, 1.02, 1.02, 1.03, 1.03, 1.04, 1.04, 1.05)


def element_resistance_ohm(cold_ohm: float, element_c: float, wear: float = 0.0) -> float:
    """Resistance of a FeCrAl element, ohm, hot and worn.

    Args:
        cold_ohm: new, at 20 °C.
        element_c: 20 to 1400 °C.
        wear: rise of resistance by age, fraction; the trade acts at about 0.10.
    Raises:
        OutOfRange: if the temperature lies outside the maker's data, the resistance is not above 0, or the wear below 0.
    Source: kiln-p7, temperature factors.
    """
    if not 20.0 <= element_c <= 1400.0:
        raise OutOfRange(
            f"element at {element_c:g} °C", why="its data run from 20 to 1400 °C", mend="Give the element's temperature"
        )
    positive(cold_ohm, "cold resistance", "ohm")
    not_negative(wear, "wear of the elements")
    return cold_ohm * float(np.interp(element_c, FACTOR_TEMPS_C, FACTORS)) * (1.0 + wear)


def element_power_kw(volts: float, cold_ohm: float, element_c: float = 1222.0, wear: float = 0.0) -> float:
    """Power of elements at a voltage, kW: volts squared over their hot, worn resistance.

    Raises:
        OutOfRange: if the voltage or the resistance is not above 0, or as `element_resistance_ohm` for the rest.
    Source: Ohm's law; factors as `element_resistance_ohm`. Isolate a kiln before measuring ohms.
    """
    positive(volts, "voltage", "V")
    return volts**2 / element_resistance_ohm(cold_ohm, element_c, wear) / 1000.0


@dataclass(frozen=True, slots=True)
class KilnModel:
    """A kiln with its load, as heat sees it.

    Args:
        power_kw: full power when new, at its own voltage and hot.
        wall: layers from the hot face outwards.
        wall_area_m2: mean of inner and outer area, floor and lid included.
        ware_kg, shelves_kg: what stands in it.
        ware_area_m2: face of ware and shelves that sees the elements.
        voltage: of its own voltage, fraction; power goes with its square.
        wear: rise of element resistance, fraction; power goes as 1 / (1 + wear).
        leak_w_per_k: loss by vent, joints and spyholes; from memory, to be fitted to a log (`kiln.calibrate`).
        chamber_kj_per_k: elements and air.
        emissivity: between the faces inside.
    """

    power_kw: float
    wall: tuple[Layer, ...]
    wall_area_m2: float
    ware_kg: float
    shelves_kg: float
    ware_area_m2: float = 2.0
    room_c: float = 20.0
    voltage: float = 1.0
    wear: float = 0.0
    leak_w_per_k: float = 0.5
    chamber_kj_per_k: float = 6.0
    emissivity: float = 0.7
    ware: Material = STONEWARE
    shelf: Material = SHELF

    def __post_init__(self) -> None:
        for name, number, least, most in (
            ("power_kw", self.power_kw, 0.1, 500.0),
            ("wall_area_m2", self.wall_area_m2, 0.05, 200.0),
            ("ware_kg", self.ware_kg, 0.0, 5000.0),
            ("shelves_kg", self.shelves_kg, 0.0, 5000.0),
            ("ware_area_m2", self.ware_area_m2, 0.01, 500.0),
            ("room_c", self.room_c, -30.0, 60.0),
            ("voltage", self.voltage, 0.5, 1.3),
            ("wear", self.wear, 0.0, 1.0),
            ("leak_w_per_k", self.leak_w_per_k, 0.0, 50.0),
            ("chamber_kj_per_k", self.chamber_kj_per_k, 0.5, 1000.0),
            ("emissivity", self.emissivity, 0.05, 1.0),
        ):
            if not (math.isfinite(number) and least <= number <= most):
                raise OutOfRange(
                    f"{name} is {number:g}",
                    why=f"a studio kiln's lies from {least:g} to {most:g}",
                    mend="Check the figure and its unit",
                )

    @property
    def full_kw(self) -> float:
        """Power that the elements give now, kW."""
        return self.power_kw * self.voltage**2 / (1.0 + self.wear)

    def loss_kw(self, hot_c: float) -> float:
        """Steady loss through wall and leaks with the hot face at ``hot_c``, kW."""
        through = steady_wall(self.wall, hot_c, self.room_c).flux_w_per_m2 * self.wall_area_m2
        return (through + self.leak_w_per_k * (hot_c - self.room_c)) / 1000.0


@dataclass(frozen=True, slots=True, eq=False)
class Fired:
    """A firing as the model runs it: (n,) seconds, °C of chamber and ware, kW; heat in, held and lost, kWh.

    ``balance`` is what is missing between heat put in and heat held and lost, as a share of that put in; it checks the sums.
    ``reached`` is False if the kiln could not finish its program within ten days. ``lost_kw`` goes to the room through wall
    and leaks; ``brick_kwh`` is what the wall holds over 0 °C; both (n,).
    """

    times_s: Array
    chamber_c: Array
    ware_c: Array
    power_kw: Array
    outer_c: Array
    put_in_kwh: float
    held_kwh: float
    lost_kwh: float
    balance: float
    program_ends_s: float
    reached: bool
    lost_kw: Array
    brick_kwh: Array

    @property
    def duty(self) -> float:
        """Share of the hardest-run kW that was used on average until the program ended, fraction."""
        within = self.times_s <= self.program_ends_s
        top = float(self.power_kw.max())
        return float(self.power_kw[within].mean() / top) if top > 0.0 else 0.0


def simulate(kiln: KilnModel, schedule: Schedule, cool_to_c: float | None = 60.0, step_s: float = 60.0) -> Fired:
    """A firing and its free cooling, step by step, with a controller that follows the schedule as power allows.

    The controller waits whenever the kiln is more than 5 °C behind, as most do, so worn elements make the firing longer.

    Args:
        kiln: kiln and load, all at the schedule's start.
        cool_to_c: cooling is followed until the ware is there; None stops at the end of the program.
        step_s: 5 to 600 s.
    Raises:
        OutOfRange: for a step outside these, or cooling to below 5 °C over the room.
    Source: energy balance; backward Euler as `kiln.wall_heat`, radiation between grey faces linearised at each pass.
    """
    if not 5.0 <= step_s <= 600.0:
        raise OutOfRange(f"step of {step_s:g} s", why="it must be from 5 to 600 s", mend="Use 60 s")
    if cool_to_c is not None and cool_to_c < kiln.room_c + 5.0:
        raise OutOfRange(
            f"cooling to {cool_to_c:g} °C",
            why="a kiln creeps towards the room and is never quite there",
            mend="Stop at least 5 °C above the room",
        )
    run = _Run(kiln, schedule.start_c, step_s)
    hours, targets = plot_points(schedule)
    program_s, clock, end_s = hours * 3600.0, 0.0, float(hours[-1]) * 3600.0
    while clock < end_s and run.elapsed_s < LONGEST_H * 3600.0:
        ahead = min(clock + step_s, end_s)
        target = float(np.interp(ahead, program_s, targets))
        run.step(target)
        clock = _program_time(clock, ahead, float(np.interp(clock, program_s, targets)), target, run.chamber_c)
    ends_s, reached = run.elapsed_s, clock >= end_s
    while cool_to_c is not None and run.ware_c > cool_to_c and run.elapsed_s < ends_s + LONGEST_H * 3600.0:
        run.step(None)
    return run.fired(ends_s, reached)


def _program_time(clock: float, ahead: float, target_c: float, target_ahead_c: float, chamber_c: float) -> float:
    """Where the program stands after a step: on to ``ahead``, or as far as leaves the kiln no more than 5 °C behind."""
    if chamber_c >= target_ahead_c - BEHIND_C:
        return ahead
    share = (chamber_c + BEHIND_C - target_c) / max(target_ahead_c - target_c, 1e-9)
    return clock + (ahead - clock) * min(max(share, 0.0), 1.0)


class _Run:
    """The state of one simulated firing: temperatures of ware, chamber and wall cells, and the sums of heat."""

    def __init__(self, kiln: KilnModel, start_c: float, step_s: float) -> None:
        from scipy.linalg.lapack import dgtsv

        self.solve = dgtsv
        self.kiln, self.step_s, self.elapsed_s = kiln, step_s, 0.0
        self.grid = cells(kiln.wall)
        count = len(self.grid.size_m)
        self.temps = np.full(count + 2, start_c)
        # Ware and shelves take up heat together: capacity a + b t, J/K, t the mean of before and after.
        self.load_a = max(kiln.ware_kg * kiln.ware.c0 + kiln.shelves_kg * kiln.shelf.c0, 1.0)
        self.load_b = kiln.ware_kg * kiln.ware.c1 + kiln.shelves_kg * kiln.shelf.c1
        self.start_heat = self._heat(self.temps)
        self.hot_face_c, self.put_in_j, self.lost_j, self.outer_c = start_c, 0.0, 0.0, start_c
        first = (0.0, start_c, start_c, 0.0, start_c, 0.0, self._brick_j(self.temps))
        self.kept: list[tuple[float, float, float, float, float, float, float]] = [first]

    @property
    def ware_c(self) -> float:
        return float(self.temps[0])

    @property
    def chamber_c(self) -> float:
        return float(self.temps[1])

    def _heat(self, temps: Array) -> float:
        """Heat held above 0 °C, J."""
        load, chamber = float(temps[0]), float(temps[1])
        within = load * (self.load_a + 0.5 * self.load_b * load) + 1000.0 * self.kiln.chamber_kj_per_k * chamber
        return within + self._brick_j(temps)

    def _brick_j(self, temps: Array) -> float:
        """Heat held above 0 °C by the wall, J."""
        return float(self.grid.heat_j_per_m2(temps[2:]).sum()) * self.kiln.wall_area_m2

    def step(self, target_c: float | None) -> None:
        """One step towards ``target_c`` (None: power off): the power is found with the temperatures, within its limits."""
        kiln, before, temps = self.kiln, self.temps, self.temps
        full_w = 1000.0 * kiln.full_kw if target_c is not None else 0.0
        known = np.zeros((len(before), 2), order="F")
        for _ in range(PASSES):
            upper, diagonal, held, to_room = self._conductances(before, temps)
            known[:, 0] = held * before
            known[1, 0] += kiln.leak_w_per_k * kiln.room_c
            known[-1, 0] += to_room * kiln.room_c
            known[:, 1] = 0.0
            known[1, 1] = 1.0
            # Two answers at once: with no power, and what one watt adds; the power wanted follows from both.
            both = self.solve(-upper, diagonal, -upper, known)[3]
            wanted = (target_c - both[1, 0]) / both[1, 1] if target_c is not None else 0.0
            power_w = min(max(wanted, 0.0), full_w)
            temps = both[:, 0] + power_w * both[:, 1]
            self.hot_face_c = temps[1] - (temps[1] - temps[2]) * self.face_share
        self._book(temps, power_w, to_room)

    def _conductances(self, before: Array, temps: Array) -> tuple[Array, Array, Array, float]:
        """W/K between neighbours, diagonal, capacity over step in W/K, and W/K to the room; ware, chamber, then cells."""
        kiln, grid, area = self.kiln, self.grid, self.kiln.wall_area_m2
        cell = temps[2:]
        half = grid.size_m / (2.0 * grid.conductivity(cell))
        upper = np.empty(len(temps) - 1)
        upper[0] = kiln.ware_area_m2 * _radiation(temps[1], temps[0], kiln.emissivity)
        film = _radiation(temps[1], self.hot_face_c, kiln.emissivity)
        upper[1] = area / (1.0 / film + half[0])
        self.face_share = (1.0 / film) / (1.0 / film + half[0])
        upper[2:] = area / (half[:-1] + half[1:])
        to_room = area * outer_film(float(cell[-1]), float(half[-1]), kiln.room_c, None)
        held = np.empty(len(temps))
        held[0] = self.load_a + 0.5 * self.load_b * (before[0] + temps[0])
        held[1] = 1000.0 * kiln.chamber_kj_per_k
        held[2:] = area * grid.capacity(before[2:], cell)
        held /= self.step_s
        diagonal = held.copy()
        diagonal[:-1] += upper
        diagonal[1:] += upper
        diagonal[1] += kiln.leak_w_per_k
        diagonal[-1] += to_room
        return upper, diagonal, held, to_room

    def _book(self, temps: Array, power_w: float, to_room: float) -> None:
        kiln = self.kiln
        self.temps = temps
        self.elapsed_s += self.step_s
        self.put_in_j += power_w * self.step_s
        through_w = to_room * (float(temps[-1]) - kiln.room_c)
        lost_w = through_w + kiln.leak_w_per_k * (float(temps[1]) - kiln.room_c)
        self.lost_j += self.step_s * lost_w
        half = self.grid.size_m[-1] / (2.0 * float(self.grid.conductivity(temps[2:])[-1]))
        face_c = float(temps[-1]) - through_w / kiln.wall_area_m2 * float(half)
        chamber_c, ware_c, brick_j = float(temps[1]), float(temps[0]), self._brick_j(temps)
        self.kept.append((self.elapsed_s, chamber_c, ware_c, power_w / 1000.0, face_c, lost_w / 1000.0, brick_j))

    def fired(self, program_ends_s: float, reached: bool) -> Fired:
        times, chamber, ware, power, outer, lost, brick = (np.asarray(each) for each in zip(*self.kept, strict=True))
        held_j = self._heat(self.temps) - self.start_heat
        missing = self.put_in_j - held_j - self.lost_j
        return Fired(
            times,
            chamber,
            ware,
            power,
            outer,
            self.put_in_j / 3.6e6,
            held_j / 3.6e6,
            self.lost_j / 3.6e6,
            missing / max(self.put_in_j, 1.0),
            program_ends_s,
            reached,
            lost,
            brick / 3.6e6,
        )


def _radiation(one_c: float, other_c: float, emissivity: float) -> float:
    """W/(m² K) by radiation between two grey faces, with a breath of convection so that it never vanishes."""
    a, b = one_c + ZERO_C_K, other_c + ZERO_C_K
    return float(emissivity * STEFAN_BOLTZMANN * (a * a + b * b) * (a + b)) + 5.0
