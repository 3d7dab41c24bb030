"""Handles and lids: what is added to a body, fired and wet.

Lengths in mm, volumes in mm3, weights in g, shares as fractions. Sizes are fired unless the name says wet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.profile import Profile, standard
from wareboard.form.vessel import FIRED_DENSITY, MM3_PER_ML, clay_volume_mm3
from wareboard.given import positive, share
from wareboard.working import Step

# Share of the lug of clay that ends on the mug: 25-50 g out of 60-100 g.
USED_OF_BLANK, USED_LOW, USED_HIGH = 0.47, 0.35, 0.60
# A pulled strap is a rectangle with well rounded edges: between an oval (0.785) and a full rectangle (1).
ROUNDED_STRAP = 0.87
POINTS = 49


@dataclass(frozen=True, slots=True, eq=False)
class Strap:
    """A handle, fired and wet, with the working.

    ``centre_mm`` is the middle line of its side view, (n, 2) of (height above its lower end, distance from the wall),
    from the lower root to the upper; ``thickness_mm`` and ``width_mm`` are those at the upper root, ``taper`` what is
    left of them at the lower.
    """

    length_mm: float
    fired_g: float
    volume_mm3: float
    steps: tuple[Step, ...]
    outside_height_mm: float
    inside_gap_mm: float
    width_mm: float
    thickness_mm: float
    taper: float
    wet_length_mm: float
    wet_width_mm: float
    wet_thickness_mm: float
    wet_gap_mm: float
    kept_wet_g: float
    blank_g: float
    blank_low_g: float
    blank_high_g: float
    centre_mm: Floats


def half_ellipse_mm(tall_mm: float, out_mm: float) -> float:
    """Length of half an ellipse with half axes ``tall_mm`` and ``out_mm``.

    Within 1 in 100 000 while one half axis is at most five times the other.

    Source: S. Ramanujan's second approximation (ramanujan-ellipse), from memory; checked against the elliptic integral.
    """
    h = ((tall_mm - out_mm) / (tall_mm + out_mm)) ** 2
    return math.pi / 2 * (tall_mm + out_mm) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))


def strap(
    outside_height_mm: float,
    inside_gap_mm: float,
    width_mm: float,
    thickness_mm: float,
    taper: float = 2 / 3,
    density_g_per_ml: float = FIRED_DENSITY.value,
    shrinkage: float = 0.12,
    water_share: float = 0.21,
    loss_on_ignition: float = 0.065,
    used_share: float = USED_OF_BLANK,
    rounded: float = ROUNDED_STRAP,
    source: str = "common-practice",
) -> Strap:
    """A pulled strap handle: its length, weight, wet sizes and the blank of clay to pull it from.

    The middle line is half an ellipse standing on the wall: the handle's outside height less its thickness tall, the gap and
    half a thickness out. Width and thickness both go evenly from the upper root to ``taper`` of it at the lower.

    Args:
        outside_height_mm: from the top of the upper root to the bottom of the lower, mm.
        inside_gap_mm: deepest room for the fingers between wall and handle, mm; usually 25 to 35.
        width_mm, thickness_mm: at the upper root, mm; usually 18 to 25 and 6 to 9 when pulled.
        taper: what is left of both at the lower root, share, 0 to 1; two thirds is usual.
        density_g_per_ml: of the fired body.
        shrinkage: total linear.
        water_share: water of the plastic clay, share of its wet weight.
        loss_on_ignition: share of the dry weight.
        used_share: share of the blank that ends on the piece.
        rounded: area of the section as a share of width times thickness.
        source: on whose word the sizes stand.
    Raises:
        OutOfRange: if a size or share cannot be, or the handle is too thick for its height.
    Source: half ellipse by ramanujan-ellipse; waste common practice (lug 60-100 g, of which 25-50 g stays).
    """
    _refuse_odd(outside_height_mm, inside_gap_mm, width_mm, thickness_mm, taper)
    for value, name, of in (
        (shrinkage, "shrinkage", "the wet length"),
        (water_share, "water", "the wet weight"),
        (loss_on_ignition, "loss on ignition", "the dry weight"),
    ):
        share(value, name, of)
    positive(density_g_per_ml, "density", "g/ml")
    _up_to_one(used_share, "used share of the blank")
    _up_to_one(rounded, "rounded")
    tall, out = (outside_height_mm - thickness_mm) / 2, inside_gap_mm + thickness_mm / 2
    length = half_ellipse_mm(tall, out)
    section = rounded * width_mm * thickness_mm
    volume = section * length * (1 + taper + taper**2) / 3
    fired_g = volume / MM3_PER_ML * density_g_per_ml
    kept_g = fired_g / ((1 - water_share) * (1 - loss_on_ignition))
    blank_g = kept_g / used_share
    low = min(blank_g, kept_g / max(USED_HIGH, used_share))
    high = max(blank_g, kept_g / min(USED_LOW, used_share))
    wet = 1 / (1 - shrinkage)
    steps = (
        Step(
            "handle: length along its middle",
            "pi / 2 * (tall + out) * (1 + 3 * ((tall - out) / (tall + out)) ** 2"
            " / (10 + sqrt(4 - 3 * ((tall - out) / (tall + out)) ** 2)))",
            {"tall": tall, "out": out},
            length,
            "ramanujan-ellipse",
            unit="mm",
            key="length",
        ),
        Step(
            "handle: fired clay",
            "rounded * width_mm * thickness_mm * length_mm * (1 + taper + taper ** 2) / 3",
            {
                "rounded": rounded,
                "width_mm": width_mm,
                "thickness_mm": thickness_mm,
                "length_mm": length,
                "taper": taper,
            },
            volume,
            source,
            unit="mm3",
            key="volume",
        ),
        Step(
            "handle: fired weight",
            "volume_mm3 / 1000 * density_g_per_ml",
            {"volume_mm3": volume, "density_g_per_ml": density_g_per_ml},
            fired_g,
            source,
            unit="g",
            key="fired",
        ),
        _wet_step("length", length, shrinkage, source),
        _wet_step("finger gap", inside_gap_mm, shrinkage, source),
        Step(
            "handle: wet clay that stays",
            "fired_g / ((1 - water_share) * (1 - loss_on_ignition))",
            {"fired_g": fired_g, "water_share": water_share, "loss_on_ignition": loss_on_ignition},
            kept_g,
            source,
            unit="g",
            key="kept",
        ),
        Step(
            "handle: blank to pull from",
            "kept_g / used_share",
            {"kept_g": kept_g, "used_share": used_share},
            blank_g,
            "common-practice",
            unit="g",
            low=low,
            high=high,
            key="blank",
        ),
    )
    turn = np.linspace(-np.pi / 2, np.pi / 2, POINTS)
    centre = np.column_stack([outside_height_mm / 2 + tall * np.sin(turn), out * np.cos(turn)])
    centre.setflags(write=False)
    return Strap(
        length,
        fired_g,
        volume,
        steps,
        outside_height_mm,
        inside_gap_mm,
        width_mm,
        thickness_mm,
        taper,
        length * wet,
        width_mm * wet,
        thickness_mm * wet,
        inside_gap_mm * wet,
        kept_g,
        blank_g,
        low,
        high,
        centre,
    )


def _refuse_odd(height: float, gap: float, width: float, thickness: float, taper: float) -> None:
    for value, name in ((height, "outside height"), (gap, "finger gap"), (width, "width"), (thickness, "thickness")):
        positive(value, f"{name} of the handle", "mm")
    _up_to_one(taper, "taper")
    if thickness >= height / 2:
        raise OutOfRange(
            f"handle is {thickness:g} mm thick",
            why=f"it is {height:g} mm high over both roots, which leaves no room between them",
            mend="Make it thinner or taller",
        )


def _up_to_one(value: float, name: str) -> None:
    if not (math.isfinite(value) and 0 < value <= 1):
        raise OutOfRange(
            f"{name} is {value:g}", why="it must be a share above 0, up to 1", mend="Write two thirds as 0.67"
        )


def _wet_step(name: str, fired_mm: float, shrinkage: float, source: str) -> Step:
    given = {"fired_mm": fired_mm, "shrinkage": shrinkage}
    value = fired_mm / (1 - shrinkage)
    return Step(f"handle: {name}, wet", "fired_mm / (1 - shrinkage)", given, value, source, unit="mm")


@dataclass(frozen=True, slots=True)
class Lid:
    """A lid, fired, with the clay for it and the working; the knob is counted in."""

    profile: Profile
    clay_volume_mm3: float
    fired_g: float
    kept_wet_g: float
    ball_g: float
    steps: tuple[Step, ...]


def lid(
    diameter_mm: float,
    height_mm: float,
    wall_mm: float = 4.0,
    floor_mm: float = 4.5,
    knob_mm: float = 0.0,
    knob_height_mm: float | None = None,
    density_g_per_ml: float = FIRED_DENSITY.value,
    water_share: float = 0.21,
    loss_on_ignition: float = 0.065,
    trimming_share: float = 0.25,
    source: str = "common-practice",
    profile: Profile | None = None,
) -> Lid:
    """A flanged lid with its knob: clay, fired weight and the ball to throw it from.

    Body and lid do not shrink quite alike: measure the mouth of the leather-hard jar, and keep the ratio of the first pair.

    Args:
        diameter_mm, height_mm: of the ledge that rests on the jar, and over all without the knob, mm.
        wall_mm, floor_mm: thickness, mm.
        knob_mm, knob_height_mm: the knob as a ball drawn out or pressed flat (ellipsoid), mm; 0 for none.
        density_g_per_ml: of the fired body.
        water_share, loss_on_ignition, trimming_share: shares of wet weight, dry weight and ball.
        source: on whose word the sizes stand.
        profile: of the lid as thrown, such as one for a gallery; the usual one of those sizes when left out.
    Raises:
        OutOfRange: if a size or share cannot be.
    Source: profile of `standard` "lid"; volume of an ellipsoid.
    """
    profile = profile or standard("lid", height_mm, diameter_mm, wall_mm=wall_mm, floor_mm=floor_mm)
    share(water_share, "water", "the wet weight")
    share(loss_on_ignition, "loss on ignition", "the dry weight")
    share(trimming_share, "trimming", "the ball")
    if not (math.isfinite(knob_mm) and knob_mm >= 0):
        positive(knob_mm, "knob", "mm")
    plate = clay_volume_mm3(profile)
    tall = knob_mm if knob_height_mm is None else positive(knob_height_mm, "height of the knob", "mm")
    volume = plate + math.pi / 6 * knob_mm**2 * tall
    fired_g = volume / MM3_PER_ML * positive(density_g_per_ml, "density", "g/ml")
    kept_g = fired_g / ((1 - water_share) * (1 - loss_on_ignition))
    ball_g = kept_g / (1 - trimming_share)
    steps = (
        Step(
            "lid: fired clay with knob",
            "plate_mm3 + pi / 6 * knob_mm ** 2 * knob_height_mm",
            {"plate_mm3": plate, "knob_mm": knob_mm, "knob_height_mm": tall},
            volume,
            source,
            unit="mm3",
            key="volume",
        ),
        Step(
            "lid: fired weight",
            "volume_mm3 / 1000 * density_g_per_ml",
            {"volume_mm3": volume, "density_g_per_ml": density_g_per_ml},
            fired_g,
            source,
            unit="g",
            key="fired",
        ),
        Step(
            "lid: ball",
            "fired_g / ((1 - water_share) * (1 - loss_on_ignition)) / (1 - trimming_share)",
            {
                "fired_g": fired_g,
                "water_share": water_share,
                "loss_on_ignition": loss_on_ignition,
                "trimming_share": trimming_share,
            },
            ball_g,
            source,
            unit="g",
            key="ball",
        ),
    )
    return Lid(profile, volume, fired_g, kept_g, ball_g, steps)
