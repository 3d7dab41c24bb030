"""Two sections of a piece laid over one another on one axis and one board, true to each other's size."""

from __future__ import annotations

from xml.sax.saxutils import quoteattr

import numpy as np

from wareboard.form.curve import Floats
from wareboard.form.profile import Profile

ROOM_MM = 6.0


def compared_svg(new: Profile, old: Profile | None, title: str) -> str:
    """A drawing of the new section, its wall filled, and of the old one in dashes; one unit is one mm of the piece.

    Args:
        new, old: both at one stage; without an old one the new one stands alone.
        title: what a screen reader says.
    """
    both = [new] if old is None else [new, old]
    half = max(each.widest_mm for each in both) / 2 + ROOM_MM
    tall = max(each.height_mm for each in both) + ROOM_MM

    def loop(profile: Profile) -> str:
        line = np.vstack([profile.outer_mm, profile.inner_mm[::-1]])
        return f"M{_written(line, 1.0, half, tall)}L{_written(line[::-1], -1.0, half, tall)}Z"

    dashed = (
        ""
        if old is None
        else f'<path class="compared-old" d="{loop(old)}" fill="none" stroke="currentColor" stroke-width="0.7" '
        'stroke-dasharray="2.6 1.8"/>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {2 * half:.1f} {tall + ROOM_MM:.1f}" role="img" '
        f"aria-label={quoteattr(title)}>"
        f'<path class="compared-new" d="{loop(new)}" fill="currentColor" fill-opacity="0.22" stroke="currentColor" '
        f'stroke-width="0.7"/>{dashed}'
        f'<path d="M{half:.1f} 0V{tall + ROOM_MM:.1f}" stroke="currentColor" stroke-width="0.35" '
        'stroke-dasharray="6 1.5 1 1.5"/>'
        f'<path d="M0 {tall:.1f}H{2 * half:.1f}" stroke="currentColor" stroke-width="0.5"/></svg>'
    )


def _written(line: Floats, side: float, half: float, tall: float) -> str:
    return "L".join(f"{half + side * radius:.2f} {tall - height:.2f}" for height, radius in line)
