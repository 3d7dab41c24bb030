"""Coats: which glazes a choice of tiles has to be laid on with, and the best choice of tiles for a number of coats.

A coat here is one glaze laid on all its zones in one go, brushed as many times as its tile was. Zones whose tiles share a
glaze share the coat, so a glaze that lies alone in one place and beneath another elsewhere is laid once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from itertools import combinations
from math import comb

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.paint.colour import Floats
from wareboard.paint.tiles import Tile

MOST_TRIED = 3000
# A further coat must mend the picture by this much (mean CIEDE2000) to be worth its time.
WORTH_A_COAT = 0.02


@dataclass(frozen=True, slots=True)
class Coat:
    """One glaze on all its zones, brushed ``times`` over; ``over`` is what lies beneath it, ``tiles`` those that need it."""

    glaze: str
    times: int
    over: tuple[str, ...]
    tiles: tuple[str, ...]

    @property
    def name(self) -> str:
        """The glaze, how often it is brushed, and over what, in words."""
        return f"{self.glaze} × {self.times}" + (f" over {', '.join(self.over)}" if self.over else "")


def coats_needed(tiles: Iterable[Tile]) -> tuple[Coat, ...]:
    """The coats that lay on all of ``tiles``, lower ones first.

    A glaze brushed equally often is one coat, unless the tiles then want two coats each above the other; then what lies over
    something is a coat apart.
    """
    there = tuple(tiles)
    together = _coats(there, apart=False)
    try:
        order = tuple(TopologicalSorter(_beneath(together, there)).static_order())
    except CycleError:
        apart = _coats(there, apart=True)
        order = tuple(TopologicalSorter(_beneath(apart, there)).static_order())
    return order


def stacked(coats: Sequence[Coat], tiles: Iterable[Tile]) -> tuple[tuple[Coat, Coat, str], ...]:
    """(lower, upper, tile) wherever a tile lies one coat over another."""
    found = []
    for tile in tiles:
        mine = {coat.glaze: coat for coat in coats if tile.name in coat.tiles}
        for lower, upper in zip(tile.layers, tile.layers[1:], strict=False):
            found.append((mine[lower.glaze], mine[upper.glaze], tile.name))
    return tuple(found)


def _coats(tiles: Sequence[Tile], *, apart: bool) -> tuple[Coat, ...]:
    held: dict[tuple[str, int, str], tuple[list[str], list[str]]] = {}
    for tile in tiles:
        beneath = ""
        for layer in tile.layers:
            over, names = held.setdefault((layer.glaze, layer.times, beneath if apart else ""), ([], []))
            names.append(tile.name)
            if beneath and beneath not in over:
                over.append(beneath)
            beneath = layer.glaze
    return tuple(Coat(key[0], key[1], tuple(over), tuple(names)) for key, (over, names) in held.items())


def _beneath(coats: Sequence[Coat], tiles: Iterable[Tile]) -> dict[Coat, set[Coat]]:
    graph: dict[Coat, set[Coat]] = {coat: set() for coat in coats}
    for lower, upper, _ in stacked(coats, tiles):
        graph[upper].add(lower)
    return graph


def best_tiles(apart: Floats, weight: Floats, tiles: Sequence[Tile], most: int) -> tuple[int, ...]:
    """Places of the tiles that, within ``most`` coats, leave the smallest mean CIEDE2000.

    Every choice is tried where there are few; otherwise tiles are added one by one, the best first, and then exchanged as
    long as that helps (which need not find the very best).

    Args:
        apart: (colours, tiles), CIEDE2000 of each colour of the artwork from each tile.
        weight: (colours,), share of the artwork that has it; sums to 1.
        most: how many coats at most.
    Raises:
        OutOfRange: if no tile can be laid on with so few.
    """
    search = _Search(apart, weight, tiles, most)
    if not search.alone:
        raise OutOfRange(
            f"{most} coats",
            f"every tile needs more: the least is {min(len(tile.layers) for tile in tiles)}",
            "Allow more coats, or add a tile with 0 coats for the bare body",
        )
    count = min(most + sum(not tile.layers for tile in tiles), len(tiles))
    if sum(comb(len(tiles), size) for size in range(1, count + 1)) <= MOST_TRIED:
        return min(search.all_choices(count), key=search.cost)
    return search.exchanged(search.grown())


class _Search:
    """Choices of tiles within the coats allowed, and what each leaves over."""

    def __init__(self, apart: Floats, weight: Floats, tiles: Sequence[Tile], most: int) -> None:
        self.apart, self.weight, self.tiles, self.most = apart, weight, tiles, most
        self.known: dict[tuple[int, ...], int] = {}
        self.alone = [(place,) for place in range(len(tiles)) if self.coats((place,)) <= most]

    def coats(self, choice: tuple[int, ...]) -> int:
        if choice not in self.known:
            self.known[choice] = len(coats_needed(self.tiles[place] for place in choice))
        return self.known[choice]

    def cost(self, choice: tuple[int, ...]) -> float:
        left = float(self.weight @ self.apart[:, list(choice)].min(axis=1))
        return left + WORTH_A_COAT * self.coats(choice)

    def all_choices(self, count: int) -> Iterable[tuple[int, ...]]:
        for size in range(1, count + 1):
            for choice in combinations(range(len(self.tiles)), size):
                if self.coats(choice) <= self.most:
                    yield choice

    def grown(self) -> tuple[int, ...]:
        choice: tuple[int, ...] = min(self.alone, key=self.cost)
        while True:
            wider = [
                longer
                for place in range(len(self.tiles))
                if place not in choice and self.coats(longer := tuple(sorted((*choice, place)))) <= self.most
            ]
            best = min(wider, key=self.cost, default=choice)
            if self.cost(best) >= self.cost(choice):
                return choice
            choice = best

    def exchanged(self, choice: tuple[int, ...]) -> tuple[int, ...]:
        while True:
            others = []
            for out in choice:
                kept = tuple(place for place in choice if place != out)
                for place in range(len(self.tiles)):
                    if place not in choice:
                        changed = tuple(sorted((*kept, place)))
                        if self.coats(changed) <= self.most:
                            others.append(changed)
            best = min(others, key=self.cost, default=choice)
            if self.cost(best) >= self.cost(choice) - 1e-12:
                return choice
            choice = best


def weights(counts: Floats) -> Floats:
    """Shares that sum to 1."""
    found: Floats = np.asarray(counts, dtype=np.float64) / float(np.sum(counts))
    return found
