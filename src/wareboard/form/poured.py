"""The solids that a piece pours by: its body with a lip pulled out of the round, and a thrown spout joined to its wall.

Both point along -x, away from the handle. Faces are as in `wareboard.form.solid`.
"""

from __future__ import annotations

import math

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.lip import PulledLip, pulled, shares
from wareboard.form.profile import Profile
from wareboard.form.solid_parts import SUNK_MM, Part, grid_faces, tube_faces, widened
from wareboard.form.spout import ThrownSpout
from wareboard.form.vessel import MM3_PER_ML

SPOUT_SIDES, ROUGH_SPOUT_SIDES = 48, 16
ALONG, ROUGH_ALONG = 24, 6
TRIES = 40
CAP_SHARES = (0.05, 0.25, 0.5, 0.75)


def lipped_body(profile: Profile, lip: PulledLip, loop_mm: Floats, sides: int) -> Part:
    """The body as a many-sided figure with its lip, in one closed part.

    Args:
        profile, lip: of one stage.
        loop_mm: (n, 2) its skin from the centre of the foot over the rim to the middle of the floor.
        sides: of each ring; every cross-section out of the lip has the area of its circle.
    """
    turn = np.arange(sides) * 2 * math.pi / sides
    lines = pulled(profile, lip, loop_mm[1:-1], shares(profile, lip, turn - math.pi))
    radii = widened(sides) * lines[..., 1]
    rings = np.stack([radii * np.cos(turn)[:, None], radii * np.sin(turn)[:, None], lines[..., 0]], axis=-1)
    rings = rings.transpose(1, 0, 2)
    points = np.vstack([[[0.0, 0.0, loop_mm[0, 0]]], rings.reshape(-1, 3), [[0.0, 0.0, loop_mm[-1, 0]]]])
    return Part("body", points, tube_faces(len(rings), sides))


def spout_part(profile: Profile, spout: ThrownSpout, fine: bool = True) -> Part:
    """The spout as a closed tube: outside, cut, bore, and the edge that lies a little under the skin of the wall.

    The wall behind it is left whole: an opening or a strainer is cut by hand.

    Raises:
        OutOfRange: if it does not go on the wall where it is joined.
    """
    around, along = (SPOUT_SIDES, ALONG) if fine else (ROUGH_SPOUT_SIDES, ROUGH_ALONG)
    turn = np.arange(around) * 2 * math.pi / around
    outside, bore = (_tube(profile, spout, turn, along, in_mm, widened(around)) for in_mm in (0.0, spout.wall_mm))
    rings = np.concatenate([outside, bore[::-1]])
    return _outward(Part("spout", rings.reshape(-1, 3), grid_faces(len(rings), around)))


def held_ml(profile: Profile, spout: ThrownSpout, level_mm: float) -> float:
    """What stands in the spout when the liquid stands at a level above the foot, ml: its bore from the wall to there.

    Source: divergence theorem over the drawn bore; checked against a solid cut by a general library.
    """
    turn = np.arange(SPOUT_SIDES) * 2 * math.pi / SPOUT_SIDES
    out = widened(SPOUT_SIDES)
    ends = _ends(profile, spout, turn, spout.wall_mm, out)
    low, high = np.zeros(SPOUT_SIDES), np.ones(SPOUT_SIDES)
    for _ in range(TRIES):
        middle = (low + high) / 2
        below = _bent(ends, middle[None, :])[0, :, 2] < level_mm
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    rings = _bent(ends, np.linspace(0.0, 1.0, ALONG + 1)[:, None] * high)
    # The wall that closes the bore is round, so that its end is drawn in several rings on it.
    wall = [_at_wall(profile, spout, turn, spout.wall_mm, out * share) for share in CAP_SHARES]
    rings = np.concatenate([np.stack(wall), rings])
    middles = [rings[at].mean(axis=0)[None, :] for at in (0, -1)]
    points = np.vstack([middles[0], rings.reshape(-1, 3), middles[1]])
    return abs(Part("bore", points, tube_faces(len(rings), SPOUT_SIDES)).volume_mm3) / MM3_PER_ML


def _outward(part: Part) -> Part:
    return part if part.volume_mm3 > 0 else Part(part.name, part.points_mm, part.faces[:, ::-1])


def _tube(profile: Profile, spout: ThrownSpout, turn: Floats, along: int, in_mm: float, out: float) -> Floats:
    """(along + 1, around, 3) points of the tube from the wall to the cut, so far inside its outer skin."""
    return _bent(_ends(profile, spout, turn, in_mm, out), np.linspace(0.0, 1.0, along + 1)[:, None])


def _bent(ends: Floats, part: Floats) -> Floats:
    """Points on curves that leave one end, end at the other, and run there as the spout does (parabolas)."""
    start, towards, end = ends
    share = part[..., None]
    return np.asarray((1 - share) ** 2 * start + 2 * share * (1 - share) * towards + share**2 * end)


def _ends(profile: Profile, spout: ThrownSpout, turn: Floats, in_mm: float, out: float) -> Floats:
    """(3, around, 3) where each line of the tube begins at the wall, what it makes for, and where the cut ends it."""
    rake = math.radians(spout.rake_deg)
    ahead, above = np.array([-math.cos(rake), 0.0, math.sin(rake)]), np.array([math.sin(rake), 0.0, math.cos(rake)])
    narrow = out * (spout.tip_mm / 2 - in_mm)
    # A plane through the middle of the tip; what lies above the middle line is cut earlier, below it later.
    early = narrow * np.cos(turn)[:, None] / math.tan(rake + math.radians(spout.cut_deg))
    sideways = np.array([0.0, 1.0, 0.0]) * narrow * np.sin(turn)[:, None]
    end = tip_mm(profile, spout) - early * ahead + narrow * np.cos(turn)[:, None] * above + sideways
    start = _at_wall(profile, spout, turn, in_mm, out)
    long = (end - start) @ ahead
    if (long <= 0).any():
        raise OutOfRange(
            f"spout {spout.length_mm:.0f} mm long",
            why="its cut runs into the wall that it is joined to",
            mend="Make it longer, or less wide",
        )
    return np.stack([start, end - long[:, None] / 2 * ahead, end])


def tip_mm(profile: Profile, spout: ThrownSpout) -> Floats:
    """(3,) the middle of the cut."""
    rake = math.radians(spout.rake_deg)
    out = profile.radius_at_mm(spout.join_mm) + spout.length_mm * math.cos(rake)
    return np.array([-out, 0.0, spout.join_mm + spout.length_mm * math.sin(rake)])


def _at_wall(profile: Profile, spout: ThrownSpout, turn: Floats, in_mm: float, out: float) -> Floats:
    """(around, 3) the oval on the wall from which the tube comes, a little under the skin."""
    wide = out * (spout.base_mm / 2 - in_mm)
    heights, across = spout.join_mm + wide * spout.stretch * np.cos(turn), wide * np.sin(turn)
    side = profile.outer_mm[profile.standing :]
    radius = np.interp(heights, side[:, 0], side[:, 1])
    room = radius**2 - across**2
    if heights.min() < 0 or heights.max() > profile.height_mm or (room <= 0).any():
        raise OutOfRange(
            f"spout {spout.base_mm:g} mm wide at the wall, joined {spout.join_mm:.0f} mm up",
            why=f"its foot is an oval {spout.base_mm * spout.stretch:.0f} mm high and does not lie on the wall all round",
            mend="Make its base narrower, or join it where there is more wall above and below",
        )
    return np.column_stack([-(np.sqrt(room) - SUNK_MM), across, heights])


def spout_outline(profile: Profile, spout: ThrownSpout, in_mm: float = 0.0, points: int = 40) -> tuple[Floats, Floats]:
    """(n, 2) lines of (height, radius) in the middle plane: the spout's upper and its lower edge, from the wall to the cut.

    Args:
        profile, spout: of one stage.
        in_mm: so far inside the outer skin; the spout's wall gives its bore.
        points: of each line.
    """
    tube = _tube(profile, spout, np.array([0.0, math.pi]), points - 1, in_mm, 1.0)
    upper, lower = (np.column_stack([tube[:, side, 2], -tube[:, side, 0]]) for side in (0, 1))
    return upper, lower


def spout_from_above(profile: Profile, spout: ThrownSpout, points: int = 24) -> Floats:
    """(n, 2) loop of (x, y) round the spout seen from above: both its sides and the edge of its cut, towards -x."""
    sides = _tube(profile, spout, np.array([math.pi / 2, -math.pi / 2]), points - 1, 0.0, 1.0)
    turn = np.linspace(math.pi / 2, 3 * math.pi / 2, points)
    front = _tube(profile, spout, turn, 1, 0.0, 1.0)[-1]
    return np.vstack([sides[:-1, 0, :2], front[:, :2], sides[-2::-1, 1, :2]])
