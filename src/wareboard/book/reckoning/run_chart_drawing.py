"""A run chart as a drawing that prints in one ink: marks differ by shape, lines by dashes, and words say what they mean."""

from __future__ import annotations

import math
from collections.abc import Callable
from html import escape

from wareboard.book.reckoning.run_chart import Line, RunChart
from wareboard.book.reckoning.run_rules import STOP

WIDTH, LEFT, RIGHT = 760.0, 64.0, 624.0
HEAD, GAP, FOOT = 76.0, 46.0, 74.0
FIRST_HEIGHT, NEXT_HEIGHT = 220.0, 120.0
LABEL_GAP = 15.0
DASHES = {"middle": "", "limit": "9 5", "agreed": "2 4"}
STOP_MARK, LOOK_MARK, AGREED_MARK = "stop", "look", "agreed"


def run_chart_svg(chart: RunChart, ident: str = "run") -> str:
    """The chart as SVG text, 760 units wide, in the ink of the page around it (currentColor). Same chart, same text.

    Points that call for something carry a mark of their own shape: a diamond to stop, a ring to look, a cross where
    the agreed size is passed. Title and description say the same in words.

    Args:
        chart: any run chart.
        ident: prefix of the ids inside, so that two drawings can stand on one page.
    """
    heights = [FIRST_HEIGHT if number == 0 else NEXT_HEIGHT for number in range(len(chart.lines))]
    tall = HEAD + sum(heights) + GAP * (len(heights) - 1) + FOOT
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {tall:g}" role="img" '
        f'aria-labelledby="{ident}-title {ident}-told" fill="none" stroke="currentColor" '
        f'font-family="sans-serif" font-size="13">'
    )
    parts = [
        opening,
        f'<title id="{ident}-title">{escape(f"Run chart: {chart.name}. {chart.verdict}")}</title>',
        f'<desc id="{ident}-told">{escape(_told(chart))}</desc>',
        _text(LEFT, 20.0, f"{chart.name}{f', {chart.unit}' if chart.unit else ''}", size=16.0),
        _text(LEFT, 40.0, chart.verdict),
    ]
    top = HEAD
    for number, (line, height) in enumerate(zip(chart.lines, heights, strict=True)):
        agreed = chart.agreed if number == 0 and _shows_single_pieces(chart) else None
        parts += _panel(chart, line, top, height, agreed, last=number == len(heights) - 1)
        top += height + GAP
    parts += _legend(chart, tall - 14.0)
    parts.append("</svg>")
    return "\n".join(parts) + "\n"


def _shows_single_pieces(chart: RunChart) -> bool:
    # Means of groups scatter less than pieces: drawn against the pieces' tolerance they would look better than they are.
    return not chart.lines[0].title.endswith(": means")


def _told(chart: RunChart) -> str:
    main = chart.lines[0]
    limits = f"limits {_short(main.lower[-1])} to {_short(main.upper[-1])}"
    said = [f"{len(main.points)} points, middle {_short(main.centre)}, {limits}"]
    if chart.agreed is not None:
        said.append(f"agreed {chart.agreed[0]:g} to {chart.agreed[1]:g}")
    said += [f"{chart.labels[each.at]}: {each.words}, {each.asks}" for each in chart.signals]
    if not chart.signals:
        said.append("no point calls for anything")
    return "; ".join(said) + "."


def _short(value: float) -> str:
    """Four figures, never as a power of ten."""
    return (
        f"{value:.4g}"
        if 1e-3 <= abs(value) < 1e4 or value == 0.0
        else f"{value:,.0f}"
        if abs(value) >= 1.0
        else f"{value:.6f}"
    )


def _text(x: float, y: float, words: str, anchor: str = "start", size: float = 13.0) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}" fill="currentColor" '
        f'stroke="none">{escape(words)}</text>'
    )


def _panel(
    chart: RunChart, line: Line, top: float, height: float, agreed: tuple[float, float] | None, last: bool
) -> list[str]:
    shown = [each for each in line.points if math.isfinite(each)]
    ends = [*shown, line.centre, *line.lower, *line.upper, *(agreed or ())]
    low, high = min(ends), max(ends)
    room = 0.06 * (high - low) or 1.0
    low, high = low - room, high + room

    def at(place: int, value: float) -> tuple[float, float]:
        x = LEFT + (RIGHT - LEFT) * (place + 0.5) / len(line.points)
        return x, top + height * (high - value) / (high - low)

    drawn = [f'<path d="M{LEFT:g} {top:g} V{top + height:g} H{RIGHT:g}"/>']
    if len(chart.lines) > 1:
        drawn.append(_text(LEFT, top - 7.0, line.title, size=12.0))
    drawn += _scale(low, high, lambda value: at(0, value)[1])
    drawn += _level_lines(line, agreed, lambda value: at(0, value)[1])
    spots = [at(place, value) for place, value in enumerate(line.points) if math.isfinite(value)]
    drawn.append(f'<polyline points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in spots)}" stroke-width="1.5"/>')
    drawn += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="currentColor" stroke="none"/>' for x, y in spots]
    for place, kinds in sorted(_marks(line).items()):
        drawn += [_mark(kind, *at(place, line.points[place])) for kind in sorted(kinds)]
    if last:
        drawn += _names(chart, lambda place: at(place, line.centre)[0], top + height)
    return drawn


def _scale(low: float, high: float, place: Callable[[float], float]) -> list[str]:
    step = _round_step((high - low) / 4.0)
    drawn = []
    for count in range(math.ceil(low / step), math.floor(high / step) + 1):
        value = count * step
        y = place(value)
        drawn.append(f'<path d="M{LEFT:g} {y:.1f} h-5"/>')
        drawn.append(_text(LEFT - 9.0, y + 4.5, f"{value:.10g}", "end"))
    return drawn


def _round_step(rough: float) -> float:
    power = 10.0 ** math.floor(math.log10(rough))
    return next(power * each for each in (1.0, 2.0, 5.0, 10.0) if power * each >= rough * 0.999)


def _level_lines(line: Line, agreed: tuple[float, float] | None, place: Callable[[float], float]) -> list[str]:
    levels = [
        ("limit", line.upper[-1], "upper limit"),
        ("middle", line.centre, "middle" if line.centre > line.lower[-1] else "base"),
    ]
    if line.lower[-1] < line.centre:
        levels.append(("limit", line.lower[-1], "lower limit"))
    if agreed is not None:
        levels += [("agreed", agreed[1], "most agreed"), ("agreed", agreed[0], "least agreed")]
    levels.sort(key=lambda level: -level[1])
    drawn, free = [], -math.inf
    heights = [place(value) for _, value, _ in levels]
    for (kind, value, words), y in zip(levels, heights, strict=True):
        dash = f' stroke-dasharray="{DASHES[kind]}"' if DASHES[kind] else ""
        wide = "2" if kind == "agreed" else "1"
        drawn.append(f'<path d="M{LEFT:g} {y:.1f} H{RIGHT:g}" stroke-width="{wide}"{dash}/>')
        label = max(y + 4.5, free + LABEL_GAP)
        free = label
        drawn.append(_text(RIGHT + 8.0, label, f"{words} {_short(value)}", size=12.0))
    return drawn


def _marks(line: Line) -> dict[int, set[str]]:
    marks: dict[int, set[str]] = {}
    for signal in line.signals:
        kind = AGREED_MARK if signal.rule == "agreed" else STOP_MARK if signal.asks == STOP else LOOK_MARK
        marks.setdefault(signal.at, set()).add(kind)
    # A ring inside a diamond is a smudge on paper, and the stop is what counts there.
    return {at: kinds - {LOOK_MARK} if STOP_MARK in kinds else kinds for at, kinds in marks.items()}


def _mark(kind: str, x: float, y: float) -> str:
    if kind == STOP_MARK:
        return f'<path d="M{x:.1f} {y - 12.0:.1f} l12 12 l-12 12 l-12 -12 z" stroke-width="2"/>'
    if kind == LOOK_MARK:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6.5" stroke-width="1.5"/>'
    return f'<path d="M{x - 7.0:.1f} {y - 7.0:.1f} l14 14 m0 -14 l-14 14" stroke-width="2"/>'


def _names(chart: RunChart, place: Callable[[int], float], foot: float) -> list[str]:
    """Names under the points, every second or fifth where they would touch."""
    longest = max(len(name) for name in chart.labels)
    room = (RIGHT - LEFT) / len(chart.labels)
    every = next(count for count in (1, 2, 5, 10, 20, 50, 100, 10**9) if room * count >= 7.2 * longest + 6.0)
    return [
        _text(place(number), foot + 18.0, name, "middle", 12.0)
        for number, name in enumerate(chart.labels)
        if number % every == 0
    ]


def _legend(chart: RunChart, y: float) -> list[str]:
    present = {kind for line in chart.lines for kinds in _marks(line).values() for kind in kinds}
    words = {STOP_MARK: "stop and re-gauge", LOOK_MARK: "look", AGREED_MARK: "outside what was agreed"}
    drawn, x = [], LEFT + 10.0
    for kind, said in words.items():
        if kind in present:
            drawn += [_mark(kind, x, y - 4.5), _text(x + 18.0, y, said)]
            x += 44.0 + 7.2 * len(said)
    return drawn
