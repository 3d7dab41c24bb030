"""Loads within counted shelves and posts: nothing is used twice, nothing is left out, and enough of both changes nothing."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wareboard.errors import OutOfRange
from wareboard.kiln.levels import LevelWanted, column_height_mm, deal_into_columns
from wareboard.kiln.stock import Stock, deal_within, post_ways, stands_within

LENGTHS = (25.0, 50.0, 100.0, 130.0)


def levels_of(wares: list[float]) -> list[LevelWanted]:
    heights = [height for height, _ in post_ways(LENGTHS)]
    return [
        LevelWanted(at, "cup", (ware, "cup"), next(h for h in heights if h >= ware), ware)
        for at, ware in enumerate(wares)
    ]


@settings(max_examples=60, deadline=None)
@given(
    wares=st.lists(st.floats(20.0, 180.0), min_size=1, max_size=12),
    counts=st.tuples(*[st.integers(0, 12)] * 4),
    shelves=st.one_of(st.none(), st.integers(1, 6)),
    columns=st.integers(1, 2),
)
def test_every_load_stands_within_its_stock_and_height(
    wares: list[float], counts: tuple[int, ...], shelves: int | None, columns: int
) -> None:
    """Counting: three posts of each length that a layer is made of; each shelf once; ware under the next shelf."""
    posts = tuple((length, count) for length, count in zip(LENGTHS, counts, strict=True) if count)
    stock = Stock(shelves, posts)
    loads = deal_within(levels_of(wares), stock, 600.0, 19.0, columns)
    assert loads is not None
    assert sorted(layer.index for load in loads for column in load for layer in column) == list(range(len(wares)))
    ways = dict(post_ways([length for length, _ in posts])) if posts else {}
    for load in loads:
        assert shelves is None or sum(map(len, load)) <= shelves
        used: Counter[float] = Counter()
        for column in load:
            assert column_height_mm(column, 19.0) <= 600.0 + 1e-6
            for layer in column[:-1]:
                assert layer.post_mm >= wares[layer.index] - 1e-9
                if posts:
                    used.update({length: 3 * count for length, count in Counter(ways[layer.post_mm]).items()})
        assert all(used[length] <= dict(posts)[length] for length in used)


@given(wares=st.lists(st.floats(20.0, 180.0), min_size=1, max_size=10))
def test_with_enough_of_both_the_usual_dealing_stands(wares: list[float]) -> None:
    stock = Stock(99, tuple((length, 99) for length in LENGTHS))
    assert all(stands_within(load, stock) for load in deal_into_columns(levels_of(wares), 600.0, 19.0, 1))


def test_other_heights_are_taken_before_another_firing() -> None:
    """By hand: three layers of 95 mm want 100 mm under two of them; with three such posts the other stands on 130."""
    three = levels_of([95.0] * 3)
    loads = deal_within(three, Stock(None, ((100.0, 3), (130.0, 3))), 600.0, 19.0, 1)
    assert loads is not None
    assert len(loads) == 1
    assert sorted(layer.post_mm for layer in loads[0][0][:-1]) == [100.0, 130.0]
    lower = deal_within(three, Stock(None, ((100.0, 3),)), 600.0, 19.0, 1)
    assert lower is not None
    assert [len(load[0]) for load in lower] == [2, 1]


def test_no_shelf_carries_nothing_and_odd_counts_are_refused() -> None:
    assert deal_within(levels_of([95.0]), Stock(0), 600.0, 19.0, 1) is None
    with pytest.raises(OutOfRange):
        Stock(-1)
