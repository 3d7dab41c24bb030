"""The painter's cards: one for each coat, with the map of its zones life-size, and one with all zones; SVG in mm.

Every zone has a number and a hatch besides its colour; the raw swatch stands beside the fired one. Colours are a preview and
say so. The same zones give the same bytes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.paint.amounts import Amounts
from wareboard.paint.coats import Coat
from wareboard.paint.colour import Floats, hex_of
from wareboard.paint.hatch import hatch
from wareboard.paint.layers import Zones
from wareboard.paint.outline import fewer, number_places, path_of
from wareboard.paint.tiles import Tile
from wareboard.working import Estimate

MARGIN, LETTER, SMALL, LINE = 10.0, 4.2, 3.0, 5.2
SWATCH_WIDE, SWATCH_HIGH, ROW = 26.0, 12.0, 15.0
LEAST_WIDTH, CHECK_MM = 190.0, 100.0
INK = "#1a1a1a"
UNKNOWN, BISQUE = "#c8c8c8", "#efe6d8"
PREVIEW = "Colours are a preview: paper and screen are not glaze, and fired colour varies from firing to firing."
CAUTION = "Glazes are not for the mouth: no brush pointed with the lips, no eating; wash hands."
RAW_ALIKE = "Raw colours look alike: go by the number, the hatch and the jar's label."


@dataclass(frozen=True, slots=True)
class Sheet:
    """One card: what to call its file, its heading, and the SVG."""

    name: str
    title: str
    svg: str


@dataclass(frozen=True, slots=True)
class Map:
    """The map of zones on the paper: its size, mm to a pixel, how it is called, and SVG that is drawn over it, in mm."""

    across_mm: float
    down_mm: float
    words: str
    over: str = ""


def cards(
    found: Zones, order: Sequence[Coat], worked: Amounts, title: str, drawn: Map | None = None, pieces: int = 1
) -> tuple[Sheet, ...]:
    """The card of all zones, then one for each coat in its order.

    Args:
        found: the zones.
        order: the coats as they are laid, from `order.order_of_coats`.
        worked: what each coat takes.
        title: name of the piece and the job.
        drawn: mm to a pixel of the map; square at the zones' own scale where left out.
        pieces: how many the job has, for the words.
    Raises:
        OutOfRange: if a coat is not among those worked out.
    """
    drawn = drawn or Map(found.scale_mm, found.scale_mm, "life-size")
    known = [each.coat for each in worked.coats]
    for coat in order:
        if coat not in known:
            raise OutOfRange(
                f"coat {coat.name}", "no amount was worked out for it", "Work the amounts out for all coats"
            )
    sheets = [_all_zones(found, title, drawn)]
    for place, coat in enumerate(order, start=1):
        sheets.append(_one_coat(found, coat, place, len(order), worked, title, drawn, pieces))
    return tuple(sheets)


def map_svg(found: Zones, drawn: Map, shown: set[int]) -> tuple[str, float, float]:
    """The map of zones alone, as SVG, and its width and height, mm; zones that are not ``shown`` are outlined only."""
    labels, step = fewer(found.labels)
    across, down = drawn.across_mm * step, drawn.down_mm * step
    wide, high = labels.shape[1] * across, labels.shape[0] * down
    mark = "m" + hashlib.sha256(f"{sorted(shown)}{drawn}".encode() + labels.tobytes()).hexdigest()[:8]
    patterns = "".join(hatch(place + 1, f"{mark}-{place + 1}", INK) for place in range(len(found.tiles)))
    body = "".join(_drawn_map(labels, across, down, 0.0, 0.0, shown, found, mark)) + drawn.over
    return _plain(f"<defs>{patterns}</defs>{body}", wide, high), wide, high


def swatch_svg(place: int, tile: Tile) -> str:
    """The hatch of a zone, by its place from 0, as an SVG of 16 by 12 mm."""
    patterns = f"<defs>{hatch(place + 1, 'h-' + str(place + 1), INK)}</defs>"
    return _plain(patterns + _box(0.1, 0.1, 15.8, _hatched(tile, place, "h"), SWATCH_HIGH - 0.2), 16.0, SWATCH_HIGH)


def layers_in_words(tile: Tile) -> str:
    """What is laid on, lowest first, or "left bare"."""
    return _layers(tile)


def part_in_words(tile: Tile, coat: Coat) -> str:
    """What a coat lies on in a tile's zone, or under."""
    return _part_in(tile, coat)


def _plain(body: str, wide: float, high: float) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(wide)}mm" height="{_n(high)}mm" '
        f'viewBox="0 0 {_n(wide)} {_n(high)}" font-family="sans-serif">{body}</svg>'
    )


def raw_colour(tile: Tile) -> str:
    """The raw colour as "#rrggbb"; where it was not photographed a grey, or for what is left bare the colour of bisque."""
    if tile.raw:
        return hex_of(tile.raw.lab)
    return UNKNOWN if tile.layers else BISQUE


def texture(found: Zones, stage: str = "fired") -> np.ndarray:
    """The artwork painted with the tiles, "raw" or "fired": 8-bit sRGB (h, w, 3), to be laid on a solid as a preview.

    Raises:
        OutOfRange: if the stage is neither raw nor fired.
    """
    if stage not in ("raw", "fired"):
        raise OutOfRange(f"stage {stage!r}", "a piece is shown raw or fired", "Write raw or fired")
    shown = [raw_colour(tile) if stage == "raw" else hex_of(tile.fired.lab) for tile in found.tiles]
    table = np.array([[int(each[k : k + 2], 16) for k in (1, 3, 5)] for each in shown], dtype=np.uint8)
    return table[found.labels]


def _all_zones(found: Zones, title: str, drawn: Map) -> Sheet:
    heading = f"{title}: all zones"
    rows = [(place, tile, _layers(tile)) for place, tile in enumerate(found.tiles)]
    words = [
        f"{len(found.tiles)} zones, {len(found.coats)} coats. Brush {found.brush_mm:g} mm. Map {drawn.words}.",
        *(note.capitalize() + "." for note in found.notes),
    ]
    shown = set(range(len(found.tiles)))
    return Sheet("zones", heading, _sheet(heading, words, rows, found, drawn, shown))


def _one_coat(
    found: Zones, coat: Coat, place: int, count: int, worked: Amounts, title: str, drawn: Map, pieces: int
) -> Sheet:
    amount = next(each for each in worked.coats if each.coat == coat)
    job = next(each for each in worked.job if each.glaze == coat.glaze)
    heading = f"{title}: coat {place} of {count}, {coat.glaze}"
    rows = [(number, tile, _part_in(tile, coat)) for number, tile in enumerate(found.tiles) if tile.name in coat.tiles]
    beneath = f", over {', '.join(coat.over)}" if coat.over else ""
    brushed = (
        f"Glaze {coat.glaze}, brushed {coat.times} times{beneath}. Brush {found.brush_mm:g} mm. Map {drawn.words}."
    )
    takes = (
        f"Area {amount.area_mm2 / 100:.0f} cm2 a piece; slip {_range(amount.slip_ml, 1)} ml, "
        f"{amount.dry_g.value:.1f} g dry; about {_range(amount.minutes, 0)} min."
    )
    mixed = f"mix {_range(job.slip_ml, 0)} ml of slip, {job.dry_g.value:.0f} g dry"
    whole = f"For {pieces} pieces, all coats of this glaze: {mixed}."
    words = [brushed, takes, whole]
    shown = {number for number, _, _ in rows}
    return Sheet(f"coat-{place}", heading, _sheet(heading, words, rows, found, drawn, shown, ticks=coat.times))


def _range(each: Estimate, digits: int) -> str:
    return f"{each.value:.{digits}f} ({each.low:.{digits}f} to {each.high:.{digits}f})"


def _layers(tile: Tile) -> str:
    laid = " then ".join(f"{layer.glaze} × {layer.times}" for layer in tile.layers)
    return laid or "left bare"


def _part_in(tile: Tile, coat: Coat) -> str:
    above = [layer.glaze for layer in tile.layers]
    place = above.index(coat.glaze)
    if place + 1 < len(above):
        return f"beneath {above[place + 1]}: not the last coat here"
    return f"over {above[place - 1]}" if place else "on the bare body"


def _sheet(
    heading: str,
    words: Sequence[str],
    rows: Sequence[tuple[int, Tile, str]],
    found: Zones,
    drawn: Map,
    shown: set[int],
    ticks: int = 0,
) -> str:
    labels, step = fewer(found.labels)
    across, down = drawn.across_mm * step, drawn.down_mm * step
    map_wide, map_high = labels.shape[1] * across, labels.shape[0] * down
    width = max(LEAST_WIDTH, map_wide + 2 * MARGIN)
    mark = "z" + hashlib.sha256(f"{heading}{words}{labels.shape}".encode() + labels.tobytes()).hexdigest()[:8]
    y = MARGIN + LETTER
    body = [_text(MARGIN, y, heading, LETTER, bold=True)]
    for line in (*(part for each in words for part in _wrapped(each, width)), RAW_ALIKE, PREVIEW, CAUTION):
        y += LINE
        body.append(_text(MARGIN, y, line, SMALL))
    y += LINE
    body += _legend(rows, y, mark, ticks)
    y += ROW * len(rows) + LINE
    body += _drawn_map(labels, across, down, MARGIN, y, shown, found, mark)
    body.append(f'<g transform="translate({_n(MARGIN)} {_n(y)})">{drawn.over}</g>' if drawn.over else "")
    y += map_high + LINE + 4
    body += _check_line(MARGIN, y, CHECK_MM)
    height = y + MARGIN
    patterns = "".join(hatch(place + 1, f"{mark}-{place + 1}") for place in range(len(found.tiles)))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="0 0 {_n(width)} {_n(height)}" role="img" aria-labelledby="{mark}-title {mark}-desc" '
        f'color="#1a1a1a" font-family="system-ui, sans-serif"><title id="{mark}-title">{escape(heading)}</title>'
        f'<desc id="{mark}-desc">{escape(" ".join(words))}</desc><defs>{patterns}</defs>'
        f'<rect width="100%" height="100%" fill="#ffffff"/>{"".join(body)}</svg>'
    )


def _legend(rows: Sequence[tuple[int, Tile, str]], top: float, mark: str, ticks: int) -> list[str]:
    parts = []
    for place, (number, tile, words) in enumerate(rows):
        y = top + place * ROW
        middle = y + SWATCH_HIGH / 2 + SMALL / 3
        raw, fired = raw_colour(tile), hex_of(tile.fired.lab)
        parts += [
            _text(MARGIN, middle, str(number + 1), LETTER, bold=True),
            _box(MARGIN + 8, y, 16, _hatched(tile, number, mark)),
            _box(MARGIN + 28, y, SWATCH_WIDE, raw),
            _text(MARGIN + 29, y + SWATCH_HIGH - 1, _raw_words(tile), 2.4, ink=_ink(raw)),
            _box(MARGIN + 28 + SWATCH_WIDE, y, SWATCH_WIDE, fired),
            _text(MARGIN + 29 + SWATCH_WIDE, y + SWATCH_HIGH - 1, "fired", 2.4, ink=_ink(fired)),
            _text(MARGIN + 32 + 2 * SWATCH_WIDE, middle - 2, tile.name, SMALL, bold=True),
            _text(
                MARGIN + 32 + 2 * SWATCH_WIDE,
                middle + 2.4,
                f"{words}; varies by {tile.fired.spread:.1f} CIEDE2000",
                2.6,
            ),
        ]
        left = LEAST_WIDTH - MARGIN - 8 * ticks
        parts += [_box(left + 8 * tick, y + 1, 6, "none", high=6) for tick in range(ticks)]
        if ticks:
            parts.append(_text(left, y + 10.5, "tick each coat", 2.4))
    return parts


def _hatched(tile: Tile, place: int, mark: str) -> str:
    """Each zone's own hatch; what is left bare has none, so that it does not look painted."""
    return f"url(#{mark}-{place + 1})" if tile.layers else "none"


def _raw_words(tile: Tile) -> str:
    if tile.raw:
        return "raw"
    return "raw: not known" if tile.layers else "bisque"


def _drawn_map(
    labels: np.ndarray, across: float, down: float, left: float, top: float, shown: set[int], found: Zones, mark: str
) -> list[str]:
    def place(pixels: Floats) -> Floats:
        mm: Floats = pixels * np.array([across, down]) + np.array([left, top])
        return mm

    paths = {zone: path_of(labels == zone, place) for zone in range(len(found.tiles))}
    parts = []
    for zone, path in paths.items():
        if zone in shown:
            tint, fill = hex_of(found.tiles[zone].fired.lab), _hatched(found.tiles[zone], zone, mark)
            parts += [
                f'<path d="{path}" fill="{tint}" fill-opacity="0.35" fill-rule="evenodd"/>',
                f'<path d="{path}" fill="{fill}" fill-rule="evenodd" stroke="#1a1a1a" stroke-width="0.3"/>',
            ]
        else:
            parts.append(f'<path d="{path}" fill="none" stroke="#9a9a9a" stroke-width="0.15"/>')
    for spot in number_places(labels, across, down):
        ink, size = ("#1a1a1a", 3.6) if spot.zone in shown else ("#8a8a8a", 2.4)
        size = min(size, 1.5 * spot.room_mm)
        parts.append(
            f'<text x="{_n(left + spot.x_mm)}" y="{_n(top + spot.y_mm + size * 0.35)}" font-size="{_n(size)}" '
            f'text-anchor="middle" fill="{ink}" stroke="#ffffff" stroke-width="{_n(size * 0.22)}" '
            f'paint-order="stroke" font-weight="{700 if spot.zone in shown else 400}">{spot.zone + 1}</text>'
        )
    return parts


def _check_line(left: float, y: float, length: float) -> list[str]:
    line = f"M{_n(left)},{_n(y - 1.5)}v3M{_n(left + length)},{_n(y - 1.5)}v3M{_n(left)},{_n(y)}h{_n(length)}"
    return [
        f'<path d="{line}" stroke="#1a1a1a" stroke-width="0.2" fill="none"/>',
        _text(left, y + 4.5, f"This line is {length:g} mm long: measure it before the map is used.", 2.6),
    ]


def _box(x: float, y: float, wide: float, fill: str, high: float = SWATCH_HIGH) -> str:
    return (
        f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(wide)}" height="{_n(high)}" fill="{fill}" '
        f'stroke="#1a1a1a" stroke-width="0.2"/>'
    )


def _text(x: float, y: float, words: str, size: float, *, bold: bool = False, ink: str = "currentColor") -> str:
    weight = ' font-weight="700"' if bold else ""
    return f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" fill="{ink}"{weight}>{escape(words)}</text>'


def _ink(behind: str) -> str:
    red, green, blue = (int(behind[k : k + 2], 16) for k in (1, 3, 5))
    return "#1a1a1a" if 0.3 * red + 0.59 * green + 0.11 * blue > 120 else "#ffffff"


def _wrapped(words: str, width: float) -> list[str]:
    """Lines that fit the sheet, at about half the letter's height to a letter."""
    import textwrap

    return textwrap.wrap(words, max(40, int((width - 2 * MARGIN) / (SMALL * 0.52)))) or [""]


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
