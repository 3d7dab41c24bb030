"""A plain second reading of a layout, written apart from the code that makes layouts, for the tests to hold it to."""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from wareboard.kiln.load import (
    HalfOctagonalShelf,
    HalfRoundShelf,
    KilnInside,
    LoadPlan,
    OctagonalShelf,
    RectangularShelf,
    RoundShelf,
    ShelfLayout,
)

SLACK_MM = 2e-6
ROUNDNESS = 128  # pieces in a quarter of shapely's discs: a disc of 200 mm is drawn true to 0.002 mm


def disc(x: float, y: float, diameter_mm: float, quad_segs: int = ROUNDNESS) -> BaseGeometry:
    return Point(x, y).buffer(diameter_mm / 2.0, quad_segs=quad_segs)


def outline(shelf: object) -> BaseGeometry:
    """The shelf's outline, from its own measurements alone."""
    match shelf:
        case RoundShelf():
            return disc(0.0, 0.0, shelf.diameter_mm, 8 * ROUNDNESS)
        case HalfRoundShelf():
            wide = shelf.diameter_mm
            return disc(0.0, 0.0, wide, 8 * ROUNDNESS).intersection(box(-wide, 0.0, wide, wide))
        case RectangularShelf():
            return box(-shelf.width_mm / 2, -shelf.depth_mm / 2, shelf.width_mm / 2, shelf.depth_mm / 2)
        case OctagonalShelf() | HalfOctagonalShelf():
            corner = shelf.across_flats_mm / 2.0 / math.cos(math.pi / 8.0)
            turns = [math.pi / 8.0 + k * math.pi / 4.0 for k in range(8)]
            whole = Polygon([(corner * math.cos(a), corner * math.sin(a)) for a in turns])
            if isinstance(shelf, OctagonalShelf):
                return whole
            return whole.intersection(box(-corner, 0.0, corner, corner))
    raise AssertionError(f"no outline known for {shelf!r}")


def faults_of_equal_discs(
    centres_mm: np.ndarray, diameter_mm: float, shelf: object, clearance_mm: float = 0.0, edge_mm: float = 0.0
) -> list[str]:
    """Every pair too close and every disc over the edge, in words; empty if the places are sound."""
    faults: list[str] = []
    for i, (x, y) in enumerate(centres_mm):
        for j in range(i):
            gap = math.dist((x, y), centres_mm[j]) - diameter_mm
            if gap < clearance_mm - SLACK_MM:
                faults.append(f"{j} and {i} are {gap} mm apart")
    for i, (x, y) in enumerate(centres_mm):
        room = room_to_edge_mm(shelf, x, y) - diameter_mm / 2.0
        if room < edge_mm - SLACK_MM:
            faults.append(f"{i} is {room} mm from the edge")
    return faults


def room_to_edge_mm(shelf: object, x: float, y: float) -> float:
    """Distance from a point to the nearest edge, negative outside, from the shelf's own measurements alone."""
    match shelf:
        case RoundShelf():
            return shelf.diameter_mm / 2.0 - math.hypot(x, y)
        case HalfRoundShelf():
            return min(shelf.diameter_mm / 2.0 - math.hypot(x, y), y)
        case RectangularShelf():
            return min(shelf.width_mm / 2.0 - abs(x), shelf.depth_mm / 2.0 - abs(y))
        case OctagonalShelf() | HalfOctagonalShelf():
            flats = min(
                shelf.across_flats_mm / 2.0 - max(abs(x), abs(y)),
                shelf.across_flats_mm / 2.0 - (abs(x) + abs(y)) / math.sqrt(2.0),
            )
            return flats if isinstance(shelf, OctagonalShelf) else min(flats, y)
    raise AssertionError(f"no edge known for {shelf!r}")


def footprint(layout: ShelfLayout, i: int) -> BaseGeometry:
    """Body and handle of one piece, seen from above."""
    x, y = layout.centres_mm[i]
    body = disc(x, y, layout.diameters_mm[i])
    reach, width = layout.handle_reach_mm[i], layout.handle_width_mm[i]
    if reach <= 0.0:
        return body
    angle = math.radians(layout.handle_angles_deg[i])
    tip = layout.diameters_mm[i] / 2.0 + reach - width / 2.0
    line = LineString([(x, y), (x + tip * math.cos(angle), y + tip * math.sin(angle))])
    return body.union(line.buffer(width / 2.0, quad_segs=ROUNDNESS))


def faults_of_layout(layout: ShelfLayout, gap_mm: float, kiln: KilnInside) -> list[str]:
    """Pieces too close to one another, to posts, cone packs or thermocouple, or over the edge; empty if none."""
    faults: list[str] = []
    shapes = [footprint(layout, i) for i in range(len(layout.forms))]
    near = 5e-3  # discs are drawn as polygons inside them
    place = outline(layout.shelf).buffer(near - kiln.edge_mm)
    reach = layout.diameters_mm / 2.0 + layout.handle_reach_mm
    for i, shape in enumerate(shapes):
        close = [j for j in range(i) if math.dist(*layout.centres_mm[[i, j]]) < reach[i] + reach[j] + gap_mm]
        gaps = {j: shape.distance(shapes[j]) for j in close}
        faults += [f"pieces {j} and {i} are {gap:.4f} mm apart" for j, gap in gaps.items() if gap < gap_mm - near]
        faults += [f"{j} stands in {i}" for j in close if shape.intersection(shapes[j]).area > 1.0]
        bodies = {j: math.dist(*layout.centres_mm[[i, j]]) - layout.diameters_mm[[i, j]].sum() / 2.0 for j in close}
        faults += [f"bodies {j} and {i} are {gap} mm apart" for j, gap in bodies.items() if gap < gap_mm - SLACK_MM]
        if not place.contains(shape):
            faults.append(f"piece {i} is over the edge")
        for keep in (*layout.posts, *layout.cone_packs, *layout.thermocouple):
            gap = shape.distance(Point(keep.x_mm, keep.y_mm)) - keep.radius_mm
            if gap < keep.gap_mm - near:
                faults.append(f"piece {i} is {gap:.3f} mm from the {keep.what}")
    return faults


def faults_of_plan(plan: LoadPlan, wanted: dict[str, int]) -> list[str]:
    """Everything wrong with a plan: pieces missing, layouts, heights; empty if it is sound."""
    faults: list[str] = []
    got: dict[str, int] = {}
    kiln = plan.kiln
    for load in plan.loads:
        for half in {layout.half for layout in load}:
            column = [layout for layout in load if layout.half == half]
            face = kiln.bottom_post_mm
            for layout in column:
                face += kiln.loaded_shelf.thickness_mm
                if abs(face - layout.level_mm) > 1e-9:
                    faults.append(f"shelf at {layout.level_mm} should be at {face}")
                tallest = float(max(layout.heights_mm))
                above = layout.post_mm if layout is not column[-1] else kiln.usable_height_mm - face
                if above < tallest + kiln.top_gap_mm - 1e-9:
                    faults.append(f"{above} mm over ware of {tallest} mm")
                if layout is not column[-1] and len(layout.posts) != 3:
                    faults.append("a shelf stands on other than three posts")
                face += layout.post_mm
        for layout in load:
            faults += faults_of_layout(layout, plan.gap_mm, kiln)
            for form, count in layout.counts.items():
                got[form] = got.get(form, 0) + count
    if got != {form: count for form, count in wanted.items() if count}:
        faults.append(f"placed {got}, wanted {wanted}")
    return faults
