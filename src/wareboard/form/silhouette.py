"""The profile of a piece from a photograph and one known length or its capacity.

The piece stands upright, whole in the picture, on a ground of other colours, taken from a little above its rim. Body and
handle are told apart; the camera's height and nearness are read off the rim and the foot. Not read: plates seen from the
side, pieces with handles on both sides, clear glass, and a foot hidden under the belly, whose radii are then given with what
is open about them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange, Unreadable
from wareboard.form.axis import Mask, find_axis
from wareboard.form.camera import Judged, judge_view
from wareboard.form.curve import Floats
from wareboard.form.ground import colours_of, likelier_piece
from wareboard.form.outline import HalfLine, evenly, lone_sides, piece_mask, refined, righted, rough_line
from wareboard.form.photo_handle import PhotoHandle, handle_in
from wareboard.form.profile import from_points
from wareboard.form.sightline import Facing, facing, half_widths, radii_seen
from wareboard.form.vessel import capacity_ml as held_ml
from wareboard.given import positive
from wareboard.working import Step

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["NoPiece", "PhotoHandle", "PhotoProfile", "profile_from_photo"]

MOST_DOTS = 60_000_000
LEAST_SIDE, LEAST_TALL = 96, 56
SMALL_SIDE = 640
RINGS = 161
MEND = "Stand the piece upright and whole in the picture, on a plain ground of another colour, lit evenly"
# Half width of a 90 % range in standard deviations of a normal error.
HALF_WIDTH_OF_90_PER_CENT = 1.6448536269514722
LENGTH_READ_MM = 0.5
USUAL_HEIGHT_MM = 100.0


class NoPiece(Unreadable):
    """A picture in which no whole turned piece was found."""


def _none(why: str, mend: str = MEND) -> NoPiece:
    return NoPiece("No profile from this picture", why, mend)


@dataclass(frozen=True, slots=True, eq=False)
class PhotoProfile:
    """The outside of a piece read off a photograph, at the size that was made known.

    ``heights_mm`` and ``radii_mm`` run from the standing edge to the rim, (n,) each; ``spread_mm`` is half of the 90 % range
    of each radius, and ``uncertainty_mm`` what holds for nearly all of them at once. ``left_px`` and ``right_px`` are the
    two sides of the body in the picture, (m, 2) of (x, y), to be shown over it and corrected.
    """

    heights_mm: Floats
    radii_mm: Floats
    handle: PhotoHandle | None
    uncertainty_mm: float
    spread_mm: Floats
    seen_from_deg: float  # over the level, at the middle of the piece
    camera_mm: float  # from the axis, level
    lean_deg: float
    mm_per_px: float
    left_px: Floats
    right_px: Floats
    notes: tuple[str, ...]
    steps: tuple[Step, ...]

    @property
    def points_mm(self) -> Floats:
        """(n, 2) of (height, radius), as `wareboard.form.profile.from_points` takes them."""
        return np.column_stack([self.heights_mm, self.radii_mm])


def profile_from_photo(
    image: NDArray[np.generic] | Image | bytes | str | PathLike[str],
    height_mm: float | None = None,
    *,
    width_mm: float | None = None,
    capacity_ml: float | None = None,
    mm_per_px: float | None = None,
    wall_mm: float = 4.0,
    floor_mm: float = 5.0,
    lens_35mm: float | None = None,
) -> PhotoProfile:
    """The outside of the piece in a picture, its handle apart, with how sure each radius is.

    Just one size makes the scale: the height, the greatest width, the capacity to the brim, or the millimetres of a dot at
    the piece.

    Args:
        image: (h, w, 3) picture, 0 to 255 or shares from 0 to 1; (h, w) grey; or a Pillow picture. Left alone. The bytes
            of a picture file, or its path, go to `wareboard.pictures`, which alone opens files; nothing of where and when it
            was taken is looked at.
        height_mm, width_mm: over all, without the handle, mm.
        capacity_ml: to the brim, ml; with the ``wall_mm`` and ``floor_mm`` that the piece is taken to have.
        mm_per_px: size of a dot at the axis of the piece, mm.
        lens_35mm: focal length as on 35 mm film, where the picture names it; it makes low parts surer.
    Raises:
        NoPiece: if no whole turned piece is seen, saying why.
        OutOfRange: if a size cannot be, none or several are given, or the picture is too small or too large.
    Source: outline by least cost path; radii as the visual hull of discs under the view that rim and foot tell.
    """
    kind, known = _the_one_size(height_mm, width_mm, capacity_ml, mm_per_px)
    picture, lens_35mm = _opened(image, lens_35mm)
    line, mask, factor = _outline_of(picture)
    left, right = (line.axis.places(side * line.r, line.v) for side in (-1.0, 1.0))
    lip = 0.5 * wall_mm / (height_mm or USUAL_HEIGHT_MM)
    seen, judged, r, v = _looked_at(left, right, picture.shape, lip, lens_35mm)
    heights = np.linspace(0.0, 1.0, RINGS)
    radii = radii_seen(judged.view, *half_widths(r, v), heights)
    half_open = _half_hidden(heights, radii)
    if not (np.isfinite(radii).all() and radii[1:].min() > 0):
        raise _none("its outline does not go with a rim and a foot seen from one place", "Take it from a little above")
    tall_mm = _tall_mm(kind, known, heights, radii, judged, wall_mm, floor_mm)
    spread = (
        _spread(judged, r, v, heights, radii, half_open, line) * tall_mm + LENGTH_READ_MM / tall_mm * radii * tall_mm
    )
    handle = handle_in(mask, line, factor, seen, judged.view, tall_mm, heights, radii)
    uncertainty = float(np.percentile(spread, 95))
    notes = tuple(_notes(half_open, judged, lens_35mm, line))
    view = judged.view
    return PhotoProfile(
        heights * tall_mm,
        radii * tall_mm,
        handle,
        uncertainty,
        spread,
        math.degrees(view.pitch),
        view.distance * tall_mm,
        math.degrees(line.axis.lean),
        tall_mm * view.distance / math.cos(view.pitch) / view.focal,
        left,
        right,
        notes,
        _steps(kind, known, judged, tall_mm, radii, uncertainty),
    )


def _the_one_size(
    height: float | None, width: float | None, capacity: float | None, dot: float | None
) -> tuple[str, float]:
    given = {
        "height": (height, "mm"),
        "width": (width, "mm"),
        "capacity": (capacity, "ml"),
        "size of a dot": (dot, "mm"),
    }
    known = {name: positive(value, name, unit) for name, (value, unit) in given.items() if value is not None}
    if len(known) != 1:
        raise OutOfRange(
            f"{len(known)} sizes are given" if known else "no size is given",
            why="a picture tells a shape and not its size; just one known size makes the scale",
            mend="Give the height, the greatest width or the capacity",
        )
    return next(iter(known.items()))


def _opened(
    image: NDArray[np.generic] | Image | bytes | str | PathLike[str], lens_35mm: float | None
) -> tuple[NDArray[np.uint8], float | None]:
    """Colours of the picture, and its lens where the file names one and no other is given."""
    from wareboard.pictures import picture_from_bytes, picture_from_file

    if isinstance(image, bytes | str | PathLike):
        opened = picture_from_bytes(image) if isinstance(image, bytes) else picture_from_file(Path(image))
        return _as_bytes(opened.rgb), lens_35mm or opened.lens_35mm
    return _as_bytes(_upright(image)), lens_35mm


def _upright(image: NDArray[np.generic] | Image) -> NDArray[np.generic] | Image:
    """A Pillow picture turned as the camera says it was held; an array is as it is."""
    from PIL import Image as Pictures
    from PIL import ImageOps

    if not isinstance(image, Pictures.Image):
        return image
    _refuse_size(*image.size)
    return ImageOps.exif_transpose(image).convert("RGBA" if "A" in image.getbands() else "RGB")


def _as_bytes(image: NDArray[np.generic] | Image) -> NDArray[np.uint8]:
    """(h, w, 3) bytes of a picture; what is see-through is laid on white."""
    picture = np.asarray(image)
    if picture.ndim == 2:
        picture = np.repeat(picture[..., None], 3, axis=2)
    if picture.ndim != 3 or picture.shape[2] not in (3, 4) or picture.dtype.kind not in "uif":
        raise OutOfRange(
            f"picture has shape {picture.shape}",
            why="it must be rows and columns of red, green and blue",
            mend="Open it as an RGB picture",
        )
    _refuse_size(picture.shape[1], picture.shape[0])
    if picture.dtype.kind == "f":
        if not np.isfinite(picture).all():
            raise OutOfRange("picture holds numbers that are not finite", "they are no colours", "Open it again")
        picture = np.clip(np.rint(picture * (255.0 if picture.max() <= 1.0 else 1.0)), 0, 255)
    elif picture.dtype.itemsize > 1:
        picture = picture >> 8 if picture.max() > 255 else picture
    colours = picture[..., :3].astype(np.uint8)
    if picture.shape[2] == 4:
        share = picture[..., 3:].astype(np.float64) / 255.0
        colours = np.rint(colours * share + 255.0 * (1.0 - share)).astype(np.uint8)
    return np.ascontiguousarray(colours)


def _refuse_size(width: int, height: int) -> None:
    if min(height, width) < LEAST_SIDE or height * width > MOST_DOTS:
        raise OutOfRange(
            f"picture has {width} x {height} dots",
            why=f"it must have at least {LEAST_SIDE} each way, and at most {MOST_DOTS // 1_000_000} million in all",
            mend="Send the picture as the camera made it, or make it smaller",
        )


def _outline_of(picture: NDArray[np.uint8]) -> tuple[HalfLine, Mask, int]:
    """The half line in the picture's own dots, with the small mask it was found in and how much smaller that is."""
    from PIL import Image as Pictures

    factor = max(1, math.ceil(max(picture.shape[:2]) / SMALL_SIDE))
    small = np.asarray(Pictures.fromarray(picture).reduce(factor))
    colours = colours_of(small)
    if _flat_share(small) > MOST_FLAT:
        raise _none("it has large parts of one exact colour, as a screen or a drawing has and no photograph", FLAT_MEND)
    problem: NoPiece | None = None
    for shade in (True, False):
        likelier = likelier_piece(colours, shade)
        try:
            line, mask = _line_in(picture, likelier, factor)
        except NoPiece as found:
            problem = problem or found
            continue
        return line, mask, factor
    assert problem is not None
    raise problem


STEEP, HIDDEN_BELOW = 0.7, 0.12
MOST_FLAT = 0.985
FLAT_MEND = "Send the photograph itself; a drawing can be read as an SVG path"


def _flat_share(small: NDArray[np.uint8]) -> float:
    """Share of dots that are exactly like their right neighbour."""
    return float((small[:, 1:] == small[:, :-1]).all(axis=2).mean())


def _line_in(picture: NDArray[np.uint8], likelier: Floats, factor: int) -> tuple[HalfLine, Mask]:
    mask = piece_mask(likelier)
    _refuse_no_piece(mask)
    axis = find_axis(mask)
    rows, columns = np.nonzero(mask)
    away = np.column_stack([columns, rows]) - np.array([axis.x, axis.y])
    tall, reach = float(np.abs(away @ axis.down).max()) + 6, float(np.abs(away @ axis.right).max()) + 4
    found = rough_line(np.where(mask, np.maximum(likelier, 1.0), likelier), axis, reach, tall)
    if found is None:
        raise _none("nothing in it is alike on both sides of an upright line")
    r, v = evenly(*found)
    size = float(np.ptp(v)) * factor
    if np.ptp(v) < LEAST_TALL:
        raise _none(f"the piece is only {size:.0f} dots high in it", "Come nearer, or send the picture in full size")
    _refuse_uneven(mask, r, v)
    lone = lone_sides(likelier, axis, r, v)
    line = HalfLine(axis.scaled(factor), r * factor, v * factor, np.zeros_like(r), np.ones_like(r), lone)
    for reach in (max(2.0 * factor, 0.012 * size), max(1.3 * factor, 0.008 * size)):
        line = righted(refined(picture, line, reach))
    _refuse_faint(line)
    return line, mask


def _refuse_no_piece(mask: Mask) -> None:
    share = float(mask.mean())
    if share < 0.004:
        raise _none("nothing in it stands out from the ground")
    if share > 0.75:
        raise _none("what stands out fills it, and leaves no ground about the piece", "Step back a little")
    edges = {"top": mask[0], "foot": mask[-1], "left edge": mask[:, 0], "right edge": mask[:, -1]}
    for name, edge in edges.items():
        if edge.mean() > 0.01:
            raise _none(
                f"what stands out runs out of it at the {name}", "Take the whole piece, with ground on all sides"
            )


def _refuse_uneven(mask: Mask, r: Floats, v: Floats) -> None:
    body = 2 * abs(float(np.trapezoid(r, v)))
    if body < 0.55 * float(mask.sum()):
        raise _none(
            "what stands out is not alike on both sides of an upright line, as a turned piece is",
            "Turn the handle to one side, and take one piece alone",
        )


def _refuse_faint(line: HalfLine) -> None:
    seen = line.crisp[~line.lone[0] & ~line.lone[1]]
    crisp = float((seen > LEAST_CRISP).mean()) if len(seen) > 60 else 0.0
    if crisp < LEAST_CRISP_SHARE:
        raise _none("its outline is too faint against the ground, or too blurred, to be followed")
    good = ~line.lone[0] & ~line.lone[1]
    apart = float(np.median(np.abs(line.apart[good]))) / max(1.0, float(line.r.max()))
    if apart > MOST_APART:
        raise _none("its two sides differ by more than a turned piece's do", "Turn the handle to one side")


LEAST_CRISP, LEAST_CRISP_SHARE, MOST_APART = 0.02, 0.8, 0.05


def _looked_at(
    left: Floats, right: Floats, shape: tuple[int, ...], lip: float, lens_35mm: float | None
) -> tuple[Facing, Judged, Floats, Floats]:
    """The picture as seen straight on, the camera, and the half line there; the lens is bettered once where not known."""
    middle, long_side = (np.array([shape[1], shape[0]]) - 1) / 2, float(max(shape[:2]))
    lens = None if lens_35mm is None else positive(lens_35mm, "focal length", "mm")
    focal = long_side * (1.1 if lens is None else lens / 36.0)
    for _ in range(1 if lens else 2):
        seen = facing(left, right, middle, focal)
        (across_left, v_left), (across_right, v_right) = seen.on(left), seen.on(right)
        r, v = np.abs(across_right - across_left) / 2, (v_left + v_right) / 2
        judged = judge_view(r, v, long_side, lip, lens)
        focal = min(max(judged.view.focal, 0.5 * long_side), 20 * long_side)
    return seen, judged, r, v


def _tall_mm(
    kind: str, known: float, heights: Floats, radii: Floats, judged: Judged, wall_mm: float, floor_mm: float
) -> float:
    """Height of the piece, mm, from the one size that is known."""
    if kind == "height":
        return known
    if kind == "width":
        return known / (2 * float(radii.max()))
    if kind == "size of a dot":
        return known * judged.view.focal * math.cos(judged.view.pitch) / judged.view.distance
    positive(wall_mm, "wall", "mm")
    positive(floor_mm, "floor", "mm")
    shape = np.column_stack([heights, radii])[::4]

    def too_much(tall: float) -> bool:
        try:
            profile = from_points(shape * tall, wall_mm, floor_mm, rounded_lip=False, smooth=False)
        except OutOfRange:
            return False  # too small for so thick a wall
        return held_ml(profile) > known

    low, high = 1.0, 10.0
    while not too_much(high):
        high *= 2
        if high > 1e5:
            raise OutOfRange(f"capacity is {known:g} ml", "no size of this shape holds it", "Check wall and floor")
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (low, middle) if too_much(middle) else (middle, high)
    return (low + high) / 2


def _spread(
    judged: Judged, r: Floats, v: Floats, heights: Floats, radii: Floats, half_open: Floats, line: HalfLine
) -> Floats:
    """Half of the 90 % range of each radius, in heights: the view, the edge itself, the two sides, what is hidden."""
    rows = half_widths(r, v)
    changed = [np.abs(radii_seen(other, *rows, heights) - radii) for other in judged.others]
    by_view = np.sqrt(np.mean(np.square(changed), axis=0) * 2) if changed else np.zeros_like(radii)
    dot = judged.view.distance / judged.view.focal
    good = ~line.lone[0] & ~line.lone[1]
    sides = float(np.median(np.abs(line.apart[good]))) * 1.4826 / 2 * dot if good.any() else 0.0
    found: Floats = HALF_WIDTH_OF_90_PER_CENT * np.sqrt(by_view**2 + (0.5 * dot) ** 2 + sides**2) + half_open
    return found


def _half_hidden(heights: Floats, radii: Floats) -> Floats:
    """Half of what a belly may hide: where the wall opens fast from the foot, a foot ring under it may be straight."""
    steep = np.diff(radii, prepend=radii[0]) > STEEP * (heights[1] - heights[0])
    steep[0] = True
    low = (heights <= HIDDEN_BELOW) & np.logical_and.accumulate(steep | (heights < 0.03))
    found: Floats = np.where(low, np.clip(radii - radii[0], 0.0, None) / 2, 0.0)
    return found


def _notes(half_open: Floats, judged: Judged, lens_35mm: float | None, line: HalfLine) -> Iterator[str]:
    if half_open.max() > 0.01:
        yield "Part of the piece near its foot or under its belly is hidden from this height; its radii there lie midway."
    if lens_35mm is None:
        yield "The lens is not known; a picture straight from the camera names it, and makes the low parts surer."
    if math.degrees(judged.view.rim_seen) > 30:
        yield "Taken from high above: take it again from about a hand's height over the rim."
    if line.lone[0].any() and line.lone[1].any():
        yield "Something is joined on both sides; only one handle is read."
    yield "A size from a photograph is a guess to be confirmed by the prototype."


def _steps(
    kind: str, known: float, judged: Judged, tall_mm: float, radii: Floats, uncertainty: float
) -> tuple[Step, ...]:
    view, widest = judged.view, 2 * float(radii.max())
    return (
        Step(
            "photograph: camera from the axis of the piece",
            "distance_in_heights * height_mm",
            {"distance_in_heights": view.distance, "height_mm": tall_mm},
            view.distance * tall_mm,
            "definition",
            unit="mm",
            key="camera",
        ),
        Step(
            "photograph: height of the piece",
            "",
            {kind.replace(" ", "_"): known},
            tall_mm,
            "given",
            unit="mm",
            how=f"from the {kind} that was given",
            key="height",
        ),
        Step(
            "photograph: greatest width",
            "width_in_heights * height_mm",
            {"width_in_heights": widest, "height_mm": tall_mm},
            widest * tall_mm,
            "definition",
            unit="mm",
            low=widest * tall_mm - 2 * uncertainty,
            high=widest * tall_mm + 2 * uncertainty,
            key="width",
        ),
    )
