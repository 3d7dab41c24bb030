"""What is handed on of an outline that was traced: few points for a brief, a table of radii, a life-size drawing."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats, smooth_through
from wareboard.given import positive

# How finely lines are compared, and how near two points of a brief may stand, mm.
FINE, MOST_OWN, LEAST_APART_MM = 400, 1000, 0.4


def _line(points_mm: ArrayLike) -> Floats:
    line = np.array(points_mm, dtype=np.float64)
    if line.ndim != 2 or line.shape[1] != 2 or len(line) < 2 or not np.isfinite(line).all():
        raise OutOfRange(
            f"outline has shape {line.shape}",
            "it must be two or more finite points of (height, radius)",
            "Give one pair for each point, from the foot up to the rim",
        )
    return line


def few_points(points_mm: ArrayLike, within_mm: float = 0.3) -> Floats:
    """(m, 2) of the points of an outline such that straight lines between them lie within ``within_mm`` of all the others.

    Args:
        points_mm: (n, 2) of (height, radius), mm; left alone.
        within_mm: farthest that a point which is left out may lie from its chord, mm.
    Raises:
        OutOfRange: if the points are no line, or the distance is not above 0.
    Source: D. Douglas and T. Peucker, The Canadian Cartographer 10, 1973 (from memory).
    """
    line = _line(points_mm)
    positive(within_mm, "distance", "mm")
    kept, open_parts = {0, len(line) - 1}, [(0, len(line) - 1)]
    while open_parts:
        first, last = open_parts.pop()
        if last - first < 2:
            continue
        chord, away = line[last] - line[first], line[first + 1 : last] - line[first]
        part = np.clip(away @ chord / max(float(chord @ chord), 1e-12), 0.0, 1.0)
        off = np.hypot(*(away - part[:, None] * chord).T)
        worst = int(np.argmax(off))
        if off[worst] > within_mm:
            middle = first + 1 + worst
            kept.add(middle)
            open_parts += [(first, middle), (middle, last)]
    return line[sorted(kept)]


def points_for_a_smooth_line(points_mm: ArrayLike, within_mm: float = 0.3, most: int = 38) -> Floats:
    """(m, 2) of the points of an outline such that the smooth line through them lies within ``within_mm`` of the outline.

    A brief's profile is drawn as a smooth line, which rounds a sharp corner unless points stand close on both of its sides.

    Args:
        points_mm: (n, 2) of (height, radius), mm, straight between its points; left alone.
        within_mm: farthest that a place on the outline may lie from the smooth line, mm.
        most: no more points than this, even if they do not come so near.
    Raises:
        OutOfRange: if the points are no line, the distance is not above 0, or ``most`` is below 2.
    Source: points put in where the line strays farthest, one by one; for the line see `smooth_through`.
    """
    outline = _line(points_mm)
    positive(within_mm, "distance", "mm")
    if len(outline) > MOST_OWN:
        outline = _densely(outline)
    if most < 2:
        raise OutOfRange(f"{most} points", "a line has two at least", "Allow more points")
    dense = _densely(outline)
    kept = _kept_at_first(dense, outline, within_mm, most)
    while len(kept) < most:
        off = _strays(dense, smooth_through(dense[kept], FINE) if len(kept) > 2 else dense[kept])
        off[np.abs(dense[:, None] - dense[kept]).max(axis=2).min(axis=1) < LEAST_APART_MM] = 0.0
        worst = int(np.argmax(off))
        if off[worst] <= within_mm:
            break
        kept = sorted([*kept, worst])
    return dense[kept]


def _densely(outline: Floats) -> Floats:
    """The outline with places put in between its own points, which stay unless they are very many."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(outline, axis=0).T))])
    own = np.concatenate([[True], np.diff(along) > 0])
    few = own.sum() <= MOST_OWN
    between = np.linspace(0.0, along[-1], FINE if few else MOST_OWN)
    at = np.unique(np.concatenate([along[own], between])) if few else between
    return np.column_stack([np.interp(at, along[own], outline[own, axis]) for axis in (0, 1)])


def _kept_at_first(dense: Floats, outline: Floats, within_mm: float, most: int) -> list[int]:
    few = few_points(outline, within_mm)
    while len(few) > most:
        within_mm *= 1.25
        few = few_points(outline, within_mm)
    near = np.hypot(dense[:, None, 0] - few[:, 0], dense[:, None, 1] - few[:, 1]).argmin(axis=0)
    return sorted({int(each) for each in near})


def _strays(places: Floats, line: Floats) -> Floats:
    """How far each place lies from a line, mm."""
    start, step = line[:-1], np.diff(line, axis=0)
    to = places[:, None] - start
    part = np.clip((to * step).sum(axis=2) / np.maximum((step**2).sum(axis=1), 1e-12), 0.0, 1.0)
    found: Floats = np.hypot(*np.moveaxis(to - part[..., None] * step, 2, 0)).min(axis=1)
    return found


def radii_csv(heights_mm: Floats, radii_mm: Floats, spread_mm: Floats) -> str:
    """A table of radii: height, radius and the half of its 90 % range, mm, foot to rim."""
    rows = zip(heights_mm, radii_mm, spread_mm, strict=True)
    return "height_mm,radius_mm,plus_or_minus_mm\n" + "".join(f"{h:.2f},{r:.2f},{s:.2f}\n" for h, r, s in rows)


def outline_svg(points_mm: ArrayLike, handle_mm: Floats | None = None, side: str = "right") -> str:
    """Both sides of an outline, life-size, and the edge of its handle beside it.

    Args:
        points_mm: (n, 2) of (height, radius), mm, from the foot to the rim.
        handle_mm: (m, 2) of (height, distance from the axis), mm; ``side`` is left or right.
    """
    line = _line(points_mm)
    both = np.vstack([np.column_stack([line[:, 1], line[:, 0]]), np.column_stack([-line[::-1, 1], line[::-1, 0]])])
    parts = [both]
    if handle_mm is not None:
        way = 1.0 if side == "right" else -1.0
        parts.append(np.column_stack([way * handle_mm[:, 1], handle_mm[:, 0]]))
    low, high = np.vstack(parts).min(axis=0) - 2.0, np.vstack(parts).max(axis=0) + 2.0
    wide, tall = high - low
    paths = [
        '<path d="M' + " L".join(f"{x - low[0]:.2f} {high[1] - y:.2f}" for x, y in part) + ' Z"/>' for part in parts
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" height="{tall:.2f}mm" '
        f'viewBox="0 0 {wide:.2f} {tall:.2f}" fill="none" stroke="black" stroke-width="0.3">\n'
        + "\n".join(paths)
        + "\n</svg>\n"
    )
