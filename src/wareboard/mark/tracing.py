"""A photograph or scan of a drawing -> clean single lines or outlines, in mm.

The paper's shade is taken out, ink is told from paper by its own darkness, specks go, and what is left becomes either the
middle of each stroke (to be cut with one pass of a tool) or the edge of each inked area.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.mark.drawing import Drawing, Line
from wareboard.mark.middles import middles
from wareboard.mark.wall import Floats
from wareboard.working import per_cent

Mask = NDArray[np.bool_]
MOST_PIXELS_ACROSS = 2400  # a finer picture is reduced first: no line on paper needs more
LEAST_CONTRAST = 0.16  # ink darker than the paper by less than this share of it is no ink but shade
NOISE_TIMES = 5.0
MOST_INK = 0.6
MOST_PIECES = 600
SHADE_ROUNDS = 3
SHADE_PIXELS = 160  # across a picture in which shade is looked for: it has no fine detail


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """A drawing traced from a picture, with what was seen on the way.

    ``threshold`` is the share of the paper's own brightness below which the picture was taken for ink; ``stroke_mm`` the
    usual width of the strokes as drawn; ``ink_share`` the share of the picture that is ink.
    """

    drawing: Drawing
    threshold: float
    stroke_mm: float
    ink_share: float


def trace(
    grey: ArrayLike,
    mm_per_pixel: float = 1.0,
    kind: str = "lines",
    cut: str = "incised",
    speck_mm: float | None = None,
    within_mm: float | None = None,
    light_on_dark: bool = False,
) -> Traced:
    """Clean lines from a grey picture, in mm, x to the right and y up, the picture's lower left corner at (0, 0).

    Args:
        grey: (rows, columns), brightness in any one range (0 to 1, 0 to 255), the first row on top; left alone.
        mm_per_pixel: size of one pixel on the drawing; leave it at 1 and scale afterwards where it is not known.
        kind: "lines" for the middle of each stroke, "outlines" for the edge of each inked area.
        cut: "incised" or "raised", as in `Drawing`.
        speck_mm: pieces of ink, and holes in it, smaller across than this go; a 300th of the picture when left out.
        within_mm: farthest a line may be moved when it is simplified; when left out a twelfth of a stroke, from a third of a
            pixel to a whole one, and for outlines a third of a pixel.
        light_on_dark: for white lines on a dark ground.
    Raises:
        OutOfRange: if the picture is no such array, holds no ink that stands out from its paper, or is too busy for a mark.
    Source: Otsu's threshold, thinning and iso-lines as scikit-image has them; the paper's shade by blurring paper alone.
    """
    picture, pixel_mm = _reduced(_checked(grey), positive(mm_per_pixel, "size of a pixel", "mm"))
    flat = _without_shade(1.0 - picture if light_on_dark else picture)
    threshold = _threshold(flat)
    speck_px = max(2.0, (max(flat.shape) / 300 if speck_mm is None else speck_mm / pixel_mm))
    ink = _despeckled(flat < threshold, speck_px)
    share = float(ink.mean())
    _refuse_busy(ink)
    stroke_px = _stroke_width(ink)
    usual_px = float(np.clip(stroke_px / 12, 1 / 3, 1.0)) if kind == "lines" else 1 / 3
    slack_px = usual_px if within_mm is None else max(1e-6, within_mm / pixel_mm)
    found = middles(ink, slack_px) if kind == "lines" else _edges(flat, threshold, ink, slack_px)
    height = flat.shape[0]
    lines = tuple(
        Line(np.column_stack([points[:, 1] + 0.5, height - points[:, 0] - 0.5]) * pixel_mm, closed)
        for points, closed in found
    )
    notes = ("ink runs over the edge of the picture: show the whole mark with paper round it",) if _cut_off(ink) else ()
    return Traced(Drawing(lines, kind, cut, notes), threshold, stroke_px * pixel_mm, share)


def _checked(grey: ArrayLike) -> Floats:
    picture = np.array(grey, dtype=np.float64)
    if picture.ndim != 2 or min(picture.shape) < 8 or not np.isfinite(picture).all():
        raise OutOfRange(
            f"picture has shape {picture.shape}",
            why="it must be a grey picture of at least 8 by 8 finite numbers",
            mend="Turn it to grey first, and check that it opened whole",
        )
    low, high = float(picture.min()), float(picture.max())
    if high <= low:
        raise _no_lines("it is the same all over")
    # Black stays 0, as light falls on paper and ink by the same factor.
    floor = min(low, 0.0)
    return (picture - floor) / (high - floor)


def _no_lines(why: str) -> OutOfRange:
    return OutOfRange(
        "the mark", why=f"there are no lines in it: {why}", mend="Draw it darker, in clear lines, on plain paper"
    )


def _reduced(picture: Floats, mm_per_pixel: float) -> tuple[Floats, float]:
    times = -(-max(picture.shape) // MOST_PIXELS_ACROSS)
    if times <= 1:
        return picture, mm_per_pixel
    rows, columns = (side // times * times for side in picture.shape)
    blocks = picture[:rows, :columns].reshape(rows // times, times, columns // times, times)
    return np.asarray(blocks.mean(axis=(1, 3))), mm_per_pixel * times


def _without_shade(picture: Floats) -> Floats:
    """Brightness over that of the paper there: 1 on paper, less on ink, whatever the light on the page.

    Paper is what is left when ink, as it is known so far, is masked out; its shade is a broad blur of paper alone.
    """
    from scipy.ndimage import binary_dilation, gaussian_filter

    # Never nought, so that a deep shadow divides without harm.
    smooth = gaussian_filter(picture, 0.8) + 0.02
    times = -(-max(picture.shape) // SHADE_PIXELS)
    small = smooth[::times, ::times]
    reach = max(small.shape) / 12
    shade = _smooth_surface(small, small >= np.quantile(small, 0.5))
    for _ in range(SHADE_ROUNDS):
        over = small / shade
        ink = binary_dilation(over < min(_otsu(over), 0.97), iterations=1)
        if ink.mean() > 0.9:
            break
        plain = _smooth_surface(small, ~ink)
        weight = gaussian_filter((~ink).astype(np.float64), reach)
        local = gaussian_filter(np.where(ink, 0.0, small / plain), reach)
        # Deep within a broad inked area there is no paper to look at, and the smooth surface stands.
        shade = plain * (local + 0.02) / (weight + 0.02)
    return np.asarray(smooth / _grown(shade, picture.shape, times))


def _smooth_surface(small: Floats, paper: Mask) -> Floats:
    """A surface of the third degree through the paper alone, never below a tenth of its usual brightness."""
    y, x = (np.linspace(-1, 1, side) for side in small.shape)
    powers = [(i, j) for i in range(4) for j in range(4 - i)]
    grid = np.stack([np.multiply.outer(y**i, x**j) for i, j in powers], axis=-1)
    found = np.linalg.lstsq(grid[paper], small[paper], rcond=None)[0]
    return np.asarray(np.maximum(grid @ found, 0.1 * np.median(small[paper])))


def _grown(shade: Floats, shape: tuple[int, ...], times: int) -> Floats:
    from scipy.ndimage import map_coordinates

    rows, columns = (
        np.minimum(np.arange(side) / times, small - 1) for side, small in zip(shape, shade.shape, strict=True)
    )
    return np.asarray(map_coordinates(shade, np.meshgrid(rows, columns, indexing="ij"), order=1))


def _otsu(values: Floats) -> float:
    from skimage.filters import threshold_otsu

    return float(threshold_otsu(values)) if np.ptp(values) > 0 else float(values.min())  # type: ignore[no-untyped-call]


def _threshold(flat: Floats) -> float:
    """Half way from ink to paper, when ink stands out from paper by enough to be ink."""
    threshold = _otsu(flat)
    ink = flat < threshold
    if not ink.any() or ink.all():
        raise _no_lines("nothing in it is darker than the rest")
    paper, dark = float(np.median(flat[~ink])), float(np.median(flat[ink]))
    # Noise as it is where it is worst, in the shadow, and not as it is on most of the page.
    noise = float(np.quantile(np.abs(flat[~ink] - paper), 0.95)) / 1.96
    if paper - dark < max(LEAST_CONTRAST * paper, NOISE_TIMES * noise):
        raise _no_lines("nothing in it stands out from the paper")
    if ink.mean() > MOST_INK:
        raise _no_lines(f"{per_cent(ink.mean())} of it is dark; for light lines on a dark ground say so")
    return (paper + dark) / 2


def _despeckled(ink: Mask, across_px: float) -> Mask:
    """Ink without pieces, and without holes, that would go into a square of that side."""
    from skimage.measure import label, regionprops

    clean = ink.copy()
    for mask, value in ((ink, False), (~ink, True)):
        for piece in regionprops(label(mask, connectivity=2 if mask is ink else 1)):  # type: ignore[no-untyped-call]
            rows, columns = piece.bbox[2] - piece.bbox[0], piece.bbox[3] - piece.bbox[1]
            if max(rows, columns) <= across_px:
                clean[piece.slice][piece.image] = value
    if not clean.any():
        raise _no_lines("only specks are darker than the paper")
    return clean


def _refuse_busy(ink: Mask) -> None:
    from skimage.measure import label

    pieces = int(label(ink, connectivity=2).max())  # type: ignore[no-untyped-call]
    if pieces > MOST_PIECES:
        raise OutOfRange(
            "the picture",
            why=f"it falls into {pieces} pieces, which is no mark to be carved",
            mend="Photograph the drawing alone, on plain paper, and crop it",
        )


def _stroke_width(ink: Mask) -> float:
    """Usual width of what is inked, pixels: twice the distance to paper along the middle."""
    from scipy.ndimage import distance_transform_edt
    from skimage.morphology import skeletonize

    depth = distance_transform_edt(np.pad(ink, 1))[1:-1, 1:-1]
    return float(2 * np.median(depth[skeletonize(ink)]))  # type: ignore[no-untyped-call]


def _edges(flat: Floats, threshold: float, ink: Mask, slack_px: float) -> list[tuple[Floats, bool]]:
    """The edge of each inked area, between the pixels where the brightness crosses the threshold."""
    from skimage.measure import approximate_polygon, find_contours

    # Specks are painted over with paper (and holes with ink) before the edge is sought.
    level = np.where(ink == (flat < threshold), flat, np.where(ink, threshold - 0.1, 1.0))
    framed = np.pad(level, 1, constant_values=1.0)
    found = []
    for edge in find_contours(framed, threshold):  # type: ignore[no-untyped-call]
        simple = approximate_polygon(edge - 1.0, slack_px)[:-1]  # type: ignore[no-untyped-call]
        if len(simple) >= 3:
            found.append((np.asarray(simple), True))
    return found


def _cut_off(ink: Mask) -> bool:
    return bool(ink[0].any() or ink[-1].any() or ink[:, 0].any() or ink[:, -1].any())
