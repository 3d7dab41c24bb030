"""The order in which coats are laid, by rules that are stated; and when no order keeps them all, which rules are in the way.

Rules come from three places: what a tile is made of (what lies beneath goes on first), what the workshop says (this before
that, this never over that, this kept off rim or foot), and where nothing else decides, light before dark.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.given import not_negative
from wareboard.paint.coats import Coat, stacked
from wareboard.paint.tiles import Tile

COMMON = "common practice"
PARTS = ("rim", "foot")
# A glaze line 3 to 6 mm above the foot is usual (common practice); what runs wants the most of it.
RUNNY_OFF_FOOT_MM = 6.0
# From memory: what runs leaves a sharp rim bare.
RUNNY_OFF_RIM_MM = 2.0


@dataclass(frozen=True, slots=True)
class Before:
    """``first`` is laid before ``then`` (glazes), because of ``why``."""

    first: str
    then: str
    why: str = COMMON

    @property
    def words(self) -> str:
        """The rule in words, with its reason."""
        return f"{self.first} before {self.then} ({self.why})"


@dataclass(frozen=True, slots=True)
class NeverOver:
    """``upper`` may not lie over ``lower``: where they lap it goes on first; stacked so in a tile, it cannot be done."""

    upper: str
    lower: str
    why: str = COMMON

    @property
    def words(self) -> str:
        """The rule in words, with its reason."""
        return f"{self.upper} never over {self.lower} ({self.why})"


@dataclass(frozen=True, slots=True)
class KeptOff:
    """``glaze`` stays ``mm`` away from the ``part``, rim or foot, measured along the wall."""

    glaze: str
    part: str
    mm: float
    why: str = COMMON

    def __post_init__(self) -> None:
        if self.part not in PARTS:
            raise OutOfRange(f"part {self.part!r}", "a glaze is kept off the rim or the foot", "Write rim or foot")
        not_negative(self.mm, "distance kept off", "mm")

    @property
    def words(self) -> str:
        """The rule in words, with its reason."""
        return f"{self.glaze} kept {self.mm:g} mm off the {self.part} ({self.why})"


Rule = Before | NeverOver | KeptOff


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule that cannot be kept, or is not kept by the zones as they are: which, how, and the mend."""

    rule: str
    how: str
    mend: str


@dataclass(frozen=True, slots=True)
class Order:
    """Coats in the order in which they are laid; empty where there is no such order. ``why`` says each coat's reason."""

    coats: tuple[Coat, ...]
    why: tuple[str, ...]
    broken: tuple[Broken, ...]


@dataclass(frozen=True, slots=True)
class Reach:
    """How near a coat comes to the foot and to the rim, along the wall, mm."""

    foot_mm: float
    rim_mm: float


def usual_rules(tiles: Iterable[Tile]) -> tuple[Rule, ...]:
    """What goes without saying: a glaze that runs is kept off rim and foot.

    Source: common practice; the distance from the rim is from memory.
    """
    running = sorted({tile.glaze for tile in tiles if tile.runs and tile.coats})
    return tuple(
        KeptOff(glaze, part, mm, "it runs; common practice")
        for glaze in running
        for part, mm in (("foot", RUNNY_OFF_FOOT_MM), ("rim", RUNNY_OFF_RIM_MM))
    )


def order_of_coats(
    coats: Sequence[Coat], tiles: Sequence[Tile], rules: Iterable[Rule] = (), reach: Sequence[Reach] | None = None
) -> Order:
    """The order that keeps every rule; of several, the one that lays light colours first.

    Args:
        coats: from `coats.coats_needed` or a map of zones.
        tiles: those that the coats lay on.
        rules: the workshop's own, and `usual_rules` where wanted.
        reach: for each coat how near it comes to foot and rim; without it nothing is said on what is kept off them.
    Source: topological order (Kahn 1962); light before dark: common practice, as a dark colour covers a slip of the brush.
    """
    given = tuple(rules)
    edges = _edges(coats, tiles, given)
    broken = [*_stacked_wrongly(coats, tiles, given), *_two_that_run(tiles), *_too_near(coats, given, reach)]
    lightness = _lightness(coats, tiles)
    left = dict.fromkeys(range(len(coats)))
    done: list[int] = []
    why: list[str] = []
    while left:
        free = [place for place in left if not any(place == then and first in left for first, then in edges)]
        if not free:
            return Order((), (), (*broken, _circle(coats, edges, left)))
        place = max(free, key=lambda each: (lightness[each], -each))
        reasons = [words for (_, then), words in edges.items() if then == place]
        why.append("; ".join(reasons) if reasons else _light_first(len(free)))
        done.append(place)
        del left[place]
    return Order(tuple(coats[place] for place in done), tuple(why), tuple(broken))


def reaches(
    coats: Sequence[Coat], tiles: Sequence[Tile], labels: np.ndarray, row_mm: float, foot_mm: float, rim_mm: float
) -> tuple[Reach, ...]:
    """How near each coat comes to foot and rim.

    Args:
        coats: from a map of zones.
        tiles: its tiles.
        labels: (h, w), places in ``tiles``; the first row is nearest the rim.
        row_mm: mm of wall to a row.
        foot_mm: from the foot to the lower edge of the artwork, along the wall.
        rim_mm: from its upper edge to the rim.
    """
    found = []
    for coat in coats:
        mine = [place for place, tile in enumerate(tiles) if tile.name in coat.tiles]
        rows = np.flatnonzero(np.isin(labels, mine).any(axis=1))
        if len(rows):
            found.append(Reach(foot_mm + (len(labels) - 1 - rows[-1]) * row_mm, rim_mm + rows[0] * row_mm))
        else:
            found.append(Reach(np.inf, np.inf))
    return tuple(found)


def _edges(coats: Sequence[Coat], tiles: Sequence[Tile], rules: Sequence[Rule]) -> dict[tuple[int, int], str]:
    """(first, then) by place, and which rule says so."""
    edges: dict[tuple[int, int], str] = {}
    together = set()
    for lower, upper, name in stacked(coats, tiles):
        first, then = coats.index(lower), coats.index(upper)
        together.add((first, then))
        edges.setdefault((first, then), f"{upper.glaze} lies over {lower.glaze} in tile {name}")
    for rule in rules:
        if isinstance(rule, KeptOff):
            continue
        one, two = (rule.first, rule.then) if isinstance(rule, Before) else (rule.upper, rule.lower)
        for first, coat in enumerate(coats):
            for then, other in enumerate(coats):
                # A tile that is stacked the forbidden way is told by itself and must not make a circle as well.
                wrong = isinstance(rule, NeverOver) and (then, first) in together
                if coat.glaze == one and other.glaze == two and not wrong:
                    edges.setdefault((first, then), rule.words)
    return edges


def _stacked_wrongly(coats: Sequence[Coat], tiles: Sequence[Tile], rules: Sequence[Rule]) -> list[Broken]:
    never = {(rule.upper, rule.lower): rule for rule in rules if isinstance(rule, NeverOver)}
    return [
        Broken(
            never[upper.glaze, lower.glaze].words,
            f"tile {name} lays {upper.glaze} over {lower.glaze}",
            f"Leave tile {name} out, or strike the rule",
        )
        for lower, upper, name in stacked(coats, tiles)
        if (upper.glaze, lower.glaze) in never
    ]


def _two_that_run(tiles: Sequence[Tile]) -> list[Broken]:
    running = {tile.glaze for tile in tiles if tile.runs}
    return [
        Broken(
            "a glaze that runs is not laid over one that runs (common practice)",
            f"tile {tile.name} lays {tile.glaze} over {tile.over}",
            "Keep it to the upper part, stand the ware on a catcher, or take another tile",
        )
        for tile in tiles
        if tile.over in running and tile.glaze in running
    ]


def _too_near(coats: Sequence[Coat], rules: Sequence[Rule], reach: Sequence[Reach] | None) -> list[Broken]:
    if reach is None:
        return []
    found = []
    for coat, near in zip(coats, reach, strict=True):
        for rule in rules:
            if isinstance(rule, KeptOff) and rule.glaze == coat.glaze:
                mm = near.foot_mm if rule.part == "foot" else near.rim_mm
                if mm < rule.mm - 1e-9:
                    found.append(
                        Broken(
                            rule.words,
                            f"its zones come within {mm:.1f} mm of the {rule.part}",
                            f"Move the artwork {rule.mm - mm:.1f} mm away from the {rule.part}, or wax that band",
                        )
                    )
    return found


def _lightness(coats: Sequence[Coat], tiles: Sequence[Tile]) -> list[float]:
    by_name = {tile.name: tile for tile in tiles}
    return [float(np.mean([by_name[name].fired.lab[0] for name in coat.tiles])) for coat in coats]


def _light_first(free: int) -> str:
    return "light before dark (common practice)" if free > 1 else "nothing else is left to lay before it"


def _circle(coats: Sequence[Coat], edges: dict[tuple[int, int], str], left: Iterable[int]) -> Broken:
    """The rules that chase one another's tails: walked back along them until a coat comes round again."""
    there = set(left)
    trail = [min(there)]
    while True:
        before = min(first for first, then in edges if then == trail[-1] and first in there)
        if before in trail:
            ring = [*trail[trail.index(before) :], before][::-1]
            break
        trail.append(before)
    rules = [edges[first, then] for first, then in pairwise(ring)]
    names = " before ".join(coats[place].glaze for place in ring)
    return Broken("; ".join(rules), f"they ask for {names}", "Strike one of these rules, or leave one of the tiles out")
