"""Which boards were in a firing, and in which firings a board's pieces were; after parting, merging and undoing too."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest

from tests.book_firings.conftest import BY, curve_csv, glaze_fields
from wareboard.book import keeping
from wareboard.book.boards import acting
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import Board
from wareboard.book.firings import loading, recording, signing
from wareboard.book.firings.models import Firing, Kiln
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.errors import OutOfRange

TEXT = 'title = "Invented"\ndue = 2027-02-12\n[[forms]]\nname = "Cup"\ncount = 24\nheight = "95 mm"\n'


@pytest.fixture
def job(db: None) -> Commission:
    return keeping.new_commission(TEXT, "Invented", why="Begun", who="", when=BY.when)


def at(minute: int) -> datetime:
    return BY.when + timedelta(minutes=minute)


def board(job: Commission, pieces: int = 12, stage: str = "glazed") -> Board:
    asked = Asked(key=uuid4().hex, kind="begin", who="", happened=at(0), pieces=pieces, to=stage)
    return acting.begin(asked, job, "Cup", "", at(0)).entry.board


def act(here: Board, kind: str, minute: int, **more: object) -> acting.Done:
    asked = Asked(key=uuid4().hex, kind=kind, who="", happened=at(minute), board=here.code, **more)  # type: ignore[arg-type]
    return acting.act(asked, at(minute))


def signed(minute: int) -> Signed:
    return Signed("Invented", at(minute))


def test_boards_in_a_firing_and_firings_of_a_board_are_opposites(job: Commission, kiln: Kiln) -> None:
    first, second = (recording.new_firing(kiln, glaze_fields(), BY) for _ in range(2))
    one, two, three = board(job), board(job, 8), board(job, 4)
    for firing, here in ((first, one), (first, two), (second, two), (second, three)):
        loading.load_board(firing, here, BY)
    for firing in (first, second):
        for here in (one, two, three):
            inside = here.pk in {each.board.pk for each in loading.boards_in(firing)}
            assert inside == (firing.pk in {each.firing.pk for each in loading.firings_of(here)})
    assert [each.pieces for each in loading.boards_in(first)] == [12, 8]


def test_what_stood_on_the_board_then_is_kept_when_it_is_parted_later(job: Commission, firing: Firing) -> None:
    here = board(job, 12)
    loading.load_board(firing, here, signed(1))
    fresh = act(here, "split", 2, pieces=5).entry.other
    assert fresh is not None
    assert [each.pieces for each in loading.boards_in(firing)] == [12]
    assert [(each.firing, each.through) for each in loading.firings_of(fresh)] == [(firing, here)]


def test_a_board_parted_before_the_firing_was_not_in_it(job: Commission, firing: Firing) -> None:
    here = board(job, 12)
    fresh = act(here, "split", 1, pieces=5).entry.other
    here.refresh_from_db()
    loading.load_board(firing, here, signed(2))
    assert fresh is not None
    assert loading.firings_of(fresh) == []
    assert [each.pieces for each in loading.boards_in(firing)] == [7]


def test_a_merged_board_answers_for_both_and_an_undone_merge_for_neither(job: Commission, firing: Firing) -> None:
    here, other = board(job, 6), board(job, 6)
    loading.load_board(firing, other, signed(1))
    merged = act(here, "merge", 2, other=other.code).entry
    assert [each.through for each in loading.firings_of(here)] == [other]
    act(here, "undo", 3, undoes=merged.key)
    assert loading.firings_of(here) == []


def test_a_board_put_in_by_mistake_is_taken_out_and_put_back(job: Commission, firing: Firing) -> None:
    here = board(job)
    loaded = loading.load_board(firing, here, BY)
    loading.take_out(loaded, BY)
    assert loading.boards_in(firing) == []
    assert loading.firings_of(here) == []
    signing.undo_latest(recording.records_of(firing), BY)
    assert [each.board for each in loading.boards_in(firing)] == [here]
    assert loading.load_board(firing, here, BY).pk == loaded.pk


def test_more_pieces_than_the_board_holds_are_refused(job: Commission, firing: Firing) -> None:
    here = board(job, 3)
    for pieces in (0, 4, -1):
        with pytest.raises(OutOfRange, match="the board holds 3"):
            loading.load_board(firing, here, BY, pieces=pieces)


def test_boards_that_the_bench_put_into_the_kiln_wait_for_their_firing(job: Commission, firing: Firing) -> None:
    here = board(job)
    act(here, "load", 1)
    assert loading.in_no_firing() == [here]
    loading.load_board(firing, here, signed(2))
    assert loading.in_no_firing() == []
    here.refresh_from_db()
    act(here, "unwrap", 3)
    act(here, "load", 4)  # for another firing
    assert loading.in_no_firing() == [here]


def test_a_firing_is_open_until_it_has_cones_or_a_log_or_lies_days_back(kiln: Kiln) -> None:
    today = date(2026, 11, 20)
    old, read, logged, open_one = (
        recording.new_firing(kiln, glaze_fields(date(2026, 11, day)), BY) for day in (10, 20, 20, 20)
    )
    pack = {"guide": "5", "target": "6", "guard": "7", "guide_deg": 90.0, "target_deg": 80.0, "guard_deg": 8.0}
    recording.keep_cones(read, [{"level": "top", "place": 0, "by_clock": True, **pack}], BY)
    recording.keep_log(logged, curve_csv(), "a.csv", {}, BY)
    assert loading.open_firings(today) == [open_one]
    assert old in loading.open_firings(date(2026, 11, 10))
