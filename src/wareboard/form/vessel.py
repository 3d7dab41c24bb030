"""What a profile holds, weighs and shows to the glaze: capacity, clay, centre of gravity and areas.

Between two points of a profile the surface is a slice of a cone, for which every formula here is exact (Pappus and the
frustum); a curve is as fine as its points. Volumes in mm3 or ml, areas in mm2, weights in g.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.profile import Profile
from wareboard.given import not_negative, positive
from wareboard.working import Estimate, Step

MM3_PER_ML = 1000.0
# Half width of a 90 % range in standard deviations of a normal error.
HALF_WIDTH_OF_90_PER_CENT = 1.6448536269514722
# Standard deviation of the fired capacity of one hand-thrown piece about its drawing, share: common practice, 3 to 6 %.
CAPACITY_SCATTER = 0.045
FIRED_DENSITY = Estimate(2.25, 2.1, 2.4, "from-memory")
SLICES = "sum over slices of pi / 3 * height * (r1^2 + r1 * r2 + r2^2)"


def _volumes_mm3(line: Floats) -> Floats:
    """Signed volume under each slice of a line of (height, radius): what rises adds, what falls takes away."""
    low, high = line[:-1, 1], line[1:, 1]
    result: Floats = np.pi / 3 * np.diff(line[:, 0]) * (low**2 + low * high + high**2)
    return result


def _moments_mm4(line: Floats) -> Floats:
    """Signed first moment of each slice about the plane of the foot."""
    low, high = line[:-1, 1], line[1:, 1]
    tall = np.diff(line[:, 0])
    rising = tall**2 * (low**2 + 2 * low * high + 3 * high**2) / 12
    result: Floats = line[:-1, 0] * _volumes_mm3(line) + np.pi * rising
    return result


def _areas_mm2(line: Floats) -> Floats:
    """Surface of each slice, level steps and undersides as well."""
    result: Floats = np.pi * (line[:-1, 1] + line[1:, 1]) * np.hypot(*np.diff(line, axis=0).T)
    return result


def _up_to(line: Floats, height_mm: float) -> Floats:
    """The part of a rising line up to a height, cut there; a level step at that height is left out."""
    below = line[line[:, 0] < height_mm]
    if not len(below):
        return line[:1]
    if len(below) == len(line):
        return line
    last, after = below[-1], line[len(below)]
    part = (height_mm - last[0]) / (after[0] - last[0])
    return np.vstack([below, last + part * (after - last)])


def capacity_ml(profile: Profile, to_mm: float | None = None) -> float:
    """What the piece holds, ml: to the brim, or filled to a height above the foot.

    Args:
        profile: the piece.
        to_mm: height of the liquid above the plane of the foot, mm; between the inside floor and the rim.
    Raises:
        OutOfRange: if that height is not on the inside.
    Source: volume of a frustum, exact for the profile's slices.
    """
    inside = profile.inner_mm
    if to_mm is None:
        return float(_volumes_mm3(inside).sum()) / MM3_PER_ML
    floor, rim = float(inside[0, 0]), profile.height_mm
    if not floor <= to_mm <= rim:
        raise OutOfRange(
            f"fill height is {to_mm:g} mm",
            why=f"the inside runs from {floor:g} to {rim:g} mm above the foot",
            mend="Count the height from the table that the piece stands on",
        )
    return float(_volumes_mm3(_up_to(inside, to_mm)).sum()) / MM3_PER_ML


def fill_height_mm(profile: Profile, ml: float) -> float:
    """Height of the liquid above the foot when the piece holds ``ml``.

    Raises:
        OutOfRange: if that is below 0 or more than the brim holds.
    Source: the frustum's volume solved for its height, slice by slice; exact.
    """
    not_negative(ml, "liquid", "ml")
    inside, brim = profile.inner_mm, capacity_ml(profile)
    if ml > brim * (1 + 1e-12):
        raise OutOfRange(
            f"liquid is {ml:g} ml",
            why=f"the piece holds {brim:.1f} ml to the brim",
            mend="Pour less, or make it larger",
        )
    volumes = _volumes_mm3(inside)
    held = np.concatenate([[0.0], np.cumsum(volumes)])
    wanted = ml * MM3_PER_ML
    place = int(np.searchsorted(held[1:], wanted, side="left"))
    if place >= len(volumes):
        return profile.height_mm
    (start, low), (end, high) = inside[place], inside[place + 1]
    rest = wanted - held[place]
    if end == start or rest <= 0:
        return float(start)
    return float(min(end, start + _rise_mm(rest, low, (high - low) / (end - start))))


def _rise_mm(volume_mm3: float, radius_mm: float, slope: float) -> float:
    """Height that a volume fills in a cone that starts at a radius and opens by ``slope`` per mm of height."""
    if abs(slope) < 1e-12:
        return volume_mm3 / (math.pi * radius_mm**2)
    if radius_mm < 1e-12:
        return float(np.cbrt(3 * volume_mm3 / (math.pi * slope**2)))
    # cbrt(1 + u) - 1 without losing digits when the slice is nearly a cylinder.
    grown = max(-1.0, 3 * slope * volume_mm3 / (math.pi * radius_mm**3))
    third = -1.0 if grown == -1.0 else math.expm1(math.log1p(grown) / 3)
    return radius_mm / slope * third


def clay_volume_mm3(profile: Profile) -> float:
    """Volume of the clay itself, mm3: what the outside encloses less what the inside holds.

    Source: volume of a frustum, exact for the profile's slices.
    """
    return float(_volumes_mm3(profile.outer_mm).sum() - _volumes_mm3(profile.inner_mm).sum())


def fired_weight_g(profile: Profile, density_g_per_ml: float) -> float:
    """Weight of the clay, g, at a density; of the fired body usually 2.1 to 2.4, glaze not counted.

    Raises:
        OutOfRange: if the density is not a finite number above 0.
    """
    return clay_volume_mm3(profile) / MM3_PER_ML * positive(density_g_per_ml, "density", "g/ml")


def centre_of_gravity_mm(
    profile: Profile,
    liquid_ml: float | None = None,
    density_g_per_ml: float = FIRED_DENSITY.value,
    liquid_density_g_per_ml: float = 1.0,
) -> float:
    """Height of the centre of gravity above the foot: of the clay alone, or with so much liquid in it.

    Args:
        profile: the piece; a handle is not counted.
        liquid_ml: liquid held, ml; None for the empty piece.
        density_g_per_ml, liquid_density_g_per_ml: of the clay and the liquid.
    Raises:
        OutOfRange: if the piece does not hold that much, or a density cannot be.
    Source: first moment of a frustum, exact for the profile's slices.
    """
    clay_g = fired_weight_g(profile, density_g_per_ml)
    moment_mm4 = float(_moments_mm4(profile.outer_mm).sum() - _moments_mm4(profile.inner_mm).sum())
    centre = moment_mm4 / clay_volume_mm3(profile)
    if liquid_ml is None or liquid_ml == 0:
        return centre
    filled = _up_to(profile.inner_mm, fill_height_mm(profile, liquid_ml))
    liquid_centre = float(_moments_mm4(filled).sum() / _volumes_mm3(filled).sum())
    liquid_g = liquid_ml * positive(liquid_density_g_per_ml, "density of the liquid", "g/ml")
    return (clay_g * centre + liquid_g * liquid_centre) / (clay_g + liquid_g)


def inner_area_mm2(profile: Profile, to_mm: float | None = None) -> float:
    """Surface of the inside, floor and wall, up to the rim or to a height above the foot.

    Source: surface of a frustum, exact for the profile's slices.
    """
    inside = profile.inner_mm if to_mm is None else _up_to(profile.inner_mm, to_mm)
    return float(_areas_mm2(inside).sum())


def outer_area_mm2(profile: Profile, from_mm: float = 0.0, to_mm: float | None = None) -> float:
    """Surface of the outside between two heights above the foot, without the underside and its recess.

    Args:
        profile: the piece.
        from_mm: where the glaze begins, say, above the plane of the foot.
        to_mm: where it ends; the rim when left out.
    Raises:
        OutOfRange: if the heights are not in order on the piece.
    Source: surface of a frustum, exact for the profile's slices.
    """
    top = profile.height_mm if to_mm is None else to_mm
    if not 0 <= from_mm <= top <= profile.height_mm * (1 + 1e-12):
        raise OutOfRange(
            f"heights are {from_mm:g} to {top:g} mm",
            why=f"they must rise within the piece, 0 to {profile.height_mm:g} mm",
            mend="Give the lower height first",
        )
    side = profile.outer_mm[profile.standing :]
    upper = side if to_mm is None else _up_to(side, top)
    return max(0.0, float(_areas_mm2(upper).sum() - _areas_mm2(_up_to(side, from_mm)).sum()))


def underside_area_mm2(profile: Profile) -> float:
    """Surface of the foot from below: recess, its walls and the ring that stands on the shelf."""
    return float(_areas_mm2(profile.outer_mm[: profile.standing + 1]).sum())


def rim_area_mm2(profile: Profile) -> float:
    """Surface of a rim cut flat; 0 where a rounded lip belongs to the outside and the inside."""
    outer, inner = profile.outer_mm[-1, 1], profile.inner_mm[-1, 1]
    return float(np.pi * abs(outer**2 - inner**2))


@dataclass(frozen=True, slots=True)
class Vessel:
    """What a fired piece measures, holds and weighs, with the working."""

    height_mm: float
    rim_mm: float
    foot_mm: float
    widest_mm: float
    capacity_ml: float
    clay_volume_mm3: float
    fired_g: float
    centre_of_gravity_mm: float
    inner_area_mm2: float
    outer_area_mm2: float
    underside_area_mm2: float
    steps: tuple[Step, ...]
    capacity: Estimate
    fired_weight: Estimate


def describe(
    profile: Profile,
    density_g_per_ml: float = FIRED_DENSITY.value,
    density_low: float | None = None,
    density_high: float | None = None,
    capacity_scatter: float = CAPACITY_SCATTER,
    what: str = "body",
    source: str = "given in the brief",
) -> Vessel:
    """Everything that a fired profile says about the piece, with working and ranges.

    Args:
        profile: the fired piece.
        density_g_per_ml, density_low, density_high: bulk density of the fired body and its 90 % range; the usual range
            when both ends are left out.
        capacity_scatter: standard deviation of one thrown piece's capacity about the drawing, share.
        what: the part in plain words.
        source: on whose word the profile stands.
    Raises:
        OutOfRange: if a density or the scatter cannot be.
    Source: frustum formulas; ranges common practice (capacity) and from memory (density).
    """
    positive(density_g_per_ml, "density", "g/ml")
    not_negative(capacity_scatter, "scatter of the capacity")
    if density_low is None and density_high is None:
        density_low, density_high = (
            min(FIRED_DENSITY.low, density_g_per_ml),
            max(FIRED_DENSITY.high, density_g_per_ml),
        )
    low = density_g_per_ml if density_low is None else positive(density_low, "low end of the density", "g/ml")
    high = density_g_per_ml if density_high is None else positive(density_high, "high end of the density", "g/ml")
    brim, clay = capacity_ml(profile), clay_volume_mm3(profile)
    fired_g = clay / MM3_PER_ML * density_g_per_ml
    half = HALF_WIDTH_OF_90_PER_CENT * capacity_scatter
    holds = Estimate(brim, brim * (1 - half), brim * (1 + half), "common-practice")
    weighs = Estimate(
        fired_g, fired_g * low / density_g_per_ml, fired_g * high / density_g_per_ml, FIRED_DENSITY.source
    )
    centre = centre_of_gravity_mm(profile, density_g_per_ml=density_g_per_ml)
    inner, outer = inner_area_mm2(profile), outer_area_mm2(profile)
    drawn = {"slices": float(len(profile.inner_mm) - 1)}
    walls = {"slices": float(len(profile.inner_mm) + len(profile.outer_mm) - 2)}
    weigh = {"clay_mm3": clay, "density_g_per_ml": density_g_per_ml}
    steps = (
        _sum_step(f"{what}: capacity to the brim", drawn, brim, "ml", source, SLICES, "capacity", holds),
        _sum_step(f"{what}: fired clay", walls, clay, "mm3", source, f"outside less inside, {SLICES}", "clay_volume"),
        Step(
            f"{what}: fired weight",
            "clay_mm3 / 1000 * density_g_per_ml",
            weigh,
            fired_g,
            source,
            unit="g",
            low=weighs.low,
            high=weighs.high,
            key="fired_weight",
        ),
        _sum_step(
            f"{what}: centre of gravity above the foot",
            walls,
            centre,
            "mm",
            source,
            "first moment of the slices over their volume",
            "centre_of_gravity",
        ),
        _sum_step(f"{what}: inside to glaze", drawn, inner, "mm2", source, "sum of conical bands", "inner_area"),
        _sum_step(f"{what}: outside above the foot", walls, outer, "mm2", source, "sum of conical bands", "outer_area"),
    )
    return Vessel(
        profile.height_mm,
        profile.rim_mm,
        profile.foot_mm,
        profile.widest_mm,
        brim,
        clay,
        fired_g,
        centre,
        inner,
        outer,
        underside_area_mm2(profile),
        steps,
        holds,
        weighs,
    )


def _sum_step(
    name: str,
    inputs: dict[str, float],
    value: float,
    unit: str,
    source: str,
    how: str,
    key: str,
    spread: Estimate | None = None,
) -> Step:
    low, high = (None, None) if spread is None else (spread.low, spread.high)
    return Step(name, "", inputs, value, source, unit=unit, low=low, high=high, how=how, key=key)
