"""A piece seen from above, true to size: rim, mouth and widest round, pulled lip, spout and handle, with their sizes.

SVG in millimetres on the paper, in ``currentColor``; the handle to the right as in the section.
"""

from __future__ import annotations

import hashlib
from xml.sax.saxutils import escape

import numpy as np

from wareboard.form.curve import Floats
from wareboard.form.draughting import LETTER, SMALL, arrowed, lettered, short, sized, stroke
from wareboard.form.gallery import seat_of
from wareboard.form.handle import Strap
from wareboard.form.joins import OPPOSITE_DEG, turned
from wareboard.form.lip import PulledLip, half_turn_rad, pulled, shares
from wareboard.form.poured import spout_from_above
from wareboard.form.poured_section import poured_words, reach_of
from wareboard.form.profile import Profile
from wareboard.form.roots import line_of
from wareboard.form.spout import ThrownSpout
from wareboard.given import positive

ROUND = 181
EDGE, BELOW = 6.0, 7.0
FLIPPED = np.array([1.0, -1.0])  # what lies away from the eye is drawn up the paper


def from_above_svg(
    profile: Profile,
    scale: float = 1.0,
    title: str = "From above",
    handle: Strap | None = None,
    lip: PulledLip | None = None,
    spout: ThrownSpout | None = None,
    note: str = "",
    name: str = "",
    handle_turn_deg: float = OPPOSITE_DEG,
    unit: str = "mm",
) -> str:
    """The drawing as SVG text, one element, the same for the same piece.

    Args:
        profile, handle, lip, spout: at the stage to be drawn.
        scale: paper mm for each mm of the piece.
        handle_turn_deg: the handle's place round the body, clockwise from spout or lip; 180 is opposite.
        unit: of the measures written on it, "mm" or "in".
        title, note, name: as in `wareboard.form.section.section_svg`.
    Raises:
        OutOfRange: if the scale is not a finite number above 0, or lip, spout or handle do not fit.
    """
    positive(scale, "scale")
    left, right = reach_of(profile, lip, spout), _handle_reach_mm(profile, handle)
    half = max(profile.widest_mm / 2, spout.base_mm / 2 if spout else 0.0)
    if handle is not None:
        seen = turned(_strap(profile, handle), handle_turn_deg)
        half = max(half, float(np.abs(seen[:, 1]).max()))
        left, right = max(left, -float(seen[:, 0].min())), max(profile.widest_mm / 2, float(seen[:, 0].max()))
    x0, y0 = EDGE + 8.0 + left * scale, EDGE + half * scale
    outer, inner = rim_from_above(profile, lip)
    parts = []
    if profile.widest_mm > profile.rim_mm + 1.0:
        parts.append(_loop(_round(profile.widest_mm / 2), x0, y0, scale, 0.25, "2 1.2", "widest"))
    if handle is not None:
        parts.append(
            _loop(turned(_strap(profile, handle), handle_turn_deg) * FLIPPED, x0, y0, scale, 0.35, "", "handle")
        )
    if spout is not None:
        parts.append(_loop(spout_from_above(profile, spout), x0, y0, scale, 0.35, "", "spout"))
    parts += [_loop(outer, x0, y0, scale, 0.4, "", "rim"), _loop(inner, x0, y0, scale, 0.3, "", "mouth")]
    parts += [
        _dashed(x0 - left * scale - 3, y0, x0 + right * scale + 3, y0),
        _dashed(x0, y0 - half * scale - 3, x0, y0 + half * scale + 3),
    ]
    if lip is not None:
        parts += _lip_sizes(profile, lip, x0, y0, scale, unit)
    wide = max(x0 + right * scale + EDGE, 2 * EDGE + 62.0)
    y = y0 + half * scale + BELOW
    parts.append(lettered(EDGE, y, title, LETTER * 1.15, "start", bold=True))
    for words in (*_words(profile, lip, spout, unit), *([note] if note else [])):
        y += SMALL * 1.5
        parts.append(lettered(EDGE, y, words, SMALL, "start"))
    high = y + EDGE
    says = " ".join(
        [f"From above. Rim {sized(profile.rim_mm, unit)} {unit}.", *poured_words(profile, lip, spout, unit)]
    )
    mark = name or "above-" + hashlib.sha256("".join([title, *parts]).encode()).hexdigest()[:10]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{short(wide)}mm" height="{short(high)}mm" '
        f'viewBox="0 0 {short(wide)} {short(high)}" role="img" aria-labelledby="{mark}-title {mark}-desc" '
        f'fill="none" stroke="currentColor" stroke-width="0.35" stroke-linejoin="round" stroke-linecap="round" '
        f'font-family="system-ui, sans-serif">'
        f'<title id="{mark}-title">{escape(title)}</title><desc id="{mark}-desc">{escape(says)}</desc>'
        f"{''.join(parts)}</svg>"
    )


def _round(radius_mm: float) -> Floats:
    turn = np.linspace(0.0, 2 * np.pi, ROUND)
    return radius_mm * np.column_stack([np.cos(turn), np.sin(turn)])


def rim_from_above(profile: Profile, lip: PulledLip | None) -> tuple[Floats, Floats]:
    """(n, 2) loops of (x, y): the outermost of the rim, and the innermost of the mouth under it."""
    if lip is None:
        return _round(profile.rim_mm / 2), _round(seat_of(profile, None).mouth_mm / 2)
    under = profile.inner_mm[profile.inner_mm[:, 0] <= profile.height_mm - profile.lip_mm + 1e-9]
    turn = np.linspace(0.0, 2 * np.pi, 2 * ROUND - 1)
    share = shares(profile, lip, turn - np.pi)
    side = profile.outer_mm[profile.outer_mm[:, 0] >= profile.height_mm - max(profile.lip_mm, 1e-9)]
    side = side if len(side) > 1 else profile.outer_mm[-2:]
    edges = [pulled(profile, lip, side, share)[..., 1].max(axis=1), pulled(profile, lip, under[-2:], share)[:, -1, 1]]
    outer, inner = (edge[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]) for edge in edges)
    return outer, inner


def _handle_reach_mm(profile: Profile, handle: Strap | None) -> float:
    if handle is None:
        return profile.widest_mm / 2
    return max(profile.widest_mm / 2, float(line_of(profile, handle)[:, 1].max()) + handle.thickness_mm / 2)


def _strap(profile: Profile, handle: Strap) -> Floats:
    far, near = _handle_reach_mm(profile, handle), profile.rim_mm / 2
    half = handle.width_mm / 2
    return np.array([[near, -half], [far, -half], [far, half], [near, half], [near, -half]])


def _loop(points: Floats, x0: float, y0: float, scale: float, wide: float, dashes: str, kind: str) -> str:
    places = " ".join(f"{short(x0 + x * scale)},{short(y0 + y * scale)}" for x, y in points)
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<path class="{kind}" d="M{places}Z" stroke-width="{wide}"{dashed}/>'


def _dashed(x1: float, y1: float, x2: float, y2: float) -> str:
    line = stroke(x1, y1, x2, y2, 0.2)
    return line.replace("/>", ' stroke-dasharray="4 1 0.6 1" stroke-linecap="butt"/>')


def _lip_sizes(profile: Profile, lip: PulledLip, x0: float, y0: float, scale: float, unit: str) -> list[str]:
    """The width of rim that the lip takes, as a line beyond its edge, and lines from the rim to it."""
    half = half_turn_rad(profile, lip)
    rim = profile.rim_mm / 2 * scale
    x = x0 - max(profile.widest_mm / 2, profile.rim_mm / 2 + lip.out_mm) * scale - 4.0
    y = lip.width_mm / 2 * scale
    from_x = x0 - rim * np.cos(half)
    words = lettered(x - 1.2, y0, sized(lip.width_mm, unit), LETTER)
    turned = words.replace("<text ", f'<text transform="rotate(-90 {short(x - 1.2)} {short(y0)})" ', 1)
    return [
        *(stroke(from_x - 1, y0 + sign * y, x - 1.5, y0 + sign * y, 0.15) for sign in (-1, 1)),
        arrowed(x, y0 - y, x, y0 + y),
        turned,
    ]


def _words(profile: Profile, lip: PulledLip | None, spout: ThrownSpout | None, unit: str) -> list[str]:
    found = [f"rim {sized(profile.rim_mm, unit)} {unit}"]
    if lip is not None:
        found[0] += f"; lip {sized(lip.out_mm, unit)} {unit} beyond it, over {sized(lip.width_mm, unit)} {unit}"
    if spout is not None:
        found[0] += (
            f"; spout {sized(spout.base_mm, unit)} {unit} wide at the wall, {sized(spout.tip_mm, unit)} {unit} at the tip"
        )
    return found
