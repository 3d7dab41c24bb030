"""What a map of zones does not give of its artwork: colours that no tile reaches, and detail too thin for the brush."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wareboard.paint.brush import Labels, room_px, too_thin
from wareboard.paint.coats import weights
from wareboard.paint.colour import Floats, ciede2000, hex_of
from wareboard.paint.tiles import OUT_OF_REACH, Tile, nearest

# Colours that take up less of the artwork than this are edges and specks.
WORTH_TELLING = 0.005
ONE_COLOUR = 10.0
MOST_TOLD = 12
GRAIN_PX = 2.5
# Detail lost is told from this many dabs of the brush on.
WORTH_TELLING_BRUSHES = 3.0


@dataclass(frozen=True, slots=True)
class OutOfReach:
    """A colour of the artwork that no tile gives: sRGB "#rrggbb", its area, the nearest tile, how far off and which way."""

    colour: str
    area_mm2: float
    nearest: str
    apart: float
    words: str


@dataclass(frozen=True, slots=True)
class Lost:
    """Detail given up because it was thinner than the brush: its tile, how much, and about how wide it was."""

    tile: str
    area_mm2: float
    width_mm: float


def colours_out_of_reach(
    lab: Floats, share: Floats, apart: Floats, tiles: Sequence[Tile], area_mm2: float
) -> tuple[OutOfReach, ...]:
    """Colours that no tile reaches, like ones taken together, the largest first.

    Args:
        lab: (colours, 3), the artwork's colours.
        share: (colours,), how much of the artwork each takes up, edges hardly counted; sums to 1.
        apart: (colours, tiles), CIEDE2000 of each from each tile.
        tiles: all that there are.
        area_mm2: of the whole artwork on the ware.
    """
    limit = np.array([max(OUT_OF_REACH, tile.fired.spread) for tile in tiles])
    best = apart.argmin(axis=1)
    left = apart[np.arange(len(best)), best] > limit[best]
    told: list[OutOfReach] = []
    while left.any() and len(told) < MOST_TOLD:
        seed = int(np.argmax(np.where(left, share, -1.0)))
        alike = left & (ciede2000(lab, lab[seed]) < ONE_COLOUR)
        alike[seed] = True
        left &= ~alike
        part = float(share[alike].sum())
        if part < WORTH_TELLING:
            continue
        middle = weights(share[alike]) @ lab[alike]
        match = nearest(middle, tiles)
        if not match.out_of_reach:  # a ring of shades about a tile that can hardly be told from it
            continue
        told.append(OutOfReach(hex_of(middle), part * area_mm2, match.tile.name, match.apart, match.words))
    return tuple(sorted(told, key=lambda each: -each.area_mm2))


def detail_lost(
    nearest_tile: Labels, worse: Floats, tiles: Sequence[Tile], brush_px: float, px_mm: float
) -> tuple[Lost, ...]:
    """Detail that the artwork has and the brush has not the room for, tile by tile, the largest first.

    Args:
        nearest_tile: (h, w), for each pixel the tile nearest in colour, of all that there are.
        worse: (h, w), by how many CIEDE2000 the tile that is painted there is further off.
        tiles: all that there are.
        brush_px: width of the brush, pixels.
        px_mm: mm of ware to a pixel.
    """
    # A pixel or two are grain and the mixed colours of an edge; what is wider was drawn.
    gone = too_thin(nearest_tile, brush_px) & ~too_thin(nearest_tile, GRAIN_PX) & (worse > OUT_OF_REACH)
    if not gone.any():
        return ()
    # Twice the room at the middle of a line is its width; the middle is where there is most.
    room = room_px(nearest_tile)[1::2, 1::2]
    told = []
    for place in np.unique(nearest_tile[gone]):
        mine = gone & (nearest_tile == place)
        area = float(mine.sum()) * px_mm**2
        if area >= WORTH_TELLING_BRUSHES * (brush_px * px_mm) ** 2:
            width = float(np.quantile(room[mine], 0.75)) * 2.0 * px_mm
            told.append(Lost(tiles[int(place)].name, area, width))
    return tuple(sorted(told, key=lambda each: -each.area_mm2))
