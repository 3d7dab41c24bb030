"""Photographs drawn with known truth: a card and a row of tiles, through a camera that mixes, tints and bends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wareboard.paint.card import Card
from wareboard.paint.colour import linear_from_lab, srgb_from_linear

# Invented camera: its channels see a little of one another, under a warm lamp, a little dark.
MIXING = np.array([[0.80, 0.16, 0.04], [0.10, 0.80, 0.10], [0.03, 0.17, 0.80]])
LAMP = np.array([1.15, 0.95, 0.62])
CARD_CORNERS = np.array([[62.0, 48.0], [588.0, 72.0], [566.0, 414.0], [84.0, 398.0]])
TILE_BOXES = tuple((40 + 72 * k, 452, 96 + 72 * k, 508) for k in range(8))


@dataclass(frozen=True)
class Photograph:
    srgb: np.ndarray
    corners_px: np.ndarray
    tile_lab: np.ndarray


def photograph(
    card: Card,
    tile_lab: np.ndarray,
    *,
    exposure: float = 0.75,
    bend: float = 1.0,
    falloff: float = 0.0,
    noise: float = 0.006,
    seed: int = 7,
) -> Photograph:
    """A card in perspective over a row of tiles, as 8-bit sRGB scaled to 0..1.

    ``bend`` is a power that the camera puts on its channels; ``falloff`` how much darker the right edge is.
    """
    high, wide = 540, 660
    scene = np.full((high, wide, 3), 0.2)
    y, x = np.mgrid[0:high, 0:wide].astype(float)
    u, v = _unprojected(x, y, CARD_CORNERS)
    column, row = np.floor(u * 6).astype(int), np.floor(v * 4).astype(int)
    inside = (u >= 0) & (u < 1) & (v >= 0) & (v < 1)
    # A dark border about each patch, as on the card itself.
    border = (np.abs(u * 6 - column - 0.5) > 0.44) | (np.abs(v * 4 - row - 0.5) > 0.44)
    patches = np.clip(linear_from_lab(card.lab), 0.0, None)
    scene[inside] = patches[(row * 6 + column)[inside]]
    scene[inside & border] = 0.03
    for (left, top, right, bottom), lab in zip(TILE_BOXES, tile_lab, strict=True):
        scene[top:bottom, left:right] = np.clip(linear_from_lab(lab), 0.0, None)
    lit = scene * LAMP * exposure * (1.0 - falloff * x / wide)[..., None]
    seen = np.clip(lit @ MIXING.T, 0.0, 1.0) ** bend
    noisy = srgb_from_linear(seen) + np.random.default_rng(seed).normal(0, noise, seen.shape)
    return Photograph(np.round(np.clip(noisy, 0, 1) * 255) / 255, CARD_CORNERS, tile_lab)


def _unprojected(x: np.ndarray, y: np.ndarray, corners: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """From the picture back to the card's plane, by scikit-image's projective transform."""
    from skimage.transform import ProjectiveTransform

    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    flat = ProjectiveTransform.from_estimate(corners, square)(np.column_stack([x.ravel(), y.ravel()]))
    return flat[:, 0].reshape(x.shape), flat[:, 1].reshape(x.shape)
