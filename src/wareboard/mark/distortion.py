"""How far flat paper must give on a curved wall: numbers for area, angle and length, and a picture."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np

from wareboard.mark.wall import Floats
from wareboard.mark.wrap import Patch
from wareboard.working import MINUS, Step, per_cent

GRID = (33, 33)
NUDGE = 1e-5  # share of the patch by which a place is moved each way to see where its neighbourhood goes
CELLS = 6
DARKEST_AT = 0.10  # a length error that is drawn as dark as it gets


@dataclass(frozen=True, slots=True)
class Distortion:
    """What the flat map does to the wall, over the patch, as fractions and degrees.

    ``length`` is the greatest of |paper / wall - 1| over all directions, ``area`` is |paper / wall - 1| for areas, and
    ``angle_deg`` the greatest by which an angle can change there. Means are weighted by area on the wall; ``smallest`` and
    ``largest`` are the least and greatest length scales met.
    """

    length_worst: float
    length_mean: float
    area_worst: float
    area_mean: float
    angle_worst_deg: float
    angle_mean_deg: float
    smallest: float
    largest: float
    steps: tuple[Step, ...]

    @property
    def words(self) -> str:
        """How far the paper must give on this wall, in words."""
        if self.length_worst < 1e-6:
            return "The paper lies flat on this wall: nothing is stretched."
        return (
            f"On this wall the paper must give by up to {per_cent(self.length_worst, 1)} in length "
            f"({per_cent(self.length_mean, 1)} on average) and {per_cent(self.area_worst, 1)} in area; "
            f"angles stay within {max(self.angle_worst_deg, 0.05):.1f} degrees. "
            "Slit the paper from its edge where it creases."
        )


def distortion(patch: Patch) -> Distortion:
    """Distortion of the flat map over its patch, measured by moving places on the wall and seeing where they go.

    Source: Tissot's indicatrix, snyder-1987 pp. 20-26: with a, b the greatest and least scale, area a b, greatest change of
    an angle 2 arcsin((a - b) / (a + b)).
    """
    along, angle, weight = _grid(patch)
    large, small = scales_at(patch, along, angle)
    area, bent = large * small, np.degrees(2 * np.arcsin(np.clip((large - small) / (large + small), 0.0, 1.0)))
    length = np.maximum(np.abs(large - 1), np.abs(small - 1))
    worst = (float(length.max()), float(np.abs(area - 1).max()), float(bent.max()))
    mean = tuple(float(np.average(each, weights=weight)) for each in (length, np.abs(area - 1), bent))
    least, most = float(small.min()), float(large.max())
    steps = (
        Step(
            "worst length error of the paper on the wall",
            "max(largest - 1, 1 - smallest)",
            {"largest": most, "smallest": least},
            max(most - 1, 1 - least),
            "snyder-1987",
            key="length_worst",
        ),
        Step(
            "mean length error of the paper on the wall",
            "",
            {"places": float(len(along))},
            mean[0],
            "snyder-1987",
            how="mean over even places on the patch, each weighing as its area",
            key="length_mean",
        ),
    )
    return Distortion(worst[0], mean[0], worst[1], mean[1], worst[2], mean[2], least, most, steps)


def scales_at(patch: Patch, along_mm: Floats, angles: Floats) -> tuple[Floats, Floats]:
    """Greatest and least paper mm for each mm on the wall at places on a patch (two arrays)."""
    up, across = NUDGE * (patch.high_mm - patch.low_mm), NUDGE * patch.half_angle
    low, high = np.maximum(along_mm - up, patch.wall.along_mm[0]), np.minimum(along_mm + up, patch.wall.length_mm)
    rise = (patch.flat_at(high, angles) - patch.flat_at(low, angles)) / (high - low)[:, None]
    width = 2 * across * patch.wall.radius_at_mm(along_mm)
    side = (patch.flat_at(along_mm, angles + across) - patch.flat_at(along_mm, angles - across)) / width[:, None]
    # Singular values of the 2 x 2 matrix with these columns, in closed form.
    added = np.hypot(rise[:, 0] - side[:, 1], rise[:, 1] + side[:, 0])
    taken = np.hypot(rise[:, 0] + side[:, 1], rise[:, 1] - side[:, 0])
    return (added + taken) / 2, np.abs(added - taken) / 2


def _grid(patch: Patch) -> tuple[Floats, Floats, Floats]:
    """Places over the patch, edges and all, with the share of the wall's area that each stands for."""
    up, across = np.linspace(patch.low_mm, patch.high_mm, GRID[0]), np.linspace(-1, 1, GRID[1]) * patch.half_angle
    along, angle = (each.ravel() for each in np.meshgrid(up, across, indexing="ij"))
    ends = [np.where(np.isin(np.arange(count), (0, count - 1)), 0.5, 1.0) for count in GRID]
    return along, angle, np.outer(*ends).ravel() * patch.wall.radius_at_mm(along)


def picture_svg(patch: Patch, title: str = "How far the paper must give") -> str:
    """The patch flat, at 1:1 in mm, as SVG: the wall's own level and upright lines, shaded and numbered by length error.

    A mark of + or - stands before each number (paper too large, or too small), so that it reads without the shade.
    """
    up = np.linspace(patch.low_mm, patch.high_mm, CELLS + 1)
    across = np.linspace(-patch.half_angle, patch.half_angle, CELLS + 1)
    middles = np.meshgrid((up[1:] + up[:-1]) / 2, (across[1:] + across[:-1]) / 2, indexing="ij")
    along, angle = middles[0].ravel(), middles[1].ravel()
    large, small = scales_at(patch, along, angle)
    errors = np.where(large - 1 >= 1 - small, large - 1, small - 1)
    centres = patch.flat_at(along, angle)
    rims = [_cell(patch, up[i], up[i + 1], across[j], across[j + 1]) for i in range(CELLS) for j in range(CELLS)]
    everything = np.vstack(rims)
    left, low = everything.min(axis=0) - 3.0
    width, height = np.ptp(everything, axis=0) + 6.0
    letter = min(3.0, height / CELLS * 0.35, width / CELLS * 0.3)
    parts = []
    for rim, centre, error in zip(rims, centres, errors, strict=True):
        path = " ".join(f"{x - left:.3f},{height - (y - low):.3f}" for x, y in rim)
        shade = min(1.0, abs(float(error)) / DARKEST_AT) * 0.6
        parts.append(f'<path d="M{path}Z" fill="currentColor" fill-opacity="{shade:.3f}"/>')
        parts.append(
            f'<text x="{centre[0] - left:.3f}" y="{height - (centre[1] - low) + letter / 3:.3f}" '
            f'font-size="{letter:.2f}" text-anchor="middle" fill="currentColor" stroke="none">{_signed(float(error))}</text>'
        )
    says = distortion(patch).words
    name = "give-" + hashlib.sha256("".join([title, *parts]).encode()).hexdigest()[:10]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm" '
        f'viewBox="0 0 {width:.3f} {height:.3f}" role="img" aria-labelledby="{name}-title {name}-desc" fill="none" '
        f'stroke="currentColor" stroke-width="0.15" font-family="system-ui, sans-serif">'
        f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-desc">{escape(says)}</desc>{"".join(parts)}</svg>'
    )


def _signed(error: float) -> str:
    return "0" if abs(error) < 0.0005 else f"{error:+.1%}".replace("%", "").replace("-", MINUS)


def _cell(patch: Patch, low: float, high: float, left: float, right: float) -> Floats:
    """The edge of one cell on the paper, its curved sides in short steps."""
    part = np.linspace(0.0, 1.0, 7)[:-1]
    along = np.concatenate([np.full(6, low), low + (high - low) * part, np.full(6, high), high + (low - high) * part])
    angle = np.concatenate(
        [left + (right - left) * part, np.full(6, right), right + (left - right) * part, np.full(6, left)]
    )
    return patch.flat_at(along, angle)
