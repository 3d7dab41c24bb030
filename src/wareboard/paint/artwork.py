"""An artwork looked at before it is used: a picture of three colours, made coarse enough to work on and listed by colour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange
from wareboard.paint.colour import Floats, lab_from_linear, linear_from_srgb

MOST_PIXELS = 60_000_000
WORKED_PIXELS = 500_000
# Pixels to a brush: enough to tell its width, and no more than needed.
BRUSH_PIXELS = 8
SHADES = 32
Bytes = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Palette:
    """The colours of a picture: ``lab`` (n, 3), how many pixels have each (n,), and which one each pixel has (h, w)."""

    lab: Floats
    counts: Floats
    places: NDArray[np.intp]


def artwork_bytes(given: ArrayLike) -> Bytes:
    """The artwork as 8-bit sRGB, (h, w, 3).

    Args:
        given: (h, w, 3) whole numbers 0 to 255, or fractions 0 to 1; (h, w) for a grey picture. Left alone.
    Raises:
        OutOfRange: for anything else, with what to do about it.
    """
    picture = np.asarray(given)
    if picture.ndim == 2:
        picture = np.repeat(picture[:, :, None], 3, axis=2)
    if picture.ndim != 3 or 0 in picture.shape[:2]:
        raise OutOfRange(
            f"the artwork has shape {picture.shape}", "it must be rows by columns by three colours", "Open it again"
        )
    if picture.shape[2] != 3:
        raise OutOfRange(
            f"the artwork has {picture.shape[2]} channels",
            "four are transparency or printing inks (CMYK), and neither says what colour is seen",
            "Flatten it on the colour of the body and save it as RGB",
        )
    if picture.shape[0] * picture.shape[1] > MOST_PIXELS:
        raise OutOfRange(
            f"the artwork has {picture.shape[0] * picture.shape[1] / 1e6:.0f} megapixels",
            f"at most {MOST_PIXELS / 1e6:.0f} are taken",
            "Make it smaller: 20 pixels to a millimetre of ware are plenty",
        )
    if picture.dtype == np.uint8:
        return picture
    if not np.issubdtype(picture.dtype, np.number) or not np.isfinite(picture).all():
        raise OutOfRange("the artwork", "it holds what is no number", "Open it again")
    low, high = float(picture.min()), float(picture.max())
    whole = np.issubdtype(picture.dtype, np.integer)
    if low < 0 or high > (255 if whole else 1.0):
        raise OutOfRange(
            f"the artwork runs from {low:g} to {high:g}",
            "colours are whole numbers from 0 to 255, or fractions from 0 to 1",
            "Divide it by its largest possible value",
        )
    return picture.astype(np.uint8) if whole else np.round(picture * 255.0).astype(np.uint8)


def coarsening(shape: tuple[int, ...], brush_px: float) -> int:
    """How many pixels to take together each way, so that a brush is still told well and the work stays short."""
    by_brush = int(brush_px // BRUSH_PIXELS)
    by_size = int(np.ceil((shape[0] * shape[1] / WORKED_PIXELS) ** 0.5))
    return max(1, by_brush, by_size)


def coarse_linear(picture: Bytes, block: int) -> NDArray[np.float32]:
    """Mean linear light of blocks of pixels; the last row and column carry on past the edge."""
    steps = np.arange(256) / 255.0
    light = linear_from_srgb(np.column_stack([steps] * 3))[:, 0].astype(np.float32)
    if block == 1:
        return light[picture]
    high, wide = picture.shape[:2]
    padded = np.pad(picture, ((0, -high % block), (0, -wide % block), (0, 0)), mode="edge")
    rows, columns = padded.shape[0] // block, padded.shape[1] // block
    # Row by row of blocks, so that a large picture is never held twice as floats.
    found = np.empty((rows, columns, 3), dtype=np.float32)
    for row in range(rows):
        strip = light[padded[row * block : (row + 1) * block]]
        found[row] = strip.reshape(block, columns, block, 3).mean(axis=(0, 2))
    return found


def palette(linear: NDArray[np.float32]) -> Palette:
    """The picture's colours; where there are very many, those that can hardly be told apart count as one."""
    flat = linear.reshape(-1, 3)
    # Even steps of the cube root are nearly even steps of what is seen.
    step = np.minimum((np.cbrt(flat) * (SHADES * 4)).astype(np.int64), SHADES * 4 - 1)
    if len(np.unique(_packed(step))) > 20_000:
        step //= 4
    _, places, counts = np.unique(_packed(step), return_inverse=True, return_counts=True)
    places = places.ravel()
    sums = np.column_stack([np.bincount(places, weights=flat[:, part]) for part in range(3)])
    lab = lab_from_linear(sums / counts[:, None])
    return Palette(lab, counts.astype(np.float64), places.reshape(linear.shape[:2]))


def _packed(step: NDArray[np.int64]) -> NDArray[np.int64]:
    return (step[:, 0] << 16) | (step[:, 1] << 8) | step[:, 2]
