"""A drawing as lines in millimetres, and where it is finer than a tool can carve."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.mark.wall import Floats

KINDS = ("lines", "outlines")
CUTS = ("incised", "raised")


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """One line: (n, 2) in mm, x to the right and y up; ``closed`` when its end is its beginning (which is not repeated)."""

    points_mm: Floats
    closed: bool = False

    def __post_init__(self) -> None:
        points = np.array(self.points_mm, dtype=np.float64)
        if points.ndim != 2 or points.shape[1] != 2 or len(points) < 2 or not np.isfinite(points).all():
            raise OutOfRange(
                f"line has shape {points.shape}",
                why="a line needs two or more finite points of (x, y)",
                mend="Draw it again",
            )
        points.setflags(write=False)
        object.__setattr__(self, "points_mm", points)

    @property
    def loop_mm(self) -> Floats:
        """The points, with the first once more at the end where the line is closed."""
        return np.vstack([self.points_mm, self.points_mm[:1]]) if self.closed else self.points_mm

    @property
    def length_mm(self) -> float:
        """Length of the line, mm, the way back counted where it is closed."""
        return float(np.hypot(*np.diff(self.loop_mm, axis=0).T).sum())


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """Lines in mm, x to the right, y up.

    ``kind`` "lines" are the middles of grooves to be cut with one stroke each; "outlines" are the edges of areas.
    ``cut`` says whether the lines (or areas) go into the clay or stand out of it. ``notes`` tell what was left out.

    Raises:
        OutOfRange: if there are no lines, or kind or cut has no such name.
    """

    lines: tuple[Line, ...]
    kind: str = "lines"
    cut: str = "incised"
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.lines:
            raise OutOfRange(
                "the mark", why="there are no lines in it", mend="Draw it darker, in clear lines, on plain paper"
            )
        for value, known, name in ((self.kind, KINDS, "kind of line"), (self.cut, CUTS, "way of cutting")):
            if value not in known:
                raise OutOfRange(f"{name} {value!r}", why="no such one is kept", mend="Use " + " or ".join(known))

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y."""
        everything = np.vstack([line.points_mm for line in self.lines])
        return (*map(float, everything.min(axis=0)), *map(float, everything.max(axis=0)))  # type: ignore[return-value]

    @property
    def width_mm(self) -> float:
        """Width over all lines, mm."""
        left, _, right, _ = self.bounds_mm
        return right - left

    @property
    def height_mm(self) -> float:
        """Height over all lines, mm."""
        _, low, _, high = self.bounds_mm
        return high - low

    @property
    def length_mm(self) -> float:
        """Length of all lines together: what is to be carved."""
        return sum(line.length_mm for line in self.lines)

    def scaled(self, across: float, up: float | None = None) -> Drawing:
        """The drawing made wider and higher by factors about its middle, which moves to (0, 0).

        Raises:
            OutOfRange: if a factor is not a finite number above 0.
        """
        factors = np.array([positive(across, "factor across"), positive(across if up is None else up, "factor up")])
        left, low, right, high = self.bounds_mm
        middle = np.array([(left + right) / 2, (low + high) / 2])
        return self.moved(lambda points: (points - middle) * factors)

    def sized(self, width_mm: float | None = None, height_mm: float | None = None) -> Drawing:
        """The drawing at a given width or height (or both, where it may be pulled out of shape), its middle at (0, 0).

        Raises:
            OutOfRange: if neither is given, one is no finite number above 0, or the drawing has no extent that way.
        """
        factors: list[float | None] = []
        for wanted, now, name in ((width_mm, self.width_mm, "width"), (height_mm, self.height_mm, "height")):
            if wanted is not None and not now > 0:
                raise OutOfRange(
                    f"{name} of the mark is 0", why="it cannot be made to a size that way", mend="Give its other size"
                )
            factors.append(None if wanted is None else positive(wanted, f"{name} of the mark", "mm") / now)
        across, up = factors
        if across is None and up is None:
            raise OutOfRange("size of the mark", why="neither width nor height is given", mend="Give one of them")
        return self.scaled(across or up or 1.0, up or across or 1.0)

    def moved(self, to: Any) -> Drawing:
        """The drawing with every line's (n, 2) points put through ``to``."""
        return replace(self, lines=tuple(Line(to(line.points_mm), line.closed) for line in self.lines))

    def in_short_steps(self, step_mm: float) -> Drawing:
        """The drawing with points put in so that none is further from the next than ``step_mm``: before it is bent."""
        return replace(self, lines=tuple(Line(_in_steps(line, step_mm), line.closed) for line in self.lines))

    def inked(self, width_mm: float) -> Any:
        """What is cut, as a shapely area: grooves of that width round lines, or the areas that outlines enclose."""
        from shapely import LineString, Polygon, union_all

        if self.kind == "lines":
            return union_all([LineString(line.loop_mm).buffer(width_mm / 2) for line in self.lines])
        area: Any = Polygon()
        for line in self.lines:
            if line.closed and len(line.points_mm) > 2:
                # An outline within an outline is a hole, one within that an island.
                area = area.symmetric_difference(Polygon(line.points_mm).buffer(0))
        loose = [LineString(line.points_mm).buffer(width_mm / 2) for line in self.lines if not line.closed]
        return union_all([area, *loose])


def _in_steps(line: Line, step_mm: float) -> Floats:
    loop = line.loop_mm
    lengths = np.hypot(*np.diff(loop, axis=0).T)
    parts = np.maximum(1, np.ceil(lengths / step_mm)).astype(int)
    pieces = [
        start + (end - start) * np.arange(count)[:, None] / count
        for start, end, count in zip(loop[:-1], loop[1:], parts, strict=True)
    ]
    return np.vstack([*pieces, *([] if line.closed else [loop[-1:]])])


@dataclass(frozen=True, slots=True)
class Fineness:
    """Where a drawing is finer than can be carved, as (x, y) in mm of each place, and in words.

    ``narrow``: what is cut is narrower than the groove; ``crowded``: the clay between two cuts is narrower than the land.
    """

    narrow: tuple[tuple[float, float], ...]
    crowded: tuple[tuple[float, float], ...]
    words: str


def fineness(drawing: Drawing, groove_mm: float, land_mm: float) -> Fineness:
    """Places where the drawing is finer than the tool or the clay allows, at the size and stage that it is in.

    An area that a disc as wide as the groove (or the land) cannot reach is too fine; corners, which it never reaches, are
    let pass when they are no larger than a quarter of the disc's square.

    Args:
        groove_mm, land_mm: least width of a cut and of the clay left between two, mm, above 0.
    Raises:
        OutOfRange: if a width is no such number.
    Source: widths ``mark/grooves``; opening and closing by a disc, common practice in shape measurement.
    """
    positive(groove_mm, "groove", "mm")
    positive(land_mm, "land", "mm")
    area = drawing.inked(groove_mm)
    # A hair narrower, so that a groove of just the least width is not flagged for the roundness of its ends.
    opened = area.buffer(-0.49 * groove_mm).buffer(0.49 * groove_mm)
    closed = area.buffer(0.49 * land_mm).buffer(-0.49 * land_mm)
    narrow = _places(area.difference(opened), groove_mm) if drawing.kind == "outlines" else ()
    crowded = _places(closed.difference(area), land_mm)
    said = []
    if narrow:
        said.append(f"{_places_word(narrow)} narrower than a groove of {groove_mm:.1f} mm and will fill with glaze")
    if crowded:
        said.append(
            f"{_places_word(crowded)} where less than {land_mm:.1f} mm of clay stands between cuts and may crumble"
        )
    return Fineness(narrow, crowded, "; ".join(said) or "Every line can be carved at this size.")


def _places_word(places: tuple[tuple[float, float], ...]) -> str:
    return f"{len(places)} place{'s' if len(places) > 1 else ''}"


def _places(area: Any, width_mm: float) -> tuple[tuple[float, float], ...]:
    parts = getattr(area, "geoms", [area])
    found = [part.representative_point() for part in parts if part.area > width_mm**2 / 4]
    return tuple(sorted((round(point.x, 3), round(point.y, 3)) for point in found))


def drawing_of(lines: list[ArrayLike], closed: bool = False, kind: str = "lines", cut: str = "incised") -> Drawing:
    """A drawing from plain lists of (x, y) in mm."""
    return Drawing(tuple(Line(np.asarray(line, dtype=np.float64), closed) for line in lines), kind, cut)
