"""Heat through a kiln's layered wall: steady, and in time by an implicit scheme, one-dimensional.

Temperatures in °C, thicknesses in mm, heat flow in W/m². Conductivity and specific heat rise straight with temperature.
Source of the scheme: backward Euler on finite volumes (Patankar, Numerical Heat Transfer and Fluid Flow, 1980, ch. 4), with
the specific heat taken as enthalpy over temperature between the two times, so that energy is kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange

Array = NDArray[np.float64]
STEFAN_BOLTZMANN = 5.670374419e-8
ZERO_C_K = 273.15
CELL_MM = 5.0
PASSES = 3


@dataclass(frozen=True, slots=True)
class Material:
    """A refractory: density, kg/m³; conductivity k0 + k1 t, W/(m K); specific heat c0 + c1 t, J/(kg K); t in °C."""

    name: str
    density_kg_per_m3: float
    k0: float
    k1: float
    c0: float
    c1: float
    source: str

    def conductivity(self, temp_c: ArrayLike) -> Array:
        """W/(m K) at a temperature."""
        return np.asarray(self.k0 + self.k1 * np.asarray(temp_c, dtype=np.float64))

    def heat_j_per_kg(self, temp_c: ArrayLike) -> Array:
        """Heat held above 0 °C, J/kg."""
        temp = np.asarray(temp_c, dtype=np.float64)
        return np.asarray(temp * (self.c0 + 0.5 * self.c1 * temp))


# Straight lines through the tables of the VDI Heat Atlas (400 to 1200 °C), met within 2 % in k and 3 % in specific heat;
# below 400 °C they are carried on. Blanket and shelf are from memory, met within 10 %; makers of blanket differ by 20 %.
BRICK_23 = Material("1260 °C insulating brick", 490.0, 0.10, 1.0e-4, 909.0, 0.107, "kiln-p1")
BRICK_26 = Material("1400 °C insulating brick", 790.0, 0.229, 1.12e-4, 917.0, 0.116, "kiln-p1")
FIBRE_128 = Material("alumina-silica blanket, 128 kg/m³", 128.0, 0.005, 2.6e-4, 900.0, 0.23, "from-memory")
STONEWARE = Material("fired clay", 2300.0, 1.0, 1.8e-4, 915.0, 0.122, "kiln-p1")
SHELF = Material("cordierite shelf", 2000.0, 1.6, 0.0, 870.0, 0.25, "from-memory")


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of the wall, from the hot side outwards."""

    material: Material
    thickness_mm: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.thickness_mm) and 1.0 <= self.thickness_mm <= 1000.0):
            raise OutOfRange(
                f"a layer of {self.thickness_mm:g} mm",
                why="walls are built of layers from 1 to 1000 mm",
                mend="Give the thickness in mm",
            )


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """The wall cut into cells: size, m, and the constants of the material of each; (n,) arrays."""

    size_m: Array
    density: Array
    k0: Array
    k1: Array
    c0: Array
    c1: Array

    def conductivity(self, temps: Array) -> Array:
        """Conductivity of each cell at its temperature (°C, the same shape), W/(m K)."""
        return self.k0 + self.k1 * temps

    def heat_j_per_m2(self, temps: Array) -> Array:
        """Heat held above 0 °C by each cell, J/m²."""
        return self.size_m * self.density * temps * (self.c0 + 0.5 * self.c1 * temps)

    def capacity(self, before: Array, after: Array) -> Array:
        """J/(m² K) between two temperatures, exactly: specific heat is straight, so its mean is that of the middle."""
        return self.size_m * self.density * (self.c0 + 0.5 * self.c1 * (before + after))


def cells(layers: tuple[Layer, ...], cell_mm: float = CELL_MM) -> Cells:
    """The layers cut into cells of about ``cell_mm``, at least four a layer.

    Raises:
        OutOfRange: if there is no layer.
    """
    if not layers:
        raise OutOfRange("a wall", why="it has no layer", mend="Give at least one layer")
    per_layer = [max(4, round(layer.thickness_mm / cell_mm)) for layer in layers]

    def spread(pick: Callable[[Layer], float]) -> Array:
        return np.concatenate([np.full(count, pick(layer)) for layer, count in zip(layers, per_layer, strict=True)])

    size = np.concatenate(
        [np.full(count, layer.thickness_mm / 1000.0 / count) for layer, count in zip(layers, per_layer, strict=True)]
    )
    return Cells(
        size,
        spread(lambda layer: layer.material.density_kg_per_m3),
        spread(lambda layer: layer.material.k0),
        spread(lambda layer: layer.material.k1),
        spread(lambda layer: layer.material.c0),
        spread(lambda layer: layer.material.c1),
    )


def outer_coefficient(face_c: float, room_c: float, emissivity: float = 0.9) -> float:
    """W/(m² K) from the outer face to the room: natural convection 1.31 ΔT^(1/3), and radiation.

    Source: simplified relation for a turbulent upright face in air (Holman, Heat Transfer, table 7-2) and Stefan-Boltzmann.
    """
    a, b = face_c + ZERO_C_K, room_c + ZERO_C_K
    still = float(abs(face_c - room_c) ** (1.0 / 3.0))
    return 1.31 * still + emissivity * STEFAN_BOLTZMANN * (a * a + b * b) * (a + b)


@dataclass(frozen=True, slots=True)
class SteadyWall:
    """Heat lost through a wall at rest, W/m², and the temperature of each face from the hot one outwards, °C."""

    flux_w_per_m2: float
    faces_c: tuple[float, ...]


def steady_wall(
    layers: tuple[Layer, ...], hot_c: float, room_c: float = 20.0, outer_c: float | None = None
) -> SteadyWall:
    """Steady heat loss with a hot face at ``hot_c``, into a room, or to an outer face held at ``outer_c``.

    The range of such a figure is about 10 %: laboratories differ by 7.4 % (one standard deviation) on one fibre board.

    Raises:
        OutOfRange: if the hot face is no hotter than the outside.
    Source: Fourier's law; mean conductivity of a layer is that of its middle, exact where k is straight.
    """
    outside = room_c if outer_c is None else outer_c
    if not outside < hot_c <= 1800.0:
        raise OutOfRange(
            f"a hot face at {hot_c:g} °C against {outside:g} °C outside",
            why="heat is lost outwards only from a hotter face, up to 1800 °C",
            mend="Give the temperature of the hot face in °C",
        )
    faces = np.linspace(hot_c, outside, len(layers) + 1)
    flux = 0.0
    for _ in range(200):
        resistance = [
            layer.thickness_mm / 1000.0 / float(layer.material.conductivity(0.5 * (a + b)))
            for layer, a, b in zip(layers, faces[:-1], faces[1:], strict=True)
        ]
        film = 0.0 if outer_c is not None else 1.0 / max(outer_coefficient(float(faces[-1]), room_c), 1e-6)
        flux, before = (hot_c - outside) / (sum(resistance) + film), flux
        faces = hot_c - flux * np.concatenate([[0.0], np.cumsum(resistance)])
        if abs(flux - before) < 1e-9 * flux:
            break
    return SteadyWall(float(flux), tuple(float(face) for face in faces))


def wall_history(
    layers: tuple[Layer, ...],
    times_s: ArrayLike,
    face_c: ArrayLike,
    start_c: float,
    outer_w_per_m2_k: float | None = 0.0,
    room_c: float = 20.0,
    cell_mm: float = CELL_MM,
) -> Array:
    """(times, cells) temperatures of a wall whose hot face follows a given course, in the middle of each cell.

    Args:
        times_s: (n,) seconds, rising; one implicit step from each to the next.
        face_c: (n,) °C of the hot face.
        start_c: the whole wall at the first time.
        outer_w_per_m2_k: film at the outer face; 0 is an insulated back, None natural convection and radiation.
    Source: see the module; first order in time, second in space.
    """
    from scipy.linalg.lapack import dgtsv

    times, face = np.asarray(times_s, dtype=np.float64), np.asarray(face_c, dtype=np.float64)
    grid = cells(layers, cell_mm)
    temps = np.full(len(grid.size_m), float(start_c))
    out = np.empty((len(times), len(temps)))
    out[0] = temps
    for at in range(1, len(times)):
        step, before = times[at] - times[at - 1], temps
        for _ in range(PASSES):
            k = grid.conductivity(temps)
            half = grid.size_m / (2.0 * k)
            between = 1.0 / (half[:-1] + half[1:])
            outer = outer_film(temps[-1], half[-1], room_c, outer_w_per_m2_k)
            held = grid.capacity(before, temps) / step
            diagonal = held.copy()
            diagonal[:-1] += between
            diagonal[1:] += between
            diagonal[0] += 1.0 / half[0]
            diagonal[-1] += outer
            known = held * before
            known[0] += face[at] / half[0]
            known[-1] += outer * room_c
            temps = dgtsv(-between, diagonal, -between, known)[3]
        out[at] = temps
    return out


def outer_film(last_c: float, half_resistance: float, room_c: float, given: float | None) -> float:
    """W/(m² K) from the middle of the last cell to the room: half the cell and the film in series."""
    if given is None:
        face = last_c
        for _ in range(3):
            film = outer_coefficient(face, room_c)
            face = last_c - (last_c - room_c) * half_resistance / (half_resistance + 1.0 / max(film, 1e-9))
    else:
        film = given
    return 0.0 if film <= 0.0 else 1.0 / (half_resistance + 1.0 / film)
