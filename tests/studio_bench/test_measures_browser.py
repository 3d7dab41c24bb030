"""Measuring in Debian's Chromium: a scale that types, the run that follows what is chosen, entries without a network."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.studio.test_browser import PHONE
from tests.studio.test_browser import visit as visit
from tests.studio_bench.conftest import put_up
from tests.studio_bench.test_browser import browser as browser
from wareboard.book.measures.models import Measurement
from wareboard.book.models import Commission

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
ADDRESS = "/bench/measure/26-01/?form=Handled+cup&what=weight&stage=ball"


def test_a_scale_types_piece_after_piece_and_the_field_stays_ready(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    page: Page = visit(ADDRESS)
    expect(page.locator("#value")).to_be_focused()
    for number, typed in enumerate(("ST,GS,+ 402.1g", "403,0", "403.0 g"), 1):
        page.keyboard.type(typed)
        page.keyboard.press("Enter")
        expect(page.locator(".said.just-now")).to_contain_text(f"weight of Handled cup {number}, ball")
        expect(page.locator("#value")).to_be_focused()
        expect(page.locator("#piece")).to_have_value(str(number + 1))
    assert list(Measurement.objects.order_by("pk").values_list("value", "piece")) == [
        (402.1, "1"),
        (403.0, "2"),
        (403.0, "3"),
    ]


def test_what_is_chosen_stays_chosen_and_the_fresh_page_is_of_that_run(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    page: Page = visit(ADDRESS, size=PHONE)
    page.get_by_text("Mouth", exact=True).click()
    expect(page.locator(".numeral-label")).to_have_text("Mouth, mm")
    page.locator("#value").fill("95.5")
    page.get_by_role("button", name="Keep, next piece").click()
    expect(page.locator(".said.just-now")).to_contain_text("mouth of Handled cup 1, ball: 95.5 mm")
    expect(page.get_by_label("Mouth", exact=True)).to_be_checked()
    expect(page.locator(".entries.long")).to_contain_text("95.5 mm")
    page.get_by_role("button", name="More").click()
    expect(page.locator("#value")).to_have_value("96")  # the last reading and one tap


def test_readings_made_without_a_network_are_sent_later_once_each_and_odd_ones_asked_about(
    visit, demo: Commission
) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "ball")
    page: Page = visit(ADDRESS)
    page.context.set_offline(True)
    for grams in ("402", "403", "401", "404", "402", "4030"):
        page.locator("#value").fill(grams)
        page.keyboard.press("Enter")
    expect(page.locator("#unsent")).to_contain_text("6 entries are kept in this phone")
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_contain_text("is usual", timeout=10_000)
    rows = list(Measurement.objects.order_by("pk").values_list("value", "piece"))
    assert rows == [(402.0, "1"), (403.0, "2"), (401.0, "3"), (404.0, "4"), (402.0, "5")]
    page.get_by_role("button", name="Yes, keep it").click()
    expect(page.locator("#unsent")).to_be_hidden(timeout=10_000)
    assert Measurement.objects.filter(value=4030.0, piece="6").count() == 1
