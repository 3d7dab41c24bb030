"""How far a piece goes into another of its kind, and how high a stack of them stands. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.profile import Profile
from wareboard.working import Step

CLOSE_MM = 0.25
TOUCH_MM = 1e-6
LEAST_NESTED_MM = 1.0


@dataclass(frozen=True, slots=True)
class Stack:
    """How pieces of one form stack: the rise of each, what they rest on, and the height of so many."""

    rise_mm: float
    nests: bool
    rests_on: str
    height_mm: float
    words: str
    steps: tuple[Step, ...]


def rise_mm(profile: Profile) -> float:
    """How much higher a piece stands that is put straight down into another like it, without their handles.

    Source: no point of the upper outside may lie further out than the lower inside at its height, on the whole way down;
        exact for the profile's straight slices, as the worst place is a corner of one line or of the other.
    """
    outer, inner = profile.outer_mm, profile.inner_mm
    # An outer corner must be lifted over all of the inside that is further in; and an inner corner likewise, upside down.
    over = _highest_further_in(inner, outer[:, 1]) - outer[:, 0]
    upside_down = np.column_stack([-outer[:, 0], -outer[:, 1]])
    under = inner[:, 0] + _highest_further_in(upside_down, -inner[:, 1])
    return max(0.0, float(over.max()), float(under.max()))


def _highest_further_in(line: Floats, radii: Floats) -> Floats:
    """Greatest height on a line of (height, radius) at which it is further in than each radius; less than any where none."""
    low, high = line[:-1], line[1:]
    wanted = radii[:, None] - TOUCH_MM
    step = high[:, 1] - low[:, 1]
    part = np.clip((wanted - low[:, 1]) / np.where(np.abs(step) > TOUCH_MM, step, np.inf), 0.0, 1.0)
    crossing = low[:, 0] + part * (high[:, 0] - low[:, 0])
    ends = [np.where(end[:, 1] < wanted, end[:, 0], -np.inf) for end in (low, high)]
    between = np.where(np.minimum(low[:, 1], high[:, 1]) < wanted, crossing, -np.inf)
    crosses = np.maximum(low[:, 1], high[:, 1]) >= wanted
    best = np.maximum(np.maximum(*ends), np.where(crosses, between, -np.inf))
    result: Floats = best.max(axis=1)
    return result


def stack(profile: Profile, pieces: int = 2, handle_from_mm: float | None = None, what: str = "piece") -> Stack:
    """How so many pieces stack.

    Args:
        profile: fired.
        pieces: 1 to 100.
        handle_from_mm: height of the lower end of a handle; nothing from there up goes into the piece below, which is a
            little more than it needs. None without one.
        what: the piece in plain words.
    Raises:
        OutOfRange: if the number of pieces cannot be.
    """
    if not 1 <= pieces <= 100:
        raise OutOfRange(f"{pieces} pieces", why="a stack has 1 to 100", mend="Say how many stand on one another")
    bare = rise_mm(profile)
    by_handle = 0.0 if handle_from_mm is None else profile.height_mm - handle_from_mm
    rise = max(bare, by_handle)
    nests = rise < profile.height_mm - LEAST_NESTED_MM
    floor = float(profile.inner_mm[0, 0])
    if not nests:
        rests_on = "the rim below"
    elif by_handle > bare + TOUCH_MM:
        rests_on = "its handle, on the rim below"
    else:
        rests_on = "the floor" if abs(bare - floor) < CLOSE_MM else "the wall"
    high = profile.height_mm + (pieces - 1) * rise
    does = f"goes {profile.height_mm - rise:.0f} mm into the one below" if nests else "does not go into the one below"
    words = f"{what} {does} and rests on {rests_on}; {pieces} stand {high:.0f} mm high"
    steps = (
        Step(
            f"{what}: each further one rises by",
            "max(bare_mm, handle_mm)",
            {"bare_mm": bare, "handle_mm": by_handle},
            rise,
            "derived",
            unit="mm",
        ),
        Step(
            f"{what}: stack of {pieces}",
            "height_mm + (pieces - 1) * rise_mm",
            {"height_mm": profile.height_mm, "pieces": float(pieces), "rise_mm": rise},
            high,
            "derived",
            unit="mm",
        ),
    )
    return Stack(rise, nests, rests_on, high, words, steps)
