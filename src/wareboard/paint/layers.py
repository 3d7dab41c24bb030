"""An artwork turned into zones that can be painted: so many coats, from tiles that exist, none thinner than the brush.

How: (1) the tiles that, within the coats, leave the smallest mean CIEDE2000 are chosen; (2) every pixel is given to one of
them so that colour and neighbourhood together suit best: a Potts model with Gaussian weights, relaxed by mean field; (3)
parts into which the brush does not fit are handed to their neighbours until none is left.

Source: (2) R. B. Potts 1952; mean field with Gaussian weights, Krähenbühl and Koltun 2011, algorithm 1 (potts-mean-field),
here with weights that depend on place alone. (3) opening by a disc, see `brush`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.paint.artwork import Palette, artwork_bytes, coarse_linear, coarsening, palette
from wareboard.paint.brush import Labels, made_paintable, too_thin
from wareboard.paint.coats import Coat, best_tiles, coats_needed, weights
from wareboard.paint.colour import Floats
from wareboard.paint.shortfall import Lost, OutOfReach, colours_out_of_reach, detail_lost
from wareboard.paint.tiles import Tile, distances, some
from wareboard.working import Step

# A difference of colour at which a pixel begins to insist, and beyond which it insists no more (CIEDE2000).
INSISTS, ENOUGH = 3.0, 30.0
NEIGHBOURS_COUNT = 4.0
MEAN_FIELD_ROUNDS = 6
COARSE_PX = 3.0
# Change over the width of a brush (sum of the cube roots of the three lights) at which a place is an edge and not a colour.
STEEP = 0.15
# An artwork that goes all the way round is carried on past its seam by so many widths of the brush.
LAP_BRUSHES = 4.0
METHOD = "Potts model, mean field with Gaussian weights a quarter of the brush wide; then opening by the brush"


@dataclass(frozen=True, slots=True, eq=False)
class Zones:
    """The map of zones. ``labels`` (h, w) holds for each pixel of the artwork a place in ``tiles``; its zone is one more.

    ``areas_mm2`` (zones,) is flat, at the scale given; `amounts` maps it on the wall. ``apart`` (zones,) is the mean
    CIEDE2000 between the artwork and the tile as fired, ``mean_apart`` that of the whole; ``thin_mm2`` what is still thinner
    than the brush, which should be nought.
    """

    labels: Labels
    tiles: tuple[Tile, ...]
    coats: tuple[Coat, ...]
    areas_mm2: Floats
    scale_mm: float
    brush_mm: float
    apart: Floats
    mean_apart: float
    out_of_reach: tuple[OutOfReach, ...]
    lost: tuple[Lost, ...]
    thin_mm2: float
    notes: tuple[str, ...]
    steps: tuple[Step, ...]


def zones(
    artwork: ArrayLike, tiles: Sequence[Tile], coats: int, brush_mm: float, scale: float, *, joined: bool = False
) -> Zones:
    """Zones of an artwork for at most ``coats`` coats, with tiles that exist.

    Args:
        artwork: (h, w, 3) sRGB, whole numbers 0 to 255 or fractions 0 to 1; left alone.
        tiles: what may be used; a tile of 0 coats is the bare body. See `tiles.for_one_piece`.
        coats: the most coats, a coat being one glaze laid on all its zones however often it is brushed.
        brush_mm: the width below which nothing is painted, on the ware as it is painted (bisque).
        scale: mm of that ware to a pixel.
        joined: whether the left edge meets the right one, as when the artwork goes all the way round.
    Raises:
        OutOfRange: for no tiles, fewer coats than any tile needs, a picture narrower than the brush, or no picture at all.
    """
    picture = artwork_bytes(artwork)
    _check(picture.shape, tiles, coats, positive(brush_mm, "width of the brush", "mm"), positive(scale, "scale", "mm"))
    wide = picture.shape[1]
    lap = min(wide, int(np.ceil(LAP_BRUSHES * brush_mm / scale))) if joined else 0
    picture = np.pad(picture, ((0, 0), (lap, lap), (0, 0)), mode="wrap")
    block = coarsening(picture.shape, brush_mm / scale)
    px_mm = scale * block
    brush_px = brush_mm / px_mm
    linear = coarse_linear(picture, block)
    seen, share = _from_afar(linear, brush_px)
    seen_apart = distances(seen, tiles)
    chosen = list(best_tiles(seen_apart, share, tiles, int(coats)))
    found = palette(linear)
    every = distances(found.lab, tiles)
    apart = every[:, chosen]
    painted = made_paintable(*_suited(apart, found, brush_px), brush_px)
    kept = _largest_first(painted)
    names = [tiles[place] for place in chosen]
    used = tuple(names[place] for place in kept)
    coarse = _renumbered(painted, kept)
    labels = _spread_out(coarse, block, picture.shape)[:, lap : lap + wide]
    left = apart[found.places, painted]
    wanted = every.argmin(axis=1).astype(np.int32)
    lost = detail_lost(wanted[found.places], left - every.min(axis=1)[found.places], tiles, brush_px, px_mm)
    areas: Floats = np.bincount(labels.ravel(), minlength=len(used)).astype(np.float64) * scale**2
    unreached = colours_out_of_reach(seen, share, seen_apart, tiles, float(areas.sum()))
    return Zones(
        labels,
        used,
        coats_needed(used),
        areas,
        scale,
        brush_mm,
        apart=_by_zone(left, coarse, len(used)),
        mean_apart=float(left.mean()),
        out_of_reach=unreached,
        lost=lost,
        thin_mm2=float(too_thin(coarse, brush_px).sum()) * px_mm**2,
        notes=_notes(used, brush_px, unreached, lost),
        steps=_steps(areas, used, scale, float(left.mean())),
    )


def _check(shape: tuple[int, ...], tiles: Sequence[Tile], coats: int, brush_mm: float, scale: float) -> None:
    if coats != int(coats) or coats < 0:
        raise OutOfRange(f"coats are {coats:g}", "they are whole, from 0 up", "Give a number such as 5")
    some(tiles)
    smallest_mm = min(shape[:2]) * scale
    if smallest_mm < brush_mm:
        raise OutOfRange(
            f"the artwork is {smallest_mm:.3g} mm across on the ware",
            f"that is narrower than the brush of {brush_mm:g} mm",
            "Give a finer brush, a larger piece, or a picture of more than a few pixels",
        )


def _from_afar(linear: NDArray[np.float32], brush_px: float) -> tuple[Floats, Floats]:
    """The artwork's colours (n, 3) with grain finer than the brush blended away, and how much each counts (n,).

    Flat places count in full, the mixed colours along edges hardly.
    """
    from scipy.ndimage import gaussian_filter, gaussian_gradient_magnitude

    wide = max(brush_px / 6.0, 0.3)
    blended = gaussian_filter(linear, (wide, wide, 0.0))
    found = palette(blended)
    steep = sum(gaussian_gradient_magnitude(np.cbrt(blended[..., part]), 1.0) for part in range(3))
    # To the fourth power, so that the broad tails of an edge do not outweigh the few flat places of a small artwork.
    calm = 1.0 / (1.0 + (steep * brush_px / STEEP) ** 4)
    sums: Floats = np.bincount(found.places.ravel(), weights=calm.ravel(), minlength=len(found.lab)).astype(np.float64)
    return found.lab, weights(sums + 1e-9)


def _suited(apart: Floats, found: Palette, brush_px: float) -> tuple[Labels, Floats]:
    """The tile that suits each pixel and its neighbourhood, and how badly each tile suits each pixel."""
    from scipy.ndimage import gaussian_filter

    wide = max(brush_px / 4.0, 0.5)
    costs = np.minimum(apart, ENOUGH).T[:, found.places].astype(np.float32)
    calm = np.stack([gaussian_filter(each, wide / 2.0) for each in costs])
    if len(calm) == 1:
        return np.zeros(found.places.shape, dtype=np.int32), calm
    belief = _shares(-calm / INSISTS)
    for _ in range(MEAN_FIELD_ROUNDS):
        around = np.stack([gaussian_filter(each, wide) for each in belief])
        belief = _shares(NEIGHBOURS_COUNT * around - calm / INSISTS)
    return np.argmax(belief, axis=0).astype(np.int32), calm


def _shares(logs: Floats) -> Floats:
    raised = np.exp(logs - logs.max(axis=0))
    found: Floats = raised / raised.sum(axis=0)
    return found


def _spread_out(labels: Labels, block: int, shape: tuple[int, ...]) -> Labels:
    if block == 1:
        return labels
    return np.repeat(np.repeat(labels, block, axis=0), block, axis=1)[: shape[0], : shape[1]]


def _largest_first(labels: Labels) -> tuple[int, ...]:
    """The numbers that are there, by their area; those that came to nothing are left out."""
    counts = np.bincount(labels.ravel())
    return tuple(int(place) for place in np.argsort(-counts, kind="stable") if counts[place])


def _renumbered(labels: Labels, kept: Sequence[int]) -> Labels:
    table = np.zeros(max(kept) + 1, dtype=np.int32)
    table[list(kept)] = np.arange(len(kept))
    found: Labels = table[labels]
    return found


def _by_zone(values: Floats, labels: Labels, count: int) -> Floats:
    sums = np.bincount(labels.ravel(), weights=values.ravel(), minlength=count)
    found: Floats = sums / np.maximum(np.bincount(labels.ravel(), minlength=count), 1)
    return found


def _notes(
    used: Sequence[Tile], brush_px: float, unreached: Sequence[OutOfReach], lost: Sequence[Lost]
) -> tuple[str, ...]:
    notes = []
    if len(used) == 1:
        notes.append(f"the whole artwork came out as {used[0].name}: there is one zone")
    if brush_px < COARSE_PX:
        notes.append(
            f"the brush is only {brush_px:.1f} pixels wide, so edges are rough; a larger picture would draw them better"
        )
    if unreached:
        many = "1 colour" if len(unreached) == 1 else f"{len(unreached)} colours"
        notes.append(f"out of reach of the tiles: {many} of the artwork")
    notes += [
        f"{each.tile}: {each.area_mm2:.0f} mm2 were thinner than the brush and are left out; "
        f"they are about {each.width_mm:.1f} mm wide: take so fine a brush, a larger piece, or draw them with a pencil"
        for each in lost
    ]
    return tuple(notes)


def _steps(areas: Floats, used: Sequence[Tile], scale: float, mean: float) -> tuple[Step, ...]:
    flat = [
        Step(
            f"zone {place + 1}, {tile.name}: area",
            "pixels * mm_to_a_pixel ** 2",
            {"pixels": float(areas[place] / scale**2), "mm_to_a_pixel": scale},
            float(areas[place]),
            "definition",
            "mm2",
        )
        for place, tile in enumerate(used)
    ]
    how = f"mean over the artwork of the difference between its colour and the tile as fired; zones by: {METHOD}"
    return (*flat, Step("colour left over", "", {}, mean, "sharma-2005", "CIEDE2000", how=how))
