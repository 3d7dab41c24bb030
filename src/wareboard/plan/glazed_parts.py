"""The surface that a glaze covers on one piece: its wall, and what is joined to it or lies on it. Fired, mm2."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from wareboard.plan.result import FormPlan

if TYPE_CHECKING:
    from wareboard.form.handle import Strap
    from wareboard.form.spout import ThrownSpout
    from wareboard.plan.lidded import Lidded

RIM_BAND_MM = 10.0  # how far down a glazed rim reaches, outside and in; common practice
FOOT_CLEAR_MM = 5.0  # kept clear above the foot, 3 to 6 mm; common practice
SPHEROID = 1.6075  # power of K. Thomsen's formula, within about 1 %; from memory


def parts_mm2(form: FormPlan, on: str) -> Mapping[str, float]:
    """Fired surface of one piece that ``on`` names, by part: its wall, and its handle, lid and spout where it has them.

    A painting is laid on the wall alone. What a root covers on the wall is not taken off; a lid's flange and its ledge are
    left bare, its underside is glazed as an inside.
    """
    found = {"wall": _wall_mm2(form, on)}
    outside, inside = on in ("outside", "all"), on in ("inside", "all")
    if form.strap is not None and outside:
        found["handle"] = strap_mm2(form.strap)
    if form.lidded is not None and (outside or inside):
        found["lid"] = _lid_top_mm2(form.lidded) * outside + _lid_under_mm2(form.lidded) * inside
    if form.poured.spout is not None and (outside or inside):
        spout = form.poured.spout
        found["spout"] = spout_mm2(spout, 0.0) * outside + spout_mm2(spout, spout.wall_mm) * inside
    return found


def _wall_mm2(form: FormPlan, on: str) -> float:
    from wareboard.form.vessel import inner_area_mm2, outer_area_mm2

    profile = form.profile
    outside = outer_area_mm2(profile, from_mm=min(FOOT_CLEAR_MM, profile.height_mm / 4))
    inside = inner_area_mm2(profile)
    if on == "inside":
        return inside
    if on in ("outside", "painting"):
        return outside
    if on == "rim":
        band = max(0.0, profile.height_mm - RIM_BAND_MM)
        return outer_area_mm2(profile, from_mm=band) + inside - inner_area_mm2(profile, to_mm=band)
    return inside + outside


def strap_mm2(strap: Strap) -> float:
    """Surface of a strap between its roots: round its section, flat with half round edges, times its length.

    Source: a flat bar with half round edges; girth goes evenly from the upper root to the lower.
    """
    wide, thick = max(strap.width_mm, strap.thickness_mm), min(strap.width_mm, strap.thickness_mm)
    girth = 2 * (wide - thick) + math.pi * thick
    return girth * strap.length_mm * (1 + strap.taper) / 2


def spout_mm2(spout: ThrownSpout, in_mm: float) -> float:
    """Side of a spout as a cone from its foot to its tip, ``in_mm`` within its outside."""
    base, tip = spout.base_mm / 2 - in_mm, spout.tip_mm / 2 - in_mm
    return math.pi * (base + tip) * math.hypot(spout.length_mm, base - tip)


def spheroid_mm2(width_mm: float, height_mm: float) -> float:
    """Surface of a knob, a ball drawn out or pressed flat, within about 1 %."""
    a, c = width_mm / 2, height_mm / 2
    mean = ((a**2) ** SPHEROID + 2 * (a * c) ** SPHEROID) / 3
    return 4 * math.pi * float(mean ** (1 / SPHEROID))


def _lid_top_mm2(lidded: Lidded) -> float:
    """Top of the lid down to its ledge, with its knob; it is drawn top down, as it is thrown."""
    from wareboard.form.gallery import ledge_mm
    from wareboard.form.vessel import outer_area_mm2, underside_area_mm2

    line = lidded.profile
    knob = spheroid_mm2(*lidded.knob_mm) if lidded.knob_mm else 0.0
    return underside_area_mm2(line) + outer_area_mm2(line, to_mm=ledge_mm(line)) + knob


def _lid_under_mm2(lidded: Lidded) -> float:
    from wareboard.form.vessel import inner_area_mm2

    return inner_area_mm2(lidded.profile)
