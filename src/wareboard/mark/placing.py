"""Where a mark goes on a piece: so many round it, clear of handle, foot and rim; angles and heights for the bench.

All sizes are those of the leather-hard piece. Angles are in degrees from the handle's middle (or, without one, from the
first mark), anticlockwise seen from above; distances round are measured by tape at the mark's own height.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive
from wareboard.mark.wall import wall_of
from wareboard.working import Step

CLEAR_MM = 3.0


@dataclass(frozen=True, slots=True)
class Keep:
    """What a mark keeps clear of, mm: the handle's root (by tape on the wall; 0 for none), bands at foot and rim.

    ``beside_handle_mm`` is the gap left on either side of the root; ``foot_mm`` and ``rim_mm`` are measured on the wall.
    """

    handle_mm: float = 0.0
    beside_handle_mm: float = CLEAR_MM
    foot_mm: float = CLEAR_MM
    rim_mm: float = CLEAR_MM

    def __post_init__(self) -> None:
        for value, name in (
            (self.handle_mm, "width of the handle"),
            (self.beside_handle_mm, "gap beside the handle"),
            (self.foot_mm, "clear band at the foot"),
            (self.rim_mm, "clear band at the rim"),
        ):
            not_negative(value, name, "mm")


@dataclass(frozen=True, slots=True)
class Place:
    """One mark's middle: angle from the handle, degrees; distance round from it by tape, mm; height, mm.

    ``along_mm`` and ``below_rim_mm`` are measured on the wall: up from the standing edge, and down from the rim.
    """

    number: int
    angle_deg: float
    round_mm: float
    height_mm: float
    along_mm: float
    below_rim_mm: float

    @property
    def words(self) -> str:
        return (
            f"mark {self.number}: {self.angle_deg:.1f}° or {self.round_mm:.1f} mm round, "
            f"middle {self.height_mm:.1f} mm above the foot, {self.below_rim_mm:.1f} mm down the wall from the rim"
        )


@dataclass(frozen=True, slots=True)
class Placing:
    """All places of a mark round one piece, the pitch between middles by tape, mm, and the working."""

    places: tuple[Place, ...]
    pitch_mm: float
    radius_mm: float
    words: str
    steps: tuple[Step, ...]


def placed(
    profile: Any,
    width_mm: float,
    height_mm: float,
    middle_mm: float,
    count: int | None = None,
    pitch_mm: float | None = None,
    keep: Keep | None = None,
) -> Placing:
    """Places for a mark repeated round the piece, evenly.

    A pitch is changed by as little as gives a whole number round. With a handle the marks stand evenly all the way round
    with the handle in the middle of one gap, where that gap is wide enough; else evenly in what the handle leaves free.

    Args:
        profile: (n, 2) of (height, radius) of the leather-hard piece, mm, or anything with such an ``outer_mm``.
        width_mm, height_mm: size of the mark on the wall, mm.
        middle_mm: height of its middle above the foot, mm.
        count: how many; or ``pitch_mm``, the wanted distance from middle to middle; one mark when neither is given.
        keep: what to keep clear of; the usual bands and no handle when left out.
    Raises:
        OutOfRange: if the mark does not go between foot and rim, or not so often round.
    Source: n = pi D / pitch, a whole number, then the pitch adjusted; common practice.
    """
    clear = Keep() if keep is None else keep
    wall = wall_of(profile)
    positive(width_mm, "width of the mark", "mm")
    positive(height_mm, "height of the mark", "mm")
    along = wall.along_at_mm(middle_mm)
    _between_foot_and_rim(along, height_mm, wall.length_mm, clear)
    # The narrowest place within the mark's height is where neighbours come closest.
    reach = np.linspace(along - height_mm / 2, along + height_mm / 2, 33)
    radius, narrowest = float(wall.radius_at_mm(along)), float(wall.radius_at_mm(reach).min())
    steps = _pitched(radius, count, pitch_mm)
    n = round(steps[0].value) if steps else 1
    angles, words = _angles(n, width_mm, narrowest, clear)
    if len(angles) > 1:
        gap = float(np.diff(angles).min())
        pitch = math.radians(gap) * radius
        inputs = {"radius_mm": radius, "between_deg": gap}
        formula = "radius_mm * between_deg * pi / 180"
        steps.append(Step("pitch, middle to middle", formula, inputs, pitch, "common practice", unit="mm", key="pitch"))
    else:
        pitch = 2 * math.pi * radius
    places = tuple(
        Place(
            number + 1,
            angle,
            math.radians(angle) * radius,
            float(wall.height_at_mm(along)),
            along,
            wall.length_mm - along,
        )
        for number, angle in enumerate(angles)
    )
    return Placing(places, pitch, radius, words, tuple(steps))


def _between_foot_and_rim(along: float, height_mm: float, length_mm: float, clear: Keep) -> None:
    low, high = along - height_mm / 2, along + height_mm / 2
    if low < clear.foot_mm - 1e-6 or high > length_mm - clear.rim_mm + 1e-6:
        room = length_mm - clear.foot_mm - clear.rim_mm
        raise OutOfRange(
            f"mark runs from {low:.1f} to {high:.1f} mm up the wall",
            why=f"clear of foot and rim it may run from {clear.foot_mm:.1f} to {length_mm - clear.rim_mm:.1f} mm",
            mend="Move it" if height_mm <= room else f"Make it no higher than {max(room, 0.0):.1f} mm",
        )


def _pitched(radius: float, count: int | None, pitch_mm: float | None) -> list[Step]:
    if count is not None and pitch_mm is not None:
        raise OutOfRange(
            "number and pitch", why="both are given, and one follows from the other", mend="Give one of them"
        )
    if count is not None:
        if count != int(count) or count < 1:
            raise OutOfRange(
                f"number of marks is {count:g}", why="it must be a whole number from 1 up", mend="Say how many"
            )
        inputs = {"wanted": float(count)}
        return [Step("marks round the piece", "wanted", inputs, float(count), "given", key="count")]
    if pitch_mm is None:
        return []
    positive(pitch_mm, "pitch", "mm")
    inputs = {"diameter_mm": 2 * radius, "wanted_mm": pitch_mm}
    formula = "max(1, round(pi * diameter_mm / wanted_mm))"
    n = max(1, round(2 * math.pi * radius / pitch_mm))
    return [Step("marks round the piece", formula, inputs, float(n), "common practice", key="count")]


def _angles(n: int, width_mm: float, narrowest: float, clear: Keep) -> tuple[list[float], str]:
    """Angles of the middles from the handle's middle, degrees, and how they were found."""
    half_mark = math.degrees(width_mm / 2 / narrowest)
    if 2 * half_mark * n > 360.0 + 1e-9:
        most = int(360.0 / (2 * half_mark))
        raise OutOfRange(
            f"{n} marks of {width_mm:.1f} mm",
            why=f"the piece is {2 * math.pi * narrowest:.1f} mm round where it is narrowest behind the mark",
            mend=f"Use at most {most}" if most else "Make the mark narrower",
        )
    if not clear.handle_mm:
        return [360.0 * k / n for k in range(n)], "evenly all the way round"
    taken = math.degrees((clear.handle_mm / 2 + clear.beside_handle_mm) / narrowest)
    if 180.0 / n >= taken + half_mark - 1e-9:
        return [
            180.0 / n + 360.0 * k / n for k in range(n)
        ], "evenly all the way round, the handle in the middle of one gap"
    free = 360.0 - 2 * taken
    if 2 * half_mark * n > free + 1e-9:
        most = int(free / (2 * half_mark)) if free > 0 else 0
        raise OutOfRange(
            f"{n} mark{'s' if n > 1 else ''} of {width_mm:.1f} mm",
            why=f"the handle leaves {math.radians(max(free, 0.0)) * narrowest:.1f} mm free round the piece",
            mend=f"Use at most {most}, or make them narrower" if most else "Make the mark narrower",
        )
    first = taken + half_mark
    spread = [first + (360.0 - 2 * first) * k / (n - 1) for k in range(n)] if n > 1 else [180.0]
    return spread, "evenly in what the handle leaves free, the outer two up against its gap"
