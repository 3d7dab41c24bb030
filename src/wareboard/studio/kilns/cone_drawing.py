"""The drawn cones as symbols that a page uses over and over: what a potter taps to match what is seen."""

from __future__ import annotations

from wareboard.sheets.firing_cones import CLOCKS, UPRIGHT, outline, slab


def symbols() -> str:
    """Every drawn cone as an SVG symbol, to be used by its name "cone-12" to "cone-6", and "cone-none"."""
    drawn = "".join(
        f'<symbol id="cone-{clock}" viewBox="0 0 48 48">{slab()}'
        f'<path d="{outline(clock)}" fill="currentColor" fill-opacity=".22" stroke-linejoin="round"/></symbol>'
        for clock in CLOCKS
    )
    none = (
        f'<symbol id="cone-none" viewBox="0 0 48 48">{slab()}<path d="{outline(12)}" stroke-dasharray="3 3"/></symbol>'
    )
    return f'<svg width="0" height="0" aria-hidden="true" class="only-heard"><defs>{drawn}{none}</defs></svg>'


def nearest_clock(lean_deg: float) -> int:
    """The drawn cone that is nearest to a lean in degrees, for showing it again."""
    hour = round((lean_deg - UPRIGHT) / (90.0 - UPRIGHT) * 6.0)
    return 12 if hour <= 0 else min(hour, 6)
