"""An artwork laid on the wall: where each of its rows lies on the piece, and how much wall each of its pixels covers.

The wall is a line of (height, radius), plain arrays, from foot to rim (for a plate from the middle to the rim), at the size
at which it is painted: bisque. The first row of the artwork lies nearest the rim.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wareboard.errors import OutOfRange
from wareboard.given import not_negative
from wareboard.paint.brush import Labels
from wareboard.paint.colour import Floats

TURN = 2.0 * np.pi
MOST_STRETCH = 1.15


@dataclass(frozen=True, slots=True, eq=False)
class Laying:
    """An artwork of (h, w) pixels on the wall, ``repeats`` times round.

    ``row_mm`` is mm of wall to a row; ``heights_mm`` and ``radii_mm`` (h,) are those of each row's middle, ``pixels_mm2``
    (h,) what one pixel of each row covers. ``scale_mm`` is the smallest mm to a pixel anywhere and either way, so that a
    zone wide enough there is wide enough everywhere. ``turn_share`` of the way round is one copy's; ``joined``: they meet
    all round. ``stretch``: how much wider than drawn it is laid, at the mean radius. ``along_mm`` is how far from the foot
    each point of ``wall_mm`` lies along it.
    """

    row_mm: float
    heights_mm: Floats
    radii_mm: Floats
    pixels_mm2: Floats
    scale_mm: float
    repeats: int
    turn_share: float
    joined: bool
    stretch: float
    off_foot_mm: float
    off_rim_mm: float
    wall_mm: Floats
    along_mm: Floats
    notes: tuple[str, ...]

    @property
    def mean_across_mm(self) -> float:
        """Mm to a pixel across, at the mean radius."""
        return float(self.pixels_mm2.mean()) / self.row_mm

    def areas_mm2(self, labels: Labels) -> Floats:
        """Area on the wall of each zone of one piece, all repeats together, (zones,)."""
        count = int(labels.max()) + 1
        found = np.zeros(count)
        for zone in range(count):
            found[zone] = float((labels == zone).sum(axis=1) @ self.pixels_mm2)
        return found * self.repeats


def lay(
    wall_mm: ArrayLike,
    shape: tuple[int, ...],
    *,
    off_foot_mm: float = 0.0,
    off_rim_mm: float = 0.0,
    repeats: int | None = None,
    turn_share: float | None = None,
) -> Laying:
    """An artwork on the wall of a piece.

    Args:
        wall_mm: (n, 2) of (height, radius) from foot to rim, at bisque; left alone.
        shape: (h, w) of the artwork.
        off_foot_mm, off_rim_mm: wall left free at foot and rim, measured along it.
        repeats: how often round the piece; where left out, as often as stretches it least.
        turn_share: share of the way round that one copy takes up; 1 / repeats where left out.
    Raises:
        OutOfRange: for a wall that is no line, bands that leave nothing, or copies that overlap.
    Source: surface of revolution, exact for a line of straight pieces (Pappus).
    """
    line = _line(wall_mm)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    first, last = (
        not_negative(off_foot_mm, "band at the foot", "mm"),
        along[-1] - not_negative(off_rim_mm, "band", "mm"),
    )
    if last <= first:
        raise OutOfRange(
            f"bands of {off_foot_mm:g} and {off_rim_mm:g} mm are left free",
            f"the wall is only {along[-1]:.1f} mm long from foot to rim",
            "Leave less free",
        )
    high, wide = shape[0], shape[1]
    row_mm = float(last - first) / high
    edges = last - row_mm * np.arange(high + 1)
    middles = (edges[:-1] + edges[1:]) / 2.0
    radii = np.interp(middles, along, line[:, 1])
    areas = -np.diff(_swept_mm2(edges, along, line[:, 1]))
    mean_round = float(areas.sum()) / float(last - first)
    times = _times(repeats, turn_share, mean_round, wide * row_mm)
    share = 1.0 / times if turn_share is None else turn_share
    across_mm = TURN * radii * share / wide
    stretch = mean_round * share / wide / row_mm
    return Laying(
        row_mm=row_mm,
        heights_mm=np.interp(middles, along, line[:, 0]),
        radii_mm=radii,
        pixels_mm2=areas * share / wide,
        scale_mm=float(min(row_mm, across_mm.min())),
        repeats=times,
        turn_share=share,
        joined=abs(times * share - 1.0) < 1e-9,
        stretch=stretch,
        off_foot_mm=off_foot_mm,
        off_rim_mm=off_rim_mm,
        wall_mm=line,
        along_mm=along,
        notes=_notes(stretch, radii),
    )


def _line(wall_mm: ArrayLike) -> Floats:
    line = np.array(wall_mm, dtype=np.float64)
    if line.ndim != 2 or line.shape[1] != 2 or len(line) < 2 or not np.isfinite(line).all():
        raise OutOfRange(
            f"the wall has shape {line.shape}",
            "it must be two or more finite points of (height, radius)",
            "Give one pair for each point, from the foot up to the rim",
        )
    if (line[:, 1] < 0).any() or (line[:, 1] <= 0).all() or (np.hypot(*np.diff(line, axis=0).T) <= 0).any():
        raise OutOfRange(
            "the wall", "a radius is below 0, or two points are the same", "Measure radii out from the centre line"
        )
    return line


def _swept_mm2(at: Floats, along: Floats, radii: Floats) -> Floats:
    """Area swept by the wall from the foot up to each place ``at`` along it, mm2."""
    lengths = np.diff(along)
    whole = np.concatenate([[0.0], np.cumsum(np.pi * (radii[:-1] + radii[1:]) * lengths)])
    piece = np.clip(np.searchsorted(along, at, side="right") - 1, 0, len(lengths) - 1)
    far = np.clip(at - along[piece], 0.0, lengths[piece])
    slope = (radii[piece + 1] - radii[piece]) / lengths[piece]
    found: Floats = whole[piece] + TURN * (radii[piece] * far + slope * far**2 / 2.0)
    return found


def _times(repeats: int | None, turn_share: float | None, mean_round: float, drawn_mm: float) -> int:
    if turn_share is not None and not 0.0 < turn_share <= 1.0:
        raise OutOfRange(
            f"share of the way round is {turn_share:g}", "it is above 0, up to 1", "Write a third as 0.333"
        )
    if repeats is None:
        return 1 if turn_share is not None else max(1, round(mean_round / drawn_mm))
    if repeats != int(repeats) or repeats < 1:
        raise OutOfRange(f"repeats are {repeats:g}", "they are whole, from 1 up", "Count how often it goes round")
    if turn_share is not None and repeats * turn_share > 1.0 + 1e-9:
        raise OutOfRange(
            f"{repeats} copies of {turn_share:g} of the way round", "they overlap", "Take fewer, or narrower ones"
        )
    return int(repeats)


def _notes(stretch: float, radii: Floats) -> tuple[str, ...]:
    notes = []
    if not 1.0 / MOST_STRETCH <= stretch <= MOST_STRETCH:
        words = "wider" if stretch > 1 else "narrower"
        notes.append(
            f"the artwork is laid {max(stretch, 1 / stretch):.2f} times {words} than drawn: "
            "change its repeats, the bands left free, or crop it"
        )
    lean = float(radii.max() / max(radii.min(), 1e-9))
    if lean > MOST_STRETCH:
        notes.append(f"the wall is {lean:.2f} times as far round at its widest as at its narrowest: so is the artwork")
    return tuple(notes)
