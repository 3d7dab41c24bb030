"""A preview of the painted piece from the side, raw beside fired, as SVG in mm; it says that it is a preview."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from xml.sax.saxutils import escape

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.paint.brush import Labels
from wareboard.paint.card_svg import BISQUE, PREVIEW, raw_colour
from wareboard.paint.colour import Floats, hex_of
from wareboard.paint.layers import Zones
from wareboard.paint.laying import Laying
from wareboard.paint.left_bare import LeftBare, bare_at, row_along_mm
from wareboard.paint.outline import fewer, path_of

GAP, LETTER, SMALL, MARGIN = 16.0, 4.2, 3.0, 10.0
# Half a turn is seen; a path is drawn on a grid of half degrees.
SEEN_COLUMNS = 360


def preview_svg(
    found: Zones,
    laid: Laying,
    title: str,
    *,
    facing_share: float = 0.0,
    bare: str = BISQUE,
    left_bare: Sequence[LeftBare] = (),
) -> str:
    """The piece from the side, raw on the left and fired on the right, life-size at bisque.

    Args:
        found: the zones.
        laid: how they lie on the wall.
        title: name of the piece.
        facing_share: which part of the way round faces the eye, 0 the left edge of the artwork.
        bare: colour of wall that the artwork leaves free, "#rrggbb".
        left_bare: parts of the wall that it leaves free besides.
    Raises:
        OutOfRange: if the share is no number.
    Source: orthographic view of a surface of revolution, x = radius * sin(angle).
    """
    if not np.isfinite(facing_share):
        raise OutOfRange("the side that faces the eye", "it is no number", "Give a share of the way round, 0 to 1")
    labels, _ = fewer(found.labels)
    seen = _seen(labels, laid, facing_share, left_bare)
    widest = float(laid.wall_mm[:, 1].max())
    heights = laid.wall_mm[:, 0]
    high = float(heights.max() - heights.min())
    width, height = 2 * (2 * widest + MARGIN) + GAP, high + 4 * MARGIN
    mark = "p" + hashlib.sha256(f"{title}{facing_share}{bare}".encode() + seen.tobytes()).hexdigest()[:8]
    top = 2.6 * MARGIN
    bottom = top + high
    parts = []
    for place, (stage, words) in enumerate((("raw", "raw, as painted"), ("fired", "fired, by the tiles"))):
        middle = MARGIN + widest + place * (2 * widest + GAP)
        outline = _silhouette(laid.wall_mm, middle, bottom)
        colours = [raw_colour(tile) if stage == "raw" else hex_of(tile.fired.lab) for tile in found.tiles]
        parts.append(f'<path d="{outline}" fill="{bare if stage == "raw" else _unpainted(found, bare)}"/>')
        for zone, colour in enumerate(colours):
            path = path_of(seen == zone, _on_the_wall(laid, seen.shape, middle, bottom), within_mm=0.25)
            if path:
                parts.append(
                    f'<path d="{path}" fill="{colour}" fill-rule="evenodd" stroke="{colour}" stroke-width="0.15"/>'
                )
        parts.append(f'<path d="{outline}" fill="url(#{mark}-round)" stroke="#1a1a1a" stroke-width="0.25"/>')
        parts.append(
            f'<text x="{_n(middle)}" y="{_n(bottom + 7)}" font-size="{SMALL}" text-anchor="middle">Preview: {words}</text>'
        )
    missing = [tile.name for tile in found.tiles if tile.raw is None and tile.layers]
    note = f"Grey: raw colour not photographed ({', '.join(missing)}). " if missing else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="0 0 {_n(width)} {_n(height)}" role="img" aria-labelledby="{mark}-title {mark}-desc" fill="#1a1a1a" '
        f'font-family="system-ui, sans-serif"><title id="{mark}-title">{escape(title)}: preview</title>'
        f'<desc id="{mark}-desc">The piece from the side, raw on the left and fired on the right. {PREVIEW}</desc>'
        f'<defs><linearGradient id="{mark}-round"><stop offset="0" stop-color="#000" stop-opacity="0.38"/>'
        f'<stop offset="0.3" stop-color="#000" stop-opacity="0.05"/>'
        f'<stop offset="0.45" stop-color="#fff" stop-opacity="0.12"/>'
        f'<stop offset="0.7" stop-color="#000" stop-opacity="0.06"/><stop offset="1" stop-color="#000" stop-opacity="0.42"/>'
        f'</linearGradient></defs><rect width="100%" height="100%" fill="#ffffff"/>'
        f'<text x="{_n(MARGIN)}" y="{_n(MARGIN)}" font-size="{LETTER}" font-weight="700">{escape(title)}: preview</text>'
        f'<text x="{_n(MARGIN)}" y="{_n(MARGIN + 6)}" font-size="2.6">{escape(note + PREVIEW)}</text>{"".join(parts)}</svg>'
    )


def _unpainted(found: Zones, bare: str) -> str:
    """The fired colour of wall left bare, where a tile shows it."""
    return next((hex_of(tile.fired.lab) for tile in found.tiles if not tile.layers), bare)


def _seen(labels: Labels, laid: Laying, facing_share: float, left_bare: Sequence[LeftBare]) -> Labels:
    """The zones on the half of the wall that faces the eye, left to right; -1 where the artwork leaves it free."""
    angle = (np.arange(SEEN_COLUMNS) + 0.5) / SEEN_COLUMNS * 0.5 - 0.25
    around = (facing_share + angle) % 1.0
    # Each copy begins at its even share of the way round and takes up what one copy takes.
    within = (around * laid.repeats) % 1.0
    taken = laid.turn_share * laid.repeats
    column = np.floor(within / taken * labels.shape[1]).astype(int)
    found = labels[:, np.clip(column, 0, labels.shape[1] - 1)].copy()
    found[:, within >= taken] = -1
    found[bare_at(laid, left_bare, around[None, :], row_along_mm(laid, len(labels))[:, None])] = -1
    return found


def _on_the_wall(laid: Laying, shape: tuple[int, ...], middle: float, bottom: float) -> Callable[[Floats], Floats]:
    """From (x, y) on the grid of half degrees and rows to mm on the paper, as the wall is seen from the side."""
    rows = np.linspace(0.0, len(laid.radii_mm) - 1.0, len(laid.radii_mm))
    lowest = float(laid.wall_mm[:, 0].min())

    def place(points: Floats) -> Floats:
        row = points[:, 1] / shape[0] * len(laid.radii_mm) - 0.5
        angle = (points[:, 0] / shape[1] - 0.5) * np.pi
        x = middle + np.interp(row, rows, laid.radii_mm) * np.sin(angle)
        y = bottom - (np.interp(row, rows, laid.heights_mm) - lowest)
        return np.column_stack([x, y])

    return place


def _silhouette(wall_mm: Floats, middle: float, bottom: float) -> str:
    lowest = float(wall_mm[:, 0].min())
    right = [(middle + radius, bottom - (height - lowest)) for height, radius in wall_mm]
    left = [(2 * middle - x, y) for x, y in reversed(right)]
    return "M" + " ".join(f"{_n(x)},{_n(y)}" for x, y in (*right, *left)) + "Z"


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
