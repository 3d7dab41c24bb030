"""Several forms on one shelf: which mixtures to lay so that all pieces stand on shelves of least height in all.

A mixture is some of one form and then others, none taller, in the room that is left. Many are laid out; then whole
numbers of them are chosen (P. C. Gilmore and R. E. Gomory, Oper. Res. 9, 1961, the cutting-stock way of putting it).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from wareboard.kiln.filled_shelf import FilledShelf, Row, add_to, one_form, one_form_to_a_shelf, sharing
from wareboard.kiln.inside import KilnInside
from wareboard.kiln.on_a_shelf import Effort, Stand

_SECONDS_TO_ADD_A_FORM = 0.015  # measured; it turns seconds into a count of tries
_FIRST_SHARES = (1.0, 0.0, 0.5, 0.25, 0.75)  # of a full shelf, how much the tallest form takes first; 0 is one place


def mixed_shelves(
    stands: Sequence[Stand], kiln: KilnInside, gap_mm: float, effort: Effort
) -> Iterator[tuple[str, list[FilledShelf]]]:
    """Ways to stand all pieces with forms mixed on the shelves, each with words for it.

    First tallest pieces first, each shelf filled up from what is less tall; then the mixtures that take least height.

    Args:
        stands: how each form stands alone.
        gap_mm: gap between pieces, mm.
        effort: its seconds are spent on each form added to a shelf, and again on laying mixtures out.
    """
    tallest_first = sorted(stands, key=lambda stand: (-stand.height_mm, -stand.piece.footprint_diameter_mm))
    yield (
        "tallest pieces first, each shelf filled up with less tall ones, tallest shelves dealt first",
        sharing([(stand, stand.piece.count) for stand in tallest_first], kiln, gap_mm, effort),
    )
    laid = [one_form(stand, min(stand.piece.count, stand.per_shelf)) for stand in stands]
    laid += one_form_to_a_shelf(stands, kiln, gap_mm)
    tries = max(len(stands) ** 2, math.ceil(effort.seconds / _SECONDS_TO_ADD_A_FORM))
    for mixture, added in _mixtures(stands, kiln, gap_mm):
        laid.append(mixture)
        tries -= added
        if tries <= 0 or (effort.stop is not None and effort.stop.is_set()):
            break
    chosen = _least_height(laid, stands, kiln)
    if chosen is not None:
        words = "forms mixed on the shelves to take least height, tallest shelves dealt first"
        yield words, _trimmed(laid, chosen, stands)


def _mixtures(stands: Sequence[Stand], kiln: KilnInside, gap_mm: float) -> Iterator[tuple[FilledShelf, int]]:
    """Mixtures worth a look, those of most promise first, and how many forms were tried on each."""
    free = [stand for stand in stands if not stand.top_only]
    for share in _FIRST_SHARES:
        for tallest in free:
            places = max(1, round(share * tallest.places.count))
            lower = [other for other in free if other is not tallest and other.height_mm <= tallest.height_mm]
            lower.sort(key=lambda stand: -stand.piece.footprint_diameter_mm)
            for second in lower:
                shelf = one_form(tallest, min(tallest.piece.count, places * tallest.stacked))
                tried = 0
                for other in (second, *(third for third in lower if third is not second)):
                    tried += 1
                    add_to(shelf, other, other.piece.count, kiln, gap_mm)
                if len(shelf.rows) > 1:
                    yield shelf, tried


def _takes_mm(shelf: FilledShelf, kiln: KilnInside) -> float:
    post = kiln.post_for(shelf.height_mm + kiln.top_gap_mm)
    return kiln.loaded_shelf.thickness_mm + (post if math.isfinite(post) else shelf.height_mm + kiln.top_gap_mm)


def _counts(shelf: FilledShelf, forms: Sequence[str]) -> list[int]:
    return [sum(sum(row.stacked) for row in shelf.rows if row.piece.form == form) for form in forms]


def _least_height(laid: Sequence[FilledShelf], stands: Sequence[Stand], kiln: KilnInside) -> list[int] | None:
    """How many of each shelf to take so that all pieces stand and the heights add up to least; None if not solved."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    forms = [stand.piece.form for stand in stands]
    holds = np.array([_counts(shelf, forms) for shelf in laid], dtype=np.float64).T
    wanted = np.array([stand.piece.count for stand in stands], dtype=np.float64)
    done = milp(
        np.array([_takes_mm(shelf, kiln) for shelf in laid]),
        constraints=LinearConstraint(holds, wanted, np.inf),
        bounds=Bounds(0, np.inf),
        integrality=np.ones(len(laid)),
        options={"node_limit": 2000, "mip_rel_gap": 1e-3},
    )
    return None if done.x is None else [round(number) for number in done.x]


def _trimmed(laid: Sequence[FilledShelf], chosen: Sequence[int], stands: Sequence[Stand]) -> list[FilledShelf]:
    """The chosen shelves with no more pieces than are wanted; what is over is left off the last of them."""
    left = {stand.piece.form: stand.piece.count for stand in stands}
    heights = {stand.piece.form: stand.height_mm for stand in stands}
    shelves: list[FilledShelf] = []
    for shelf, number in zip(laid, chosen, strict=True):
        for _ in range(number):
            rows: list[Row] = []
            for row in shelf.rows:
                kept = _first(row, left[row.piece.form])
                left[row.piece.form] -= sum(kept.stacked)
                if kept.stacked:
                    rows.append(kept)
            if rows:
                height = max(heights[row.piece.form] for row in rows)
                shelves.append(FilledShelf(rows, height, shelf.top_only, shelf.cone_pack))
    return shelves


def _first(row: Row, pieces: int) -> Row:
    """The row with no more than so many pieces."""
    stacked: list[int] = []
    for count in row.stacked:
        take = min(count, pieces - sum(stacked))
        if take <= 0:
            break
        stacked.append(take)
    places = len(stacked)
    return replace(
        row,
        centres_mm=row.centres_mm[:places],
        handle_angles_deg=row.handle_angles_deg[:places],
        stacked=tuple(stacked),
    )
