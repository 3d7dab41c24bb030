"""Parts of a wall that a painting leaves bare: where a handle and a spout are joined to it, and a lip pulled out of it.

Sizes in mm at bisque; places round the piece are shares of the way round from the artwork's left edge, in its own direction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.given import not_negative
from wareboard.paint.brush import Labels
from wareboard.paint.card_svg import Map
from wareboard.paint.colour import Floats
from wareboard.paint.laying import Laying
from wareboard.paint.outline import fewer, path_of

TURN = 2.0 * np.pi
LETTER_MM = 2.6


@dataclass(frozen=True, slots=True)
class LeftBare:
    """One such part: an oval with its middle at a height, or with ``half_share`` all above it that lies so near a share.

    ``round_mm`` and ``up_mm`` are the oval's half-widths on the wall, round and up it; of a lip ``height_mm`` is where it is
    pulled from, and the other two are 0.
    """

    name: str
    share: float
    height_mm: float
    round_mm: float = 0.0
    up_mm: float = 0.0
    half_share: float = 0.0

    def __post_init__(self) -> None:
        for value, what in ((self.round_mm, "width"), (self.up_mm, "height"), (self.half_share, "share")):
            not_negative(value, f"half of the {what} of the {self.name}")

    def covers(self, laid: Laying, share: ArrayLike, along_mm: ArrayLike) -> NDArray[np.bool_]:
        """Which places are in it; shares of the way round and distances up the wall from the foot are broadcast together."""
        line, along = laid.wall_mm, laid.along_mm
        apart = np.abs((np.asarray(share) - self.share + 0.5) % 1.0 - 0.5)
        up = np.asarray(along_mm) - np.interp(self.height_mm, line[:, 0], along)
        if self.half_share:
            return np.asarray((apart < self.half_share) & (up > 0))
        if not self.round_mm or not self.up_mm:
            return np.zeros(np.broadcast(apart, up).shape, np.bool_)
        off_mm = apart * TURN * np.interp(np.asarray(along_mm), along, line[:, 1])
        return np.asarray((off_mm / self.round_mm) ** 2 + (up / self.up_mm) ** 2 < 1.0)


def bare_at(laid: Laying, bare: Sequence[LeftBare], share: ArrayLike, along_mm: ArrayLike) -> NDArray[np.bool_]:
    """Which places are left bare by any of them, as in `LeftBare.covers`."""
    found = np.zeros(np.broadcast(np.asarray(share), np.asarray(along_mm)).shape, np.bool_)
    for each in bare:
        found |= each.covers(laid, share, along_mm)
    return found


def painted_areas_mm2(laid: Laying, labels: Labels, bare: Sequence[LeftBare]) -> Floats:
    """Area of each zone of one piece with all its repeats, (zones,), without what is left bare; to within a pixel."""
    areas = laid.areas_mm2(labels)
    if bare:
        zones = np.arange(len(areas))
        for copy in range(laid.repeats):
            kept = copy_bare(laid, labels.shape, bare, copy)
            areas -= [float(((labels == zone) & kept).sum(axis=1) @ laid.pixels_mm2) for zone in zones]
    return np.asarray(np.maximum(areas, 0.0))


def copy_bare(laid: Laying, shape: tuple[int, ...], bare: Sequence[LeftBare], copy: int) -> NDArray[np.bool_]:
    """(h, w) which pixels of one copy of the artwork, from 0, are left bare."""
    share = copy / laid.repeats + (np.arange(shape[1]) + 0.5) / shape[1] * laid.turn_share
    return bare_at(laid, bare, share[None, :], row_along_mm(laid, shape[0])[:, None])


def row_along_mm(laid: Laying, rows: int) -> Floats:
    """Distance up the wall from the foot of each row's middle, the first nearest the rim."""
    high = len(laid.radii_mm) * laid.row_mm
    found: Floats = laid.along_mm[-1] - laid.off_rim_mm - (np.arange(rows) + 0.5) * high / rows
    return found


def in_words(laid: Laying, shape: tuple[int, ...], bare: Sequence[LeftBare]) -> tuple[str, ...]:
    """What is left bare and where it lies on the life-size map; nothing of what the painting does not reach."""
    found = tuple(
        f"left bare where the {each.name} is: {_place(laid, shape, each)}"
        for each in bare
        if any(copy_bare(laid, shape, [each], copy).any() for copy in range(laid.repeats))
    )
    return (*found, "what is left bare is drawn on the map in dashes") if found else ()


def life_size(laid: Laying, shape: tuple[int, ...], bare: Sequence[LeftBare]) -> Map:
    """How the map of zones of an artwork of that shape, laid on a wall, is drawn life-size."""
    words = "life-size at bisque, up the wall and at its mean girth"
    return Map(laid.mean_across_mm, laid.row_mm, words, drawn_over(laid, shape, bare))


def drawn_over(laid: Laying, shape: tuple[int, ...], bare: Sequence[LeftBare]) -> str:
    """SVG, in mm of the life-size map, of dashes round what is left bare, each with the copy of the artwork where it is."""
    labels, step = fewer(np.zeros(shape[:2], np.int64))
    size = np.array([laid.mean_across_mm, laid.row_mm]) * step
    found = []
    for copy in range(laid.repeats):
        for each in bare:
            kept = copy_bare(laid, labels.shape, [each], copy)
            if not kept.any():
                continue
            line = f'd="{path_of(kept, lambda points: points * size)}" fill="none"'
            # Dark dashes on white, so that they are seen on every hatch.
            found.append(f'<path {line} stroke="#ffffff" stroke-width="0.9"/>')
            found.append(f'<path {line} stroke="#1a1a1a" stroke-width="0.45" stroke-dasharray="1.6 1"/>')
            if laid.repeats > 1:
                rows, columns = np.nonzero(kept)
                x, y = np.array([columns.mean() + 0.5, rows.min() - 1.0]) * size
                found.append(_label(f"copy {copy + 1}", x, max(y, LETTER_MM)))
    return "".join(found)


def _label(words: str, x: float, y: float) -> str:
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{LETTER_MM}" text-anchor="middle" fill="#1a1a1a" stroke="#ffffff" '
        f'stroke-width="0.6" paint-order="stroke">{words}</text>'
    )


def _place(laid: Laying, shape: tuple[int, ...], each: LeftBare) -> str:
    wide = laid.mean_across_mm * shape[1]
    across, copy = np.modf((each.share % 1.0) * laid.repeats + 1e-9)
    right = across / (laid.turn_share * laid.repeats) * wide
    which = f" of copy {int(copy) + 1} of {laid.repeats}" if laid.repeats > 1 else ""
    where = f"at the left edge{which}" if right < laid.mean_across_mm else f"{right:.0f} mm from the left edge{which}"
    top = laid.along_mm[-1] - laid.off_rim_mm
    down = float(top - np.interp(each.height_mm, laid.wall_mm[:, 0], laid.along_mm))
    if each.half_share:
        size = 2 * each.half_share * TURN * float(laid.wall_mm[-1, 1])
        return f"the top {down:.0f} mm of the map, {size:.0f} mm round at the rim, its middle {where}"
    size_words = f"{2 * each.round_mm:.0f} mm round and {2 * each.up_mm:.0f} mm high"
    return f"{size_words}, its middle {where} and {down:.0f} mm down the map"
