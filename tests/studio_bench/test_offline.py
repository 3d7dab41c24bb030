"""Entries made without a network: kept in the browser, sent later once each and in order; conflicts shown, never dropped.

The connection is cut at random points with a fixed seed; some answers are lost on their way back, after the studio has kept
the entries, which is when doubles would come. How many entries: ``BENCH_OFFLINE_ENTRIES`` in the environment.
"""

from __future__ import annotations

import json
import os
import random
from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.studio.test_browser import PHONE
from tests.studio.test_browser import visit as visit
from tests.studio_bench.conftest import do, put_up
from tests.studio_bench.test_browser import browser as browser
from wareboard.book.boards import history
from wareboard.book.boards.models import Board, Entry
from wareboard.book.models import Commission

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
ENTRIES = int(os.environ.get("BENCH_OFFLINE_ENTRIES", "60"))
LIST = """() => new Promise(yes => { const asked = indexedDB.open("wareboard-bench", 1); asked.onsuccess = () => {
    const all = asked.result.transaction("entries").objectStore("entries").getAll();
    all.onsuccess = () => yes(all.result); } })"""


@pytest.fixture
def board(demo: Commission) -> Board:
    """A board with more pieces than the test loses."""
    return put_up(demo, 1500, "thrown")


@pytest.fixture
def phone(visit: Callable[..., Page], board: Board, browser: Browser) -> Page:
    """The board's page on a phone, its worker standing, the page kept."""
    page = visit("/bench/H1/", size=PHONE)
    page.wait_for_function("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    page.reload()
    return page


def unsent(page: Page) -> list[dict[str, object]]:
    found: list[dict[str, object]] = page.evaluate(LIST)
    return found


def let_all_be_sent(page: Page) -> None:
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_be_hidden(timeout=20_000)


def test_entries_cut_off_at_random_points_arrive_once_each_and_in_order(phone: Page, board: Board) -> None:
    """60 entries, the connection cut about every third, every fifth answer lost after it was kept."""
    chance = random.Random(20261125)
    lost_answers = 0

    def on_the_way(route: Route) -> None:
        nonlocal lost_answers
        if chance.random() < 0.2:
            lost_answers += 1
            route.fetch()  # the studio has it
            route.abort()  # and the phone never hears so
        else:
            route.continue_()

    phone.route("**/bench/entries/", on_the_way)
    made = []
    away = False
    for number in range(ENTRIES):
        if chance.random() < 0.33:
            away = not away
            phone.context.set_offline(away)
        if chance.random() < 0.04:
            phone.reload()  # the browser closed in the middle, with or without a network
        reason = f"crack {number:03d}"
        made.append(reason)
        phone.evaluate(
            """reason => { const form = document.querySelector('form.lose');
            form.querySelector('[name=own_reason]').value = reason;
            form.requestSubmit(form.querySelector('button[name=reason]')) }""",
            reason,
        )
        if chance.random() < 0.3:
            phone.wait_for_timeout(chance.randint(1, 120))
        else:
            phone.wait_for_timeout(15)  # the entry is in the browser's list before the next tap
    phone.context.set_offline(False)
    for _ in range(40):
        phone.evaluate("window.dispatchEvent(new Event('online'))")
        phone.wait_for_timeout(150)
        if not unsent(phone):
            break
    assert unsent(phone) == []
    kept = list(Entry.objects.filter(kind="lose").order_by("pk").values_list("reason", flat=True))
    assert kept == made
    assert Board.objects.get().pieces == 1500 - ENTRIES
    assert lost_answers > 0
    assert not history.waiting().exists()


def test_without_a_network_the_page_is_there_and_shows_what_was_entered(phone: Page, board: Board) -> None:
    phone.context.set_offline(True)
    phone.get_by_role("button", name="cracked").click()
    expect(phone.locator("#unsent")).to_contain_text("1 entry is kept in this phone")
    expect(phone.locator("[data-pieces]")).to_have_text("1499")
    phone.reload()
    expect(phone.locator("[data-pieces]")).to_have_text("1499")
    expect(phone.locator("#unsent")).to_contain_text("1 lost: cracked")
    phone.wait_for_timeout(800)
    phone.get_by_role("button", name="Trimmed").click()
    expect(phone.locator("[data-stage]")).to_have_text("Trimmed")
    phone.wait_for_timeout(800)
    phone.get_by_role("button", name="Handled").click()
    expect(phone.locator("#unsent")).to_contain_text("3 entries are kept")
    assert Board.objects.values_list("stage", "pieces").get() == ("thrown", 1500)
    phone.context.set_offline(False)
    let_all_be_sent(phone)
    assert Board.objects.values_list("stage", "pieces").get() == ("handled", 1499)
    expect(phone.locator("[data-stage]")).to_contain_text("Handled")


def test_a_page_never_opened_says_so_without_a_network(phone: Page, board: Board) -> None:
    phone.context.set_offline(True)
    phone.goto("/bench/H77/")
    expect(phone.get_by_role("heading", level=1)).to_have_text("No network here")
    phone.goto("/bench/")
    expect(phone.get_by_role("heading", level=1)).to_have_text("Boards")


def test_what_was_brought_up_to_date_in_place_is_what_is_kept(phone: Page, board: Board) -> None:
    phone.get_by_role("button", name="cracked").click()
    expect(phone.locator(".latest")).to_contain_text("1 lost: cracked")  # what the studio drew anew
    phone.context.set_offline(True)
    phone.reload()
    expect(phone.locator("[data-pieces]")).to_have_text("1499")


def test_a_conflict_is_shown_and_settled_not_dropped(phone: Page, board: Board) -> None:
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Trimmed").click()
    expect(phone.locator("#unsent")).to_contain_text("move to trimmed")
    do("move", "H1", to="drying")
    phone.context.set_offline(False)
    let_all_be_sent(phone)
    expect(phone.locator(".said.just-now")).to_contain_text("moved by Ben")
    expect(phone.locator(".troubles")).to_contain_text("To settle")
    assert Board.objects.get().stage == "drying"
    phone.get_by_role("button", name="Do it all the same").click()
    expect(phone.locator("[data-stage]")).to_contain_text("Trimmed")


def test_what_the_studio_refuses_stays_in_the_phone_until_it_is_let_go(phone: Page, board: Board) -> None:
    phone.locator("#grams").fill("-345")
    phone.keyboard.press("Enter")
    expect(phone.locator("#unsent .trouble")).to_contain_text("above 0")
    phone.reload()
    expect(phone.locator("#unsent .trouble")).to_contain_text("above 0")
    phone.get_by_role("button", name="Let it go").click()
    expect(phone.locator("#unsent")).to_be_hidden()
    assert not Entry.objects.filter(kind="weigh").exists()


def test_an_entry_can_be_taken_back_before_it_is_sent(phone: Page, board: Board) -> None:
    phone.context.set_offline(True)
    phone.get_by_role("button", name="thin").click()
    phone.get_by_role("button", name="Do not send it").click()
    expect(phone.locator("[data-pieces]")).to_have_text("1500")
    phone.context.set_offline(False)
    phone.reload()
    assert Entry.objects.count() == 1


def test_a_page_whose_token_is_old_fetches_another(phone: Page, board: Board) -> None:
    phone.evaluate(
        "document.querySelectorAll('[name=csrfmiddlewaretoken]').forEach(box => { box.value = 'x'.repeat(64) })"
    )
    phone.get_by_role("button", name="thin").click()
    expect(phone.locator(".said.just-now")).to_contain_text("1 lost: thin")


def test_what_is_kept_in_the_phone_is_plain_and_small(phone: Page, board: Board) -> None:
    phone.context.set_offline(True)
    phone.get_by_role("button", name="thin").click()
    expect(phone.locator("#unsent")).to_be_visible()
    row = unsent(phone)[0]
    assert row["fields"] == {
        "kind": "lose",
        "board": "H1",
        "stage_seen": "thrown",
        "pieces": "1",
        "own_reason": "",
        "reason": "thin",
    }
    assert len(json.dumps(row)) < 400
