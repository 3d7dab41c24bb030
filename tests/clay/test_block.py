"""Cutting a block against a plain second count, and the bags to buy."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.clay.working import meets_its_working
from wareboard.clay.block import HANDY_SIDES, BlockCut, bags_needed, cut_block, usual_block
from wareboard.errors import NotInTable, OutOfRange
from wareboard.reference import rows

BLOCK = usual_block("12.5 kg")


def clay_accounted_for(cut: BlockCut, block_g: float, portion_g: float) -> float:
    """Weight of all pieces and what is left, counted piece by piece from the block's own shape."""
    main = math.prod(cut.counts) * cut.portion_made_g
    slab = 0.0 if cut.slab is None else cut.slab.pieces * cut.slab.piece_g
    return main + slab + cut.left_g


@settings(max_examples=60)
@given(portion_g=st.floats(50.0, 12_400.0), sides=st.tuples(*[st.floats(80.0, 400.0)] * 3))
def test_no_clay_is_lost_or_made_and_no_ball_is_light(portion_g: float, sides: tuple[float, float, float]) -> None:
    cut = cut_block(sides, 12_500.0, portion_g)
    assert clay_accounted_for(cut, 12_500.0, portion_g) == pytest.approx(12_500.0)
    assert cut.portion_made_g >= portion_g * (1 - 1e-9)
    if cut.slab is not None:
        assert cut.slab.piece_g >= portion_g * (1 - 1e-9)
    assert cut.portions <= math.floor(12_500.0 / portion_g * (1 + 1e-9))
    # Pieces by weight and pieces by volume are the same clay.
    volume = math.prod(cut.spacings_mm) / math.prod(sides) * 12_500.0
    assert volume == pytest.approx(cut.portion_made_g)
    meets_its_working(cut.steps)


def best_by_plain_count(portion_g: float, sides: tuple[float, float, float], block_g: float) -> int:
    """Most pieces of any handy whole-block grid, counted the plain way."""
    most = 0
    for across in range(1, 25):
        for deep in range(1, 25):
            for up in range(1, 25):
                size = (sides[0] / across, sides[1] / deep, sides[2] / up)
                if block_g / (across * deep * up) >= portion_g and max(size) <= HANDY_SIDES * min(size):
                    most = max(most, across * deep * up)
    return most


@pytest.mark.parametrize("portion_g", [180.0, 330.0, 537.0, 613.0, 1250.0, 2495.0])
def test_the_cut_gives_no_fewer_than_a_plain_count_of_grids(portion_g: float) -> None:
    whole = best_by_plain_count(portion_g, BLOCK.size_mm, BLOCK.block_g)
    assert cut_block(BLOCK.size_mm, BLOCK.block_g, portion_g, slab=False).portions == whole
    assert cut_block(BLOCK.size_mm, BLOCK.block_g, portion_g).portions >= whole


def test_a_cube_of_clay_cut_in_eight_makes_cubes() -> None:
    cut = cut_block((200.0, 200.0, 200.0), 8000.0, 1000.0)
    assert (cut.counts, cut.portions, cut.cuts, cut.over_g, cut.left_g) == ((2, 2, 2), 8, 3, 0.0, 0.0)
    assert cut.spacings_mm == (100.0, 100.0, 100.0)


def test_a_slab_cut_otherwise_gives_more_than_one_grid_alone() -> None:
    """537 g from 12.5 kg: 23 by weight; 20 from the best handy grid, 23 with a slab (plain count above)."""
    cut = cut_block(BLOCK.size_mm, BLOCK.block_g, 537.0)
    assert cut.portions == math.floor(12_500 / 537)
    assert cut.slab is not None
    assert "Cut a slab" in cut.words
    assert cut.slab_mm + cut.spacings_mm[0] * cut.counts[0] == pytest.approx(BLOCK.size_mm[0])


def test_a_large_remainder_is_left_in_one_lump_and_not_trimmed_off_every_piece() -> None:
    cut = cut_block(BLOCK.size_mm, BLOCK.block_g, 5000.0)
    assert (cut.portions, cut.portion_made_g, cut.left_g, cut.over_g) == (2, 5000.0, 2500.0, 0.0)


def test_a_ball_bigger_than_the_block_says_how_many_blocks() -> None:
    cut = cut_block(BLOCK.size_mm, BLOCK.block_g, 30_000.0)
    assert (cut.blocks_per_portion, cut.portions, cut.left_g) == (3, 1, 7_500.0)
    assert "wedge 3 blocks together" in cut.words
    meets_its_working(cut.steps)


def test_a_ball_as_big_as_the_block_leaves_it_whole() -> None:
    cut = cut_block(BLOCK.size_mm, BLOCK.block_g, 12_500.0)
    assert (cut.portions, cut.cuts, cut.left_g, cut.blocks_per_portion) == (1, 0, 0.0, 1)


def test_a_tolerance_lets_a_piece_be_a_little_light() -> None:
    cube = (200.0, 200.0, 200.0)
    assert cut_block(cube, 8000.0, 1004.0, slab=False).portions < 8
    assert cut_block(cube, 8000.0, 1004.0, tolerance_g=5.0).portions == 8


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_a_block_or_ball_that_cannot_be_is_refused_by_name(bad: float) -> None:
    with pytest.raises(OutOfRange, match="portion"):
        cut_block(BLOCK.size_mm, BLOCK.block_g, bad)
    with pytest.raises(OutOfRange, match="depth of the block"):
        cut_block((150.0, bad, 285.0), 12_500.0, 500.0)


def test_the_usual_blocks_weigh_what_their_sides_say() -> None:
    """Sides from common practice; 1.95 g/ml within the computed range of 1.85 to 2.00."""
    for row in rows("clay/blocks"):
        block = usual_block(row["name"])
        assert block.block_g / (math.prod(block.size_mm) / 1000) == pytest.approx(1.95, abs=0.01)
    assert usual_block("25 lb").block_g == pytest.approx(25 * 453.59237, abs=1)
    with pytest.raises(NotInTable, match=r"12\.5 kg"):
        usual_block("a sack")


def test_bags_cover_the_balls_the_blanks_and_what_is_lost() -> None:
    bags = bags_needed([(540.0, 36), (1250.0, 14)], 12_500.0, reclaim_share=0.2, handles=[(80.0, 40)], lost_share=0.03)
    assert bags.clay_g == 540 * 36 + 1250 * 14 + 80 * 40
    assert bags.bags == math.ceil(bags.clay_g / 0.97 / 12_500)
    assert bags.reclaim_g == pytest.approx(0.2 * bags.clay_g)
    meets_its_working(bags.steps)


def test_exactly_one_bag_of_clay_needs_one_bag() -> None:
    assert bags_needed([(500.0, 25)], 12_500.0, lost_share=0.0).bags == 1
    assert bags_needed([(500.0, 26)], 12_500.0, lost_share=0.0).bags == 2


def test_reclaim_used_again_saves_clay_and_is_not_the_rule() -> None:
    new = bags_needed([(500.0, 100)], 12_500.0, reclaim_share=0.3, lost_share=0.0)
    again = bags_needed([(500.0, 100)], 12_500.0, reclaim_share=0.3, lost_share=0.0, reused_share=0.9)
    assert (new.bags, again.bags) == (4, 3)


def test_no_clay_to_count_is_refused() -> None:
    with pytest.raises(OutOfRange, match="no clay"):
        bags_needed([], 12_500.0)
    with pytest.raises(OutOfRange, match="weight of a ball"):
        bags_needed([(-1.0, 3)], 12_500.0)
