"""The pages on what was learned in Debian's Chromium: for everyone (axe), on a phone, at a desk, light and dark."""

from __future__ import annotations

import pytest

from tests.studio.test_browser import DESK, PHONE, browser, faults, visit
from tests.studio_learned.conftest import recorded

__all__ = ["browser", "visit"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PAGES = ("/learned/", "/learned/figure/yield.cup.dried/", "/learned/times/", "/learned/next-plan/")


def test_axe_finds_nothing_wrong_and_nothing_hangs_over_the_edge(visit) -> None:  # type: ignore[no-untyped-def]
    recorded()
    for size in (PHONE, DESK):
        page = visit(PAGES[0], size=size)
        for address in PAGES:
            page.goto(address)
            assert faults(page) == []
            assert page.evaluate("document.documentElement.scrollWidth") <= size[0], (address, size)


def test_a_record_is_left_out_on_a_phone_without_scripts(visit) -> None:  # type: ignore[no-untyped-def]
    recorded()
    page = visit("/learned/figure/yield.cup.dried/", size=PHONE, scripts=False)
    page.get_by_placeholder("Why").first.fill("frost in the cellar")
    page.get_by_role("button", name="Leave out").first.click()
    assert page.get_by_text("Left out: frost in the cellar").is_visible()
    assert page.get_by_role("button", name="Count it again").first.bounding_box()["height"] >= 44
