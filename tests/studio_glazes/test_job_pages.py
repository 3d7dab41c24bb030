"""The glazes of a commission tied to versions and buckets; how far a bucket goes before and after five pieces."""

from __future__ import annotations

import re
import tomllib

import pytest
from django.test import Client

from tests.book_glazes.conftest import BY as BY_SOMEBODY
from tests.book_glazes.conftest import RED
from tests.studio.conftest import CUPS
from tests.studio_glazes.words import words
from wareboard.book import keeping
from wareboard.book.glazes import writing
from wareboard.book.glazes.models import GlazeBatch, GlazeRecipe, TiedGlaze
from wareboard.book.models import Commission
from wareboard.studio.naming import name_in
from wareboard.studio.today import now

pytestmark = pytest.mark.django_db


@pytest.fixture
def cups(db: None) -> Commission:
    """An invented commission with one glaze, inside."""
    return keeping.new_commission(CUPS, name_in(CUPS), why="Begun", who="", when=now())


def look(client: Client, cups: Commission) -> str:
    return words(client.get(f"/glazes/for/{cups.code}/").content.decode())


def tie(client: Client, cups: Commission, chosen: str) -> None:
    answer = client.post(f"/glazes/for/{cups.code}/", {"glaze": "White", "from": chosen})
    assert answer.status_code == 302


def test_an_untied_glaze_says_how_to_begin(client: Client, cups: Commission) -> None:
    page = look(client, cups)
    assert "not tied yet" in page
    assert "No recipe is written down yet" in page
    assert f"/glazes/for/{cups.code}/" in client.get(f"/commissions/{cups.code}/glazes/").content.decode()


def test_a_version_without_a_bucket_asks_for_one(client: Client, cups: Commission, white: GlazeRecipe) -> None:
    tie(client, cups, f"v{white.current_id}")
    assert TiedGlaze.objects.get().batch is None
    assert "Mix a bucket of it" in look(client, cups)


def test_a_bucket_is_told_by_the_plan_first_and_by_its_pieces_after_five(
    client: Client, cups: Commission, bucket: GlazeBatch
) -> None:
    """Arithmetic: 4000 ml less 300 dead at 40 ml a piece are 92 more."""
    tie(client, cups, f"b{bucket.pk}")
    assert TiedGlaze.objects.get().version == bucket.version
    before = look(client, cups)
    assert "By the figure for one piece this bucket does" in before
    assert f"with {cups.code} as the commission" in before
    assert f'name="commission_code" value="{cups.code}"' in client.get("/glazes/buckets/1/").content.decode()
    line = {"day": "2026-11-25", "do": "keep", "stock_ml": "4 l", "pieces": "5", "each_took_ml": "40 40 40 40 40"}
    client.post("/glazes/buckets/1/card/", line | {"commission_code": cups.code})
    after = look(client, cups)
    assert "This bucket does 92 more" in after
    assert re.search(r"Glazed, by the card 5 ", after)
    assert "From what this bucket" in after


def test_a_bucket_that_falls_short_says_what_to_top_up_with(
    client: Client, cups: Commission, bucket: GlazeBatch
) -> None:
    tie(client, cups, f"b{bucket.pk}")
    line = {"day": "2026-11-25", "do": "keep", "stock_ml": "700 ml", "pieces": "5", "each_took_ml": "40 40 40 40 40"}
    client.post("/glazes/buckets/1/card/", line | {"commission_code": cups.code})
    page = look(client, cups)
    assert "falls" in page
    assert "Slip to top up with" in page


def test_a_brief_with_another_recipe_is_told(client: Client, cups: Commission, white: GlazeRecipe) -> None:
    other = writing.write_version(white, (("potash feldspar", 60.0), ("whiting", 40.0)), (), "Bolder", BY_SOMEBODY)
    tie(client, cups, f"v{other.pk}")
    page = look(client, cups)
    assert "recipe is another than Moor white, version 2" in page
    assert "potash feldspar 40 in the brief, 60 here" in page


def test_a_tie_is_undone_by_choosing_none_and_what_is_no_bucket_is_refused(
    client: Client, cups: Commission, white: GlazeRecipe
) -> None:
    tie(client, cups, f"v{white.current_id}")
    tie(client, cups, "")
    assert TiedGlaze.objects.get().put_away is not None
    answer = client.post(f"/glazes/for/{cups.code}/", {"glaze": "White", "from": "b999"}, follow=True)
    assert "none of the recipes and buckets" in words(answer.content.decode())
    assert client.get("/glazes/for/NONE/").status_code == 404


def test_the_tied_recipe_is_written_into_the_brief_and_the_plan_goes_by_it(client: Client, cups: Commission) -> None:
    red = writing.begin_recipe("Red", (("potash feldspar", 60.0), ("whiting", 40.0)), RED, "Begun", BY_SOMEBODY)
    tie(client, cups, f"v{red.current_id}")
    page = look(client, cups)
    assert "Write its recipe into the brief" in page
    client.post(f"/glazes/for/{cups.code}/", {"glaze": "White", "do": "brief"})
    cups.paper.refresh_from_db()
    held = tomllib.loads(cups.paper.current.text)["glazes"][0]
    assert held["recipe"] == {"potash feldspar": 60, "whiting": 40}
    assert held["additions"] == {"red iron oxide": 8}
    page = look(client, cups)
    assert "recipe is another" not in page
    assert "Write its recipe into the brief" not in page
    assert "no flagged oxide; not tested" in page


def test_a_recipe_that_no_plan_knows_is_not_written_into_a_brief(client: Client, cups: Commission) -> None:
    odd = writing.begin_recipe("Odd", (("my own ash", 60.0), ("whiting", 40.0)), (), "Begun", BY_SOMEBODY)
    tie(client, cups, f"v{odd.current_id}")
    answer = client.post(f"/glazes/for/{cups.code}/", {"glaze": "White", "do": "brief"}, follow=True)
    assert "plans know the materials of the shipped table only" in words(answer.content.decode())
    cups.paper.refresh_from_db()
    assert "my own ash" not in cups.paper.current.text
