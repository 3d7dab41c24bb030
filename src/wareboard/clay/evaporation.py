"""How fast water leaves a damp surface: open in still air, under a fan, or under a cover that leaks.

A wet surface sits where the heat it takes from the air and from the walls equals what its evaporation costs. The rate holds
while the surface stays wet; after that the inside decides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from wareboard.clay.air import (
    DRY_AIR_GAS_CONSTANT,
    ZERO_C_IN_K,
    Air,
    halved,
    saturation_pressure_pa,
    vapour_density_kg_per_m3,
)
from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive

STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m2 K4)
DAMP_CLAY_EMISSIVITY = 0.95
HEAT_TO_VAPOUR_DIFFUSION = 0.87  # thermal diffusivity of air over diffusivity of vapour in it (Lewis number)
GRAVITY = 9.80665
SECONDS_IN_AN_HOUR = 3600.0
MINUTES_IN_AN_HOUR = 60.0
LITRES_IN_A_M3 = 1000.0
COOLEST_ROOM_C, WARMEST_ROOM_C = 1.0, 60.0
SOURCE = "lewis-relation"
# Nu = factor * Ra^(1/4) and the range of Ra that it holds for.
STILL_AIR = {"side": 0.59, "helped": 0.54, "hindered": 0.27}
LEAST_RAYLEIGH, MOST_RAYLEIGH = 1.0e4, 1.0e9


@dataclass(frozen=True, slots=True)
class Evaporation:
    """What leaves a wet surface, kg/(m2 h), the temperature it settles at, °C, and the heat transfer used, W/(m2 K)."""

    kg_per_m2_h: float
    surface_c: float
    h_w_per_m2_k: float


def _room(air: Air) -> None:
    if not COOLEST_ROOM_C <= air.temp_c <= WARMEST_ROOM_C:
        raise OutOfRange(
            f"room is {air.temp_c:g} °C",
            why=f"drying is reckoned from {COOLEST_ROOM_C:g} to {WARMEST_ROOM_C:g} °C; damp ware breaks when it freezes",
            mend="Give the temperature of the drying shelf in °C",
        )


def latent_heat_j_per_kg(temp_c: float) -> float:
    """Heat that turns a kg of water to vapour, J/kg, from 0 to 60 °C. Source: from memory, 2.501e6 - 2361 t."""
    return 2.501e6 - 2361.0 * temp_c


def mass_transfer_m_per_s(air: Air, h_w_per_m2_k: float) -> float:
    """Speed at which vapour is carried off, m/s, from the heat transfer. Source: lewis-relation, h / (rho cp Le^(2/3))."""
    heat_capacity = air.density_kg_per_m3 * (1006.0 + 1860.0 * air.ratio)
    return float(h_w_per_m2_k / (heat_capacity * HEAT_TO_VAPOUR_DIFFUSION ** (2.0 / 3.0)))


def evaporation(
    air: Air, h_w_per_m2_k: float, emissivity: float = DAMP_CLAY_EMISSIVITY, walls_c: float | None = None
) -> Evaporation:
    """What leaves a wet surface while it stays wet.

    Args:
        air: of the room, 1 to 60 °C.
        h_w_per_m2_k: heat transfer, W/(m2 K); 3 to 5 for small ware in a still room, 10 to 20 with a fan on the shelf.
        emissivity: of the surface, 0 to 1; 0 leaves radiation out.
        walls_c: temperature of the walls that it faces, °C; that of the air when left out.
    Raises:
        OutOfRange: outside those.
    Source: lewis-relation: h (Ta - Ts) + eps sigma (Tw^4 - Ts^4) = L(Ts) hm (rho_s - rho_a), solved for Ts.
    """
    _room(air)
    positive(h_w_per_m2_k, "heat transfer", "W/(m2 K)")
    if not 0.0 <= emissivity <= 1.0:
        raise OutOfRange(f"emissivity is {emissivity:g}", why="it is a fraction from 0 to 1", mend="Damp clay has 0.95")
    walls_k = (air.temp_c if walls_c is None else walls_c) + ZERO_C_IN_K
    carried_m_per_s = mass_transfer_m_per_s(air, h_w_per_m2_k)

    def leaving(surface_c: float) -> float:
        at_surface = vapour_density_kg_per_m3(saturation_pressure_pa(surface_c), surface_c)
        return carried_m_per_s * (at_surface - air.vapour_kg_per_m3)

    def cost_over_supply(surface_c: float) -> float:
        surface_k = surface_c + ZERO_C_IN_K
        supply = h_w_per_m2_k * (air.temp_c - surface_c)
        supply += emissivity * STEFAN_BOLTZMANN * (walls_k**4 - surface_k**4)
        return latent_heat_j_per_kg(surface_c) * leaving(surface_c) - supply

    surface_c = halved(cost_over_supply, -40.0, max(air.temp_c, walls_k - ZERO_C_IN_K) + 1.0)
    return Evaporation(max(0.0, leaving(surface_c)) * SECONDS_IN_AN_HOUR, surface_c, h_w_per_m2_k)


def air_viscosity_pa_s(temp_c: float) -> float:
    """Dynamic viscosity of air, Pa s. Source: from memory, Sutherland's law."""
    temp_k = temp_c + ZERO_C_IN_K
    return float(1.716e-5 * (temp_k / 273.15) ** 1.5 * (273.15 + 110.4) / (temp_k + 110.4))


def air_conductivity_w_per_m_k(temp_c: float) -> float:
    """Heat conductivity of air, W/(m K), near room temperature. Source: from memory, 0.0241 (T / 273.15)^0.9."""
    return float(0.0241 * ((temp_c + ZERO_C_IN_K) / 273.15) ** 0.9)


def _density(vapour_pa: float, temp_c: float, pressure_pa: float) -> float:
    return (pressure_pa - 0.378 * vapour_pa) / (DRY_AIR_GAS_CONSTANT * (temp_c + ZERO_C_IN_K))


def still_air_w_per_m2_k(air: Air, surface_c: float, length_mm: float, facing: str = "side") -> float:
    """Heat transfer from a wet surface in still air, W/(m2 K), driven by the weight of the air beside it.

    The damp air beside a wet surface is cooler (heavier) but holds more vapour (lighter); both count.

    Args:
        air: of the room.
        surface_c: temperature of the surface, °C.
        length_mm: height of a wall, or area over edge of a flat face, mm.
        facing: "side"; "helped", a face from which the air falls or rises freely; "hindered", one on which it lies.
    Raises:
        OutOfRange: for another facing, or where Ra is outside 1e4 to 1e9.
    Source: from memory, any text on heat transfer: Nu = 0.59, 0.54 or 0.27 times Ra^(1/4).
    """
    if facing not in STILL_AIR:
        raise OutOfRange(
            f"facing {facing!r}", why="no figure is kept for it", mend="Use one of: " + ", ".join(STILL_AIR)
        )
    length_m = positive(length_mm, "length", "mm") / 1000.0
    film_c = 0.5 * (air.temp_c + surface_c)
    conductivity = air_conductivity_w_per_m_k(film_c)
    viscosity = air_viscosity_pa_s(film_c) / air.density_kg_per_m3
    diffusivity = conductivity / (air.density_kg_per_m3 * 1006.0)
    beside = _density(saturation_pressure_pa(surface_c), surface_c, air.pressure_pa)
    apart = abs(beside / _density(air.vapour_pa, air.temp_c, air.pressure_pa) - 1.0)
    rayleigh = GRAVITY * apart * length_m**3 / (viscosity * diffusivity)
    if not LEAST_RAYLEIGH <= rayleigh <= MOST_RAYLEIGH:
        raise OutOfRange(
            f"Ra is {rayleigh:.3g}",
            why=f"the rule for still air holds from {LEAST_RAYLEIGH:g} to {MOST_RAYLEIGH:g}",
            mend="Give the heat transfer itself: 3 to 5 W/(m2 K) for small ware in a still room",
        )
    return float(STILL_AIR[facing] * rayleigh**0.25 * conductivity / length_m)


def still_air_evaporation(air: Air, length_mm: float, facing: str = "side") -> Evaporation:
    """What leaves a wet surface in still air, with the heat transfer that its own coolness drives.

    Args and errors: as for `still_air_w_per_m2_k` and `evaporation`.
    Source: both of these, one put into the other until they agree.
    """
    found = evaporation(air, 4.0)
    for _ in range(40):
        again = evaporation(air, still_air_w_per_m2_k(air, found.surface_c, length_mm, facing))
        if math.isclose(again.h_w_per_m2_k, found.h_w_per_m2_k, rel_tol=1e-9):
            break
        found = again
    return found


def leaking_g_per_h(air: Air, leak_l_per_min: float) -> float:
    """Water that leaves a closed cover through its leaks, g an hour, however damp the ware inside.

    Args:
        air: of the room.
        leak_l_per_min: room air that finds its way through the cover, litres a minute.
    Raises:
        OutOfRange: if the leak is negative.
    Source: conservation of water: leak * saturated vapour * (1 - RH), air under the cover taken as saturated.
    """
    not_negative(leak_l_per_min, "leak", "l/min")
    saturated_g_per_l = (
        vapour_density_kg_per_m3(saturation_pressure_pa(air.temp_c), air.temp_c) * 1000.0 / LITRES_IN_A_M3
    )
    return leak_l_per_min * MINUTES_IN_AN_HOUR * saturated_g_per_l * (1.0 - air.rh)


def under_cover_g_per_h(open_g_per_h: float, leaking: float) -> float:
    """What leaves under a leaking cover, g an hour: the ware and the leak are two hindrances one after the other.

    Args:
        open_g_per_h: what would leave with no cover.
        leaking: what the leak would pass from saturated air (`leaking_g_per_h`).
    Raises:
        OutOfRange: if either is not a finite number from 0 up.
    Source: two conductances in series under one difference of vapour, 1 / (1 / open + 1 / leak).
    """
    not_negative(open_g_per_h, "open loss", "g/h")
    not_negative(leaking, "leaking", "g/h")
    if open_g_per_h == 0.0 or leaking == 0.0:
        return 0.0
    return 1.0 / (1.0 / open_g_per_h + 1.0 / leaking)
