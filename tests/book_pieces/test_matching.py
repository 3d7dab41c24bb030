"""The best-matched set against every choice tried one by one, and what is short against the form's standing."""

from __future__ import annotations

from datetime import UTC, date, datetime
from itertools import combinations

import numpy as np
import pytest

from tests.book_pieces.conftest import entered
from wareboard.book.boards.ahead import Packed
from wareboard.book.boards.counting import FormStanding
from wareboard.book.boards.enough import Group, will_there_be
from wareboard.book.models import Commission
from wareboard.book.pieces import matching
from wareboard.errors import OutOfRange

JUST_SEEN = {
    "height_mm": 2.0,
    "width_mm": 2.0,
    "weight_g": 15.0,
    "colour_l": 2.0,
    "colour_a": 2.0,
    "colour_b": 2.0,
}


def test_the_set_is_no_more_unlike_than_the_best_of_all_choices(tea: Commission) -> None:
    """Second, naive way: every choice of five of nine, by its two most unlike."""
    made = np.random.default_rng(7)
    pieces = [entered(tea, height_mm=float(made.normal(94, 2)), width_mm=float(made.normal(84, 1.5))) for _ in range(9)]
    rows = np.array([[each.height_mm / 2.0, each.width_mm / 2.0] for each in pieces])
    best = min(
        max(float(np.linalg.norm(rows[a] - rows[b])) for a, b in combinations(those, 2))
        for those in combinations(range(9), 5)
    )
    found = matching.match(pieces, 5, JUST_SEEN)
    assert found.found is not None
    assert found.found.proved
    assert found.found.unlike == pytest.approx(best, abs=1e-6)
    assert len(found.chosen) == 5
    assert {each.piece for each in found.left_out} == set(pieces) - set(found.chosen)


def test_the_tall_one_is_left_out_because_it_is_taller(tea: Commission) -> None:
    pieces = [entered(tea, height_mm=height) for height in (94.0, 94.5, 95.0, 102.0)]
    found = matching.match(pieces, 3, JUST_SEEN)
    assert found.chosen == tuple(pieces[:3])
    assert found.left_out[0].why == "7.5 mm taller than the middle of the set"


def test_a_piece_not_measured_is_left_out_and_said_so(tea: Commission) -> None:
    pieces = [entered(tea, height_mm=94.0), entered(tea, height_mm=95.0), entered(tea)]
    found = matching.match(pieces, 2, JUST_SEEN)
    assert [each.why for each in found.left_out] == ["not measured"]


def test_without_measures_there_is_no_set(tea: Commission) -> None:
    found = matching.match([entered(tea), entered(tea)], 2, JUST_SEEN)
    assert found.found is None
    assert found.measured == ()
    with pytest.raises(OutOfRange):
        matching.match([entered(tea)], 0, JUST_SEEN)


def _standing(pieces: int, packed: date) -> FormStanding:
    enough = will_there_be([Group("ground", pieces, 1.0)], 24, 0.8, 0.05, 0.9)
    when = datetime(packed.year, packed.month, packed.day, 12, tzinfo=UTC)
    return FormStanding("Cup", 24, {"ground": pieces}, enough, Packed(when, when, when), "short")


def test_what_is_short_is_thrown_again_in_time_and_the_client_told(tea: Commission) -> None:
    now = datetime(2026, 11, 25, 9, tzinfo=UTC)
    plan = matching.make_up(_standing(22, date(2026, 12, 20)), 22, date(2027, 1, 10), now)
    assert plan is not None
    assert plan.short == 2
    assert plan.throw >= 2
    assert plan.begin_by == date(2026, 12, 16)  # 25 days from begun to packed, counted back from the due date
    words = matching.message(plan, "Invented", "Cups")
    assert "22 are in hand" in words
    assert "10 January 2027, stands" in words
    late = matching.make_up(_standing(22, date(2027, 1, 20)), 22, date(2027, 1, 10), now)
    assert late is not None
    assert "20 January 2027" in matching.message(late, "", "")


def test_where_there_are_enough_nothing_is_made_up() -> None:
    now = datetime(2026, 11, 25, 9, tzinfo=UTC)
    assert matching.make_up(_standing(24, date(2026, 12, 20)), 24, date(2027, 1, 10), now) is None
