"""How thin are the zones of an artwork, and how far off in colour, against ways that take each pixel or patch alone?"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from tests.paint.invented_artwork import petals
from tests.paint.invented_tiles import TILES
from wareboard.paint.artwork import coarse_linear
from wareboard.paint.brush import too_thin
from wareboard.paint.colour import lab_from_linear
from wareboard.paint.layers import zones
from wareboard.paint.tiles import distances

QUESTION = (
    "share of the artwork too thin for the brush, number of separate parts, and colour left over, on invented artwork"
)
REFERENCE = (
    "naive v1: each pixel to the nearest fired colour in CIEDE2000; SLIC v1: scikit-image's slic with its defaults but one "
    "segment for each square of two brushes, each segment's mean colour to the nearest; both with all tiles, coats unlimited"
)
BRUSH_MM, SCALE_MM, COATS = 3.0, 0.25, 6


def _nearest(picture: np.ndarray) -> np.ndarray:
    lab = lab_from_linear(coarse_linear(picture, 1)).reshape(-1, 3)
    found = np.concatenate([distances(part, TILES).argmin(axis=1) for part in np.array_split(lab, 20)])
    return found.reshape(picture.shape[:2]).astype(np.int32)


def _slic(picture: np.ndarray) -> np.ndarray:
    from skimage.segmentation import slic

    side = 2 * BRUSH_MM / SCALE_MM
    parts = slic(picture, n_segments=int(picture.shape[0] * picture.shape[1] / side**2), start_label=0)
    linear = coarse_linear(picture, 1)
    counts = np.bincount(parts.ravel())
    means = (
        np.column_stack([np.bincount(parts.ravel(), weights=linear[..., k].ravel()) for k in range(3)])
        / counts[:, None]
    )
    return distances(lab_from_linear(means), TILES).argmin(axis=1)[parts].astype(np.int32)


def _ours(picture: np.ndarray) -> np.ndarray:
    found = zones(picture, TILES, COATS, BRUSH_MM, SCALE_MM)
    names = [tile.name for tile in TILES]
    places = np.array([names.index(tile.name) for tile in found.tiles], dtype=np.int32)
    return places[found.labels]


def _judged(name: str, how: Callable[[np.ndarray], np.ndarray]) -> tuple[dict[str, str], list[float]]:
    from skimage.measure import label

    figures = []
    for seed in range(3):
        picture, _ = petals(400, 800, seed)
        began = time.perf_counter()
        labels = how(picture)
        took = time.perf_counter() - began
        lab = lab_from_linear(coarse_linear(picture, 1))
        apart = 0.0
        for place in np.unique(labels):
            mine = labels == place
            apart += float(distances(lab[mine], [TILES[int(place)]]).sum())
        thin = float(too_thin(labels, BRUSH_MM / SCALE_MM).mean())
        figures.append([thin, float(label(labels, background=-1, connectivity=1).max()), apart / labels.size, took])
    thin, parts, apart, took = np.mean(figures, axis=0)
    row = {"way": name, "too thin": f"{thin:.2%}", "parts": f"{parts:.0f}", "CIEDE2000 left": f"{apart:.2f}"}
    return row, [thin, parts, apart, took]


def run() -> list[dict[str, str]]:
    """One row a way, with the ratio of colour left over and of time to the naive way."""
    ways = (("naive", _nearest), ("SLIC and nearest", _slic), (f"zones, {COATS} coats", _ours))
    judged = [_judged(name, how) for name, how in ways]
    naive = judged[0][1]
    for row, figures in judged:
        row["thin, over naive"] = f"{figures[0] / naive[0]:.4f}"
        row["colour, over naive"] = f"{figures[2] / naive[2]:.3f}"
        row["time, over naive"] = f"{figures[3] / naive[3]:.2f}"
    return [row for row, _ in judged]
