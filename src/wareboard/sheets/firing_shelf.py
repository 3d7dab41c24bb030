"""The shelves of one load as they are arranged, to scale, a page for each, with every piece's place in figures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from wareboard.sheets.firing_card import kiln_head
from wareboard.sheets.since_approval import Since, told
from wareboard.sheets.typesetting import PAGE_MM, Paper, printable, typeset

if TYPE_CHECKING:
    from wareboard.kiln.inside import KilnInside, Load, ShelfLayout

SCALES = (2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25)
AROUND_MM = 44.0
BESIDE_MM, OVER_MM = 112.0, 62.0  # what the table and the heads leave of a page turned on its side


def shelf_pdf(
    load: Load,
    forms: Sequence[str],
    kiln: str,
    name: str,
    under_tag: str,
    due: date,
    paper: Paper = "a4",
    named: Sequence[Sequence[str]] | None = None,
    inside: KilnInside | None = None,
    not_loaded: str = "",
    since: Since | None = None,
) -> bytes:
    """The map as PDF, tagged, at the largest usual scale that fits.

    Args:
        load: the shelves as they are arranged.
        forms: every form of the commission, so that a form has the same letter on every shelf.
        kiln, name, under_tag: what the sheet's head says.
        due: from which the time stamp comes.
        named: the pieces' names on each shelf; by default a letter and a number counted on each.
        inside: the kiln; given, the load is drawn from the side on a page of its own.
        not_loaded: the pieces that were left out.
        since: the approval, and what has changed since.
    """
    scale = scale_for(load, paper)
    data = kiln_head("Shelf map", kiln, under_tag, paper) | {
        "name": name,
        "shelves": [_shelf(layout, at, forms, scale, named[at] if named else None) for at, layout in enumerate(load)],
        "side": _side(load, inside, forms, name, paper) if inside else None,
        "not_loaded": not_loaded,
    }
    return typeset("firing_shelf", {**data, **told(since)}, due)


def scale_for(load: Load, paper: Paper) -> int:
    """The largest usual scale, one to so many, at which the largest shelf fits the page beside its table."""
    from wareboard.kiln.shelf_map import shelf_svg

    short, long = sorted(PAGE_MM[paper])
    sizes = [_size_mm(shelf_svg(layout, scale=1.0)) for layout in load]
    wide, tall = max(size[0] for size in sizes), max(size[1] for size in sizes)
    fits = (scale for scale in SCALES if wide / scale <= long - BESIDE_MM and tall / scale <= short - OVER_MM)
    return next(fits, SCALES[-1])


def _size_mm(svg: str) -> tuple[float, float]:
    wide, tall = (float(svg.split(f'{side}="', 1)[1].split("mm", 1)[0]) for side in ("width", "height"))
    return wide, tall


def _side(load: Load, inside: KilnInside, forms: Sequence[str], name: str, paper: Paper) -> dict[str, Any]:
    """The whole load from the front, at the largest usual scale that fits a page."""
    from wareboard.kiln.shelf_map import load_side_svg

    short, long = sorted(PAGE_MM[paper])
    wide, tall = _size_mm(load_side_svg(load, inside, forms=forms, scale=1.0))
    fits = (each for each in SCALES if wide / each <= long - AROUND_MM and tall / each <= short - OVER_MM)
    scale = next(fits, SCALES[-1])
    title = f"{name}, from the side"
    svg = load_side_svg(load, inside, title=title, forms=forms, scale=1.0 / scale, name="map-side")
    return {
        "svg": printable(svg, 1.0 / scale),
        "width": wide / scale,
        "title": title,
        "alt": f"{title}, one to {scale}",
        "scale": f"1 : {scale}",
    }


def _shelf(
    layout: ShelfLayout, at: int, forms: Sequence[str], scale: int, named: Sequence[str] | None = None
) -> dict[str, Any]:
    from wareboard.kiln.shelf_map import letters, shelf_svg

    lettered = letters((*forms, *layout.forms))
    counted = ", ".join(f"{count} × {form}" for form, count in layout.counts.items())
    title = f"Shelf {layout.level + 1}: {counted or 'empty'}"
    svg = shelf_svg(layout, title=title, forms=forms, scale=1.0 / scale, name=f"map-{at}")
    counts = dict.fromkeys(layout.forms, 0)
    rows, numbers = [], []
    for i, form in enumerate(layout.forms):
        counts[form] += 1
        x, y = (f"{float(each):.0f}" for each in layout.centres_mm[i])
        handle = f"{float(layout.handle_angles_deg[i]):.0f}°" if layout.handle_reach_mm[i] > 0.0 else "–"
        rows.append([named[i] if named else f"{lettered[form]}{counts[form]}", form, x, y, handle])
        numbers.append(_number(layout, i, named[i].lstrip(lettered[form]) if named else str(counts[form])))
    return {
        "title": title,
        "svg": printable(svg.replace("</svg>", "".join(numbers) + "</svg>"), 1.0 / scale),
        "width": _size_mm(svg)[0],
        "alt": f"{title}, from above, one to {scale}",
        "scale": f"1 : {scale}",
        "bar": f"{100.0 / scale:.1f} mm",
        "rows": rows,
    }


def _number(layout: ShelfLayout, i: int, number: str) -> str:
    """A piece's number under the letter of its form, so that its row in the table is found."""
    x, y = (float(each) for each in layout.centres_mm[i])
    under = -y + float(layout.diameters_mm[i]) * 0.36
    place = f'x="{x:.1f}" y="{under:.1f}" font-size="12" text-anchor="middle" font-family="sans-serif"'
    return f'<text {place} fill="currentColor" stroke="none">{number}</text>'
