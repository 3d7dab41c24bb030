"""Today: what to do, in which order, why; what waits; what changed; messages owed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pikepdf
import pytest
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.sheets.reading_pdf import text_of
from tests.studio_bench.conftest import do, put_up
from wareboard.book import keeping
from wareboard.book.boards import course
from wareboard.book.boards.models import Board, DayStanding, Given, KeptCourse, Tick
from wareboard.book.models import Commission
from wareboard.plan.own import Own
from wareboard.studio.bench import courses
from wareboard.studio.bench.days_work import days_work
from wareboard.studio.bench.jobs import DaysWork
from wareboard.studio.bench.owed import moved
from wareboard.studio.bench.standing import all_in_hand
from wareboard.studio.bench.today_page import moment_here, the_day
from wareboard.studio.today import now


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
    assert "97 × Handled cup: to be thrown from Mon 30 Nov by the calendar" in waits()


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
    assert "cool enough to open about" in waits()
    assert "the kiln is taken until" in waits()
    Board.objects.filter(pk=first.pk).update(state_since=moment - timedelta(hours=40))
    assert "Unload H1: 60 × Handled cup" in jobs()


def begin_on(commission: Commission, day: str) -> None:
    """Let the brief say that work begins on a day that is past."""
    version = commission.paper.current
    assert version is not None
    line = next(each for each in version.text.splitlines() if each.startswith("start ="))
    version.text = version.text.replace(line, f"start = {day}")
    version.save()


def test_a_shortfall_asks_for_make_up_throws(demo: Commission) -> None:
    begin_on(demo, "2026-11-16")
    ago(put_up(demo, 97, "drying"), 24 * 9)
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
    assert all(
        moved(each, None, moment_here()) is None for each in all_in_hand(moment_here())
    )  # nothing is on boards yet
    put_up(demo, 97, "drying")
    owed = moved(all_in_hand(moment_here())[0], None, moment_here())
    assert owed is not None
    finish = date.fromisoformat(owed.detail)
    assert finish > due
    assert "72 ordered, 97 in the making" in owed.text
    page = studio.get("/bench/today/").content.decode()
    assert "The date moved: ready about" in page
    studio.post(
        "/bench/today/tick/",
        {"key": "told-key-1", "commission": demo.code, "what": "told", "detail": finish.isoformat()},
    )
    assert "The date moved" not in studio.get("/bench/today/").content.decode()
    assert moved(all_in_hand(moment_here())[0], finish - timedelta(days=3), moment_here()) is not None
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
    asked()  # the first works the plan out and keeps its course
    one = asked()
    for _ in range(8):
        put_up(demo, 8, "drying")
    assert asked() == one
    assert one <= 18


def test_two_hundred_commissions_ask_the_records_as_often_as_one(studio: Client, demo: Commission) -> None:
    """Their courses are kept: no plan is worked out, and no commission asks for itself."""
    from django.db import connection

    studio.get("/bench/today/")
    with CaptureQueriesContext(connection) as one:
        studio.get("/bench/today/")
    assert demo.paper.current is not None
    kept = KeptCourse.objects.get(version=demo.paper.current)
    for number in range(199):
        other = keeping.new_commission(demo.paper.current.text, f"Demo {number}", why="Begun", who="", when=now())
        KeptCourse.objects.create(
            version=other.paper.current, day=kept.day, workshop_print=kept.workshop_print, figures=kept.figures
        )
    studio.get("/bench/today/")  # reads the courses in, all at once
    with CaptureQueriesContext(connection) as many:
        page = studio.get("/bench/today/?all").content.decode()
    assert len(many) == len(one)
    assert "Demo 198" in page
    assert "176 more commissions" in studio.get("/bench/").content.decode()
    assert "more commissions" not in studio.get("/bench/?all").content.decode()


def test_a_commission_that_cannot_be_planned_says_so_and_keeps_its_boards(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    assert demo.paper.current is not None
    demo.paper.current.text = "title = 'Broken'"
    demo.paper.current.save()
    for address in ("today/", "", "H1/", "begin/", "paper/marks/", "paper/tally.pdf", "paper/tags.pdf"):
        assert studio.get(f"/bench/{address}").status_code == 200, address
    assert "H1" in studio.get("/bench/").content.decode()


def test_a_begun_commission_keeps_the_calendar_of_its_first_day_and_shows_what_is_behind(demo: Commission) -> None:
    """By hand: the calendar laid out from 9 Nov has all 97 cups thrown by then; 40 are."""
    begin_on(demo, "2026-11-09")
    ago(put_up(demo, 40, "thrown"), 24 * 15)
    day = the_day()
    course = day.there[0].course
    assert course is not None
    assert course.first_day == moment_here().date() - timedelta(days=15)
    assert any(each.words.startswith("by the calendar 97 × Handled cup are set to dry") for each in day.work.behind)
    assert any("to throw" in job.why or "the chance of 72" in job.why for job in day.work.jobs)


def test_courses_follow_what_was_learned_once_a_day_and_one_at_a_look(
    demo: Commission, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_up(demo, 40, "thrown")
    first = the_day().there[0].course
    assert first is not None
    assert first.leans
    assert course.read(course.written(first)) == first  # as it is kept and read again
    monkeypatch.setattr(Own, "agrees", lambda own, leans: False)  # the records teach something else now
    assert the_day().there[0].course is first  # it was worked out today
    yesterday = replace(first, made=moment_here().date() - timedelta(days=1))
    kept = KeptCourse.objects.get()
    kept.figures = course.written(yesterday)
    kept.save()
    courses.forget()
    monkeypatch.setattr(courses, "LEARNED_AT_A_LOOK", 0)
    assert the_day().there[0].course == yesterday
    monkeypatch.setattr(courses, "LEARNED_AT_A_LOOK", 1)
    again = the_day().there[0].course
    assert again is not None
    assert again.made == first.made
    assert again.first_day == first.first_day


def test_each_job_says_which_load_it_feeds_and_whose_hands_the_calendar_has(demo: Commission) -> None:
    ago(put_up(demo, 90, "thrown"), 22)
    job = work().jobs[0]
    assert "the bisque load of" in job.why
    assert job.who in ("Potter", "Helper")


def test_the_hours_are_added_up_and_a_job_is_given_away(studio: Client, demo: Commission) -> None:
    """Worked out apart: 2.1 minutes to trim a cup (the shipped default) are 189 for ninety."""
    ago(put_up(demo, 90, "thrown"), 22)
    before = the_day()
    job = before.work.jobs[0]
    assert abs(job.minutes - 90 * 2.1) < 1e-6
    assert before.hours.minutes == sum(each.minutes for each in before.work.jobs)
    assert {share.name: share.hours for share in before.hours.shares} == {"Potter": 6.0, "Helper": 4.0}  # a Wednesday
    other = "Helper" if job.who == "Potter" else "Potter"
    page = studio.post("/bench/today/give/", {"job": job.key, "person": other}, follow=True).content.decode()
    assert f"{other}, given" in page
    assert the_day().work.jobs[0].who == other
    studio.post("/bench/today/give/", {"job": job.key, "person": ""})
    assert the_day().work.jobs[0].given == ""
    assert Given.objects.count() == 2


def test_a_job_stays_given_when_one_of_its_boards_is_done(studio: Client, demo: Commission) -> None:
    for _ in range(2):
        ago(put_up(demo, 20, "thrown"), 22)
    job = the_day().work.jobs[0]
    assert job.what == "Trim H1, H2: 40 × Handled cup"
    studio.post("/bench/today/give/", {"job": job.key, "person": "Helper"})
    do("move", "H1", to="trimmed")
    left = next(each for each in the_day().work.jobs if each.what == "Trim H2: 20 × Handled cup")
    assert left.given == "Helper"


def test_boards_that_wait_for_the_same_wait_in_one_line(demo: Commission) -> None:
    for _ in range(3):
        ago(put_up(demo, 20, "drying"), 20)
    assert "H1, H2, H3: 60 × Handled cup: bone dry about" in waits()
    assert waits().count("bone dry about") == 1


def test_what_does_not_fit_into_the_day_is_shown_below_a_line(studio: Client, demo: Commission) -> None:
    ago(put_up(demo, 400, "thrown"), 22)
    assert "About here the day’s hours end" in studio.get("/bench/today/").content.decode()


def test_a_date_that_slipped_since_yesterday_is_told(studio: Client, demo: Commission) -> None:
    put_up(demo, 97, "drying")
    day = the_day()
    stands = DayStanding.objects.get()
    assert stands.packed is not None
    assert not day.changes.moved
    DayStanding.objects.update(
        day=stands.day - timedelta(days=1), packed=stands.packed - timedelta(days=3), chance=0.99
    )
    do("lose", "H1", pieces=20, reason="cracked")
    page = studio.get("/bench/today/").content.decode()
    assert "slipped by" in page
    assert "the chance of enough went from 99 % to" in page
    assert DayStanding.objects.count() == 2
    studio.get("/bench/today/")
    assert DayStanding.objects.count() == 2


def test_deposit_and_approval_are_owed_before_work_begins_and_ticked_when_sent(
    studio: Client, demo: Commission
) -> None:
    page = studio.get("/bench/today/").content.decode()
    assert "Deposit of GBP" in page
    assert "Approval of the prototypes" in page
    for what in ("deposit", "approval"):
        studio.post("/bench/today/tick/", {"key": f"{what}-key", "commission": demo.code, "what": what})
    page = studio.get("/bench/today/").content.decode()
    assert "Deposit of GBP" not in page
    assert "deposit asked for" in page
    assert "Approval of the prototypes" not in page


def test_a_mixed_glaze_and_a_load_lead_to_their_books(studio: Client, demo: Commission) -> None:
    ago(put_up(demo, 30, "washed"), 2)
    ago(put_up(demo, 90, "bone dry"), 5)
    page = studio.get("/bench/today/").content.decode()
    assert "/glazes/" in page
    assert "Weigh it out in the glaze book" in page
    assert f"/kilns/the-round-kiln/firings/new/?kind=bisque&amp;cone=04&amp;commission={demo.code}" in page
    assert f'href="/kilns/load/{demo.code}/bisque/1/">Its shelves' in page
    shelves = studio.get(f"/kilns/load/{demo.code}/bisque/1/")
    assert shelves.status_code == 200
    assert "load 1" in shelves.content.decode().lower()


def test_today_on_paper_is_one_page_however_much_there_is(studio: Client, demo: Commission, tmp_path: Path) -> None:
    assert demo.paper.current is not None
    text = demo.paper.current.text
    others = [keeping.new_commission(text, f"Another {n}", why="Begun", who="", when=now()) for n in range(5)]
    for each in (demo, *others):
        for number in range(4):
            ago(put_up(each, 9 + number, "thrown"), 20 + number)
            ago(put_up(each, 5, "bisque", form="Side plate"), 300 + number)
            ago(put_up(each, 5, "drying", form="Milk jug"), 10 * number)
    for paper in ("a4", "letter"):
        answer = studio.get(f"/bench/today/today.pdf?paper={paper}")
        file = tmp_path / f"{paper}.pdf"
        file.write_bytes(answer.content)
        assert len(pikepdf.open(file).pages) == 1
        words = text_of(file)
        assert "Trim" in words
        assert "H1" in words
        assert "moreonthepage" in words


def test_the_day_is_the_workshops_own() -> None:
    assert moment_here().date() == date(2026, 11, 25)
