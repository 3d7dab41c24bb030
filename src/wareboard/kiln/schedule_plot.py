"""A schedule as a CSV for a controller or a door card, and as a drawing that prints in one ink."""

from __future__ import annotations

import csv
import io
import math
from html import escape

from wareboard.kiln.figures import firing_figure
from wareboard.kiln.segment import Schedule, plot_points

WIDTH, HEIGHT = 720.0, 400.0
LEFT, RIGHT, TOP, BOTTOM = 76.0, 700.0, 40.0, 340.0
LEAST_LABEL_GAP, LOW_RAMP = 58.0, 50.0
A_LETTER = 13.0  # as wide as one is on the smallest card, where letters are kept large enough to read


def schedule_csv(schedule: Schedule) -> str:
    """The schedule as CSV text, one line a segment: number, rate in °C/h, target in °C, hold in min, end in h, why."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(["segment", "rate_c_per_h", "target_c", "hold_min", "ends_after_h", "why"])
    hours, before_c = 0.0, schedule.start_c
    for number, each in enumerate(schedule.segments, 1):
        hours += abs(each.target_c - before_c) / each.rate_c_per_h + each.hold_min / 60.0
        before_c = each.target_c
        line = [number, f"{each.rate_c_per_h:g}", f"{each.target_c:g}", f"{each.hold_min:g}", f"{hours:.2f}", each.why]
        write.writerow(line)
    return out.getvalue()


def schedule_svg(schedule: Schedule, ident: str = "schedule", *, fahrenheit: bool = False) -> str:
    """The firing curve as SVG text, 720 by 400 units, in the ink of the page around it (currentColor).

    The bands where ware is in danger are hatched, each its own way and labelled, so that they do not hang on colour.

    Args:
        schedule: any schedule.
        ident: prefix of the ids inside, so that two drawings can stand on one page.
        fahrenheit: whether scale and labels are in °F; the curve is the same.
    """
    hours, temps = plot_points(schedule)
    most_h, most_c = _round_up(float(hours[-1]), 2.0), _round_up(float(temps.max()), 200.0)

    def place(hour: float, temp: float) -> tuple[float, float]:
        return LEFT + (RIGHT - LEFT) * hour / most_h, BOTTOM - (BOTTOM - TOP) * max(temp, 0.0) / most_c

    spots = [place(float(h), float(t)) for h, t in zip(hours, temps, strict=True)]
    line = " ".join(f"{x:.1f},{y:.1f}" for x, y in spots)
    words = f"{schedule.name}: peak {_level(schedule.peak_c, fahrenheit)}, {schedule.duration_h:.1f} h"
    told = "; ".join(
        f"{_rate(s.rate_c_per_h, fahrenheit)} to {_level(s.target_c, fahrenheit)}, hold {s.hold_min:g} min"
        for s in schedule.segments
    )
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'aria-labelledby="{ident}-title {ident}-told" fill="none" stroke="currentColor" '
        f'font-family="sans-serif" font-size="13">'
    )
    parts = [
        head,
        f'<title id="{ident}-title">{escape(words)}</title><desc id="{ident}-told">{escape(told)}</desc>',
        _hatches(ident),
        *_bands(schedule, most_c, ident, fahrenheit),
        *_axes(most_h, most_c, fahrenheit),
        f'<polyline points="{line}" stroke-width="2.5" stroke-linejoin="round"/>',
        *_labels(schedule, spots, fahrenheit),
        _text((LEFT + RIGHT) / 2.0, 20.0, words, "middle", 15.0),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _ticks(most_c: float, fahrenheit: bool) -> list[tuple[str, float]]:
    """What stands at each mark of the scale, and where, °C."""
    if fahrenheit:
        last_f = most_c * 9.0 / 5.0 + 32.0
        return [(str(f), (f - 32.0) * 5.0 / 9.0) for f in range(200, int(last_f) + 1, 200 if last_f < 1400 else 400)]
    return [(str(c), float(c)) for c in range(0, int(most_c) + 1, 200)]


def _level(temp_c: float, fahrenheit: bool) -> str:
    return f"{temp_c * 9.0 / 5.0 + 32.0:.0f} °F" if fahrenheit else f"{temp_c:g} °C"


def _rate(c_per_h: float, fahrenheit: bool) -> str:
    return f"{c_per_h * 9.0 / 5.0:.0f} °F/h" if fahrenheit else f"{c_per_h:g} °C/h"


def _round_up(number: float, to: float) -> float:
    return max(math.ceil(number / to), 1) * to


def _text(x: float, y: float, words: str, anchor: str = "start", size: float = 13.0) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}" fill="currentColor" '
        f'stroke="none">{escape(words)}</text>'
    )


def _hatches(ident: str) -> str:
    """Three hatches that stay apart in print: leaning right, leaning left, dots."""
    kinds = {
        "quartz": '<path d="M0 8 L8 0" stroke-width="1.2"/>',
        "cristobalite": '<path d="M0 0 L8 8" stroke-width="1.2"/>',
        "burn-out": '<circle cx="4" cy="4" r="0.8" fill="currentColor" stroke="none"/>',
    }
    drawn = "".join(
        f'<pattern id="{ident}-{name}" width="8" height="8" patternUnits="userSpaceOnUse">{mark}</pattern>'
        for name, mark in kinds.items()
    )
    return f"<defs>{drawn}</defs>"


def _bands(schedule: Schedule, most_c: float, ident: str, fahrenheit: bool) -> list[str]:
    """The bands of temperature in which ware is in danger; burnt-out ware that is glazed has one fewer."""
    quartz, crist = firing_figure("quartz_c").value, firing_figure("cristobalite_c")
    bands = (
        ("burn-out", firing_figure("burn_out_low").value, firing_figure("burn_out_high").value, "burn-out"),
        ("quartz", quartz - 23.0, quartz + 27.0, f"quartz {_level(quartz, fahrenheit)}"),
        ("cristobalite", crist.low, crist.high, f"cristobalite {_level(crist.value, fahrenheit)}"),
    )
    drawn = []
    for name, low, high, words in bands[schedule.kind == "glaze" :]:
        top, foot = (BOTTOM - (BOTTOM - TOP) * min(c, most_c) / most_c for c in (high, low))
        drawn.append(
            f'<rect x="{LEFT:g}" y="{top:.1f}" width="{RIGHT - LEFT:g}" height="{foot - top:.1f}" '
            f'fill="url(#{ident}-{name})" stroke="none" opacity="0.45"/>'
        )
        # The names stand at the left, where the curve is still low; the lowest band's at the right if no fall reaches it.
        right = name == "cristobalite" and schedule.end_c > high + 30.0
        drawn.append(_text(RIGHT - 4.0 if right else LEFT + 6.0, top - 4.0, words, "end" if right else "start", 11.0))
    return drawn


def _axes(most_h: float, most_c: float, fahrenheit: bool) -> list[str]:
    drawn = [f'<path d="M{LEFT:g} {TOP:g} V{BOTTOM:g} H{RIGHT:g}" stroke-width="1"/>']
    step_h = 1.0 if most_h <= 16.0 else 2.0 if most_h <= 32.0 else 6.0
    for count in range(int(most_h / step_h) + 1):
        x = LEFT + (RIGHT - LEFT) * count * step_h / most_h
        drawn.append(f'<path d="M{x:.1f} {BOTTOM:g} v5"/>')
        drawn.append(_text(x, BOTTOM + 20.0, f"{count * step_h:g}", "middle"))
    for shown, temp_c in _ticks(most_c, fahrenheit):
        y = BOTTOM - (BOTTOM - TOP) * temp_c / most_c
        drawn.append(f'<path d="M{LEFT:g} {y:.1f} h-5"/>')
        drawn.append(_text(LEFT - 9.0, y + 4.5, shown, "end"))
    drawn.append(_text((LEFT + RIGHT) / 2.0, BOTTOM + 50.0, "hours from switching on", "middle"))
    drawn.append(_text(LEFT - 9.0, TOP - 16.0, "°F" if fahrenheit else "°C", "end"))
    return drawn


def _labels(schedule: Schedule, spots: list[tuple[float, float]], fahrenheit: bool) -> list[str]:
    """Rate beside each ramp and hold above each hold; a label that would fall on the one before is left to the table."""
    drawn, at, before = [], 0, (-999.0, -999.0)
    for segment in schedule.segments:
        (x0, y0), (x1, y1) = spots[at], spots[at + 1]
        at += 1
        middle = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
        if math.dist(middle, before) > LEAST_LABEL_GAP / 2.0:
            drawn.append(_rate_label(_rate(segment.rate_c_per_h, fahrenheit), middle, (x1, y1), falling=y1 > y0))
            before = middle
        if segment.hold_min > 0.0:
            told, middle_x = _span(segment.hold_min), 0.5 * (x1 + spots[at + 1][0])
            if at == 1 and y1 > BOTTOM - LOW_RAMP:  # beside the rate, which stands over the first ramp
                rate = _rate(segment.rate_c_per_h, fahrenheit)
                middle_x = max(middle_x, LEFT + 12.0 + A_LETTER * (len(rate) + 0.5 * len(told)))
            drawn.append(_text(middle_x, y1 - 11.0, told, "middle", 12.0))
            at += 1
    return drawn


def _rate_label(words: str, middle: tuple[float, float], end: tuple[float, float], falling: bool) -> str:
    """A rate above its ramp; over the whole of a low first ramp, or below it where the page would end first."""
    width, (x, y) = 6.4 * len(words), middle
    if falling:
        return (
            _text(x + 8.0, y, words, size=12.0) if x + 8.0 + width < RIGHT else _text(x, y + 18.0, words, "end", 12.0)
        )
    if x - 8.0 - width > LEFT:
        return _text(x - 8.0, y, words, "end", 12.0)
    if end[1] > BOTTOM - LOW_RAMP:
        return _text(LEFT + 6.0, end[1] - 11.0, words, size=12.0)
    return _text(x + 12.0, min(y + 18.0, BOTTOM - 6.0), words, size=12.0)


def _span(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes < 90.0 else f"{minutes / 60.0:.1f} h"
