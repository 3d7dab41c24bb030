"""The painter's card: all zones, then for each coat its zones life-size, swatches raw beside fired, and what it takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from wareboard.paint.card_svg import (
    CAUTION,
    PREVIEW,
    RAW_ALIKE,
    layers_in_words,
    map_svg,
    part_in_words,
    raw_colour,
    swatch_svg,
)
from wareboard.paint.coats import Coat
from wareboard.paint.colour import hex_of
from wareboard.paint.preview_svg import preview_svg
from wareboard.paint.tiles import Tile
from wareboard.plan.painted import Painted
from wareboard.plan.result import Plan
from wareboard.sheets.data import head, sentence
from wareboard.sheets.typesetting import Paper
from wareboard.working import Estimate

ROOM_MM = (178.0, 205.0)  # what a map, or a part of one, may take up on a page of either paper
LAP_MM = 6.0  # by which two parts of a map overlap


def painter_sheet(plan: Plan, found: Painted, paper: Paper = "a4") -> dict[str, Any]:
    """What the painter's card says and draws."""
    coats = found.order.coats or found.found.coats
    everything = set(range(len(found.found.tiles)))
    return {
        **head(plan, f"Painter's card: {found.form}", paper),
        "said": [
            f"{len(everything)} zones, {len(coats)} coats on {found.pieces} pieces. Brush {found.found.brush_mm:g} mm.",
            f"Maps {found.drawn.words}, {_round(found)}.",
            *(sentence(note).rstrip(".") + "." for note in found.notes),
            *(f"Rule in the way: {each.rule}: {each.how}. {each.mend}." for each in found.order.broken),
            RAW_ALIKE,
            PREVIEW,
        ],
        "care": CAUTION,
        "zones": zone_rows(found),
        "map": _map(found, everything),
        "coats": [_coat(found, coat, place, len(coats)) for place, coat in enumerate(coats, start=1)],
        "job": [[each.glaze, _range(each.slip_ml, 0, "ml"), _range(each.dry_g, 0, "g")] for each in found.worked.job],
        "minutes": f"{_range(found.worked.minutes_piece, 0, 'min')} a piece, "
        f"{found.worked.minutes_job.value / 60:.1f} h in all",
        "preview": "" if found.inside else preview_svg(
            found.found, found.laid, found.form, facing_share=0.5, left_bare=found.bare
        ),
    }  # fmt: skip


def zone_rows(found: Painted) -> list[dict[str, Any]]:
    """Every zone: its number, hatch, swatches, tile, layers and area."""
    return [_row(place, tile, layers_in_words(tile), found) for place, tile in enumerate(found.found.tiles)]


def _round(found: Painted) -> str:
    times = found.laid.repeats
    return "once round the piece" if times == 1 else f"{times} times round the piece"


def _coat(found: Painted, coat: Coat, place: int, count: int) -> dict[str, Any]:
    amount = next(each for each in found.worked.coats if each.coat == coat)
    job = next(each for each in found.worked.job if each.glaze == coat.glaze)
    beneath = f" over {', '.join(coat.over)}" if coat.over else ""
    shown = [(at, tile) for at, tile in enumerate(found.found.tiles) if tile.name in coat.tiles]
    times = "once" if coat.times == 1 else f"{coat.times} times"
    return {
        "title": f"Coat {place} of {count}: {coat.glaze}",
        "figures": [
            ["brush", f"{found.found.brush_mm:g} mm"],
            ["brushed", f"{times}{beneath}"],
            ["area a piece", f"{amount.area_mm2 / 100:.0f} cm²"],
            ["dry glaze a piece", _range(amount.dry_g, 1, "g")],
            ["slip a piece", _range(amount.slip_ml, 1, "ml")],
            ["time a piece", _range(amount.minutes, 0, "min")],
            [f"for {found.pieces} pieces", f"{_range(job.dry_g, 0, 'g')} dry, {_range(job.slip_ml, 0, 'ml')} of slip"],
        ],
        "times": coat.times,
        "rows": [_row(at, tile, part_in_words(tile, coat), found) for at, tile in shown],
        "map": _map(found, {at for at, _ in shown}),
    }


def _row(place: int, tile: Tile, words: str, found: Painted) -> dict[str, Any]:
    area = float(found.worked.areas_mm2[place]) / 100
    raw = "raw" if tile.raw else "raw: not known" if tile.layers else "bisque"
    return {
        "number": place + 1,
        "hatch": swatch_svg(place, tile),
        "raw": raw_colour(tile),
        "raw_words": raw,
        "fired": hex_of(tile.fired.lab),
        "name": tile.name,
        "words": f"{words}; {area:.0f} cm²; fired colour varies by ΔE {tile.fired.spread:.1f}",
    }


def _map(found: Painted, shown: set[int]) -> dict[str, Any]:
    """A map, and the parts in which it goes on paper: x, y, width and height of each, mm."""
    svg, wide, high = map_svg(found.found, found.drawn, shown)
    parts = [
        [x, y, across, down]
        for y, down in _parts(high, ROOM_MM[1])
        for x, across in _parts(wide, ROOM_MM[0])
    ]  # fmt: skip
    return {"svg": svg, "wide": wide, "high": high, "parts": parts}


def _parts(length: float, room: float) -> Sequence[tuple[float, float]]:
    """Where each part begins and how long it is; they overlap."""
    if length <= room:
        return [(0.0, length)]
    count = math.ceil((length - LAP_MM) / (room - LAP_MM))
    part = (length - LAP_MM) / count
    return [(at * part, part + LAP_MM) for at in range(count)]


def _range(each: Estimate, digits: int, unit: str) -> str:
    return f"{each.value:.{digits}f} {unit} ({each.low:.{digits}f} to {each.high:.{digits}f})"
