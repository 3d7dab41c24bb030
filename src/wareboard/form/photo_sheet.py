"""A sheet of paper of a known size lying by the piece: the scale of a photograph, its lens, and how its table lies."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import NotInTable
from wareboard.form.axis import Mask
from wareboard.form.curve import Floats
from wareboard.form.photo_colours import reduced
from wareboard.form.photo_outline import SMALL_SIDE, no_piece
from wareboard.form.photo_sheet_sides import area_of, four_sided, paper_in, sharpened
from wareboard.given import positive

# Long and short side, mm. A4: ISO 216, 2007. US letter, 8 1/2 by 11 inches: common practice.
SHEETS = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
MEND = "Lay it flat and whole in the picture, its four corners free, on a table of a darker colour; or give its four corners"
# How sure a corner is, dots; how far four may lie off a rectangle's, shares of the picture's long side.
CORNER_DOTS, WORST_FOUND, WORST_GIVEN = 0.4, 0.0003, 0.0025
SHARP_SIDE, BY_HAND, CLICKED, LEAST_PAPER = 1600, 0.008, 0.0025, 150
LEAST_LENS, MOST_LENS, TRIED = 0.45, 4.5, 8
ODD_CORNERS, ODD_LENS = 0.002, 0.02
USUAL_LENS, LENS_SPREAD, KNOWN_LENS_SPREAD = 1.0, 0.6, 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """A sheet as it lies: ``to_mm`` is the (3, 3) homography from places in the picture to mm on the table.

    ``corners_px`` is (4, 2), in turn, each known to ``corner_dots``; ``focal_px`` and its spread as a share; ``camera_mm``
    is how high the lens stood over the table; ``ground`` is where it shows in the picture made smaller; ``up`` is
    the way up from the table, (3,) to the right, down and ahead in the camera, and ``up_spread`` how sure, radians.
    """

    corners_px: Floats
    to_mm: Floats
    focal_px: float
    focal_spread: float
    camera_mm: float
    ground: Mask | None
    misfit_px: float
    size_mm: tuple[float, float]
    up: Floats
    up_spread: float
    corner_dots: float

    def on_table(self, places: Floats) -> Floats:
        """(n, 2) mm on the table of (n, 2) places in the picture."""
        found = np.column_stack([places, np.ones(len(places))]) @ self.to_mm.T
        table: Floats = found[:, :2] / found[:, 2:]
        return table

    def across_mm(self, ends: Floats) -> float:
        """Length on the table between two places in the picture, mm."""
        return float(np.linalg.norm(np.diff(self.on_table(ends), axis=0)))

    def length_mm(self, ends: Floats) -> tuple[float, float]:
        """Length on the table between two places in the picture, and its standard deviation as the corners leave it."""
        length = self.across_mm(ends)
        size = max(self.corner_dots, self.misfit_px)
        off = []
        for at in range(8):
            moved = self.corners_px.copy()
            moved[at // 2, at % 2] += size
            other = replace(self, corners_px=moved, to_mm=homography(moved, _rectangle(self.size_mm)))
            off.append(other.across_mm(ends) - length)
        down = ends + np.array([0.0, size])
        off.append(self.across_mm(down) - length)
        return length, math.sqrt(sum(each**2 for each in off))


def homography(corners_px: Floats, corners_mm: Floats) -> Floats:
    """(3, 3), 1 in its last place, that takes four places in a picture to four places on the table.

    Source: the eight linear equations of four pairs (Hartley and Zisserman, Multiple View Geometry, 2004, section 4.1; from
        memory).
    """
    rows, right = [], []
    for (x, y), (u, w) in zip(corners_px, corners_mm, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -w * x, -w * y]]
        right += [u, w]
    return np.append(np.linalg.solve(np.array(rows), np.array(right)), 1.0).reshape(3, 3)


def sheet_in(
    picture: NDArray[np.uint8], name: str, corners_px: Floats | None = None, lens_35mm: float | None = None
) -> Sheet:
    """The sheet that lies in a picture.

    Args:
        picture: (h, w, 3); left alone.
        name: "a4" or "letter".
        corners_px: (4, 2) of its corners (x, y) in turn, where they are known; else they are looked for.
        lens_35mm: focal length as on 35 mm film, where it is known.
    Raises:
        NotInTable: for another kind of sheet.
        NoPiece: if no such sheet is seen, or its corners are no rectangle's seen from one place.
    Source: pose of a flat rectangle under a pinhole camera that looks through the middle of its picture, by least squares
        from the homography (Z. Zhang, A flexible new technique for camera calibration, 2000; from memory).
    """
    if name not in SHEETS:
        raise NotInTable(f"sheet {name!r}", why="its size is not kept", mend="Use one of: " + ", ".join(SHEETS))
    lens = None if lens_35mm is None else positive(lens_35mm, "focal length", "mm") / 36.0
    seen = _Reduced.of(picture)
    long_side = float(max(picture.shape[:2]))
    most_px = WORST_FOUND * long_side
    if corners_px is None:
        places = [(score, seen.sharp(corners), CORNER_DOTS) for score, corners in islice(four_sided(seen.lab), TRIED)]
    else:
        most_px = WORST_GIVEN * long_side
        places = [(0.0, *seen.as_given(in_turn(np.asarray(corners_px, dtype=np.float64))))]
    if not places:
        raise no_piece("no sheet of paper with four straight sides is seen in it", MEND)
    sheets = [
        (score, _sheet(picture.shape, corners, dots, SHEETS[name], lens, most_px)) for score, corners, dots in places
    ]
    good = [(score - _oddness(sheet, picture.shape), sheet) for score, sheet in sheets if sheet is not None]
    if not good:
        raise no_piece(f"the four corners are not those of a flat {name} sheet", MEND)
    _, best = max(good, key=lambda pair: pair[0])
    return replace(best, ground=seen.paper(best.corners_px))


def is_a_sheet(corners: Floats, shape: tuple[int, ...]) -> bool:
    """Whether four corners in a picture of this shape can be those of a flat sheet of a known kind, under any usual lens."""
    most_px = WORST_GIVEN * float(max(shape[:2]))
    return any(_sheet(shape, corners, CORNER_DOTS, sizes, None, most_px) is not None for sizes in SHEETS.values())


def _oddness(sheet: Sheet, shape: tuple[int, ...]) -> float:
    """What speaks against four corners being a sheet's: that they are no rectangle's, or seen by an odd lens."""
    long_side = float(max(shape[:2]))
    odd = math.log(sheet.focal_px / long_side / USUAL_LENS) / LENS_SPREAD
    return sheet.misfit_px / (ODD_CORNERS * long_side) + ODD_LENS * odd**2


@dataclass(frozen=True, slots=True, eq=False)
class _Reduced:
    """A picture made smaller: ``lab`` to find a sheet in, and ``light``, less small, for the places of its corners."""

    lab: Floats
    factor: int
    light: Floats
    light_factor: int

    @classmethod
    def of(cls, picture: NDArray[np.uint8]) -> _Reduced:
        from skimage.color import rgb2lab

        (small, factor), (fine, fine_factor) = (reduced(picture, side) for side in (SMALL_SIDE, SHARP_SIDE))
        lab, sharp = (np.asarray(rgb2lab(each), dtype=np.float64) for each in (small, fine))
        return cls(lab, factor, sharp[..., 0], fine_factor)

    def sharp(self, corners: Floats, reach: float = 3.0) -> Floats:
        """Corners in dots of the picture itself, of corners in dots of ``lab``; where they are blurred, as they were."""
        places = (corners + 0.5) * self.factor
        found = sharpened(self.light, places / self.light_factor - 0.5, reach * self.factor / self.light_factor)
        return places - 0.5 if found is None else (found + 0.5) * self.light_factor - 0.5

    def as_given(self, corners: Floats) -> tuple[Floats, float]:
        """Corners given by hand, drawn to the sides of a sheet where those run near them; how sure each is, dots."""
        reach = BY_HAND * max(self.light.shape)
        small = (corners + 0.5) / self.light_factor - 0.5
        found = sharpened(self.light, small, reach)
        if found is None or np.linalg.norm(found - small, axis=1).max() > 2.0 * reach:
            return corners, CLICKED * max(self.light.shape) * self.light_factor
        return (found + 0.5) * self.light_factor - 0.5, CORNER_DOTS

    def paper(self, corners: Floats) -> Mask | None:
        """Where the sheet shows in the small picture; None where it hardly does."""
        found = paper_in(self.lab, (corners + 0.5) / self.factor - 0.5)
        return found if found.sum() > LEAST_PAPER else None


def _sheet(
    shape: tuple[int, ...],
    corners: Floats,
    dots: float,
    sizes: tuple[float, float],
    lens: float | None,
    most_px: float,
) -> Sheet | None:
    """The sheet with these corners; None where no such sheet can be seen so."""
    long_side = float(max(shape[:2]))
    middle = (np.array([shape[1], shape[0]]) - 1) / 2
    usual, spread = (USUAL_LENS, LENS_SPREAD) if lens is None else (lens, KNOWN_LENS_SPREAD)
    try:
        poses = [
            _pose(corners, size, middle, math.log(usual * long_side), spread, dots) for size in (sizes, sizes[::-1])
        ]
    except (np.linalg.LinAlgError, ValueError):
        return None
    (cost, x, within, misfit), size = min(zip(poses, (sizes, sizes[::-1]), strict=True), key=_first)
    if not math.isfinite(cost) or misfit > most_px:
        return None
    if not LEAST_LENS < math.exp(float(x[0])) / long_side < MOST_LENS:
        return None
    turn = _turned(x[1:4])
    over = float((-turn.T @ x[4:7])[2])
    return Sheet(
        corners,
        homography(corners, _rectangle(size)),
        math.exp(float(x[0])),
        math.sqrt(float(within[0, 0])),
        abs(over),
        None,
        misfit,
        size,
        turn[:, 2] * math.copysign(1.0, over),
        _tilt_spread(x[1:4], within[1:4, 1:4]),
        dots,
    )


def _tilt_spread(turn: Floats, within: Floats) -> float:
    """How sure the angle is at which the camera looks down on the table, radians."""
    step = 1e-4
    leans = [float(np.arcsin(_turned(turn + way)[2, 2])) for way in step * np.eye(3)]
    slope = (np.array(leans) - math.asin(float(_turned(turn)[2, 2]))) / step
    return math.sqrt(float(slope @ within @ slope))


def _first(each: tuple[tuple[float, Any, Any, float], tuple[float, float]]) -> float:
    return each[0][0]


def _rectangle(size: tuple[float, float]) -> Floats:
    return np.array([[0.0, 0.0], [size[0], 0.0], [size[0], size[1]], [0.0, size[1]]])


def _turned(turn: Floats) -> Floats:
    from scipy.spatial.transform import Rotation

    return np.asarray(Rotation.from_rotvec(turn).as_matrix(), dtype=np.float64)


def _pose(
    corners: Floats, size: tuple[float, float], middle: Floats, usual: float, spread: float, dots: float
) -> tuple[float, Floats, Floats, float]:
    """Cost, (log focal, turn, place), (7, 7) how they spread, and the corners' misfit, dots."""
    from scipy.optimize import least_squares
    from scipy.spatial.transform import Rotation

    table = np.column_stack([_rectangle(size), np.zeros(4)])
    flat = np.linalg.inv(homography(corners - middle, _rectangle(size)))
    columns = np.diag([math.exp(-usual), math.exp(-usual), 1.0]) @ flat
    columns /= math.sqrt(np.linalg.norm(columns[:, 0]) * np.linalg.norm(columns[:, 1])) * np.sign(columns[2, 2])
    frame = np.column_stack([columns[:, 0], columns[:, 1], np.cross(columns[:, 0], columns[:, 1])])
    left, _, right = np.linalg.svd(frame)
    start = np.concatenate([[usual], Rotation.from_matrix(left @ right).as_rotvec(), columns[:, 2]])

    def misses(x: Floats) -> Floats:
        seen = table @ _turned(x[1:4]).T + x[4:7]
        away = math.exp(x[0]) * seen[:, :2] / np.maximum(seen[:, 2:], 1.0) - (corners - middle)
        return np.append(away.ravel() / dots, (x[0] - usual) / spread)

    found = least_squares(misses, start, x_scale=np.array([0.1, 0.05, 0.05, 0.05, 20.0, 20.0, 20.0]), max_nfev=200)
    within = np.linalg.pinv(found.jac.T @ found.jac)
    misfit = float(np.sqrt(np.mean(found.fun[:8] ** 2))) * dots
    return float(found.cost), found.x, within, misfit


def in_turn(corners: Floats) -> Floats:
    """Four corners in turn about their middle, so that the sheet's face is seen and not its back.

    Raises:
        NoPiece: if they are not four finite places, or lie on one line.
    """
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        raise no_piece("the corners given are not four places (x, y)", "Give four corners in dots of the picture")
    away = corners - corners.mean(axis=0)
    ordered: Floats = corners[np.argsort(np.arctan2(away[:, 1], away[:, 0]))]
    if area_of(ordered) < 100.0:
        raise no_piece("the four corners lie on one line", "Give four corners in dots of the picture")
    return ordered
