"""The calendar as a strip: a row for each pair of hands, each kiln, and what dries, over the days."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wareboard.plan.calendar import Calendar, Entry

LEFT, ROW, TOP, WIDTH = 150.0, 34.0, 44.0, 1000.0
DRYING = "drying"


def strip_svg(calendar: Calendar) -> str:
    """The strip as SVG text in the ink of the page around it; hands are solid, kilns hatched, drying an outline.

    The same days stand in words under it, so that nothing hangs on the drawing.
    """
    entries = calendar.entries
    first = min(entry.start for entry in entries).date()
    last = max([*(entry.end.date() for entry in entries), calendar.due])
    days = (last - first).days + 1
    wide = (WIDTH - LEFT) / days

    def place(moment: datetime) -> float:
        return LEFT + (moment - datetime.combine(first, datetime.min.time())) / timedelta(days=1) * wide

    rows = _rows(calendar)
    tall = TOP + ROW * len(rows) + 12
    head = (
        f'<svg class="gantt" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {tall:.0f}" role="img" '
        f'aria-labelledby="strip-title" font-family="inherit" font-size="15" fill="currentColor">'
        f'<title id="strip-title">Work from {first} to {last}, by hands, kilns and drying</title>'
        '<defs><pattern id="strip-fire" width="7" height="7" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path d="M0 0V7" stroke="currentColor" stroke-width="3.5"/></pattern></defs>'
    )
    parts = [head, *_days(first, days, wide, tall)]
    for number, (name, found) in enumerate(rows.items()):
        y = TOP + ROW * number
        parts.append(f'<text x="0" y="{y + 20:.0f}">{escape(name[:20])}</text>')
        parts.append(f'<path d="M0 {y + ROW - 3:.1f}H{WIDTH:.0f}" stroke="currentColor" stroke-opacity="0.2"/>')
        parts += [_bar(entry, place(entry.start), place(entry.end), y) for entry in found]
    due = LEFT + ((calendar.due - first).days + 1) * wide
    parts.append(f'<path d="M{due:.1f} {TOP - 12:.0f}V{tall:.0f}" stroke="currentColor" stroke-width="3"/>')
    parts.append(
        f'<text x="{min(due, WIDTH) - 5:.1f}" y="{TOP - 4:.0f}" text-anchor="end" font-weight="700">wanted</text>'
    )
    return "".join(parts) + "</svg>"


def _rows(calendar: Calendar) -> dict[str, list[Entry]]:
    rows: dict[str, list[Entry]] = {}
    for entry in calendar.entries:
        if entry.who:
            rows.setdefault(entry.who, []).append(entry)
    for entry in calendar.entries:
        if entry.place and (entry.kind == "waiting" or not entry.who):
            rows.setdefault(entry.place, []).append(entry)
    rows[DRYING] = [entry for entry in calendar.entries if entry.kind == "waiting" and not entry.place]
    return {name: found for name, found in rows.items() if found}


def _bar(entry: Entry, start: float, end: float, y: float) -> str:
    wide = max(end - start, 2.0)
    look = 'fill="currentColor"'
    if entry.kind == "waiting" and entry.place:
        look = 'fill="url(#strip-fire)" stroke="currentColor"'
    elif entry.kind == "waiting":
        look = 'fill="currentColor" fill-opacity="0.18"'
    place = f'x="{start:.1f}" y="{y + 5:.1f}" width="{wide:.1f}" height="20"'
    return f"<rect {place} {look}><title>{escape(entry.name)}</title></rect>"


def _days(first: date, days: int, wide: float, tall: float) -> list[str]:
    found = []
    for number in range(days):
        day = first + timedelta(days=number)
        x = LEFT + number * wide
        if day.weekday() == 0:
            found.append(f'<path d="M{x:.1f} {TOP - 12:.0f}V{tall:.0f}" stroke="currentColor" stroke-opacity="0.35"/>')
            if wide * 7 >= 56 or (day - first).days // 7 % 2 == 0:
                found.append(f'<text x="{x + 3:.1f}" y="18">{day.day} {day:%b}</text>')
        elif day.weekday() == 5:
            found.append(
                f'<rect x="{x:.1f}" y="{TOP - 12:.0f}" width="{2 * wide:.1f}" height="{tall:.0f}" fill-opacity="0.06"/>'
            )
    return found
