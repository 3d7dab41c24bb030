"""Where and at what angle a handle is joined: the wall's lean at each root, the cut of the strap's ends, its place round.

Heights above the foot in mm, angles in degrees, of the piece at one stage. A handle's place round the body is counted
clockwise, seen from above, from the spout or lip, or from the front where there is neither: 180 is opposite.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wareboard.form.handle import Strap
from wareboard.form.profile import Profile
from wareboard.form.roots import line_of
from wareboard.working import Step

OPPOSITE_DEG = 180.0
ROOTS = ("lower", "upper")


@dataclass(frozen=True, slots=True)
class Join:
    """One root: its middle's height and distance from the centre line, and how far the wall leans out from upright.

    The strap comes level out of the wall, so that its end is cut as far from square as the wall leans from upright:
    ``lean_deg`` above 0 leans outward going up and leaves the strap's upper face the shorter, below 0 the longer.
    """

    root: str
    height_mm: float
    radius_mm: float
    lean_deg: float

    @property
    def cut_deg(self) -> float:
        """How far the strap's end is cut from square."""
        return abs(self.lean_deg)

    @property
    def words(self) -> str:
        """Lean and cut as they are said at the bench."""
        if self.cut_deg < 0.5:
            return "wall upright, cut square"
        way, face = ("out", "upper") if self.lean_deg > 0 else ("in", "lower")
        return f"wall leans {way} {self.cut_deg:.0f}° going up; cut {self.cut_deg:.0f}° off square, {face} face shorter"


def joins_of(profile: Profile, handle: Strap, at_mm: float | None = None) -> tuple[Join, Join]:
    """The lower and the upper root of a handle.

    The lean is that of the wall over the thickness of the strap where it is joined, so that a bend within it is evened out.

    Args:
        profile, handle, at_mm: as in `wareboard.form.roots.line_of`.
    Raises:
        OutOfRange: if the handle does not go on the piece.
    """
    line = line_of(profile, handle, at_mm)
    thick = handle.thickness_mm * handle.taper, handle.thickness_mm
    found = []
    for root, point, across in zip(ROOTS, (line[0], line[-1]), thick, strict=True):
        height = float(point[0])
        low, high = max(0.0, height - across / 2), min(profile.height_mm, height + across / 2)
        run = profile.radius_at_mm(high) - profile.radius_at_mm(low)
        found.append(Join(root, height, profile.radius_at_mm(height), math.degrees(math.atan2(run, high - low))))
    return found[0], found[1]


def join_steps(joins: tuple[Join, Join], stage: str, turn_deg: float, front: str) -> tuple[Step, ...]:
    """Working of both roots: lean of the wall, cut of the strap's end, and the way round the wall by tape.

    Args:
        joins: at the stage.
        stage: in plain words.
        turn_deg: the handle's place round the body.
        front: what it is counted from: "spout", "lip" or "front".
    Source: slope of the drawn wall (trigonometry); arc of a circle.
    """
    found = []
    for join in joins:
        where = {"height_mm": join.height_mm, "radius_mm": join.radius_mm}
        found += [
            Step(
                f"{join.root} root, wall leans out from upright, {stage}",
                "",
                where,
                join.lean_deg,
                "derived",
                unit="°",
                how="arc tangent of the wall's run over its rise across the strap's thickness",
            ),
            Step(
                f"{join.root} root, end of the strap off square, {stage}",
                "abs(lean)",
                {"lean": join.lean_deg},
                join.cut_deg,
                "derived",
                unit="°",
            ),
            Step(
                f"{join.root} root, round the wall from the {front}, {stage}",
                "pi / 180 * min(turn, 360 - turn) * radius_mm",
                {"turn": turn_deg, "radius_mm": join.radius_mm},
                math.pi / 180 * min(turn_deg, 360 - turn_deg) * join.radius_mm,
                "derived",
                unit="mm",
            ),
        ]
    return tuple(found)


def turned_deg(turn_deg: float) -> float:
    """How far a handle drawn opposite the spout is turned, anticlockwise seen from above."""
    return OPPOSITE_DEG - turn_deg


def turned(points_mm: np.ndarray, turn_deg: float) -> np.ndarray:
    """Points (..., 2 or 3) of a handle drawn along +x, moved to its place round the body."""
    by = math.radians(turned_deg(turn_deg))
    moved = points_mm.copy()
    moved[..., 0] = points_mm[..., 0] * math.cos(by) - points_mm[..., 1] * math.sin(by)
    moved[..., 1] = points_mm[..., 0] * math.sin(by) + points_mm[..., 1] * math.cos(by)
    return moved
