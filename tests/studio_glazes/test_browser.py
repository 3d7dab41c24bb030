"""The glaze book in Debian's Chromium: for everyone (axe), on a phone, live, and without JavaScript."""

from __future__ import annotations

import pytest
from django.test import Client
from playwright.sync_api import expect

from tests.studio.conftest import CUPS
from tests.studio.test_browser import PHONE, browser, faults, visit  # noqa: F401 - fixtures
from tests.studio_glazes.conftest import picture
from wareboard.book import keeping
from wareboard.book.glazes.models import GlazeBatch, GlazeRecipe
from wareboard.studio.naming import name_in
from wareboard.studio.today import now

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
EMPTY = (
    "/glazes/", "/glazes/recipes/new/", "/glazes/shelf/", "/glazes/shelf/new/", "/glazes/shelf/read-a-table/",
    "/glazes/from-a-formula/", "/glazes/blends/", "/glazes/blends/new/line/", "/glazes/tiles/", "/glazes/tiles/new/",
    "/glazes/tiles/side-by-side/", "/glazes/buckets/", "/glazes/food/", "/glazes/food/new/", "/glazes/put-away/",
    "/glazes/bodies/", "/glazes/blends/new/four/",
)  # fmt: skip


@pytest.fixture
def full(client: Client, bucket: GlazeBatch, white: GlazeRecipe) -> tuple[str, ...]:
    """A book with one of each thing, and the pages of them."""
    tile = {"version_id": str(white.current_id), "colour_words": "chalk white", "photo": picture()}
    client.post("/glazes/tiles/new/", tile)
    rows = {"m0": "soda feldspar", "p0": "60", "m1": "dolomite", "p1": "40", "m2": "copper carbonate (basic)", "p2": "3",
            "t2": "yes", "name": "Pond green", "do": "keep"}  # fmt: skip
    client.post("/glazes/recipes/new/", rows)
    green = GlazeRecipe.objects.get(name="Pond green")
    corners = {
        "corner0": str(white.current_id),
        "corner1": str(green.current_id),
        "name": "White to green",
        "tiles": "5",
    }
    client.post("/glazes/blends/new/line/", corners)
    card = {"day": "2026-11-25", "do": "keep", "weighed_g": "150", "weighed_ml": "100", "stock_ml": "4 l"}
    client.post("/glazes/buckets/1/card/", card)
    client.post("/glazes/buckets/1/card/", card | {"stock_ml": "3.8 l", "pieces": "5"})
    mug = {"name": "Mug", "depth_mm": "90 mm", "capacity_ml": "350 ml", "use": "cup", "places": ["European Union"],
           "inside_id": str(white.pk), "outside_id": str(green.pk)}  # fmt: skip
    client.post("/glazes/food/new/", mug)
    lab = {"day": "2026-11-20", "surface": "inside", "place": "European Union", "metal": "lead", "figures": "0.02"}
    client.post("/glazes/food/1/results/", lab | {"laboratory": "Invented Lab"})
    client.post(
        f"/glazes/recipes/{green.pk}/fit/",
        {"day": "2026-11-20", "test": "crazing", "outcome": "crazed", "body": "Grey"},
    )
    body = {"name": "Grey", "per_k": "65", "from_c": "20", "to_c": "500", "measured": "invented laboratory"}
    client.post("/glazes/bodies/", body)
    cups = keeping.new_commission(CUPS, name_in(CUPS), why="Begun", who="", when=now())
    client.post(f"/glazes/for/{cups.code}/", {"glaze": "White", "from": f"b{bucket.pk}"})
    poured = {"pieces": "10", "poured_ml": "3 l", "dumped_ml": "2600 ml", "stock_ml": "900 ml", "still_to_do": "30"}
    client.post("/glazes/buckets/1/card/", card | poured | {"commission_code": cups.code})
    return (
        f"/glazes/for/{cups.code}/", "/glazes/bodies/", "/glazes/bodies/1/",
        "/glazes/buckets/1/?join_ml=800+ml&join_gravity=1.48",
        f"/glazes/recipes/{white.pk}/", f"/glazes/recipes/{green.pk}/", f"/glazes/recipes/{white.pk}/change/",
        f"/glazes/recipes/{white.pk}/mix/?amount=1+kg", "/glazes/shelf/1/", "/glazes/lots/1/", "/glazes/tiles/T1/",
        "/glazes/tiles/side-by-side/?t=T1&t=B1-A1", "/glazes/blends/B1/", "/glazes/buckets/1/", "/glazes/food/1/",
        f"/glazes/history/recipe/{white.pk}/",
        "/glazes/from-a-formula/?formula=K2O+0.3+CaO+0.7+Al2O3+0.5+SiO2+4&shelf=own&prefer=fewest",
    )  # fmt: skip


def test_axe_finds_nothing_wrong_on_any_page(visit, full: tuple[str, ...]) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/glazes/")
    found = []
    for address in (*EMPTY, *full):
        page.goto(address)
        page.evaluate("document.querySelectorAll('main details').forEach(each => each.open = true)")
        page.evaluate("document.querySelectorAll('details.figure').forEach(each => each.open = false)")
        found += faults(page)
    assert found == []


def test_axe_finds_nothing_wrong_where_nothing_is_kept(visit) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/glazes/")
    found = []
    for address in EMPTY:
        page.goto(address)
        found += faults(page)
    assert found == []


def test_no_page_is_wider_than_a_phone_and_every_target_is_big_enough(visit, full: tuple[str, ...]) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/glazes/", size=PHONE)
    small = """els => els.filter(el => { const b = (el.closest('label') || el).getBoundingClientRect();
        return b.width && b.height && b.height < 43.5 && getComputedStyle(el).clipPath === 'none' })
        .map(el => el.outerHTML.slice(0, 120))"""
    for address in (*EMPTY, *full):
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], address
        targets = "button:not(.link), .button, nav a, input:not([type=hidden]), select"
        assert page.eval_on_selector_all(targets, small) == [], address


def test_a_recipe_is_worked_out_as_it_is_typed(visit) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/glazes/recipes/new/")
    page.get_by_label("Material, row 1").fill("potash feldspar")
    page.get_by_label("Parts, row 1").fill("50")
    page.get_by_label("Material, row 2").fill("whiting")
    page.get_by_label("Parts, row 2").fill("50")
    expect(page.locator("#live")).to_contain_text("Silica : alumina")
    page.get_by_label("Material, row 2").fill("whitting")
    expect(page.locator("#live")).to_contain_text("Did you mean 'whiting'")
    assert GlazeRecipe.objects.count() == 0


def test_a_weighing_tells_what_to_add_before_it_is_kept(visit, bucket: GlazeBatch) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/glazes/buckets/1/")
    page.get_by_label("Net weight of a known volume").fill("160")
    page.get_by_label("That volume").fill("100 ml")
    page.get_by_label("Left in the bucket").fill("5 l")
    expect(page.locator("#slip")).to_contain_text("stir water in")
    assert bucket.card.count() == 0


def test_a_recipe_is_written_changed_weighed_and_undone_without_javascript(visit) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    page = visit("/glazes/", scripts=False)
    page.get_by_role("link", name="Write a recipe").first.click()
    page.get_by_label("Material, row 1").fill("potash feldspar")
    page.get_by_label("Parts, row 1").fill("60")
    page.get_by_label("Material, row 2").fill("whiting")
    page.get_by_label("Parts, row 2").fill("40")
    page.get_by_label("Name", exact=True).fill("Plain")
    page.locator("main").get_by_role("button", name="Show what it comes to").last.click()
    expect(page.locator("#live")).to_contain_text("Silica : alumina")
    page.get_by_label("Name", exact=True).fill("Plain")
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Plain")
    page.get_by_label("How much").fill("5 l")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator("#weigh-out")).to_contain_text("Water for the batch")
    page.get_by_role("link", name="Change the recipe").click()
    page.get_by_label("Parts, row 2").fill("35")
    page.get_by_role("button", name="Keep as a new version").click()
    expect(page.locator("main")).to_contain_text("Version 2")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("main")).to_contain_text("Version 1 · counts now")
