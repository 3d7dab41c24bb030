"""How much does the paper give on a curved wall, beside two general ways of laying it flat?"""

from __future__ import annotations

import time

import numpy as np
from numpy.typing import NDArray

from wareboard.mark import wrap
from wareboard.mark.wall import Wall, wall_of

QUESTION = "distortion of a mark's paper on a double-curved wall over that of general flattening methods"
REFERENCE = (
    "LSCM (Lévy and others 2002) on a 40 x 40 triangle mesh, solved with scipy's lsqr, two corners pinned, best size; "
    "plain cylindrical projection (distance round at half height, distance up the wall)"
)
Floats = NDArray[np.float64]
CELLS = 40
WALLS = {  # invented: (name, wall, low, high, half width), mm along the wall
    "ball of 60 mm radius, 36 mm square": ("ball", 54.0, 90.0, 18.0),
    "ball of 60 mm radius, 80 mm square": ("ball", 32.0, 112.0, 40.0),
    "bowl's side, 40 x 50 mm": ("bowl", 25.0, 65.0, 25.0),
    "waist (saddle), 60 x 60 mm": ("waist", 20.0, 80.0, 30.0),
}


def wall(name: str) -> Wall:
    """Three walls in closed form: part of a ball, a parabola's bowl, a waist like a cooling tower."""
    part = np.linspace(0.0, 1.0, 600)
    if name == "ball":
        rise = -1.2 + 2.4 * part
        return wall_of(np.column_stack([60 * np.sin(rise), 60 * np.cos(rise)]))
    if name == "bowl":
        return wall_of(np.column_stack([70 * part**2, 30 + 45 * part]))
    return wall_of(np.column_stack([100 * part, 30 * np.sqrt(1 + ((100 * part - 50) / 45) ** 2)]))


def run() -> list[dict[str, str]]:
    """For each wall: worst and mean length error, area error and angle of ours, LSCM and the cylinder, and ratios."""
    rows = []
    for title, (name, low, high, half) in WALLS.items():
        part = wrap.patch(wall(name), low, high, half)
        began = time.perf_counter()
        ways = {"ours": mesh_of(part)}
        took = time.perf_counter() - began
        ways["LSCM"], ways["cylinder"] = lscm(part), cylinder(part)
        found = {way: measured(part, flat) for way, flat in ways.items()}
        rows += [_row(title, way, figures, found["ours"], took) for way, figures in found.items()]
    return rows


def _row(title: str, way: str, figures: tuple[float, ...], ours: tuple[float, ...], took: float) -> dict[str, str]:
    names = ("area worst", "area mean", "length worst", "length mean")
    return {
        "wall": title,
        "way": way,
        **{name: f"{value:.3%}" for name, value in zip(names, figures, strict=False)},
        "angle worst, mean": f"{figures[4]:.3f}°, {figures[5]:.3f}°",
        "ours / this, area worst, mean": f"{ours[0] / figures[0]:.3f}, {ours[1] / figures[1]:.3f}",
        "s": f"{took:.3f}" if way == "ours" else "",
    }


def mesh_of(part: wrap.Patch) -> Floats:
    """Our own map at the mesh's corners."""
    return part.flat_at(*_corners(part))


def _corners(part: wrap.Patch) -> tuple[Floats, Floats]:
    up = np.linspace(part.low_mm, part.high_mm, CELLS + 1)
    across = np.linspace(-part.half_angle, part.half_angle, CELLS + 1)
    along, angle = np.meshgrid(up, across, indexing="ij")
    return along.ravel(), angle.ravel()


def triangles() -> NDArray[np.intp]:
    """The mesh: each cell cut in two, the cuts turned about so that none leans."""
    place = np.arange((CELLS + 1) ** 2).reshape(CELLS + 1, CELLS + 1)
    a, b, c, d = place[:-1, :-1], place[:-1, 1:], place[1:, 1:], place[1:, :-1]
    even = (np.add.outer(np.arange(CELLS), np.arange(CELLS)) % 2 == 0)[..., None]
    first = np.where(even, np.dstack([a, b, c]), np.dstack([a, b, d]))
    second = np.where(even, np.dstack([a, c, d]), np.dstack([b, c, d]))
    return np.concatenate([first.reshape(-1, 3), second.reshape(-1, 3)])


def _own_planes(points: Floats) -> Floats:
    """Each triangle laid down in a plane of its own: (m, 3, 2)."""
    corner = points[triangles()]
    side, other = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    long = np.linalg.norm(side, axis=1)
    along = (other * side).sum(axis=1) / long
    up = np.linalg.norm(np.cross(side, other), axis=1) / long
    nought = np.zeros_like(long)
    return np.stack(
        [np.column_stack([nought, nought]), np.column_stack([long, nought]), np.column_stack([along, up])], axis=1
    )


def lscm(part: wrap.Patch) -> Floats:
    """Least squares conformal map, as the paper has it: one complex equation a triangle, two corners held."""
    from scipy.sparse import bmat, coo_matrix
    from scipy.sparse.linalg import lsqr

    points, mesh = part.places_at(*_corners(part)), triangles()
    own = _own_planes(points)
    z = own[..., 0] + 1j * own[..., 1]
    twice_area = (z[:, 1] * np.conj(z[:, 2])).imag * -1.0
    weight = (z[:, [2, 0, 1]] - z[:, [1, 2, 0]]) / np.sqrt(twice_area)[:, None]
    rows = np.repeat(np.arange(len(mesh)), 3)
    whole = coo_matrix((weight.ravel(), (rows, mesh.ravel())), shape=(len(mesh), len(points))).tocsc()
    held = np.array([0, len(points) - 1])
    fixed = np.array([0.0, np.linalg.norm(points[-1] - points[0])], dtype=complex)
    free = np.setdiff1d(np.arange(len(points)), held)
    right = -whole[:, held] @ fixed
    left = whole[:, free]
    system = bmat([[left.real, -left.imag], [left.imag, left.real]]).tocsr()
    answer = lsqr(system, np.concatenate([right.real, right.imag]), atol=1e-12, btol=1e-12, iter_lim=20000)[0]
    flat = np.empty(len(points), dtype=complex)
    flat[held], flat[free] = fixed, answer[: len(free)] + 1j * answer[len(free) :]
    return np.column_stack([flat.real, flat.imag])


def cylinder(part: wrap.Patch) -> Floats:
    """Distance round at half height and distance up the wall, as a tape gives them."""
    along, angle = _corners(part)
    return np.column_stack([angle * float(part.wall.radius_at_mm((part.low_mm + part.high_mm) / 2)), along])


def measured(part: wrap.Patch, flat: Floats) -> tuple[float, ...]:
    """Area, length and angle distortion of a mesh map, worst and area-weighted mean, at the size that suits it best.

    Every way is scaled alike, so that its worst length error is as small as it can be, and measured on the same triangles.
    """
    own, mesh = _own_planes(part.places_at(*_corners(part))), triangles()
    before = np.stack([own[:, 1] - own[:, 0], own[:, 2] - own[:, 0]], axis=2)
    corner = flat[mesh]
    after = np.stack([corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]], axis=2)
    scales = np.linalg.svd(after @ np.linalg.inv(before), compute_uv=False)
    scales *= 2.0 / (scales.max() + scales.min())
    areas = np.abs(np.linalg.det(before))
    area = np.abs(scales.prod(axis=1) - 1)
    length = np.abs(scales - 1).max(axis=1)
    angle = np.degrees(2 * np.arcsin((scales[:, 0] - scales[:, 1]) / scales.sum(axis=1)))

    def mean(values: Floats) -> float:
        return float(np.average(values, weights=areas))

    return (
        float(area.max()), mean(area), float(length.max()), mean(length), float(angle.max()), mean(angle),
    )  # fmt: skip
