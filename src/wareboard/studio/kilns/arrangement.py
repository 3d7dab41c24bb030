"""A planned load as it is arranged by hand: where each piece stands, what is in its way, and what is only too near.

The measure is the kiln room's own: a piece is its body and the strap of its handle as discs (`wareboard.kiln.footprint`).
The page reckons with the same discs, handed to it by `measures`. Lengths in mm from the middle of the shelf; y runs to
the back.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from wareboard.errors import OutOfRange, Problems, WareboardError
from wareboard.plan.fields import plain_number

if TYPE_CHECKING:
    from wareboard.kiln.circles import KeepOut
    from wareboard.kiln.footprint import Footprint
    from wareboard.kiln.inside import KilnInside, Load, ShelfLayout

Place = tuple[float, float, float]  # x, y, and where the handle points, degrees anticlockwise from the right
TOLERANCE_MM = 0.2  # boxes hold tenths of a millimetre, and nobody sets a pot closer than that
FURTHEST_MM = 5000.0


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


def names(layout: ShelfLayout, lettered: dict[str, str]) -> list[str]:
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


def faults(load: Load, inside: KilnInside, gap_mm: float, lettered: dict[str, str]) -> list[Fault]:
    """Everything that is wrong with where pieces stand, shelf by shelf."""
    return [fault for at, layout in enumerate(load) for fault in _faults_on(at, layout, inside, gap_mm, lettered)]


def _faults_on(
    at: int, layout: ShelfLayout, inside: KilnInside, gap_mm: float, lettered: dict[str, str]
) -> Iterator[Fault]:
    named, found = names(layout, lettered), shapes(layout)
    discs = _discs(layout, found)
    for i, own in enumerate(discs):
        over = _over_edge_mm(layout, own)
        if over > TOLERANCE_MM:
            yield Fault(at, i, f"{named[i]} reaches {over:.0f} mm over the edge of the shelf", True)
        elif over + inside.edge_mm > TOLERANCE_MM:
            yield Fault(at, i, f"{named[i]} is {-over:.0f} mm from the edge; {inside.edge_mm:.0f} mm is kept", False)
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


def _near(at: int, piece: int, name: str, other: str, room: float, wanted: float) -> Fault:
    if room < -TOLERANCE_MM:
        return Fault(at, piece, f"{name} stands in {other}", True)
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


def measures(load: Load, inside: KilnInside, gap_mm: float, lettered: dict[str, str]) -> list[dict[str, Any]]:
    """For the page: each shelf's floor, what stands in the way, and each piece as discs, so that it reckons the same."""
    return [
        {
            "gap": gap_mm,
            "edge": inside.edge_mm,
            "tolerance": TOLERANCE_MM,
            "radius": layout.shelf.floor().radius_mm if math.isfinite(layout.shelf.floor().radius_mm) else None,
            "sides": layout.shelf.floor().sides.tolist(),
            "keepOuts": [[k.x_mm, k.y_mm, k.radius_mm, k.gap_mm, f"the {k.what}"] for k in _keep_outs(layout)],
            "pieces": [
                {"name": name, "out": list(shape.out_mm), "radius": list(shape.radius_mm)}
                for name, shape in zip(names(layout, lettered), shapes(layout), strict=True)
            ],
        }
        for layout in load
    ]


def read_places(load: Load, posted: dict[str, str]) -> list[list[Place]]:
    """The places that boxes hold, a list for each shelf; a box left out keeps the planned figure.

    Raises:
        Problems: naming every box that is no length or angle.
    """
    found, problems = [], []
    for at, layout in enumerate(load):
        row = []
        for i, planned in enumerate(places(layout)):
            try:
                row.append(_place(posted, at, i, planned))
            except WareboardError as problem:
                problem.where = problem.where or f"shelf {at + 1}, piece {i + 1}"
                problems.append(problem)
                row.append(planned)
        found.append(row)
    if problems:
        raise Problems(problems, "Some places cannot be read")
    return found


def _place(posted: dict[str, str], at: int, i: int, planned: Place) -> Place:
    written = [posted.get(f"{what}-{at}-{i}", f"{was}") for what, was in zip("xya", planned, strict=True)]
    x, y, angle = (plain_number(each.replace("\N{MINUS SIGN}", "-")) for each in written)
    if max(abs(x), abs(y)) > FURTHEST_MM:
        raise OutOfRange(f"{max(abs(x), abs(y)):g} mm", "no shelf reaches so far from its middle", "Give mm")
    return x, y, angle % 360.0
