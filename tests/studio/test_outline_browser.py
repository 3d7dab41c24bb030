"""The points of an outline in a real browser: dragged, moved by keys, added, taken away, undone, sent."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.studio.conftest import CUPS
from tests.studio.test_browser import DESK, PHONE, browser, visit  # noqa: F401
from tests.studio.test_from_photograph import BEGIN, HERE, cone
from wareboard.book import keeping
from wareboard.book.models import Commission
from wareboard.form import silhouette
from wareboard.studio.today import now

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
POINT = ".point-mark[role=slider]"


@pytest.fixture(scope="module", autouse=True)
def read_once() -> Iterator[None]:
    """One picture goes through all of these tests: what is read off it is kept, for reading takes a second or more."""
    read, kept = silhouette.profile_from_photo, {}

    def once(image: np.ndarray, **asked: object) -> silhouette.PhotoProfile:
        key = image.tobytes(), repr(asked)
        if key not in kept:
            kept[key] = read(image, **asked)  # type: ignore[arg-type]
        return kept[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(silhouette, "profile_from_photo", once)
        yield


@pytest.fixture
def read_cone(visit, tmp_path: Path):  # type: ignore[no-untyped-def]  # noqa: F811
    """Opens the page with a cone read from its picture: 100 mm high, 60 mm wide at the foot and 120 mm at the rim."""
    kept = tmp_path / "cone.png"
    kept.write_bytes(cone().read())

    def read(size: tuple[int, int] = DESK, look: str = "light", scripts: bool = True) -> Page:
        page: Page = visit(HERE, size=size, look=look, scripts=scripts)
        page.set_input_files("#picture", kept)
        page.fill("#size", "100 mm")
        page.get_by_role("button", name="Read it").click()
        page.wait_for_selector("#outline-points", state="attached")
        return page

    return read


def boxes(page: Page) -> np.ndarray:
    """(n, 2) of height and width in the boxes, mm."""
    read = "els => els.map(el => Number(el.value))"
    return np.array(
        [page.eval_on_selector_all(f"#outline-points [name^={name}]", read) for name in ("height", "width")]
    ).T


def middle(page: Page, at: int) -> tuple[float, float]:
    """Place on the screen of a point on the right side."""
    box = page.locator(POINT).nth(at).bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def mm_to_px(page: Page) -> float:
    """Dots of the screen to a millimetre, from the heights of the lowest and the highest point."""
    seen = boxes(page)
    return (middle(page, 0)[1] - middle(page, len(seen) - 1)[1]) / float(seen[-1, 0] - seen[0, 0])


def test_a_point_dragged_with_the_mouse_moves_by_as_much_as_the_hand_did(read_cone) -> None:  # type: ignore[no-untyped-def]
    """The scale is taken off the screen itself: 100 mm lie between the lowest and the highest point."""
    page = read_cone()
    before, dot = boxes(page), mm_to_px(page)
    page.locator(POINT).last.scroll_into_view_if_needed()
    x, y = middle(page, len(before) - 1)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 5 * dot, y - 3 * dot, steps=4)
    page.mouse.move(x + 10 * dot, y - 6 * dot, steps=4)
    page.mouse.up()
    after = boxes(page)
    assert after[-1, 0] - before[-1, 0] == pytest.approx(6.0, abs=0.4)
    assert after[-1, 1] - before[-1, 1] == pytest.approx(20.0, abs=0.6)
    assert (after[:-1] == before[:-1]).all()
    page.get_by_role("button", name="Undo").click()
    assert (boxes(page) == before).all()
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()


def test_the_left_side_is_dragged_as_the_mirror_of_the_right(read_cone) -> None:  # type: ignore[no-untyped-def]
    page = read_cone()
    before, dot = boxes(page), mm_to_px(page)
    left = page.locator(".point-mark[aria-hidden]").first
    left.scroll_into_view_if_needed()
    box = left.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 4 * dot, y, steps=5)
    page.mouse.up()
    assert boxes(page)[0, 1] - before[0, 1] == pytest.approx(8.0, abs=0.6)


def test_keys_move_a_point_by_one_and_five_millimetres_and_its_label_says_where(read_cone) -> None:  # type: ignore[no-untyped-def]
    page = read_cone()
    before = boxes(page)
    last = page.locator(POINT).last
    last.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowLeft")
    tall, radius = before[-1, 0] + 1, before[-1, 1] / 2 + 4
    assert boxes(page)[-1] == pytest.approx([tall, 2 * radius])
    assert last.get_attribute("aria-label").endswith(f"height {tall:g} mm, radius {radius:g} mm")
    page.keyboard.press("Control+z")
    assert boxes(page)[-1, 1] == pytest.approx(2 * radius + 2)


def test_a_point_never_passes_its_neighbour(read_cone) -> None:  # type: ignore[no-untyped-def]
    page = read_cone()
    page.locator(POINT).first.focus()
    for _ in range(40):
        page.keyboard.press("Shift+ArrowUp")
    heights = boxes(page)[:, 0]
    assert (np.diff(heights) >= 0).all()
    assert heights[0] == heights[1]


def test_points_are_added_and_taken_away_and_the_boxes_follow(read_cone) -> None:  # type: ignore[no-untyped-def]
    page = read_cone()
    before = boxes(page)
    page.get_by_role("button", name="Add a point").click()
    more = boxes(page)
    assert len(more) == len(before) + 1
    assert more[1] == pytest.approx((before[0] + before[1]) / 2, abs=0.06)
    page.get_by_role("button", name="Take it away").click()
    assert (boxes(page) == before).all()
    low, high = middle(page, 0), middle(page, 1)
    page.mouse.dblclick(low[0] * 0.4 + high[0] * 0.6, low[1] * 0.4 + high[1] * 0.6)
    added = boxes(page)
    assert len(added) == len(before) + 1
    assert added[1] == pytest.approx(before[0] * 0.4 + before[1] * 0.6, abs=0.5)
    expect(page.locator("[data-point-count]")).to_have_text(str(len(added)))


def test_a_figure_that_is_typed_moves_its_point(read_cone) -> None:  # type: ignore[no-untyped-def]
    page = read_cone()
    page.locator("summary", has_text="points from foot to rim").click()
    page.locator("#outline-points [name^=width]").last.fill("98,5 mm")
    assert page.locator(POINT).last.get_attribute("aria-label").endswith("radius 49.25 mm")
    page.locator("#outline-points [name^=width]").last.blur()
    page.get_by_role("button", name="Undo").click()
    assert boxes(page)[-1, 1] != 98.5


def test_what_was_dragged_is_what_is_kept(read_cone) -> None:  # type: ignore[no-untyped-def]
    page = read_cone()
    page.locator(POINT).last.focus()
    page.keyboard.press("Shift+ArrowRight")
    wanted = boxes(page)
    for name in ("name", "count", "shrinkage", "due"):
        page.fill(f"#{name}", BEGIN[name])
    page.get_by_role("button", name="Keep as a commission").click()
    page.wait_for_url(re.compile("/commissions/"))
    text = Commission.objects.get().paper.current.text  # type: ignore[union-attr]
    pairs = re.findall(r"\[([\d.]+), ([\d.]+)\]", text)
    assert np.array(pairs, dtype=float) == pytest.approx(wanted)


def test_a_finger_drags_a_point_and_not_the_page(read_cone) -> None:  # type: ignore[no-untyped-def]
    page = read_cone(size=PHONE)
    before, dot = boxes(page), mm_to_px(page)
    page.locator(POINT).last.scroll_into_view_if_needed()
    x, y = middle(page, len(before) - 1)
    scrolled = page.evaluate("scrollY")
    hand = page.context.new_cdp_session(page)
    # A thumb lands 15 dots off the point's middle and still has it.
    hand.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x + 15, "y": y}]})
    for part in (1, 2, 3):
        at = [{"x": x + 15, "y": y + part * 4 * dot}]
        hand.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": at})
    hand.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    after = boxes(page)
    assert before[-1, 0] - after[-1, 0] == pytest.approx(12.0, abs=0.8)
    assert after[-1, 1] == pytest.approx(before[-1, 1], abs=0.6)
    assert page.evaluate("scrollY") == scrolled


def test_without_a_script_two_more_points_may_be_written(read_cone) -> None:  # type: ignore[no-untyped-def]
    page = read_cone(scripts=False)
    page.locator("summary", has_text="points from foot to rim").click()
    page.get_by_label("Height of one more point, mm").first.fill("110")
    page.get_by_label("Width at one more point, mm").first.fill("130")
    for name in ("name", "count", "shrinkage", "due"):
        page.fill(f"#{name}", BEGIN[name])
    page.get_by_role("button", name="Keep as a commission").click()
    assert "[110.0, 130.0]]" in Commission.objects.get().paper.current.text  # type: ignore[union-attr]


@pytest.mark.parametrize(("size", "look"), [(DESK, "light"), (PHONE, "dark")])
def test_axe_finds_nothing_wrong_and_targets_are_a_thumb_wide(read_cone, size, look: str) -> None:  # type: ignore[no-untyped-def]
    page = read_cone(size=size, look=look)
    page.locator(POINT).nth(1).focus()
    found = Axe().run(page).response["violations"]
    assert [f"{each['id']}: {each['nodes'][0]['html'][:160]}" for each in found] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    box = page.locator(f"{POINT} .point-reach").first.bounding_box()
    assert min(box["width"], box["height"]) >= 43.5


TABLE = "height_mm,diameter_mm\n0,60\n45,88\n90,84"


@pytest.mark.parametrize(("size", "look"), [(DESK, "light"), (PHONE, "dark")])
def test_a_table_put_into_a_form_is_corrected_by_keys_and_undone(visit, size, look: str) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    keeping.new_commission(CUPS, "Cups", why="Begun", who="", when=now())
    page = visit("/commissions/26-01/forms/", size=size, look=look)
    page.get_by_role("link", name="Take its shape from a picture").click()
    page.get_by_label("or the table itself").fill(TABLE)
    page.get_by_role("button", name="Read the table").click()
    page.locator(POINT).last.focus()
    page.keyboard.press("Shift+ArrowUp")
    found = Axe().run(page).response["violations"]
    assert [f"{each['id']}: {each['nodes'][0]['html'][:160]}" for each in found] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    page.get_by_role("button", name="Put it into Cup").click()
    expect(page.get_by_role("status").filter(has_text="Look once more")).to_be_visible()
    page.get_by_role("button", name="Put it into Cup").click()
    page.wait_for_url(re.compile("/commissions/26-01/$"))
    assert "[95.0, 84.0]]" in Commission.objects.get().paper.current.text  # type: ignore[union-attr]
    page.get_by_role("button", name="Undo").first.click()
    expect(page.get_by_text("Undone: back at version 1")).to_be_visible()
    assert Commission.objects.get().paper.current.text == CUPS  # type: ignore[union-attr]
