"""The left half of a section, as a saw would show it: wall, pulled lip, spout and its holes, and where it pours."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from wareboard.form.curve import Floats
from wareboard.form.draughting import SMALL, Sheet, lettered, mm, short, sized, stroke
from wareboard.form.lip import PulledLip, pours_at_mm, pulled, shares
from wareboard.form.poured import spout_outline
from wareboard.form.profile import Profile
from wareboard.form.spout import ThrownSpout, reach_mm, spout_pours_at_mm

HOLE_APART = 1.6  # of a strainer's holes, middle to middle, over their width: from memory
RIM_POINTS = 46
BESIDE = 1.0  # mm of paper between words and the centre line


def reach_of(profile: Profile, lip: PulledLip | None, spout: ThrownSpout | None) -> float:
    """How far out the drawing goes on the side that pours, mm."""
    found = [profile.widest_mm / 2]
    if lip is not None:
        found.append(profile.rim_mm / 2 + lip.out_mm)
    if spout is not None:
        found.append(reach_mm(profile, spout))
    return max(found)


def top_of(profile: Profile, spout: ThrownSpout | None) -> float:
    """Height of the highest point drawn, mm."""
    if spout is None:
        return profile.height_mm
    return max(profile.height_mm, *(float(line[:, 0].max()) for line in spout_outline(profile, spout)))


def pour_level_mm(profile: Profile, lip: PulledLip | None, spout: ThrownSpout | None) -> float:
    """Height above the foot at which the piece runs over: its rim, or the lowest of what it pours by."""
    level = pours_at_mm(profile, lip)
    return level if spout is None else min(level, spout_pours_at_mm(spout))


def poured_words(profile: Profile, lip: PulledLip | None, spout: ThrownSpout | None, unit: str = "mm") -> list[str]:
    """Sentences on lip and spout, for whoever does not see the drawing."""
    found = []
    if lip is not None:
        found.append(
            f"Lip pulled {sized(lip.out_mm, unit)} {unit} out over {sized(lip.width_mm, unit)} {unit} of the rim."
        )
    if spout is not None:
        found.append(f"Spout joined {sized(spout.join_mm, unit)} {unit} up, raked {mm(spout.rake_deg)} degrees.")
    if found:
        found.append(f"Pours at {sized(pour_level_mm(profile, lip, spout), unit)} {unit}.")
    return found


def cut_parts(
    sheet: Sheet, profile: Profile, lip: PulledLip | None, spout: ThrownSpout | None, labelled: bool = True
) -> Iterable[str]:
    """The cut wall, filled, on the left; with what the piece pours by, and the far edge of the rim behind it.

    ``labelled``: the height at which it pours is written under its line, where no lid is drawn over it.
    """
    loop = _wall(profile, lip)
    if spout is None:
        yield _filled(sheet, loop)
    else:
        yield from _with_spout(sheet, profile, loop, spout)
    yield from _far_rim(sheet, profile, lip)
    if lip is not None or spout is not None:
        line, words = _level(sheet, profile, lip, spout)
        yield from (line, words) if labelled else (line,)


def _wall(profile: Profile, lip: PulledLip | None) -> Floats:
    if lip is None:
        return np.vstack([profile.outer_mm, profile.inner_mm[::-1]])
    whole = np.ones(1)
    return np.vstack(
        [
            pulled(profile, lip, profile.outer_mm, whole)[0],
            pulled(profile, lip, profile.inner_mm, whole)[0][::-1],
        ]
    )


def _filled(sheet: Sheet, loop: Floats, kind: str = "cut") -> str:
    path = sheet.path(loop * np.array([1.0, -1.0]), closed=True)
    return f'<path class="{kind}" d="{path}" fill="currentColor" fill-opacity="0.82"/>'


def _with_spout(sheet: Sheet, profile: Profile, loop: Floats, spout: ThrownSpout) -> Iterator[str]:
    """Wall and spout as one cut, the wall open where the pot runs into the spout."""
    from shapely import Polygon, get_exterior_ring, get_parts

    outside, bore = spout_outline(profile, spout), spout_outline(profile, spout, spout.wall_mm)
    walls = [Polygon(np.vstack([out, within[::-1]])) for out, within in zip(outside, bore, strict=True)]
    wall: Any = Polygon(loop).buffer(0)
    for hole in _openings(profile, spout):
        wall = wall.difference(Polygon(hole))
    for at, cut in enumerate((wall, *walls)):
        kind = "spout" if at else "cut"
        for part in get_parts(cut.buffer(0)):
            yield _filled(sheet, np.asarray(get_exterior_ring(part).coords)[:-1], kind)
    # The edge of the cut, seen across the bore.
    upper, lower = bore
    yield stroke(sheet.x(-upper[-1, 1]), sheet.y(upper[-1, 0]), sheet.x(-lower[-1, 1]), sheet.y(lower[-1, 0]), 0.25)


def _openings(profile: Profile, spout: ThrownSpout) -> Iterator[Floats]:
    """Bands through the wall along the spout: its holes, in a row as close as they are made; one opening without any."""
    rake = np.radians(spout.rake_deg)
    along, square = np.array([np.sin(rake), np.cos(rake)]), np.array([np.cos(rake), -np.sin(rake)])
    start = np.array([spout.join_mm, profile.radius_at_mm(spout.join_mm)])
    room = spout.base_mm / 2 - spout.wall_mm
    if spout.hole_mm > 0 and spout.holes:
        pitch = HOLE_APART * spout.hole_mm
        count = min(max(1, round(np.sqrt(spout.holes))), max(1, int(2 * room / pitch)))
        middles = [(number - (count - 1) / 2) * pitch for number in range(count)]
        half = spout.hole_mm / 2
    else:
        middles, half = [0.0], 0.75 * room
    reach = (spout.base_mm / 2 - spout.wall_mm) * spout.stretch
    for middle in middles:
        low, high = (start + (middle + sign * half) * square for sign in (-1, 1))
        far = spout.base_mm * along
        band = np.array([low - far, low + far, high + far, high - far])
        # Only through the wall behind the spout, not through what the band meets elsewhere.
        band[:, 0] = np.clip(band[:, 0], spout.join_mm - reach, spout.join_mm + reach)
        yield band


def _far_rim(sheet: Sheet, profile: Profile, lip: PulledLip | None) -> Iterator[str]:
    """The far edge of the rim as it is seen across the open inside."""
    high, mouth = profile.height_mm, float(profile.inner_mm[-1, 1])
    if lip is None:
        yield stroke(sheet.x(-mouth), sheet.y(high), sheet.x(0), sheet.y(high), 0.25)
        return
    turns = np.linspace(0.0, np.pi / 2, RIM_POINTS)
    crest = pulled(profile, lip, profile.inner_mm[-2:], shares(profile, lip, turns))[:, -1]
    seen = np.column_stack([crest[:, 0], -crest[:, 1] * np.cos(turns)])
    yield f'<path class="rim" d="{sheet.path(seen)}" stroke-width="0.25"/>'


def _level(sheet: Sheet, profile: Profile, lip: PulledLip | None, spout: ThrownSpout | None) -> Iterator[str]:
    """Where the piece pours, as a dashed line across the inside with its height."""
    level = pour_level_mm(profile, lip, spout)
    out = profile.radius_at_mm(min(level, profile.height_mm), inside=True)
    y = sheet.y(level)
    yield (
        f'<path class="pours" d="M{short(sheet.x(-out))},{short(y)}H{short(sheet.x0)}" stroke-width="0.25" '
        f'stroke-dasharray="1.5 1"/>'
    )
    # By the centre line and in two lines: a small drawing has no more room between its walls.
    end = sheet.x0 - BESIDE
    yield lettered(end, y + SMALL + 0.6, "pours at", SMALL, "end") + lettered(
        end, y + 2 * SMALL + 1.0, sheet.size(level), SMALL, "end"
    )
