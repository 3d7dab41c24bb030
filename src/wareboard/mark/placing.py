"""Where a mark goes on a piece: so many round it, clear of handle, spout, foot and rim; angles and heights for the bench.

All sizes are those of the leather-hard piece. Angles are in degrees from the handle's middle (without one from the spout's
or the lip's, without any from the first mark), anticlockwise seen from above; distances round are measured by tape at the
mark's own height.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive
from wareboard.mark.gaps import Bar, Standing, angles_clear_of, free_deg, refused
from wareboard.mark.wall import wall_of
from wareboard.working import Step

CLEAR_MM = 3.0


@dataclass(frozen=True, slots=True)
class Keep:
    """What a mark keeps clear of, mm: the handle's root (by tape on the wall; 0 for none), bands at foot and rim.

    ``beside_handle_mm`` is the gap left on either side of the root, and of ``others`` that stand there; ``foot_mm``
    and ``rim_mm`` are measured on the wall. Without a handle, angles are from the middle of the first of the others.
    """

    handle_mm: float = 0.0
    beside_handle_mm: float = CLEAR_MM
    foot_mm: float = CLEAR_MM
    rim_mm: float = CLEAR_MM
    others: tuple[Standing, ...] = ()

    @property
    def at_origin(self) -> str:
        """What stands where angles are counted from; empty where nothing does."""
        return "handle" if self.handle_mm else self.others[0].name if self.others else ""

    def bars(self, narrowest_mm: float, low_mm: float, high_mm: float) -> list[Bar]:
        """What a mark between two heights must leave free, gaps included, where the piece is so narrow (radius)."""
        gap = math.degrees(self.beside_handle_mm / narrowest_mm)
        handle = [Bar("handle", 0.0, math.degrees(self.handle_mm / 2 / narrowest_mm) + gap)] if self.handle_mm else []
        meets = [each for each in self.others if each.meets(low_mm, high_mm)]
        return handle + [Bar(each.name, each.turn_deg, each.half_deg + gap) for each in meets]

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
        """Where the mark sits on the piece, in words."""
        return (
            f"mark {self.number}: {self.angle_deg:.1f}° or {self.round_mm:.1f} mm round, "
            f"middle {self.height_mm:.1f} mm above the foot, {self.below_rim_mm:.1f} mm down the wall from the rim"
        )


@dataclass(frozen=True, slots=True)
class Placing:
    """All places of a mark round one piece, the pitch between middles by tape, mm, the working, and what angles are from."""

    places: tuple[Place, ...]
    pitch_mm: float
    radius_mm: float
    words: str
    steps: tuple[Step, ...]
    origin: str = "the first mark"


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
    with the handle in the middle of one gap, where that gap is wide enough and nothing else is in the way; else evenly,
    turned clear of all that stands there; else evenly in what that leaves free.

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
    heights = wall.height_at_mm(reach)
    bars = clear.bars(narrowest, float(heights.min()), float(heights.max()))
    angles, words = _angles(n, width_mm, narrowest, bars, clear.at_origin)
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
    origin = f"the middle of the {clear.at_origin}" if clear.at_origin else "the first mark"
    return Placing(places, pitch, radius, words, tuple(steps), origin)


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


def _angles(n: int, width_mm: float, narrowest: float, bars: Sequence[Bar], at_origin: str) -> tuple[list[float], str]:
    """Angles of the middles from the origin, degrees, and how they were found."""
    half_mark = math.degrees(width_mm / 2 / narrowest)
    if not bars and 2 * half_mark * n > 360.0 + 1e-9:
        most = int(360.0 / (2 * half_mark))
        raise OutOfRange(
            f"{n} marks of {width_mm:.1f} mm",
            why=f"the piece is {2 * math.pi * narrowest:.1f} mm round where it is narrowest behind the mark",
            mend=f"Use at most {most}" if most else "Make the mark narrower",
        )
    found = angles_clear_of(n, half_mark, bars, at_origin)
    if isinstance(found, int):
        raise refused(n, width_mm, found, math.radians(free_deg(bars)) * narrowest, bars)
    return found
