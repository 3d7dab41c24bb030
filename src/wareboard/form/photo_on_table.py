"""The view of a piece held by the sheet of paper that lies on its table: the sheet tells how far down the camera looks."""

from __future__ import annotations

import math

from wareboard.form.camera import Judged
from wareboard.form.photo_outline import no_piece
from wareboard.form.photo_sheet import Sheet
from wareboard.form.sightline import Facing

# How upright a piece stands on a table, radians; how far axis and sheet may part before they are no piece on one table.
UPRIGHT, MOST_ASKEW, MOST_SPREADS = 0.004, 0.025, 4.0
ON_ITS_TABLE = "Lay it flat on the table that the piece stands upright on; or give its four corners"


def by_sheet(judged: Judged, seen: Facing, paper: Sheet) -> tuple[float, float]:
    """How far down the view looks as the sheet tells it, and its spread, radians; for a fit to rim, foot and sheet together.

    Args:
        judged: from rim and foot alone; not level.
        seen: how the piece is faced in the picture.
        paper: the sheet in the same picture.
    Raises:
        NoPiece: if the piece does not stand upright on the plane in which the sheet lies.
    """
    sideways, _, ahead = seen.turn @ paper.up
    pitch, spread = math.asin(-ahead), math.hypot(paper.up_spread, UPRIGHT)
    off = [math.sqrt(weight) * (view.pitch - judged.view.pitch) for weight, view in judged.others]
    open_by_fit = judged.unsureness * math.sqrt(sum(each**2 for each in off))
    if abs(math.asin(sideways)) > MOST_ASKEW + MOST_SPREADS * spread or abs(
        pitch - judged.view.pitch
    ) > MOST_ASKEW + MOST_SPREADS * math.hypot(spread, open_by_fit):
        raise no_piece("the piece does not stand upright on the sheet's plane, or that is no sheet", ON_ITS_TABLE)
    return pitch, spread
