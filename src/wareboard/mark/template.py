"""The template for one mark: flat paper with the mark on it, its centre line, and a top edge to lay at the rim."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.mark.distortion import Distortion, distortion
from wareboard.mark.drawing import Drawing, Line
from wareboard.mark.placing import Placing
from wareboard.mark.wall import Floats, Wall, wall_of
from wareboard.mark.wrap import Patch, edge_of, patch

WAYS = ("plain", "level")
MARGIN_MM = 6.0
STEP_MM = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Template:
    """One mark on flat paper, mm, x to the right and y up, its centre line at x = 0.

    ``edge_mm`` is where the paper is cut (closed, not repeated), ``top_mm`` the part of it that lies at the rim (or at the
    level asked for), ``centre_mm`` the centre line. ``wall_lines`` are the same lines on the leather-hard piece, (n, 3),
    with the mark's middle at angle 0: seen from outside and the right way round, even when the paper is mirrored.
    """

    lines: tuple[Line, ...]
    edge_mm: Floats
    top_mm: Floats
    centre_mm: Floats
    wall_lines: tuple[Floats, ...]
    patch: Patch
    distortion: Distortion
    mirrored: bool
    top_words: str

    @property
    def width_mm(self) -> float:
        """Width of the paper as cut, mm."""
        return float(np.ptp(self.edge_mm[:, 0]))

    @property
    def height_mm(self) -> float:
        """Height of the paper as cut, mm."""
        return float(np.ptp(self.edge_mm[:, 1]))

    def mirror(self) -> Template:
        """The template turned left for right, to be laid face down on the clay."""

        def turned(points: Floats) -> Floats:
            return np.asarray(points * np.array([-1.0, 1.0]))

        return replace(
            self,
            lines=tuple(Line(turned(line.points_mm), line.closed) for line in self.lines),
            edge_mm=turned(self.edge_mm),
            top_mm=turned(self.top_mm),
            centre_mm=turned(self.centre_mm),
            mirrored=not self.mirrored,
        )


def template(
    drawing: Drawing,
    profile: Any,
    middle_mm: float,
    top_mm: float | None = None,
    lay: str = "plain",
    mirrored: bool = False,
    margin_mm: float = MARGIN_MM,
) -> Template:
    """The template of a drawing for one place on the wall.

    Args:
        drawing: the mark at its leather-hard size (`Drawing.sized`); its middle is the middle of its bounds.
        profile: (n, 2) of (height, radius) of the leather-hard piece, mm, or anything with such an ``outer_mm``.
        middle_mm: height of the mark's middle above the foot, mm.
        top_mm: height at which the paper's top edge lies, mm; the rim when left out.
        lay: "plain": drawn on flat paper as it is and bent round the wall with it, so that letters keep their shape.
            "level": what is level in the drawing follows the piece round at one height, as a frieze must.
        mirrored: turned left for right, for laying face down.
        margin_mm: paper left round the mark, mm, above 0.
    Raises:
        OutOfRange: if the mark does not go on the wall there, the paper would fold over itself, or ``lay`` has no such name.
    Source: `wareboard.mark.wrap`.
    """
    if lay not in WAYS:
        raise OutOfRange(f"way of laying {lay!r}", why="no such one is kept", mend="Use " + " or ".join(WAYS))
    positive(margin_mm, "margin", "mm")
    wall = wall_of(profile)
    along = wall.along_at_mm(middle_mm)
    top = wall.length_mm if top_mm is None else wall.along_at_mm(top_mm)
    fine = drawing.scaled(1.0).in_short_steps(STEP_MM)
    part = _patch_for(wall, along, top, fine, margin_mm)
    scale = float(part.scale_at([along], [0.0])[0])
    middle = part.flat_at([along], [0.0])[0]
    radius = float(wall.radius_at_mm(along))

    def laid(points: Floats) -> Floats:
        # At the mark's middle a millimetre of the drawing is one on the wall, whatever the paper does elsewhere.
        return middle + scale * points if lay == "plain" else part.flat_at(along + points[:, 1], points[:, 0] / radius)

    lines = tuple(Line(laid(line.points_mm), line.closed) for line in fine.lines)
    edge = part.flat_at(*edge_of(part.low_mm, part.high_mm, part.half_angle))
    _refuse_folded(edge)
    angles = np.linspace(-part.half_angle, part.half_angle, 65)
    made = Template(
        lines,
        edge,
        part.flat_at(np.full(65, part.high_mm), angles),
        part.flat_at(np.linspace(part.low_mm, part.high_mm, 33), np.zeros(33)),
        tuple(part.wall_of(line.loop_mm) for line in lines),
        part,
        distortion(_under(part, along, fine, scale)),
        False,
        _top_words(wall, part.high_mm),
    )
    return made.mirror() if mirrored else made


def _patch_for(wall: Wall, along: float, top: float, drawing: Drawing, margin: float) -> Patch:
    """The part of the wall under the paper: the mark with its margin, and on up to where the top edge lies."""
    half_high = drawing.height_mm / 2
    low, high = along - half_high, along + half_high
    if low < wall.along_mm[0] - 1e-6 or high > top + 1e-6:
        raise OutOfRange(
            f"mark runs from {low:.1f} to {high:.1f} mm up the wall",
            why=f"from the foot to the paper's top edge it is {top:.1f} mm",
            mend="Make the mark smaller, or move it or the top edge",
        )
    reach = wall.radius_at_mm(np.linspace(low, high, 33))
    half_wide = drawing.width_mm / 2 + margin
    if half_wide > math.pi * float(reach.min()):
        raise OutOfRange(
            f"mark with its paper is {2 * half_wide:.1f} mm wide",
            why=f"the piece is {2 * math.pi * float(reach.min()):.1f} mm round there",
            mend="Make the mark narrower, or repeat a smaller one round the piece",
        )
    low = max(low - margin, float(wall.along_mm[0]))
    half_angle = half_wide / float(reach.min())
    return patch(wall, low, top, half_angle * float(wall.radius_at_mm((low + top) / 2)) * (1 - 1e-12))


def _under(part: Patch, along: float, drawing: Drawing, scale: float) -> Patch:
    """The same map over the mark alone, at the size at which the mark is laid."""
    low, high = along - drawing.height_mm / 2, along + drawing.height_mm / 2
    if high - low < 1e-6:
        low, high = low - 0.5, high + 0.5
    half = max(drawing.width_mm / 2, 0.5) / float(part.wall.radius_at_mm(along))
    size = (part.coefficients[0] - math.log(scale), *part.coefficients[1:])
    ends = max(low, part.low_mm), min(high, part.high_mm)
    return replace(part, low_mm=ends[0], high_mm=ends[1], half_angle=half, coefficients=size)


def _refuse_folded(edge: Floats) -> None:
    from shapely import Polygon

    if not Polygon(edge).is_valid:
        raise OutOfRange(
            "the paper",
            why="laid flat it would lie over itself on so curved a wall",
            mend="Repeat a narrower mark round the piece, or bring the top edge nearer to the mark",
        )


def _top_words(wall: Wall, high: float) -> str:
    if high >= wall.length_mm - 1e-6:
        return "at the rim"
    return f"{wall.length_mm - high:.1f} mm below rim"


def on_piece(made: Template, placing: Placing, from_deg: float = 0.0) -> tuple[Floats, ...]:
    """The mark's lines at all its places on the leather-hard piece, each (n, 3) in mm.

    Args:
        from_deg: where the places' angles are counted from, anticlockwise from x seen from above.
    """
    found = []
    for place in placing.places:
        turned = math.radians(place.angle_deg + from_deg)
        c, s = math.cos(turned), math.sin(turned)
        turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
        found += [line @ turn.T for line in made.wall_lines]
    return tuple(found)
