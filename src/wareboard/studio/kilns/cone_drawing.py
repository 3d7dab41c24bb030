"""A witness cone drawn as it leans, its tip at a place on a clock face: what a potter taps to match what is seen."""

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
    """The path of a cone whose tip points to a place on a clock face: its middle line bends evenly, more towards the tip."""
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


def symbols() -> str:
    """Every drawn cone as an SVG symbol, to be used by its name "cone-12" to "cone-6", and "cone-none"."""
    slab = f'<path d="M3 {FOOT_Y + 3:g} H45" stroke-width="3"/>'
    drawn = "".join(
        f'<symbol id="cone-{clock}" viewBox="0 0 48 48">{slab}'
        f'<path d="{outline(clock)}" fill="currentColor" fill-opacity=".22" stroke-linejoin="round"/></symbol>'
        for clock in CLOCKS
    )
    none = f'<symbol id="cone-none" viewBox="0 0 48 48">{slab}<path d="{outline(12)}" stroke-dasharray="3 3"/></symbol>'
    return f'<svg width="0" height="0" aria-hidden="true" class="only-heard"><defs>{drawn}{none}</defs></svg>'


def nearest_clock(lean_deg: float) -> int:
    """The drawn cone that is nearest to a lean in degrees, for showing it again."""
    hour = round((lean_deg - UPRIGHT) / (90.0 - UPRIGHT) * 6.0)
    return 12 if hour <= 0 else min(hour, 6)
