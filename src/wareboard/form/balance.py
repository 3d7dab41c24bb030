"""How a piece with a handle hangs in the hand: where its weight lies beside the grip, empty and full.

Heights above the foot and distances out from the centre line towards the handle, mm; weights in g.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wareboard.form.handle import Strap
from wareboard.form.profile import Profile
from wareboard.form.roots import line_of
from wareboard.form.vessel import FIRED_DENSITY, centre_of_gravity_mm, fired_weight_g
from wareboard.working import Step

GRAVITY_M_PER_S2 = 9.80665
SOURCE = "derived"


@dataclass(frozen=True, slots=True)
class Balance:
    """Weight, its place, and what it asks of the hand.

    ``turning_n_m`` is the moment that the wrist holds against; ``hangs_deg`` how far the piece tips when it hangs free from
    the inside of the handle's upper bend.
    """

    weight_g: float
    out_mm: float
    up_mm: float
    grip_out_mm: float
    turning_n_m: float
    hangs_deg: float
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Beside:
    """What a piece carries beside its body and handle, such as a spout or a lid: its weight and where that lies."""

    weight_g: float
    up_mm: float
    out_mm: float = 0.0


NOTHING_BESIDE = Beside(0.0, 0.0)


def together(parts: Sequence[Beside]) -> Beside:
    """Several of them as one, at their common centre of gravity."""
    weight = sum(part.weight_g for part in parts)
    if weight <= 0:
        return NOTHING_BESIDE
    up, out = (sum(part.weight_g * getattr(part, way) for part in parts) / weight for way in ("up_mm", "out_mm"))
    return Beside(weight, up, out)


def handle_centre_mm(profile: Profile, handle: Strap, at_mm: float | None = None) -> tuple[float, float]:
    """(height, distance out) of the centre of gravity of a joined handle.

    Source: mean of its middle line, each part counted by its section (trapezium rule along the line).
    """
    line = line_of(profile, handle, at_mm)
    left = handle.taper + (1 - handle.taper) * np.linspace(0.0, 1.0, len(line))
    long = np.hypot(*np.diff(line, axis=0).T)
    weight = (left[1:] ** 2 + left[:-1] ** 2) / 2 * long
    middle = ((line[1:] + line[:-1]) / 2 * weight[:, None]).sum(axis=0) / weight.sum()
    return float(middle[0]), float(middle[1])


def balance(
    profile: Profile,
    handle: Strap,
    liquid_ml: float = 0.0,
    density_g_per_ml: float = FIRED_DENSITY.value,
    at_mm: float | None = None,
    what: str = "piece",
    beside: Beside = NOTHING_BESIDE,
) -> Balance:
    """How a fired piece hangs in the hand, empty or with so much liquid in it.

    Args:
        profile, handle: fired.
        liquid_ml: water in it, at 1 g a ml.
        density_g_per_ml: of the fired body.
        at_mm: height of the handle's lower end; midway up the piece when left out.
        what: the piece in plain words.
        beside: spout, lid and knob, fired; distances out are towards the handle, so that a spout's is below 0.
    Raises:
        OutOfRange: if it does not hold so much, or the handle does not go on it.
    Source: statics: moments of weights about the grip (any text on mechanics); standard gravity 9.80665 m/s2.
    """
    body_g = fired_weight_g(profile, density_g_per_ml) + liquid_ml
    body_up = centre_of_gravity_mm(profile, liquid_ml, density_g_per_ml)
    handle_g = handle.volume_mm3 / 1000 * density_g_per_ml
    handle_up, handle_out = handle_centre_mm(profile, handle, at_mm)
    line = line_of(profile, handle, at_mm)
    weights = {"body_g": body_g, "handle_g": handle_g}
    whole = body_g + handle_g + beside.weight_g
    out = (handle_g * handle_out + beside.weight_g * beside.out_mm) / whole
    up = (body_g * body_up + handle_g * handle_up + beside.weight_g * beside.up_mm) / whole
    more = ("", "", "")
    lifted, aside = {"body_up_mm": body_up, "handle_up_mm": handle_up}, {"handle_out_mm": handle_out}
    if beside.weight_g:
        more = (" + beside_g", " + beside_g * beside_up_mm", " + beside_g * beside_out_mm")
        weights["beside_g"] = beside.weight_g
        lifted["beside_up_mm"], aside["beside_out_mm"] = beside.up_mm, beside.out_mm
    grip = float(line[:, 1].max())
    turning = whole / 1000 * GRAVITY_M_PER_S2 * (grip - out) / 1000
    bend_up, bend_out = _upper_bend_mm(handle, line)
    hangs = math.degrees(math.atan2(bend_out - out, bend_up - up))
    steps = (
        Step(f"{what}: weight", f"body_g + handle_g{more[0]}", weights, whole, SOURCE, unit="g"),
        Step(
            f"{what}: centre of gravity above the foot",
            f"(body_g * body_up_mm + handle_g * handle_up_mm{more[1]}) / (body_g + handle_g{more[0]})",
            weights | lifted,
            up,
            SOURCE,
            unit="mm",
        ),
        Step(
            f"{what}: centre of gravity towards the handle",
            f"(handle_g * handle_out_mm{more[2]}) / (body_g + handle_g{more[0]})",
            weights | aside,
            out,
            SOURCE,
            unit="mm",
        ),
        Step(
            f"{what}: turns the wrist by",
            "weight_g / 1000 * gravity_m_per_s2 * (grip_out_mm - out_mm) / 1000",
            {"weight_g": whole, "gravity_m_per_s2": GRAVITY_M_PER_S2, "grip_out_mm": grip, "out_mm": out},
            turning,
            SOURCE,
            unit="N m",
        ),
    )
    return Balance(whole, out, up, grip, turning, hangs, steps)


def _upper_bend_mm(handle: Strap, line: np.ndarray) -> tuple[float, float]:
    """(height, distance out) of the inner face where the handle bends down from its upper root: a finger hangs it there."""
    upper = line[len(line) // 2 :]
    left = handle.taper + (1 - handle.taper) * np.linspace(0.5, 1.0, len(upper))
    inner_out = upper[:, 1] - handle.thickness_mm * left / 2
    place = int(np.abs(inner_out - (upper[-1, 1] + inner_out.max()) / 2).argmin())
    return float(upper[place, 0] - handle.thickness_mm * left[place] / 2), float(upper[place, 1])
