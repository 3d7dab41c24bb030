"""A shelf to arrange: drawn to scale, each piece a group of its own that the page's script can take hold of."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from wareboard.kiln.inside import ShelfLayout
from wareboard.studio.kilns.arrangement import Place, names

AROUND_MM = 16.0
INK = 'fill="currentColor" stroke="none"'
DASHES = ("", "14 5", "3 5", "16 5 3 5", "8 4", "22 6 3 6 3 6")


def editable_svg(
    layout: ShelfLayout, at: int, to: Sequence[Place], lettered: dict[str, str], faulty: dict[int, bool]
) -> str:
    """One shelf from above in mm, y turned so that the front is at the bottom; forms told apart by letter and by line.

    Args:
        at: the shelf's place in the load.
        to: where the pieces stand.
        faulty: pieces with a fault, and whether it is a hard one.
    """
    edge = layout.shelf.floor().outline_mm()
    (left, low), (right, high) = edge.min(axis=0), edge.max(axis=0)
    box = (left - AROUND_MM, -high - AROUND_MM, right - left + 2 * AROUND_MM, high - low + 2 * AROUND_MM + 24.0)
    outline = " ".join(f"{x:.1f},{-y:.1f}" for x, y in edge)
    words = f"Shelf {at + 1} from above: " + ", ".join(f"{count} {form}" for form, count in layout.counts.items())
    kept = [
        f'<circle class="in-the-way" cx="{keep.x_mm:.1f}" cy="{-keep.y_mm:.1f}" r="{max(keep.radius_mm, 6.0):.1f}">'
        f"<title>{escape(keep.what)}</title></circle>"
        for keep in (*layout.posts, *layout.cone_packs, *layout.thermocouple)
    ]
    pieces = [
        _piece(layout, i, place, name, lettered, faulty.get(i))
        for i, (place, name) in enumerate(zip(to, names(layout, lettered), strict=True))
    ]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="shelf-plot" data-shelf="{at}" role="img" '
        f'aria-label="{escape(words)}" viewBox="{" ".join(f"{each:.1f}" for each in box)}" '
        'fill="none" stroke="currentColor" stroke-width="2">'
    )
    front = f'<text x="0" y="{-low + 32.0:.1f}" text-anchor="middle" font-size="17" {INK}>front</text>'
    return f'{head}<polygon points="{outline}" stroke-width="3"/>{"".join(kept)}{"".join(pieces)}{front}</svg>'


def _piece(layout: ShelfLayout, i: int, place: Place, name: str, lettered: dict[str, str], hard: bool | None) -> str:
    x, y, angle = place
    radius = float(layout.diameters_mm[i]) / 2.0
    form = layout.forms[i]
    dash = DASHES[list(lettered).index(form) % len(DASHES)]
    state = "" if hard is None else " touching" if hard else " near"
    size = min(24.0, radius * 0.75)
    stacked = f" ×{int(layout.stacked[i])}" if layout.stacked[i] > 1 else ""
    return (
        f'<g class="piece{state}" data-piece="{i}" transform="translate({x:.1f} {-y:.1f})"><title>{escape(form)}</title>'
        f'<g transform="rotate({-angle:.1f})" class="turned">{_handle(layout, i, radius)}</g>'
        f'<circle r="{radius:.1f}"{f" stroke-dasharray={chr(34)}{dash}{chr(34)}" if dash else ""}/>'
        f'<text y="{size * 0.35:.1f}" text-anchor="middle" font-size="{size:.1f}" {INK}>'
        f"{escape(name)}{stacked}</text></g>"
    )


def _handle(layout: ShelfLayout, i: int, radius: float) -> str:
    reach, half = float(layout.handle_reach_mm[i]), float(layout.handle_width_mm[i]) / 2.0
    if reach <= 0.0:
        return ""
    root, tip = math.sqrt(max(0.0, radius**2 - half**2)), radius + reach - half
    return (
        f'<path d="M {root:.1f} {-half:.1f} L {tip:.1f} {-half:.1f} A {half:.1f} {half:.1f} 0 0 1 {tip:.1f} {half:.1f} '
        f'L {root:.1f} {half:.1f}"/>'
    )
