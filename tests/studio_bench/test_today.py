"""Today: what to do, in which order, why; what waits; what changed; messages owed."""

from __future__ import annotations

from datetime import date, timedelta

from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.studio_bench.conftest import do, put_up
from wareboard.book.boards.models import Board, Tick
from wareboard.book.models import Commission
from wareboard.studio.bench.days_work import DaysWork, days_work, message_for
from wareboard.studio.bench.standing import all_in_hand
from wareboard.studio.bench.today_page import moment_here


def work(ticked: set[tuple[str, str]] | None = None) -> DaysWork:
    moment = moment_here()
    return days_work(all_in_hand(moment), ticked or set(), moment)


def jobs() -> list[str]:
    return [job.what for job in work().jobs]


def waits() -> str:
    return "; ".join(f"{wait.what}: {wait.until}" for wait in work().waits)


def ago(board: Board, hours: float) -> None:
    """Put the board's beginning back, by the day that stands still in these tests."""
    moment = moment_here() - timedelta(hours=hours)
    Board.objects.filter(pk=board.pk).update(since=moment, state_since=moment)


def test_before_the_first_day_there_is_nothing_to_do_but_wait(demo: Commission) -> None:
    assert jobs() == []
    assert "97 × Handled cup: to be begun on" in waits()


def test_leather_hard_ware_comes_first_because_it_will_not_keep(demo: Commission) -> None:
    ago(put_up(demo, 90, "thrown"), 22)
    ago(put_up(demo, 30, "bisque", form="Side plate"), 300)
    found = work().jobs
    assert found[0].what == "Trim H1: 90 × Handled cup"
    assert "leather-hard since" in found[0].why
    assert any(job.what.startswith("Sand (wet) and wash S1") for job in found)
    assert any(job.what.startswith("Weigh out, mix and sieve") for job in found)


def test_fresh_ware_waits_to_be_leather_hard(demo: Commission) -> None:
    ago(put_up(demo, 97, "thrown"), 0)
    assert "H1: 97 × Handled cup: leather-hard about" in waits() or "Trim H1: 97 × Handled cup" in jobs()


def test_what_was_under_cover_for_a_night_is_uncovered_and_plates_are_turned(demo: Commission) -> None:
    ago(put_up(demo, 97, "drying"), 20)
    ago(put_up(demo, 58, "drying", form="Side plate"), 30)
    assert "Uncover H1: 97 × Handled cup" in jobs()
    assert "Turn S1: 58 × Side plate" in jobs()
    assert not any(job.startswith("Turn H1") for job in jobs())
    assert "bone dry about" in waits()
    do("unwrap", "H1")
    assert "Uncover H1: 97 × Handled cup" not in jobs()


def test_ware_that_may_be_dry_is_weighed_and_never_said_to_be_dry(demo: Commission) -> None:
    ago(put_up(demo, 97, "drying"), 200)
    found = next(job for job in work().jobs if job.what.startswith("Weigh one of H1"))
    assert "not when it looks dry" in found.why


def test_a_load_waits_until_it_is_full_or_nothing_more_comes(demo: Commission) -> None:
    ago(put_up(demo, 10, "bone dry"), 5)
    ago(put_up(demo, 87, "drying"), 5)
    assert "87 more are to come" in waits()
    do("lose", "H2", pieces=87, reason="cracked")
    assert any(job.startswith("Load the bisque H1") for job in jobs())


def test_what_is_in_the_kiln_holds_it_until_it_can_be_opened(demo: Commission) -> None:
    first = put_up(demo, 60, "bone dry")
    put_up(demo, 60, "bone dry", form="Side plate")
    do("load", first.code)
    moment = moment_here()
    Board.objects.filter(pk=first.pk).update(state_since=moment)
    assert "it can be opened about" in waits()
    assert "the kiln is taken until" in waits()
    Board.objects.filter(pk=first.pk).update(state_since=moment - timedelta(hours=40))
    assert "Unload H1: 60 × Handled cup" in jobs()


def test_a_shortfall_asks_for_make_up_throws(demo: Commission) -> None:
    put_up(demo, 80, "thrown")
    do("lose", "H1", pieces=10, reason="slumped")
    found = next(job for job in work().jobs if "× Handled cup, balls of" in job.what)
    assert "the chance of 72 is down to" in found.why


def test_a_glaze_that_was_mixed_is_ticked_off_and_taken_back(studio: Client, demo: Commission) -> None:
    ago(put_up(demo, 30, "washed"), 2)
    job = next(job for job in work().jobs if job.tick)
    studio.post("/bench/today/tick/", {"key": "tick-key-1", "commission": demo.code, "what": job.tick})
    assert not any(each.tick for each in work({(demo.code, job.tick)}).jobs)
    page = studio.get("/bench/today/").content.decode()
    assert "Take back" in page
    studio.post(f"/bench/today/tick/{Tick.objects.get().pk}/back/")
    assert job.what in studio.get("/bench/today/").content.decode()


def test_a_message_is_owed_when_the_date_moves_and_not_again_once_sent(studio: Client, demo: Commission) -> None:
    assert demo.paper.current is not None
    due = moment_here().date() + timedelta(days=10)
    text = demo.paper.current.text
    line = next(each for each in text.splitlines() if each.startswith("due ="))
    demo.paper.current.text = text.replace(line, f"due = {due.isoformat()}")
    demo.paper.current.save()
    assert all(message_for(each, None) is None for each in all_in_hand(moment_here()))  # nothing is on boards yet
    put_up(demo, 97, "drying")
    owed = message_for(all_in_hand(moment_here())[0], None)
    assert owed is not None
    finish, words = owed
    assert finish > due
    assert "72 ordered, 97 in the making" in words
    page = studio.get("/bench/today/").content.decode()
    assert "A message owed" in page
    studio.post(
        "/bench/today/tick/",
        {"key": "told-key-1", "commission": demo.code, "what": "told", "detail": finish.isoformat()},
    )
    assert "A message owed" not in studio.get("/bench/today/").content.decode()
    assert message_for(all_in_hand(moment_here())[0], finish - timedelta(days=3)) is not None
    assert (
        studio.post("/bench/today/tick/", {"commission": demo.code, "what": "told", "detail": "soon"}).status_code
        == 302
    )
    assert Tick.objects.filter(what="told").count() == 1


def test_what_changed_since_yesterday_is_told_with_who(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    do("lose", "H1", pieces=2, reason="cracked")
    page = " ".join(studio.get("/bench/today/").content.decode().split())
    assert "2 lost: cracked. <small>Ben" in page


def test_the_page_asks_the_records_as_often_for_many_boards_as_for_one(
    studio: Client, demo: Commission, django_assert_max_num_queries: object
) -> None:
    from django.db import connection

    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as found:
            assert studio.get("/bench/today/").status_code == 200
        return len(found)

    put_up(demo, 24, "thrown")
    one = asked()
    for _ in range(8):
        put_up(demo, 8, "drying")
    assert asked() == one


def test_a_commission_that_cannot_be_planned_says_so_and_keeps_its_boards(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    assert demo.paper.current is not None
    demo.paper.current.text = "title = 'Broken'"
    demo.paper.current.save()
    for address in ("today/", "", "H1/", "begin/", "paper/marks/", "paper/tally.pdf", "paper/tags.pdf"):
        assert studio.get(f"/bench/{address}").status_code == 200, address
    assert "H1" in studio.get("/bench/").content.decode()


def test_the_day_is_the_workshops_own() -> None:
    assert moment_here().date() == date(2026, 11, 25)
