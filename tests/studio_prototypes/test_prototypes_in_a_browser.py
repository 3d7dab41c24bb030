"""The prototype's pages in Debian's Chromium: for everyone (axe), on a phone, and a tile's corners clicked."""

from __future__ import annotations

import pytest

from tests.studio.test_browser import PHONE, browser, faults, visit  # noqa: F401 - fixtures
from tests.studio_prototypes.test_art_pages import (
    HERON,
    MARK,
    MARK_BOXES,
    PAINT_BOXES,
    PAINTING,
    artwork,
    file,
    three_tiles,
)
from wareboard.book.models import Commission

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
APPROVAL = "/commissions/26-01/approval/"


def begun(studio) -> list[str]:  # type: ignore[no-untyped-def]
    three_tiles()
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON, "heron.svg")})
    studio.post(PAINTING, PAINT_BOXES | {"picture": file(artwork(), "reeds.png")})
    studio.post(APPROVAL, {"do": "approve"})
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON.replace(b"L18 58", b"L16 58"), "second.svg")})
    return [MARK, PAINTING, "/tiles/", APPROVAL, "/commissions/26-01/"]


@pytest.mark.parametrize("look", ["light", "dark"])
def test_axe_finds_nothing_wrong_and_nothing_is_wider_than_a_phone(visit, studio, cups: Commission, look: str) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    addresses = begun(studio)
    page = visit("/tiles/", size=PHONE, look=look)
    found = []
    for address in addresses:
        page.goto(address)
        if address in (MARK, PAINTING):
            page.wait_for_selector("#w-page, #w-preview", timeout=60_000)
        found += faults(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], address
    assert found == []


def test_two_clicks_on_the_photograph_write_the_tiles_place_into_its_box(visit, db: None) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/tiles/")
    page.set_input_files("#picture", {"name": "tile.png", "mimeType": "image/png", "buffer": artwork()})
    page.click("[data-pick=id_tile_box]")
    page.click("#tile-canvas", position={"x": 60, "y": 50})
    page.click("#tile-canvas", position={"x": 20, "y": 20})
    left, top, right, bottom = (int(part) for part in page.input_value("#id_tile_box").split())
    assert (left, top) < (right, bottom)
    assert abs(left - 20) <= 2
    assert abs(bottom - 50) <= 2
