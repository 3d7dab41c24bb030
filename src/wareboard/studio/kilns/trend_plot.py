"""A figure over the last ten firings: a dot for each, its range as a bar, and the numbers in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from wareboard.book.firings.reckoning import Fired
from wareboard.studio.kilns import degrees
from wareboard.studio.kilns.log_plot import text
from wareboard.working import MINUS

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 360.0, 190.0, 46.0, 346.0, 22.0, 150.0


@dataclass(frozen=True, slots=True)
class Dot:
    """One firing's figure, with its 90 % range where it has one."""

    number: int
    value: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart: its name, its unit, its dots, and the drawing."""

    name: str
    unit: str
    dots: Sequence[Dot]
    svg: str
    zero: bool = True


def charts(fired: Sequence[Fired], shown: str = degrees.C) -> list[Chart]:
    """Unevenness, distance from the target, hours over the last 100 °C, and energy, where there is something to show."""
    reviews = [(each.number, each.review) for each in fired if each.review]
    hours = [Dot(each.number, each.last_100_h) for each in fired if each.last_100_h]
    energy = [Dot(each.number, each.firing.energy_kwh) for each in fired if each.firing.energy_kwh]
    unit, by = f"°{shown}", 1.8 if shown == degrees.F else 1.0
    spans = [Dot(n, by * r.uneven_c, by * r.uneven_c_low, by * r.uneven_c_high) for n, r in reviews]
    found = (
        ("Hottest less coldest level", unit, spans),
        ("All levels against the target", unit, [Dot(n, by * r.off_c) for n, r in reviews]),
        (f"Hours over the last {degrees.span(100.0, shown)}", "h", hours),
        ("Energy of a firing", "kWh", energy),
    )
    return [
        Chart(name, unit, dots, trend_svg(name, unit, dots, f"trend-{at}"))
        for at, (name, unit, dots) in enumerate(found)
        if dots
    ]


def trend_svg(name: str, unit: str, dots: Sequence[Dot], ident: str) -> str:
    """The chart as SVG text, 360 by 190 units; nought is always on it."""
    ends = [end for dot in dots for end in (dot.value, dot.low, dot.high) if end is not None]
    low, high = min(0.0, *ends), max(0.0, *ends)
    step = _step(high - low)
    low, high = step * (low // step), step * -(-high // step)
    high = high if high > low else low + step

    def up(value: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (value - low) / (high - low)

    pitch = (RIGHT - LEFT) / max(len(dots), 4)
    places = [(LEFT + pitch * (at + 0.5), dot) for at, dot in enumerate(dots)]
    told = "; ".join(f"firing {dot.number}: {dot.value:.3g} {unit}" for dot in dots)
    bars = [
        f'<path class="hair" d="M{x:.1f} {up(dot.low):.1f} V{up(dot.high):.1f}" stroke-width="3"/>'
        for x, dot in places
        if dot.low is not None and dot.high is not None
    ]
    line = " ".join(f"{x:.1f},{up(dot.value):.1f}" for x, dot in places)
    marks = [f'<circle class="dot" cx="{x:.1f}" cy="{up(dot.value):.1f}" r="4.500"/>' for x, dot in places]
    rows = [low + step * at for at in range(round((high - low) / step) + 1)]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="trend-plot" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'aria-labelledby="{ident}-title {ident}-told" fill="none" stroke="currentColor" font-size="13">'
        f'<title id="{ident}-title">{escape(name)}</title><desc id="{ident}-told">{escape(told)}</desc>'
    )
    return "".join(
        [
            head,
            *(f'<path class="hair" d="M{LEFT:g} {up(row):.1f} H{RIGHT:g}"/>' for row in rows),
            *(text(LEFT - 7.0, up(row) + 4.5, f"{row:g}".replace("-", MINUS), "end") for row in rows),
            f'<path d="M{LEFT:g} {up(0.0):.1f} H{RIGHT:g}"/>',
            *bars,
            f'<polyline points="{line}" stroke-width="1.500"/>',
            *marks,
            *(text(x, BOTTOM + 20.0, str(dot.number), "middle") for x, dot in places),
            text((LEFT + RIGHT) / 2.0, BOTTOM + 38.0, "firing", "middle"),
            text(LEFT - 7.0, 12.0, unit, "end"),
            "</svg>",
        ]
    )


def _step(span: float) -> float:
    """A step of 1, 2 or 5 times a power of ten that makes at most five rows."""
    step = 1e-3
    for factor in (2.0, 2.5, 2.0) * 12:
        if span / step <= 5.0:
            break
        step *= factor
    return step
