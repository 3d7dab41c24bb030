"""Finding a turned piece in a picture: its half outline, or a clear word of why none can be followed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import Unreadable
from wareboard.form.axis import Mask, find_axis
from wareboard.form.curve import Floats
from wareboard.form.ground import colours_of, likelier_piece
from wareboard.form.outline import HalfLine, evenly, lone_sides, piece_mask, refined, righted, rough_line
from wareboard.form.photo_colours import reduced

LEAST_TALL, SMALL_SIDE = 32, 640
TURNS = 3
MEND = "Stand the piece upright and whole in the picture, on a plain ground of another colour, lit evenly"
LEAST_CRISP, LEAST_CRISP_SHARE, MOST_APART = 0.02, 0.8, 0.05


class NoPiece(Unreadable):
    """A picture in which no whole turned piece was found."""


def no_piece(why: str, mend: str = MEND) -> NoPiece:
    """The refusal of a picture, with why no piece is found in it, and the mend."""
    return NoPiece("No profile from this picture", why, mend)


def outline_in(picture: NDArray[np.uint8], sheet: Mask | None = None) -> tuple[HalfLine, Mask, int]:
    """The half line in the picture's own dots, with the small mask it was found in and how much smaller that is.

    ``sheet`` is where a sheet of paper shows in the small picture: it is ground.

    Raises:
        NoPiece: if no outline of a piece is found in it, neither as lighter nor as darker than the ground.
    """
    small, factor = reduced(picture, SMALL_SIDE)
    colours = colours_of(small)
    problem: NoPiece | None = None
    for shade in (True, False):
        likelier = likelier_piece(colours, shade, sheet)
        try:
            line, mask = _line_in(picture, likelier, factor)
        except NoPiece as found:
            problem = problem or found
            continue
        return line, mask, factor
    assert problem is not None
    raise problem


def _line_in(picture: NDArray[np.uint8], likelier: Floats, factor: int) -> tuple[HalfLine, Mask]:
    mask = piece_mask(likelier)
    _refuse_no_piece(mask)
    axis = find_axis(mask)
    rows, columns = np.nonzero(mask)
    away = np.column_stack([columns, rows]) - np.array([axis.x, axis.y])
    tall, reach = float(np.abs(away @ axis.down).max()) + 6, float(np.abs(away @ axis.right).max()) + 4
    found = rough_line(np.where(mask, np.maximum(likelier, 1.0), likelier), axis, reach, tall)
    if found is None:
        raise no_piece("nothing in it is alike on both sides of an upright line")
    r, v = evenly(*found)
    size = float(np.ptp(v)) * factor
    if np.ptp(v) < LEAST_TALL:
        raise no_piece(f"the piece is only {size:.0f} dots high in it", "Come nearer, or send the picture in full size")
    _refuse_uneven(mask, r, v)
    lone = lone_sides(likelier, axis, r, v)
    line = HalfLine(axis.scaled(factor), r * factor, v * factor, np.zeros_like(r), np.ones_like(r), lone)
    line = righted(refined(picture, line, max(2.0 * factor, 0.012 * size)))
    line = followed(picture, line, factor, size)
    _refuse_faint(line)
    return line, mask


def followed(picture: NDArray[np.uint8], line: HalfLine, factor: int, size: float) -> HalfLine:
    """The half line looked for near itself, in turns with its axis; ``size`` is the piece's height, dots.

    A shadow on one side pulls the first axis over; each turn sees more of that side's own edge.
    """
    for _ in range(TURNS):
        line = righted(refined(picture, line, max(1.3 * factor, 0.008 * size)))
    return line


def _refuse_no_piece(mask: Mask) -> None:
    share = float(mask.mean())
    if share < 0.004:
        raise no_piece("nothing in it stands out from the ground")
    if share > 0.75:
        raise no_piece("what stands out fills it, and leaves no ground about the piece", "Step back a little")
    edges = {"top": mask[0], "foot": mask[-1], "left edge": mask[:, 0], "right edge": mask[:, -1]}
    for name, edge in edges.items():
        if edge.mean() > 0.01:
            raise no_piece(
                f"what stands out runs out of it at the {name}", "Take the whole piece, with ground on all sides"
            )


def _refuse_uneven(mask: Mask, r: Floats, v: Floats) -> None:
    body = 2 * abs(float(np.trapezoid(r, v)))
    if body < 0.55 * float(mask.sum()):
        raise no_piece(
            "what stands out is not alike on both sides of an upright line, as a turned piece is",
            "Turn the handle to one side, and take one piece alone",
        )


def _refuse_faint(line: HalfLine) -> None:
    seen = line.crisp[~line.lone[0] & ~line.lone[1]]
    crisp = float((seen > LEAST_CRISP).mean()) if len(seen) > 60 else 0.0
    if crisp < LEAST_CRISP_SHARE:
        raise no_piece("its outline is too faint against the ground, or too blurred, to be followed")
    good = ~line.lone[0] & ~line.lone[1]
    apart = float(np.median(np.abs(line.apart[good]))) / max(1.0, float(line.r.max()))
    if apart > MOST_APART:
        raise no_piece("its two sides differ by more than a turned piece's do", "Turn the handle to one side")
