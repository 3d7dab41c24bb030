"""A witness cone drawn as it leans, its tip at a place on a clock face: to tap on a page, or to compare with on a sheet."""

from __future__ import annotations

import math

CLOCKS = (12, 1, 2, 3, 4, 5, 6)
WORDS = {
    12: "upright",
    1: "hardly moved",
    2: "a little over",
    3: "tip level with the bend",
    4: "well over",
    5: "nearly down",
    6: "down: tip level with its base",
}
BOX, FOOT_X, FOOT_Y, LONG, STEPS = 48.0, 13.0, 42.0, 34.0, 14
WIDE, THIN = 4.6, 0.9  # half widths at foot and tip
UPRIGHT = 8.0


def outline(clock: float) -> str:
    """The path of a cone whose tip points to a place on a clock face: its middle line bends evenly from foot to tip."""
    end = max(UPRIGHT, 30.0 * (clock % 12.0))
    x, y, left, right = FOOT_X, FOOT_Y, [], []
    for step in range(STEPS + 1):
        share = step / STEPS
        turn = math.radians(UPRIGHT + (end - UPRIGHT) * share)
        half = WIDE + (THIN - WIDE) * share
        left.append((x - half * math.cos(turn), y - half * math.sin(turn)))
        right.append((x + half * math.cos(turn), y + half * math.sin(turn)))
        x, y = x + LONG / STEPS * math.sin(turn), y - LONG / STEPS * math.cos(turn)
    return "M" + " L".join(f"{a:.1f} {b:.1f}" for a, b in [*left, *reversed(right)]) + " Z"


def slab() -> str:
    """The line that a cone stands on."""
    return f'<path d="M3 {FOOT_Y + 3:g} H45" stroke-width="3"/>'


def strip_svg() -> str:
    """All drawn cones side by side with their clock places, as SVG text, 48 by 62 units each."""
    drawn = "".join(
        f'<g transform="translate({at * BOX:g} 0)">{slab()}'
        f'<path d="{outline(clock)}" fill="currentColor" fill-opacity=".22" stroke-linejoin="round"/>'
        f'<text x="24" y="60" font-size="12" text-anchor="middle" font-family="sans-serif" fill="currentColor" '
        f'stroke="none">{clock}</text></g>'
        for at, clock in enumerate(CLOCKS)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {BOX * len(CLOCKS):g} 64" fill="none" '
        f'stroke="currentColor" stroke-width="1.6">{drawn}</svg>'
    )
