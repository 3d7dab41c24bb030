"""A board's drying by weighing one of its pieces. That the reckoning behind it is right is tested with the clay itself."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest

from tests.book_learning.conftest import LONG_AGO
from tests.book_measures.conftest import begin, measured
from wareboard.book.boards import acting
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import Board
from wareboard.book.measures.by_weight import _piece, _spells, by_weight
from wareboard.book.measures.read import weighings
from wareboard.book.models import Commission
from wareboard.clay.drying_belief import figures_of, usual_belief
from wareboard.clay.drying_course import curves
from wareboard.clay.drying_figures import figure
from wareboard.studio.bench.reading import fresh_key

LATER = LONG_AGO + timedelta(days=30)


def _act(kind: str, board: Board, at_h: float, **more: object) -> Board:
    when = LONG_AGO + timedelta(hours=at_h)
    acting.act(Asked(fresh_key(), kind, "Ada", when, board=board.code, **more), when)  # type: ignore[arg-type]
    return Board.objects.get(pk=board.pk)


def _weigh(board: Board, at_h: float, grams: float) -> None:
    measured(None, "weigh-in", grams, at_h=at_h, board=board.code, piece="1", stage="")


def _hours(when: datetime) -> float:
    return (when - LONG_AGO).total_seconds() / 3600.0


def test_one_weight_says_nothing_yet(tea: Commission) -> None:
    board = begin(tea, 12)
    _weigh(board, 0.5, 480.0)
    assert by_weight(board, LATER) is None


def test_weights_along_a_course_of_drying_foretell_that_course(tea: Commission) -> None:
    """A cup that dries a third faster than usual, weighed three times: trimming and bone dry lie within the ranges."""
    board = begin(tea, 12)
    water = figure("water as thrown")
    form = _form_of(tea)
    piece, spells = _piece(form, board, 480.0, water), _spells(board, LONG_AGO, LONG_AGO)
    belief = usual_belief(piece, spells[0], start=water)
    figures = belief.best.copy()
    figures[0] += np.log(1.33)
    course = curves(piece, spells, figures_of(figures[None, :]))
    for at_h in (0.0, 6.0, 14.0):
        _weigh(board, at_h, round(float(course.weight_g(np.array([[at_h]]))[0]), 1))
    found = by_weight(board, LATER)
    assert found is not None
    dry_h, trim_h = float(course.bone_dry()[0]), float(course.mean_until(0.20)[0])
    assert _hours(found.bone_dry.low) <= dry_h <= _hours(found.bone_dry.high)
    assert _hours(found.trim.low) <= trim_h <= _hours(found.trim.high)
    assert _hours(found.trim.value) == pytest.approx(trim_h, rel=0.1)
    assert found.dry_g.value == pytest.approx(piece.dry_g, rel=0.06)
    assert found.join_words  # it has a handle


def _form_of(commission: Commission):  # type: ignore[no-untyped-def]
    from wareboard.book.learning.briefs import facts_of

    brief = facts_of(commission).brief
    assert brief is not None
    return brief.forms[0]


def test_cover_taken_off_is_a_spell_of_its_own_and_dries_faster(tea: Commission) -> None:
    slow = _act("wrap", begin(tea, 12), 0.1)
    quick = _act("unwrap", _act("wrap", begin(tea, 12), 0.1), 10.0)
    for board in (slow, quick):
        for at_h, grams in ((0.0, 480.0), (9.0, 470.0)):
            _weigh(board, at_h, grams)
    assert [each.cover for each in _spells(quick, LONG_AGO, LATER)] == ["open", "light", "open"]
    first, second = by_weight(slow, LATER), by_weight(quick, LATER)
    assert first is not None
    assert second is not None
    assert second.bone_dry.value < first.bone_dry.value


def test_trimming_cuts_clay_away_and_so_begins_the_weights_anew(tea: Commission) -> None:
    board = begin(tea, 12)
    _weigh(board, 0.0, 480.0)
    _weigh(board, 10.0, 460.0)
    board = _act("move", board, 12.0, to="trimmed")
    _weigh(board, 12.5, 400.0)
    _weigh(board, 30.0, 380.0)
    assert [each.grams for each in weighings(board)] == [400.0, 380.0]


def test_dry_enough_is_told_by_two_weights_a_day_apart_of_ware_that_stands_open(tea: Commission) -> None:
    """Common practice: less than 0.5 % of the weight lost in 24 h."""
    board = _act("move", begin(tea, 12), 1.0, to="drying")
    board = _act("unwrap", board, 2.0)
    for at_h, grams in ((100.0, 400.0), (200.0, 380.6), (224.0, 380.2)):
        _weigh(board, at_h, grams)
    found = by_weight(board, LATER)
    assert found is not None
    assert found.enough is not None
    assert found.enough.verdict == "dry enough"


def test_weights_that_rise_and_forms_of_unknown_size_give_no_promise(tea: Commission) -> None:
    board = begin(tea, 12)
    _weigh(board, 0.0, 400.0)
    _weigh(board, 9.0, 480.0)
    assert by_weight(board, LATER) is None
