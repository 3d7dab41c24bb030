"""How near do lines traced from a photographed mark lie to what was drawn, against thinning with a library's defaults?"""

from __future__ import annotations

import time
from collections.abc import Callable
from itertools import pairwise

import numpy as np

from tests.mark.pictures import MM, distance_to, known_lines, photographed, strokes
from wareboard.mark.tracing import trace

QUESTION = (
    "lines traced from a photographed mark: how far off, how much missing, how much too long, against plain thinning"
)
REFERENCE = (
    "skimage v1: scikit-image's threshold_otsu and skeletonize with their defaults; local v1: threshold_local with a block "
    "of 51 pixels and no offset, then skeletonize; every pixel that is left is a line to carve. Strokes of 0.6 to 2 mm "
    "on 40 mm of paper, light falling off by 30 to 70 %, noise of 2 to 6 %, 20 specks; 12 pictures"
)
FOUND_MM = 0.5  # a stylus' width
CASES = [(width, shade, noise) for width in (0.6, 1.2, 2.0) for shade in (0.3, 0.7) for noise in (0.02, 0.06)]
Points = np.ndarray


def _pixels(ink: np.ndarray) -> tuple[Points, float]:
    """Middles of the pixels left by thinning, mm, and their length, a pixel each."""
    from skimage.morphology import skeletonize

    rows, columns = np.nonzero(skeletonize(ink))
    height = ink.shape[0]
    return np.column_stack([columns + 0.5, height - rows - 0.5]) * MM, rows.size * MM


def _skimage(picture: np.ndarray) -> tuple[Points, float]:
    from skimage.filters import threshold_otsu

    return _pixels(picture < threshold_otsu(picture))


def _local(picture: np.ndarray) -> tuple[Points, float]:
    from skimage.filters import threshold_local

    return _pixels(picture < threshold_local(picture, 51))


def _ours(picture: np.ndarray) -> tuple[Points, float]:
    lines = [
        np.vstack([line.points_mm, line.points_mm[:1]]) if line.closed else line.points_mm
        for line in trace(picture, MM).drawing.lines
    ]
    return np.vstack([_even(line) for line in lines]), sum(_length(line) for line in lines)


def _length(line: Points) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _even(line: Points) -> Points:
    """Points of a line, no farther apart than a pixel."""
    parts = [
        a + np.linspace(0, 1, max(2, int(np.hypot(*(b - a)) / MM) + 1))[:, None] * (b - a) for a, b in pairwise(line)
    ]
    return np.vstack(parts)


def _figures(points: Points, length: float) -> tuple[float, float, float]:
    """Within how many mm of what was drawn 95 % of the lines lie; the share of it not found; length over its length."""
    from scipy.spatial import cKDTree

    drawn = known_lines()
    off = np.min([distance_to(points[:, 0], points[:, 1], line) for line in drawn], axis=0)
    true = np.vstack([_even(line) for line in drawn])
    away, _ = cKDTree(points).query(true)
    return float(np.quantile(off, 0.95)), float((away > FOUND_MM).mean()), length / sum(_length(line) for line in drawn)


def _judged(how: Callable[[np.ndarray], tuple[Points, float]]) -> tuple[np.ndarray, float]:
    found, spent = [], 0.0
    for seed, (width, shade, noise) in enumerate(CASES):
        picture = photographed(strokes(known_lines(), width), noise, shade, seed=seed)
        begun = time.perf_counter()
        points, length = how(picture)
        spent += time.perf_counter() - begun
        found.append(_figures(points, length))
    return np.array(found), spent


def run() -> list[dict[str, str]]:
    """A row a way: middle and worst of the pictures, and time over the plainest way's."""
    ways = {"skimage": _skimage, "local": _local, "traced": _ours}
    judged = {name: _judged(how) for name, how in ways.items()}
    plain = judged["skimage"]
    rows = []
    for name, (found, spent) in judged.items():
        off, missing, length = np.median(found, axis=0)
        rows.append(
            {
                "way": name,
                "95 % within, mm": f"{off:.2f} (worst {found[:, 0].max():.2f})",
                "not found": f"{missing:.1%} (worst {found[:, 1].max():.1%})",
                "length over drawn": f"{length:.2f} (worst {found[:, 2].max():.2f})",
                "off, over skimage": f"{off / np.median(plain[0][:, 0]):.3f}",
                "time, over skimage": f"{spent / plain[1]:.1f}",
            }
        )
    return rows


if __name__ == "__main__":
    for row in run():
        print(row)
