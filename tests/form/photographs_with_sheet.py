"""Pictures of invented pieces by which a sheet of paper lies, its corners and the camera known: drawn ray by ray.

A sheet lies before, beside, behind or under the piece, turned anyhow, whole in the picture with its corners free, on any
ground that the piece itself can be told from; a pale table or a white piece under white paper is among them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tests.form.photographs import GLAZES, GROUNDS, WOODS, Field, Scene, _ball, _eye, _walk, far_apart, scene_number

Floats = NDArray[np.float64]
# Long and short side, mm. A4: ISO 216, 2007; US letter, 8 1/2 by 11 inches of 25.4 mm.
SIZES = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
PLACES = ("before", "beside", "behind", "under")
SIZE = (960, 720)  # a telephone's picture has four times as many dots each way
TRIES, FREE_SHARE, FREE_ROOM = 200, 0.01, (0.94, 1.0, 1.06)


@dataclass(frozen=True)
class WithSheet:
    """A scene with its sheet, which kind of sheet it is and where it lies."""

    scene: Scene
    kind: str
    place: str

    @property
    def plain(self) -> bool:
        """Whether an eye tells the paper from the table and from the piece at once."""
        table = {**GROUNDS, **WOODS}[self.scene.ground]
        return far_apart(table, self.scene.sheet_tone) and far_apart(GLAZES[self.scene.glaze], self.scene.sheet_tone)


def with_sheet_number(seed: int, size: tuple[int, int] = SIZE) -> WithSheet:
    """An invented scene of its own for each seed, with a sheet whose four corners show."""
    rng = np.random.default_rng([seed, 23])
    while True:  # a sheet that cannot lie so by this piece lies by another
        found = _tried(rng, seed, size)
        if found is not None:
            return found


def _tried(rng: np.random.Generator, seed: int, size: tuple[int, int]) -> WithSheet | None:
    scene = scene_number(int(rng.integers(100_000)), size)
    kind, place = str(rng.choice(list(SIZES))), str(rng.choice(PLACES))
    paper = int(rng.integers(228, 247))
    scene = replace(
        scene, distance=1.15 * scene.distance, elevation=float(rng.uniform(max(scene.elevation, 13.0), 28.0)),
        sheet_mm=SIZES[kind], sheet_tone=(paper, paper, paper - int(rng.integers(0, 6))), seed=seed,
    )  # fmt: skip
    field = Field(scene)
    for tries in range(TRIES):
        turn = float(rng.choice([0.0, 90.0]) + rng.uniform(-28, 28))
        tried = replace(scene, sheet_turn=turn, sheet=_middle(place, scene, rng))
        if _corners_free(tried, field):
            return WithSheet(tried, kind, place)
        if tries % 20 == 19:  # the whole sheet does not come into the picture from so near
            scene = replace(scene, distance=1.06 * scene.distance)
    return None


def _middle(place: str, scene: Scene, rng: np.random.Generator) -> tuple[float, float]:
    """Where the middle of the sheet lies on the table, mm, the piece standing at (0, 0)."""
    half = scene.profile.widest_mm / 2
    across, along = float(rng.uniform(-60, 60)), float(rng.uniform(-40, 40))
    side = float(rng.choice([-1.0, 1.0]))
    return {
        "before": (across, -half - float(rng.uniform(95, 150))),
        "beside": (side * (half + float(rng.uniform(90, 150))), along),
        "behind": (2 * across, half + float(rng.uniform(80, 140))),
        "under": (across, along),
    }[place]


def corners_on_table_mm(scene: Scene) -> Floats:
    """(4, 2) places of the sheet's corners on the table, in turn."""
    assert scene.sheet is not None
    long, short = scene.sheet_mm
    turn = np.radians(scene.sheet_turn)
    flat = np.array([[-long, -short], [long, -short], [long, short], [-long, short]]) / 2
    turned = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return np.asarray(flat @ turned + np.array(scene.sheet))


def true_corners(scene: Scene) -> Floats:
    """(4, 2) places in the picture of the sheet's corners, by the camera that drew it."""
    place, frame = _eye(scene)
    seen = (np.column_stack([corners_on_table_mm(scene), np.zeros(4)]) - place) @ frame.T
    focal = scene.focal * max(scene.size)
    middle = (np.array(scene.size) - 1) / 2
    return np.asarray(np.column_stack([seen[:, 0], -seen[:, 1]]) / seen[:, 2:] * focal + middle)


def _corners_free(scene: Scene, field: Field) -> bool:
    seen = true_corners(scene)
    room = FREE_SHARE * max(scene.size)
    if seen.min() < room or (seen > np.array(scene.size) - room).any():
        return False
    place, _ = _eye(scene)
    flat = corners_on_table_mm(scene)
    # A little way in and out along the sheet's diagonals nothing stands before the table either.
    about = np.concatenate([scene.sheet + share * (flat - scene.sheet) for share in FREE_ROOM])
    ways = np.column_stack([about, np.zeros(len(about))]) - place
    far = np.linalg.norm(ways, axis=1)
    ways /= far[:, None]
    first, last = _ball(place, ways, scene)
    return bool((_walk(field, place, ways, first, np.minimum(last, far)) > far).all())
