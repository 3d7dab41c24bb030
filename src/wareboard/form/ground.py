"""Telling a piece from the ground that it stands on, by colour: a map of how much likelier each dot is piece than ground.

The ground is learned from the edge of the picture, the piece from what stands out. A shadow darkens a ground without
changing its hue, so a darker ground is still ground, as far as a soft shadow goes.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.form.axis import Mask, find_axis, mirrored
from wareboard.form.curve import Floats

# Lightness in which black is the origin: scaling the light scales the whole colour along one line (CIE 1976 L* + 16).
BLACK = 16.0
BORDER_SHARE = 0.06
GROUND_TONES, PIECE_TONES, SHEET_TONES = 6, 7, 2
SHEET_EDGE = 4  # dots that a sheet's edge is blurred over and that were left out of where it shows
LEAST_SPREAD, GRAIN = 2.0, 0.1
# How dark a soft shadow makes a ground, and how bright a glint, as shares of its colour (cube root of the light).
DARKEST, BRIGHTEST = 0.6, 1.05
MOST_SAMPLES = 6000
ROUNDS = 3
LEAST_CORE = 60


def colours_of(picture: NDArray[np.uint8]) -> Floats:
    """(h, w, 3) CIE L*a*b* colours with 16 added to the lightness, so that a change of light runs through the origin."""
    from skimage.color import rgb2lab

    found: Floats = np.asarray(rgb2lab(picture), dtype=np.float64)
    found[..., 0] += BLACK
    return found


@dataclass(frozen=True, slots=True)
class Tones:
    """A few tones with their spread and how common they are; ``shade`` lets each be darker, as in a shadow."""

    means: Floats
    roots: Floats  # of the inverse spread: what turns a colour's distance into spreads
    log_scales: Floats
    shade: bool

    def unlikeness(self, colours: Floats) -> Floats:
        """Minus twice the log likelihood of each colour under its nearest tone; colours: (n, 3)."""
        planes = np.ascontiguousarray(colours.T)  # a plane a channel: sums over rows of three are slow
        best = np.full(len(colours), np.inf)
        for mean, root, log_scale in zip(self.means, self.roots, self.log_scales, strict=True):
            cost: Floats | float = log_scale
            near = mean[:, None]
            if self.shade:
                part = np.clip(mean @ planes / (mean @ mean), DARKEST, BRIGHTEST)
                near = near * part
                cost = log_scale + 25.0 * np.clip(1.0 - part, 0.0, None)
            white = root.T @ (planes - near)
            np.minimum(best, cost + np.einsum("ij,ij->j", white, white), out=best)
        return best


def _tones(colours: Floats, count: int, shade: bool) -> Tones:
    """Tones of a sample of colours: clusters drawn by a fixed seed, each with its own spread."""
    from scipy.cluster.vq import kmeans2

    lot = np.random.default_rng(0)
    sample = colours[:: max(1, len(colours) // MOST_SAMPLES)]
    # A drawing may have one tone alone, which cannot be parted; so little noise as this parts it and changes nothing.
    sample = sample + lot.normal(0.0, GRAIN, sample.shape)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # a cluster that came out empty is left out below
        _, label = kmeans2(sample, count, minit="++", rng=lot, iter=12, missing="warn")
    means, roots, scales = [], [], []
    for number in range(count):
        mine = sample[label == number]
        if len(mine) < 8:
            continue
        spread = np.cov(mine.T) + LEAST_SPREAD**2 * np.eye(3)
        means.append(mine.mean(axis=0))
        roots.append(np.linalg.cholesky(np.linalg.inv(spread)))
        scales.append(float(np.linalg.slogdet(spread)[1] - 2 * np.log(len(mine) / len(sample))))
    return Tones(np.array(means), np.array(roots), np.array(scales), shade)


def border_of(height: int, width: int) -> Mask:
    """The edge of a picture, where there is ground and no piece."""
    rim = max(2, round(BORDER_SHARE * min(height, width)))
    found = np.ones((height, width), dtype=bool)
    found[rim:-rim, rim:-rim] = False
    return found


def main_part(mask: Mask) -> Mask:
    """The largest joined part of a mask, counted more the nearer it lies to the middle; nothing of an empty mask."""
    from scipy import ndimage

    label, count = ndimage.label(mask)
    if not count:
        return np.zeros_like(mask)
    height, width = mask.shape
    y, x = np.ogrid[:height, :width]
    near = np.exp(-2.0 * (((x - width / 2) / width) ** 2 + ((y - height / 2) / height) ** 2))
    weight = ndimage.sum_labels(np.broadcast_to(near, mask.shape), label, np.arange(1, count + 1))
    found: Mask = label == int(np.argmax(weight)) + 1
    return found


def _lies(sheet: Mask) -> Mask:
    """Where a sheet lies, of where it shows: nothing beyond its sides is paper, however like paper it looks."""
    from scipy import ndimage
    from skimage.morphology import convex_hull_image

    whole = convex_hull_image(sheet)  # type: ignore[no-untyped-call]
    return np.asarray(ndimage.binary_dilation(whole, iterations=SHEET_EDGE))


def likelier_piece(colours: Floats, shade: bool = True, sheet: Mask | None = None) -> Floats:
    """(h, w) log of how much likelier each dot is piece than ground; above 0 it is piece.

    Args:
        colours: (h, w, 3) from `colours_of`; left alone.
        sheet: (h, w) where a sheet of paper shows, which is ground as well.
        shade: a darker ground is still ground; False takes a shadow for something else, and can see a grey piece.
    """
    from scipy import ndimage

    height, width, _ = colours.shape
    smooth = ndimage.gaussian_filter(colours, (0.7, 0.7, 0))
    flat = smooth.reshape(-1, 3)
    edge = border_of(height, width)
    ground = _tones(smooth[edge], GROUND_TONES, shade).unlikeness(flat).reshape(height, width)
    if sheet is not None:
        paper = _tones(smooth[sheet], SHEET_TONES, shade).unlikeness(flat).reshape(height, width)
        ground = np.where(_lies(sheet), np.minimum(ground, paper), ground)
    # To begin with, piece is what is stranger to the ground than nearly all of the picture's own edge.
    strange = ground - np.percentile(ground[edge], 99.0) - 6.0
    found: Floats = strange
    for turn in range(ROUNDS):
        part = main_part(ndimage.binary_opening(found > 0, iterations=1))
        core = ndimage.binary_erosion(part, iterations=2)
        if turn == ROUNDS - 1 and core.any():
            # A shadow falls to one side; what the piece itself looks like is learned from what both sides show.
            core &= mirrored(core, find_axis(core))
        if core.sum() < LEAST_CORE:
            return found
        piece = _tones(smooth[core], PIECE_TONES, False).unlikeness(flat).reshape(height, width)
        found = 0.5 * (ground - piece)
    return found
