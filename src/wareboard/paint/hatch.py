"""Hatches that tell zones apart without colour: raw glazes look alike, and a sheet may be printed black."""

from __future__ import annotations

# Strokes of one field of each hatch, as path data, in a field of 3 mm; the field is turned by the angle.
LINES, CROSS, DASHES, TWO = "M0,1.5H3", "M0,1.5H3M1.5,0V3", "M0,.75H1.6M1.5,2.25H3.1", "M0,1H3M0,1.7H3"
DOTS, RINGS, TICKS, WAVES = (
    "M1.5,1.5h.01",
    "M1,1.5a.5,.5 0 1 0 1,0a.5,.5 0 1 0 -1,0",
    "M.8,.8l1.4,1.4",
    "M0,1.5q.75,-1.5 1.5,0t1.5,0",
)
HATCHES = (
    (LINES, 45), (LINES, 135), (DOTS, 0), (LINES, 0), (CROSS, 0), (LINES, 90), (DASHES, 0), (RINGS, 0),
    (CROSS, 45), (TWO, 45), (WAVES, 0), (DASHES, 90), (TICKS, 0), (TWO, 0), (WAVES, 90), (TWO, 90),
)  # fmt: skip
WIDER = 1.7


def hatch(number: int, name: str, stroke: str = "currentColor") -> str:
    """An SVG pattern called ``name`` for zone ``number``, from 1 up; 32 numbers have hatches of their own."""
    place = number - 1
    strokes, angle = HATCHES[place % len(HATCHES)]
    size = 1.0 if (place // len(HATCHES)) % 2 == 0 else WIDER
    weight = 0.7 if strokes == DOTS else 0.22
    return (
        f'<pattern id="{name}" width="3" height="3" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({angle}) scale({size:g})"><path d="{strokes}" fill="none" stroke="{stroke}" '
        f'stroke-width="{weight}" stroke-linecap="round"/></pattern>'
    )
