"""The pages of finished pieces in Debian's Chromium: for everyone (axe), on a phone, two taps, with and without scripts."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from playwright.sync_api import expect

from tests.book_pieces.conftest import BY
from tests.studio.test_browser import DESK, PHONE, browser, faults, visit  # noqa: F401 - fixtures
from tests.studio_after.conftest import finished
from tests.studio_after.test_piece_pages import pages
from wareboard.book.boards.models import Board
from wareboard.book.models import Commission
from wareboard.book.pieces import claiming, invoicing
from wareboard.book.pieces.models import Piece
from wareboard.studio import plans
from wareboard.studio.after import reorders

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_axe_finds_nothing_wrong_on_any_page(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/pieces/")
    found = faults(page)
    for address in pages(finished(demo)):
        page.goto(address)
        found += faults(page)
        for fold in page.locator("details:not([open]) > summary").all():
            if fold.is_visible():
                fold.click()
        found += faults(page)
    assert found == []


def test_no_page_is_wider_than_a_phone_and_every_target_is_big_enough(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    small = """els => els.filter(el => { const b = el.getBoundingClientRect();
        return b.width && b.height && b.height < 43.5 && getComputedStyle(el).clipPath === 'none' })
        .map(el => el.outerHTML.slice(0, 120))"""
    page = visit("/pieces/", size=PHONE)
    for address in pages(finished(demo)):
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], address
        boxes = "input:not([type=hidden]):not([type=checkbox]):not([type=radio]), select"
        targets = f"button, .button, nav a, .grade-fold > summary, .fold > summary, {boxes}"
        assert page.eval_on_selector_all(targets, small) == [], address


@pytest.mark.parametrize("scripts", [True, False])
def test_a_failure_takes_two_taps_and_undo_one(visit, demo: Commission, scripts: bool) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    board = finished(demo)
    page = visit(f"/bench/grade/{board.code}/", size=PHONE, scripts=scripts)
    expect(page.locator(".numeral").first).to_contain_text("5")
    page.locator(".grade-failed > summary").click()  # the first tap
    page.locator(".grade-failed").get_by_role("button", name="crazed", exact=True).click()  # the second
    expect(page.locator(".numeral").first).to_contain_text("4")
    expect(page.locator(".latest li").first).to_contain_text("crazed")  # it was sent, and the page is as kept
    assert Piece.objects.filter(fault="crazed", put_away=None).count() == 1
    assert Board.objects.get(pk=board.pk).pieces == 12
    page.locator(".thumb-bar .undo button").click()
    expect(page.locator(".numeral").first).to_contain_text("5")
    assert Board.objects.get(pk=board.pk).pieces == 13


def test_a_first_takes_one_tap(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    board = finished(demo)
    page = visit(f"/bench/grade/{board.code}/", size=PHONE)
    page.get_by_role("button", name="First", exact=True).click()
    expect(page.locator(".numeral").first).to_contain_text("4")
    expect(page.locator(".latest li").first).to_contain_text("/11")
    assert Piece.objects.filter(grade="first", put_away=None).count() == 9


def test_the_desk_shows_a_piece_without_sideways_scrolling(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    for address in pages(finished(demo)):
        page = visit(address, size=DESK)
        assert page.evaluate("document.documentElement.scrollWidth") <= DESK[0]
        page.close()


def test_gradings_without_a_network_are_kept_in_the_phone_and_arrive_once(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    board = finished(demo)
    page = visit(f"/bench/grade/{board.code}/", size=PHONE)
    page.wait_for_load_state("networkidle")
    page.context.set_offline(True)
    page.get_by_role("button", name="First", exact=True).click()
    expect(page.locator(".numeral").first).to_contain_text("4")
    page.locator(".grade-failed > summary").click()
    page.locator(".grade-failed").get_by_role("button", name="crazed", exact=True).click()
    expect(page.locator(".numeral").first).to_contain_text("3")
    expect(page.locator("#unsent")).to_contain_text("2 entries are kept in this phone")
    assert Piece.objects.filter(put_away=None).count() == 10
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator(".latest li").first).to_contain_text("crazed")
    expect(page.locator("#unsent")).to_be_hidden()
    assert Piece.objects.filter(put_away=None).count() == 12
    assert Board.objects.get(pk=board.pk).pieces == 12


def test_axe_finds_nothing_wrong_on_invoice_claim_and_order_again(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    board = finished(demo)
    code, piece = board.commission.code, Piece.objects.get(number=1)
    assert piece.delivered is not None
    claim = claiming.claim(piece, piece.delivered, "crazed", "Invented words", None, BY)
    lines = [invoicing.Line("Cup", 1, Decimal("38.50"))]
    terms = invoicing.Terms("Invented", "GBP", Decimal("0.2"), "Invented words of tax")
    first, _ = invoicing.write_invoice(board.commission, "a", lines, terms, piece.delivered, BY)
    invoicing.void(first, "b", "Invented reason", piece.delivered, BY)
    on = plans.basis()
    again, _ = reorders.order(board.commission, on.day + timedelta(days=300), "c", on, BY)
    addresses = [f"/pieces/claims/{claim.pk}/", f"/pieces/{code}/invoices/1/", f"/pieces/{code}/invoices/2/"]
    page = visit("/pieces/claims/", size=PHONE)
    found = faults(page)
    for address in (*addresses, f"/pieces/{again.code}/as-made/", f"/pieces/{code}/invoices/"):
        page.goto(address)
        found += faults(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], address
    assert found == []
