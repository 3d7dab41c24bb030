"""Damp air: how much water it holds, how cold a wet surface gets in it, how much more it can take up.

Temperatures in °C, pressures in Pa, relative humidity as a fraction. Water in air as ratio is kg of vapour to kg of dry air.
The formulas are those of ASHRAE Fundamentals 2017, ch. 1 (Hyland and Wexler 1983 for saturation; the rest an ideal mixture).
The ideal mixture leaves the humidity ratio of saturated air about 0.5 % below the handbook's table at room temperature.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive

ZERO_C_IN_K = 273.15
FREEZING_C = 0.01
COLDEST_C, HOTTEST_C = -100.0, 200.0
STANDARD_PRESSURE_PA = 101325.0
VAPOUR_GAS_CONSTANT = 461.52  # J/(kg K)
DRY_AIR_GAS_CONSTANT = 287.042  # J/(kg K)
VAPOUR_TO_AIR_MASS = 0.621945  # molar mass of water over that of dry air
SOURCE = "ashrae-2017-ch1"

# Hyland and Wexler as ASHRAE prints them, equations 5 (ice) and 6 (water): C1 to C7 and C8 to C13.
OVER_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
OVER_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)


def _temperature_k(temp_c: float, what: str = "air temperature") -> float:
    if not (math.isfinite(temp_c) and COLDEST_C <= temp_c <= HOTTEST_C):
        raise OutOfRange(
            f"{what} is {temp_c:g} °C",
            why=f"the formula holds from {COLDEST_C:g} to {HOTTEST_C:g} °C",
            mend="Give degrees Celsius",
        )
    return temp_c + ZERO_C_IN_K


def relative_humidity(value: float) -> float:
    """``value`` itself, when it is a fraction from 0 to 1, both allowed.

    Raises:
        OutOfRange: if it is not.
    """
    if not (math.isfinite(value) and 0.0 <= value <= 1.0):
        raise OutOfRange(
            f"relative humidity is {value:g}", why="it must be a fraction from 0 to 1", mend="Write 55 % as 0.55"
        )
    return value


def saturation_pressure_pa(temp_c: float) -> float:
    """Pressure of water vapour over water, or over ice below the triple point, Pa.

    Args:
        temp_c: -100 to 200 °C.
    Raises:
        OutOfRange: outside that.
    Source: ashrae-2017-ch1, equations 5 and 6 (Hyland and Wexler 1983).
    """
    temp_k = _temperature_k(temp_c, "temperature")
    *powers, by_log = OVER_ICE if temp_c <= FREEZING_C else OVER_WATER
    exponent = sum(factor * temp_k ** (power - 1) for power, factor in enumerate(powers))
    return math.exp(exponent + by_log * math.log(temp_k))


def humidity_ratio(vapour_pa: float, pressure_pa: float = STANDARD_PRESSURE_PA) -> float:
    """Water vapour to dry air by weight, from the vapour's pressure and the whole pressure.

    Raises:
        OutOfRange: if the vapour's pressure is not below the whole.
    Source: ashrae-2017-ch1, equation 20.
    """
    not_negative(vapour_pa, "vapour pressure", "Pa")
    positive(pressure_pa, "air pressure", "Pa")
    if vapour_pa >= pressure_pa:
        raise OutOfRange(
            f"vapour pressure is {vapour_pa:g} Pa",
            why=f"it must be below the air pressure, {pressure_pa:g} Pa",
            mend="Give both in Pa; the room is below the boil",
        )
    return VAPOUR_TO_AIR_MASS * vapour_pa / (pressure_pa - vapour_pa)


def vapour_pressure_pa(ratio: float, pressure_pa: float = STANDARD_PRESSURE_PA) -> float:
    """The vapour's pressure from the humidity ratio, Pa.

    Raises:
        OutOfRange: if the ratio is not a finite number from 0 up, or the air pressure not above 0.
    Source: ashrae-2017-ch1, equation 20 turned round.
    """
    not_negative(ratio, "humidity ratio")
    return positive(pressure_pa, "air pressure", "Pa") * ratio / (VAPOUR_TO_AIR_MASS + ratio)


def vapour_density_kg_per_m3(vapour_pa: float, temp_c: float) -> float:
    """Weight of vapour in a cubic metre at its own pressure and temperature, kg/m3.

    Raises:
        OutOfRange: if the vapour's pressure is below 0, or the temperature one that `saturation_pressure_pa` does not cover.
    Source: ideal gas, 461.52 J/(kg K).
    """
    return not_negative(vapour_pa, "vapour pressure", "Pa") / (VAPOUR_GAS_CONSTANT * _temperature_k(temp_c))


def pressure_at_altitude_pa(altitude_m: float) -> float:
    """Usual air pressure at a height above the sea, Pa; -5000 to 11000 m.

    Raises:
        OutOfRange: outside that.
    Source: ashrae-2017-ch1, equation 3.
    """
    if not (math.isfinite(altitude_m) and -5000.0 <= altitude_m <= 11000.0):
        raise OutOfRange(
            f"altitude is {altitude_m:g} m", why="the formula holds from -5000 to 11000 m", mend="Give it in metres"
        )
    return float(STANDARD_PRESSURE_PA * (1.0 - 2.25577e-5 * altitude_m) ** 5.2559)


def ratio_from_wet_bulb(temp_c: float, wet_bulb_c: float, pressure_pa: float = STANDARD_PRESSURE_PA) -> float:
    """Humidity ratio from a dry and a wet thermometer; 0 where the two ask for less than none.

    Raises:
        OutOfRange: if the wet thermometer stands above the dry one.
    Source: ashrae-2017-ch1, equations 33 (over water) and 35 (over ice).
    """
    _temperature_k(temp_c)
    if wet_bulb_c > temp_c:
        raise OutOfRange(
            f"wet bulb is {wet_bulb_c:g} °C",
            why=f"it cannot stand above the air, {temp_c:g} °C",
            mend="See which thermometer has the wick",
        )
    saturated = humidity_ratio(saturation_pressure_pa(wet_bulb_c), pressure_pa)
    apart = temp_c - wet_bulb_c
    if wet_bulb_c >= 0.0:
        above = (2501.0 - 2.326 * wet_bulb_c) * saturated - 1.006 * apart
        return max(0.0, above / (2501.0 + 1.86 * temp_c - 4.186 * wet_bulb_c))
    above = (2830.0 - 0.24 * wet_bulb_c) * saturated - 1.006 * apart
    return max(0.0, above / (2830.0 + 1.86 * temp_c - 2.1 * wet_bulb_c))


def halved(excess: Callable[[float], float], low: float, high: float) -> float:
    """Where ``excess``, which rises from ``low`` to ``high``, passes through 0, by halving to the last digit."""
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if excess(middle) > 0.0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


@dataclass(frozen=True, slots=True)
class Air:
    """The air of a room.

    Attributes:
        temp_c: °C, -100 to 200.
        rh: relative humidity, fraction from 0 to 1.
        pressure_pa: Pa.
    Raises:
        OutOfRange: for anything else.
    """

    temp_c: float
    rh: float
    pressure_pa: float = STANDARD_PRESSURE_PA

    def __post_init__(self) -> None:
        _temperature_k(self.temp_c)
        relative_humidity(self.rh)
        positive(self.pressure_pa, "air pressure", "Pa")
        humidity_ratio(self.vapour_pa, self.pressure_pa)  # refuses air that would boil

    @property
    def vapour_pa(self) -> float:
        """Pressure of the vapour in it, Pa. Source: definition of relative humidity."""
        return self.rh * saturation_pressure_pa(self.temp_c)

    @property
    def ratio(self) -> float:
        """Humidity ratio, vapour to dry air by weight."""
        return humidity_ratio(self.vapour_pa, self.pressure_pa)

    @property
    def vapour_kg_per_m3(self) -> float:
        """Weight of vapour in a cubic metre, kg."""
        return vapour_density_kg_per_m3(self.vapour_pa, self.temp_c)

    @property
    def volume_m3_per_kg_dry(self) -> float:
        """Cubic metres to a kg of dry air. Source: ashrae-2017-ch1, equation 26."""
        temp_k = self.temp_c + ZERO_C_IN_K
        return DRY_AIR_GAS_CONSTANT * temp_k * (1.0 + 1.607858 * self.ratio) / self.pressure_pa

    @property
    def density_kg_per_m3(self) -> float:
        """Weight of a cubic metre of the damp air, kg. Source: ashrae-2017-ch1, equation 11."""
        return (1.0 + self.ratio) / self.volume_m3_per_kg_dry

    @property
    def enthalpy_j_per_kg_dry(self) -> float:
        """Heat in the damp air to a kg of dry air, from 0 °C, J/kg. Source: ashrae-2017-ch1, equation 30."""
        return 1006.0 * self.temp_c + self.ratio * (2.501e6 + 1860.0 * self.temp_c)

    @property
    def dew_point_c(self) -> float:
        """Temperature at which dew falls, °C.

        Raises:
            OutOfRange: for air so dry that its dew point is below -100 °C.
        Source: saturation pressure turned round; the handbook's own fit differs by up to half a degree.
        """
        vapour = self.vapour_pa
        if vapour < saturation_pressure_pa(COLDEST_C):
            raise OutOfRange(
                "the dew point cannot be given",
                why="the air is drier than the formula reaches",
                mend="Give some humidity",
            )
        return halved(lambda temp_c: saturation_pressure_pa(temp_c) - vapour, COLDEST_C, self.temp_c)

    @property
    def wet_bulb_c(self) -> float:
        """Temperature of a wet thermometer in a draught, °C. Source: ashrae-2017-ch1, equations 33 and 35, solved."""
        ratio = self.ratio
        coldest = max(COLDEST_C, self.temp_c - 100.0)
        return halved(
            lambda wet_c: ratio_from_wet_bulb(self.temp_c, wet_c, self.pressure_pa) - ratio, coldest, self.temp_c
        )


def air_from_wet_bulb(temp_c: float, wet_bulb_c: float, pressure_pa: float = STANDARD_PRESSURE_PA) -> Air:
    """The air of a room from a dry and a wet thermometer.

    Raises:
        OutOfRange: if the wet one stands above the dry one.
    Source: ashrae-2017-ch1, equations 20, 33 and 35.
    """
    vapour = vapour_pressure_pa(ratio_from_wet_bulb(temp_c, wet_bulb_c, pressure_pa), pressure_pa)
    return Air(temp_c, min(1.0, vapour / saturation_pressure_pa(temp_c)), pressure_pa)
