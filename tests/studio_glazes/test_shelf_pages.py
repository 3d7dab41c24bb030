"""The shelf: analyses put in by choice, by hand and by table, all errors by line; lots, and what used one."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.studio_glazes.words import words
from wareboard.book.glazes.models import GlazeBatch, Lot, ShelfMaterial

pytestmark = pytest.mark.django_db
CSV = "material,SiO2,Al2O3,K2O,loi,clay,hazards\n"
CSV += "Moorland kaolin,47.2,38.0,1.4,13.1,yes,silica\nRiver spar,66.1,18.9,14.6,,,silica\n"


def test_an_empty_shelf_offers_the_shipped_table(client: Client) -> None:
    page = words(client.get("/glazes/shelf/").content.decode())
    assert "The shelf is empty" in page
    client.post("/glazes/shelf/from-the-table/", {"material": ["kaolin", "whiting", "no such thing"]})
    assert set(ShelfMaterial.objects.values_list("name", "analysis_from")) == {
        ("kaolin", "shipped"),
        ("whiting", "shipped"),
    }


def test_a_table_is_read_whole_from_a_file(client: Client) -> None:
    sent = SimpleUploadedFile("shelf.csv", CSV.encode("utf-8-sig"))
    client.post("/glazes/shelf/read-a-table/", {"file": sent})
    kaolin = ShelfMaterial.objects.get(name="Moorland kaolin")
    assert (kaolin.is_clay, kaolin.oxides_wt["Al2O3"], kaolin.hazards) == (True, 38.0, ["silica"])
    assert kaolin.loi_share == pytest.approx(0.131)
    assert kaolin.analysis_from == "supplier"


def test_everything_wrong_in_a_table_is_told_by_line_and_nothing_is_put_on(client: Client) -> None:
    wrong = CSV + "Bad one,x,,,,,\n,10,20,,,,\nToo much,90,90,,,,\n"
    answer = client.post("/glazes/shelf/read-a-table/", {"table": wrong})
    page = words(answer.content.decode())
    assert answer.status_code == 422
    for line in ("line 4", "line 5", "line 6"):
        assert line in page
    assert ShelfMaterial.objects.count() == 0
    assert "Bad one,x" in answer.content.decode()


def test_an_analysis_is_typed_and_must_make_about_a_hundred(client: Client) -> None:
    typed = {
        "name": "Ash",
        "analysis_from": "typed",
        "o-SiO2": "40",
        "o-CaO": "35",
        "loi": "25",
        "solubility": "slight",
    }
    client.post("/glazes/shelf/new/", typed)
    ash = ShelfMaterial.objects.get()
    assert (ash.oxides_wt, ash.solubility, ash.loi_share) == ({"SiO2": 40.0, "CaO": 35.0}, "slight", 0.25)
    answer = client.post("/glazes/shelf/new/", typed | {"name": "Other", "loi": "5"})
    assert "Other adds up to 80.00 %" in words(answer.content.decode())
    answer = client.post("/glazes/shelf/new/", typed | {"name": "Other", "o-SiO2": "-4"})
    assert "it must be 0 or more" in words(answer.content.decode())
    assert ShelfMaterial.objects.count() == 1


def test_a_lot_with_its_price_is_noted_and_shown(client: Client) -> None:
    client.post("/glazes/shelf/from-the-table/", {"material": ["kaolin"]})
    kaolin = ShelfMaterial.objects.get()
    lot = {
        "code": "K-22",
        "supplier": "Invented Minerals",
        "day": "2026-11-01",
        "price_per_kg": "2,40",
        "stock_g": "25 kg",
    }
    client.post(f"/glazes/shelf/{kaolin.pk}/lots/", lot)
    kept = Lot.objects.get()
    assert (kept.price_per_kg, kept.stock_g) == (2.4, 25000.0)
    page = words(client.get("/glazes/shelf/").content.decode())
    assert "K-22" in page
    assert "2.40" in page
    assert client.post(f"/glazes/shelf/{kaolin.pk}/lots/", lot | {"price_per_kg": "-1"}).status_code == 422


def test_a_replaced_lot_lists_everything_that_used_the_old_one(
    client: Client, bucket: GlazeBatch, lots: dict[str, Lot]
) -> None:
    old = lots["kaolin"]
    answer = client.post(f"/glazes/lots/{old.pk}/", {"do": "replace", "code": "K-23", "price_per_kg": "3"}, follow=True)
    page = words(answer.content.decode())
    assert "is replaced by lot K-23" in page
    assert "Batch 1" in page
    assert "Moor white" in page
    old.refresh_from_db()
    assert old.replaced_by is not None
    assert old.replaced_by.code == "K-23"


def test_a_materials_page_shows_its_marks_with_their_source(client: Client) -> None:
    client.post("/glazes/shelf/from-the-table/", {"material": ["barium carbonate"]})
    record = ShelfMaterial.objects.first()
    assert record is not None
    page = words(client.get(f"/glazes/shelf/{record.pk}/").content.decode())
    assert "soluble barium is acutely toxic" in page.casefold()


def test_a_table_brings_lots_with_price_and_stock_and_takes_them_in_anew(client: Client) -> None:
    text = "material,SiO2,lot,price_per_kg,stock_kg\nquarry flint,100,F-3,0.8,12.5\n"
    client.post("/glazes/shelf/read-a-table/", {"table": text})
    lot = Lot.objects.get()
    assert (lot.code, lot.price_per_kg, lot.stock_g) == ("F-3", 0.8, 12500.0)
    client.post("/glazes/shelf/read-a-table/", {"table": text.replace("12.5", "9").replace("0.8", "")})
    lot = Lot.objects.get()
    assert (lot.price_per_kg, lot.stock_g) == (0.8, 9000.0)
