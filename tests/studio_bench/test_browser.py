"""The bench in Debian's Chromium: for everyone (axe), under one thumb, two taps, on paper, with and without scripts."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator

import pikepdf
import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright
from pytest_django.live_server_helper import LiveServer

from tests.studio.test_browser import DESK, PHONE, faults
from tests.studio.test_browser import visit as visit
from tests.studio_bench.conftest import do, put_up
from wareboard.book.boards.models import Board, Entry
from wareboard.book.measures.measuring import Reading, measure
from wareboard.book.measures.models import GaugeReadings
from wareboard.book.models import Commission
from wareboard.studio.today import now

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
ADDRESSES = (
    "",
    "today/",
    "H1/",
    "H1/history/",
    "H1/photographs/",
    "begin/",
    "timers/",
    "paper/",
    "paper/marks/",
    "today/ticks/",
    "shelf/1/",
    "measure/",
    "measure/26-01/?form=Handled+cup&what=height&stage=thrown",
    "measure/26-01/chart/?form=Handled+cup&what=height&stage=thrown",
    "measure/26-01/grid/",
    "measure/gauge/",
    "measure/gauge/1/",
    "waiting/",
    "away/",
)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium."""
    place = shutil.which("chromium")
    assert place, "install chromium, or deselect these tests with -m 'not browser'"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        with sync_playwright() as playwright:
            chromium = playwright.chromium.launch(executable_path=place, args=["--no-sandbox", "--disable-gpu"])
            yield chromium
            chromium.close()


def busy_day(commission: Commission) -> None:
    """Boards at many stages, a loss, something in the kiln, an entry that waits."""
    put_up(commission, 24, "thrown", ago_h=22)
    put_up(commission, 30, "drying", ago_h=40)
    put_up(commission, 20, "bone dry", ago_h=260)
    put_up(commission, 29, "drying", form="Side plate", ago_h=60)
    put_up(commission, 18, "painted", form="Side plate", ago_h=30)
    put_up(commission, 10, "thrown", ago_h=22)
    do("lose", "H1", pieces=2, reason="cracked", place="rim")
    do("load", "H3")
    do("move", "H1", to="drying", stage_seen="trimmed")
    measured_day(commission)


def measured_day(commission: Commission) -> None:
    """A run of heights with one piece outside its limits, and a study of the gauge."""
    for piece, mm in enumerate((107.4, 107.9, 107.6, 108.1, 107.7, 108.0, 107.5, 107.8, 112.9), 1):
        given = {"commission": commission.code, "form": "Handled cup", "stage": "thrown", "piece": str(piece)}
        measure(Reading(f"height-{piece:04d}", "height", mm, "Ada", now(), **given), now())
    GaugeReadings.objects.create(
        pk=1, what="height", people=["Ada", "Ben"], day=now().date(), agreed_span=4.0,
        readings=[[[95.0, 95.2], [96.1, 96.0], [94.2, 94.4]], [[96.2, 96.0], [97.1, 97.3], [95.2, 95.5]]],
    )  # fmt: skip


def test_axe_finds_nothing_wrong_on_any_page(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/bench/", size=PHONE)
    found = faults(page)
    busy_day(demo)
    for address in ADDRESSES:
        page.goto(f"/bench/{address}")
        found += faults(page)
    page.goto("/bench/H2/")
    for folded in page.locator("main details > summary").all():
        folded.click()
    found += faults(page)
    assert found == []


def test_every_target_is_big_enough_and_no_page_is_wider_than_the_phone(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    busy_day(demo)
    page = visit("/bench/", size=PHONE)
    small = """els => els.filter(el => { const b = (el.closest('label') || el).getBoundingClientRect();
        return b.width && b.height && (b.height < 43.5 || b.width < 43.5) && getComputedStyle(el).clipPath === 'none' })
        .map(el => el.outerHTML.slice(0, 120))"""
    for address in ADDRESSES:
        page.goto(f"/bench/{address}")
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], address
        targets = "main button, main .button, main nav a, main .boards a, main input:not([type=hidden]), main select"
        assert page.eval_on_selector_all(targets, small) == [], address


def test_a_loss_takes_two_taps_and_a_move_takes_two_from_the_list(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "thrown")
    page = visit("/bench/", size=PHONE)
    page.locator('[data-board="H1"]').click()  # one
    page.get_by_role("button", name="cracked").click()  # two
    expect(page.locator(".said.just-now")).to_contain_text("H1: 1 lost: cracked")
    expect(page.locator("[data-pieces]")).to_have_text("23")
    page.goto("/bench/")
    page.locator('[data-board="H1"]').click()  # one
    page.get_by_role("button", name="Trimmed").click()  # two
    expect(page.locator(".said.just-now")).to_contain_text("moved to trimmed")
    page.get_by_role("button", name="Undo H1: moved to trimmed").click()
    expect(page.locator(".said.just-now")).to_contain_text("undone: moved to trimmed")
    assert Board.objects.values_list("stage", "pieces").get() == ("thrown", 23)


def test_a_thumb_that_taps_twice_counts_once(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "thrown")
    page = visit("/bench/H1/", size=PHONE)
    page.get_by_role("button", name="thin").dblclick()
    expect(page.locator("[data-pieces]")).to_have_text("23")
    page.wait_for_timeout(900)
    assert Board.objects.get().pieces == 23


def test_steppers_count_up_and_down_within_the_board(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 3, "thrown")
    page = visit("/bench/H1/", size=PHONE)
    more = page.get_by_role("button", name="One more: How many lost")
    for _ in range(5):
        more.click()
    expect(page.locator("#lost")).to_have_value("3")
    page.get_by_role("button", name="One fewer: How many lost").click()
    page.get_by_role("button", name="slumped").click()
    expect(page.locator("[data-pieces]")).to_have_text("1")


def test_a_scale_that_types_like_a_keyboard_works_one_piece_after_another(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "ball")
    page = visit("/bench/H1/")
    page.locator("#grams").focus()
    for grams in ("  402.1 g", "ST,GS,+ 405.0g"):
        page.keyboard.type(grams)
        page.keyboard.press("Enter")
        expect(page.locator(".said.just-now")).to_contain_text(f"weighed: {grams.strip(' STGg,+')[:3]}")
        expect(page.locator("#grams")).to_be_focused()
    assert list(Entry.objects.filter(kind="weigh").order_by("pk").values_list("grams", flat=True)) == [402.1, 405.0]


def test_an_odd_weight_is_asked_about_in_the_browsers_list(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "ball")
    page = visit("/bench/H1/")
    page.locator("#grams").fill("4050")
    page.keyboard.press("Enter")
    expect(page.locator("#unsent")).to_contain_text("is usual")
    assert not Entry.objects.filter(kind="weigh").exists()
    page.get_by_role("button", name="Yes, keep it").click()
    expect(page.locator("#unsent")).to_be_hidden()
    assert Entry.objects.get(kind="weigh").grams == 4050.0


def test_a_timer_goes_on_while_the_screen_is_locked(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/bench/timers/", size=PHONE)
    page.get_by_label("What for").fill("Soak")
    page.get_by_label("How long").fill("2 min")
    page.get_by_role("button", name="Set it").click()
    left = page.locator("[data-ends]")
    expect(left).to_contain_text("1:5")
    # A locked screen stops every count in a page; the end is kept, so a page that wakes later shows what is left then.
    page.evaluate("""const real = Date.now; Date.now = () => real() + 90000""")
    expect(left).to_contain_text("0:2")
    page.evaluate("""const other = Date.now; Date.now = () => other() + 60000""")
    expect(left).to_have_text("Over")


def test_a_timer_that_ends_is_told_on_whichever_page_is_open_and_only_once(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/bench/timers/", size=PHONE)
    page.get_by_role("button", name="Let this phone ring").click()
    expect(page.get_by_role("button", name="This phone rings")).to_be_visible()
    page.get_by_label("What for").fill("Soak")
    page.get_by_label("How long").fill("2 s")
    page.get_by_role("button", name="Set it").click()
    expect(page.locator("[data-ends]")).to_be_visible()
    page.goto("/bench/")
    expect(page.locator(".ringing")).to_contain_text("Soak: the time is over")
    page.get_by_role("button", name="Quiet").click()
    page.goto("/bench/timers/")
    expect(page.locator(".timer.is-over")).to_contain_text("Over")
    expect(page.locator(".ringing")).to_have_count(0)


def test_the_dwell_counter_counts_down_to_nought(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/bench/timers/", size=PHONE)
    page.get_by_text("2 s", exact=True).click()
    page.locator("#dwell-go").click()
    expect(page.locator("#dwell-go .numeral")).to_have_text("0")


def test_all_of_it_works_without_javascript(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    page = visit("/bench/", size=PHONE, scripts=False)
    page.get_by_role("link", name="Put on boards").click()
    page.locator("#pieces-1").fill("24")
    page.locator("#form-1").fill("cup")
    page.locator("#stage-1").fill("thrown")
    page.get_by_role("button", name="Put on boards").click()
    page.get_by_role("link", name="H1").first.click()
    page.get_by_role("button", name="cracked").click()
    expect(page.locator("[data-pieces]")).to_have_text("23")
    page.get_by_role("button", name="Trimmed").click()
    expect(page.locator("[data-stage]")).to_contain_text("Trimmed")
    page.get_by_role("button", name="Undo H1: moved to trimmed").click()
    expect(page.locator("[data-stage]")).to_contain_text("Thrown")
    page.get_by_text("Part, merge, add").click()
    page.locator("#part").fill("10")
    page.get_by_role("button", name="Part", exact=True).click()
    expect(page.locator(".said")).to_contain_text("10 split off as H2")
    page.get_by_text("Part, merge, add").click()
    page.get_by_role("button", name="Take them over").click()
    expect(page.locator("[data-pieces]")).to_have_text("23")
    page.locator("#grams").fill("405 g")
    page.locator(".weigh").get_by_role("button").click()
    expect(page.locator(".said")).to_contain_text("weighed: 405 g")


def test_today_fits_on_one_page(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    busy_day(demo)
    page: Page = visit("/bench/today/", size=DESK)
    for paper in ("A4", "Letter"):
        assert len(pikepdf.open(io.BytesIO(page.pdf(format=paper))).pages) == 1


def test_the_grid_is_filled_by_keys_and_from_a_spreadsheet(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    """Twenty boards as a spreadsheet puts them on the clipboard: cells between tabs, rows between line ends."""
    page = visit(f"/bench/begin/{demo.code}/")
    page.locator("#code-1").focus()
    page.keyboard.type("h40")
    page.keyboard.press("Tab")
    page.keyboard.type("cup")
    page.keyboard.press("Tab")
    page.keyboard.type("24")
    page.keyboard.press("Tab")
    page.keyboard.type("dry")
    page.keyboard.press("Enter")
    expect(page.locator("#code-2")).to_be_focused()
    cells = "\r\n".join(
        f"\t{'Side plate' if n == 0 else ''}\t{10 + n}\t{'bisque' if n == 0 else ''}" for n in range(20)
    )
    page.evaluate(
        """cells => { const data = new DataTransfer(); data.setData('text/plain', cells);
        document.activeElement.dispatchEvent(new ClipboardEvent('paste',
            {clipboardData: data, bubbles: true, cancelable: true})) }""",
        cells,
    )
    expect(page.locator("#pieces-21")).to_have_value("29")
    page.get_by_role("button", name="Put on boards").click()
    expect(page.locator(".said")).to_contain_text("H40 (24)")
    assert Board.objects.count() == 21
    assert Board.objects.get(code="S20").pieces == 29


def test_dark_and_light_keep_the_numerals_apart_from_their_ground(visit, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    """High contrast: the numerals' contrast is 7 or more (WCAG 2.2, success criterion 1.4.6)."""
    put_up(demo, 24, "thrown")
    luminance = """() => { const at = document.querySelector('[data-pieces]');
        const light = text => { const [r, g, b] = text.match(/[\\d.]+/g).map(Number).map(v => v / 255)
            .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return .2126 * r + .7152 * g + .0722 * b };
        const a = light(getComputedStyle(at).color), b = light(getComputedStyle(document.body).backgroundColor);
        return (Math.max(a, b) + .05) / (Math.min(a, b) + .05) }"""
    for look in ("light", "dark"):
        assert visit("/bench/H1/", look=look).evaluate(luminance) >= 7


def test_the_manifest_lets_the_bench_be_installed(visit, demo: Commission, live_server: LiveServer) -> None:  # type: ignore[no-untyped-def]
    page = visit("/bench/")
    page.wait_for_function("navigator.serviceWorker.ready.then(() => true)")
    session = page.context.new_cdp_session(page)
    manifest = session.send("Page.getAppManifest")
    assert manifest["url"].startswith(live_server.url)
    assert manifest["errors"] == []
    assert session.send("Page.getInstallabilityErrors")["installabilityErrors"] in (
        [],
        [{"errorId": "in-incognito", "errorArguments": []}],
    )
