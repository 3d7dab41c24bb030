"""The 24-patch card: its published colours, and reading it out of a photograph from its four corners.

The corners are those of the patches taken together (not of the card's edge), given by whoever looks at the picture; nothing
is searched for. Pixels are (x, y), x to the right, y down, the middle of the first pixel at (0, 0).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import NotInTable, OutOfRange
from wareboard.paint.colour import Floats, linear_from_srgb
from wareboard.reference import rows

ROWS, COLUMNS = 4, 6
EDITIONS = {"after 2014": "paint/card_after_2014", "before 2014": "paint/card_before_2014"}
# The middle of a patch is read, clear of its border and of corners that were clicked a little off.
MIDDLE_SHARE = 0.5
ACROSS_A_PATCH = 24
FEWEST_PIXELS_ACROSS = 6.0
# An 8-bit value this high has lost what was above it.
BLOWN, BLOWN_SHARE = 0.985, 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """What each patch is in truth: names and Lab under D50, (24, 3), row by row from the patch "dark skin"."""

    edition: str
    names: tuple[str, ...]
    lab: Floats
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """What the photograph shows of the patches, in the order of the corners given.

    ``linear`` is the mean linear light (24, 3); ``uneven`` the spread within a patch as a share of its brightness (24,);
    ``blown`` says which patches are too bright to be read (24,).
    """

    linear: Floats
    uneven: Floats
    blown: NDArray[np.bool_]


def card(edition: str = "after 2014") -> Card:
    """The published colours of the card. Its pigments were changed in November 2014: the date is printed on its back.

    Raises:
        NotInTable: for an edition that is not shipped.
    Source: the shipped tables, as printed (card-after-2014, card-before-2014).
    """
    if edition not in EDITIONS:
        raise NotInTable(f"card {edition!r}", "no such edition is shipped", f"Use {' or '.join(EDITIONS)}")
    found = rows(EDITIONS[edition])
    lab = np.array([[float(row[part]) for part in ("lightness", "a", "b")] for row in found])
    lab.setflags(write=False)
    return Card(edition, tuple(row["name"] for row in found), lab, found[0]["source"])


def read_patches(picture: ArrayLike, corners_px: ArrayLike) -> Readings:
    """Mean linear light of the middle of each patch.

    Args:
        picture: (h, w, 3) sRGB, 0 to 1; left alone.
        corners_px: (4, 2), the outer corners of the patches, going round, first that at "dark skin". Begun at another
            corner, the card is turned by its longer side; upside down or mirrored is found out by `correction.by_card`.
    Raises:
        OutOfRange: if the corners do not make a four-sided figure inside the picture, or the patches are too small.
    Source: the plane projective map through four points, any text on computer vision.
    """
    seen = np.asarray(picture, dtype=np.float64)
    corners = _corners(corners_px, seen.shape)
    points = _patch_points(corners)
    columns, lines = np.rint(points[..., 0]).astype(int), np.rint(points[..., 1]).astype(int)
    srgb = seen[lines, columns]
    linear = linear_from_srgb(srgb)
    mean = linear.mean(axis=1)
    uneven = linear.std(axis=1).mean(axis=1) / np.maximum(mean.mean(axis=1), 1e-6)
    blown = (srgb >= BLOWN).any(axis=2).mean(axis=1) > BLOWN_SHARE
    return Readings(mean, uneven, blown)


def patch_light(picture: ArrayLike, box_px: tuple[float, float, float, float]) -> tuple[Floats, Floats]:
    """Mean linear light (3,) of a box (left, top, right, bottom) of the picture, and its spread (3,).

    The brightest and darkest tenth of the pixels are left out, so that a glint or a speck does not count.

    Raises:
        OutOfRange: if the box lies outside the picture or holds fewer than 16 pixels.
    """
    seen = np.asarray(picture, dtype=np.float64)
    left, top, right, bottom = (round(side) for side in box_px)
    high, wide = seen.shape[:2]
    if not (0 <= left < right <= wide and 0 <= top < bottom <= high) or (right - left) * (bottom - top) < 16:
        raise OutOfRange(
            f"box {left},{top} to {right},{bottom}",
            why=f"it must lie inside the picture of {wide} by {high} pixels and hold 16 of them at least",
            mend="Give left, top, right and bottom in pixels",
        )
    linear = linear_from_srgb(seen[top:bottom, left:right].reshape(-1, 3))
    order = np.argsort(linear.sum(axis=1), kind="stable")
    cut = len(order) // 10
    kept = linear[order[cut : len(order) - cut]]
    return kept.mean(axis=0), kept.std(axis=0)


def _corners(corners_px: ArrayLike, shape: tuple[int, ...]) -> Floats:
    corners = np.array(corners_px, dtype=np.float64)
    if len(shape) != 3 or shape[2] != 3:
        raise OutOfRange(
            f"the picture has shape {shape}", "it must be rows by columns by three colours", "Open it again"
        )
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        raise OutOfRange("the card's corners", "there must be four, each as x and y", "Click the four corners again")
    if (corners < 0).any() or (corners[:, 0] > shape[1] - 1).any() or (corners[:, 1] > shape[0] - 1).any():
        raise OutOfRange(
            "the card's corners",
            f"one lies outside the picture of {shape[1]} by {shape[0]} pixels",
            "Click them again, or take a picture that holds the whole card",
        )
    sides = np.roll(corners, -1, axis=0) - corners
    after = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]
    if not ((turns > 0).all() or (turns < 0).all()):
        raise OutOfRange(
            "the card's corners", "they do not go round a four-sided figure", "Click them one after another round it"
        )
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    if lengths[0] + lengths[2] < lengths[1] + lengths[3]:
        corners, lengths = np.roll(corners, -1, axis=0), np.roll(lengths, -1)
    across = min(lengths[0::2].min() / COLUMNS, lengths[1::2].min() / ROWS)
    if across < FEWEST_PIXELS_ACROSS:
        raise OutOfRange(
            f"a patch is {across:.1f} pixels across", f"at least {FEWEST_PIXELS_ACROSS:g} are needed", "Go nearer"
        )
    return corners


def _patch_points(corners: Floats) -> Floats:
    """(24, n, 2) places in the picture, spread evenly over the middle of each patch."""
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    project = _projection(square, corners)
    within = 0.5 + MIDDLE_SHARE * (np.arange(ACROSS_A_PATCH) + 0.5 - ACROSS_A_PATCH / 2) / ACROSS_A_PATCH
    u = (np.arange(COLUMNS)[:, None] + within).ravel() / COLUMNS
    v = (np.arange(ROWS)[:, None] + within).ravel() / ROWS
    grid = np.stack(np.meshgrid(u, v), axis=-1).reshape(ROWS, ACROSS_A_PATCH, COLUMNS, ACROSS_A_PATCH, 2)
    flat = grid.transpose(0, 2, 1, 3, 4).reshape(ROWS * COLUMNS, -1, 2)
    homogeneous = np.concatenate([flat, np.ones((*flat.shape[:2], 1))], axis=2) @ project.T
    places: Floats = homogeneous[..., :2] / homogeneous[..., 2:]
    return places


def _projection(from_points: Floats, to_points: Floats) -> Floats:
    """The (3, 3) map of the plane that takes four points to four others."""
    equations, values = [], []
    for (u, v), (x, y) in zip(from_points, to_points, strict=True):
        equations += [[u, v, 1, 0, 0, 0, -x * u, -x * v], [0, 0, 0, u, v, 1, -y * u, -y * v]]
        values += [x, y]
    found: Floats = np.append(np.linalg.solve(np.array(equations), np.array(values)), 1.0).reshape(3, 3)
    return found


def other_ways_round() -> Mapping[str, NDArray[np.intp]]:
    """Orders in which the 24 readings may stand when the corners were begun elsewhere or taken the other way round."""
    grid = np.arange(ROWS * COLUMNS).reshape(ROWS, COLUMNS)
    return {
        "as given": grid.ravel(),
        "upside down": grid[::-1, ::-1].ravel(),
        "mirrored left to right": grid[:, ::-1].ravel(),
        "mirrored top to bottom": grid[::-1].ravel(),
    }
