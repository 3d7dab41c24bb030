"""A shelf to arrange: drawn to scale, each piece a group of its own that the page's script can take hold of.

What is wrong with a piece is told by a sign on it as well as by its line and colour: a cross where it cannot stand so, a
triangle where it is nearer than the rule.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from html import escape

from wareboard.kiln.inside import ShelfLayout
from wareboard.studio.kilns.pieces import Piece

AROUND_MM = 22.0
INK = 'fill="currentColor" stroke="none"'
DASHES = ("", "14 5", "3 5", "16 5 3 5", "8 4", "22 6 3 6 3 6")
SIGNS = (
    '<g class="sign sign-hard"><circle r="13"/><path d="M -6 -6 L 6 6 M -6 6 L 6 -6"/></g>'
    '<g class="sign sign-near"><path d="M 0 -14 L 14 11 L -14 11 Z"/><path d="M 0 -6 V 3 M 0 6 V 8"/></g>'
)


def editable_svg(
    layout: ShelfLayout, at: int, title: str, here: Sequence[Piece], forms: Sequence[str], faulty: Mapping[str, bool]
) -> str:
    """One shelf from above in mm, y turned so that the front is at the bottom; forms told apart by letter and by line.

    Args:
        at: the shelf's place in the load.
        title: the shelf's name.
        here: the pieces that stand on it.
        forms: every form of the load in order, for the kinds of line.
        faulty: keys of pieces with a fault, and whether it is a hard one.
    """
    edge = layout.shelf.floor().outline_mm()
    (left, low), (right, high) = edge.min(axis=0), edge.max(axis=0)
    box = (left - AROUND_MM, -high - AROUND_MM, right - left + 2 * AROUND_MM, high - low + 2 * AROUND_MM + 24.0)
    outline = " ".join(f"{x:.1f},{-y:.1f}" for x, y in edge)
    counts: dict[str, int] = {}
    for piece in here:
        counts[piece.words] = counts.get(piece.words, 0) + piece.count
    words = f"{title} from above: " + (", ".join(f"{count} {form}" for form, count in counts.items()) or "empty")
    kept = [
        _in_the_way(keep.what, keep.x_mm, -keep.y_mm, keep.radius_mm)
        for keep in (*layout.posts, *layout.cone_packs, *layout.thermocouple)
    ]
    pieces = [_piece(piece, forms, faulty.get(piece.key)) for piece in here]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="shelf-plot" data-shelf="{at}" role="img" '
        f'aria-label="{escape(words)}" viewBox="{" ".join(f"{each:.1f}" for each in box)}" '
        'fill="none" stroke="currentColor" stroke-width="2">'
    )
    front = f'<text x="0" y="{-low + 36.0:.1f}" text-anchor="middle" font-size="17" {INK}>front</text>'
    return f'{head}<polygon points="{outline}" stroke-width="3"/>{"".join(kept)}{"".join(pieces)}{front}</svg>'


def loose_svg(loose: Sequence[Piece], forms: Sequence[str]) -> str:
    """The pieces that are not loaded, kept out of sight until the script puts one on a shelf."""
    drawn = "".join(_piece(piece, forms, None) for piece in loose)
    return f'<svg class="loose-pieces" hidden aria-hidden="true" width="0" height="0">{drawn}</svg>'


def legend_svg(what: str) -> str:
    """The sign of a post, witness cones or the thermocouple as it stands on the drawings, for the words beside it."""
    return (
        '<svg class="legend-sign" viewBox="-16 -16 32 32" aria-hidden="true" focusable="false" fill="none" '
        f'stroke="currentColor" stroke-width="2">{_in_the_way(what, 0.0, 0.0, 13.0)}</svg>'
    )


def fault_sign(hard: bool) -> str:
    """The sign of a fault, for the words beside it."""
    return (
        '<svg class="legend-sign faulty" viewBox="-17 -17 34 34" aria-hidden="true" focusable="false" fill="none" '
        f'stroke="currentColor" stroke-width="3">{SIGNS.split("</g>")[0 if hard else 1]}</g></svg>'
    )


def _in_the_way(what: str, x: float, y: float, radius: float) -> str:
    """A post square and filled, witness cones three triangles in a ring, the thermocouple a bar in a ring."""
    title = f"<title>{escape(what)}</title>"
    if what == "post":
        side = radius * math.sqrt(2.0)
        drawn = (
            f'<rect class="in-the-way" x="{-side / 2:.1f}" y="{-side / 2:.1f}" width="{side:.1f}" height="{side:.1f}"/>'
        )
    elif what == "cone pack":
        foot, low, high = 0.22 * radius, 0.4 * radius, 0.5 * radius
        cones = "".join(
            f'<path d="M {at - foot:.1f} {low:.1f} L {at:.1f} {-high:.1f} L {at + foot:.1f} {low:.1f} Z"/>'
            for at in (-0.5 * radius, 0.0, 0.5 * radius)
        )
        drawn = f'<circle r="{radius:.1f}" stroke-dasharray="2 4"/>{cones}'
    else:
        reach = max(radius, 7.0)
        bar = f'<path d="M {-reach:.1f} 0 H {reach:.1f}" stroke-width="6"/>'
        drawn = f'<circle r="{reach:.1f}" stroke-dasharray="2 4"/>{bar}'
    return f'<g transform="translate({x:.1f} {y:.1f})">{title}{drawn}</g>'


def _piece(piece: Piece, forms: Sequence[str], hard: bool | None) -> str:
    radius = piece.diameter_mm / 2.0
    dash = DASHES[list(forms).index(piece.words) % len(DASHES)]
    state = "" if hard is None else " touching" if hard else " near"
    size = min(24.0, radius * 0.75)
    stacked = f" ×{piece.stacked}" if piece.stacked > 1 else ""
    line = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<g class="piece{state}" data-piece="{piece.key}" transform="translate({piece.x:.1f} {-piece.y:.1f})">'
        f"<title>{escape(piece.words)}</title>"
        f'<g transform="rotate({-piece.angle:.1f})" class="turned">{_handle(piece, radius)}</g>'
        f'<circle r="{radius:.1f}"{line} class="body"/>'
        f'<text y="{size * 0.35:.1f}" text-anchor="middle" font-size="{size:.1f}" {INK}>'
        f"{escape(piece.name)}{stacked}</text>"
        f'<g transform="translate({0.62 * radius:.1f} {-0.62 * radius:.1f})">{SIGNS}</g></g>'
    )


def _handle(piece: Piece, radius: float) -> str:
    reach, half = piece.reach_mm, piece.strap_mm / 2.0
    if reach <= 0.0:
        return ""
    root, tip = math.sqrt(max(0.0, radius**2 - half**2)), radius + reach - half
    return (
        f'<path d="M {root:.1f} {-half:.1f} L {tip:.1f} {-half:.1f} A {half:.1f} {half:.1f} 0 0 1 {tip:.1f} {half:.1f} '
        f'L {root:.1f} {half:.1f}"/>'
    )
