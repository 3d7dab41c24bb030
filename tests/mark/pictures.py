"""Pictures of drawn strokes whose true lines are known: noise, a falling light, a soft shadow, specks. Invented."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

Floats = np.ndarray
MM = 0.1


def distance_to(x: Floats, y: Floats, line: Floats) -> Floats:
    """Distance of every place to a line of (x, y)."""
    off = np.full(x.shape, np.inf)
    for a, b in pairwise(line):
        way = b - a
        part = np.clip(((x - a[0]) * way[0] + (y - a[1]) * way[1]) / (way @ way), 0, 1)
        off = np.minimum(off, np.hypot(x - a[0] - part * way[0], y - a[1] - part * way[1]))
    return off


def grid(size: float = 40.0) -> tuple[Floats, Floats]:
    """x and y in mm at the middle of every pixel, the first row on top."""
    places = (np.arange(round(size / MM)) + 0.5) * MM
    return np.meshgrid(places, places[::-1])


def strokes(lines: list[Floats], width: float, size: float = 40.0) -> Floats:
    """How much of each pixel is ink, 0 to 1, for strokes of that width with round ends."""
    x, y = grid(size)
    off = np.min([distance_to(x, y, line) for line in lines], axis=0)
    return np.clip((width / 2 - off) / MM + 0.5, 0, 1)


def photographed(ink: Floats, noise: float = 0.04, shade: float = 0.5, specks: int = 20, seed: int = 1) -> Floats:
    """A grey picture of ink on paper under a falling light and a soft shadow, with specks and noise."""
    rng = np.random.default_rng(seed)
    rows, columns = ink.shape
    down, along = np.meshgrid(np.linspace(0, 1, rows), np.linspace(0, 1, columns), indexing="ij")
    light = 1 - shade * (0.5 * along + 0.5 * np.exp(-((along - 0.75) ** 2 + (down - 0.7) ** 2) / 0.05))
    picture = (0.9 - 0.75 * ink) * light
    for row, column in rng.integers(0, min(rows, columns) - 2, (specks, 2)):
        picture[row : row + 2, column : column + 2] = 0.2
    return picture + rng.normal(0, noise, ink.shape)


def known_lines() -> list[Floats]:
    """A ring, a straight bar across it and a wave clear of both."""
    part = np.linspace(0, 1, 121)
    ring = np.column_stack([16 + 9 * np.cos(2 * np.pi * part), 24 + 9 * np.sin(2 * np.pi * part)])
    wave = np.column_stack([4 + 32 * part, 6 + 3 * np.sin(9 * part)])
    return [ring, np.array([[16.0, 11.0], [16.0, 37.0]]), wave]
