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
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.form.camera import KNOWN_LENS_SPREAD, USUAL_MISFIT, Judged, judge_view
from wareboard.form.curve import Floats
from wareboard.form.outline import HalfLine
from wareboard.form.photo_colours import opened_colours
from wareboard.form.photo_handle import PhotoHandle, handle_in
from wareboard.form.photo_hidden import half_unseen, hidden_wall
from wareboard.form.photo_on_table import by_sheet
from wareboard.form.photo_outline import NoPiece, no_piece, outline_in
from wareboard.form.photo_paper import refuse_paper_as_piece
from wareboard.form.photo_sheet import Sheet, sheet_in
from wareboard.form.photo_view import lean_deg, looked_at, sides, with_rim
from wareboard.form.profile import from_points
from wareboard.form.sightline import Facing, half_widths, radii_seen
from wareboard.form.vessel import capacity_ml as held_ml
from wareboard.given import positive
from wareboard.working import Step

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["NoPiece", "PhotoHandle", "PhotoProfile", "profile_from_photo"]

RINGS = 161
LEAST_LENS_SPREAD = 0.004
# Half width of a 90 % range in standard deviations of a normal error.
HALF_WIDTH_OF_90_PER_CENT = 1.6448536269514722
LENGTH_READ_MM = 0.5
USUAL_HEIGHT_MM = 100.0


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
    camera_mm: float | None  # from the axis, level; None where it is too far off to tell
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
    sheet: str | Sheet | None = None,
    sheet_corners_px: Floats | None = None,
) -> PhotoProfile:
    """The outside of the piece in a picture, its handle apart, with how sure each radius is.

    Just one size makes the scale: the height, the greatest width, the capacity to the brim, the millimetres of a dot at the
    piece, or a sheet of paper under or before it. A sheet beside another size tells the lens alone.

    Args:
        image: (h, w, 3) picture, 0 to 255 or shares from 0 to 1; (h, w) grey; or a Pillow picture. Left alone. The bytes
            of a picture file, or its path, go to `wareboard.pictures`, which alone opens files; nothing of where and when it
            was taken is looked at.
        height_mm, width_mm: over all, without the handle, mm.
        capacity_ml: to the brim, ml; with the ``wall_mm`` and ``floor_mm`` that the piece is taken to have.
        mm_per_px: size of a dot at the axis of the piece, mm.
        lens_35mm: focal length as on 35 mm film, where the picture names it; it makes low parts surer.
        sheet: "a4" or "letter", where one lies flat on the table in the picture, whole, its corners free; or what
            `wareboard.form.photo_sheet.sheet_in` found of it in this very picture.
        sheet_corners_px: (4, 2) of its corners in turn, (x, y) in dots, where it is not to be looked for.
    Raises:
        NoPiece: if no whole turned piece is seen, saying why.
        OutOfRange: if a size cannot be, none or several are given, or the picture is too small or too large.
    Source: outline by least cost path; radii as the visual hull of discs under the view that rim and foot tell.
    """
    kind, known = _the_one_size(height_mm, width_mm, capacity_ml, mm_per_px, sheet)
    picture, lens_35mm = opened_colours(image, lens_35mm)
    paper = sheet_in(picture, sheet, sheet_corners_px, lens_35mm) if isinstance(sheet, str) else sheet
    line, mask, factor = outline_in(picture, None if paper is None else paper.ground)
    if paper is None:
        refuse_paper_as_piece(picture, mask)
    lip = 0.5 * wall_mm / (height_mm or USUAL_HEIGHT_MM)
    lens, lens_spread = lens_35mm, KNOWN_LENS_SPREAD
    if paper is not None:
        lens, lens_spread = 36.0 * paper.focal_px / max(picture.shape[:2]), max(LEAST_LENS_SPREAD, paper.focal_spread)
    seen, judged, line, r, v = looked_at(picture, line, factor, lip, lens, lens_spread)
    if paper is not None and not judged.level:
        down = by_sheet(judged, seen, paper)
        judged = judge_view(r, v, float(max(picture.shape[:2])), lip, lens, lens_spread=lens_spread, looks_down=down)
    if judged.rim_line is not None:
        r, v = with_rim(r, v, *judged.rim_line)
    left, right = sides(line)
    _refuse_uneven_rings(judged, float(np.ptp(v)))
    heights = np.linspace(0.0, 1.0, RINGS)
    radii = _radii(judged, r, v, heights)
    drawn, half_open = (radii, np.zeros(RINGS)) if judged.level else hidden_wall(judged.view, r, v, heights, radii)
    if not (np.isfinite(radii).all() and radii[1:-1].min() > 0):
        raise no_piece(
            "its outline does not go with a rim and a foot seen from one place", "Take it from a little above"
        )
    _refuse_cut_in(radii, paper is not None)
    unsure = half_open if judged.level or half_open.any() else half_unseen(heights, radii)
    seen_radii, radii = radii, drawn
    if kind == "sheet" and paper is not None:
        _refuse_lost_foot(unsure, half_open, judged.foot_misfit)
        known, off_mm = _tall_by_sheet(paper, seen, judged)
        tall_mm = known
    else:
        tall_mm, off_mm = _tall_mm(kind, known, heights, radii, judged, wall_mm, floor_mm), LENGTH_READ_MM
    read = off_mm / tall_mm * radii
    spread = (np.hypot(_spread(judged, r, v, heights, seen_radii, line), read) + unsure) * tall_mm
    handle = handle_in(mask, line, factor, seen, judged.view, tall_mm, heights, radii)
    uncertainty = float(np.percentile(spread, 95))
    if uncertainty > MOST_UNSURE * 2 * radii.max() * tall_mm:
        raise no_piece(
            f"each radius could be off by {uncertainty:.1f} mm", "Send the picture as the camera made it, nearer"
        )
    notes = tuple(_notes(unsure, judged, lens, line))
    view = judged.view
    return PhotoProfile(
        heights * tall_mm,
        radii * tall_mm,
        handle,
        uncertainty,
        spread,
        math.degrees(view.pitch),
        None if judged.level else view.distance * tall_mm,
        lean_deg(left, right),
        tall_mm * view.distance / math.cos(view.pitch) / view.focal,
        left,
        right,
        notes,
        _steps(kind, known, judged, tall_mm, off_mm, radii, uncertainty),
    )


def _the_one_size(
    height: float | None, width: float | None, capacity: float | None, dot: float | None, sheet: str | Sheet | None
) -> tuple[str, float]:
    given = {
        "height": (height, "mm"),
        "width": (width, "mm"),
        "capacity": (capacity, "ml"),
        "size of a dot": (dot, "mm"),
    }
    known = {name: positive(value, name, unit) for name, (value, unit) in given.items() if value is not None}
    if sheet is not None and not known:
        return "sheet", 0.0
    if len(known) != 1:
        raise OutOfRange(
            f"{len(known)} sizes are given" if known else "no size is given",
            why="a picture tells a shape and not its size; just one known size makes the scale",
            mend="Give the height, the greatest width or the capacity, or lay a sheet of A4 or US letter by it and say so",
        )
    return next(iter(known.items()))


CORNER, STEEPEST_END = 0.015, 2.0
# A ring laid on the table about the foot, in heights. A rim is drawn inside of its pale lip, a foot inside of its shadow, as
# a whole by so many times as much as its points then lie off an even ring: found on rendered pictures of known truth.
RING_ON_TABLE, OFF_AS_A_WHOLE = 0.3, 4.0
# Half of what a belly may hide, in heights, from which on its foot ring is as like as not lost under it or in its shadow.
FOOT_LOST = 0.02
CUT_IN, CUT_IN_BY_PAPER = 0.1, 0.5
MOST_UNSURE, UNEVEN_DOTS, UNEVEN = 0.05, 0.6, 0.0035


def _refuse_uneven_rings(judged: Judged, tall: float) -> None:
    for name, misfit in (("rim", judged.rim_misfit), ("foot", judged.foot_misfit)):
        if misfit > max(UNEVEN_DOTS, UNEVEN * tall):
            raise no_piece(
                f"its {name} cannot be followed as one even ellipse, as where a ground is as dark as the glaze"
            )


def _refuse_cut_in(radii: Floats, by_paper: bool) -> None:
    """Refuse an outline that runs in to its axis and out again: no stem of clay is a tenth of what is above and below it.

    By a sheet of paper half of it is refused: a grey glaze before the sheet looks like the sheet in a shadow.
    """
    between = np.minimum(np.maximum.accumulate(radii), np.maximum.accumulate(radii[::-1])[::-1])
    if by_paper and (radii < CUT_IN_BY_PAPER * between).any():
        raise no_piece(
            "its outline runs in to its axis, as where a grey or white glaze before the sheet is taken for paper",
            "Lay the sheet beside the piece, not behind it or under it",
        )
    if (radii < CUT_IN * between).any():
        raise no_piece(
            "its outline runs in to its axis, as where a glint is taken for ground",
            "Light it evenly, from the sides",
        )


def _radii(judged: Judged, r: Floats, v: Floats, heights: Floats) -> Floats:
    rows, widths = half_widths(r, v)
    if judged.level:
        tall = float(rows[-1] - rows[0])
        found: Floats = np.interp(rows[-1] - heights * tall, rows, widths) / tall
        return np.maximum(_ends_squared(heights, found), 0.5 / tall)
    return radii_seen(judged.view, rows, widths, heights)


def _ends_squared(heights: Floats, radii: Floats) -> Floats:
    """The radii with both ends as their neighbours run on: where the line turns round a corner it is rounded off.

    A dome's own end, which draws in well before, is left.
    """
    squared = radii.copy()
    for order in (slice(None), slice(None, None, -1)):
        h, r, out = heights[order], radii[order], squared[order]
        away = np.abs(h - h[0])
        corner, next_to = away < CORNER, (away >= CORNER) & (away < 3 * CORNER)
        slope, level = np.polyfit(away[next_to], r[next_to], 1)
        if abs(slope) < STEEPEST_END:
            out[corner] = np.maximum(r[corner], level + slope * away[corner])
    return squared


def _refuse_lost_foot(unsure: Floats, half_open: Floats, foot_misfit: float) -> None:
    """Refuse to size a piece by its sheet where a belly may hide the foot ring: then it is not seen where it stands.

    A foot that is followed as evenly as most are is a ring, and no belly's lowest bend.
    """
    if not half_open.any() and unsure.max() > FOOT_LOST and foot_misfit > USUAL_MISFIT:
        raise no_piece(
            "its foot may be hidden under its belly or in its shadow, so that the sheet cannot tell its size",
            "Take it from lower, with light from the front, or give its height",
        )


def _tall_by_sheet(paper: Sheet, seen: Facing, judged: Judged) -> tuple[float, float]:
    """Height of the piece and half of its 90 % range, mm: a ring of known share of it, laid on the table about its foot."""
    if judged.level:
        raise no_piece("it is taken level with the table, where a sheet shows nothing", "Take it from a little above")
    turn = np.array([0.0, np.pi])
    ring = seen.back(*judged.view.seen(RING_ON_TABLE, 0.0, turn))
    length, off = paper.length_mm(ring)
    tall = length / (2 * RING_ON_TABLE)
    ends = OFF_AS_A_WHOLE * max(judged.rim_misfit, judged.foot_misfit) * judged.view.distance / judged.view.focal
    others = [(weight, seen.back(*view.seen(RING_ON_TABLE, 0.0, turn))) for weight, view in judged.others]
    by_view = judged.unsureness * math.sqrt(
        sum(weight * (paper.across_mm(each) - length) ** 2 for weight, each in others)
    )
    return tall, HALF_WIDTH_OF_90_PER_CENT * tall * math.hypot(off / length, ends, by_view / length)


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


def _spread(judged: Judged, r: Floats, v: Floats, heights: Floats, radii: Floats, line: HalfLine) -> Floats:
    """Half of the 90 % range of each radius, in heights: the view, the edge itself, the two sides."""
    dot = judged.view.distance / judged.view.focal
    if judged.level:
        # The ends are followed to a dot; where the wall leans, that moves its radius as much as it leans.
        by_view = np.abs(np.gradient(radii, heights)) * dot
    else:
        rows = half_widths(r, v)
        changed = [weight * (radii_seen(other, *rows, heights) - radii) ** 2 for weight, other in judged.others]
        by_view = np.sqrt(np.sum(changed, axis=0)) * judged.unsureness
    good = ~line.lone[0] & ~line.lone[1]
    sides = float(np.median(np.abs(line.apart[good]))) * 1.4826 / 2 * dot if good.any() else 0.0
    found: Floats = HALF_WIDTH_OF_90_PER_CENT * np.sqrt(by_view**2 + (0.5 * dot) ** 2 + sides**2)
    return found


def _notes(half_open: Floats, judged: Judged, lens_35mm: float | None, line: HalfLine) -> Iterator[str]:
    if half_open.max() > 0.01:
        yield (
            "Part of the piece near its foot may be hidden under its belly from this height; the range there says how much. "
            "Photograph it from lower to see the foot."
        )
    if judged.rim_line is not None:
        yield "The back of the rim is lost against the ground or in a glint: it is drawn as the rim's two ends tell it."
    if judged.level:
        yield "Neither rim nor foot shows an ellipse: it is taken as seen level from far off, such as a drawing."
    elif lens_35mm is None:
        yield "The lens is not known; a picture straight from the camera names it, and makes the low parts surer."
    if math.degrees(judged.view.rim_seen) > 30:
        yield "Taken from high above: take it again from about a hand's height over the rim."
    if line.lone[0].any() and line.lone[1].any():
        yield "Something is joined on both sides; only one handle is read."
    yield "A size from a photograph is a guess to be confirmed by the prototype."


def _steps(
    kind: str, known: float, judged: Judged, tall_mm: float, off_mm: float, radii: Floats, uncertainty: float
) -> tuple[Step, ...]:
    view, widest = judged.view, 2 * float(radii.max())
    camera = Step(
        "photograph: camera from the axis of the piece",
        "distance_in_heights * height_mm",
        {"distance_in_heights": view.distance, "height_mm": tall_mm},
        view.distance * tall_mm,
        "definition",
        unit="mm",
        key="camera",
    )
    return (
        *(() if judged.level else (camera,)),
        Step(
            "photograph: height of the piece",
            "",
            {kind.replace(" ", "_"): known} if kind != "sheet" else {},
            tall_mm,
            "given",
            unit="mm",
            low=tall_mm - off_mm if kind == "sheet" else None,
            high=tall_mm + off_mm if kind == "sheet" else None,
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
