"""How fast ware dries here: the hours that a board's weighings took to leather-hard and to dry, over the rough rule.

One piece of a board is weighed from thrown on. Its bone-dry weight is the last of its weights once two a day apart agree;
until then it is reckoned from the first weight and the usual water of thrown clay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from django.utils import timezone

from wareboard.book.boards.models import STANDS, Board, Entry
from wareboard.book.boards.stages import ORDER, WRAPPED
from wareboard.book.learning.briefs import FormFacts, facts_of
from wareboard.book.learning.figures import Figure, Marks, Seen
from wareboard.book.learning.measured_figures import measured_figure
from wareboard.book.measures.read import WeighIn, weigh_ins_of
from wareboard.book.reckoning.learned import prior
from wareboard.plan.own import DRYING_KEY

MOST_BOARDS = 60
LEAST_WEIGHINGS = 3
SOON_H = 6.0  # the first weighing must be of ware as good as wet
DRY_WITHIN, DAY_H = 0.003, 20.0
LEATHER_HARD_SHARE = 0.35  # of the water gone; the shipped window of leather-hard lies about it


@dataclass(frozen=True, slots=True)
class Weighed:
    """One weight of a board's piece: hours since the first, grams, whether it stood covered then."""

    hours: float
    grams: float
    covered: bool


def drying_figures(before: datetime, marks: Marks) -> list[Figure]:
    """The pace of drying, where a board was weighed three times or more from wet on."""
    seen = [each for board, rows in _weighings(before) if (each := _seen(board, rows)) is not None]
    if not seen:
        return []
    name = "time that ware takes to dry here, over the rough rule"
    return [
        measured_figure(
            DRYING_KEY, "drying", name, prior(DRYING_KEY), "scatter.drying_factor", seen, "board", marks
        )
    ]  # fmt: skip


def _weighings(before: datetime) -> list[tuple[Board, list[WeighIn]]]:
    rows = Entry.objects.filter(kind="weigh", standing=STANDS, written__lt=before, grams__gt=0.0)
    rows = rows.exclude(undone_by__written__lt=before)
    wet = [stage for stage in ORDER if ORDER["thrown"] <= ORDER[stage] <= ORDER["bone dry"]]
    newest = Board.objects.select_related("commission__paper__current").order_by("-pk")[:MOST_BOARDS]
    boards = {board.pk: board for board in newest}
    found: dict[int, list[WeighIn]] = {}
    for entry in rows.filter(board_id__in=list(boards), stage_from__in=wet).order_by("board_id", "happened"):
        seen = WeighIn(entry.happened, float(entry.grams or 0.0), entry.state_from == WRAPPED, entry.stage_from)
        found.setdefault(entry.board_id, []).append(seen)
    for pk, weighed in weigh_ins_of(boards, before).items():
        if len(weighed) > len(found.get(pk, ())):
            found[pk] = weighed
    return [(boards[pk], weighed) for pk, weighed in found.items()]


def _seen(board: Board, weighed: Sequence[WeighIn]) -> Seen | None:
    form = facts_of(board.commission).forms.get(board.form)
    if form is None or len(weighed) < LEAST_WEIGHINGS:
        return None
    start = weighed[0].when
    begun = board.entries.filter(stage_to="thrown").order_by("number").values_list("happened", flat=True).first()
    if weighed[0].stage != "thrown" or (begun and (start - begun).total_seconds() > SOON_H * 3600.0):
        return None
    rows = [Weighed((each.when - start).total_seconds() / 3600.0, each.grams, each.covered) for each in weighed]
    factor = factor_of(rows, form)
    if factor is None:
        return None
    words = f"{len(rows)} weighings of {form.name} over {rows[-1].hours:.0f} h, board {board.code}"
    day = timezone.localdate(weighed[-1].when)
    return Seen(f"drying/{board.code}", factor, words, day, ("board", board.code))


def factor_of(rows: Sequence[Weighed], form: FormFacts) -> float | None:
    """Hours over those of the rough rule, for the furthest of leather-hard and dry that the weights reach; None for neither.

    Weights in between are taken along a straight line in time.
    """
    from wareboard.clay.drying import HOURS_IN_A_DAY, THICKEST_MM, THINNEST_MM, rough_drying
    from wareboard.clay.drying_figures import figure

    hours, grams = np.array([each.hours for each in rows]), np.array([each.grams for each in rows])
    if np.any(np.diff(grams) > 0.01 * grams[0]) or grams[-1] >= grams[0]:
        return None  # another piece, or a bat weighed with it
    dry = _dry_at(hours, grams)
    water_g = grams[0] - (grams[dry] if dry is not None else grams[0] / (1.0 + figure("water as thrown").value))
    within = min(max(form.thickest_wet_mm, THINNEST_MM), THICKEST_MM)
    cover = "light" if np.mean([each.covered for each in rows]) > 0.5 else "open"
    rough = rough_drying(within, cover=cover, flat=form.kind == "plate")
    if dry is not None:
        return float(hours[dry] / (rough.bone_dry_days.value * HOURS_IN_A_DAY))
    gone = (grams[0] - grams) / water_g
    if gone[-1] < LEATHER_HARD_SHARE:
        return None
    reached = float(np.interp(LEATHER_HARD_SHARE, np.maximum.accumulate(gone), hours))
    return reached / rough.leather_hard_h.value if reached > 0.0 else None


def _dry_at(hours: np.ndarray, grams: np.ndarray) -> int | None:
    """The first weighing that another most of a day later agrees with; None where none does."""
    for at in range(1, hours.size):
        later = np.flatnonzero(hours >= hours[at] + DAY_H)
        if later.size and abs(grams[later[0]] - grams[at]) <= DRY_WITHIN * grams[at]:
            return at
    return None
