"""Cutting a block of clay into balls with a wire, and how many bags to buy.

Sizes in mm, weights in g. A block is cut while it stands together, so one wire pass goes right through it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from wareboard.errors import NotInTable, OutOfRange
from wareboard.given import not_negative, positive, share
from wareboard.reference import rows
from wareboard.working import Step

AXES = ("width", "depth", "height")
# A piece longer than three times its shortest side is a slice: it folds over air when it is patted to a ball.
HANDY_SIDES = 3.0
# Cuts more than this along one side are closer together than a wire can be set.
MOST_ALONG_A_SIDE = 24
# Above this share of the portion it is quicker to leave one lump than to trim every piece.
TRIM_AT_MOST = 0.03


@dataclass(frozen=True, slots=True)
class Block:
    """A block of clay as it comes out of its bag."""

    name: str
    block_g: float
    size_mm: tuple[float, float, float]
    source: str


def usual_block(name: str = "12.5 kg") -> Block:
    """A usual block by its trade weight: weight in g, (width, depth, height) in mm.

    Raises:
        NotInTable: if no such block is kept.
    Source: ``clay/blocks``: sides common practice, height from 1.95 g/ml; measure your own.
    """
    for row in rows("clay/blocks"):
        if row["name"] == name:
            size = (float(row["width_mm"]), float(row["depth_mm"]), float(row["height_mm"]))
            return Block(name, float(row["block_g"]), size, row["source"])
    known = ", ".join(row["name"] for row in rows("clay/blocks"))
    raise NotInTable(f"block {name!r}", why="no such block is kept", mend=f"Use one of: {known}, or give its own sides")


@dataclass(frozen=True, slots=True)
class Grid:
    """Equal pieces: how many along width, depth and height, how far apart the cuts are, and what one piece weighs."""

    counts: tuple[int, int, int]
    spacings_mm: tuple[float, float, float]
    piece_g: float

    @property
    def pieces(self) -> int:
        """How many equal pieces the block is cut into."""
        return math.prod(self.counts)

    @property
    def cuts(self) -> int:
        """How many cuts of the wire that takes."""
        return sum(self.counts) - 3

    @property
    def longest_to_shortest(self) -> float:
        """A piece's longest side over its shortest; 1 for a cube."""
        return max(self.spacings_mm) / min(self.spacings_mm)


@dataclass(frozen=True, slots=True)
class BlockCut:
    """How to cut one block: the main grid, a slab cut otherwise when that gives more, and what stays over.

    ``portions`` is what comes from ``blocks_per_portion`` blocks (1, unless a ball is bigger than a block). ``over_g`` is
    trimmed off each piece of the main grid to bring it to weight; ``left_g`` is clay of the block that is in no piece.
    """

    counts: tuple[int, int, int]
    spacings_mm: tuple[float, float, float]
    portions: int
    portion_made_g: float
    over_g: float
    cuts: int
    left_g: float
    steps: tuple[Step, ...]
    words: str = ""
    slab: Grid | None = None
    slab_mm: float = 0.0
    slab_axis: str = ""
    blocks_per_portion: int = 1


def cut_block(
    block_mm: tuple[float, float, float],
    block_g: float,
    portion_g: float,
    tolerance_g: float = 0.0,
    handy_sides: float = HANDY_SIDES,
    slab: bool = True,
) -> BlockCut:
    """The wire cuts that give most balls from a block, every piece at least the portion (then trimmed to weight).

    First a grid of equal pieces over the whole block; then, if it gives more, a grid cut to exact weight over part of the
    block and another over the slab that remains. Among cuts that give as many, the pieces nearest to cubes, then the fewest
    cuts.

    Args:
        block_mm: (width, depth, height) of the block, mm.
        block_g: its weight, g; measured, so that the density need not be known.
        portion_g: weight of one ball, g.
        tolerance_g: how far under the portion a piece may be and still count, g.
        handy_sides: greatest longest-to-shortest side of a piece; passed over only when nothing else fits.
        slab: whether a remainder may be cut otherwise.
    Raises:
        OutOfRange: if a size or weight is not a finite number above 0, or the tolerance reaches the portion.
    Source: geometry; taking cubes for handy is common practice.
    """
    for side, axis in zip(block_mm, AXES, strict=True):
        positive(side, f"{axis} of the block", "mm")
    positive(block_g, "block", "g")
    positive(portion_g, "portion", "g")
    not_negative(handy_sides - 1.0, "handy_sides less 1")
    least_g = portion_g - not_negative(tolerance_g, "tolerance", "g")
    positive(least_g, "portion less its tolerance", "g")
    if least_g > block_g:
        return _several_blocks(block_mm, block_g, portion_g)
    whole = _best_grid(block_mm, block_g, least_g, handy_sides)
    if whole is None:
        whole = _best_grid(block_mm, block_g, least_g, math.inf)
    assert whole is not None  # a block that holds one portion can always be left in one piece
    if slab and whole.pieces < math.floor(block_g / least_g):
        split = max(
            _splits(block_mm, block_g, least_g, handy_sides),
            key=lambda each: (each[0].pieces + each[1].pieces, -each[0].longest_to_shortest, -each[0].cuts),
            default=None,
        )
        if split is not None and split[0].pieces + split[1].pieces > whole.pieces:
            return _in_two_parts(block_mm, block_g, portion_g, *split)
    if whole.piece_g > portion_g * (1 + TRIM_AT_MOST):
        return _exact_with_rest(block_mm, block_g, portion_g, whole)
    return _in_one_grid(block_g, portion_g, whole)


def _best_grid(size_mm: tuple[float, ...], part_g: float, least_g: float, handy_sides: float) -> Grid | None:
    """The grid of equal pieces, none lighter than ``least_g``, with most pieces; nothing when no grid is handy."""
    best: tuple[tuple[float, ...], Grid] | None = None
    most = math.floor(part_g / least_g * (1 + 1e-12))
    for across in range(1, min(most, MOST_ALONG_A_SIDE) + 1):
        for deep in range(1, min(most // across, MOST_ALONG_A_SIDE) + 1):
            for up in range(1, min(most // (across * deep), MOST_ALONG_A_SIDE) + 1):
                sides = (size_mm[0] / across, size_mm[1] / deep, size_mm[2] / up)
                shape = max(sides) / min(sides)
                merit = (across * deep * up, -round(shape, 6), -(across + deep + up))
                if shape <= handy_sides and (best is None or merit > best[0]):
                    best = (merit, Grid((across, deep, up), sides, part_g / (across * deep * up)))
    return None if best is None else best[1]


def _splits(
    block_mm: tuple[float, float, float], block_g: float, least_g: float, handy_sides: float
) -> Iterator[tuple[Grid, Grid, int]]:
    """Every handy pair of a grid cut to exact weight and another over the slab that it leaves, with the slab's axis."""
    for axis in range(3):
        first, second = (other for other in range(3) if other != axis)
        for along in range(1, MOST_ALONG_A_SIDE + 1):
            for across in range(1, MOST_ALONG_A_SIDE + 1):
                thick = least_g / block_g * block_mm[axis] * along * across
                sides = [0.0, 0.0, 0.0]
                sides[axis], sides[first], sides[second] = thick, block_mm[first] / along, block_mm[second] / across
                if max(sides) / min(sides) > handy_sides or thick > block_mm[axis]:
                    continue
                layers = math.floor(block_mm[axis] / thick)
                counts = [1, 1, 1]
                counts[axis], counts[first], counts[second] = layers, along, across
                main = Grid((counts[0], counts[1], counts[2]), (sides[0], sides[1], sides[2]), least_g)
                rest_g = block_g - main.pieces * least_g
                if rest_g < least_g:
                    continue
                rest_mm = list(block_mm)
                rest_mm[axis] -= layers * thick
                slab = _best_grid(tuple(rest_mm), rest_g, least_g, handy_sides)
                if slab is not None:
                    yield main, slab, axis


def _in_one_grid(block_g: float, portion_g: float, grid: Grid) -> BlockCut:
    words = _grid_words(grid, "the block")
    return BlockCut(
        grid.counts,
        grid.spacings_mm,
        grid.pieces,
        grid.piece_g,
        max(0.0, grid.piece_g - portion_g),
        grid.cuts,
        0.0,
        (_pieces_step(grid, block_g, "the block"), _over_step(grid.piece_g, portion_g)),
        words,
    )


def _exact_with_rest(block_mm: tuple[float, float, float], block_g: float, portion_g: float, whole: Grid) -> BlockCut:
    """The same grid drawn in along one side until its pieces weigh the portion, with the rest left in one lump."""
    share_used = portion_g * whole.pieces / block_g
    drawn_in = []
    for axis in range(3):
        sides = list(whole.spacings_mm)
        sides[axis] *= share_used
        drawn_in.append((Grid(whole.counts, (sides[0], sides[1], sides[2]), portion_g), axis))
    grid, axis = min(drawn_in, key=lambda each: round(each[0].longest_to_shortest, 6))
    left_g = block_g - grid.pieces * portion_g
    slab_mm = block_mm[axis] * (1 - share_used)
    given = {"block_g": block_g, "pieces": grid.pieces, "portion_g": portion_g}
    left = Step("left over", "block_g - pieces * portion_g", given, left_g, "derived", unit="g", key="left")
    words = f"Cut {slab_mm:.0f} mm off the {AXES[axis]} and put it by ({left_g:.0f} g). {_grid_words(grid, 'the rest')}"
    steps = (_pieces_step(grid, block_g - left_g, "the rest"), _over_step(portion_g, portion_g), left)
    return BlockCut(
        grid.counts,
        grid.spacings_mm,
        grid.pieces,
        portion_g,
        0.0,
        grid.cuts + 1,
        left_g,
        steps,
        words,
        slab_mm=slab_mm,
        slab_axis=AXES[axis],
    )


def _in_two_parts(
    block_mm: tuple[float, float, float], block_g: float, portion_g: float, main: Grid, slab: Grid, axis: int
) -> BlockCut:
    slab_mm = block_mm[axis] - main.counts[axis] * main.spacings_mm[axis]
    slab_g = block_g - main.pieces * main.piece_g
    given = {"block_g": block_g, "pieces": main.pieces, "piece_g": main.piece_g}
    steps = (
        Step("the slab left after the first grid", "block_g - pieces * piece_g", given, slab_g, "derived", unit="g"),
        _pieces_step(slab, slab_g, "the slab"),
        _over_step(main.piece_g, portion_g),
    )
    words = (
        f"Cut a slab of {slab_mm:.0f} mm off the {AXES[axis]} first. {_grid_words(main, 'the rest of the block')} "
        f"{_grid_words(slab, 'the slab')}"
    )
    return BlockCut(
        main.counts,
        main.spacings_mm,
        main.pieces + slab.pieces,
        main.piece_g,
        max(0.0, main.piece_g - portion_g),
        main.cuts + slab.cuts + 1,
        0.0,
        steps,
        words,
        slab=slab,
        slab_mm=slab_mm,
        slab_axis=AXES[axis],
    )


def _several_blocks(block_mm: tuple[float, float, float], block_g: float, portion_g: float) -> BlockCut:
    blocks = math.ceil(portion_g / block_g - 1e-9)
    left_g = blocks * block_g - portion_g
    given = {"portion_g": portion_g, "block_g": block_g}
    need = Step(
        "blocks for one ball", "ceil(portion_g / block_g - 1e-9)", given, blocks, "derived", key="blocks_per_portion"
    )
    spare = {"blocks": blocks, **given}
    left = Step("left over", "blocks * block_g - portion_g", spare, left_g, "derived", unit="g", key="left")
    words = (
        f"One ball of {portion_g:.0f} g is more than a block of {block_g:.0f} g: wedge {blocks} blocks together, "
        f"which leaves {left_g:.0f} g."
    )
    return BlockCut((1, 1, 1), block_mm, 1, portion_g, 0.0, 0, left_g, (need, left), words, blocks_per_portion=blocks)


def _pieces_step(grid: Grid, part_g: float, of: str) -> Step:
    across, deep, up = grid.counts
    given = {"part_g": part_g, "across": across, "deep": deep, "up": up}
    return Step(
        f"one piece of {of}", "part_g / (across * deep * up)", given, grid.piece_g, "derived", unit="g", key="piece"
    )


def _over_step(piece_g: float, portion_g: float) -> Step:
    given = {"piece_g": piece_g, "portion_g": portion_g}
    over_g = max(0.0, piece_g - portion_g)
    return Step("trim off each", "max(0, piece_g - portion_g)", given, over_g, "derived", unit="g", key="over")


def _grid_words(grid: Grid, of: str) -> str:
    parts = [
        f"{axis} into {count}, every {spacing:.0f} mm"
        for axis, count, spacing in zip(AXES, grid.counts, grid.spacings_mm, strict=True)
        if count > 1
    ]
    if not parts:
        return f"Leave {of} whole ({grid.piece_g:.0f} g)."
    return f"Cut {of}: {'; '.join(parts)}. That makes {grid.pieces} pieces of {grid.piece_g:.0f} g."


@dataclass(frozen=True, slots=True)
class Bags:
    """Whole bags to buy, the clay that is weighed out, and what comes back as reclaim; weights in g."""

    bags: int
    clay_g: float
    reclaim_g: float
    steps: tuple[Step, ...]


def bags_needed(
    portions: Sequence[tuple[float, int]],
    block_g: float,
    reclaim_share: float = 0.2,
    handles: Sequence[tuple[float, int]] = (),
    lost_share: float = 0.03,
    reused_share: float = 0.0,
) -> Bags:
    """Bags for all balls and handle blanks of a job, with what goes to the slip bucket and the floor on top.

    Offcuts of one bag are wedged on to the next, so the bags are counted over the whole weight.

    Args:
        portions: (weight of the ball in g, how many) for every form.
        block_g: clay in one bag, g.
        reclaim_share: share of the clay that comes back as trimmings and failed greenware.
        handles: (weight of the blank in g, how many).
        lost_share: share of the clay bought that is lost to slurry and the floor.
        reused_share: share of the reclaim that goes round again within this same job; 0 keeps a matched set on new clay,
            because reclaim wedged in changes firmness and shrinkage.
    Raises:
        OutOfRange: if a weight, count or share is not such a number, or nothing is to be made.
    Source: conservation of the clay; shares common practice (reclaim 15-35 %, lost 2-5 %).
    """
    positive(block_g, "bag", "g")
    for name, value in (("reclaim", reclaim_share), ("clay lost", lost_share), ("reclaim used again", reused_share)):
        share(value, name, "the clay")
    balls_g, blanks_g = _total_g(portions, "ball"), _total_g(handles, "handle blank")
    clay_g = balls_g + blanks_g
    if clay_g <= 0:
        raise OutOfRange("there is no clay to count", why="no ball has a count above 0", mend="Give at least one ball")
    reclaim_g = clay_g * reclaim_share
    buy_g = (clay_g - reclaim_g * reused_share) / (1 - lost_share)
    bags = math.ceil(buy_g / block_g - 1e-9)
    source = "common-practice"
    buy = {"clay_g": clay_g, "reclaim_g": reclaim_g, "reused_share": reused_share, "lost_share": lost_share}
    steps = (
        Step(
            "clay to weigh out",
            "balls_g + blanks_g",
            {"balls_g": balls_g, "blanks_g": blanks_g},
            clay_g,
            "derived",
            unit="g",
            key="clay",
        ),
        Step(
            "comes back as reclaim",
            "clay_g * reclaim_share",
            {"clay_g": clay_g, "reclaim_share": reclaim_share},
            reclaim_g,
            source,
            unit="g",
            key="reclaim",
        ),
        Step(
            "clay to buy",
            "(clay_g - reclaim_g * reused_share) / (1 - lost_share)",
            buy,
            buy_g,
            source,
            unit="g",
            key="buy",
        ),
        Step("bags", "ceil(buy_g / bag_g - 1e-9)", {"buy_g": buy_g, "bag_g": block_g}, bags, "derived", key="bags"),
    )
    return Bags(bags, clay_g, reclaim_g, steps)


def _total_g(portions: Sequence[tuple[float, int]], name: str) -> float:
    for weight_g, count in portions:
        positive(weight_g, f"weight of a {name}", "g")
        not_negative(count, f"count of {name}s")
    return float(sum(weight_g * count for weight_g, count in portions))
