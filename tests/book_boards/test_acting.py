"""Boards move, split, merge, lose and gain; entries are kept once, signed, and taken back by another entry."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.book_boards.conftest import NINE, asked, do, key, on_board
from wareboard.book.boards import acting, history
from wareboard.book.boards.models import Board, Entry
from wareboard.book.models import Commission
from wareboard.errors import NotInTable, OutOfRange, Unreadable


def now_on(code: str) -> tuple[str, int, str]:
    board = Board.objects.get(code=code)
    return board.stage, board.pieces, board.state


def test_a_board_is_begun_with_a_code_to_scratch_and_moves_on(tea: Commission) -> None:
    board = on_board(tea, 24, "thrown")
    assert board.code == "C1"
    assert on_board(tea, 6, "thrown", form="Öil jug").code == "L1"  # an O would be read as a nought, an I as a one
    do("move", "C1", to="trimmed", stage_seen="thrown", at_h=20)
    assert now_on("C1") == ("trimmed", 24, "")
    entry = Entry.objects.get(kind="move")
    assert (entry.who, entry.stage_from, entry.stage_to, entry.number) == ("Invented", "thrown", "trimmed", 2)
    assert Board.objects.get(code="C1").since == NINE + timedelta(hours=20)


def test_what_is_set_to_dry_is_wrapped_and_can_be_unwrapped_and_turned(tea: Commission) -> None:
    on_board(tea, 24, "trimmed")
    do("move", "C1", to="drying")
    assert now_on("C1") == ("drying", 24, "wrapped")
    do("unwrap", "C1", at_h=16)
    turned = do("turn", "C1", at_h=30)
    assert now_on("C1")[2] == ""
    assert Board.objects.get(code="C1").turned == NINE + timedelta(hours=30)
    do("undo", "C1", undoes=turned.entry.key)
    assert Board.objects.get(code="C1").turned is None


def test_a_double_tap_counts_once(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    one = asked("lose", "C1", pieces=1, reason="cracked")
    first, second = acting.act(one, NINE), acting.act(one, NINE)
    assert not first.already
    assert second.already
    assert now_on("C1")[1] == 23
    assert Entry.objects.filter(kind="lose").count() == 1


def test_a_split_and_a_merge_keep_every_piece(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    fresh = do("split", "C1", pieces=10, to="trimmed").entry.other
    assert fresh is not None
    assert (now_on("C1")[1], now_on("C2")) == (14, ("trimmed", 10, ""))
    merged = do("merge", "C1", other="C2")
    assert merged.waits  # they stand at different stages
    do("move", "C1", to="trimmed")
    do("merge", "C1", other="C2")
    assert (now_on("C1")[1], now_on("C2")[1]) == (24, 0)
    assert len(history.entries_of(fresh)) == 3  # split off, the merge that waits, the merge


def test_moving_a_part_of_a_board_leaves_the_rest_where_it_is(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    do("move", "C1", to="trimmed", pieces=20)
    assert (now_on("C1"), now_on("C2")) == (("thrown", 4, ""), ("trimmed", 20, ""))


def test_the_second_of_two_who_move_one_board_is_told_and_nothing_is_lost(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    do("move", "C1", to="trimmed", stage_seen="thrown")
    late = do("move", "C1", to="drying", stage_seen="thrown", who="Other")
    assert late.waits
    assert "C1 is at trimmed now, moved by Invented" in late.entry.trouble
    assert now_on("C1")[0] == "trimmed"
    assert list(history.waiting()) == [late.entry]
    acting.settle(late.entry, do_it=True, who="Other", now=NINE)
    assert now_on("C1")[0] == "drying"
    assert not history.waiting().exists()
    assert Entry.objects.get(pk=late.entry.pk).standing == "let go"


def test_two_who_make_the_same_move_are_of_one_mind(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    do("move", "C1", to="trimmed", stage_seen="thrown")
    again = do("move", "C1", to="trimmed", stage_seen="thrown", who="Other")
    assert not again.waits
    assert (again.entry.stage_from, again.entry.stage_to) == ("trimmed", "trimmed")


def test_more_lost_than_there_are_waits_until_it_is_settled(tea: Commission) -> None:
    on_board(tea, 2, "fired")
    late = do("lose", "C1", pieces=3, reason="stuck", place="top shelf")
    assert late.waits
    with pytest.raises(acting.NoLonger, match="C1 cannot be changed"):
        acting.settle(late.entry, do_it=True, who="", now=NINE)
    assert history.waiting().count() == 1  # the settling failed whole
    acting.settle(late.entry, do_it=False, who="", now=NINE)
    assert now_on("C1")[1] == 2
    assert Entry.objects.get(pk=late.entry.pk).place == "top shelf"


def test_undo_is_an_entry_of_its_own_and_can_be_undone(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    moved = do("move", "C1", to="trimmed", at_h=1).entry
    undone = do("undo", "C1", undoes=moved.key, at_h=2).entry
    assert now_on("C1")[0] == "thrown"
    assert Board.objects.get(code="C1").since == NINE
    do("undo", "C1", undoes=undone.key, at_h=3)
    assert now_on("C1")[0] == "trimmed"
    assert Entry.objects.count() == 4


def test_what_was_built_upon_is_not_undone_under_it(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    moved = do("move", "C1", to="trimmed").entry
    do("move", "C1", to="handled")
    with pytest.raises(acting.NoLonger, match="stands at handled"):
        do("undo", "C1", undoes=moved.key)
    gained = do("gain", "C1", pieces=6, reason="make-up").entry
    do("lose", "C1", pieces=28, reason="knocked")
    with pytest.raises(acting.NoLonger, match="no longer there"):
        do("undo", "C1", undoes=gained.key)


def test_undoing_twice_counts_once(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    lost = do("lose", "C1", pieces=2, reason="thin").entry
    do("undo", "C1", undoes=lost.key)
    assert do("undo", "C1", undoes=lost.key, who="Other").already
    assert now_on("C1")[1] == 24


def test_a_count_puts_the_board_right_unless_something_came_between(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    do("count", "C1", pieces=22, pieces_seen=24)
    assert now_on("C1")[1] == 22
    assert do("count", "C1", pieces=20, pieces_seen=24).waits


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"kind": "lose", "pieces": -1, "reason": "thin"}, "holds 1 to"),
        ({"kind": "lose", "pieces": 1}, "without a reason"),
        ({"kind": "weigh", "grams": -345.0}, "above 0"),
        ({"kind": "weigh", "grams": float("nan")}, "above 0"),
        ({"kind": "move", "to": "sold"}, "none of the making"),
        ({"kind": "dance"}, "no such entry"),
        ({"kind": "turn", "key": "x"}, "no key"),
    ],
)
def test_what_could_never_be_right_is_refused_by_name(tea: Commission, more: dict[str, object], words: str) -> None:
    on_board(tea, 24, "thrown")
    with pytest.raises((OutOfRange, Unreadable), match=words):
        do(board="C1", **more)  # type: ignore[arg-type]


def test_a_board_that_is_not_there_and_a_code_that_is_taken_are_named(tea: Commission) -> None:
    with pytest.raises(NotInTable, match="C9"):
        do("turn", "C9")
    on_board(tea, 24, "thrown", code="k 7")
    with pytest.raises(OutOfRange, match="K7"):
        on_board(tea, 24, "thrown", code="K7")
    with pytest.raises(Unreadable, match="K7/x"):
        on_board(tea, 24, "thrown", code="K7/x")
    assert on_board(tea, 3, "ball", form="Kettle").code == "K8"


ACTS = st.lists(
    st.tuples(
        st.sampled_from(["lose", "gain", "split", "move", "merge", "undo", "count"]),
        st.integers(1, 3),
        st.integers(1, 9),
    ),
    max_size=12,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(ACTS)
def test_the_pieces_on_all_boards_are_always_the_sum_of_the_entries(
    django_db_blocker: object, tea: Commission, acts: list[tuple[str, int, int]]
) -> None:
    """A law: whatever is done in whatever order, boards hold what their standing entries add up to, never below none."""
    before = Board.objects.count()
    first = [on_board(tea, 8, "thrown").code for _ in range(3)]
    codes = [*first]
    for kind, place, number in acts:
        code = codes[place % len(codes)]
        other = codes[(place + 1) % len(codes)]
        last = history.to_undo(history.entries_of(Board.objects.get(code=code)))
        try:
            do(
                kind,
                code,
                key=key(),
                pieces=number if kind in ("lose", "gain", "split", "count") else None,
                reason="thin",
                to=("trimmed" if number % 2 else "drying") if kind == "move" else "",
                other=other if kind == "merge" else "",
                undoes=last.key if last and kind == "undo" else "",
            )
        except (acting.NoLonger, Unreadable):
            continue
    for board in Board.objects.order_by("pk")[before:]:
        own = sum(board.entries.filter(standing="stands").values_list("change", flat=True))
        lent = sum(board.entries_from_elsewhere.filter(standing="stands").values_list("other_change", flat=True))
        assert board.pieces == own + lent >= 0
