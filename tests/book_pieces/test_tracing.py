"""Tracing both ways, over parting and merging: a naive walk by hand beside what comes back."""

from __future__ import annotations

import csv
import io
from datetime import date

from tests.book_boards.conftest import do, key, on_board
from tests.book_pieces.conftest import BY, bucket, entered, fired_board, lot
from wareboard.book.boards.models import Board
from wareboard.book.firings.signing import change
from wareboard.book.models import Commission
from wareboard.book.pieces import entering, grading, tracing
from wareboard.book.pieces.models import FIRST


def test_a_piece_leads_to_clay_glaze_board_and_firing_and_each_of_them_back(tea: Commission) -> None:
    board, firing = fired_board(tea)
    clay, white = lot(), bucket()
    entering.made_of([clay], board, BY)
    entering.wears([white], board, BY)
    (piece,) = grading.grade(board, key(), FIRST, BY)
    origin = tracing.origin_of(piece)
    assert origin.clay == (clay,)
    assert origin.batches == (white,)
    assert origin.boards == (board,)
    assert [each.firing for each in origin.firings] == [firing]
    for reach in (
        tracing.from_clay(clay),
        tracing.from_batch(white),
        tracing.from_board(board),
        tracing.from_firing(firing),
    ):
        assert reach.pieces == (piece,)
        assert reach.boards == (board,)
        assert [client for _, client in reach.clients] == ["Invented"]


def test_a_bad_lot_reaches_the_boards_that_were_parted_and_merged(tea: Commission) -> None:
    one, two, apart = (on_board(tea, 6, "thrown") for _ in range(3))
    clay, other = lot("bad"), lot("good")
    entering.made_of([clay], one, BY)
    entering.made_of([other], two, BY)
    parted = do("split", one.code, pieces=2).entry.other
    do("merge", two.code, other=one.code)
    assert parted is not None
    reach = tracing.from_clay(clay)
    assert {each.code for each in reach.boards} == {one.code, two.code, parted.code}
    assert apart not in reach.boards
    do("move", two.code, to="fired")
    (piece,) = grading.grade(Board.objects.get(code=two.code), key(), FIRST, BY)
    assert {each.code for each in tracing.origin_of(piece).clay} == {"bad", "good"}  # which of the two is not known


def test_pieces_parted_before_a_firing_were_not_in_it(tea: Commission) -> None:
    from datetime import timedelta

    from tests.book_boards.conftest import NINE
    from tests.book_pieces.conftest import glaze_firing
    from wareboard.book.firings.loading import load_board
    from wareboard.book.firings.signing import Signed

    board = on_board(tea, 6, "glazed")
    earlier = do("split", board.code, at_h=1, pieces=2).entry.other
    firing = glaze_firing()
    load_board(firing, Board.objects.get(pk=board.pk), Signed("Invented", NINE + timedelta(hours=2)))
    later = do("split", board.code, at_h=3, pieces=1).entry.other
    assert earlier is not None
    assert later is not None
    assert {each.code for each in tracing.from_firing(firing).boards} == {board.code, later.code}


def test_a_piece_that_names_its_own_clay_is_of_that_alone(tea: Commission) -> None:
    board, _ = fired_board(tea)
    theirs, own = lot("theirs"), lot("own")
    entering.made_of([theirs], board, BY)
    (piece,) = grading.grade(board, key(), FIRST, BY)
    entering.made_of([own], piece, BY)
    assert tracing.origin_of(piece).clay == (own,)
    assert tracing.from_clay(theirs).pieces == ()
    assert tracing.from_clay(own).pieces == (piece,)


def test_unticking_a_lot_takes_the_tie_away_and_ticking_it_brings_it_back(tea: Commission) -> None:
    board, _ = fired_board(tea)
    clay = lot()
    for ticked in ([clay], [], [clay]):
        entering.made_of(ticked, board, BY)
        assert len(tracing.from_clay(clay).boards) == len(ticked)


def test_where_nothing_is_known_nothing_is_claimed(tea: Commission) -> None:
    origin = tracing.origin_of(entered(tea, kind="prototype"))
    assert (origin.clay, origin.batches, origin.boards, origin.firings) == ((), (), (), ())


def test_the_csv_names_every_piece_with_client_and_delivery_and_no_formula(tea: Commission) -> None:
    board, firing = fired_board(tea)
    (piece,) = grading.grade(board, key(), FIRST, BY)
    change(piece, {"mark": "=2+2", "delivered": date(2026, 11, 25)}, "Marked", BY)
    rows = list(csv.reader(io.StringIO(tracing.as_csv(tracing.from_board(board)))))
    assert rows[0] == list(tracing.HEAD)
    assert all(len(row) == len(tracing.HEAD) for row in rows)
    assert rows[1][:4] == ["board", board.code, "Cup", "12"]
    assert rows[2][1:6] == [str(piece), "Cup", "1", tea.code, "Invented"]
    assert rows[2][8] == "'=2+2"
    assert rows[2][-1] == "2026-11-25"
    assert f"{firing.kiln.name} {firing.number}" in rows[2]
