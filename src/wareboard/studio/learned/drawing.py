"""A learned figure drawn: what is usual, each record of the workshop's own, and what is held now, on one scale.

Drawn in the page's own ink; the three rows differ by their words and marks, not by colour.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from html import escape

from wareboard.book.learning.figures import Figure
from wareboard.studio.words import figure_in_unit

WIDTH, LEFT, RIGHT = 720.0, 150.0, 690.0
ROW, TOP, FOOT = 62.0, 34.0, 44.0
TICKS = 5
APART, ROOMS = 9.0, (0.0, -11.0, 11.0, -22.0, 22.0, -5.5, 5.5, -16.5, 16.5)


def figure_svg(figure: Figure) -> str:
    """The figure as SVG text, 720 units wide; the same figure gives the same text."""
    low, high = _ends(figure)

    def at(value: float) -> float:
        return LEFT + (RIGHT - LEFT) * (value - low) / (high - low)

    tall = TOP + 3 * ROW + FOOT
    told = _told(figure)
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {tall:g}" role="img" aria-labelledby="f-t f-d"'
        ' fill="none" stroke="currentColor" font-family="sans-serif" font-size="15">'
    )
    parts = [
        opening,
        f'<title id="f-t">{escape(figure.name)}</title><desc id="f-d">{escape(told)}</desc>',
        *_scale(figure, low, high, at, tall),
        *_range("usual", figure.prior.value, figure.prior.low, figure.prior.high, TOP + 0.5 * ROW, at, 1.5),
        *_records(figure, TOP + 1.5 * ROW, at),
    ]
    mean = figure.learned.mean
    parts += _range("held now", mean.value, mean.low, mean.high, TOP + 2.5 * ROW, at, 4.0)
    return "\n".join([*parts, "</svg>"]) + "\n"


def _ends(figure: Figure) -> tuple[float, float]:
    mean, before = figure.learned.mean, figure.prior
    values = [before.low, before.high, mean.low, mean.high, *(each.value for each in figure.seen)]
    low, high = min(values), max(values)
    room = 0.05 * (high - low) or 0.1 * abs(high) or 1.0
    return low - room, high + room


def _told(figure: Figure) -> str:
    mean = figure.learned.mean
    return (
        f"Usual {figure.prior.value:.3g}, {figure.prior.low:.3g} to {figure.prior.high:.3g}; "
        f"{figure.records_in_words} of your own; held now {mean.value:.3g}, {mean.low:.3g} to {mean.high:.3g}."
    )


def _text(x: float, y: float, words: str, anchor: str = "start") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="currentColor" stroke="none">{escape(words)}</text>'
    )


def _scale(figure: Figure, low: float, high: float, at: Callable[[float], float], tall: float) -> list[str]:
    step = _round_step((high - low) / TICKS)
    base = tall - FOOT + 6.0
    drawn = [f'<path d="M{LEFT:g} {base:g} H{RIGHT:g}"/>']
    for count in range(math.ceil(low / step), math.floor(high / step) + 1):
        x = at(count * step)
        drawn.append(f'<path d="M{x:.1f} {TOP:g} V{base:g}" stroke-width="0.5" opacity="0.35"/>')
        drawn.append(_text(x, base + 22.0, figure_in_unit(count * step, figure.unit, figure.key), "middle"))
    return drawn


def _round_step(rough: float) -> float:
    power = 10.0 ** math.floor(math.log10(rough))
    return next(power * each for each in (1.0, 2.0, 5.0, 10.0) if power * each >= rough * 0.999)


def _range(
    words: str, value: float, low: float, high: float, y: float, at: Callable[[float], float], wide: float
) -> list[str]:
    ends = f"M{at(low):.1f} {y - 9:.1f} v18 M{at(high):.1f} {y - 9:.1f} v18"
    return [
        _text(0.0, y + 5.0, words),
        f'<path d="M{at(low):.1f} {y:.1f} H{at(high):.1f} {ends}" stroke-width="{wide:g}"/>',
        f'<path d="M{at(value):.1f} {y - 13:.1f} l9 13 l-9 13 l-9 -13 z" fill="currentColor"/>',
    ]


def _records(figure: Figure, y: float, at: Callable[[float], float]) -> list[str]:
    """A dot for each record, smaller as it fades; those left out as a cross, those of earlier lots as a ring."""
    drawn = [_text(0.0, y + 5.0, "your records")]
    taken: dict[int, int] = {}
    for each in figure.seen:
        x = at(each.value)
        place = round(x / APART)
        # Records of one value stand over one another, up and down from the middle, until the row is full.
        number = taken[place] = taken.get(place, 0) + 1
        up = y + ROOMS[(number - 1) % len(ROOMS)]
        size = 2.5 + 3.5 * math.sqrt(each.weight)
        if not each.counts:
            drawn.append(f'<path d="M{x - 5:.1f} {up - 5:.1f} l10 10 m0 -10 l-10 10" stroke-width="1.5"/>')
        elif each.before_this_lot:
            drawn.append(f'<circle cx="{x:.1f}" cy="{up:.1f}" r="{size:.1f}" stroke-width="1.5"/>')
        else:
            drawn.append(f'<circle cx="{x:.1f}" cy="{up:.1f}" r="{size:.1f}" fill="currentColor" stroke="none"/>')
    if not figure.seen:
        drawn.append(_text(LEFT, y + 5.0, "none yet"))
    return drawn
