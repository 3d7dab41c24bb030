"""Zones of an artwork: known areas, few coats, no thin parts, colours out of reach, and what is refused. All is invented."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import distance_transform_edt, label

from tests.clay.working import meets_its_working
from tests.paint.invented_artwork import COLOURS, petals
from tests.paint.invented_tiles import BODY, TILES, tile
from wareboard.errors import OutOfRange
from wareboard.paint.coats import best_tiles, coats_needed, stacked
from wareboard.paint.colour import srgb_from_lab
from wareboard.paint.layers import Zones, zones
from wareboard.paint.tiles import distances

BY_NAME = {each.name: each for each in TILES}
DRAWN = ("bare body", "honey", "iron red", "leaf", "deep blue", "black", "sky")


def halves(*labs: tuple[float, float, float], high: int = 60, wide: int = 90) -> np.ndarray:
    picture = np.empty((high, wide, 3))
    for place, lab in enumerate(labs):
        picture[:, place * wide // len(labs) : (place + 1) * wide // len(labs)] = srgb_from_lab(lab)
    return picture


def tile_map(found: Zones) -> np.ndarray:
    return np.array([each.name for each in found.tiles])[found.labels]


def test_flat_areas_come_out_with_their_areas_and_their_tiles() -> None:
    """A third each of 60 x 90 pixels at half a millimetre: 450 mm2, by hand."""
    found = zones(halves(COLOURS[0], COLOURS[1], COLOURS[4]), TILES, 4, 3.0, 0.5)
    assert {each.name for each in found.tiles} == {"bare body", "honey", "deep blue"}
    assert found.areas_mm2 == pytest.approx(np.full(3, 450.0), rel=0.02)
    assert found.areas_mm2.sum() == pytest.approx(60 * 90 * 0.25)
    assert found.labels.shape == (60, 90)
    assert found.mean_apart < 0.5
    assert not found.out_of_reach
    assert {coat.glaze for coat in found.coats} == {"honey", "deep blue"}
    meets_its_working(found.steps)


@pytest.mark.parametrize("most", [1, 2, 3, 5])
def test_no_more_coats_than_allowed_and_more_coats_leave_less_over(most: int) -> None:
    artwork, _ = petals(150, 240, 3)
    found, richer = zones(artwork, TILES, most, 1.5, 0.5), zones(artwork, TILES, most + 1, 1.5, 0.5)
    assert len(found.coats) <= most
    assert richer.mean_apart <= found.mean_apart + 0.05
    for each in found.tiles:
        assert all(any(layer.glaze == coat.glaze for coat in found.coats) for layer in each.layers)


@pytest.mark.parametrize("seed", range(3))
def test_grain_does_not_break_zones_up_and_none_is_thinner_than_the_brush(seed: int) -> None:
    """Truth is drawn; width is checked part by part with scipy's distance transform, not with the code under test."""
    artwork, truth = petals(240, 400, seed, count=12)
    found = zones(artwork, TILES, 6, 4.0, 0.5)
    assert found.thin_mm2 < 1e-4 * found.areas_mm2.sum()
    names = tile_map(found)
    assert (names == np.array(DRAWN)[truth]).mean() > 0.93
    for name in np.unique(names):
        parts, count = label(np.pad(names == name, 1))
        assert count <= 30
        for part in range(1, count + 1):
            assert distance_transform_edt(parts == part).max() * 0.5 >= 2.0 - 0.25


def test_fine_lines_are_given_up_and_said_with_how_wide_they_were() -> None:
    picture = halves(COLOURS[0], high=120, wide=200)
    picture[20:23] = picture[60:63] = picture[90:93] = srgb_from_lab(COLOURS[5])
    coarse, fine = zones(picture, TILES, 3, 5.0, 0.5), zones(picture, TILES, 3, 1.5, 0.5)
    assert [each.name for each in coarse.tiles] == ["bare body"]
    assert coarse.lost[0].tile == "black"
    assert coarse.lost[0].width_mm == pytest.approx(1.5, abs=0.5)
    assert coarse.lost[0].area_mm2 == pytest.approx(9 * 200 * 0.25, rel=0.1)
    assert any("thinner than the brush" in note for note in coarse.notes)
    assert not fine.lost
    assert [each.name for each in fine.tiles] == ["bare body", "black"]
    assert fine.areas_mm2[1] == pytest.approx(9 * 200 * 0.25, rel=0.03)


def test_a_large_picture_is_worked_on_coarsely_and_comes_back_in_full() -> None:
    artwork, truth = petals(240, 400, 2, count=8)
    large = np.repeat(np.repeat(artwork, 6, axis=0), 6, axis=1)
    found = zones(large, TILES, 6, 4.0, 0.5 / 6)
    assert found.labels.shape == (1440, 2400)
    assert (tile_map(found)[3::6, 3::6] == np.array(DRAWN)[truth]).mean() > 0.93
    assert found.areas_mm2.sum() == pytest.approx(240 * 400 * 0.25)


def test_an_artwork_that_goes_all_round_has_no_seam() -> None:
    """The same artwork cut open elsewhere gives the same zones: turning and mapping change places."""
    artwork, _ = petals(120, 200, 5, count=14)
    here = tile_map(zones(artwork, TILES, 6, 4.0, 0.5, joined=True))
    turned = tile_map(zones(np.roll(artwork, 77, axis=1), TILES, 6, 4.0, 0.5, joined=True))
    agree = (np.roll(turned, -77, axis=1) == here).mean()
    apart = tile_map(zones(np.roll(artwork, 77, axis=1), TILES, 6, 4.0, 0.5))
    assert agree > 0.99
    assert agree >= (np.roll(apart, -77, axis=1) == here).mean()


def test_colours_that_no_tile_gives_are_listed_with_area_and_how_far() -> None:
    """Arithmetic: a third of 90 x 60 dots of 0.5 mm is 450 mm2."""
    found = zones(halves(COLOURS[0], (60, 70, 45), COLOURS[2]), TILES, 5, 3.0, 0.5)
    (only,) = found.out_of_reach
    assert only.area_mm2 == pytest.approx(450.0, rel=0.1)
    assert only.apart > 15
    assert only.words.startswith("out of reach")
    assert any("out of reach" in note for note in found.notes)


def test_the_order_of_the_tiles_does_not_matter() -> None:
    artwork, _ = petals(100, 160, 8)
    one, two = (tile_map(zones(artwork, order, 5, 3.0, 0.5)) for order in (TILES, TILES[::-1]))
    assert (one == two).mean() > 0.999


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 4), st.floats(1.0, 9.0))
def test_whatever_the_artwork_the_zones_cover_it_within_the_coats(seed: int, most: int, brush: float) -> None:
    noise = np.random.default_rng(seed).integers(0, 256, (7, 11, 3))
    picture = np.kron(noise, np.ones((6, 6, 1), dtype=np.int64))
    found = zones(picture, TILES, most, brush, 0.5)
    assert len(found.coats) <= most
    assert found.areas_mm2.sum() == pytest.approx(42 * 66 * 0.25)
    assert len(found.areas_mm2) == len(found.tiles) == found.labels.max() + 1
    assert found.thin_mm2 <= 0.02 * found.areas_mm2.sum()


def test_one_tile_makes_one_zone_and_says_so() -> None:
    found = zones(petals(60, 90, 1)[0], [BY_NAME["honey"]], 3, 3.0, 0.5)
    assert found.labels.max() == 0
    assert any("one zone" in note for note in found.notes)


def test_a_shared_glaze_is_one_coat_and_two_orders_of_overlap_are_four() -> None:
    over = BY_NAME["celadon over iron red"]
    shared = coats_needed([BY_NAME["iron red"], over])
    assert [(coat.glaze, coat.times) for coat in shared] == [("iron red", 3), ("celadon", 2)]
    assert shared[0].tiles == ("iron red", over.name)
    crossed = [
        tile("ab", (50, 0, 0), glaze="a", over="b", over_coats=3),
        tile("ba", (60, 0, 0), glaze="b", over="a", over_coats=3),
    ]
    four = coats_needed(crossed)
    assert len(four) == 4
    for lower, upper, _ in stacked(four, crossed):
        assert four.index(lower) < four.index(upper)


def test_the_choice_of_tiles_is_the_best_there_is() -> None:
    """By trying every choice here too, with costs drawn at random."""
    rng = np.random.default_rng(2)
    apart, share = rng.uniform(0, 40, (50, len(TILES))), rng.dirichlet(np.ones(50))
    for most in (1, 3):
        found = best_tiles(apart, share, TILES, most)
        least = min(
            float(share @ apart[:, list(choice)].min(axis=1))
            for size in range(1, len(TILES) + 1)
            for choice in combinations(range(len(TILES)), size)
            if len(coats_needed(TILES[place] for place in choice)) <= most
        )
        assert float(share @ apart[:, list(found)].min(axis=1)) <= least + 0.02 * most


def test_with_very_many_tiles_the_search_stays_near_the_best() -> None:
    """Thirty tiles and four coats: 31 930 choices, all tried here; the quicker search must come within one per cent."""
    rng = np.random.default_rng(6)
    many = [tile(f"t{k}", tuple(rng.uniform([20, -40, -40], [90, 40, 40]))) for k in range(30)]
    labs = rng.uniform([20, -40, -40], [90, 40, 40], (60, 3))
    apart, share = distances(labs, many), np.full(60, 1 / 60)
    found = best_tiles(apart, share, many, 4)
    every = np.array(list(combinations(range(30), 4)))
    least = apart[:, every].min(axis=2).mean(axis=0).min()
    assert len(found) <= 4
    assert apart[:, list(found)].min(axis=1).mean() <= 1.01 * least + 0.02 * 4


@pytest.mark.parametrize(
    ("artwork", "words"),
    [
        (np.zeros((40, 40, 4), dtype=np.uint8), "CMYK"),
        (np.zeros((1, 1, 3), dtype=np.uint8), "narrower than the brush"),
        (np.zeros((0, 4, 3)), "shape"),
        (np.full((40, 40, 3), 7.0), "0 to 1"),
        (np.full((40, 40, 3), -3), "runs from"),
        (np.full((40, 40, 3), np.nan), "no number"),
        (np.zeros(9), "shape"),
        (np.broadcast_to(np.uint8(0), (9000, 9000, 3)), "megapixels"),
    ],
)
def test_pictures_that_cannot_be_used_are_refused(artwork: np.ndarray, words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        zones(artwork, TILES, 3, 3.0, 0.5)


def test_other_bad_input_is_refused() -> None:
    picture = halves(COLOURS[0], COLOURS[1])
    with pytest.raises(OutOfRange, match="no tiles"):
        zones(picture, [], 3, 3.0, 0.5)
    with pytest.raises(OutOfRange, match="every tile needs more"):
        zones(picture, [BY_NAME["honey"]], 0, 3.0, 0.5)
    with pytest.raises(OutOfRange, match="whole"):
        zones(picture, TILES, 2.5, 3.0, 0.5)  # type: ignore[arg-type]
    with pytest.raises(OutOfRange, match="brush"):
        zones(picture, TILES, 3, -1.0, 0.5)
    with pytest.raises(OutOfRange, match="scale"):
        zones(picture, TILES, 3, 3.0, float("nan"))
    assert zones(picture, [BODY], 0, 3.0, 0.5).coats == ()


def test_a_grey_picture_and_whole_numbers_are_read_alike() -> None:
    grey = np.full((40, 60), 200, dtype=np.uint8)
    one = zones(grey, TILES, 2, 3.0, 0.5)
    two = zones(np.full((40, 60, 3), 200 / 255), TILES, 2, 3.0, 0.5)
    assert (tile_map(one) == tile_map(two)).all()
