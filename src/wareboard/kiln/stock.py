"""Loads within the shelves and posts that there are: other layer heights, fewer layers, and another firing last.

Three posts of a length carry a shelf. A height is one post, or two on one another; where both give it, one post is taken.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from wareboard.errors import OutOfRange
from wareboard.kiln.levels import LevelWanted, column_height_mm, floor_up

POSTS_UNDER_A_SHELF = 3
SAME_LENGTH_MM = 0.5
Column = list[LevelWanted]
Way = tuple[float, tuple[float, ...]]  # a height, and the posts that make it


@dataclass(frozen=True, slots=True)
class Stock:
    """Shelves of the kind that is loaded (None: as many as are needed) and posts by length (empty: likewise)."""

    shelves: int | None = None
    posts: tuple[tuple[float, int], ...] = ()

    def __post_init__(self) -> None:
        if (self.shelves or 0) < 0 or any(count < 0 or not long_mm > 0.0 for long_mm, count in self.posts):
            raise OutOfRange("shelves and posts", why="they are counted from 0 up", mend="Count them in the kiln room")

    def posts_for(self, layers: Sequence[LevelWanted]) -> dict[int, float] | None:
        """A height of posts for each of these layers, by its index: none below what it wants; None if posts run out."""
        if not self.posts:
            return {layer.index: layer.post_mm for layer in layers}
        ways = post_ways([length for length, _ in self.posts])
        left = dict(self.posts)
        found: dict[int, float] = {}
        for layer in sorted(layers, key=lambda each: -each.top_mm):
            way = next((way for way in ways if way[0] >= layer.top_mm - 1e-9 and _has(left, way)), None)
            if way is None:
                return None
            for length, count in Counter(way[1]).items():
                left[length] -= count * POSTS_UNDER_A_SHELF
            found[layer.index] = way[0]
        return found


def post_ways(lengths: Sequence[float]) -> list[Way]:
    """Every height that one post or two make, lowest first, each once; one post before two."""
    found: list[Way] = [(length, (length,)) for length in sorted(set(lengths))]
    for at, one in enumerate(sorted(set(lengths))):
        for other in sorted(set(lengths))[at:]:
            if all(abs(height - one - other) >= SAME_LENGTH_MM for height, _ in found):
                found.append((one + other, (one, other)))
    return sorted(found)


def _has(left: dict[float, int], way: Way) -> bool:
    return all(left[length] >= count * POSTS_UNDER_A_SHELF for length, count in Counter(way[1]).items())


def stands_within(columns: Sequence[Sequence[LevelWanted]], stock: Stock) -> bool:
    """Whether a load's columns, each from the floor up, take no more shelves and posts than there are."""
    if stock.shelves is not None and sum(map(len, columns)) > stock.shelves:
        return False
    if not stock.posts:
        return True
    made = dict(post_ways([length for length, _ in stock.posts]))
    wanted: Counter[float] = Counter()
    for column in columns:
        for layer in column[:-1]:
            for length in _way_of(layer.post_mm, made):
                wanted[length] += POSTS_UNDER_A_SHELF
    return all(count <= dict(stock.posts)[length] for length, count in wanted.items())


def _way_of(post_mm: float, made: dict[float, tuple[float, ...]]) -> tuple[float, ...]:
    return next((way for height, way in made.items() if abs(height - post_mm) < SAME_LENGTH_MM), ())


def deal_within(
    levels: Sequence[LevelWanted], stock: Stock, height_mm: float, thickness_mm: float, columns_per_load: int
) -> list[list[Column]] | None:
    """Loads of shelves from the floor up, within the stock, as few as two ways of dealing find.

    Args:
        levels: shelves to deal; those with ``top_only`` never carry another.
        columns_per_load: stacks side by side, which share the stock.
    Returns None where a shelf will not stand by itself, as where there is none.
    Source: first fit, tallest first (the usual heuristic of bin packing); the fewest loads are not proved by it.
    """
    if stock.shelves == 0:
        return None
    tallest = sorted(levels, key=lambda each: (not each.top_only, -each.top_mm, each.index))
    in_turn = [tallest[at // 2] if at % 2 == 0 else tallest[-1 - at // 2] for at in range(len(tallest))]
    found = [_first_fit(order, stock, height_mm, thickness_mm, columns_per_load) for order in (tallest, in_turn)]
    return min((each for each in found if each is not None), key=len, default=None)


def most_alike_within(
    level: LevelWanted, most: int, stock: Stock, height_mm: float, thickness_mm: float, columns_per_load: int
) -> int:
    """How many shelves like this one stand in a load of nothing else, within the stock; ``most`` at the most.

    Where there is no shelf at all it is ``most``, as loads are then planned with enough.
    """
    if stock.shelves == 0:
        return most
    load: list[Column] = [[] for _ in range(columns_per_load)]
    for number in range(most):
        wider = _with(load, replace(level, index=number), stock, height_mm, thickness_mm)
        if wider is None:
            return number
        load = wider
    return most


def _first_fit(
    order: Sequence[LevelWanted], stock: Stock, height_mm: float, thickness_mm: float, columns_per_load: int
) -> list[list[Column]] | None:
    loads: list[list[Column]] = []
    for level in order:
        for at, load in enumerate(loads):
            wider = _with(load, level, stock, height_mm, thickness_mm)
            if wider is not None:
                loads[at] = wider
                break
        else:
            alone = _with([[] for _ in range(columns_per_load)], level, stock, height_mm, thickness_mm)
            if alone is None:
                return None
            loads.append(alone)
    return [[floor_up(column) for column in _posted(load, stock) or ()] for load in loads]


def _with(
    load: Sequence[Column], level: LevelWanted, stock: Stock, height_mm: float, thickness_mm: float
) -> list[Column] | None:
    """The load with one shelf more in the first column that takes it; None where none does."""
    if stock.shelves is not None and sum(map(len, load)) + 1 > stock.shelves:
        return None
    for at in range(len(load)):
        columns = [[*column, level] if number == at else list(column) for number, column in enumerate(load)]
        posted = _posted(columns, stock)
        if posted and all(column_height_mm(column, thickness_mm) <= height_mm + 1e-9 for column in posted):
            return columns
    return None


def _posted(columns: Sequence[Column], stock: Stock) -> list[Column] | None:
    """The columns with posts out of the stock, the shelf on top as their own posts would have it; None if they run out."""
    ordered = [floor_up(column) for column in columns]
    carried = [layer for column in ordered for layer in column[:-1]]
    heights = stock.posts_for(carried)
    if heights is None or any(layer.top_only for layer in carried):
        return None
    return [
        [replace(layer, post_mm=heights[layer.index]) for layer in column[:-1]]
        + [replace(layer, top_only=True) for layer in column[-1:]]
        for column in ordered
    ]
