"""A lip pulled at the rim of a jug: how the wall moves, where it pours, and what its throat holds.

The lip points away from the handle. Clay is moved and none is added: the drawing keeps the volume of the wall, which thins
by as much as it is stretched. Lengths in mm, of the piece at one stage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.profile import Profile
from wareboard.form.vessel import MM3_PER_ML
from wareboard.given import not_negative, positive
from wareboard.working import Step

WIDEST_SHARE = 0.95  # of the rim's width; wider, and it is no lip but an oval rim
STEEPEST_DIP = 0.45  # of how far down it is pulled; steeper, and the wall would fold
TURNS = 181
PARTS = 12  # of the throat, so that a straight wall is drawn bent


@dataclass(frozen=True, slots=True)
class PulledLip:
    """How far a lip is pulled out of the round, across what width of the rim, from how far down, and how far it dips."""

    out_mm: float
    width_mm: float
    down_mm: float
    dip_mm: float = 0.0

    def __post_init__(self) -> None:
        for name, size in (("lip pulled out", self.out_mm), ("width of the lip", self.width_mm)):
            positive(size, name, "mm")
        positive(self.down_mm, "depth of the lip's throat", "mm")
        not_negative(self.dip_mm, "dip of the lip", "mm")
        if self.dip_mm > STEEPEST_DIP * self.down_mm:
            raise OutOfRange(
                f"lip dips {self.dip_mm:g} mm",
                why=f"its throat reaches only {self.down_mm:g} mm down the wall, and the clay would fold",
                mend="Let it dip less, or pull it from further down",
            )

    def scaled(self, height_factor: float, width_factor: float) -> PulledLip:
        """The lip made taller and wider by factors, as its piece is."""
        return PulledLip(
            self.out_mm * width_factor,
            self.width_mm * width_factor,
            self.down_mm * height_factor,
            self.dip_mm * height_factor,
        )


def half_turn_rad(profile: Profile, lip: PulledLip) -> float:
    """Half the angle of the rim that the lip takes up, from its width as a chord of the rim.

    Raises:
        OutOfRange: if it is wider than the rim, or reaches below the inside floor.
    """
    if lip.width_mm > WIDEST_SHARE * profile.rim_mm:
        raise OutOfRange(
            f"lip is {lip.width_mm:g} mm wide",
            why=f"the rim is {profile.rim_mm:g} mm across",
            mend="Give the width of the rim over which it is pulled, usually a third to half of the rim's",
        )
    if lip.down_mm >= profile.depth_mm:
        raise OutOfRange(
            f"lip is pulled from {lip.down_mm:g} mm down",
            why=f"the inside is {profile.depth_mm:g} mm deep",
            mend="Pull it from nearer the rim",
        )
    return math.asin(lip.width_mm / profile.rim_mm)


def shares(profile: Profile, lip: PulledLip, turn_rad: Floats) -> Floats:
    """How much of the whole pull there is at each turn from the lip's middle, 1 in the middle and 0 at its ends."""
    half = half_turn_rad(profile, lip)
    apart = np.abs((turn_rad + np.pi) % (2 * np.pi) - np.pi)
    return np.asarray(np.where(apart < half, np.cos(np.pi / 2 * np.minimum(apart, half) / half) ** 2, 0.0))


def pulled(profile: Profile, lip: PulledLip, line_mm: Floats, share: Floats) -> Floats:
    """(k, n, 2) a line of (height, radius) of the piece as it runs where the pull is each of k shares of the whole.

    Points are put between those of the line where it is pulled, so that a straight wall bends too.

    Every cross-section of the wall keeps the clay that it had: heights are pressed together by what the edge dips, and
    radii go out as squares, so that no volume comes or goes.
    """
    side = profile.outer_mm[profile.standing :]
    start = profile.height_mm - lip.down_mm
    line_mm = with_more_points(profile, lip, line_mm)
    up = np.clip((line_mm[:, 0] - start) / lip.down_mm, 0.0, None)
    pull = share[:, None]
    heights = line_mm[:, 0] - lip.dip_mm * pull * up**2
    pressed = 1.0 - lip.dip_mm * pull * 2 * up / lip.down_mm
    wall = np.interp(line_mm[:, 0], side[:, 0], side[:, 1])
    # A rounded lip is drawn in towards its crest: the pull is such that its outermost comes out by just so much.
    sits = side[side[:, 0] >= profile.height_mm - profile.lip_mm - 1e-9]
    raised = np.maximum((sits[:, 0] - start) / lip.down_mm, 1e-9) ** 2
    most = float(((profile.rim_mm / 2 + lip.out_mm - sits[:, 1]) / raised).min())
    squares = (wall + most * pull * up**2) ** 2 - (wall**2 - line_mm[:, 1] ** 2) / pressed
    # The centre line of the floor stays where it is.
    radii = np.where(up > 0, np.sqrt(np.maximum(squares, 0.0)), line_mm[:, 1])
    return np.stack([heights, radii], axis=-1)


def with_more_points(profile: Profile, lip: PulledLip, line: Floats) -> Floats:
    """(n, c) a line of heights, and whatever else is in its columns, with the points put in that a pull bends."""
    return _closer(line, profile.height_mm - lip.down_mm, lip.down_mm / PARTS)


def _closer(line_mm: Floats, start_mm: float, step_mm: float) -> Floats:
    """The line with points put in above a height, no two further apart in height than a step."""
    found = [line_mm[:1]]
    for low, high in pairwise(line_mm):
        apart = abs(high[0] - low[0]) if max(low[0], high[0]) > start_mm else 0.0
        parts = max(1, math.ceil(apart / step_mm - 1e-9))
        found.append(low + np.arange(1, parts + 1)[:, None] / parts * (high - low))
    return np.vstack(found)


def pours_at_mm(profile: Profile, lip: PulledLip | None) -> float:
    """Height above the foot at which the piece runs over: the lowest place of its edge."""
    return profile.height_mm - (lip.dip_mm if lip else 0.0)


def throat_ml(profile: Profile, lip: PulledLip) -> float:
    """What the pulled part holds beyond the round inside, up to where it pours, ml.

    Source: half the square of the radius, over height (frustum of each slice) and turn (trapezium rule); checked against
    the volume of the drawn solid.
    """
    half, level = half_turn_rad(profile, lip), pours_at_mm(profile, lip)
    turns = np.linspace(-half, half, TURNS)
    lines = pulled(profile, lip, profile.inner_mm, shares(profile, lip, turns))
    held = np.array([_wedge_mm3(line, level) for line in lines])
    before = _wedge_mm3(profile.inner_mm, level)
    return float(np.trapezoid(held - before, turns)) / MM3_PER_ML


def _wedge_mm3(line: Floats, level_mm: float) -> float:
    """Volume below a level for each radian turned: a third of the frustum's radii, over two."""
    rising = np.maximum.accumulate(line[:, 0])
    top = float(np.interp(level_mm, rising, line[:, 1]))
    kept = np.vstack([line[line[:, 0] < level_mm - 1e-9], [level_mm, top]])
    low, high = kept[:-1, 1], kept[1:, 1]
    return float((np.diff(kept[:, 0]) * (low**2 + low * high + high**2)).sum()) / 6


def lip_steps(profile: Profile, lip: PulledLip, held_ml: float) -> tuple[Step, ...]:
    """Working of a pulled lip: where the piece runs over, what it holds so far, what the throat holds beside it.

    Args:
        profile, lip: fired.
        held_ml: of the round body up to where it pours.
    """
    level = pours_at_mm(profile, lip)
    given = {"height_mm": profile.height_mm, "dip_mm": lip.dip_mm}
    square = {"round_mm": profile.rim_mm / 2, "out_mm": lip.out_mm}
    half = half_turn_rad(profile, lip)
    more = throat_ml(profile, lip)
    return (
        Step("lip: pours at, above the foot", "height_mm - dip_mm", given, level, "derived", unit="mm"),
        Step("lip: edge from the centre line", "round_mm + out_mm", square, sum(square.values()), "derived", unit="mm"),
        Step(
            "lip: angle of the rim that it takes",
            "",
            {"width_mm": lip.width_mm, "rim_mm": profile.rim_mm},
            2 * math.degrees(half),
            "derived",
            unit="°",
            how="twice the arc sine of its width over the rim's",
        ),
        Step(
            "lip: held in its throat beside that",
            "",
            {"body_ml": held_ml, "out_mm": lip.out_mm, "down_mm": lip.down_mm},
            more,
            "derived",
            unit="ml",
            how="half the square of the radius over height and turn, less the round inside",
        ),
    )
