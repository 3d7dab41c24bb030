"""The corners of a sheet of paper in a real browser: tapped, dragged, moved by keys, undone, sent, and without a script."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Page, expect

from tests.form.photographs import Scene, photograph
from tests.form.photographs_with_sheet import true_corners
from tests.form.test_photo_sheet import with_sheet
from tests.studio.test_browser import DESK, browser, visit  # noqa: F401
from tests.studio.test_from_photograph import HERE, cone, nearest

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NARROW = (390, 844)
SUMMARY = "The sheet’s four corners, where it is not found or wrongly"


@pytest.fixture(scope="module")
def jug(tmp_path_factory: pytest.TempPathFactory) -> tuple[Scene, Path]:
    """A scene with an A4 sheet, and its picture in a file."""
    scene = with_sheet(3010)
    place = tmp_path_factory.mktemp("picture") / "jug.png"
    Image.fromarray(photograph(scene)).save(place)
    return scene, place


def shares(page: Page) -> np.ndarray:
    """(n, 2) of the corners that are written, per cent of the picture."""
    read = "els => els.map(el => el.value === '' ? NaN : Number(el.value))"
    found = np.array([page.eval_on_selector_all(f"[name^=corner-{way}]", read) for way in ("across", "down")]).T
    return found[np.isfinite(found).all(axis=1)]


def opened(visit, picture: Path, size: tuple[int, int] = NARROW, look: str = "light") -> Page:  # type: ignore[no-untyped-def]  # noqa: F811
    page: Page = visit(HERE, size=size, look=look)
    page.set_input_files("#picture", picture)
    page.select_option("#sheet", "a4")
    page.get_by_text(SUMMARY).click()
    expect(page.locator("[data-corner-board]")).to_be_visible()
    return page


def tap(page: Page, share: np.ndarray) -> None:
    box = page.locator("[data-corner-board] img").bounding_box()
    assert box
    page.mouse.click(box["x"] + box["width"] * share[0] / 100, box["y"] + box["height"] * share[1] / 100)


def test_four_taps_on_a_narrow_page_give_the_corners_and_the_piece_is_read(visit, jug) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    scene, picture = jug
    page = opened(visit, picture)
    page.locator("[data-corner-board]").scroll_into_view_if_needed()
    wanted = (true_corners(scene) + 0.5) / np.array(scene.size) * 100
    for share in wanted:
        tap(page, share)
    assert nearest(shares(page), true_corners(scene), scene.size) < 3.0
    assert page.evaluate("document.documentElement.scrollWidth") <= NARROW[0]
    mark = page.locator(".corner-mark").first.bounding_box()
    assert mark
    assert min(mark["width"], mark["height"]) >= 44
    buttons = page.locator(".corner-acts button").all()
    assert min(each.bounding_box()["height"] for each in buttons) >= 44  # type: ignore[index]
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_role("heading", name="What was found")).to_be_visible()
    assert nearest(shares(page), true_corners(scene), scene.size) < 0.8


def test_a_corner_is_dragged_moved_by_keys_and_undone(visit, jug) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    _, picture = jug
    page = opened(visit, picture, DESK)
    page.get_by_role("button", name="Corner 1", exact=True).focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    assert shares(page)[0] == pytest.approx([50.1, 51.0])
    page.locator(".corner-mark").first.scroll_into_view_if_needed()
    box, board = (page.locator(each).first.bounding_box() for each in (".corner-mark", "[data-corner-board] img"))
    assert box
    assert board
    x, y = box["x"] + 22, box["y"] + 22
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + board["width"] * 0.1, y - board["height"] * 0.2, steps=5)
    expect(page.locator(".corner-loupe")).to_be_visible()
    page.mouse.up()
    assert shares(page)[0] == pytest.approx([60.1, 31.0], abs=0.3)
    assert len(shares(page)) == 1
    page.get_by_role("button", name="Undo", exact=True).click()
    assert shares(page)[0] == pytest.approx([50.1, 51.0])
    page.get_by_role("button", name="Clear them").click()
    assert len(shares(page)) == 0


def test_a_sheet_that_is_not_found_leaves_the_picture_and_open_boxes(visit, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    picture = tmp_path / "cone.png"
    picture.write_bytes(cone().read())
    page = visit(HERE, size=NARROW, look="dark")
    page.set_input_files("#picture", picture)
    page.select_option("#sheet", "a4")
    page.get_by_role("button", name="Read it").click()
    expect(page.locator("[data-corner-board] img")).to_be_visible()
    tap_here = page.get_by_role("status").filter(has_text="tap corner 1")
    expect(tap_here).to_be_visible()
    found = Axe().run(page).response["violations"]
    assert [f"{each['id']}: {each['nodes'][0]['html'][:160]}" for each in found] == []
    page.select_option("#sheet", "")
    page.fill("#size", "100 mm")
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_role("heading", name="What was found")).to_be_visible()


def test_without_a_script_the_corners_are_written_by_hand(visit, jug) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    scene, picture = jug
    page = visit(HERE, size=NARROW, scripts=False)
    page.set_input_files("#picture", picture)
    page.select_option("#sheet", "a4")
    page.get_by_text(SUMMARY).click()
    for at, (across, down) in enumerate((true_corners(scene) + 0.5) / np.array(scene.size) * 100):
        page.get_by_label(f"Corner {at + 1}, per cent from the left").fill(f"{across:.1f}")
        page.get_by_label(f"Corner {at + 1}, per cent from the top").fill(f"{down:.1f}")
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_role("heading", name="What was found")).to_be_visible()
