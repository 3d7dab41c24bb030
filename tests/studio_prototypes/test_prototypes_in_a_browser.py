"""The prototype's pages in Debian's Chromium: for everyone (axe), on a phone, and a tile's corners clicked."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.studio.conftest import CUPS
from tests.studio.test_browser import PHONE, browser, faults, visit  # noqa: F401 - fixtures
from tests.studio_prototypes.test_approval import rewrite
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
from tests.studio_prototypes.test_several_forms import SET
from wareboard.book import keeping
from wareboard.book.models import Commission
from wareboard.studio.today import now

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
APPROVAL = "/commissions/26-01/approval/"


def begun(studio) -> list[str]:  # type: ignore[no-untyped-def]
    three_tiles()
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON, "heron.svg")})
    studio.post(PAINTING, PAINT_BOXES | {"picture": file(artwork(), "reeds.png")})
    studio.post(APPROVAL, {"do": "approve"})
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON.replace(b"L18 58", b"L16 58"), "second.svg")})
    return [MARK, PAINTING, "/tiles/", APPROVAL, "/commissions/26-01/"]


def test_axe_finds_nothing_wrong_and_nothing_is_wider_than_a_phone(visit, studio, cups: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    addresses = begun(studio)
    page = visit("/tiles/", size=PHONE)
    found = []
    for address in addresses:
        page.goto(address)
        if address in (MARK, PAINTING):
            page.wait_for_selector("#w-page, #w-preview", timeout=60_000)
        found += faults(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], address
    assert found == []


def test_the_row_of_links_leads_to_a_form_that_takes_anothers_drawing(visit, studio, db: None) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    commission = keeping.new_commission(SET, "A set", why="Begun", who="", when=now())
    studio.post(MARK, MARK_BOXES | {"form": "cup", "picture": file(HERON, "heron.svg")})
    page = visit(MARK, size=PHONE)
    page.get_by_role("link", name="Bowl, none yet").click()
    expect(page.get_by_role("heading", name="Mark on Bowl")).to_be_visible()
    page.get_by_label("Or the same as").select_option("Cup")
    page.get_by_label("Height when fired").fill("12 mm")
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_role("heading", name="The first page of templates")).to_be_visible(timeout=60_000)
    expect(page.locator("#worked")).to_contain_text("12.0 mm")
    assert faults(page) == []
    rewrite(commission, 'name = "Bowl"', 'name = "Dish"')
    page.goto(f"{MARK}?form=bowl")
    assert faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
    page.get_by_role("button", name="Keep it so").click()
    expect(page.get_by_role("heading", name="Mark on Dish")).to_be_visible()


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


def on_the_cup(studio) -> list[str]:  # type: ignore[no-untyped-def]
    begun(studio)
    return [f"/commissions/26-01/forms/cup/round/?on={on}" for on in ("mark", "raw", "fired")]


def test_axe_finds_nothing_wrong_with_the_form_in_the_round_and_what_is_on_it(  # type: ignore[no-untyped-def]
    visit,  # noqa: F811
    studio,
    cups: Commission,
) -> None:
    for address in on_the_cup(studio):
        page = visit(address, size=PHONE)
        expect(page.locator(".turntable canvas")).to_be_visible()
        assert faults(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]


def shades(page: Page, every: int = 12) -> list[list[int]]:
    """The colours of the turning view, one dot in so many each way, as the eye sees them."""
    from io import BytesIO

    import numpy as np
    from PIL import Image

    shown = np.asarray(Image.open(BytesIO(page.locator(".turntable").screenshot())).convert("RGB"))[::every, ::every]
    found: list[list[int]] = shown.reshape(-1, 3).astype(int).tolist()
    return found


def test_the_painting_turns_by_finger_and_keys_with_its_numbers(visit, studio, cups: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    _, _, address = on_the_cup(studio)
    page = visit(address, size=PHONE)
    table, canvas = page.locator(".turntable"), page.locator(".turntable canvas")
    expect(canvas).to_be_visible()
    # The blue square lies half way round, away from the eye; turned to it, blue is seen and its number comes up.
    blue = lambda: sum(b > r + 15 for r, _, b in shades(page))  # noqa: E731
    before = blue()
    numbers = page.locator(".spots span:visible")
    first = numbers.all_text_contents()
    canvas.focus()
    for _ in range(9):
        page.keyboard.press("ArrowRight")
    expect(table).to_have_attribute("data-turn", "120")
    assert "3" in numbers.all_text_contents()
    assert blue() > before
    assert numbers.all_text_contents() != first
    box = canvas.bounding_box()
    page.mouse.move(box["x"] + 100, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 150, box["y"] + 100)
    page.mouse.up()
    expect(table).to_have_attribute("data-turn", "150")


def test_the_mark_is_seen_on_the_turning_form_and_not_through_it(visit, studio, cups: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    address, _, _ = on_the_cup(studio)
    dark = lambda page: sum(max(each) < 45 for each in shades(page, 1))  # noqa: E731
    counts = []
    for turn in (270, 0):  # one of the two marks faces the eye; both lie on the silhouette
        page = visit(f"{address}&turn={turn}&tip=10", size=PHONE)
        expect(page.locator(".turntable canvas")).to_be_visible()
        counts.append(dark(page))
    assert counts[0] > counts[1] >= 0


def test_without_script_there_are_four_sides_and_links(visit, studio, cups: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    _, address, _ = on_the_cup(studio)
    page = visit(address, size=PHONE, scripts=False)
    pictures = page.locator(".turntable .still img, .four-sides img")
    expect(pictures).to_have_count(5)
    for picture in pictures.all():
        picture.scroll_into_view_if_needed()
        expect(picture).to_have_js_property("complete", value=True)
        assert picture.evaluate("image => image.naturalWidth") > 0
    page.get_by_role("link", name="Turn right").click()
    expect(page).to_have_url(re.compile("turn=60.*on=raw"))


def test_a_zones_number_is_not_shown_over_the_handle(visit, studio, cups: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    """The handle is a part of its own: whatever number it stands before is left out, and comes back beside it."""
    handled = CUPS.replace('rim = "84 mm"', 'rim = "84 mm"\nhandle = {}')
    keeping.write(cups.paper, handled, seen=None, why="A handle", who="", when=now())
    three_tiles()
    studio.post(PAINTING, PAINT_BOXES | {"repeats": "6", "picture": file(artwork(), "reeds.png")})
    counts = []
    for turn in (270, 90):  # the handle towards the eye, and away from it
        page = visit(f"/commissions/26-01/forms/cup/round/?on=fired&turn={turn}&tip=0", size=PHONE)
        expect(page.locator(".turntable canvas")).to_be_visible()
        counts.append(page.locator(".spots span:visible").count())
    assert 0 < counts[0] < counts[1]
