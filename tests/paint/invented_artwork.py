"""Invented artwork: petals and stems on a pale ground, with the grain of a brush and of a camera, and its true zones."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter

from wareboard.paint.colour import srgb_from_lab

# The fired colours of the invented tiles: bare body, honey, iron red, leaf, deep blue, black, sky.
COLOURS = ((86, 2, 10), (60, 15, 48), (38, 34, 26), (50, -22, 22), (34, 8, -40), (20, 0, 0), (68, -6, -22))


def petals(high: int, wide: int, seed: int, grain: float = 2.5, count: int = 26) -> tuple[np.ndarray, np.ndarray]:
    """The artwork, 8-bit sRGB, and which of `COLOURS` each pixel was drawn with."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:high, 0:wide] / high
    truth = np.zeros((high, wide), dtype=int)
    for _ in range(count):
        across, down, angle = rng.uniform(0, wide / high), rng.uniform(0, 1), rng.uniform(0, np.pi)
        long, broad = rng.uniform(0.05, 0.22), rng.uniform(0.008, 0.09)
        u = (x - across) * np.cos(angle) + (y - down) * np.sin(angle)
        v = -(x - across) * np.sin(angle) + (y - down) * np.cos(angle)
        truth[(u / long) ** 2 + (v / broad) ** 2 < 1] = rng.integers(1, len(COLOURS))
    lab = np.array(COLOURS, dtype=float)[truth]
    strokes = gaussian_filter(rng.normal(size=(high, wide)), (1, 4))
    lab[..., 0] += grain * 1.5 * strokes / strokes.std()
    lab += rng.normal(0, max(grain, 1e-9), lab.shape)
    lab = gaussian_filter(lab, (0.7, 0.7, 0))
    return np.round(srgb_from_lab(lab) * 255).astype(np.uint8), truth
