"""The gallery of a lidded pot: a ledge within its rim that carries the lid, with the lid and its knob that go there.

Lengths in mm, of the piece at one stage; ``gap_mm`` is play across, mouth less lid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.profile import Profile
from wareboard.form.shapes import lid_lines
from wareboard.given import not_negative, positive

TOUCH_MM = 1e-9
KNOB_POINTS = 33
KNOB_SUNK_MM = 0.5  # a knob is scored and slipped on, and lies so far in the lid


@dataclass(frozen=True, slots=True)
class Gallery:
    """A ledge so wide, measured inward, so far below the rim."""

    wide_mm: float
    deep_mm: float

    def __post_init__(self) -> None:
        positive(self.wide_mm, "ledge of the gallery", "mm")
        positive(self.deep_mm, "depth of the gallery", "mm")


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a lid sits: width of the mouth that it goes through, of the throat that its flange goes into, and its height."""

    mouth_mm: float
    throat_mm: float
    height_mm: float


def seat_of(profile: Profile, gallery: Gallery | None) -> Seat:
    """Where a lid sits on a body: on its gallery, else on its rim, which has no ledge and so mouth and throat alike."""
    mouth = 2 * _mouth_radius_mm(profile, gallery)
    if gallery is None:
        return Seat(mouth, mouth, profile.height_mm)
    return Seat(mouth, mouth - 2 * gallery.wide_mm, profile.height_mm - gallery.deep_mm)


def _mouth_radius_mm(profile: Profile, gallery: Gallery | None) -> float:
    """Least radius that a lid passes on its way to its seat."""
    inner = profile.inner_mm
    under = inner[inner[:, 0] <= profile.height_mm - profile.lip_mm + TOUCH_MM]
    # On a piece so low that its lip begins under the floor, the rim's own inside is all there is.
    at_lip = float(under[-1, 1]) if len(under) and under[-1, 1] > 0 else float(inner[-1, 1])
    if gallery is None:
        return at_lip
    ledge = profile.height_mm - gallery.deep_mm
    above = under[under[:, 0] > ledge + TOUCH_MM, 1]
    return float(min([at_lip, np.interp(ledge, inner[:, 0], inner[:, 1]), *above]))


def with_gallery(profile: Profile, gallery: Gallery) -> Profile:
    """The body with a gallery: its inside upright above the ledge, the ledge level, and a slope of 45 degrees under it.

    The clay that this takes is thrown with the body and counted with it.

    Raises:
        OutOfRange: if the ledge lies in the lip, closes the mouth, or its slope runs into the floor.
    """
    inner, wall = profile.inner_mm, profile.wall_at_mm(profile.height_mm - gallery.deep_mm)
    ledge, radius = profile.height_mm - gallery.deep_mm, _mouth_radius_mm(profile, gallery)
    throat, under = radius - gallery.wide_mm, ledge - wall
    if gallery.deep_mm <= profile.lip_mm:
        raise OutOfRange(
            f"gallery {gallery.deep_mm:g} mm deep",
            why=f"the rounded lip alone is {profile.lip_mm:.1f} mm high",
            mend="Set the ledge further down",
        )
    if throat <= 0:
        raise OutOfRange(
            f"gallery {gallery.wide_mm:g} mm wide",
            why=f"the mouth is only {2 * radius:.0f} mm across, and the ledge closes it",
            mend="Make the ledge narrower; 4 to 8 mm is usual",
        )
    slope = under - (float(np.interp(under, inner[:, 0], inner[:, 1])) - throat)
    if slope <= inner[0, 0]:
        raise OutOfRange(
            f"gallery {gallery.deep_mm:g} mm down, {gallery.wide_mm:g} mm wide",
            why="the clay that carries it runs into the floor",
            mend="Make the piece taller, or the ledge narrower",
        )
    starts = float(np.interp(slope, inner[:, 0], inner[:, 1]))
    bent: Floats = np.array([[slope, starts], [under, throat], [ledge, throat], [ledge, radius]])
    lip = inner[inner[:, 0] >= profile.height_mm - profile.lip_mm - TOUCH_MM]
    lip = lip if len(lip) > 1 else inner[-1:]
    upright = np.array([[float(lip[0, 0]), radius]])
    return Profile(
        profile.outer_mm, np.vstack([inner[inner[:, 0] < slope - TOUCH_MM], bent, upright, lip]), profile.lip_mm
    )


def lid_in(seat: Seat, gap_mm: float, height_mm: float, wall_mm: float, floor_mm: float, flat_share: float) -> Profile:
    """A lid for a gallery, as it is thrown, top down: its ledge on the gallery's, its flange in the throat.

    Args:
        seat: of the body.
        gap_mm: play across that is wanted, round the lid and round its flange.
        height_mm, wall_mm, floor_mm: over all without a knob, and its thickness.
        flat_share: width of its flat top, share of the lid's.
    Raises:
        OutOfRange: if it has no room for its flange.
    """
    not_negative(gap_mm, "gap", "mm")
    across, flange = seat.mouth_mm - gap_mm, seat.throat_mm - gap_mm
    positive(flange, "flange of the lid", "mm")
    outer, inner = lid_lines(
        height_mm, across, across * flat_share, wall_mm, floor_mm, wall_mm, 64, ledge_mm=(across - flange) / 2
    )
    return Profile(outer, inner)


@dataclass(frozen=True, slots=True, eq=False)
class LidOn:
    """A lid at one stage as it is thrown, top down, the height of its seat, and the width and height of its knob."""

    lid: Profile
    at_mm: float
    knob_mm: tuple[float, float] | None = None

    @property
    def top_mm(self) -> float:
        """Height of the lid's top above the foot of the pot, its knob counted in."""
        flat = self.at_mm + ledge_mm(self.lid)
        return flat + (self.knob_mm[1] - KNOB_SUNK_MM if self.knob_mm else 0.0)

    def loops_mm(self) -> tuple[Floats, ...]:
        """(n, 2) loops of (height, radius) round the lid and its knob, where they sit, from the centre line and back."""
        line = np.vstack([self.lid.outer_mm, self.lid.inner_mm[::-1]])
        line = line[np.concatenate([[True], np.hypot(*np.diff(line, axis=0).T) > 1e-7])]
        set_on = turned_over(line, self.at_mm + ledge_mm(self.lid))
        if self.knob_mm is None:
            return (set_on,)
        return (set_on, knob_loop_mm(*self.knob_mm, self.at_mm + ledge_mm(self.lid)))

    def seen_mm(self, rim_mm: float) -> tuple[Floats, ...]:
        """(n, 2) lines of (height, radius) of what stands above a rim, from the centre line down: the lid, and its knob."""
        down = self.at_mm + ledge_mm(self.lid) - self.lid.outer_mm[:, 0]
        edge = max(rim_mm, self.at_mm)
        dome = np.column_stack([down, self.lid.outer_mm[:, 1]])[down > edge - TOUCH_MM]
        at_edge = float(np.interp(-edge, -down[: len(dome) + 1], self.lid.outer_mm[: len(dome) + 1, 1]))
        return (np.vstack([dome, [edge, at_edge], [edge, 0.0]]), *self.loops_mm()[1:])


def ledge_mm(lid: Profile) -> float:
    """Height of the ledge of a lid drawn top down: where its outside is widest, at the highest."""
    line = lid.outer_mm
    return float(line[line[:, 1] >= line[:, 1].max() - 1e-7, 0].max())


def turned_over(loop_mm: Floats, top_mm: float) -> Floats:
    """A lid's skin with its top up at a height; run the other way, so that its faces look outward."""
    turned = loop_mm[::-1].copy()
    turned[:, 0] = top_mm - turned[:, 0]
    return turned


def knob_loop_mm(width_mm: float, height_mm: float, on_mm: float) -> Floats:
    """(n, 2) of (height, radius) round a knob as a ball drawn out or pressed flat, standing on a lid's top.

    Args:
        width_mm, height_mm: of the knob.
        on_mm: height of the lid's top.
    Raises:
        OutOfRange: if the knob's width or height is not a finite number above 0.
    """
    positive(width_mm, "knob", "mm")
    positive(height_mm, "height of the knob", "mm")
    turn = np.linspace(0.0, np.pi, KNOB_POINTS)
    middle = on_mm + height_mm / 2 - KNOB_SUNK_MM
    loop = np.column_stack([middle - height_mm / 2 * np.cos(turn), width_mm / 2 * np.sin(turn)])
    loop[[0, -1], 1] = 0.0
    return loop
