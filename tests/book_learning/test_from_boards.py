"""What boards tell of each stretch of the making, against counts taken by hand beside each case."""

from __future__ import annotations

from datetime import timedelta

from tests.book_learning.conftest import LONG_AGO, THE_DAY, begin, do, lose, move, whole_way
from wareboard.book.boards import acting
from wareboard.book.boards.asking import Asked
from wareboard.book.learning.from_boards import read_boards, stretch_of, through
from wareboard.book.learning.own import start_of
from wareboard.book.models import Commission
from wareboard.studio.bench.reading import fresh_key

CUP = ("thrown", "handled", "dried", "bisque", "glazed", "fired")
PLATE = ("thrown", "dried", "carried", "bisque", "glazed", "fired")


def told(before=None) -> dict[tuple[str, str], tuple[int, int]]:  # type: ignore[no-untyped-def]
    found = through(read_boards(before or start_of(THE_DAY)))
    return {(each.board.code, each.stretch): (each.started, each.good) for each in found}


def test_a_stage_lies_in_the_stretch_that_the_usual_yields_name() -> None:
    """The labels of the shipped yields: thrown is throwing and trimming, fired the glaze firing with grading."""
    assert [
        stretch_of(stage, "", CUP) for stage in ("thrown", "trimmed", "drying", "bisque", "glazed", "ground")
    ] == list(CUP)
    assert stretch_of("trimmed", "", PLATE) == "dried"
    assert stretch_of("bone dry", "", PLATE) == "carried"
    assert stretch_of("bone dry", "in the kiln", PLATE) == "bisque"
    assert stretch_of("bone dry", "", CUP) == "bisque"
    assert stretch_of("glazed", "in the kiln", CUP) == "fired"
    assert stretch_of("packed", "", CUP) is None


def test_each_loss_counts_in_its_own_stretch_and_what_is_left_goes_on(tea: Commission) -> None:
    """By hand: 20 thrown, 1 lost trimming, 2 in drying, 1 in bisque, 3 after the glaze firing."""
    board = whole_way(tea, 20, {"thrown": 1, "drying": 2, "bisque": 1, "fired": 3})
    assert {stretch: told()[board.code, stretch] for stretch in CUP} == {
        "thrown": (20, 19),
        "handled": (19, 19),
        "dried": (19, 17),
        "bisque": (17, 16),
        "glazed": (16, 16),
        "fired": (16, 13),
    }


def test_what_is_still_on_its_way_says_nothing_yet(tea: Commission) -> None:
    board = begin(tea, 12)
    move(board, "trimmed", 5)
    move(board, "handled", 8)
    lose(board, 2, 20)
    assert told() == {(board.code, "thrown"): (12, 12), (board.code, "handled"): (12, 12)}


def test_a_part_that_goes_ahead_counts_once_and_the_rest_when_it_follows(tea: Commission) -> None:
    """By hand: 10 thrown; 6 moved on to trimmed as a board of their own, of the other 4 one is lost and 3 follow."""
    board = begin(tea, 10)
    ahead = do("move", board, 4, to="trimmed", pieces=6).entry.other
    assert ahead is not None
    assert (board.code, "thrown") not in told()
    lose(board, 1, 5)
    move(board, "trimmed", 6)
    assert told() == {(board.code, "thrown"): (10, 9)}
    move(ahead.code, "handled", 8)
    assert told()[ahead.code, "handled"] == (6, 6)


def test_what_was_lost_before_two_boards_merged_counts_with_the_board_that_goes_on(tea: Commission) -> None:
    """By hand: 10 and 10 drying, one lost of the second, merged to 19, 18 come dry: 18 of 20."""
    one, two = begin(tea, 10, "drying"), begin(tea, 10, "drying")
    lose(two, 1, 10)
    do("merge", one, 20, other=two.code)
    lose(one, 1, 30)
    move(one, "bone dry", 60)
    assert told() == {(one.code, "dried"): (20, 18)}


def test_an_undone_loss_is_no_loss(tea: Commission) -> None:
    board = begin(tea, 10, "drying")
    done = lose(board, 4, 10)
    when = LONG_AGO + timedelta(hours=11)
    acting.act(Asked(fresh_key(), "undo", "Ada", when, undoes=done.entry.key), when)
    move(board, "bone dry", 40)
    assert told() == {(board.code, "dried"): (10, 10)}


def test_what_was_entered_today_waits_until_tomorrow(tea: Commission) -> None:
    board = begin(tea, 10, "drying")
    morning = start_of(THE_DAY) + timedelta(hours=8)
    acting.act(Asked(fresh_key(), "move", "Ada", morning, board=board.code, to="bone dry"), morning)
    assert told() == {}
    assert told(start_of(THE_DAY) + timedelta(days=1)) == {(board.code, "dried"): (10, 10)}
