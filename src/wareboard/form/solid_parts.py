"""A closed part of a solid: its points and faces, and how rings of points are joined into a skin.

Points are in mm, x and y across and z up. Seen from outside, the corners of a face run anticlockwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.form.curve import Floats

Faces = NDArray[np.int64]
# The ends of a handle or a spout lie so far under the skin of the wall that both fuse when they are printed.
SUNK_MM = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One closed part: its name, (n, 3) points in mm, and (m, 3) places in them, three to a face."""

    name: str
    points_mm: Floats
    faces: Faces

    @property
    def volume_mm3(self) -> float:
        """Volume within the faces: a sixth of the triple products of their corners (divergence theorem)."""
        return float(self._tetrahedra().sum())

    @property
    def centre_mm(self) -> Floats:
        """(3,) the centre of gravity, of even clay."""
        quarter = self.points_mm[self.faces].sum(axis=1) / 4
        weights = self._tetrahedra()
        result: Floats = (quarter * weights[:, None]).sum(axis=0) / weights.sum()
        return result

    def _tetrahedra(self) -> Floats:
        a, b, c = (self.points_mm[self.faces[:, corner]] for corner in range(3))
        return np.asarray(np.einsum("ij,ij->i", a, np.cross(b, c)) / 6)

    def scaled(self, height_factor: float, width_factor: float) -> Part:
        """The part made taller and wider by factors."""
        return Part(self.name, self.points_mm * np.array([width_factor, width_factor, height_factor]), self.faces)


def widened(sides: int) -> float:
    """How far the corners of a figure of so many sides stand out that it has the area of its circle, as a factor."""
    return math.sqrt(2 * math.pi / sides / math.sin(2 * math.pi / sides))


def tube_faces(rings: int, sides: int) -> Faces:
    """Faces of a tube of rings closed by a point at each end: point 0, then the rings, then the last point."""
    here = 1 + np.arange(sides)
    beside = 1 + np.roll(np.arange(sides), -1)
    first = np.column_stack([np.zeros(sides, np.int64), beside, here])
    top = (rings - 1) * sides
    last = np.full(sides, 1 + rings * sides, np.int64)
    ends = np.column_stack([here + top, beside + top, last])
    return np.vstack([first, 1 + _between(rings, sides, rings - 1), ends]).astype(np.int64)


def grid_faces(rings: int, sides: int) -> Faces:
    """Faces of rings that follow one another and close on the first again, such as a tube with a bore."""
    return _between(rings, sides, rings)


def _between(rings: int, sides: int, bands: int) -> Faces:
    here, beside = np.arange(sides), np.roll(np.arange(sides), -1)
    faces = []
    for band in range(bands):
        low, high = band * sides, (band + 1) % rings * sides
        faces.append(np.column_stack([here + low, beside + low, beside + high]))
        faces.append(np.column_stack([here + low, beside + high, here + high]))
    return np.vstack(faces).astype(np.int64) if faces else np.zeros((0, 3), np.int64)
