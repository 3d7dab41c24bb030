"""The client's painting laid round the solid of its form, raw at bisque or fired: a preview in the tiles' colours."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.plan.painted import Painted
from wareboard.plan.result import FormPlan
from wareboard.plan.solids import factors_at

if TYPE_CHECKING:
    from wareboard.form.skin import Skin
    from wareboard.paint.outline import Mark
    from wareboard.paint.tiles import Tile

Floats = NDArray[np.float64]
# The stage of the piece at which its painting is raw, and fired.
PAINTED_STAGES = {"raw": "bisque", "fired": "fired"}
# Powers of two, which every drawing program takes.
ROUND_DOTS, DOWN_DOTS = 2048, 1024
MOST_SPOTS = 60
# A number at least every so much of the way round: six parts, so that two or three are seen at once.
STRIPS = 6
# Nearer to each other, two numbers of one zone say the same thing twice.
APART_MM = 12.0


@dataclass(frozen=True, slots=True)
class Spot:
    """A zone's number on the piece, from 1: where it stands, mm, z up, and the direction square to the skin there."""

    number: int
    place_mm: tuple[float, float, float]
    square: tuple[float, float, float]


def painting_skin(found: Painted, form: FormPlan, look: str = "fired", coats: int | None = None) -> Skin:
    """The painting as a picture round the form's solid.

    The artwork's left edge lies where the handle's middle is; the picture's own lies along x. What is not painted has the
    colour of the bare tile as fired, where there is one.

    Args:
        found: the painting of that form, from `plan.painted.painted`.
        form: the form it was made for.
        look: "raw" for the solid at bisque, "fired" for the fired one; see `PAINTED_STAGES`.
        coats: so many laid, in their order, when it is raw; all of them when left out.
    Raises:
        OutOfRange: for another form's painting, another look, or coats of a fired piece.
    """
    from wareboard.form.skin import Skin

    _check(found, form, look, coats)
    colours = zone_colours(found, look, coats)
    bare = bare_colour(found, look)
    table = np.array([*(_rgb(each) for each in colours), _rgb(bare)], dtype=np.uint8)
    tall, wide = factors_at(form, "bisque")
    red, green, blue = (each / 255 for each in _rgb(bare))
    return Skin(
        table[_labels_round(found)],
        form.profile,
        found.inside,
        tall,
        wide,
        f"painting, {look}",
        (red, green, blue),
        form.poured.lip,
    )


def zone_colours(found: Painted, look: str, coats: int | None = None) -> tuple[str, ...]:
    """Every zone's colour, "#rrggbb"; after fewer coats what is laid of a zone so far, where a tile shows it, else grey."""
    from wareboard.paint.card_svg import UNKNOWN, raw_colour
    from wareboard.paint.colour import hex_of

    tiles = found.found.tiles
    if look == "fired":
        return tuple(hex_of(tile.fired.lab) for tile in tiles)
    laid = found.order.coats if coats is None else found.order.coats[:coats]
    by_layers = {_layers(tile): raw_colour(tile) for tile in tiles}
    shown = []
    for tile in tiles:
        layers = _layers(tile)
        if coats is None:
            shown.append(raw_colour(tile))
            continue
        done = tuple(each for each in layers if any(each[0] == c.glaze and tile.name in c.tiles for c in laid))
        shown.append(by_layers.get(done, UNKNOWN) if done else bare_colour(found, look))
    return tuple(shown)


def bare_colour(found: Painted, look: str) -> str:
    """The colour of what is left bare, "#rrggbb"."""
    from wareboard.paint.card_svg import BISQUE, raw_colour
    from wareboard.paint.colour import hex_of

    bare = next((tile for tile in found.found.tiles if not tile.layers), None)
    if bare is None:
        return BISQUE
    return raw_colour(bare) if look == "raw" else hex_of(bare.fired.lab)


def spots(found: Painted, form: FormPlan, look: str = "fired") -> tuple[Spot, ...]:
    """Where the zones' numbers stand on the piece, the roomiest first."""
    from wareboard.paint.left_bare import bare_at

    _check(found, form, look, None)
    laid = found.laid
    wide_mm, high_mm = laid.mean_across_mm * found.found.labels.shape[1], laid.row_mm * found.found.labels.shape[0]
    at, fired = factors_at(form, PAINTED_STAGES[look]), factors_at(form, "bisque")
    tall, wide = at[0] / fired[0], at[1] / fired[1]
    line, along = laid.wall_mm, laid.along_mm
    made = []
    for mark in _marks(found):
        up = along[-1] - laid.off_rim_mm - mark.y_mm / high_mm * laid.row_mm * len(laid.radii_mm)
        height, radius = np.interp(up, along, line[:, 0]) * tall, np.interp(up, along, line[:, 1]) * wide
        place = int(np.clip(np.searchsorted(along, up) - 1, 0, len(along) - 2))
        rise, out = (line[place + 1] - line[place]) * np.array([tall, wide]) / (along[place + 1] - along[place])
        long = float(np.hypot(rise, out)) * (-1.0 if found.inside else 1.0)
        for repeat in range(laid.repeats):
            share = repeat / laid.repeats + mark.x_mm / wide_mm * laid.turn_share
            if bare_at(laid, found.bare, share, up):
                continue
            turn = 2 * np.pi * (-share if found.inside else share) + math.radians(found.from_deg)
            c, s = float(np.cos(turn)), float(np.sin(turn))
            at_height, out_mm = _with_the_lip(form, PAINTED_STAGES[look], turn, float(height), float(radius))
            made.append(
                Spot(
                    mark.zone + 1,
                    (out_mm * c, out_mm * s, at_height),
                    (float(rise) / long * c, float(rise) / long * s, -float(out) / long),
                )
            )
    return tuple(made[:MOST_SPOTS])


def _with_the_lip(form: FormPlan, stage: str, turn: float, height: float, radius: float) -> tuple[float, float]:
    """Height and radius of a place on the round wall, at a turn from x, once a lip is pulled out of it."""
    from wareboard.form.lip import pulled, shares
    from wareboard.plan.solids import poured_at, profile_at

    lip, _ = poured_at(form, stage)
    if lip is None:
        return height, radius
    profile = profile_at(form, stage)
    moved = pulled(profile, lip, np.array([[height, radius]]), shares(profile, lip, np.array([turn - np.pi])))
    return float(moved[0, 0, 0]), float(moved[0, 0, 1])


def _marks(found: Painted) -> list[Mark]:
    """Places for numbers in the artwork, the roomiest first; a zone that goes far round has one on every side."""
    from wareboard.paint.outline import Mark, fewer, number_places

    laid = found.laid
    labels, step = fewer(found.found.labels)
    across, down = laid.mean_across_mm * step, laid.row_mm * step
    strips = max(1, round(STRIPS / laid.repeats))
    cuts = np.linspace(0, labels.shape[1], strips + 1).astype(int)
    found_marks = [
        Mark(each.zone, each.x_mm + left * across, each.y_mm, each.room_mm)
        for left, right in pairwise(cuts.tolist())
        for each in number_places(labels[:, left:right], across, down)
    ]
    kept: list[Mark] = []
    for mark in sorted(found_marks, key=lambda each: -each.room_mm):
        if not any(mark.zone == each.zone and _apart_mm(mark, each) < APART_MM for each in kept):
            kept.append(mark)
    return kept


def _apart_mm(one: Mark, other: Mark) -> float:
    return math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)


def _check(found: Painted, form: FormPlan, look: str, coats: int | None) -> None:
    if found.form != form.name:
        raise OutOfRange(f"painting on {found.form}", why=f"it is not on {form.name}", mend="Choose the form it is on")
    if look not in PAINTED_STAGES:
        raise OutOfRange(f"look {look!r}", why="a piece is shown raw or fired", mend="Write raw or fired")
    if coats is not None and (look != "raw" or not 0 <= coats <= len(found.order.coats)):
        raise OutOfRange(
            f"{coats} coats laid",
            why=f"only a raw piece has some yet to come, and this one has {len(found.order.coats)}",
            mend="Leave them out, or give no more than it has",
        )


def _labels_round(found: Painted) -> NDArray[np.int64]:
    """The zone at each dot of a picture once round and from rim to foot; one more than the last zone where it is bare."""
    from wareboard.paint.left_bare import bare_at

    laid, labels = found.laid, found.found.labels
    bare = len(found.found.tiles)
    length = float(laid.along_mm[-1])
    down = (np.arange(DOWN_DOTS) + 0.5) / DOWN_DOTS * length - laid.off_rim_mm
    row = np.floor(down / laid.row_mm).astype(int)
    within = ((np.arange(ROUND_DOTS) + 0.5) / ROUND_DOTS * laid.repeats) % 1.0
    column = np.floor(within / (laid.turn_share * laid.repeats) * labels.shape[1]).astype(int)
    picked: NDArray[np.int64] = labels[np.clip(row, 0, len(labels) - 1)][
        :, np.clip(column, 0, labels.shape[1] - 1)
    ].astype(np.int64)
    picked[(row < 0) | (row >= len(labels))] = bare
    picked[:, column >= labels.shape[1]] = bare
    share = (np.arange(ROUND_DOTS) + 0.5) / ROUND_DOTS
    picked[bare_at(laid, found.bare, share[None, :], (length - laid.off_rim_mm - down)[:, None])] = bare
    dots = round(found.from_deg / 360.0 * ROUND_DOTS)
    return np.asarray(np.roll(picked, -dots if found.inside else dots, axis=1))


def _layers(tile: Tile) -> tuple[tuple[str, int], ...]:
    return tuple((layer.glaze, layer.times) for layer in tile.layers)


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
