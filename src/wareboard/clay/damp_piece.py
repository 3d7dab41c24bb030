"""A damp piece as its drying sees it: parts with faces, each part one thickness, and the spells it is left to dry in."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wareboard.clay.air import Air
from wareboard.clay.drying import COVERS
from wareboard.clay.drying_figures import figure
from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive, share

STANDINGS = ("board", "rack", "upturned")
DRAUGHTS = ("still", "fan")
MM3_IN_A_ML = 1000.0


@dataclass(frozen=True, slots=True)
class Part:
    """A wall, a base or a handle: dry weight, thickness, and the faces that water leaves by.

    Attributes:
        name: in plain words.
        dry_g: bone-dry weight, g.
        thickness_mm: wet, mm.
        outside_mm2: faces in the open air, wet, mm2.
        inside_mm2: faces inside the vessel, which count for a share.
        under_mm2: the face that it stands on, which counts by how it stands.
        both_sides: its outside is two faces of one sheet (a handle), so that it dries from both.
    Raises:
        OutOfRange: if a figure is not such a number, or no face is left for the water.
    """

    name: str
    dry_g: float
    thickness_mm: float
    outside_mm2: float = 0.0
    inside_mm2: float = 0.0
    under_mm2: float = 0.0
    both_sides: bool = False

    def __post_init__(self) -> None:
        positive(self.dry_g, f"dry weight of the {self.name}", "g")
        positive(self.thickness_mm, f"thickness of the {self.name}", "mm")
        for area, face in ((self.outside_mm2, "outside"), (self.inside_mm2, "inside"), (self.under_mm2, "underside")):
            not_negative(area, f"{face} of the {self.name}", "mm2")
        positive(self.outside_mm2 + self.inside_mm2 + self.under_mm2, f"all faces of the {self.name} together", "mm2")

    def counted(self, inside_share: float, under_share: float) -> tuple[float, float]:
        """Area that counts, mm2, and the share of the thickness that the furthest water has to cross."""
        faces = [self.outside_mm2, inside_share * self.inside_mm2, under_share * self.under_mm2]
        if self.both_sides:
            faces[:1] = [self.outside_mm2 / 2.0] * 2
        return sum(faces), max(faces) / sum(faces)


@dataclass(frozen=True, slots=True)
class Piece:
    """A damp piece: its parts, the water they start with is believed apart.

    Attributes:
        parts: at least one.
        inside_share, inside_low, inside_high: how far the inside counts while it stands on its foot, and its range.
        sized: the dry weight was reckoned from sizes, and is so much less sure.
    """

    parts: tuple[Part, ...]
    inside_share: float
    inside_low: float
    inside_high: float
    sized: bool = False

    def __post_init__(self) -> None:
        if not self.parts:
            raise OutOfRange("a piece without parts", why="nothing would dry", mend="Give at least one part")
        if not 0.0 <= self.inside_low <= self.inside_share <= self.inside_high <= 1.0:
            raise OutOfRange(
                f"inside counts for {self.inside_share:g} ({self.inside_low:g} to {self.inside_high:g})",
                why="it must be a fraction from 0 to 1 within its range",
                mend="A vessel deeper than wide has 0.2 to 0.5",
            )

    @property
    def dry_g(self) -> float:
        """Dry weight of all parts, g."""
        return sum(part.dry_g for part in self.parts)


@dataclass(frozen=True, slots=True)
class Spell:
    """One stretch of drying: the air, its draught, the cover, how the piece stands, and for how long.

    Attributes:
        air: of the room.
        cover: "open", "light" film over it, or "tight" wrap.
        draught: "still" or "fan".
        standing: on a "board", on a "rack", or "upturned" on its rim.
        hours: how long; without end when left out, as the last spell must be.
        h_w_per_m2_k: heat transfer where it is known; by the draught when left out.
        leak_l_per_min: air through a tight cover for each piece where it is known.
        rh_apart: how far the humidity may be off, as the half width of a 90 % range.
    Raises:
        OutOfRange: for a word that is not one of these, or a time that is not above 0.
    """

    air: Air
    cover: str = "open"
    draught: str = "still"
    standing: str = "board"
    hours: float = math.inf
    h_w_per_m2_k: float | None = None
    leak_l_per_min: float | None = None
    rh_apart: float = 0.08

    def __post_init__(self) -> None:
        for word, known, name in (
            (self.cover, COVERS, "cover"),
            (self.draught, DRAUGHTS, "draught"),
            (self.standing, STANDINGS, "standing"),
        ):
            if word not in known:
                raise OutOfRange(
                    f"{name} {word!r}", why="no figure is kept for it", mend="Use one of: " + ", ".join(known)
                )
        if not self.hours > 0.0:
            raise OutOfRange(f"a spell of {self.hours:g} h", why="it must be above 0", mend="Leave it out")
        if self.air.rh > 0.98:
            raise OutOfRange(
                f"relative humidity is {self.air.rh:g}",
                why="in air so damp ware does not dry",
                mend="Warm the room, open it to drier air, or give the humidity of the drying shelf",
            )
        share(self.rh_apart, "reach of the humidity", "saturation")


def inside_counted(depth_mm: float, width_mm: float) -> tuple[float, float, float]:
    """How far the inside of a vessel counts, with low and high: all of it when flat, 0.3 (0.2 to 0.5) once as deep as wide.

    Raises:
        OutOfRange: if the width is not above 0, or the depth below 0.
    Source: common practice for the deep vessel; the straight line between is our own reading.
    """
    positive(width_mm, "width", "mm")
    deep = min(1.0, not_negative(depth_mm, "depth", "mm") / width_mm)
    usual = figure("inside counted, deep")
    value, low, high = (1.0 - deep * (1.0 - each) for each in (usual.value, usual.low, usual.high))
    return value, low, high


def dry_g_in(volume_ml: float, water: float, particle_density_g_per_ml: float | None = None) -> float:
    """Dry clay in a volume of saturated damp clay, g.

    Raises:
        OutOfRange: if the volume or the density is not above 0, or the water (fraction of the dry weight) below 0.
    Source: saturated-body, 1 / (1 / particle density + w).
    """
    density = figure("particle density").value if particle_density_g_per_ml is None else particle_density_g_per_ml
    positive(density, "particle density", "g/ml")
    return positive(volume_ml, "volume", "ml") / (1.0 / density + not_negative(water, "water"))


def straight_piece(width_mm: float, height_mm: float, wall_mm: float, base_mm: float, water: float) -> Piece:
    """A cup, bowl, jug or plate as a straight-sided vessel of the same outside: a wall and a base.

    Args:
        width_mm, height_mm: outside, wet, mm; for a plate the width over all and the height of its rim.
        wall_mm, base_mm: wet thickness, mm.
        water: as thrown, fraction of the dry weight.
    Raises:
        OutOfRange: if the wall fills the width, or the base the height.
    Source: cylinder; saturated-body for the dry weight.
    """
    for value, name in ((width_mm, "width"), (height_mm, "height"), (wall_mm, "wall"), (base_mm, "base")):
        positive(value, name, "mm")
    if 2.0 * wall_mm >= width_mm or base_mm >= height_mm:
        raise OutOfRange(
            f"wall {wall_mm:g} mm, base {base_mm:g} mm in {width_mm:g} by {height_mm:g} mm",
            why="they leave no inside",
            mend="Give outside sizes and thicknesses as they are wet, in mm",
        )
    inner_mm, depth_mm = width_mm - 2.0 * wall_mm, height_mm - base_mm
    ring_mm2 = math.pi / 4.0 * (width_mm**2 - inner_mm**2)
    disc_mm2 = math.pi / 4.0 * width_mm**2
    wall = Part(
        "wall",
        dry_g_in(ring_mm2 * depth_mm / MM3_IN_A_ML, water),
        wall_mm,
        outside_mm2=math.pi * width_mm * depth_mm + ring_mm2,
        inside_mm2=math.pi * inner_mm * depth_mm,
    )
    base = Part(
        "base",
        dry_g_in(disc_mm2 * base_mm / MM3_IN_A_ML, water),
        base_mm,
        outside_mm2=math.pi * width_mm * base_mm,
        inside_mm2=math.pi / 4.0 * inner_mm**2,
        under_mm2=disc_mm2,
    )
    return Piece((wall, base), *inside_counted(depth_mm, inner_mm), sized=True)


def handle_piece(length_mm: float, width_mm: float, thickness_mm: float, water: float) -> Piece:
    """A pulled or extruded handle waiting for its cup, lying so that air reaches both faces.

    Args:
        length_mm, width_mm, thickness_mm: of the strap, wet, mm.
        water: as pulled, fraction of the dry weight.
    Raises:
        OutOfRange: if a size is not a finite number above 0, or the water below 0.
    Source: a bar of oblong section, ends left out.
    """
    for value, name in ((length_mm, "handle length"), (width_mm, "handle width"), (thickness_mm, "handle thickness")):
        positive(value, name, "mm")
    thin_mm, broad_mm = sorted((thickness_mm, width_mm))
    dry = dry_g_in(length_mm * width_mm * thickness_mm / MM3_IN_A_ML, water)
    strap = Part("handle", dry, thin_mm, outside_mm2=2.0 * length_mm * (thin_mm + broad_mm), both_sides=True)
    return Piece((strap,), 1.0, 1.0, 1.0, sized=True)


def weighed_piece(dry_g: float, thickness_mm: float, water: float, inside_share: float | None = None) -> Piece:
    """A piece of which only the dry weight and the wall are known: a sheet of that thickness, one face out, one in.

    Args:
        dry_g: bone-dry weight, g; wet weight / (1 + water).
        thickness_mm: wall, wet, mm.
        water: at the start, fraction of the dry weight.
        inside_share: how far the inside counts; 0.3 (0.2 to 0.5) when left out, as for a cup.
    Raises:
        OutOfRange: if the weight or the wall is not a finite number above 0, or the water below 0.
    Source: saturated-body for the volume; the sheet is our own simplification.
    """
    usual = figure("inside counted, deep")
    low, value, high = (usual.low, usual.value, usual.high) if inside_share is None else (inside_share,) * 3
    volume_ml = positive(dry_g, "dry weight", "g") / dry_g_in(1.0, water)
    face_mm2 = volume_ml * MM3_IN_A_ML / positive(thickness_mm, "wall", "mm")
    return Piece((Part("wall", dry_g, thickness_mm, face_mm2, face_mm2),), value, low, high)
