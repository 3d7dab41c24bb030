"""A form of a plan drawn from one side with its mark or its painting, for whoever cannot turn it."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

import numpy as np

from wareboard.plan.result import FormPlan
from wareboard.plan.solids import solid_at

if TYPE_CHECKING:
    from wareboard.form.skin import Skin
    from wareboard.plan.mark_in_round import MarkOnSolid
    from wareboard.plan.painting_in_round import Spot

# Sides of a round part where it is drawn in lines, and in dots; dots of the picture, of which so many are drawn for one.
LINE_SIDES, DOT_SIDES, DOTS, FINER = 28, 48, 400, 2
# A number is left out where the skin is turned away from the eye beyond this cosine.
NUMBER_FACING = 0.35


def view_with_mark(
    form: FormPlan, mark: MarkOnSolid | None, stage: str, turn: float, tip: float, title: str, wide_mm: float | None
) -> str:
    """The form in shaded faces, as SVG, with what is seen of its mark.

    Args:
        form, stage: as in `wareboard.plan.solids`; the mark is of the same.
        turn, tip, title, wide_mm: as in `wareboard.form.solid_view.view_svg`.
    Raises:
        OutOfRange: if there is no such stage, or the handle does not go on the piece.
    """
    from wareboard.form.solid_seen import lines_over, look
    from wareboard.form.solid_view import view_svg

    coarse = solid_at(form, stage, LINE_SIDES, fine=False)
    over = ""
    if mark is not None:
        over = lines_over(look(coarse, turn, tip, wide_mm, DOTS), mark.lines_mm, mark.squares, mark.width_mm)
    return view_svg(coarse, turn, tip, title, stage, wide_mm, over)


def view_with_painting(
    form: FormPlan,
    skin: Skin,
    spots: Sequence[Spot],
    stage: str,
    turn: float,
    tip: float,
    title: str,
    wide_mm: float | None,
    mark: MarkOnSolid | None = None,
) -> str:
    """The form painted, as SVG: a shaded picture with the numbers of the zones that are seen, and what is seen of its mark.

    Args:
        form, stage: as in `wareboard.plan.solids`; raw paintings are shown at bisque.
        skin, spots: from `wareboard.plan.painting_in_round`.
        turn, tip, title, wide_mm: as in `wareboard.form.solid_view.view_svg`.
        mark: of the same form at the same stage, drawn over the painting.
    Raises:
        OutOfRange: if the painting is another form's, or there is no such stage.
    """
    from PIL import Image

    from wareboard.form.solid_seen import lines_over, look, picture, smaller

    solid = solid_at(form, stage, DOT_SIDES, fine=False)
    seen = look(solid, turn, tip, wide_mm, DOTS * FINER)
    out = io.BytesIO()
    Image.fromarray(smaller(picture(seen, solid, stage, skin), FINER)).save(out, "PNG")
    over = lines_over(seen, mark.lines_mm, mark.squares, mark.width_mm) if mark is not None else ""
    data = base64.b64encode(out.getvalue()).decode("ascii")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 400" role="img"><title>{escape(title)}</title>'
        f'<image width="400" height="400" href="data:image/png;base64,{data}"/>{over}{_numbers(spots, seen)}</svg>'
    )


def _numbers(spots: Sequence[Spot], seen: Any) -> str:
    from wareboard.form.solid_view import turned

    if not spots:
        return ""
    points = np.array([spot.place_mm for spot in spots])
    shows = seen.shows(points, np.array([spot.square for spot in spots]), NUMBER_FACING)
    places = seen.frame.places(turned(points, seen.turn_deg, seen.tip_deg))
    words = "".join(
        f'<text x="{x:.1f}" y="{y + 5.5:.1f}">{spot.number}</text>'
        for spot, (x, y), shown in zip(spots, places, shows, strict=True)
        if shown
    )
    return (
        '<g font-family="sans-serif" font-size="16" font-weight="700" text-anchor="middle" fill="#1a1a1a" '
        f'stroke="#ffffff" stroke-width="3.5" paint-order="stroke">{words}</g>'
    )
