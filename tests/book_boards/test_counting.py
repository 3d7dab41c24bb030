"""How a commission stands, from its boards."""

from __future__ import annotations

from datetime import timedelta

from tests.book_boards.conftest import NINE, do, on_board
from wareboard.book.boards.counting import boards_of, standing_of
from wareboard.book.boards.course import course_of
from wareboard.book.models import Commission
from wareboard.plan import compile
from wareboard.plan.reading import read_brief
from wareboard.plan.workshop import Workshop


def stand(tea: Commission):  # type: ignore[no-untyped-def]
    assert tea.paper.current is not None
    shop = Workshop(today=NINE.date())
    plan = compile(read_brief(tea.paper.current.text, shop), shop, seconds=0.05)
    return standing_of(course_of(plan), boards_of([tea]), NINE)[0]


def test_pieces_are_counted_by_stage_and_the_answer_follows_the_losses(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    on_board(tea, 10, "bone dry")
    before = stand(tea)
    assert before.rows == [("thrown", 24), ("bone dry", 10)]
    assert before.course == "on course"
    do("lose", "C1", pieces=10, reason="cracked")
    after = stand(tea)
    assert after.on_boards == 24
    assert after.enough.chance < 0.5 < before.enough.chance
    assert (after.course, after.enough.more > 3) == ("short", True)


def test_a_piece_lost_late_costs_a_whole_round_of_making(tea: Commission) -> None:
    on_board(tea, 26, "glazed")
    before = stand(tea)
    do("lose", "C1", pieces=4, reason="knocked")
    after = stand(tea)
    assert before.packed is not None
    assert after.packed is not None
    assert after.enough.more >= 2
    assert after.packed.value - before.packed.value > timedelta(
        days=7
    )  # what is thrown now must dry and be fired twice


def test_enough_that_are_packed_are_enough(tea: Commission) -> None:
    on_board(tea, 24, "packed")
    found = stand(tea)
    assert (found.enough.chance, found.enough.more, found.enough.done, found.course) == (1.0, 0, 24, "on course")


def test_boards_come_in_the_order_of_the_making_and_empty_ones_do_not_show(tea: Commission) -> None:
    on_board(tea, 3, "fired")
    on_board(tea, 3, "ball")
    on_board(tea, 3, "thrown")
    do("merge", "C2", other="C3")  # waits: they stand at different stages
    do("move", "C2", to="thrown")
    do("merge", "C2", other="C3")
    assert [board.code for board in boards_of([tea])] == ["C2", "C1"]
