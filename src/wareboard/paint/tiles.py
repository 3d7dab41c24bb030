"""Test tiles: what a glaze looks like raw and fired, how thickly, over what, on which body, at which cone.

A colour that a client asks for is looked up among the tiles that exist; one that no tile reaches is said to be out of reach,
with how far and which way. The colours are those of a photograph or a measurement, with their spread: a kiln does not give
the same twice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wareboard.errors import OutOfRange
from wareboard.paint.colour import Floats, ciede2000, colours
from wareboard.working import in_a_row

BARE = ""
# Common practice in imaging: beyond this two colours are plainly not the same side by side.
OUT_OF_REACH = 5.0
# From memory: CIEDE2000 within which nine in ten firings of one glaze fall, where a tile was photographed only once.
USUAL_SPREAD = 4.0
TOLD_APART = 2.0
CHANCE = 0.90


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour from one or several photographs: Lab under D50, and the CIEDE2000 within which nine in ten more will fall."""

    lab: tuple[float, float, float]
    spread: float
    count: int
    source: str = "own records"


@dataclass(frozen=True, slots=True)
class Layer:
    """One glaze laid on, so many times over."""

    glaze: str
    times: int


@dataclass(frozen=True, slots=True)
class Tile:
    """A test tile: ``coats`` of ``glaze``, over ``over_coats`` of another or over the bare body; fired and raw colour.

    A tile with no coats is the body (or its liner glaze) left as it is: it costs nothing to paint. ``runs`` says that the
    glaze moves in the fire and is kept off rim and foot.
    """

    name: str
    glaze: str
    fired: Colour
    raw: Colour | None = None
    coats: int = 3
    over: str = BARE
    over_coats: int = 0
    body: str = ""
    cone: str = ""
    runs: bool = False
    note: str = ""

    def __post_init__(self) -> None:
        for count, what in ((self.coats, "coats"), (self.over_coats, "coats beneath")):
            if count != int(count) or count < 0:
                raise OutOfRange(f"{self.name} has {count:g} {what}", "coats are whole, from 0 up", "Count them again")
        if self.coats and not self.glaze:
            raise OutOfRange(
                f"{self.name} has no glaze", "a tile with coats has a glaze", "Name it, or give 0 coats for bare"
            )
        if bool(self.over) != bool(self.over_coats):
            raise OutOfRange(
                f"{self.name} lies over {self.over or 'nothing'} with {self.over_coats} coats beneath",
                "a glaze beneath has a name and at least one coat",
                "Give both, or neither",
            )
        if self.over and self.over == self.glaze:
            raise OutOfRange(f"{self.name} lies over itself", "that is one glaze, thicker", "Give its coats in all")

    @property
    def layers(self) -> tuple[Layer, ...]:
        """What is laid on, lowest first."""
        beneath = (Layer(self.over, self.over_coats),) if self.over else ()
        return (*beneath, Layer(self.glaze, self.coats)) if self.coats else beneath


def colour(labs: ArrayLike, source: str = "own records") -> Colour:
    """The mean of several photographs of one glaze, or one photograph, with its spread.

    Args:
        labs: (n, 3) or (3,), Lab under D50.
        source: on whose word.
    Raises:
        OutOfRange: if there is none, or it is no colour.
    Source: the spread is the reach of a further one of its kind (Hotelling's T squared in three dimensions, CIEDE2000 taken
        for the distance, equal on all sides); a tile photographed once has a usual spread, from memory.
    """
    found = np.atleast_2d(colours(labs))
    if not len(found):
        raise OutOfRange("no photograph", "a colour needs one at least", "Photograph the tile")
    middle = found.mean(axis=0)
    count = len(found)
    lab = (float(middle[0]), float(middle[1]), float(middle[2]))
    if not (-1.0 <= lab[0] <= 101.0):
        raise OutOfRange(f"lightness is {lab[0]:g}", "it runs from 0 to 100", "Give Lab, or a colour such as #8a5a2b")
    return Colour(lab, _reach(ciede2000(found, middle), count), count, source)


def _reach(apart: Floats, count: int) -> float:
    if count < 2:
        return USUAL_SPREAD
    from scipy.stats import f

    per_axis = float((apart**2).sum()) / (3.0 * (count - 1))
    return math.sqrt(per_axis * (1.0 + 1.0 / count) * 3.0 * float(f.ppf(CHANCE, 3, 3 * (count - 1))))


@dataclass(frozen=True, slots=True)
class Match:
    """The nearest tile to a colour: how far (CIEDE2000), whether that is out of reach, and which way the tile differs."""

    tile: Tile
    apart: float
    out_of_reach: bool
    words: str


def distances(lab: ArrayLike, tiles: Sequence[Tile]) -> Floats:
    """CIEDE2000 from each of ``lab`` (n, 3) to each tile as fired: (n, tiles)."""
    fired = np.array([tile.fired.lab for tile in tiles])
    return ciede2000(colours(lab)[:, None, :], fired[None, :, :])


def nearest(lab: ArrayLike, tiles: Sequence[Tile]) -> Match:
    """The tile whose fired colour is nearest.

    Out of reach is further than 5 CIEDE2000 (common practice), or than the tile's own spread where that is wider.

    Raises:
        OutOfRange: if there are no tiles.
    """
    some(tiles)
    wanted = colours(lab).reshape(1, 3)
    apart = distances(wanted, tiles)[0]
    best = int(np.argmin(apart))
    tile, far = tiles[best], float(apart[best])
    beyond = far > max(OUT_OF_REACH, tile.fired.spread)
    way = way_off(wanted[0], tile.fired.lab)
    words = f"{tile.name} is {far:.1f} CIEDE2000 away" + (f", {way}" if way else "")
    return Match(tile, far, beyond, ("out of reach: " if beyond else "") + words)


def way_off(wanted: ArrayLike, has: ArrayLike) -> str:
    """How ``has`` looks beside ``wanted``, in words: "darker and less red"; empty when it can hardly be told."""
    one, two = colours(wanted), colours(has)
    light, red, yellow = (float(part) for part in two - one)
    said = []
    if abs(light) > TOLD_APART:
        said.append("lighter" if light > 0 else "darker")
    if abs(red) > TOLD_APART:
        said.append("redder or less green" if red > 0 else "greener or less red")
    if abs(yellow) > TOLD_APART:
        said.append("yellower or less blue" if yellow > 0 else "bluer or less yellow")
    return in_a_row(said)


def some(tiles: Sequence[Tile]) -> Sequence[Tile]:
    """``tiles`` itself, when there is one at least and every name is its own.

    Raises:
        OutOfRange: if not.
    """
    if not len(tiles):
        raise OutOfRange("there are no tiles", "colours come from tiles that were fired", "Fire a tile for each glaze")
    names = [tile.name for tile in tiles]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise OutOfRange(
            f"two tiles are called {twice[0]!r}", "zones go by the tile's name", "Give each a name of its own"
        )
    return tiles


def for_one_piece(tiles: Sequence[Tile], *, body: str = "", cone: str = "") -> tuple[Tile, ...]:
    """The tiles that may stand together on one piece: one body, one cone. A tile that names neither goes with any.

    Args:
        tiles: all that there are.
        body: the body of the piece; where it is left out the tiles must agree.
        cone: the cone of the glaze firing, as the tiles write it; likewise.
    Raises:
        OutOfRange: if tiles of several bodies or cones are mixed and none was named, or none is left.
    """
    kept = tuple(some(tiles))
    for what, wanted in (("body", body), ("cone", cone)):
        there = _values(kept, what)
        if not wanted and len(there) > 1:
            raise OutOfRange(
                f"the tiles are of {len(there)} {'bodies' if what == 'body' else 'cones'}: {', '.join(there)}",
                "one piece has one body and is fired once",
                f"Say which {what}",
            )
        if wanted:
            kept = tuple(tile for tile in kept if getattr(tile, what) in (wanted, ""))
            if not kept:
                raise OutOfRange(
                    f"no tile is of {what} {wanted}",
                    f"the tiles there are: {', '.join(there)}",
                    f"Fire tiles at it, or name another {what}",
                )
    return kept


def _values(tiles: Iterable[Tile], what: str) -> list[str]:
    return sorted({getattr(tile, what) for tile in tiles} - {""})
