"""The inside of a kiln as a loader sees it, and the pieces that go into it. Lengths in mm, seen from above or upwards."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.kiln.circles import KeepOut
from wareboard.kiln.shelf import HalfOctagonalShelf, HalfRoundShelf, Points, Shelf, refuse_unless_positive
from wareboard.kiln.stock import Stock
from wareboard.reference import default

Kind = Literal["bisque", "glaze"]

# Half an inch to a foot, as posts are sold; whole mm. from memory
USUAL_POSTS_MM = (
    13.0,
    25.0,
    38.0,
    51.0,
    64.0,
    76.0,
    89.0,
    102.0,
    114.0,
    127.0,
    152.0,
    178.0,
    203.0,
    229.0,
    254.0,
    305.0,
)
NEST_RISE_SHARE = (
    1.0 / 3.0
)  # how far a nested piece stands above the one it stands in, share of its height; from memory


@dataclass(frozen=True, slots=True)
class Thermocouple:
    """Where the thermocouple comes through the wall: direction seen from above, and the room it wants.

    ``angle_deg`` is anticlockwise from the right; the tip is taken to reach the shelf's edge. ``gap_mm`` is 25 (1 in)
    as L&L Kilns have it; another studio's rule is 50 (`ll-loading`, `third-coast-loading`).
    """

    angle_deg: float = 0.0
    gap_mm: float = 25.0
    radius_mm: float = 4.0


@dataclass(frozen=True, slots=True)
class ConePackPlace:
    """Where on every shelf the witness cones stand: direction seen from above, diameter of the place they take."""

    angle_deg: float = 180.0
    diameter_mm: float = 50.0


@dataclass(frozen=True, slots=True)
class KilnInside:
    """The inside of a kiln as a loader sees it.

    ``usable_height_mm`` runs from the floor to the underside of the lid. With ``halves`` every level is two half
    shelves, each with its own posts, which may stand at different heights. ``wall_gap_mm`` is kept from ware to wall
    and to posts; ``shelf_to_wall_mm`` of it lies outside the shelf. ``post_inset_mm`` is from shelf edge to post centre.
    ``stock`` is what shelves and posts there are, counted; as many as are needed where it is left out.
    Figures not given are the trade's usual ones (`reference.defaults`; posts, inset and shelf to wall from memory).
    """

    shelf: Shelf
    usable_height_mm: float
    halves: bool = False
    post_lengths_mm: tuple[float, ...] = USUAL_POSTS_MM
    wall_gap_mm: float = field(default_factory=lambda: default("kiln.gap_wall_mm").value)
    top_gap_mm: float = field(default_factory=lambda: default("kiln.gap_top_mm").value)
    bottom_post_mm: float = field(default_factory=lambda: default("kiln.bottom_post_mm").value)
    thermocouple: Thermocouple | None = Thermocouple()
    cone_pack: ConePackPlace | None = ConePackPlace()
    shelf_to_wall_mm: float = 25.0
    post_width_mm: float = 32.0
    post_inset_mm: float = 38.0
    stock: Stock | None = None

    def __post_init__(self) -> None:
        refuse_unless_positive("the kiln's usable height", self.usable_height_mm)
        for name in (
            "wall_gap_mm",
            "top_gap_mm",
            "bottom_post_mm",
            "shelf_to_wall_mm",
            "post_width_mm",
            "post_inset_mm",
        ):
            refuse_unless_positive(name.removesuffix("_mm").replace("_", " "), getattr(self, name), zero_too=True)
        if not self.post_lengths_mm:
            raise OutOfRange("there are no posts", why="shelves stand on posts", mend="Give the lengths that you own")
        for length in self.post_lengths_mm:
            refuse_unless_positive("a post's length", length)

    @property
    def loaded_shelf(self) -> Shelf:
        """The shelf that is loaded at one time: the whole one, or one half."""
        return self.shelf.half() if self.halves else self.shelf

    @property
    def columns(self) -> int:
        """How many stacks of shelves stand side by side."""
        return 2 if self.halves else 1

    @property
    def edge_mm(self) -> float:
        """Gap from ware to shelf edge that leaves ``wall_gap_mm`` to the wall, mm."""
        return max(0.0, self.wall_gap_mm - self.shelf_to_wall_mm)

    @property
    def height_for_shelves_mm(self) -> float:
        """Height left for shelves, ware and posts above the bottom post, mm."""
        return self.usable_height_mm - self.bottom_post_mm

    @property
    def posts_mm(self) -> Points:
        """Centres of the three posts that stand on a shelf, (3, 2)."""
        return self.loaded_shelf.post_places_mm(self.post_inset_mm)

    def post_for(self, ware_mm: float) -> float:
        """The shortest post, or two posts on one another, of at least ``ware_mm``; inf if none reaches."""
        single = [length for length in self.post_lengths_mm if length >= ware_mm]
        if single:
            return min(single)
        double = [a + b for a in self.post_lengths_mm for b in self.post_lengths_mm if a + b >= ware_mm]
        return min(double, default=math.inf)

    def keep_outs(self, *, posts: bool = True, cone_pack: bool = True) -> tuple[KeepOut, ...]:
        """The places on a shelf that ware must stay clear of."""
        shelf, found = self.loaded_shelf, []
        if posts:
            found += [
                KeepOut(float(x), float(y), self.post_width_mm / 2.0, self.wall_gap_mm, "post")
                for x, y in self.posts_mm
            ]
        if self.thermocouple is not None:
            x, y = _toward(shelf, self.thermocouple.angle_deg, 0.0)
            found.append(KeepOut(x, y, self.thermocouple.radius_mm, self.thermocouple.gap_mm, "thermocouple"))
        if cone_pack and self.cone_pack is not None:
            radius = self.cone_pack.diameter_mm / 2.0
            x, y = _toward(shelf, self.cone_pack.angle_deg, radius)
            found.append(KeepOut(x, y, radius, 6.0, "cone pack"))
        return tuple(found)


def _toward(shelf: Shelf, angle_deg: float, inset_mm: float) -> tuple[float, float]:
    """The point ``inset_mm`` in from the edge in one direction; on a half shelf the angle is folded on to it."""
    half = isinstance(shelf, HalfRoundShelf | HalfOctagonalShelf)
    if half:
        angle_deg = 45.0 if math.cos(math.radians(angle_deg)) >= 0.0 else 135.0
    reach = max(0.0, shelf.edge_toward_mm(angle_deg) - inset_mm)
    return reach * math.cos(math.radians(angle_deg)), reach * math.sin(math.radians(angle_deg))


@dataclass(frozen=True, slots=True)
class LoadPiece:
    """So many pieces of one form, as they go into the kiln.

    ``footprint_diameter_mm`` is the widest diameter of the body seen from above (not the foot). A handle reaches
    ``handle_reach_mm`` beyond it and is ``handle_width_mm`` wide seen from above. ``nests``: in bisque up to
    ``nest_at_most`` stand in one another, each ``nest_rise_mm`` above the last (a third of the height if not given;
    from memory). Common practice is a bisque load of about 1.5 times the glaze load, 1.2 to 2.
    """

    form: str
    count: int
    footprint_diameter_mm: float
    height_mm: float
    nests: bool = False
    handle_reach_mm: float = 0.0
    handle_width_mm: float = 0.0
    nest_at_most: int = 2
    nest_rise_mm: float | None = None

    def __post_init__(self) -> None:
        if self.count < 0 or int(self.count) != self.count:
            raise OutOfRange(
                f"{self.count} pieces of {self.form}", why="pieces are whole, 0 or more", mend="Give a whole number"
            )
        refuse_unless_positive(f"the width of {self.form}", self.footprint_diameter_mm)
        refuse_unless_positive(f"the height of {self.form}", self.height_mm)
        refuse_unless_positive(f"the handle of {self.form}", self.handle_reach_mm, zero_too=True)
        refuse_unless_positive(f"the handle's width of {self.form}", self.handle_width_mm, zero_too=True)
        if self.nest_rise_mm is not None:
            refuse_unless_positive(f"the nesting rise of {self.form}", self.nest_rise_mm)
        if self.nest_at_most < 1:
            raise OutOfRange(f"{self.form} nests {self.nest_at_most}", why="it is at least 1", mend="Write 2 for pairs")

    @property
    def strap_mm(self) -> float:
        """Width of the handle seen from above, mm: as given, or the usual strap where only the reach was; else 0."""
        if self.handle_reach_mm <= 0.0:
            return 0.0
        return self.handle_width_mm if self.handle_width_mm > 0.0 else default("handle.width_mm").value

    @property
    def turning_diameter_mm(self) -> float:
        """The circle round body and handle, mm."""
        return self.footprint_diameter_mm + self.handle_reach_mm

    def least_floor_mm2(self, gap_mm: float) -> float:
        """No more than the floor that body, handle and half a gap all round cover, mm².

        The handle's end is counted with its corners rounded off by half a gap.
        """
        body = math.pi / 4.0 * (self.footprint_diameter_mm + gap_mm) ** 2
        if self.handle_reach_mm <= 0.0:
            return body
        corners = (2.0 - math.pi / 2.0) * (gap_mm / 2.0) ** 2
        return body + max(0.0, self.handle_reach_mm * (self.strap_mm + gap_mm) - corners)

    def stack_height_mm(self, stacked: int) -> float:
        """Height of ``stacked`` pieces nested in one another, mm."""
        rise = self.nest_rise_mm if self.nest_rise_mm is not None else self.height_mm * NEST_RISE_SHARE
        return self.height_mm + (stacked - 1) * rise


@dataclass(frozen=True, slots=True, eq=False)
class ShelfLayout:
    """One loaded shelf. All per-place arrays have one entry per place; a place holds ``stacked`` nested pieces.

    ``level_mm`` is the height of the shelf's upper face above the kiln floor. ``post_mm`` is the post that stands on
    it and carries the next shelf; 0 on the top shelf. ``half`` is 0, or 1 on the second of two half shelves.
    ``diameters_mm`` and ``centres_mm`` are those of the body; ``handle_angles_deg`` point the handle.
    """

    level_mm: float
    post_mm: float
    shelf: Shelf
    forms: tuple[str, ...]
    centres_mm: Points
    diameters_mm: Points
    heights_mm: Points
    stacked: NDArray[np.int64]
    handle_angles_deg: Points
    handle_reach_mm: Points
    handle_width_mm: Points
    posts: tuple[KeepOut, ...]
    cone_packs: tuple[KeepOut, ...]
    thermocouple: tuple[KeepOut, ...]
    level: int = 0
    half: int = 0

    @property
    def pieces(self) -> int:
        """How many pieces stand on the shelf, those nested in others counted."""
        return int(self.stacked.sum())

    @property
    def counts(self) -> dict[str, int]:
        """Pieces on the shelf by form, in the order in which the forms first stand."""
        found: dict[str, int] = {}
        for form, stacked in zip(self.forms, self.stacked, strict=True):
            found[form] = found.get(form, 0) + int(stacked)
        return found


Load = tuple[ShelfLayout, ...]
