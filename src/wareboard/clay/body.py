"""Water, density, shrinkage and absorption of a body: what one of them says about the others.

Densities in g/ml; water on the dry basis w = mass of water / mass of dry clay unless the name says wet basis.
"""

from __future__ import annotations

from dataclasses import dataclass

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive, share


def water_wet_basis(water_dry_basis: float) -> float:
    """Water as a share of the wet weight, from water as a share of the dry weight.

    Raises:
        OutOfRange: if the share is not a finite number from 0 up.
    Source: definition.
    """
    return not_negative(water_dry_basis, "water on the dry basis") / (1.0 + water_dry_basis)


def water_dry_basis(water_share: float) -> float:
    """Water as a share of the dry weight, from water as a share of the wet weight.

    Raises:
        OutOfRange: if the share is not from 0 up to, but not reaching, 1.
    Source: definition.
    """
    return share(water_share, "water", "the wet weight") / (1.0 - water_share)


def _volume_ml_per_g_dry(particle_density_g_per_ml: float, water: float) -> float:
    return 1.0 / positive(particle_density_g_per_ml, "particle density", "g/ml") + not_negative(water, "water")


def saturated_density_g_per_ml(particle_density_g_per_ml: float, water: float) -> float:
    """Density of plastic clay whose pores are full of water.

    Args:
        particle_density_g_per_ml: usually 2.58 to 2.68.
        water: dry basis, fraction.
    Source: saturated-body, (1 + w) / (1 / particle density + w), water at 1 g/ml.
    """
    return (1.0 + water) / _volume_ml_per_g_dry(particle_density_g_per_ml, water)


def drying_shrinkage(particle_density_g_per_ml: float, water: float, critical_water: float) -> float:
    """Linear shrinkage from plastic to dry: all water lost until the particles touch is lost volume, none after.

    Args:
        particle_density_g_per_ml: usually 2.58 to 2.68.
        water: as thrown, dry basis, fraction.
        critical_water: where the particles touch, dry basis, fraction, at most ``water``.
    Raises:
        OutOfRange: if the critical water is above the water as thrown.
    Source: saturated-body.
    """
    if critical_water > water:
        raise OutOfRange(
            f"critical water is {critical_water:g}",
            why=f"it must not be above the water as thrown, {water:g}",
            mend="Give both on the dry basis",
        )
    wet, touching = (_volume_ml_per_g_dry(particle_density_g_per_ml, each) for each in (water, critical_water))
    return float(1.0 - (touching / wet) ** (1.0 / 3.0))


def dry_density_g_per_ml(particle_density_g_per_ml: float, critical_water: float) -> float:
    """Bulk density of the bone-dry body, which keeps the volume that it had when its particles touched.

    Source: saturated-body.
    """
    return 1.0 / _volume_ml_per_g_dry(particle_density_g_per_ml, critical_water)


def fired_density_g_per_ml(
    wet_density: float,
    water_dry_basis: float,
    loi: float,
    shrinkage: float,
    shrinkage_height: float | None = None,
) -> float:
    """Bulk density of the fired body that the other figures ask for; a record that breaks this holds a wrong number.

    Args:
        wet_density: of the plastic clay, g/ml.
        water_dry_basis: water as thrown over dry weight, fraction.
        loi: loss on ignition, fraction of the dry weight.
        shrinkage: total linear, fraction of the wet length (across, when the height is given apart).
        shrinkage_height: total linear in height, where it differs.
    Raises:
        OutOfRange: if a figure is not such a number.
    Source: saturated-body: mass left over volume left, wet * (1 - loi) / ((1 + w)(1 - s)^3).
    """
    positive(wet_density, "wet density", "g/ml")
    not_negative(water_dry_basis, "water on the dry basis")
    share(loi, "loss on ignition", "the dry weight")
    across = 1.0 - share(shrinkage, "shrinkage", "the wet length")
    up = across if shrinkage_height is None else 1.0 - share(shrinkage_height, "shrinkage in height", "the wet length")
    return wet_density * (1.0 - loi) / ((1.0 + water_dry_basis) * up * across**2)


@dataclass(frozen=True, slots=True)
class Absorption:
    """What three weighings say of a fired or bisqued piece of clay: shares as fractions, densities in g/ml."""

    absorption: float
    apparent_porosity: float
    bulk_density_g_per_ml: float
    apparent_specific_gravity: float


def absorption(dry_g: float, suspended_g: float, saturated_g: float, water_g_per_ml: float = 1.0) -> Absorption:
    """Water absorption, apparent porosity and densities from dry, hung-in-water and boiled-and-wiped weights.

    Args:
        dry_g, suspended_g, saturated_g: the three weights, g; suspended < dry <= saturated.
        water_g_per_ml: density of the water; 1 as the standard takes it, 0.99821 at 20 C.
    Raises:
        OutOfRange: if the weights are not in that order.
    Source: astm-c373.
    """
    positive(suspended_g, "suspended weight", "g")
    positive(water_g_per_ml, "density of water", "g/ml")
    if not suspended_g < dry_g <= saturated_g:
        raise OutOfRange(
            f"dry {dry_g:g} g, suspended {suspended_g:g} g, saturated {saturated_g:g} g",
            why="hung in water a piece weighs less than dry, and soaked at least as much",
            mend="Weigh again: dry first, then boiled and hung in water, then wiped with a damp cloth",
        )
    outside = saturated_g - suspended_g
    pores = saturated_g - dry_g
    return Absorption(
        pores / dry_g,
        pores / outside,
        dry_g / outside * water_g_per_ml,
        dry_g / (dry_g - suspended_g) * water_g_per_ml,
    )
