"""The usual shapes: their proportions, and the line of their outside.

Lines are (n, 2) arrays of (height, radius) in mm, from the foot or the top of its ring up to the rim.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from wareboard.errors import NotInTable, OutOfRange
from wareboard.form.curve import Floats, smooth_through
from wareboard.form.wall import inside_of
from wareboard.reference import rows


@dataclass(frozen=True, slots=True)
class Shape:
    """Usual proportions of a shape: shares of the rim's diameter or of the height, sizes in mm when fired."""

    name: str
    foot_share: float
    belly_share: float
    belly_height_share: float
    neck_share: float
    neck_height_share: float
    foot_ring_mm: float
    wall_mm: float
    floor_mm: float
    source: str


@cache
def shape(name: str) -> Shape:
    """Usual proportions of a shape, from the shipped table ``form/shapes``.

    Raises:
        NotInTable: if no such shape is kept.
    """
    for row in rows("form/shapes"):
        if row["shape"] == name:
            numbers = {key: float(value) for key, value in row.items() if key not in ("shape", "source")}
            return Shape(name=name, source=row["source"], **numbers)
    raise NotInTable(f"shape {name!r}", why="no such shape is kept", mend="Use one of: " + ", ".join(shapes()))


def shapes() -> tuple[str, ...]:
    """Names of the shapes that `standard` draws."""
    return tuple(row["shape"] for row in rows("form/shapes"))


def side_of(
    usual: Shape, start: tuple[float, float], end: tuple[float, float], belly: float, neck: float, points: int
) -> Floats:
    """The outside from the top of the foot ring up to the rim, (height, radius) in mm, radii given."""
    tall = end[0] - start[0]
    match usual.name:
        case "cylinder" | "taper":
            return np.array([start, end])
        case "bowl":
            # Most of a quarter of an ellipse: flat where it leaves the foot, still opening at the rim.
            turn = np.linspace(0.0, np.radians(75.0), points)
            up = (1 - np.cos(turn)) / (1 - np.cos(turn[-1]))
            out = np.sin(turn) / np.sin(turn[-1])
        case "plate":
            out = np.linspace(0.0, 1.0, points)
            up = out**1.8
        case "belly" | "lidded jar" | "teapot":
            # Two quarter waves that meet upright at the belly.
            height, turn = usual.belly_height_share * tall, np.linspace(0.0, np.pi / 2, points // 2 + 1)
            low = np.column_stack([height * turn / turn[-1], start[1] + (belly - start[1]) * np.sin(turn)])
            high = np.column_stack(
                [height + (tall - height) * turn / turn[-1], end[1] + (belly - end[1]) * np.cos(turn)]
            )
            waves: Floats = np.vstack([low, high[1:]]) + np.array([start[0], 0.0])
            return waves
        case _:
            through = [start, (start[0] + usual.belly_height_share * tall, belly)]
            if usual.neck_share > 0 and usual.neck_height_share > 0:
                through.append((start[0] + usual.neck_height_share * tall, neck))
            return smooth_through(np.array([*through, end]), points)
    return np.column_stack([start[0] + tall * up, start[1] + (end[1] - start[1]) * out])


def lid_lines(
    height: float,
    rim: float,
    top: float,
    wall: float,
    floor: float,
    flange_wall: float,
    points: int,
    ledge_mm: float = 0.0,
) -> tuple[Floats, Floats]:
    """Outside and inside of a lid as thrown, top down: a shallow dome, a ledge that rests on the jar, and a flange.

    ``ledge_mm`` is the width of that ledge; what a wall and half a flange take when it is 0.

    Raises:
        OutOfRange: if the flat top is wider than the lid, or the flange leaves no room within it.
    """
    if top > rim:
        raise OutOfRange(
            f"flat top of {top:g} mm on a lid of {rim:g} mm",
            why="the top lies within the ledge that rests on the jar",
            mend="Give a smaller foot, which is the lid's flat top",
        )
    flange_mm = height / 3
    ledge_mm = ledge_mm or wall + flange_wall / 2
    seat, outside, flange = height - flange_mm, rim / 2, rim / 2 - ledge_mm
    turn = np.linspace(0.0, np.pi / 2, points)
    up, out = (1 - np.cos(turn)) * (seat - wall / 2), top / 2 + np.sin(turn) * (outside - top / 2)
    dome = np.column_stack([up, out])
    inner = inside_of(dome, wall, wall, floor, cut_at_mm=seat)
    inner = inner[inner[:, 1] < flange - flange_wall]
    bore = flange - flange_wall
    if bore <= 0 or not len(inner):
        raise OutOfRange(
            f"lid of {rim:g} mm", why="it has no room for its flange and wall", mend="Make it wider or thinner"
        )
    crossing = max(float(inner[-1, 0]), floor)
    inner = np.vstack([inner, [crossing, bore], [height, bore]])
    outer = np.vstack([[[0.0, 0.0]], dome, [[seat, outside], [seat, flange], [height, flange]]])
    return outer, inner
