"""What goes wrong at a bench, in a real browser: clocks that are off, two on one board, closed browsers, odd weights."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.studio.test_browser import PHONE
from tests.studio.test_browser import visit as visit
from tests.studio_bench.conftest import put_up
from tests.studio_bench.test_browser import browser as browser
from wareboard.book.boards.models import Board, Entry, Tick
from wareboard.book.models import Commission
from wareboard.studio.today import now

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
COUNTING = """addEventListener('click', event => { if (event.isTrusted && event.detail)
    sessionStorage.taps = Number(sessionStorage.taps || 0) + 1 }, true)"""
AN_HOUR_FAST = "const real = Date.now; Date.now = () => real() + 3600e3"


def taps(page: Page) -> int:
    counted: int = page.evaluate("Number(sessionStorage.taps || 0)")
    page.evaluate("sessionStorage.taps = 0")
    return counted


def wake(page: Page) -> None:
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_be_hidden(timeout=10_000)


def test_from_the_boards_page_a_loss_and_a_move_take_no_more_than_two_taps(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "thrown")
    page: Page = visit("/bench/", size=PHONE)
    page.context.add_init_script(COUNTING)
    page.goto("/bench/H1/")
    page.get_by_role("button", name="cracked").click()
    expect(page.locator("[data-pieces]")).to_have_text("23")
    assert taps(page) == 1
    page.get_by_role("button", name="One more: How many lost").click()
    page.get_by_role("button", name="slumped").click()
    expect(page.locator("[data-pieces]")).to_have_text("21")
    assert taps(page) == 2  # two pieces at once
    page.get_by_role("button", name="Trimmed").click()
    expect(page.locator(".said.just-now")).to_contain_text("moved to trimmed")
    assert taps(page) == 1
    page.goto("/bench/")
    page.locator('[data-board="H1"]').click()
    page.get_by_role("button", name="cracked").click()
    expect(page.locator(".said.just-now")).to_contain_text("H1: 1 lost: cracked")
    assert taps(page) == 2  # from the list of all boards
    assert Board.objects.values_list("stage", "pieces").get() == ("trimmed", 20)


def test_what_is_being_stepped_is_not_swept_away_when_an_entry_has_been_sent(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    """The answer of the studio is held back until the thumb has stepped on: the count must stand."""
    put_up(demo, 24, "thrown")
    page: Page = visit("/bench/H1/", size=PHONE)
    held = []
    page.route("**/bench/entries/", lambda route: held.append(route))
    page.get_by_role("button", name="thin").click()
    page.wait_for_timeout(300)
    more = page.get_by_role("button", name="One more: How many lost")
    more.click()
    more.click()
    for route in held:
        route.continue_()
    page.unroute("**/bench/entries/")
    expect(page.locator(".said.just-now")).to_contain_text("1 lost: thin")
    page.wait_for_timeout(500)
    expect(page.locator("#lost")).to_have_value("3")
    page.get_by_role("button", name="slumped").click()
    expect(page.locator("[data-pieces]")).to_have_text("20")
    expect(page.locator("#lost")).to_have_value("1")


def test_a_phone_whose_clock_is_an_hour_off_writes_the_studios_time(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "thrown")
    page: Page = visit("/bench/H1/", size=PHONE)
    page.evaluate(AN_HOUR_FAST)
    page.context.set_offline(True)
    page.get_by_role("button", name="cracked").click()
    expect(page.locator("#unsent")).to_contain_text("1 entry is kept")
    page.wait_for_timeout(1500)
    page.context.set_offline(False)
    wake(page)
    entry = Entry.objects.get(kind="lose")
    assert timedelta(seconds=1) < now() - entry.happened < timedelta(seconds=30)


def test_a_browser_closed_in_the_middle_sends_when_it_is_opened_again(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "thrown")
    page: Page = visit("/bench/H1/", size=PHONE)
    context = page.context
    context.set_offline(True)
    for reason in ("cracked", "thin"):
        page.get_by_role("button", name=reason).click()
        expect(page.locator("#unsent")).to_contain_text("kept in this phone")
        page.wait_for_timeout(800)
    page.close()
    context.set_offline(False)
    again = context.new_page()
    again.goto("/bench/")
    expect(again.locator(".said.just-now")).to_contain_text("2 entries sent", timeout=10_000)
    assert list(Entry.objects.filter(kind="lose").order_by("pk").values_list("reason", flat=True)) == [
        "cracked",
        "thin",
    ]
    assert Board.objects.get().pieces == 22


def test_two_people_who_move_one_board_move_it_once_and_a_real_conflict_is_settled(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "thrown")
    ada, ben = visit("/bench/H1/", size=PHONE), visit("/bench/H1/", size=PHONE)
    ada.get_by_role("button", name="Trimmed").click()
    expect(ada.locator("[data-stage]")).to_contain_text("Trimmed")
    ben.get_by_role("button", name="Trimmed").click()  # his page still shows it thrown
    expect(ben.locator(".said.just-now")).to_contain_text("was at trimmed already")
    assert Board.objects.get().stage == "trimmed"
    cold = visit("/bench/H1/", size=PHONE)
    ada.get_by_role("button", name="Handled").click()
    expect(ada.locator("[data-stage]")).to_contain_text("Handled")
    ada.wait_for_timeout(800)
    ada.get_by_role("button", name="Marked").click()
    expect(ada.locator("[data-stage]")).to_contain_text("Marked")
    cold.get_by_role("button", name="Handled").click()
    expect(cold.locator(".said.just-now")).to_contain_text("Kept, but not done yet")
    assert Board.objects.get().stage == "marked"
    cold.get_by_role("button", name="Let it go").click()
    expect(cold.locator("h2", has_text="To settle")).to_have_count(0)
    assert Entry.objects.filter(standing="let go").count() == 1


def test_a_negative_weight_is_refused_and_stays_to_be_let_go(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "ball")
    page: Page = visit("/bench/H1/", size=PHONE)
    page.locator("#grams").fill("-345")
    page.keyboard.press("Enter")
    expect(page.locator("#unsent .trouble")).to_contain_text("345")
    assert not Entry.objects.filter(kind="weigh").exists()
    page.get_by_role("button", name="Let it go").click()
    expect(page.locator("#unsent")).to_be_hidden()


def test_ten_times_the_usual_weight_is_asked_about_once_and_kept_if_confirmed(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "ball")
    page: Page = visit("/bench/H1/", size=PHONE)
    for grams in ("345", "347", "344", "346", "345"):
        page.locator("#grams").fill(f"{grams} g")
        page.keyboard.press("Enter")
        expect(page.locator(".said.just-now")).to_contain_text(f"weighed: {grams} g")
        expect(page.locator("#unsent")).to_be_hidden()
    page.locator("#grams").fill("3450")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Yes, keep it").click()
    expect(page.locator("#unsent")).to_be_hidden()
    assert Entry.objects.filter(kind="weigh", grams=3450.0).count() == 1


def test_a_message_ticked_off_without_a_network_is_sent_later_once(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "thrown")
    page: Page = visit("/bench/today/", size=PHONE)
    page.context.set_offline(True)
    page.get_by_role("button", name=re.compile("Sent.*Deposit")).dblclick()
    expect(page.locator("#unsent")).to_contain_text("1 entry is kept")
    page.context.set_offline(False)
    wake(page)
    assert Tick.objects.get().what == "deposit"
