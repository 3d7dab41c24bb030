"""How near does a photographed piece come whose size a sheet of paper in the picture tells, on scenes of known truth?"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.form.photographs import photograph, truth_mm
from tests.form.photographs_with_sheet import WithSheet, true_corners, with_sheet_number
from wareboard.errors import WareboardError
from wareboard.form.silhouette import profile_from_photo

QUESTION = (
    "pieces read off photographs in which a sheet of A4 or US letter alone tells the size: how many come within 1.5 %"
)
REFERENCE = (
    "the true section and camera, walked ray by ray (tests/form/photographs_with_sheet.py); the error is the 95th "
    "percentile along the height over the diameter, and no height is told"
)
Floats = NDArray[np.float64]
SCENES, HAND_DOTS = 60, 4.0


@dataclass(frozen=True, slots=True)
class Read:
    """Error and stated range as shares of the diameter, nan where it is refused; the height's own, as shares of it."""

    error: float = float("nan")
    stated: float = float("nan")
    height_error: float = float("nan")
    height_stated: float = float("nan")


def run() -> list[dict[str, str]]:
    """Rows: sheets looked for in all scenes, and in those where paper stands out from table and piece; corners clicked."""
    with ProcessPoolExecutor(2) as both:
        found = list(both.map(_scene, range(SCENES)))
    plain = [found_it for stands_out, found_it, _ in found if stands_out]
    return [
        _row("sheet looked for, every scene", [each[1] for each in found]),
        _row("sheet looked for, paper unlike table and piece", plain),
        _row(f"four corners clicked, each off by up to {HAND_DOTS:.0f} dots of 960", [each[2] for each in found]),
    ]


def _scene(seed: int) -> tuple[bool, Read, Read]:
    drawn = with_sheet_number(seed)
    picture = photograph(drawn.scene, fine=1)
    off = np.random.default_rng([seed, 31]).uniform(-HAND_DOTS, HAND_DOTS, (4, 2))
    return drawn.plain, _read(drawn, picture, None), _read(drawn, picture, true_corners(drawn.scene) + off)


def _read(drawn: WithSheet, picture: NDArray[np.uint8], corners: Floats | None) -> Read:
    scene = drawn.scene
    try:
        read = profile_from_photo(picture, sheet=drawn.kind, sheet_corners_px=corners)
    except WareboardError:
        return Read()
    away = np.abs(read.radii_mm - truth_mm(scene, read.heights_mm))
    wide, tall = scene.profile.widest_mm, scene.profile.height_mm
    height = next(step for step in read.steps if step.key == "height")
    assert height.high is not None
    return Read(
        float(np.percentile(away, 95)) / wide,
        read.uncertainty_mm / wide,
        abs(height.value / tall - 1.0),
        (height.high - height.value) / tall,
    )


def _row(way: str, each: list[Read]) -> dict[str, str]:
    seen = [one for one in each if np.isfinite(one.error)]
    error, stated = np.array([one.error for one in seen]), np.array([one.stated for one in seen])
    held = np.array([one.height_error <= one.height_stated for one in seen])
    return {
        "way": way,
        "read": f"{len(seen)} of {len(each)}",
        "within 1.5 %": str(int((error <= 0.015).sum())),
        "median error": f"{np.median(error):.2%}",
        "worst": f"{error.max():.2%}",
        "median stated": f"{np.median(stated):.2%}",
        "error within what is stated": f"{(error <= stated).mean():.0%}",
        "height within its range": f"{held.mean():.0%}",
    }
