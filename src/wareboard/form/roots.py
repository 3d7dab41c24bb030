"""Where a handle joins its body, and the line that it takes from one root to the other.

Heights are above the plane of the foot and radii from the centre line, mm, of the piece as given: fired, or at a stage.
"""

from __future__ import annotations

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.handle import Strap
from wareboard.form.profile import Profile


def usual_place_mm(profile: Profile, handle: Strap) -> float:
    """Height of a handle's lower end above the foot when it sits midway up the piece."""
    return (profile.height_mm - handle.outside_height_mm) / 2


def line_of(profile: Profile, handle: Strap, at_mm: float | None = None) -> Floats:
    """(n, 2) points of (height, radius) on the middle line of a joined handle, from its lower root to its upper.

    Between its roots the line leans as the wall does from one to the other.

    Args:
        profile: the piece.
        handle: of the same stage.
        at_mm: height of the handle's lower end; midway up the piece when left out.
    Raises:
        OutOfRange: if the handle reaches below the foot or above the rim.
    """
    foot = usual_place_mm(profile, handle) if at_mm is None else at_mm
    if foot < 0 or foot + handle.outside_height_mm > profile.height_mm:
        raise OutOfRange(
            f"handle runs from {foot:g} to {foot + handle.outside_height_mm:g} mm",
            why=f"the piece is {profile.height_mm:g} mm high",
            mend="Make the handle shorter or set it elsewhere",
        )
    line = handle.centre_mm + np.array([foot, 0.0])
    part = (line[:, 0] - line[0, 0]) / (line[-1, 0] - line[0, 0])
    low, high = (profile.radius_at_mm(float(height)) for height in (line[0, 0], line[-1, 0]))
    return np.column_stack([line[:, 0], line[:, 1] + low + part * (high - low)])


def finger_room_mm(profile: Profile, handle: Strap, at_mm: float | None = None) -> float:
    """Widest room for the fingers, level, between the wall and the inner face of a joined handle.

    On a piece that bulges between the roots it is less than the gap that the handle was drawn with.

    Args:
        profile, handle, at_mm: as in `line_of`.
    """
    line = line_of(profile, handle, at_mm)
    left = handle.taper + (1 - handle.taper) * np.linspace(0.0, 1.0, len(line))
    side = profile.outer_mm[profile.standing :]
    inner = line[:, 1] - handle.thickness_mm * left / 2
    return float((inner - np.interp(line[:, 0], side[:, 0], side[:, 1])).max())
