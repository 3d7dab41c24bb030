"""The studio in Debian's Chromium: for everyone (axe), without JavaScript, by keyboard, on a phone, and live."""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, Route, expect, sync_playwright
from pytest_django.live_server_helper import LiveServer

from tests.studio.conftest import CUPS
from wareboard.book import keeping
from wareboard.book.models import Commission, Version
from wareboard.studio import sections, starting
from wareboard.studio.today import now

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PHONE, DESK = (360, 780), (1280, 900)
expect.set_options(timeout=20_000)  # a loaded machine is no fault
ADDRESSES = (
    "/",
    "/start/",
    "/start/from-a-file/",
    "/start/from-a-photograph/",
    "/start/from-a-drawing/",
    "/put-away/",
    "/workshop/",
    "/workshop/text/",
    "/workshop/history/",
    *(f"/commissions/26-01/{'' if key == 'answers' else key + '/'}" for key, _ in sections.NAMES),
    "/commissions/26-01/forms/cup/round/",
    "/commissions/26-01/forms/cup/patterns/",
    "/commissions/26-01/forms/cup/outline/",
    "/commissions/26-01/edit/",
    "/commissions/26-01/text/",
    "/commissions/26-01/history/",
    "/commissions/26-01/history/1/",
    "/nothing/",
)

IN_THE_DARK = "axe.run({ runOnly: ['color-contrast'] }).then(found => found.violations)"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium."""
    place = shutil.which("chromium")
    assert place, "install chromium, or deselect these tests with -m 'not browser'"
    with pytest.MonkeyPatch.context() as patch:
        # Playwright keeps an event loop in this thread, and Django would refuse the database there; nothing is awaited here.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        with sync_playwright() as playwright:
            chromium = playwright.chromium.launch(executable_path=place, args=["--no-sandbox", "--disable-gpu"])
            yield chromium
            chromium.close()


@pytest.fixture
def visit(browser: Browser, live_server: LiveServer) -> Iterator[object]:
    """Opens pages in a fresh window; at the end says whether any of them asked another host or met an error."""
    windows, strangers, troubles = [], [], []

    def visit(address: str = "/", size: tuple[int, int] = DESK, look: str = "light", scripts: bool = True) -> Page:
        window = browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            color_scheme="dark" if look == "dark" else "light",
            java_script_enabled=scripts,
            base_url=live_server.url,
        )
        windows.append(window)
        page = window.new_page()
        page.set_default_timeout(30_000)
        page.on("request", lambda asked: None if asked.url.startswith(live_server.url) else strangers.append(asked.url))
        page.on("pageerror", lambda error: troubles.append(str(error)))
        page.on("console", lambda said: troubles.append(said.text) if "Content Security Policy" in said.text else None)
        page.goto(address)
        return page

    yield visit
    for window in windows:
        window.close()
    assert strangers == []
    assert troubles == []


def faults(page: Page) -> list[str]:
    """What axe finds wrong with a page; of its rules, colour contrast alone can come out otherwise in the dark."""
    found = Axe().run(page).response["violations"]
    page.emulate_media(color_scheme="dark")
    found += page.evaluate(IN_THE_DARK)
    page.emulate_media(color_scheme="light")
    return [f"{page.url}: {each['id']}: {each['nodes'][0]['html'][:160]}" for each in found]


def test_axe_finds_nothing_wrong_on_any_page(visit, demo_text: str) -> None:  # type: ignore[no-untyped-def]
    keeping.new_commission(demo_text, "Demo", why="Begun", who="", when=now())
    keeping.new_commission(CUPS, "Put away", why="Begun", who="", when=now())
    keeping.put_away(Commission.objects.get(code="26-02"), now())
    page = visit("/")
    found = []
    for address in ADDRESSES:
        page.goto(address)
        found += faults(page)
    page.goto("/commissions/26-01/forms/")
    page.locator("details.figure > summary").first.click()
    found += faults(page)
    page.goto("/start/")
    page.get_by_label("How many").fill("some")
    page.get_by_role("button", name="Keep as a commission").click()
    found += faults(page)
    assert found == []


def test_axe_finds_nothing_wrong_where_nothing_is_kept_yet(visit) -> None:  # type: ignore[no-untyped-def]
    assert faults(visit("/")) == []


def test_words_that_are_too_faint_in_the_dark_alone_are_found(visit, db: None) -> None:  # type: ignore[no-untyped-def]
    page = visit("/")
    page.evaluate("""() => {
        const faint = new CSSStyleSheet();
        faint.replaceSync("@media (prefers-color-scheme: dark) { * { color: #333 !important } }");
        document.adoptedStyleSheets = [faint];
    }""")
    assert ["color-contrast" in each for each in faults(page)] == [True]
    assert page.evaluate("matchMedia('(prefers-color-scheme: light)').matches")


def test_no_page_is_wider_than_a_phone_and_every_target_is_big_enough(visit, demo_text: str) -> None:  # type: ignore[no-untyped-def]
    keeping.new_commission(demo_text, "Demo", why="Begun", who="", when=now())
    page = visit("/", size=PHONE)
    small = """els => els.filter(el => { const b = el.getBoundingClientRect();
        return b.width && b.height && b.height < 43.5 && getComputedStyle(el).clipPath === 'none' })
        .map(el => el.outerHTML.slice(0, 120))"""
    for address in ADDRESSES:
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], address
        assert page.eval_on_selector_all("button, .button, nav a, input:not([type=hidden]), select", small) == [], (
            address
        )


def test_htmx_is_there_and_four_numbers_are_answered_as_they_are_typed(visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("/start/")
    assert page.evaluate("typeof htmx") == "object"
    page.get_by_label("1. Fired height").fill("95 mm")
    page.get_by_label("2. Shrinkage").fill("12")
    page.get_by_label("3. How many").fill("24")
    page.get_by_label("4. By when").fill("2027-02-12")
    expect(page.locator("#answer")).to_contain_text("108 mm")
    assert Commission.objects.count() == 0
    page.get_by_role("button", name="Keep as a commission").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("24 × piece")
    page.go_back()
    page.go_forward()
    assert Commission.objects.count() == 1


def test_the_ripple_is_live_then_accepted_then_undone(visit, cups: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/commissions/26-01/edit/")
    page.get_by_label("Height", exact=True).first.fill("4 in")
    ripple = page.locator("#ripple")
    expect(ripple).to_contain_text("+7.2 mm")
    assert Version.objects.count() == 1
    page.get_by_label("Why", exact=True).fill("client wants it taller")
    page.get_by_role("button", name="Accept").click()
    expect(page.get_by_role("status")).to_contain_text("version 2")
    expect(page.locator("main")).to_contain_text("115 mm")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("main")).to_contain_text("108 mm")
    page.get_by_role("button", name="Redo").click()
    expect(page.locator("main")).to_contain_text("115 mm")


def test_what_is_accepted_at_once_is_kept_once_and_not_looked_at_live_as_well(visit, cups: Commission) -> None:  # type: ignore[no-untyped-def]
    """The live look waits 0.2 s after a box is left, and the answer to the button may take longer than that."""
    page = visit("/commissions/26-01/edit/")
    sent: list[str] = []

    def held(route: Route) -> None:
        sent.append(route.request.post_data or "")
        page.wait_for_timeout(900)
        route.continue_()

    page.route("**/edit/", held)
    page.get_by_label("Height", exact=True).first.fill("4 in")
    page.get_by_role("button", name="Accept").click()
    expect(page.get_by_role("status")).to_contain_text("version 2")
    assert len(sent) == 1


FOUR_NUMBERS = {"1. Fired height": "95 mm", "2. Shrinkage": "12", "3. How many": "24", "4. By when": "2027-02-12"}


def keep_four_numbers(page: Page) -> None:
    for name, typed in FOUR_NUMBERS.items():
        page.get_by_label(name).fill(typed)
    page.get_by_role("button", name="Keep as a commission").click()


def test_a_button_pressed_again_while_the_answer_is_on_its_way_keeps_one_commission(  # type: ignore[no-untyped-def]
    visit, db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    slowly = starting._saved
    monkeypatch.setattr(starting, "_saved", lambda *given: (time.sleep(1.0), slowly(*given))[1])
    page = visit("/start/")
    for name, typed in FOUR_NUMBERS.items():
        page.get_by_label(name).fill(typed)
    page.get_by_role("button", name="Keep as a commission").evaluate(
        "button => { button.click(); setTimeout(() => button.click(), 500); }"
    )
    expect(page.get_by_role("navigation", name="This commission")).to_be_visible()
    page.go_back()
    page.go_forward()
    assert Commission.objects.count() == 1


def test_a_button_can_be_pressed_again_after_going_back(visit, db: None) -> None:  # type: ignore[no-untyped-def]
    page = visit("/start/")
    for count in (1, 2):
        keep_four_numbers(page)
        expect(page.get_by_role("navigation", name="This commission")).to_be_visible()
        assert Commission.objects.count() == count
        page.go_back()


def test_putting_back_leaves_everything_as_it_was(visit, cups: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/commissions/26-01/edit/")
    height = page.get_by_label("Height", exact=True).first
    height.fill("9 in")
    page.get_by_role("link", name="Put back").click()
    expect(page.get_by_label("Height", exact=True).first).to_have_value("3 3/4 in")
    assert Version.objects.count() == 1


def test_what_was_typed_survives_a_closed_window(visit, cups: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/commissions/26-01/edit/")
    page.get_by_label("Height", exact=True).first.fill("4 in")
    again = page.context.new_page()
    page.close()
    again.goto("/commissions/26-01/edit/")
    again.get_by_role("button", name="Take it up again").click()
    expect(again.locator("#ripple")).to_contain_text("+7.2 mm")
    expect(again.get_by_label("Height", exact=True).first).to_have_value("4 in")
    again.get_by_role("link", name="Put back").click()
    expect(again.get_by_label("Height", exact=True).first).to_have_value("3 3/4 in")
    expect(again.get_by_role("button", name="Take it up again")).to_have_count(0)


def test_wrong_input_stays_and_the_list_of_troubles_leads_to_its_box(visit, cups: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/commissions/26-01/edit/")
    page.get_by_label("Height", exact=True).first.fill("tall")
    page.get_by_label("Shrinkage in all").fill("11 %")
    page.get_by_role("button", name="Accept").click()
    expect(page.get_by_role("alert")).to_contain_text("One thing to put right")
    expect(page.get_by_label("Height", exact=True).first).to_have_value("tall")
    expect(page.get_by_label("Shrinkage in all")).to_have_value("11 %")
    page.get_by_role("alert").get_by_role("link").click()
    expect(page.get_by_label("Height", exact=True).first).to_be_focused()


def test_all_of_it_works_without_javascript(visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("/", scripts=False)
    page.get_by_role("link", name="Start from four numbers").first.click()
    page.get_by_label("1. Fired height").fill("95 mm")
    page.get_by_label("2. Shrinkage").fill("12 %")
    page.get_by_label("3. How many").fill("24")
    page.get_by_label("4. By when").fill("2027-02-12")
    page.get_by_label("What it is").fill("cup")
    page.get_by_role("button", name="Show the answer").click()
    expect(page.locator("#answer")).to_contain_text("108 mm")
    page.get_by_role("button", name="Keep as a commission").click()
    figure = page.locator("details.figure").first
    figure.locator("summary").first.click()
    expect(figure.get_by_text("On whose word").first).to_be_visible()
    page.get_by_role("link", name="Change", exact=True).click()
    page.get_by_label("Height", exact=True).first.fill("100 mm")
    page.get_by_role("button", name="Show what changes").last.click()
    expect(page.locator("#ripple")).to_contain_text("114 mm")
    page.get_by_role("button", name="Accept").click()
    expect(page.locator("main")).to_contain_text("114 mm")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("main")).to_contain_text("108 mm")
    page.get_by_text("More", exact=True).click()
    page.get_by_role("button", name="Put away").click()
    expect(page.locator("main")).to_contain_text("1 put away")
    page.get_by_role("button", name="Dark").click()
    expect(page.locator("html")).to_have_attribute("data-look", "dark")


def test_by_keyboard_alone(visit, cups: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/commissions/26-01/")
    page.keyboard.press("Tab")
    skip = page.get_by_role("link", name="Skip to the page")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.matches('details.figure > summary')"):
            break
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.keyboard.press("Enter")
    opened = page.locator("details.figure[open]")
    expect(opened).to_have_count(1)
    page.keyboard.press("Escape")
    expect(opened).to_have_count(0)
    assert page.evaluate("document.activeElement.matches('details.figure > summary')")


def test_dark_is_dark_and_a_choice_of_light_overrules_the_machine(visit, db: None) -> None:  # type: ignore[no-untyped-def]
    page = visit("/", look="dark")
    ground = "getComputedStyle(document.body).backgroundColor"
    assert page.evaluate(ground) == "rgb(29, 26, 23)"
    page.get_by_role("button", name="Light", exact=True).click()
    assert page.evaluate(ground) == "rgb(247, 244, 237)"


def test_both_faces_are_loaded_from_here(visit, db: None) -> None:  # type: ignore[no-untyped-def]
    page = visit("/")
    loaded = page.evaluate(
        "document.fonts.ready.then(() => [...document.fonts].filter(f => f.status === 'loaded').map(f => f.family))"
    )
    assert {name.strip('"') for name in loaded} == {"Atkinson Hyperlegible Next", "Young Serif"}


def test_a_form_turns_by_finger_and_by_keys_or_by_links_without_script(visit, cups: Commission) -> None:
    page: Page = visit("/commissions/26-01/forms/cup/round/", PHONE)
    table, canvas = page.locator(".turntable"), page.locator(".turntable canvas")
    expect(canvas).to_be_visible()
    expect(page.locator(".turntable .still")).to_be_hidden()
    canvas.focus()
    page.keyboard.press("ArrowRight")
    expect(table).to_have_attribute("data-turn", "40")
    page.keyboard.press("ArrowUp")
    expect(table).to_have_attribute("data-tip", "35")
    box = canvas.bounding_box()
    assert box
    page.mouse.move(box["x"] + 100, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 150, box["y"] + 100)
    page.mouse.up()
    expect(table).to_have_attribute("data-turn", "70")
    page.get_by_role("link", name="Turn left").click()
    expect(table).to_have_attribute("data-turn", "40")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
    plain: Page = visit("/commissions/26-01/forms/cup/round/", PHONE, scripts=False)
    expect(plain.locator(".turntable .still svg")).to_be_visible()
    plain.get_by_role("link", name="Turn right").click()
    expect(plain).to_have_url(re.compile("turn=60"))
