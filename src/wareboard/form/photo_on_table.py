"""The view of a piece held by the sheet of paper that lies on its table: the sheet tells how far down the camera looks."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from wareboard.form.camera import Judged
from wareboard.form.curve import Floats
from wareboard.form.photo_outline import no_piece
from wareboard.form.photo_sheet import Sheet
from wareboard.form.sightline import Facing, View

# How upright a piece stands on a table, radians; how far axis and sheet may part before they are no piece on one table.
UPRIGHT, MOST_ASKEW, MOST_SPREADS = 0.004, 0.025, 4.0
MOST_FARTHER = 0.25  # change of the logarithm of the distance in which the view is nearly straight
ON_ITS_TABLE = "Lay it flat on the table that the piece stands upright on; or give its four corners"


def held_by_sheet(judged: Judged, seen: Facing, paper: Sheet) -> Judged:
    """The view as rim and foot and the sheet tell it together, with what they leave open.

    Args:
        judged: from rim and foot; not level.
        seen: how the piece is faced in the picture.
        paper: the sheet in the same picture.
    Raises:
        NoPiece: if the piece does not stand upright on the plane in which the sheet lies.
    Source: least squares of two measurements, each with its spread (R. E. Kalman, 1960; from memory).
    """
    sideways, _, ahead = seen.turn @ paper.up
    middle = _figures(judged.view)
    away = np.array([math.sqrt(weight) * (_figures(view) - middle) for weight, view in judged.others])
    within = judged.unsureness**2 * away.T @ away
    gap = math.asin(-ahead) - judged.view.pitch
    spread = math.hypot(paper.up_spread, UPRIGHT)
    if abs(math.asin(sideways)) > MOST_ASKEW + MOST_SPREADS * spread or abs(
        gap
    ) > MOST_ASKEW + MOST_SPREADS * math.hypot(spread, math.sqrt(float(within[2, 2]))):
        raise no_piece("the piece does not stand upright on the sheet's plane, or that is no sheet", ON_ITS_TABLE)
    share = within[:, 2] / (float(within[2, 2]) + spread**2)
    step = share * gap
    step *= min(1.0, MOST_FARTHER / max(1e-9, abs(float(step[0]))))
    best, left = middle + step, within - np.outer(share, within[2])
    values, ways = np.linalg.eigh((left + left.T) / 2)
    others = [
        (0.5, _view(best + side * math.sqrt(max(0.0, float(value))) * way))
        for value, way in zip(values, ways.T, strict=True)
        for side in (-1.0, 1.0)
    ]
    view, rim = _view(best), judged.rim_line
    return replace(
        judged,
        view=view,
        others=tuple(others),
        unsureness=1.0,
        rim_line=None if rim is None else _as_seen_from(view, judged.view, *rim),
    )


def _as_seen_from(view: View, before: View, r: Floats, v: Floats) -> tuple[Floats, Floats]:
    """A rim's back drawn for one view as another shows it: its two ends stay where they are seen, its height changes."""
    radius = float(r[-1]) * before.distance / before.focal

    def flatness(of: View) -> float:
        sideways, down = of.seen(radius, 1.0, np.array([-math.pi / 2, 0.0]))
        return float((down[1] - down[0]) / sideways[1])

    return r, v[-1] + (v - v[-1]) * flatness(view) / flatness(before)


def _figures(view: View) -> Floats:
    return np.array([math.log(view.distance), view.height, view.pitch, math.log(view.focal)])


def _view(figures: Floats) -> View:
    return View(math.exp(float(figures[0])), float(figures[1]), float(figures[2]), math.exp(float(figures[3])))
