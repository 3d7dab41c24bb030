"""Temperature against hours: this firing, its schedule, and last time's firing, each its own kind of line; text in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

from wareboard.studio.kilns import degrees

if TYPE_CHECKING:
    from wareboard.kiln.segment import Schedule

Curve = Sequence[Sequence[float]]
ROW = {degrees.C: 200.0, degrees.F: 400.0}  # from one line of the grid to the next
WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 760.0, 430.0, 56.0, 744.0, 44.0, 370.0


@dataclass(frozen=True, slots=True)
class Line:
    """One curve of the plot: its words, its class, hours and °C."""

    words: str
    look: str
    points: Curve


def log_svg(
    channels: Sequence[Mapping[str, Any]],
    planned: Schedule | None,
    before: tuple[str, Curve] | None,
    ident: str = "log",
    title: str = "Temperature against hours",
    shown: str = degrees.C,
) -> str:
    """The plot as SVG text, 760 by 430 units, drawn in classes that the page colours; ink alone still tells them apart.

    Args:
        channels: of a log's summary.
        planned: the schedule, dashed.
        before: last time's name and curve, dotted.
        shown: the degrees of the axis and the words.
    """
    lines = _lines(channels, planned, before, shown)
    every = [point for line in lines for point in line.points]
    most_h, most_c = (_round_up(max(point[at] for point in every), to) for at, to in ((0, 2.0), (1, ROW[shown])))

    def place(point: Sequence[float]) -> tuple[float, float]:
        return LEFT + (RIGHT - LEFT) * point[0] / most_h, BOTTOM - (BOTTOM - TOP) * max(point[1], 0.0) / most_c

    drawn = [
        f'<polyline class="{line.look}" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in map(place, line.points))}"/>'
        for line in reversed(lines)
    ]
    first = channels[0]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="log-plot" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'aria-labelledby="{ident}-title {ident}-told" fill="none" stroke="currentColor" font-size="13">'
        f'<title id="{ident}-title">{escape(title)}</title>'
        f'<desc id="{ident}-told">{escape(_told(first, lines, shown))}</desc>'
    )
    return "".join(
        [head, *_grid(most_h, most_c, shown), *drawn, *_corners(first, place, shown), *_key(lines), "</svg>"]
    )


def _lines(
    channels: Sequence[Mapping[str, Any]], planned: Schedule | None, before: tuple[str, Curve] | None, shown: str
) -> list[Line]:
    from wareboard.kiln.segment import plot_points

    def turned(points: Curve) -> Curve:
        return points if shown == degrees.C else [[hours, degrees.number(temp, shown)] for hours, temp in points]

    found = [Line(each["name"], f"seen seen-{min(at, 2)}", turned(each["curve"])) for at, each in enumerate(channels)]
    if planned is not None:
        hours, temps = plot_points(planned)
        found.append(
            Line("planned", "planned", turned([[float(h), float(t)] for h, t in zip(hours, temps, strict=True)]))
        )
    if before is not None:
        found.append(Line(before[0], "before", turned(before[1])))
    return found


def _told(first: Mapping[str, Any], lines: Iterable[Line], shown: str) -> str:
    def stretch(each: Mapping[str, Any]) -> str:
        ends = f"{degrees.level(each['from_c'], shown)} to {degrees.level(each['to_c'], shown)}"
        return f"{each['kind']} {ends}, {each['start_h']:.1f} to {each['end_h']:.1f} h"

    named = ", ".join(line.words for line in lines)
    peak = f"peak {degrees.level(first['peak_c'], shown)} at {first['peak_at_h']:.1f} h"
    steps = "; ".join(stretch(each) for each in first.get("stretches", []))
    return f"Lines: {named}. {first['name']}: {peak}. {steps}"


def _round_up(number: float, to: float) -> float:
    return max(math.ceil(number / to), 1) * to


def text(x: float, y: float, words: str, anchor: str = "start", more: str = "") -> str:
    """Words in a drawing."""
    place = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"'
    return f'<text {place} fill="currentColor" stroke="none"{more}>{escape(words)}</text>'


def _grid(most_h: float, most_c: float, shown: str) -> list[str]:
    drawn = [f'<path d="M{LEFT:g} {TOP:g} V{BOTTOM:g} H{RIGHT:g}"/>']
    step_h = next(step for step in (1.0, 2.0, 6.0, 12.0, 24.0, 96.0, 1e6) if most_h / step <= 16.0)
    for count in range(int(most_h / step_h) + 1):
        x = LEFT + (RIGHT - LEFT) * count * step_h / most_h
        drawn += [f'<path d="M{x:.1f} {BOTTOM:g} v5"/>', text(x, BOTTOM + 21.0, f"{count * step_h:g}", "middle")]
    for count in range(int(most_c / ROW[shown]) + 1):
        y = BOTTOM - (BOTTOM - TOP) * count * ROW[shown] / most_c
        drawn += [
            f'<path class="hair" d="M{LEFT:g} {y:.1f} H{RIGHT:g}"/>',
            text(LEFT - 8.0, y + 4.5, f"{count * ROW[shown]:.0f}", "end"),
        ]
    return [
        *drawn,
        text((LEFT + RIGHT) / 2, BOTTOM + 44.0, "hours", "middle"),
        text(LEFT - 8.0, TOP - 14.0, f"°{shown}", "end"),
    ]


def _corners(first: Mapping[str, Any], place: Any, shown: str) -> list[str]:
    """A numbered mark at the end of each stretch that was recognised; the table beside has the same numbers."""
    drawn, last = [], (-99.0, -99.0)
    for number, each in enumerate(first.get("stretches", []), 1):
        x, y = place((each["end_h"], degrees.number(each["to_c"], shown)))
        drawn.append(f'<circle class="corner" cx="{x:.1f}" cy="{y:.1f}" r="3.2"/>')
        if math.dist((x, y), last) > 16.0:
            drawn.append(text(x - 5.0, y - 7.0, str(number), "end", ' font-weight="700"'))
            last = (x, y)
    return drawn


def _key(lines: Sequence[Line]) -> list[str]:
    drawn, x = [], LEFT + 4.0
    for line in lines:
        words = line.words if len(line.words) <= 26 else line.words[:25] + "…"
        drawn += [f'<path class="{line.look}" d="M{x:.1f} 17 h30"/>', text(x + 36.0, 21.5, words)]
        x += 52.0 + 7.2 * len(words)
    return drawn
