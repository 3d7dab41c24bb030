"""Ware for food: each surface apart, limits with method and date, samples to send, results that lapse by themselves."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from tests.book_glazes.conftest import BASE, BY
from tests.studio_glazes.words import words
from wareboard.book.glazes import writing
from wareboard.book.glazes.models import FoodWare, GlazeBatch, GlazeRecipe, LabResult

pytestmark = pytest.mark.django_db
MUG = {
    "name": "Mug", "body": "Grey stoneware", "body_lot": "G-7", "cone": "6", "depth_mm": "90 mm", "capacity_ml": "350 ml",
    "use": "cup", "places": ["European Union", "United States"],
}  # fmt: skip
RESULT = {"day": "2026-11-20", "surface": "inside", "place": "European Union", "metal": "lead", "laboratory": "Invented Lab",
          "report": "R-1", "figures": "0.02 0.03 0.02 0.02"}  # fmt: skip


@pytest.fixture
def mug(client: Client, bucket: GlazeBatch, white: GlazeRecipe) -> FoodWare:
    """A mug, white inside from a bucket whose lots are all noted."""
    client.post("/glazes/food/new/", MUG | {"inside_id": str(white.pk)})
    return FoodWare.objects.get()


def page_of(client: Client, mug: FoodWare) -> str:
    return words(client.get(f"/glazes/food/{mug.pk}/").content.decode())


def test_limits_stand_as_printed_with_the_method_and_the_date_of_the_text(client: Client, mug: FoodWare) -> None:
    """A cup: 4.0 and 0.3 mg/l in 84/500/EEC Art. 2.4; 0.5 mg/l of lead in the FDA's action levels for cups."""
    page = page_of(client, mug)
    assert re.search(r"Lead, other fillable: 4\.0 mg/l", page)
    assert re.search(r"Cadmium, other fillable: 0\.3 mg/l", page)
    assert re.search(r"Lead, cups and mugs: 0\.5 mg/l", page)
    assert "ASTM C738" in page
    assert "EN 1388-1" in page
    assert re.search(r"\b(1984|2005)\b", page)  # the year of the text
    assert not re.search(r"\bsafe\b", page.casefold())


def test_the_inside_is_treated_apart_from_rim_and_outside(client: Client, mug: FoodWare, white: GlazeRecipe) -> None:
    red = writing.begin_recipe("Copper", BASE, (("copper carbonate", 4.0),), "Begun", BY)
    client.post(f"/glazes/food/{mug.pk}/change/", MUG | {"inside_id": str(white.pk), "outside_id": str(red.pk)})
    page = page_of(client, mug)
    inside, rest = page.split("Inside, in contact with food")[1].split("Outside", 1)
    assert "no flagged oxide; not tested" in inside
    assert "copper" in rest.split("Limits where it is sold")[0]
    assert "Not tested." in inside


def test_samples_to_send_are_counted_and_described(client: Client, mug: FoodWare) -> None:
    """Six for ASTM C738, four for EN 1388-1 (as in the shipped table of tests)."""
    page = page_of(client, mug)
    assert "10 pieces of Mug from one firing" in page
    assert "6 for ASTM C738" in page
    assert "body Grey stoneware, lot G-7, inside Moor white, version 1, cone 6" in page


def test_a_result_speaks_until_body_glaze_cone_or_a_lot_changes(
    client: Client, mug: FoodWare, white: GlazeRecipe, bucket: GlazeBatch
) -> None:
    client.post(f"/glazes/food/{mug.pk}/results/", RESULT)
    assert LabResult.objects.get().glaze == "Moor white, version 1"
    page = page_of(client, mug)
    assert "Speaks for what is made now: lead, report R-1" in page
    assert "highest 0.03" in page
    changes = [{"body": "Other"}, {"body_lot": "G-8"}, {"cone": "7"}]
    for change in changes:
        client.post(f"/glazes/food/{mug.pk}/change/", MUG | {"inside_id": str(white.pk)} | change)
        assert "Lapsed: lead, report R-1" in page_of(client, mug), change
    client.post(f"/glazes/food/{mug.pk}/change/", MUG | {"inside_id": str(white.pk)})
    assert "Speaks for what is made now" in page_of(client, mug)
    writing.write_version(white, BASE[:3], (), "no kaolin", BY)
    page = page_of(client, mug)
    assert "glaze was Moor white, version 1, now Moor white, version 2" in page


def test_a_result_lapses_when_the_newest_bucket_is_of_another_lot(
    client: Client, mug: FoodWare, bucket: GlazeBatch
) -> None:
    client.post(f"/glazes/food/{mug.pk}/results/", RESULT)
    lines = [
        writing.Weighed(line.material, line.grams, lot=None if line.material == "kaolin" else line.lot)
        for line in bucket.lines.all()
    ]
    writing.mix(bucket.version, writing.Mixed(bucket.day, lines, 1.45, 2.6), BY)
    page = page_of(client, mug)
    assert "Lapsed: lead, report R-1" in page
    assert "lot of the glaze was" in page


def test_too_few_figures_and_figures_below_nought_are_told(client: Client, mug: FoodWare) -> None:
    answer = client.post(f"/glazes/food/{mug.pk}/results/", RESULT | {"figures": "-1"})
    assert answer.status_code == 422
    client.post(f"/glazes/food/{mug.pk}/results/", RESULT | {"place": "United States", "figures": "0.1 0.1"})
    assert "6 articles are read together" in page_of(client, mug)


def test_ware_is_listed_with_how_its_inside_stands(client: Client, mug: FoodWare) -> None:
    assert (
        "no flagged oxide; not tested; no laboratory result"
        in words(client.get("/glazes/food/").content.decode()).casefold()
    )


def test_the_rim_has_its_own_test_samples_and_no_borrowed_limit(
    client: Client, mug: FoodWare, white: GlazeRecipe
) -> None:
    """ASTM C927 and EN 1388-2 stand apart from the test of the inside (the shipped table's source)."""
    page = page_of(client, mug)
    assert "Rim: ASTM C927" in page
    assert "more for the rim" not in page  # no glaze of its own is noted there
    client.post(f"/glazes/food/{mug.pk}/change/", MUG | {"inside_id": str(white.pk), "rim_id": str(white.pk)})
    client.post(f"/glazes/food/{mug.pk}/results/", RESULT | {"surface": "rim"})
    page = page_of(client, mug)
    assert "10 more for the rim (4 for EN 1388-2; 6 for ASTM C927)" in page
    assert "No limit for the rim is in the texts read" in page
    assert "within it" not in page


def test_a_result_that_speaks_takes_the_not_tested_away(client: Client, mug: FoodWare) -> None:
    assert "no flagged oxide; not tested" in page_of(client, mug)
    client.post(f"/glazes/food/{mug.pk}/results/", RESULT)
    page = page_of(client, mug)
    assert "no flagged oxide; a laboratory's result stands below" in page.replace("&#x27;", "'")
    assert "no flagged oxide; not tested" not in page.split("Limits where")[0]


def test_new_ware_is_first_sold_where_the_last_was(client: Client, mug: FoodWare) -> None:
    page = client.get("/glazes/food/new/").content.decode()
    for place, chosen in (("European Union", True), ("United States", True), ("California", False)):
        found = re.search(rf'<input[^>]*value="{place}"[^>]*>', page)
        assert found is not None
        assert ("checked" in found[0]) is chosen, place
