"""Keeping measurements: each once by its key, asked about where it is odd, taken back and put back, never changed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction

from wareboard.book.boards.asking import KEY
from wareboard.book.boards.codes import read_code
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import STAGES
from wareboard.book.glazes.models import GlazeBatch
from wareboard.book.learning.briefs import facts_of
from wareboard.book.measures.models import Measurement, Turn
from wareboard.book.measures.what import DENSITY, HEIGHT, MOUTH, PICK_UP, SIZES, WEIGH_IN, WEIGHT, What, what
from wareboard.book.models import Commission
from wareboard.errors import NotInTable, OutOfRange, Unreadable, WareboardError

if TYPE_CHECKING:
    from wareboard.book.reckoning.learned import Prior

MOST_LOOKED_AT = 60
# A size at any stage lies between the fired size and what it was wet; a quarter more room on either side for the hand.
LEAST_SHARE, MOST_SHARE, USUAL_SHARE = 0.85, 1.35, 1.07
WEIGHED_WET = ("ball", "thrown")
SPREAD_BEFORE = 0.25  # common practice: balls of one form lie well within a quarter of the weight planned


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading as it was made; ``value`` in the base unit. Of a pick-up, ``value`` is the weight after."""

    key: str
    what: str
    value: float
    who: str
    happened: datetime
    commission: str = ""
    form: str = ""
    stage: str = ""
    board: str = ""
    piece: str = ""
    before_g: float | None = None
    dwell_s: float | None = None
    gravity: float | None = None
    area_mm2: float | None = None
    bucket: int | None = None
    place: str = ""
    note: str = ""
    sheet: str = ""


@dataclass(frozen=True, slots=True)
class Kept:
    """The measurement as it is kept, and whether it was there already from an earlier sending."""

    measurement: Measurement
    already: bool = False


def measure(reading: Reading, now: datetime) -> Kept:
    """The measurement, kept once by its key.

    Args:
        now: this moment by the studio's clock; nothing happens later.
    Raises:
        Unreadable, OutOfRange, NotInTable: for what could never be right, by name.
    """
    there = Measurement.objects.filter(key=reading.key).first()
    if there is not None:
        return Kept(there, already=True)
    made = _made(reading, now)
    try:
        with transaction.atomic():
            made.save()
    except IntegrityError:
        found = Measurement.objects.filter(key=reading.key).first()
        if found is None:
            raise
        return Kept(found, already=True)
    return Kept(made)


def _made(reading: Reading, now: datetime) -> Measurement:
    known = _check(reading)
    board = _board(reading.board)
    commission, form, stage = _of(reading, known, board)
    batch = None
    if reading.bucket is not None:
        batch = GlazeBatch.objects.filter(number=reading.bucket).first()
        if batch is None:
            raise NotInTable(f"bucket {reading.bucket}", "there is none of that number", "Look it up under Glazes")
    return Measurement(
        key=reading.key,
        what=known.name,
        commission=commission,
        form=form,
        stage=stage,
        board=board,
        piece=" ".join(reading.piece.split())[:20],
        value=reading.value - (reading.before_g or 0.0) if known.name == PICK_UP else reading.value,
        before_g=reading.before_g,
        dwell_s=reading.dwell_s,
        gravity=reading.gravity,
        area_mm2=reading.area_mm2,
        batch=batch,
        place=reading.place.strip()[:40],
        note=" ".join(reading.note.split())[:200],
        sheet=reading.sheet[:40],
        who=reading.who[:80],
        happened=min(reading.happened, now),
        written=now,
    )


def _check(reading: Reading) -> What:
    """Refuse what could never be right, whatever it is of."""
    if not KEY.fullmatch(reading.key):
        raise Unreadable(
            "the measurement has no key of its own", "without one a double tap counts twice", "Load the page again"
        )
    known = what(reading.what)
    _within(reading.value, known.words.lower(), known.least, known.most, known.unit, open_end=known.least == 0.0)
    if known.name == PICK_UP:
        before = reading.before_g
        if before is None:
            raise Unreadable(
                "a pick-up without the weight before", "nothing can be taken off", "Weigh the dry piece first"
            )
        _within(before, "weight before", 0.0, known.most, "g", open_end=True)
        if reading.value <= before:
            raise OutOfRange(
                f"{reading.value:g} g after, {before:g} g before",
                "glazed ware weighs more than bare ware",
                "See whether the two stand in each other's place",
            )
    if reading.dwell_s is not None:
        _within(reading.dwell_s, "dwell", 0.0, 600.0, "s", open_end=True)
    if reading.gravity is not None:
        _within(reading.gravity, "slip density", 0.9, 3.0, "g/ml")
    if reading.area_mm2 is not None:
        _within(reading.area_mm2, "glazed area", 0.0, 1_000_000.0, "mm2", open_end=True)
    return known


def _within(value: float, words: str, least: float, most: float, unit: str, open_end: bool = False) -> None:
    inside = math.isfinite(value) and least <= value <= most and not (open_end and value == least)
    if not inside:
        span = f"above {least:g}" if open_end else f"from {least:g}"
        raise OutOfRange(
            f"{words}: {value:,.10g} {unit}".rstrip(),
            f"it must lie {span} up to {most:,.10g}",
            "Zero the scale or the gauge, and measure again",
        )


def _board(code: str) -> Board | None:
    if not code.strip():
        return None
    plain = read_code(code)
    board = Board.objects.select_related("commission__paper__current").filter(code=plain).first()
    if board is None:
        raise NotInTable(f"board {plain}", "there is no board of that code", "Look it up on the bench page")
    return board


def _of(reading: Reading, known: What, board: Board | None) -> tuple[Commission | None, str, str]:
    """Commission, form and stage that a reading is of; all empty for slip and air."""
    if not known.of_a_form and known.name != PICK_UP:
        return None, "", ""
    stage = reading.stage or (board.stage if board else "")
    if known.name == PICK_UP:
        stage = stage or "glazed"
    if board is not None:
        commission, form = board.commission, board.form
    else:
        found = Commission.objects.select_related("paper__current").filter(code=reading.commission[:12]).first()
        if found is None:
            if known.name == PICK_UP:  # a shard of nobody's
                return None, reading.form.strip()[:80], stage
            raise NotInTable("a measurement of no commission", "nothing says whose it is", "Choose the form first")
        commission, form = found, reading.form.strip()[:80]
        names = facts_of(commission).forms
        if form not in names and not Board.objects.filter(commission=commission, form=form).exists():
            raise NotInTable(f"form {form!r}", f"{commission.name} has none of that name", "Choose the form first")
    if stage not in STAGES:
        raise Unreadable(f"stage {stage[:20]!r}", "it is none of the making", f"Choose from {', '.join(STAGES)}")
    if known.name == WEIGH_IN and board is None:
        raise Unreadable("a weigh-in without a board", "nothing says what dries", "Begin at the board's page")
    return commission, form, stage


def asked_about(reading: Reading, ball_g: float | None = None) -> str:
    """The question to put before the reading is kept, or nothing where it is usual. It is never refused for being odd.

    Args:
        ball_g: the form's ball by its plan, for a first weight that nothing was weighed before.
    """
    from wareboard.book.reckoning.odd_entry import look_at

    try:
        known = _check(reading)
        board = _board(reading.board)
        commission, form, stage = _of(reading, known, board)
        value = reading.value - (reading.before_g or 0.0) if known.name == PICK_UP else reading.value
        if known.name == WEIGH_IN and board is not None:
            return _odd_weigh_in(board, reading)
        records = _alike(known, commission, form, stage)
        before = ball_of_plan(ball_g, stage) if known.name == WEIGHT else _planned(known, commission, form)
        if value <= 0.0 or known.unit in ("", "°C"):
            return ""
        look = look_at(known.words.lower(), value, records, known.unit, before)
    except WareboardError:
        return ""
    return look.words if look.odd else ""


def _alike(known: What, commission: Commission | None, form: str, stage: str) -> list[float]:
    """The latest readings of the same thing."""
    rows = Measurement.objects.filter(what=known.name, stands=True)
    if known.name in (DENSITY, PICK_UP):
        rows = rows.order_by("-happened")
    else:
        rows = rows.filter(commission=commission, form=form, stage=stage).order_by("-id")
    return list(rows.values_list("value", flat=True)[:MOST_LOOKED_AT])


def ball_of_plan(ball_g: float | None, stage: str) -> Prior | None:
    """What a ball of the plan lets one expect of a weight, g; None once it was trimmed, or where there is no plan."""
    from wareboard.book.reckoning.learned import Prior

    if not ball_g or stage not in WEIGHED_WET:
        return None
    return Prior(
        ball_g, ball_g * (1 - SPREAD_BEFORE), ball_g * (1 + SPREAD_BEFORE), "derived", "the ball of the plan", "g"
    )


def _planned(known: What, commission: Commission | None, form: str) -> Prior | None:
    """What the brief's fired size lets one expect at any stage; None where it says nothing of this."""
    from wareboard.book.reckoning.learned import Prior

    if commission is None or known.name not in SIZES:
        return None
    brief = facts_of(commission).brief
    found = next((each for each in brief.forms if each.name == form), None) if brief else None
    if found is None:
        return None
    size = {HEIGHT: found.height, MOUTH: found.rim}.get(known.name, found.foot if known.name == "foot" else found.belly)
    if size is None:
        return None
    return Prior(size * USUAL_SHARE, size * LEAST_SHARE, size * MOST_SHARE, "given", "the size in the brief", "mm")


def _odd_weigh_in(board: Board, reading: Reading) -> str:
    """Ware that dries loses weight, and never more than its water: anything else is asked about."""
    last = (
        Measurement.objects.filter(board=board, what=WEIGH_IN, piece=reading.piece, stands=True)
        .order_by("-happened")
        .first()
    )
    if last is None or 0.7 * last.value <= reading.value <= last.value * 1.01:
        return ""
    return (
        f"{reading.value:,.10g} g where this piece weighed {last.value:,.10g} g before: drying ware loses weight, "
        "and at most its water. Is it the same piece, without bat and cover?"
    )


def take_back(key: str, of: str, stands: bool, who: str, now: datetime) -> Measurement:
    """The measurement of key ``of`` taken back or, with ``stands``, put back; once by its own key.

    Raises:
        NotInTable: if there is none.
    """
    with transaction.atomic():
        held = Measurement.objects.select_for_update().filter(key=of).first()
        if held is None:
            raise NotInTable("the measurement to take back", "there is none of that key", "Load the page again")
        _turn(held, key, stands, who, now)
    return held


def _turn(held: Measurement, key: str, stands: bool, who: str, now: datetime) -> None:
    if held.stands == stands or Turn.objects.filter(key=key).exists():
        return
    Turn.objects.create(key=key[:40], measurement=held, stands=stands, who=who[:80], written=now)
    held.stands = stands
    held.save(update_fields=["stands"])


def how_many_of_sheet(sheet: str) -> int:
    """How many measurements were kept from a sheet."""
    return Measurement.objects.filter(sheet=sheet).count() if sheet else 0


def take_back_sheet(sheet: str, who: str, now: datetime) -> int:
    """How many measurements of a sheet were taken back."""
    with transaction.atomic():
        rows = list(Measurement.objects.select_for_update().filter(sheet=sheet, stands=True).order_by("-pk"))
        for row in rows:
            _turn(row, f"{sheet[:24]}:m:{row.pk}", stands=False, who=who, now=now)
    return len(rows)


def last_of(who: str) -> Measurement | None:
    """The latest measurement of a person that stands: what undo would take back."""
    return Measurement.objects.filter(who=who).order_by("-id").filter(stands=True).first()
