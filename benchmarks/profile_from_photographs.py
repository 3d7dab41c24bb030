"""How near does a profile read off a photograph come, on a hundred rendered photographs whose truth is known?"""

from __future__ import annotations

import time
from concurrent.futures import ProcessPoolExecutor

import numpy as np
from numpy.typing import NDArray

from tests.form.photographs import Scene, enlarged, photograph, scene_number, truth_mm
from wareboard.errors import WareboardError
from wareboard.form.silhouette import profile_from_photo

QUESTION = "profiles read off a hundred rendered photographs: how many come within 1.5 % of the diameter"
REFERENCE = (
    "the true section, walked ray by ray (tests/form/photographs.py); and what scikit-image's Otsu threshold gives by "
    "half the width of each row of its largest part"
)
Floats = NDArray[np.float64]
SCENES = 100
SMALL, LARGER = (640, 480), (2000, 1500)  # a telephone's picture has four times the dots of the larger
TWELVE_MEGAPIXELS = (4000, 3000)


def run() -> list[dict[str, str]]:
    """Rows by size of picture: lens not known, lens as a phone's file names it, plain threshold; one of 12 megapixels."""
    rows = []
    for size in (SMALL, LARGER):
        with ProcessPoolExecutor(2) as both:
            read = list(both.map(_scene, range(SCENES), [size] * SCENES))
        naive = [each[2] for each in read]
        dots = f"{size[0]} by {size[1]}"
        rows += [
            _row(f"{dots}, {way}", [each[place] for each in read], naive)
            for place, way in enumerate(("lens not known", "lens named by the file"))
        ]
        share = np.array(naive)
        rows.append(
            {
                "way": f"{dots}, Otsu threshold, row by row",
                "within 1.5 %": f"{int((share <= 0.015).sum())} of {SCENES}",
                "median error": f"{np.median(share):.2%}",
            }
        )
    return [*rows, _large()]


def _scene(seed: int, size: tuple[int, int]) -> tuple[tuple[float, float, bool], tuple[float, float, bool], float]:
    """A scene read without the lens and with it, and by the threshold."""
    scene = scene_number(seed)
    picture = photograph(scene) if size == scene.size else photograph(enlarged(scene, size), fine=1)
    return (
        _read(scene, picture, None),
        _read(scene, picture, 36.0 * scene.focal),
        _by_threshold(scene, picture),
    )


def _read(scene: Scene, picture: NDArray[np.uint8], lens: float | None) -> tuple[float, float, bool]:
    """Error and stated uncertainty as shares of the diameter, nan where it is refused; and whether the handle is right."""
    try:
        read = profile_from_photo(picture, scene.profile.height_mm, lens_35mm=lens)
    except WareboardError:
        return float("nan"), float("nan"), True
    away = np.abs(read.radii_mm - truth_mm(scene, read.heights_mm))
    wide = scene.profile.widest_mm
    right = (read.handle is not None) == bool(scene.handle)
    return float(np.percentile(away, 95)) / wide, read.uncertainty_mm / wide, right


def _row(way: str, each: list[tuple[float, float, bool]], naive: list[float]) -> dict[str, str]:
    error, stated, right = (np.array(column, dtype=np.float64) for column in zip(*each, strict=True))
    seen = np.isfinite(error)
    return {
        "way": way,
        "within 1.5 %": f"{int((error[seen] <= 0.015).sum())} of {SCENES}",
        "refused": str(int((~seen).sum())),
        "median error": f"{np.median(error[seen]):.2%}",
        "worst": f"{error[seen].max():.2%}",
        "error within what is stated": f"{(error[seen] <= stated[seen]).mean():.0%}",
        "handle rightly seen or not": f"{int(right.sum())} of {SCENES}",
        "error over the threshold's": f"{np.median(error[seen] / np.array(naive)[seen]):.2f}",
    }


def _by_threshold(scene: Scene, picture: NDArray[np.uint8]) -> float:
    from skimage.color import rgb2gray
    from skimage.filters import threshold_otsu
    from skimage.measure import label

    grey = rgb2gray(picture)
    mask = grey > threshold_otsu(grey)
    edge = np.concatenate([mask[0], mask[-1], mask[:, 0], mask[:, -1]])
    parts = label(~mask if edge.mean() > 0.5 else mask)
    largest = parts == int(np.argmax(np.bincount(parts.ravel())[1:])) + 1
    rows = np.flatnonzero(largest.any(axis=1))
    half = np.array([np.ptp(np.flatnonzero(largest[row])) + 1 for row in rows]) / 2.0
    tall = scene.profile.height_mm
    heights = np.linspace(tall, 0.0, len(rows))
    away = np.abs(half * tall / max(1, len(rows)) - truth_mm(scene, heights))
    return float(np.percentile(away, 95)) / scene.profile.widest_mm


def _large() -> dict[str, str]:
    scene = enlarged(scene_number(3), TWELVE_MEGAPIXELS)
    picture = photograph(scene, fine=1)
    began = time.perf_counter()
    error, _, right = _read(scene, picture, None)
    return {
        "way": f"one of 12 megapixels, {time.perf_counter() - began:.2f} s",
        "median error": f"{error:.2%}",
        "handle rightly seen or not": f"{int(right)} of 1",
    }
