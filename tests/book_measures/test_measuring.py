"""Measurements: kept once, refused by name, asked about where odd, taken back and put back, never lost."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book_learning.conftest import LONG_AGO
from tests.book_measures.conftest import begin, measured
from wareboard.book.measures.measuring import (
    Reading,
    asked_about,
    last_of,
    measure,
    take_back,
    take_back_sheet,
)
from wareboard.book.measures.models import Measurement, Turn
from wareboard.book.measures.what import KNOWN, WEIGH_IN, WEIGHT
from wareboard.book.models import Commission
from wareboard.errors import NotInTable, OutOfRange, Unreadable, WareboardError


def test_an_entry_sent_twice_is_kept_once(tea: Commission) -> None:
    first = measured(tea, "height", 107.5, key="sent-twice-1")
    again = measured(tea, "height", 99.0, key="sent-twice-1")
    assert (first.already, again.already) == (False, True)
    assert Measurement.objects.get().value == 107.5


def test_who_and_when_are_kept_and_nothing_happens_in_the_future(tea: Commission) -> None:
    ahead = Reading("clock-ahead", WEIGHT, 345.0, "Ada", LONG_AGO + timedelta(hours=1), tea.code, "Cup", "ball")
    kept = measure(ahead, LONG_AGO).measurement
    assert (kept.who, kept.happened) == ("Ada", LONG_AGO)


@pytest.mark.parametrize("value", [-345.0, 0.0, math.nan, math.inf, 200_000.0])
def test_a_weight_that_could_never_be_is_refused_by_name(tea: Commission, value: float) -> None:
    with pytest.raises(OutOfRange, match="weight"):
        measured(tea, WEIGHT, value)
    assert not Measurement.objects.exists()


@pytest.mark.parametrize(
    ("change", "error"),
    [
        ({"form": "Vase"}, NotInTable),
        ({"stage": "glazed twice"}, Unreadable),
        ({"key": "short"}, Unreadable),
        ({"board": "C99"}, NotInTable),
        ({"bucket": 77}, NotInTable),
    ],
)
def test_what_is_not_there_is_refused_by_name(tea: Commission, change: dict[str, object], error: type) -> None:
    with pytest.raises(error):
        measured(tea, "height", 107.0, **change)


def test_a_piece_cannot_lose_weight_by_glazing(tea: Commission) -> None:
    with pytest.raises(OutOfRange, match="glazed ware weighs more"):
        measured(tea, "pick-up", 300.0, before_g=310.0)
    assert measured(tea, "pick-up", 321.5, before_g=310.0).measurement.value == pytest.approx(11.5)


def test_ten_times_the_usual_is_asked_about_and_kept_if_confirmed(tea: Commission) -> None:
    for grams in (343.0, 345.0, 347.0, 344.0, 346.0):
        measured(tea, WEIGHT, grams, stage="ball")
    odd = Reading("ten-times-1", WEIGHT, 3450.0, "Ada", LONG_AGO, tea.code, "Cup", "ball")
    assert "is usual" in asked_about(odd)
    assert not asked_about(replace(odd, value=348.0))
    assert measure(odd, LONG_AGO).measurement.value == 3450.0  # nothing is dropped


def test_the_first_size_is_held_against_the_brief(tea: Commission) -> None:
    first = Reading("first-size-1", "height", 1075.0, "Ada", LONG_AGO, tea.code, "Cup", "thrown")
    assert "decimal place" in asked_about(first)
    assert not asked_about(replace(first, value=108.0))


def test_a_weigh_in_that_grew_is_asked_about(tea: Commission) -> None:
    board = begin(tea, 12)
    measured(tea, WEIGH_IN, 400.0, board=board.code)
    heavier = Reading("heavier-01", WEIGH_IN, 430.0, "Ada", LONG_AGO, board=board.code)
    assert "loses weight" in asked_about(heavier)
    assert not asked_about(replace(heavier, value=380.0))


def test_taken_back_and_put_back_leave_their_turns_behind(tea: Commission) -> None:
    kept = measured(tea, "height", 107.0).measurement
    take_back("undo-key-1", kept.key, stands=False, who="Ben", now=LONG_AGO)
    take_back("undo-key-1", kept.key, stands=False, who="Ben", now=LONG_AGO)
    assert last_of("Ada") is None
    take_back("redo-key-1", kept.key, stands=True, who="Ben", now=LONG_AGO)
    assert last_of("Ada") == kept
    assert list(Turn.objects.order_by("pk").values_list("stands", "who")) == [(False, "Ben"), (True, "Ben")]


def test_a_sheet_is_taken_back_in_one_go(tea: Commission) -> None:
    for piece in range(5):
        measured(tea, "mouth", 95.0 + piece, piece=str(piece), sheet="sheet-one")
    measured(tea, "mouth", 96.0)
    assert take_back_sheet("sheet-one", "Ada", LONG_AGO) == 5
    assert Measurement.objects.filter(stands=True).count() == 1


@settings(deadline=None)
@given(value=st.floats(allow_nan=True, allow_infinity=True), what=st.sampled_from(sorted(KNOWN)))
def test_any_number_is_taken_or_refused_by_name(value: float, what: str) -> None:
    """A reading never breaks anything: it passes, or a sentence says why not."""
    from wareboard.book.measures.measuring import _check

    try:
        _check(Reading("any-number", what, value, "", LONG_AGO, before_g=1.0))
    except WareboardError as problem:
        assert problem.mend
