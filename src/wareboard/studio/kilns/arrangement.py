"""A planned load as it is arranged by hand: where each piece stands, what is in its way, and what is only too near.

The measure is the kiln room's own: a piece is its body and the strap of its handle as discs (`wareboard.kiln.footprint`).
The page reckons with the same discs, handed to it by `measures`. Lengths in mm from the middle of the shelf; y runs to
the back.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.studio.kilns.pieces import Piece, room_over_mm

if TYPE_CHECKING:
    from wareboard.kiln.circles import KeepOut
    from wareboard.kiln.footprint import Footprint
    from wareboard.kiln.inside import KilnInside, Load, ShelfLayout

Place = tuple[float, float, float]  # x, y, and where the handle points, degrees anticlockwise from the right
TOLERANCE_MM = 0.2  # boxes hold tenths of a millimetre, and nobody sets a pot closer than that


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong with where a piece stands; ``hard`` where it cannot stand so, else it is only nearer than the rule."""

    shelf: int
    piece: int
    words: str
    hard: bool


def shapes(layout: ShelfLayout) -> list[Footprint]:
    """Each piece of a shelf as discs."""
    from wareboard.kiln.footprint import footprint

    sizes = zip(layout.diameters_mm, layout.handle_reach_mm, layout.handle_width_mm, strict=True)
    return [footprint(float(body), float(reach), float(strap)) for body, reach, strap in sizes]


def names(layout: ShelfLayout, lettered: Mapping[str, str]) -> list[str]:
    """Each piece's name on its shelf: the form's letter and a number."""
    found, counts = [], dict.fromkeys(layout.forms, 0)
    for form in layout.forms:
        counts[form] += 1
        found.append(f"{lettered[form]}{counts[form]}")
    return found


def places(layout: ShelfLayout) -> list[Place]:
    """Where each piece stands, to a tenth of a millimetre and of a degree."""
    both = zip(layout.centres_mm, layout.handle_angles_deg, strict=True)
    return [(round(float(x), 1), round(float(y), 1), round(float(angle), 1)) for (x, y), angle in both]


def moved(layout: ShelfLayout, to: Sequence[Place]) -> ShelfLayout:
    """The shelf with its pieces at other places.

    Raises:
        OutOfRange: if there is not one place for each piece.
    """
    if len(to) != len(layout.forms):
        raise OutOfRange(
            f"{len(to)} places on shelf {layout.level + 1}",
            f"{len(layout.forms)} pieces stand there",
            "Arrange it anew",
        )
    grid = np.array(to, dtype=np.float64).reshape(-1, 3)
    return replace(layout, centres_mm=grid[:, :2].copy(), handle_angles_deg=grid[:, 2].copy())


def made_from(load: Load) -> str:
    """A print of what was planned: which pieces of what size on which shelf; not where they stand."""
    told = [
        (
            each.shelf.name,
            each.level,
            each.half,
            each.forms,
            each.stacked.tolist(),
            np.round(each.diameters_mm, 1).tolist(),
        )
        for each in load
    ]
    return hashlib.sha256(repr(told).encode()).hexdigest()


def faults(
    load: Load,
    inside: KilnInside,
    gap_mm: float,
    lettered: Mapping[str, str],
    named: Sequence[Sequence[str]] | None = None,
) -> list[Fault]:
    """Everything that is wrong with where pieces stand, shelf by shelf.

    Args:
        named: the names of the pieces on each shelf; by default a letter and a number counted on each.
    """
    every = named or [names(layout, lettered) for layout in load]
    return [
        fault
        for at, (layout, own) in enumerate(zip(load, every, strict=True))
        for fault in _faults_on(at, layout, inside, gap_mm, own)
    ]


def _faults_on(
    at: int, layout: ShelfLayout, inside: KilnInside, gap_mm: float, named: Sequence[str]
) -> Iterator[Fault]:
    discs = _discs(layout, shapes(layout))
    over = room_over_mm(layout, inside)
    for i, own in enumerate(discs):
        beyond = _over_edge_mm(layout, own)
        if beyond > TOLERANCE_MM:
            wall = inside.shelf_to_wall_mm - beyond
            yield Fault(at, i, f"{named[i]} reaches {beyond:.0f} mm over the edge of the shelf{_from_wall(wall)}", True)
        elif beyond + inside.edge_mm > TOLERANCE_MM:
            wall = inside.shelf_to_wall_mm - beyond
            told = (
                f"{named[i]} is {-beyond:.0f} mm from the edge{_from_wall(wall)}; {inside.wall_gap_mm:.0f} mm is kept"
            )
            yield Fault(at, i, told, False)
        height = float(layout.heights_mm[i])
        if height > over + TOLERANCE_MM:
            yield Fault(at, i, f"{named[i]} is {height - over:.0f} mm taller than the room over its shelf", True)
        elif height + inside.top_gap_mm > over + TOLERANCE_MM:
            told = f"{named[i]} has {over - height:.0f} mm over it; {inside.top_gap_mm:.0f} mm is kept"
            yield Fault(at, i, told, False)
        for keep in _keep_outs(layout):
            room = float((np.hypot(own[:, 0] - keep.x_mm, own[:, 1] - keep.y_mm) - own[:, 2]).min()) - keep.radius_mm
            if room < keep.gap_mm - TOLERANCE_MM:
                yield _near(at, i, named[i], f"the {keep.what}", room, keep.gap_mm)
        for j in range(i):
            other = discs[j]
            apart = np.hypot(own[:, None, 0] - other[None, :, 0], own[:, None, 1] - other[None, :, 1])
            room = float((apart - own[:, None, 2] - other[None, :, 2]).min())
            if room < gap_mm - TOLERANCE_MM:
                yield _near(at, i, named[i], named[j], room, gap_mm)


def _from_wall(wall_mm: float) -> str:
    return f", {wall_mm:.0f} mm from wall and elements" if wall_mm > 0.0 else ", into the wall and its elements"


def _near(at: int, piece: int, name: str, other: str, room: float, wanted: float) -> Fault:
    if room < -TOLERANCE_MM:
        return Fault(at, piece, f"{name} stands {-room:.0f} mm in {other}", True)
    return Fault(at, piece, f"{name} is {max(room, 0.0):.1f} mm from {other}; {wanted:g} mm is kept", False)


def _discs(layout: ShelfLayout, found: Sequence[Footprint]) -> list[np.ndarray]:
    """Each piece's discs as rows x, y, radius."""
    angles = np.radians(layout.handle_angles_deg)
    return [
        np.column_stack((shape.discs_mm(centre, angle), shape.radius_mm))
        for shape, centre, angle in zip(found, layout.centres_mm, angles, strict=True)
    ]


def _over_edge_mm(layout: ShelfLayout, own: np.ndarray) -> float:
    floor = layout.shelf.floor()
    return max(float(floor.inset(float(radius)).over_edge_mm(np.array([x, y]))) for x, y, radius in own)


def _keep_outs(layout: ShelfLayout) -> tuple[KeepOut, ...]:
    return (*layout.posts, *layout.cone_packs, *layout.thermocouple)


def measures(load: Load, inside: KilnInside, gap_mm: float, pieces: Sequence[Piece]) -> dict[str, Any]:
    """For the page: each shelf's floor and what stands in the way, and every piece as discs, so that it reckons the same."""
    return {
        "gap": gap_mm,
        "edge": inside.edge_mm,
        "wall": inside.shelf_to_wall_mm,
        "wallGap": inside.wall_gap_mm,
        "topGap": inside.top_gap_mm,
        "tolerance": TOLERANCE_MM,
        "shelves": [_shelf_measures(layout, inside) for layout in load],
        "pieces": [
            {
                "key": piece.key,
                "name": piece.name,
                "form": piece.words,
                "height": piece.height_mm,
                "handle": piece.reach_mm > 0.0,
                "added": piece.added,
                "out": list(piece.shape.out_mm),
                "radius": list(piece.shape.radius_mm),
            }
            for piece in pieces
        ],
    }


def _shelf_measures(layout: ShelfLayout, inside: KilnInside) -> dict[str, Any]:
    floor = layout.shelf.floor()
    edge = floor.outline_mm()
    return {
        "radius": floor.radius_mm if math.isfinite(floor.radius_mm) else None,
        "sides": floor.sides.tolist(),
        "box": [*edge.min(axis=0).tolist(), *edge.max(axis=0).tolist()],
        "room": room_over_mm(layout, inside),
        "keepOuts": [[k.x_mm, k.y_mm, k.radius_mm, k.gap_mm, f"the {k.what}"] for k in _keep_outs(layout)],
    }
