"""Grading: what is no first leaves the board, counts once, and comes back when it is undone."""

from __future__ import annotations

import pytest

from tests.book_boards.conftest import do, key, on_board
from tests.book_pieces.conftest import BY, fired_board
from wareboard import reference
from wareboard.book.boards.models import Board, Entry
from wareboard.book.models import Commission
from wareboard.book.pieces import grading
from wareboard.book.pieces.models import FAILED, FIRST, SECOND, Piece
from wareboard.errors import OutOfRange, Unreadable


def now_on(board: Board) -> int:
    return Board.objects.get(pk=board.pk).pieces


def test_firsts_stay_on_the_board_and_the_rest_leaves_it(board: Board) -> None:
    grading.grade(board, key(), FIRST, BY, count=8)
    grading.grade(board, key(), SECOND, BY, "pinholes")
    grading.grade(board, key(), FAILED, BY, "crazed", "rim")
    assert now_on(board) == 10
    assert grading.to_grade(Board.objects.get(pk=board.pk)) == 2
    found = grading.graded(Piece.objects.filter(board=board))
    assert (found.firsts, found.seconds, found.failed, found.all) == (8, 1, 1, 10)
    lost = Entry.objects.filter(board=board, kind="lose").values_list("reason", "place")
    assert set(lost) == {("pinholes", ""), ("crazed", "rim")}


def test_pieces_are_numbered_within_the_commission_and_know_firing_and_shelf(tea: Commission) -> None:
    board, firing = fired_board(tea, shelf="3 left")
    made = grading.grade(board, key(), FIRST, BY, count=2)
    assert [each.number for each in made] == [1, 2]
    assert {(each.firing, each.shelf, each.form) for each in made} == {(firing, "3 left", "Cup")}


def test_a_double_tap_counts_once(board: Board) -> None:
    same = key()
    first = grading.grade(board, same, FAILED, BY, "crazed")
    again = grading.grade(board, same, FAILED, BY, "crazed")
    assert first == again
    assert now_on(board) == 11


def test_undo_puts_the_piece_back_on_its_board(board: Board) -> None:
    grading.grade(board, key(), FAILED, BY, "crazed", count=3)
    assert now_on(board) == 9
    grading.take_back(grading.last_graded(board), BY)
    assert now_on(board) == 12
    assert not grading.last_graded(board)
    assert Piece.objects.filter(put_away=None).count() == 0


def test_a_grading_can_be_undone_after_the_piece_was_measured(board: Board) -> None:
    from wareboard.book.firings.signing import change

    (piece,) = grading.grade(board, key(), FAILED, BY, "crazed")
    change(piece, {"height_mm": 94.0}, "Measured", BY)
    grading.take_back([piece], BY)
    assert now_on(board) == 12
    assert Piece.objects.get().put_away is not None


def test_enough_counts_no_second_among_the_good(tea: Commission) -> None:
    from dataclasses import replace

    from wareboard.book.boards.enough import Group, will_there_be

    board, _ = fired_board(tea, 24)
    group = Group("fired", 24, 1.0)
    assert will_there_be([group], 24, 0.8, 0.05, 0.9).more == 0
    grading.grade(board, key(), SECOND, BY, "pale or dark")
    assert will_there_be([replace(group, pieces=now_on(board))], 24, 0.8, 0.05, 0.9).more >= 1


def test_no_more_are_graded_than_stand_there(board: Board) -> None:
    grading.grade(board, key(), FIRST, BY, count=12)
    with pytest.raises(OutOfRange, match="0 are left"):
        grading.grade(board, key(), FAILED, BY, "crazed")


def test_a_grade_needs_a_reason_and_a_board_that_is_fired(tea: Commission, board: Board) -> None:
    with pytest.raises(Unreadable, match="without a reason"):
        grading.grade(board, key(), SECOND, BY)
    with pytest.raises(Unreadable, match="is a first, a second or failed"):
        grading.grade(board, key(), "third", BY, "crazed")
    with pytest.raises(OutOfRange, match="when they are fired"):
        grading.grade(on_board(tea, 4, "glazed"), key(), FIRST, BY)
    with pytest.raises(OutOfRange, match="at once"):
        grading.grade(board, key(), FIRST, BY, count=0)


@pytest.mark.parametrize("fault", ["crazed", "chipped", "leaks", "handle crack", "dunted", "shivered"])
def test_what_spoils_use_is_never_a_second(board: Board, fault: str) -> None:
    """Source: common practice, that a fault of function is broken up and a fault of looks may be sold as a second."""
    with pytest.raises(OutOfRange, match="broken up"):
        grading.grade(board, key(), SECOND, BY, fault)


def test_a_loss_that_was_taken_back_at_the_bench_is_not_given_back_twice(board: Board) -> None:
    (piece,) = grading.grade(board, key(), FAILED, BY, "crazed")
    do("undo", "", undoes=piece.loss)
    before = now_on(board)
    grading.take_back([piece], BY)  # the loss was taken back already: it is not given back twice
    assert now_on(board) == before == 12


def test_every_fault_has_what_to_look_at_and_a_word_that_fits_an_entry() -> None:
    found = grading.faults()
    assert len(found) == len(reference.rows("book/faults")) == 16
    assert len({each.name for each in found}) == 16
    for each in found:
        assert 0 < len(each.name) <= 30
        assert each.first_checks
        assert each.born
        assert each.seen
        assert each.source == "common-practice"
