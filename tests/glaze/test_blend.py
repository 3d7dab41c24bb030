"""Blends and their tables.

Counts: line of n tiles, steps 100 / (n - 1) %; triaxial of r rows r(r + 1)/2 tiles, (r - 2)(r - 3)/2 of them inside;
four corners in quarters 35; grid a x b. Thirty-five glazes in a grid of 5 x 7 from four corners of 300 g: I. Currie,
Revealing Glazes.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import OutOfRange
from wareboard.glaze.blend import (
    Blend,
    CornerSlip,
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
from wareboard.glaze.formula import analysis_wt, fired_g_per_100, unity
from wareboard.glaze.material import shelf
from wareboard.glaze.recipe import Recipe

FELDSPATHIC = Recipe("feldspathic", {"potash feldspar": 70, "silica / flint": 20, "whiting": 10}, {"red iron oxide": 2})
LIMY = Recipe("limy", {"potash feldspar": 30, "whiting": 30, "kaolin": 20, "silica / flint": 20})
CLAYEY = Recipe("clayey", {"potash feldspar": 40, "kaolin": 50, "whiting": 10})


@pytest.mark.parametrize(("tiles", "step"), [(11, 0.10), (5, 0.25)])
def test_a_line_has_even_steps(tiles: int, step: float) -> None:
    blend = line(("A", "B"), tiles)
    shares = [tile.shares.get("B", 0.0) for tile in blend.tiles]
    assert shares == pytest.approx([k * step for k in range(tiles)])


@pytest.mark.parametrize(("rows", "tiles", "inside"), [(4, 10, 1), (5, 15, 3), (6, 21, 6), (11, 66, 36)])
def test_a_triaxial_has_the_counted_tiles(rows: int, tiles: int, inside: int) -> None:
    blend = triaxial(("A", "B", "C"), rows)
    assert len(blend.tiles) == tiles
    assert sum(len(tile.shares) == 3 for tile in blend.tiles) == inside
    assert len({tuple(tile.shares.items()) for tile in blend.tiles}) == tiles


def test_four_corners_in_quarters_make_thirty_five() -> None:
    blend = four_corners(("A", "B", "C", "D"), 4)
    assert len(blend.tiles) == 35 == math.comb(7, 3)
    assert len({tuple(tile.shares.items()) for tile in blend.tiles}) == 35


def test_a_grid_of_five_by_seven_takes_the_same_of_each_corner() -> None:
    """35 tiles; 300 g of each corner are 1200 g in all, so 34.3 g a tile."""
    blend = quadraxial(("A", "B", "C", "D"), 5, 7)
    assert len(blend.tiles) == 35
    for name in blend.corners:
        assert sum(tile.shares.get(name, 0.0) for tile in blend.tiles) * 1200 / 35 == pytest.approx(300)


ALL = [
    line(("A", "B"), 7), triaxial(("A", "B", "C"), 6), quadraxial(("A", "B", "C", "D"), 4, 5),
    four_corners(("A", "B", "C", "D"), 5),
]  # fmt: skip


@pytest.mark.parametrize("blend", ALL, ids=lambda blend: blend.kind)
def test_shares_add_up_and_codes_are_all_different(blend: Blend) -> None:
    codes = [tile.code for tile in blend.tiles]
    assert len(set(codes)) == len(codes)
    assert not any(letter in code for code in codes for letter in "IO")
    for tile in blend.tiles:
        assert sum(tile.shares.values()) == pytest.approx(1.0)
        assert blend.tile(tile.code.lower()) is tile
    for name in blend.corners:
        assert any(tile.shares.get(name, 0.0) == pytest.approx(1.0) for tile in blend.tiles)


@given(st.integers(2, 9))
def test_a_blended_recipe_holds_the_blended_oxides(rows: int) -> None:
    """Law: grams of each oxide to 100 of base are the same blend of the corners' grams."""
    corners = {"A": FELDSPATHIC, "B": LIMY, "C": CLAYEY}
    blend = triaxial(("A", "B", "C"), rows)
    for code, recipe in recipes(blend, corners).items():
        shares = blend.tile(code).shares
        found = fired_g_per_100(recipe)
        for formula, grams in found.items():
            blended = sum(share * fired_g_per_100(corners[name]).get(formula, 0.0) for name, share in shares.items())
            assert grams == pytest.approx(blended)


def test_weigh_out_never_asks_for_less_than_the_scale_can_show() -> None:
    tiles = recipes(triaxial(("A", "B", "C"), 6), {"A": FELDSPATHIC, "B": LIMY, "C": CLAYEY})
    least_g = least_base_g(tiles, 0.1)
    assert least_g == pytest.approx(0.5 / (0.2 * 0.02))  # a fifth of the iron's 2 %
    with pytest.raises(OutOfRange, match="125 g a tile"):
        weigh_out(tiles, 100)
    for batch in weigh_out(tiles, 125).values():
        assert min(line.grams for line in batch.lines) >= 0.5 - 1e-9
        assert batch.dry_g >= 125 - 0.5


def test_slips_of_one_density_are_drawn_by_the_shares() -> None:
    blend = line(("A", "B"), 5)
    measured = by_volume(blend, {"A": CornerSlip(0.75), "B": CornerSlip(0.75)}, 100)
    assert dict(measured.volumes_ml["A2"]) == {"A": 75, "B": 25}
    assert dict(measured.corner_ml) == {"A": 250, "B": 250}


@given(st.floats(0.4, 1.0), st.floats(0.4, 1.0))
def test_slips_of_unlike_density_still_give_the_dry_shares(first: float, second: float) -> None:
    blend = line(("A", "B"), 5)
    measured = by_volume(blend, {"A": CornerSlip(first), "B": CornerSlip(second)}, 1000, 0.01)
    for tile in blend.tiles:
        dry = {name: ml * {"A": first, "B": second}[name] for name, ml in measured.volumes_ml[tile.code].items()}
        for name, share in tile.shares.items():
            assert dry[name] / sum(dry.values()) == pytest.approx(share, abs=1e-4)


def test_volumes_too_small_for_the_measure_are_refused_with_a_way_on() -> None:
    slips = {"A": CornerSlip(0.75), "B": CornerSlip(0.75)}
    with pytest.raises(OutOfRange, match="times as large"):
        by_volume(line(("A", "B"), 11), slips, 20)
    assert by_volume(line(("A", "B"), 11), slips, 50).volumes_ml["A2"]["B"] == 5


def test_the_grid_meets_every_alumina_and_silica_with_the_fluxes_kept() -> None:
    flux_part = Recipe("fluxes", {"potash feldspar": 50, "whiting": 25})
    fluxes = unity(analysis_wt(flux_part))
    tiles = alumina_silica_grid(flux_part, [0.4, 0.5, 0.6], [2.5, 3.5, 4.5], shelf())
    assert [tile.code for tile in tiles] == ["A1", "A2", "A3", "B1", "B2", "B3", "C1", "C2", "C3"]
    for tile in tiles:
        assert tile.recipe is not None
        found = unity(analysis_wt(tile.recipe))
        wanted = {"K2O": fluxes["K2O"], "CaO": fluxes["CaO"], "Al2O3": tile.alumina, "SiO2": tile.silica}
        assert dict(found) == pytest.approx(wanted, abs=1e-6)


def test_a_tile_out_of_reach_says_why() -> None:
    flux_part = Recipe("fluxes", {"potash feldspar": 50, "whiting": 25})
    low, poor = alumina_silica_grid(flux_part, [0.1], [3.0], shelf()) + alumina_silica_grid(
        flux_part, [0.9], [1.9], shelf()
    )
    assert low.recipe is None
    assert "alumina" in low.reason
    assert poor.recipe is None
    assert "silica" in poor.reason
    with pytest.raises(OutOfRange, match="flux of its own"):
        alumina_silica_grid(flux_part, [0.5], [3], shelf(), clay="ball clay (typical, Tennessee)")


def test_blends_that_cannot_be_are_refused() -> None:
    with pytest.raises(OutOfRange, match="corners"):
        line(("A", "A"), 3)
    with pytest.raises(OutOfRange, match="tiles"):
        line(("A", "B"), 1)
    with pytest.raises(OutOfRange, match="rows"):
        triaxial(("A", "B", "C"), 40)
    with pytest.raises(OutOfRange, match="no recipe"):
        recipes(line(("A", "B"), 3), {"A": LIMY})
    with pytest.raises(OutOfRange, match="codes run"):
        line(("A", "B"), 3).tile("Z9")
