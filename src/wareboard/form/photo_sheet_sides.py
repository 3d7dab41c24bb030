"""The four straight sides of a sheet of paper in a picture: lines with paper on one side of them, four by four."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from wareboard.form.axis import Mask, sampled
from wareboard.form.curve import Floats

# An edge is so much lightness to a dot, and so many times what the picture's grain gives.
LEAST_EDGE, OVER_GRAIN, MOST_VOTE = 0.45, 2.5, 4.0
INWARD = (2.5, 4.0)  # dots from an edge to what lies on its lighter side
ABOUT_DEG, LINES, APART_DEG, APART_DOTS = 4, 44, 3, 4
NEAR_DOTS, ALIKE = 1.3, math.cos(math.radians(14.0))
# Shares: of the picture that a sheet takes; of one side, and of all four, that must show; of a side, past its corners.
LEAST_AREA, MOST_AREA, SIDE_SHOWS, SIDES_SHOW, PAST = 0.004, 0.7, 0.1, 0.4, 0.8
PAST_COUNTS, LARGER_COUNTS, COVERS_COUNTS, EVERY = 0.7, 0.1, 0.5, 5
LEAST_TURN = math.radians(10.0)
# Paper: how light and how little coloured; how dark its shadow; what share of it must show; how far its colour spreads.
PALE, MOST_COLOUR, IN_SHADOW, IN_LIGHT, SHOWS, PAPER_SPREAD = 55.0, 20.0, 0.6, 1.06, 0.2, 7.0
BLACK = 16.0
STRAIGHT, FEW_SAMPLES = 0.2, 160
TRIED_PAIRS, FEWEST, BAND_DOTS = 300, 12, 6.0


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A straight edge: ``normal`` points to its lighter side, ``away`` is where it lies along it; ``shows`` where it shows.

    ``shows`` counts by dots along the line from ``first``.
    """

    normal: Floats
    away: float
    first: int
    shows: NDArray[np.int64]  # how many dots of it show up to each place

    def along(self, places: Floats) -> Floats:
        """How far along the line each place lies."""
        found: Floats = places @ np.array([-self.normal[1], self.normal[0]])
        return found

    def showing(self, start: Floats, end: Floats) -> Floats:
        """How many dots of it show between places along it."""
        at = [np.clip(np.rint(each - self.first).astype(int), 0, len(self.shows) - 1) for each in (start, end)]
        return np.asarray(self.shows[np.maximum(*at)] - self.shows[np.minimum(*at)], dtype=np.float64)


def four_sided(lab: Floats) -> Iterator[tuple[float, Floats]]:
    """How well something makes a sheet of paper, and its (4, 2) corners in turn; likeliest first.

    Args:
        lab: (h, w, 3) CIE L*a*b* of a picture of some 640 dots; left alone.
    Source: straight edges by voting with the way that the light changes (D. H. Ballard, Generalizing the Hough transform,
        1981; from memory).
    """
    from scipy import ndimage

    light = ndimage.gaussian_filter(lab[..., 0], 0.7)
    pale = _pale(lab)
    found = _lines(light, pale)
    if len(found) < 4:
        return
    scores, quads = _quads(found, light.shape)
    scores = scores + COVERS_COUNTS * _covered(pale, quads)
    kept: list[Floats] = []
    for at in np.argsort(scores)[::-1][:60]:
        corners = quads[at]
        if any(np.abs(corners - other).max() < 6.0 for other in kept):
            continue
        kept.append(corners)
        if float(paper_in(lab, corners).sum()) > SHOWS * area_of(corners):
            yield float(scores[at]), corners


def paper_in(lab: Floats, corners: Floats) -> Mask:
    """(h, w) where a sheet with these corners shows: what is not coloured otherwise, in light or in shadow."""
    from scipy import ndimage
    from skimage.draw import polygon2mask

    inside = np.asarray(polygon2mask(lab.shape[:2], corners[:, ::-1]))  # type: ignore[no-untyped-call]
    inner = ndimage.binary_erosion(inside, iterations=2)
    band = inner & ~ndimage.binary_erosion(inner, iterations=6)
    if band.sum() < 20:
        return np.zeros(inside.shape, dtype=bool)
    colours = lab + np.array([BLACK, 0.0, 0.0])
    tone = colours[band]
    # What stands on a sheet hides some of its edge; the lighter half of it is paper.
    tone = np.median(tone[tone[:, 0] >= np.median(tone[:, 0])], axis=0)
    if tone[0] - BLACK < PALE or math.hypot(tone[1], tone[2]) > MOST_COLOUR:
        return np.zeros(inside.shape, dtype=bool)
    smooth = ndimage.gaussian_filter(colours, (1.0, 1.0, 0))
    part = np.clip(smooth @ tone / (tone @ tone), IN_SHADOW, IN_LIGHT)
    off = np.linalg.norm(smooth - part[..., None] * tone, axis=2)
    return np.asarray(inner & (off < PAPER_SPREAD))


def area_of(corners: Floats) -> float:
    """Area within corners in turn, in dots."""
    x, y = corners.T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


def _pale(lab: Floats) -> Floats:
    """(h, w) 1 where a colour may be paper's and 0 elsewhere, smoothed."""
    from scipy import ndimage

    smooth = ndimage.gaussian_filter(lab, (1.0, 1.0, 0))
    pale = (smooth[..., 0] > PALE) & (np.hypot(smooth[..., 1], smooth[..., 2]) < MOST_COLOUR)
    return np.asarray(pale, dtype=np.float64)


def _lines(light: Floats, pale: Floats) -> list[Line]:
    """Straight edges with what may be paper on their lighter side; most of a table's grain and a piece's edges have none."""
    from scipy import ndimage

    down, across = (ndimage.gaussian_filter(light, 1.2, order=order) for order in ((1, 0), (0, 1)))
    size = np.hypot(down, across)
    crest = size > max(LEAST_EDGE, OVER_GRAIN * float(np.median(size)))
    y, x = np.nonzero(crest)
    ways = np.column_stack([across[crest], down[crest]]) / size[crest][:, None]
    places = np.column_stack([x, y]).astype(np.float64)
    beside = [sampled(size, places + step * ways) for step in (-1.0, 1.0)]
    best = (size[crest] >= beside[0]) & (size[crest] > beside[1])
    best &= np.maximum(*(sampled(pale, places + step * ways) for step in INWARD)) > 0.5
    places, ways, votes = places[best], ways[best], np.minimum(size[crest][best], MOST_VOTE)
    return [
        line for peak in _peaks(places, ways, votes, light.shape) if (line := _line(places, ways, *peak)) is not None
    ]


def _peaks(places: Floats, ways: Floats, votes: Floats, shape: tuple[int, ...]) -> list[tuple[float, float]]:
    """(angle of the normal, distance along it) of the lines with the most votes."""
    from scipy import ndimage

    # Distances are counted from the middle of the picture, where a part of a degree moves a line the least.
    middle = np.array([shape[1], shape[0]]) / 2
    reach = math.ceil(math.hypot(*shape) / 2)
    away_x, away_y = (places - middle).T
    angles = np.rint(np.degrees(np.arctan2(ways[:, 1], ways[:, 0]))).astype(int)
    room: Floats = np.zeros((360, 2 * reach + 1))
    for shift in range(-ABOUT_DEG, ABOUT_DEG + 1):
        turned = (angles + shift) % 360
        theta = np.radians(turned)
        away = np.rint(away_x * np.cos(theta) + away_y * np.sin(theta)).astype(int) + reach
        room += np.bincount(turned * (2 * reach + 1) + away, votes, room.size).reshape(room.shape)
    room = ndimage.gaussian_filter(room, (0.7, 0.8), mode=("wrap", "constant"))
    high = ndimage.maximum_filter(room, (2 * APART_DEG + 1, 2 * APART_DOTS + 1), mode=("wrap", "constant"))
    at = np.flatnonzero(((room == high) & (room > 0)).ravel())
    at = at[np.argsort(room.ravel()[at])[::-1][:LINES]]
    theta = np.radians(at // (2 * reach + 1))
    away = at % (2 * reach + 1) - reach + middle[0] * np.cos(theta) + middle[1] * np.sin(theta)
    return list(zip(theta.tolist(), away.tolist(), strict=True))


def _line(places: Floats, ways: Floats, theta: float, away: float) -> Line | None:
    """The line that the edge near a peak runs along, and where it shows; None for a mere speck."""
    normal = np.array([math.cos(theta), math.sin(theta)])
    mine = (np.abs(places @ normal - away) < BAND_DOTS) & (ways @ normal > ALIKE)
    if mine.sum() < FEWEST:
        return None
    along, off = places[mine] @ np.array([-normal[1], normal[0]]), places[mine] @ normal
    fitted = _most_agreed(along, off, 0.8, 0.2 * float(np.ptp(along)))
    if fitted is None:
        return None
    slope, away = fitted
    size = math.hypot(1.0, slope)
    normal, away = (normal - slope * np.array([-normal[1], normal[0]])) / size, away / size
    mine = (np.abs(places @ normal - away) < NEAR_DOTS) & (ways @ normal > ALIKE)
    if not mine.any():
        return None
    along = np.rint(places[mine] @ np.array([-normal[1], normal[0]])).astype(int)
    first = int(along.min()) - 2
    shows = np.zeros(int(along.max()) - first + 4, dtype=np.int64)
    for shift in (-1, 0, 1):
        shows[along - first + shift] = 1
    return Line(normal, away, first, np.cumsum(shows))


def _covered(pale: Floats, quads: Floats) -> Floats:
    """(n,) share of all that may be paper in a picture that lies within each four corners, (n, 4, 2) in turn."""
    places = np.argwhere(pale[::EVERY, ::EVERY] > 0.5)[:, ::-1].astype(np.float64) * EVERY
    if not len(places):
        return np.zeros(len(quads))
    inside = np.ones((len(quads), len(places)), dtype=bool)
    for at in range(4):
        start, side = quads[:, at], quads[:, (at + 1) % 4] - quads[:, at]
        inward = np.outer(side[:, 0], places[:, 1]) - np.outer(side[:, 1], places[:, 0])
        inside &= inward > (side[:, 0] * start[:, 1] - side[:, 1] * start[:, 0])[:, None]
    return np.asarray(inside.mean(axis=1))


def _quads(lines: list[Line], shape: tuple[int, ...]) -> tuple[Floats, Floats]:
    """How well four lines at a time make a sheet, and its corners (n, 4, 2) in turn."""
    order = sorted(lines, key=lambda line: math.atan2(line.normal[1], line.normal[0]))
    normals, aways = np.array([line.normal for line in order]), np.array([line.away for line in order])
    fours = np.array(list(combinations(range(len(order)), 4)))
    turn = np.arctan2(normals[:, 1], normals[:, 0])[fours]
    gaps = np.column_stack([np.diff(turn, axis=1), 2 * math.pi + turn[:, 0] - turn[:, 3]])
    fours = fours[(gaps > LEAST_TURN).all(axis=1) & (gaps < math.pi - LEAST_TURN).all(axis=1)]
    one, two = fours, np.roll(fours, -1, axis=1)
    cross = normals[one, 0] * normals[two, 1] - normals[one, 1] * normals[two, 0]
    x = (aways[one] * normals[two, 1] - aways[two] * normals[one, 1]) / cross
    y = (aways[two] * normals[one, 0] - aways[one] * normals[two, 0]) / cross
    corners = np.stack([x, y], axis=2)  # where each line meets the next
    inside = ((corners > -2.0) & (corners < np.array([shape[1], shape[0]]) + 1.0)).all(axis=(1, 2))
    for at in range(4):  # each line has the other corners on its lighter side
        for corner in ((at + 1) % 4, (at + 2) % 4):
            away = (corners[:, corner] * normals[fours[:, at]]).sum(axis=1) - aways[fours[:, at]]
            inside &= away > 4.0
    area = np.abs((x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1)).sum(axis=1)) / 2
    share = area / (shape[0] * shape[1])
    inside &= (share > LEAST_AREA) & (share < MOST_AREA)
    fours, corners = fours[inside], corners[inside]
    shown, length, past = (np.zeros(fours.shape) for _ in range(3))
    for number, line in enumerate(order):
        which, side = np.nonzero(fours == number)
        start, end = line.along(corners[which, side - 1]), line.along(corners[which, side])
        size = np.abs(end - start)
        beyond = PAST * (end - start)
        near = 0.05 * (end - start)
        length[which, side], shown[which, side] = size, line.showing(start, end)
        past[which, side] = line.showing(start - beyond, start - near) + line.showing(end + near, end + beyond)
    whole = length.sum(axis=1)
    score = (shown.sum(axis=1) - PAST_COUNTS * past.sum(axis=1)) / whole + LARGER_COUNTS * np.log(share[inside])
    score[((shown / length) < SIDE_SHOWS).any(axis=1) | (shown.sum(axis=1) < SIDES_SHOW * whole)] = -math.inf
    good = np.isfinite(score)
    return score[good], corners[good]


def _most_agreed(
    t: Floats, off: Floats, near: float, apart: float, least: float = FEWEST
) -> tuple[float, float] | None:
    """(slope, level) of the line that most of the places lie on: tried through pairs of them, then by least squares.

    Source: M. Fischler and R. Bolles, Random sample consensus, 1981; from memory.
    """
    pairs = np.random.default_rng(0).integers(0, len(t), (TRIED_PAIRS, 2))
    pairs = pairs[np.abs(t[pairs[:, 0]] - t[pairs[:, 1]]) > apart]
    if not len(pairs):
        return None
    slopes = np.diff(off[pairs], axis=1)[:, 0] / np.diff(t[pairs], axis=1)[:, 0]
    levels = off[pairs[:, 0]] - slopes * t[pairs[:, 0]]
    agree = (np.abs(off - levels[:, None] - slopes[:, None] * t) < near).sum(axis=1)
    slope, level = float(slopes[int(np.argmax(agree))]), float(levels[int(np.argmax(agree))])
    for _ in range(4):
        away = np.abs(off - level - slope * t)
        close = away < 1.6 * near
        good = away < (max(0.7 * near, 2.0 * float(np.median(away[close]))) if close.any() else near)
        if good.sum() < least:
            return None
        slope, level = (float(each) for each in np.polyfit(t[good], off[good], 1))
    return slope, level


def sharpened(light: Floats, corners: Floats, reach: float) -> Floats | None:
    """The corners where straight lines along the four sides meet, to parts of a dot; None where a side is not straight.

    Args:
        light: (h, w) lightness; left alone.
        corners: (4, 2) in turn, clockwise as seen.
        reach: how far off a side may lie, dots.
    """
    sides = [_side(light, corners[at], corners[(at + 1) % 4], reach) for at in range(4)]
    found = []
    for before, after in zip(sides[-1:] + sides[:-1], sides, strict=True):
        if before is None or after is None:
            return None
        found.append(crossing(before, after))
    return np.array(found)


def crossing(one: tuple[Floats, Floats], two: tuple[Floats, Floats]) -> Floats:
    """Where two lines meet, each a place and a direction."""
    way = np.linalg.solve(np.column_stack([one[1], -two[1]]), two[0] - one[0])
    found: Floats = one[0] + way[0] * one[1]
    return found


def _side(light: Floats, start: Floats, end: Floats, reach: float) -> tuple[Floats, Floats] | None:
    """(a place, a direction) of the edge between two corners, by where it grows light most along its normals inward."""
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length
    normal = np.array([-along[1], along[0]])
    offsets = np.arange(-reach - 2.0, reach + 2.01, 0.25)
    parts = np.linspace(0.03, 0.97, max(FEW_SAMPLES, int(length / 2)))[:, None]
    values = sampled(light, (start + parts * (end - start))[:, None, :] + offsets[None, :, None] * normal)
    change = np.clip(np.gradient(values, axis=1), 0.0, None)
    change[:, np.abs(offsets) > reach] = 0.0
    crest = np.argmax(change, axis=1)
    near = np.abs(offsets[None, :] - offsets[crest][:, None]) <= 1.25
    weight = np.where(near, change, 0.0)
    off = (weight * offsets).sum(axis=1) / (weight.sum(axis=1) + 1e-9)
    strong = change.max(axis=1)
    strong = strong > 0.35 * np.percentile(strong, 75)
    return _robust(start, end, normal, parts[:, 0] - 0.5, off, strong)


def _robust(
    start: Floats, end: Floats, normal: Floats, t: Floats, off: Floats, strong: NDArray[np.bool_]
) -> tuple[Floats, Floats] | None:
    """The line that most of the places found along a side lie on: tried through pairs of them, then by least squares."""
    t, off = t[strong], off[strong]
    if len(t) < STRAIGHT * FEW_SAMPLES:
        return None
    fitted = _most_agreed(t, off, 0.5, 0.15, STRAIGHT * FEW_SAMPLES)
    if fitted is None:
        return None
    slope, level = fitted
    return (start + end) / 2 + level * normal, (end - start) + slope * normal
