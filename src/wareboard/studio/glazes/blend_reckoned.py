"""A blend that is kept, worked out again: its tiles, their recipes, what to weigh or to measure for each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from wareboard.book.glazes import rooms
from wareboard.book.glazes.models import BlendPlan, TestTile
from wareboard.errors import OutOfRange, WareboardError
from wareboard.glaze.blend import (
    Blend,
    CornerSlip,
    GridTile,
    Measured,
    alumina_silica_grid,
    by_volume,
    four_corners,
    least_base_g,
    line,
    quadraxial,
    recipes,
    triaxial,
    weigh_out,
)
from wareboard.glaze.recipe import Batch, Recipe
from wareboard.glaze.slip import dry_content_g
from wareboard.quantities import show_share

MOST_TILES = 200
STEP_UP_G = 5.0


def corners_of(plan: BlendPlan) -> dict[str, Recipe]:
    """The recipe of each corner as it was when the blend was laid out."""
    return {
        corner["name"]: rooms.recipe_of(corner["name"], corner["base"], corner["additions"]) for corner in plan.corners
    }


def blend_of(plan: BlendPlan) -> Blend:
    """The tiles between the corners. A grid is none: see `grid_of`."""
    names, figures = [corner["name"] for corner in plan.corners], plan.figures
    if plan.kind == "line":
        return line(names, figures["tiles"])
    if plan.kind == "triaxial":
        return triaxial(names, figures["rows"])
    if plan.kind == "four":
        return four_corners(names, figures["steps"])
    if plan.kind == "quadraxial":
        return quadraxial(names, figures["rows"], figures["columns"])
    raise OutOfRange(f"blend {plan.kind!r}", "it is laid out by its formula, not between corners", "Use its grid")


def grid_of(plan: BlendPlan) -> tuple[GridTile, ...]:
    """The tiles of an alumina against silica grid, with the fluxes left as they are."""
    (flux_part,) = corners_of(plan).values()
    figures = plan.figures
    return alumina_silica_grid(
        flux_part, figures["aluminas"], figures["silicas"], rooms.whole_shelf(), clay=figures["clay"],
        flint=figures["flint"],
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a blend: its code, what is in it in words, its recipe or why it has none."""

    code: str
    words: tuple[str, ...]
    recipe: Recipe | None
    reason: str = ""


def places_of(plan: BlendPlan) -> tuple[Place, ...]:
    """Every place of a blend, in order.

    Raises:
        OutOfRange, NotInTable: for a blend that cannot be laid out.
    """
    if plan.kind == "grid":
        return _few([
            Place(tile.code, (f"Al2O3 {tile.alumina:.3g}", f"SiO2 {tile.silica:.3g}"), tile.recipe, tile.reason)
            for tile in grid_of(plan)
        ])  # fmt: skip
    laid = blend_of(plan)
    made = recipes(laid, corners_of(plan))
    return _few([
        Place(tile.code, tuple(f"{show_share(share)} {name}" for name, share in tile.shares.items()), made[tile.code])
        for tile in laid.tiles
    ])  # fmt: skip


def _few(places: Sequence[Place]) -> tuple[Place, ...]:
    if len(places) > MOST_TILES:
        raise OutOfRange(f"{len(places)} tiles", f"{MOST_TILES} are the most", "Take wider steps")
    return tuple(places)


def recipe_of_tile(tile: TestTile) -> Recipe | None:
    """What is on a tile: a version's recipe, or that of its place in a blend."""
    if tile.version is not None:
        return rooms.as_recipe(tile.version)
    if tile.blend is None:
        return None
    return next((place.recipe for place in places_of(tile.blend) if place.code == tile.place_in_blend), None)


@dataclass(frozen=True, slots=True)
class Table:
    """A weigh-out table: a row for each tile, a column for each material; ``least_g`` is the least base a tile."""

    materials: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...], str], ...]
    base_g: float
    least_g: float
    totals: tuple[str, ...]


def weigh_table(places: Sequence[Place], base_g: float | None, scale_g: float) -> Table:
    """What to weigh for each tile, no line below five steps of the scale; without a weight, the least that will do.

    Raises:
        OutOfRange: if a line would be too light for the scale; the least weight is named.
    """
    made = {place.code: place.recipe for place in places if place.recipe is not None}
    if not made:
        raise OutOfRange("this blend", "no place of it has a recipe", "Take other alumina and silica")
    least = least_base_g(made, scale_g)
    chosen = base_g if base_g is not None else STEP_UP_G * math.ceil(least / STEP_UP_G - 1e-9)
    weighed = weigh_out(made, chosen, scale_g)
    names = tuple(dict.fromkeys(each.material for batch in weighed.values() for each in batch.lines))
    rows = tuple((code, _row(batch, names), f"{batch.dry_g:g}") for code, batch in weighed.items())
    totals = tuple(
        f"{sum(each.grams for batch in weighed.values() for each in batch.lines if each.material == name):.6g}"
        for name in names
    )
    return Table(names, rows, chosen, least, totals)


def _row(batch: Batch, names: Sequence[str]) -> tuple[str, ...]:
    held: dict[str, float] = {}
    for each in batch.lines:
        held[each.material] = held.get(each.material, 0.0) + each.grams
    return tuple(f"{held[name]:g}" if name in held else "" for name in names)


def measured(plan: BlendPlan, tile_ml: float, step_ml: float, gravities: Sequence[float], density: float) -> Measured:
    """What to draw of each corner's slip for each tile.

    Raises:
        OutOfRange: if a volume would be too small to measure, or the gravities are neither one nor one for each corner.
    """
    laid, made = blend_of(plan), corners_of(plan)
    if len(gravities) not in (1, len(laid.corners)):
        raise OutOfRange(
            f"{len(gravities)} specific gravities",
            f"there are {len(laid.corners)} corners",
            "Give one, or one for each",
        )
    each = list(gravities) * (len(laid.corners) if len(gravities) == 1 else 1)
    slips = {
        name: CornerSlip(dry_content_g(1.0, gravity, density), made[name].dry_parts / 100.0)
        for name, gravity in zip(laid.corners, each, strict=True)
    }
    return by_volume(laid, slips, tile_ml, step_ml)


def drawn_rows(laid: Measured, corners: Sequence[str]) -> list[tuple[str, list[str]]]:
    """A row for each tile: what to draw of each corner, ml."""
    return [
        (code, [f"{drawn[name]:g}" if name in drawn else "" for name in corners])
        for code, drawn in laid.volumes_ml.items()
    ]


def checked(plan: BlendPlan) -> str:
    """Why a blend cannot be laid out, blank where it can."""
    try:
        places_of(plan)
    except WareboardError as problem:
        return str(problem)
    return ""


def by_row(places: Sequence[Place]) -> Mapping[str, list[Place]]:
    """The places by the letter of their row."""
    rows: dict[str, list[Place]] = {}
    for place in places:
        rows.setdefault(place.code[0], []).append(place)
    return rows
