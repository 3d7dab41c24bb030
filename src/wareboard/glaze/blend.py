"""Blends: which tiles to make, what share of each corner is in each, and how to weigh or measure them out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.glaze.formula import analysis_wt, unity
from wareboard.glaze.material import Material, material
from wareboard.glaze.oxide import molar_mass_g, oxides
from wareboard.glaze.recipe import LEAST_STEPS_A_LINE, Batch, Recipe, scaled

# I and O are left out: on a tile they are read as 1 and 0.
ROW_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
# A clay or flint that brings more flux than this, in moles to one of the base, would move the flux that is to stay.
MOST_FLUX_BROUGHT = 0.005
# A share below this is nought that rounding has left behind.
NO_SHARE = 1e-9


@dataclass(frozen=True, slots=True)
class Tile:
    """One tile: what to scratch on its back, and the share of each corner in it (fractions that add up to 1)."""

    code: str
    shares: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Blend:
    """A set of tiles between corners."""

    kind: str
    corners: tuple[str, ...]
    tiles: tuple[Tile, ...]

    def tile(self, code: str) -> Tile:
        """The tile of that code.

        Raises:
            OutOfRange: if there is none.
        """
        for tile in self.tiles:
            if tile.code == code.upper().strip():
                return tile
        raise OutOfRange(
            f"tile {code!r}", f"codes run from {self.tiles[0].code} to {self.tiles[-1].code}", "Read the tile again"
        )


def _code(row: int, column: int) -> str:
    if row >= len(ROW_LETTERS):
        raise OutOfRange(f"{row + 1} rows", f"a blend has {len(ROW_LETTERS)} at most", "Take wider steps")
    return f"{ROW_LETTERS[row]}{column + 1}"


def _corners(names: Sequence[str], count: int) -> tuple[str, ...]:
    if len(names) != count or len(set(names)) != count:
        raise OutOfRange(
            f"corners {', '.join(names)}", f"this blend has {count} corners, each of another name", "Name them so"
        )
    return tuple(names)


def _at_least(number: int, least: int, what: str) -> None:
    if number < least:
        raise OutOfRange(f"{number} {what}", f"there must be {least} at least", f"Give {least} or more")


def _tile(code: str, corners: Sequence[str], shares: Sequence[float]) -> Tile:
    held = {name: share for name, share in zip(corners, shares, strict=True) if share > NO_SHARE}
    return Tile(code, MappingProxyType(held))


def line(corners: Sequence[str], tiles: int) -> Blend:
    """A line between two corners; steps of 1 / (tiles - 1).

    Raises:
        OutOfRange: for fewer than 2 tiles, or corners that are not two names.
    """
    ends = _corners(corners, 2)
    _at_least(tiles, 2, "tiles")
    steps = tiles - 1
    return Blend("line", ends, tuple(_tile(_code(0, k), ends, ((steps - k) / steps, k / steps)) for k in range(tiles)))


def triaxial(corners: Sequence[str], rows: int) -> Blend:
    """A triangle between three corners: rows * (rows + 1) / 2 tiles, steps of 1 / (rows - 1).

    The first corner is the top, the second the left end of the last row, the third its right end.

    Raises:
        OutOfRange: for fewer than 2 rows, or corners that are not three names.
    """
    ends = _corners(corners, 3)
    _at_least(rows, 2, "rows")
    steps = rows - 1
    tiles = [
        _tile(_code(row, column), ends, ((steps - row) / steps, (row - column) / steps, column / steps))
        for row in range(rows)
        for column in range(row + 1)
    ]
    return Blend("triaxial", ends, tuple(tiles))


def quadraxial(corners: Sequence[str], rows: int, columns: int) -> Blend:
    """A grid of rows x columns between four corners: top left, top right, bottom left, bottom right.

    Source: blending in two directions at once, as I. Currie does for his grids of 5 x 7.

    Raises:
        OutOfRange: for fewer than 2 rows or columns, or corners that are not four names.
    """
    ends = _corners(corners, 4)
    _at_least(rows, 2, "rows")
    _at_least(columns, 2, "columns")
    tiles = []
    for row in range(rows):
        for column in range(columns):
            down, along = row / (rows - 1), column / (columns - 1)
            shares = ((1 - down) * (1 - along), (1 - down) * along, down * (1 - along), down * along)
            tiles.append(_tile(_code(row, column), ends, shares))
    return Blend("quadraxial", ends, tuple(tiles))


def four_corners(corners: Sequence[str], steps: int) -> Blend:
    """Every mix of four corners in steps of 1 / steps: (steps + 1)(steps + 2)(steps + 3) / 6 tiles.

    A row holds the tiles of one share of the first corner.

    Raises:
        OutOfRange: for fewer than 1 step, or corners that are not four names.
    """
    ends = _corners(corners, 4)
    _at_least(steps, 1, "steps")
    tiles = []
    for row in range(steps + 1):
        mixes = [
            (second, row - second - fourth, fourth)
            for second in range(row, -1, -1)
            for fourth in range(row - second + 1)
        ]
        for column, (second, third, fourth) in enumerate(mixes):
            counts = (steps - row, second, third, fourth)
            tiles.append(_tile(_code(row, column), ends, [count / steps for count in counts]))
    return Blend("four corners", ends, tuple(tiles))


def recipes(blend: Blend, corners: Mapping[str, Recipe]) -> Mapping[str, Recipe]:
    """The recipe of each tile, by its code: bases blended by weight, additions by their per cent of the base.

    Raises:
        OutOfRange: if a corner has no recipe.
    """
    missing = [name for name in blend.corners if name not in corners]
    if missing:
        raise OutOfRange(f"corner {missing[0]!r}", "it has no recipe", "Give a recipe for each corner")
    whole = {name: corners[name].to_100() for name in blend.corners}
    return MappingProxyType({tile.code: _blended(tile, whole) for tile in blend.tiles})


def _blended(tile: Tile, corners: Mapping[str, Recipe]) -> Recipe:
    base: dict[str, float] = {}
    additions: dict[str, float] = {}
    for name, share in tile.shares.items():
        for held, into in ((corners[name].base, base), (corners[name].additions, additions)):
            for entry, parts in held.items():
                into[entry] = into.get(entry, 0.0) + share * parts
    return Recipe(f"tile {tile.code}", base, additions)


def least_base_g(tiles: Mapping[str, Recipe], scale_step_g: float = 0.1) -> float:
    """Least weight of base a tile that a scale can weigh every line of, g.

    Raises:
        OutOfRange: if the scale's step is not a finite number above 0.
    """
    positive(scale_step_g, "scale step", "g")
    smallest = min(
        parts / (100.0 if on_top else recipe.base_parts)
        for recipe in tiles.values()
        for on_top, held in ((False, recipe.base), (True, recipe.additions))
        for parts in held.values()
        if parts > 0
    )
    return LEAST_STEPS_A_LINE * scale_step_g / smallest


def weigh_out(tiles: Mapping[str, Recipe], base_g: float, scale_step_g: float = 0.1) -> Mapping[str, Batch]:
    """What to weigh for each tile, every line at least five steps of the scale.

    Raises:
        OutOfRange: if a line would be too light; the least weight a tile is named, and the other way: by volume of slip.
    """
    positive(base_g, "base a tile", "g")
    least_g = least_base_g(tiles, scale_step_g)
    if base_g < least_g * (1 - 1e-9):
        raise OutOfRange(
            f"{base_g:g} g a tile",
            why=f"some lines would be too light for a scale that reads to {scale_step_g:g} g",
            mend=f"Weigh {math.ceil(least_g)} g a tile or more, or mix the corners as slip and measure them by volume",
        )
    return MappingProxyType(
        {code: scaled(recipe, base_g=base_g, scale_step_g=scale_step_g) for code, recipe in tiles.items()}
    )


@dataclass(frozen=True, slots=True)
class CornerSlip:
    """A corner mixed as slip: dry glaze in a millilitre, and its dry weight to one of base (1 without additions)."""

    dry_g_per_ml: float
    dry_to_base: float = 1.0


@dataclass(frozen=True, slots=True)
class Measured:
    """Volumes to draw for each tile, ml, rounded to the measure, and what to mix of each corner."""

    volumes_ml: Mapping[str, Mapping[str, float]]
    corner_ml: Mapping[str, float]
    measure_step_ml: float


def by_volume(blend: Blend, slips: Mapping[str, CornerSlip], tile_ml: float, measure_step_ml: float = 1.0) -> Measured:
    """How much of each corner's slip to draw for each tile so that the dry glazes stand in the tile's shares.

    Slips of unlike density are allowed for: the thinner one gives more volume.

    Args:
        tile_ml: slip a tile, about; rounding moves it a little.
        measure_step_ml: what the syringe or cylinder reads to, ml.
    Raises:
        OutOfRange: if a volume would be below five steps of the measure, or a corner has no slip.
    Source: conservation of mass.
    """
    positive(tile_ml, "slip a tile", "ml")
    positive(measure_step_ml, "measure step", "ml")
    missing = [name for name in blend.corners if name not in slips]
    if missing:
        raise OutOfRange(f"corner {missing[0]!r}", "it has no slip", "Give the dry glaze in a ml of each corner")
    for name, slip in slips.items():
        positive(slip.dry_g_per_ml, f"dry glaze in a ml of {name}", "g")
        positive(slip.dry_to_base, f"dry weight to base of {name}")
    volumes: dict[str, Mapping[str, float]] = {}
    for tile in blend.tiles:
        needed = {
            name: share * slips[name].dry_to_base / slips[name].dry_g_per_ml for name, share in tile.shares.items()
        }
        whole = math.fsum(needed.values())
        volumes[tile.code] = {
            name: _to_step(tile_ml * part / whole, measure_step_ml, tile.code, name) for name, part in needed.items()
        }
    totals = {name: math.fsum(drawn.get(name, 0.0) for drawn in volumes.values()) for name in blend.corners}
    return Measured(MappingProxyType(volumes), MappingProxyType(totals), measure_step_ml)


def _to_step(volume_ml: float, step_ml: float, code: str, corner: str) -> float:
    if volume_ml < LEAST_STEPS_A_LINE * step_ml * (1 - 1e-9):
        raise OutOfRange(
            f"{volume_ml:.2g} ml of {corner} in tile {code}",
            why=f"a measure that reads to {step_ml:g} ml cannot show it within a tenth",
            mend=f"Make the tiles {math.ceil(LEAST_STEPS_A_LINE * step_ml / volume_ml * 10) / 10:g} times as large, "
            "or take a finer syringe",
        )
    return round(math.floor(volume_ml / step_ml + 0.5) * step_ml, 9)


@dataclass(frozen=True, slots=True)
class GridTile:
    """One tile of an alumina-silica grid; no recipe where the flux part alone brings too much."""

    code: str
    alumina: float
    silica: float
    recipe: Recipe | None
    reason: str = ""


def alumina_silica_grid(
    flux_part: Recipe,
    aluminas: Sequence[float],
    silicas: Sequence[float],
    materials: Mapping[str, Material],
    *,
    clay: str = "kaolin",
    flint: str = "silica / flint",
) -> tuple[GridTile, ...]:
    """Recipes over a grid of alumina (rows) and silica (columns), moles to one of flux, with the fluxes left as they are.

    Clay and flint are added to ``flux_part`` until the tile's two figures are met.

    Raises:
        OutOfRange: if the flux part holds no flux, the clay holds no alumina or the flint no silica, or either brings flux.
        NotInTable, Problems: for materials that are not on the shelf.
    Source: two equations in two unknowns; the idea of a grid at constant flux is R. T. Stull's, 1912, from memory.
    """
    start = unity(analysis_wt(flux_part, materials))
    grams = _grams_a_mole_of_flux(flux_part, materials)
    clay_brings = _brings(material(clay, materials), "Al2O3")
    flint_brings = _brings(material(flint, materials), "SiO2")
    tiles = []
    for row, alumina in enumerate(aluminas):
        for column, silica in enumerate(silicas):
            clay_g = (alumina - start.get("Al2O3", 0.0)) / clay_brings["Al2O3"]
            silica_left = silica - start.get("SiO2", 0.0) - clay_g * clay_brings.get("SiO2", 0.0)
            flint_g = silica_left / flint_brings["SiO2"]
            code = _code(row, column)
            if min(clay_g, flint_g) < -NO_SHARE:
                short = "alumina" if clay_g < 0 else "silica"
                tiles.append(GridTile(code, alumina, silica, None, f"the rest of it already brings more {short}"))
                continue
            base = {name: parts / flux_part.base_parts * grams for name, parts in flux_part.base.items()}
            base[clay] = base.get(clay, 0.0) + max(clay_g, 0.0)
            base[flint] = base.get(flint, 0.0) + max(flint_g, 0.0)
            kept = {name: amount for name, amount in base.items() if amount > 0}
            tiles.append(GridTile(code, alumina, silica, Recipe(f"tile {code}", kept, flux_part.additions).to_100()))
    return tuple(tiles)


def _grams_a_mole_of_flux(recipe: Recipe, materials: Mapping[str, Material]) -> float:
    moles = 0.0
    for name, parts in recipe.base.items():
        for formula, wt in material(name, materials).oxides_wt.items():
            if oxides()[formula].is_flux:
                moles += parts / recipe.base_parts * wt / 100.0 / molar_mass_g(formula)
    return 1.0 / moles


def _brings(entry: Material, wanted: str) -> Mapping[str, float]:
    """Moles of each oxide in a gram."""
    held = {formula: wt / 100.0 / molar_mass_g(formula) for formula, wt in entry.oxides_wt.items()}
    if wanted not in held:
        raise OutOfRange(f"{entry.name} as a source of {wanted}", "it holds none", "Name another material")
    flux = math.fsum(count for formula, count in held.items() if oxides()[formula].is_flux)
    if flux > MOST_FLUX_BROUGHT * math.fsum(held.values()):
        raise OutOfRange(
            f"{entry.name} in a grid at constant flux", "it brings flux of its own", "Take a clay or flint without flux"
        )
    return held
