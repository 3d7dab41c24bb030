"""A piece as a solid: its body turned round, its handle swept along its line, its lid set on; each part closed.

Points are in mm, x and y across and z up from the plane that the piece stands on; the handle points along x. Seen from
outside, the corners of a face run anticlockwise. A turned part is a many-sided figure whose every cross-section has the
area of the circle that it stands for, so that its volume is that of the profile to rounding.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.gallery import knob_loop_mm, ledge_mm, turned_over
from wareboard.form.handle import ROUNDED_STRAP, Strap
from wareboard.form.joins import OPPOSITE_DEG, turned
from wareboard.form.lip import PulledLip
from wareboard.form.poured import lipped_body, spout_part
from wareboard.form.profile import Profile
from wareboard.form.roots import line_of
from wareboard.form.solid_parts import SUNK_MM, Faces, Part, tube_faces, widened
from wareboard.form.spout import ThrownSpout
from wareboard.given import positive

__all__ = ["SUNK_MM", "Faces", "Part", "Solid", "lid_parts", "revolved", "solid", "strap_section"]

SIDES = 96
STRAP_SIDES = 32
# How far a small picture's outline may be from the profile, and how much fewer points its handle has.
ROUGH_MM, ROUGH_STEP, ROUGH_STRAP_SIDES = 0.25, 4, 12
CAP_SHARES = (0.66, 0.33)
TOUCH_MM = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A piece in its closed parts, the body first."""

    parts: tuple[Part, ...]

    @property
    def volume_mm3(self) -> float:
        """Clay in all its parts, mm3; what the ends of a handle share with the wall counts twice (`SUNK_MM` deep)."""
        return sum(part.volume_mm3 for part in self.parts)

    @property
    def size_mm(self) -> Floats:
        """(3,) its extent along x, y and z."""
        points = np.vstack([part.points_mm for part in self.parts])
        result: Floats = np.ptp(points, axis=0)
        return result

    def scaled(self, height_factor: float, width_factor: float) -> Solid:
        """The piece made taller and wider by factors, as from fired to wet (1 / (1 - s) each way).

        Raises:
            OutOfRange: if a factor is not a finite number above 0.
        """
        tall, wide = positive(height_factor, "height factor"), positive(width_factor, "width factor")
        return Solid(tuple(part.scaled(tall, wide) for part in self.parts))


def solid(
    profile: Profile,
    handle: Strap | None = None,
    handle_at_mm: float | None = None,
    lid: Profile | None = None,
    sides: int = SIDES,
    fine: bool = True,
    lip: PulledLip | None = None,
    spout: ThrownSpout | None = None,
    handle_turn_deg: float = OPPOSITE_DEG,
) -> Solid:
    """The piece as closed parts: "body", and where it has them "handle", "spout" and "lid".

    Args:
        profile: of the body, at any stage.
        handle, lid: of the same stage; the lid as `standard` "lid" draws it, top down, set here on the rim.
        handle_at_mm: height of the handle's lower end; midway up the piece when left out.
        sides: of the many-sided figure that a circle is drawn as, 12 to 720.
        fine: every point of the profile; False for a few, enough to draw a small picture of it.
        lip, spout: of the same stage; both point along -x.
        handle_turn_deg: the handle's place round the body, clockwise from them seen from above; 180 is opposite.
    Raises:
        OutOfRange: if handle, lip or spout do not go on the piece, or the sides are too few or too many.
    """
    if not 12 <= sides <= 720:
        raise OutOfRange(f"{sides} sides", why="a round piece is drawn with 12 to 720 of them", mend="Leave it out")
    loop = loop_of(profile, fine)
    parts = [revolved("body", loop, sides) if lip is None else lipped_body(profile, lip, loop, sides)]
    if handle is not None:
        swept = _swept_handle(profile, handle, handle_at_mm, fine)
        parts.append(Part(swept.name, turned(swept.points_mm, handle_turn_deg), swept.faces))
    if spout is not None:
        parts.append(spout_part(profile, spout, fine))
    if lid is not None:
        parts += lid_parts(lid, profile.height_mm, None, sides, fine)
    return Solid(tuple(parts))


def loop_of(profile: Profile, fine: bool = True) -> Floats:
    """(n, 2) the skin in one line of (height, radius), mm, from the centre of the foot over the rim to the inside floor."""
    line: Floats = np.vstack([profile.outer_mm, profile.inner_mm[::-1]])
    apart = np.hypot(*np.diff(line, axis=0).T) > TOUCH_MM
    line = line[np.concatenate([[True], apart])]
    if fine:
        return line
    from shapely import LineString, get_coordinates

    few: Floats = get_coordinates(LineString(line).simplify(ROUGH_MM))
    return few


def lid_parts(
    lid: Profile, at_mm: float, knob_mm: tuple[float, float] | None = None, sides: int = SIDES, fine: bool = True
) -> tuple[Part, ...]:
    """A lid set on its seat, as "lid", and where it has one its "knob".

    Args:
        lid: as `standard` "lid" draws it, top down.
        at_mm: height of what its ledge rests on: the rim, or the ledge of a gallery.
        knob_mm: width and height of the knob on its top.
        sides, fine: as in `solid`.
    """
    found = [revolved("lid", turned_over(loop_of(lid, fine), at_mm + ledge_mm(lid)), sides)]
    if knob_mm is not None:
        found.append(revolved("knob", knob_loop_mm(*knob_mm, at_mm + ledge_mm(lid)), sides))
    return tuple(found)


def revolved(name: str, loop_mm: Floats, sides: int = SIDES) -> Part:
    """A line of (height, radius) turned round the centre line.

    Args:
        name: of the part.
        loop_mm: (n, 2) from the centre line round the section and back to it, no two neighbours alike, the clay on its
            left when heights are drawn up and radii to the right; left alone.
        sides: of each ring.
    Raises:
        OutOfRange: if the line does not begin and end on the centre line, or touches it on the way.
    """
    inner = loop_mm[1:-1]
    if loop_mm[0, 1] > TOUCH_MM or loop_mm[-1, 1] > TOUCH_MM or len(inner) < 2 or (inner[:, 1] <= TOUCH_MM).any():
        raise OutOfRange(
            f"section of the {name}",
            why="a solid begins and ends on the centre line and touches it nowhere between",
            mend="Draw its floor across the centre line once outside and once inside",
        )
    turn = np.arange(sides) * 2 * math.pi / sides
    # A figure of n sides with the area of the circle stands out a little at its corners and in at its flats.
    out = widened(sides)
    rings = np.empty((len(inner), sides, 3))
    rings[..., 0] = out * inner[:, 1, None] * np.cos(turn)
    rings[..., 1] = out * inner[:, 1, None] * np.sin(turn)
    rings[..., 2] = inner[:, 0, None]
    points = np.vstack([[[0.0, 0.0, loop_mm[0, 0]]], rings.reshape(-1, 3), [[0.0, 0.0, loop_mm[-1, 0]]]])
    return Part(name, points, tube_faces(len(inner), sides))


def strap_section(rounded: float = ROUNDED_STRAP, sides: int = STRAP_SIDES) -> Floats:
    """(sides, 2) section of a strap one wide and one thick, of the given area: a rectangle with well rounded edges.

    Source: superellipse (closed form of its area in gamma functions), then stretched to the area as a many-sided figure.
    """
    low, high = 2.0, 40.0
    for _ in range(60):
        power = (low + high) / 2
        area = math.gamma(1 + 1 / power) ** 2 / math.gamma(1 + 2 / power)
        low, high = (power, high) if area < rounded else (low, power)
    turn = (np.arange(sides) + 0.5) * 2 * math.pi / sides
    share = 2 / low
    points = np.column_stack([np.sign(np.cos(turn)) * np.abs(np.cos(turn)) ** share, _signed_power(turn, share)]) / 2
    beside = np.roll(points, -1, axis=0)
    drawn = float((points[:, 0] * beside[:, 1] - points[:, 1] * beside[:, 0]).sum()) / 2
    result: Floats = points * math.sqrt(rounded / drawn)
    return result


def _signed_power(turn: Floats, share: float) -> Floats:
    return np.asarray(np.sign(np.sin(turn)) * np.abs(np.sin(turn)) ** share)


def _swept_handle(profile: Profile, handle: Strap, at_mm: float | None, fine: bool) -> Part:
    """The strap along its line, its ends shaped to the wall and a little under its skin."""
    line = line_of(profile, handle, at_mm)[:: 1 if fine else ROUGH_STEP]
    along = np.linspace(0.0, 1.0, len(line))
    left = handle.taper + (1 - handle.taper) * along
    direction = np.gradient(line, axis=0)
    # Both ends come level out of the wall.
    direction[0], direction[-1] = (0.0, 1.0), (0.0, -1.0)
    direction /= np.hypot(*direction.T)[:, None]
    section = strap_section(sides=STRAP_SIDES if fine else ROUGH_STRAP_SIDES)
    across, square = section[:, 0] * handle.width_mm, section[:, 1] * handle.thickness_mm
    rings = np.empty((len(line), len(section), 3))
    rings[..., 0] = line[:, 1, None] - direction[:, 0, None] * left[:, None] * square
    rings[..., 1] = left[:, None] * across
    rings[..., 2] = line[:, 0, None] + direction[:, 1, None] * left[:, None] * square
    skin = _skin_mm(profile, rings)
    rings[..., 0] = np.maximum(rings[..., 0], skin)
    whole = np.concatenate([_cap(profile, rings[0])[::-1], rings[1:-1], _cap(profile, rings[-1])])
    ends = [_on_skin(profile, ring.mean(axis=0)[None, :]) for ring in (rings[0], rings[-1])]
    points = np.vstack([ends[0], whole.reshape(-1, 3), ends[1]])
    part = Part("handle", points, tube_faces(len(whole), len(section)))
    return part if part.volume_mm3 > 0 else Part("handle", points, part.faces[:, ::-1])


def _cap(profile: Profile, ring: Floats) -> Floats:
    """An end ring and smaller ones within it, all on the skin of the wall."""
    middle = ring.mean(axis=0)
    return np.stack([_on_skin(profile, middle + (ring - middle) * share) for share in (1.0, *CAP_SHARES)])


def _on_skin(profile: Profile, points: Floats) -> Floats:
    moved = points.copy()
    moved[:, 0] = _skin_mm(profile, points)
    return moved


def _skin_mm(profile: Profile, points: Floats) -> Floats:
    """How far out along x the wall's skin lies at the y and z of each point, less what the ends are sunk."""
    side = profile.outer_mm[profile.standing :]
    radius = np.interp(points[..., 2], side[:, 0], side[:, 1])
    room = radius**2 - points[..., 1] ** 2
    if (room <= 0).any():
        raise OutOfRange(
            f"handle is {2 * float(np.abs(points[..., 1]).max()):.0f} mm wide",
            why="it is as wide as the piece where it joins",
            mend="Make it narrower or set it elsewhere",
        )
    return np.asarray(np.sqrt(room) - SUNK_MM)
