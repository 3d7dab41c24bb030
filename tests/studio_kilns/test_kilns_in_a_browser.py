"""The kilns' pages in Debian's Chromium: for everyone (axe), on a phone, without JavaScript, by pointer and by keyboard."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.studio.test_browser import PHONE, browser, faults, visit  # noqa: F401 - fixtures
from tests.studio_kilns.conftest import many_firings
from tests.studio_kilns.test_loads import ADDRESS
from wareboard.book.firings import recording
from wareboard.book.firings.models import ConeReading, Firing, Kiln, MovedLoad
from wareboard.book.models import Commission

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KILN = "/kilns/old-round-kiln/"
PAGES = (
    "/kilns/",
    KILN,
    f"{KILN}firings/new/",
    f"{KILN}firings/3/",
    f"{KILN}firings/3/change/",
    f"{KILN}firings/3/cones/",
    f"{KILN}firings/3/history/",
    f"{KILN}offsets/",
    "/kilns/schedule/",
    "/kilns/schedule/?do=hand&kind=glaze&cone=6&form=small&rate-1=x",
    ADDRESS,
)


def filled(kiln: Kiln) -> None:
    """Three firings, of which the last has a second log that cannot be read."""
    last = many_firings(kiln, 3)[-1]
    from tests.studio_kilns.conftest import BY

    recording.keep_log(last, b"minutes,temp C\n0,20\n1,-273\n2,25\n3,30\n", "broken.csv", {}, BY)


def test_axe_finds_nothing_wrong_with_many_records(visit, kiln: Kiln, cups: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    filled(kiln)
    page, found = visit("/kilns/"), []
    for address in PAGES:
        page.goto(address)
        found += faults(page)
        for fold in page.locator("details.fold:not([open]) > summary").all():
            if fold.is_visible():
                fold.click()
        found += faults(page)
    assert found == []


def test_axe_finds_nothing_wrong_with_no_record(visit, db: None) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/kilns/")
    assert faults(page) == []
    page.goto(KILN)
    assert faults(page) == []


def test_no_page_is_wider_than_a_phone_and_every_target_is_big_enough(visit, kiln: Kiln, cups: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    filled(kiln)
    page = visit("/kilns/", size=PHONE)
    small = """els => els.filter(el => { const b = el.getBoundingClientRect();
        return b.width && b.height && b.height < 43.5 && getComputedStyle(el).clipPath === 'none' })
        .map(el => el.outerHTML.slice(0, 120))"""
    for address in PAGES:
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], address
        targets = "button, .button, nav a, input:not([type=hidden]):not([type=checkbox]), select, .bend"
        assert page.eval_on_selector_all(targets, small) == [], address


def test_cones_are_tapped_without_javascript_on_a_phone(visit, firing: Firing) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit(f"{KILN}firings/1/cones/", size=PHONE, scripts=False)
    bottom = page.get_by_role("group", name="Target, cone 6 on bottom")
    bottom.get_by_label("5 o’clock").check(force=True)
    page.get_by_role("group", name="Guide, cone 5 on bottom").get_by_label("6 o’clock").check(force=True)
    page.get_by_role("button", name="Keep the cones").click()
    expect(page.locator("#cones")).to_contain_text("One change for the next firing")
    assert ConeReading.objects.get().target_deg == pytest.approx(8 + 82 * 5 / 6)
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(page.locator("#cones")).to_contain_text("No pack was read yet")


def test_a_log_is_taken_in_without_javascript(visit, firing: Firing, tmp_path) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    from tests.book_firings.conftest import curve_csv

    file = tmp_path / "firing.csv"
    file.write_bytes(curve_csv())
    page = visit(f"{KILN}firings/1/", scripts=False)
    page.get_by_label("File (CSV, up to 200 MB)").set_input_files(file)
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("status")).to_contain_text("kept and read")
    expect(page.get_by_role("img", name="temperature against hours")).to_be_visible()
    expect(page.locator("#log")).to_contain_text("cone 6")


def test_enter_in_a_segment_works_out_the_segments_as_written(visit, db: None) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/kilns/schedule/")
    target = page.get_by_label("Target of segment 3")
    target.fill("1180")
    target.press("Enter")
    expect(page.get_by_label("Target of segment 3")).to_have_value("1180")
    expect(page.locator("main")).to_contain_text("by hand")


def middle(page: Page, piece: str) -> tuple[float, float]:
    box = page.locator(f"svg[data-shelf='0'] [aria-label^='{piece},'] circle.body").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0


def test_a_piece_dragged_into_another_is_told_at_once_as_the_server_tells_it(visit, cups: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit(ADDRESS)
    page.locator("svg[data-shelf='0']").scroll_into_view_if_needed()
    start, end = middle(page, "A1"), middle(page, "A4")
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    page.mouse.move(end[0], end[1])
    page.mouse.up()
    list_ = page.locator("[data-faults='0']")
    expect(list_).to_contain_text(re.compile(r"A4 stands \d+ mm in A1"))
    told = list_.locator("li").all_inner_texts()
    page.get_by_role("button", name="Keep this arrangement").click()
    expect(page.get_by_role("alert")).to_contain_text(re.compile(r"A4 stands \d+ mm in A1"))
    assert page.locator("[data-faults='0'] li").all_inner_texts() == told
    assert not MovedLoad.objects.exists()


def test_a_piece_is_stepped_by_keyboard_kept_and_undone(visit, cups: Commission) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit(ADDRESS)
    box = page.locator("#x-3-0")
    before = float(box.input_value())
    piece = page.locator("svg[data-shelf='3'] [data-piece='3-0']")
    piece.focus()
    piece.press("ArrowRight")
    piece.press("Shift+ArrowRight")
    assert float(box.input_value()) == pytest.approx(before + 11.0)
    piece.press("Shift+ArrowLeft")
    piece.press("ArrowLeft")
    assert float(box.input_value()) == pytest.approx(before)
    expect(page.locator("[data-faults='3'] li")).to_have_count(0)
    page.get_by_role("button", name="Keep this arrangement").click()
    expect(page.get_by_role("status")).to_contain_text("kept over the plan")
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(page.locator("main")).to_contain_text("as planned")
