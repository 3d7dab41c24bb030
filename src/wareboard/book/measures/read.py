"""Measurements read back: pairs of wet and fired, pick-ups, weigh-ins, the room's air. Nothing that was taken back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import F

from wareboard.book.boards.models import STANDS, Board, Entry
from wareboard.book.boards.stages import ORDER, WRAPPED
from wareboard.book.measures.models import Measurement
from wareboard.book.measures.what import HEIGHT, HUMIDITY, MOUTH, PICK_UP, TEMPERATURE, WEIGH_IN, WIDTH
from wareboard.book.models import Commission

MOST_PAIRS, MOST_PICK_UPS, MOST_WEIGH_INS = 600, 300, 60
WET, FIRED = "thrown", "fired"
# A foot is cut when it is trimmed, so its wet and fired sizes say nothing of shrinkage.
SHRINKS = (HEIGHT, MOUTH, WIDTH)
UNCOVERED_AGAIN = ("wrap", "unwrap", "move")


@dataclass(frozen=True, slots=True)
class WetAndFired:
    """One size of one piece, measured as thrown and fired."""

    fired: Measurement
    wet: Measurement

    @property
    def commission(self) -> Commission:
        assert self.fired.commission is not None
        return self.fired.commission


@dataclass(frozen=True, slots=True)
class WeighIn:
    """One weight of one and the same piece: when, grams, whether it stood covered then, at which stage."""

    when: datetime
    grams: float
    covered: bool
    stage: str


@dataclass(frozen=True, slots=True)
class Climate:
    """The room's air as last measured, with when; None where it never was."""

    temp_c: float | None
    humidity: float | None
    when: datetime | None


def wet_and_fired(before: datetime | None = None) -> Iterator[WetAndFired]:
    """The sizes measured both as thrown and fired on the same piece by its number or mark, the newest fired first.

    Args:
        before: only what was written before this moment.
    """
    rows = Measurement.objects.filter(stands=True, stage=FIRED, what__in=list(SHRINKS)).exclude(piece="")
    rows = rows.filter(written__lt=before) if before else rows
    runs: dict[tuple[int | None, str, str], dict[str, Measurement]] = {}
    for fired in rows.select_related("commission__paper__current").order_by("-id")[:MOST_PAIRS]:
        run = runs.setdefault((fired.commission_id, fired.form, fired.what), {})
        run.setdefault(fired.piece, fired)  # measured again: the later reading counts
    for (commission, form, name), pieces in runs.items():
        found = Measurement.objects.filter(
            stands=True, commission=commission, form=form, what=name, stage=WET, piece__in=list(pieces)
        )
        wet = {each.piece: each for each in found.order_by("id")}
        for piece, fired in pieces.items():
            if piece in wet and 0.0 < fired.value <= wet[piece].value:
                yield WetAndFired(fired, wet[piece])


def pickups(before: datetime | None = None) -> list[Measurement]:
    """The pick-ups of which bucket and area are known, the newest first."""
    rows = Measurement.objects.filter(what=PICK_UP, stands=True, batch__isnull=False, area_mm2__gt=0.0)
    rows = rows.filter(written__lt=before) if before else rows
    return list(rows.select_related("batch__version__recipe").order_by("-happened")[:MOST_PICK_UPS])


def weighings(board: Board) -> list[WeighIn]:
    """The weigh-ins of one piece of a board while it dries, the first first: the piece weighed most often.

    What is weighed on the board's own page is of a piece without a mark; marked pieces are each of their own. Trimming cuts
    clay away and a handle adds some, so that only weights since the last of these are of the same clay.
    """
    drying = [stage for stage in ORDER if ORDER["thrown"] <= ORDER[stage] <= ORDER["bone dry"]]
    by_piece: dict[str, list[WeighIn]] = {}
    own = Entry.objects.filter(board=board, kind="weigh", standing=STANDS, undone_by=None, stage_from__in=drying)
    by_piece[""] = [
        WeighIn(each.happened, float(each.grams), each.state_from == WRAPPED, each.stage_from)
        for each in own.order_by("-number")[:MOST_WEIGH_INS]
        if each.grams
    ]
    found = Measurement.objects.filter(board=board, what=WEIGH_IN, stands=True, stage__in=drying)
    turns = cover_of(board) if found else []
    for row in found.order_by("-happened")[:MOST_WEIGH_INS]:
        covered = covered_at(row.happened, turns, board)
        by_piece.setdefault(row.piece, []).append(WeighIn(row.happened, row.value, covered, row.stage))
    most = max(by_piece.values(), key=len)
    rows = sorted(most, key=lambda each: each.when)
    worked = _worked(board) if rows else set()
    return [each for each in rows if _clay_of(each.stage, worked) == _clay_of(rows[-1].stage, worked)]


def weigh_ins_of(boards: Mapping[int, Board], before: datetime) -> dict[int, list[WeighIn]]:
    """By the key of a board, the weigh-ins of its most weighed marked piece while it was wet, the first first.

    Args:
        boards: by key; before: only what was written before this moment.
    """
    rows = Measurement.objects.filter(board__in=list(boards), what=WEIGH_IN, stands=True, written__lt=before)
    by_piece: dict[tuple[int, str], list[Measurement]] = {}
    for row in rows.order_by("board", "what", "happened"):
        if row.board_id is not None and ORDER["thrown"] <= ORDER[row.stage] <= ORDER["bone dry"]:
            by_piece.setdefault((row.board_id, row.piece), []).append(row)
    most: dict[int, list[Measurement]] = {}
    for (pk, _), found in by_piece.items():
        if len(found) > len(most.get(pk, ())):
            most[pk] = found
    told: dict[int, list[WeighIn]] = {}
    for pk, found in most.items():
        turns = cover_of(boards[pk])
        covers = [covered_at(row.happened, turns, boards[pk]) for row in found]
        told[pk] = [WeighIn(r.happened, r.value, c, r.stage) for r, c in zip(found, covers, strict=True)]
    return told


def cover_of(board: Board) -> list[tuple[datetime, bool, bool]]:
    """When the cover of a board changed: the moment, whether it was covered before, and after; the first first."""
    changed = Entry.objects.filter(board=board, standing=STANDS).exclude(state_from=F("state_to")).order_by("number")
    return [
        (each.happened, each.state_from == WRAPPED, each.state_to == WRAPPED)
        for each in changed
        if (each.state_from == WRAPPED) != (each.state_to == WRAPPED)
    ]


def covered_at(when: datetime, turns: list[tuple[datetime, bool, bool]], board: Board) -> bool:
    """Whether a board stood covered at a moment, by the changes of its cover."""
    past = [after for moment, _, after in turns if moment <= when]
    if past:
        return past[-1]
    return turns[0][1] if turns else board.state == WRAPPED


def _clay_of(stage: str, worked: set[str]) -> str:
    """The last work that changed a piece's clay, up to a stage, on the way that the board went."""
    worked = worked | {stage}
    cut = [each for each in ("trimmed", "handled") if each in worked and ORDER[each] <= ORDER[stage]]
    return cut[-1] if cut else ""


def _worked(board: Board) -> set[str]:
    found = Entry.objects.filter(board=board, stage_to__in=["trimmed", "handled"], standing=STANDS, undone_by=None)
    return set(found.values_list("stage_to", flat=True))


def climate(at: datetime, within: timedelta = timedelta(days=3)) -> Climate:
    """The room's air as last measured before a moment; a reading older than ``within`` says nothing of now."""
    values: dict[str, float] = {}
    when: datetime | None = None
    for name in (TEMPERATURE, HUMIDITY):
        row = (
            Measurement.objects.filter(what=name, stands=True, happened__lte=at, happened__gte=at - within)
            .order_by("-happened")
            .first()
        )
        if row is not None:
            values[name] = row.value
            when = max(when, row.happened) if when else row.happened
    return Climate(values.get(TEMPERATURE), values.get(HUMIDITY), when)
