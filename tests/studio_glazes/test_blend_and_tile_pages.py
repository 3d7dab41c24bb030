"""Blends and tiles: laid out, weighed never below the scale, recorded with a photograph, laid side by side."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from tests.book_glazes.conftest import BY, RED
from tests.studio_glazes.conftest import picture
from tests.studio_glazes.words import words
from wareboard.book.glazes import writing
from wareboard.book.glazes.models import BlendPlan, GlazeRecipe, TestTile

pytestmark = pytest.mark.django_db


@pytest.fixture
def corners(white: GlazeRecipe) -> list[str]:
    """Four recipes to blend between."""
    assert white.current is not None
    others = [
        writing.begin_recipe(name, base, RED, "Begun", BY).current
        for name, base in (
            ("Peat", (("potash feldspar", 50.0), ("silica / flint", 30.0), ("whiting", 20.0))),
            ("Slate", (("soda feldspar", 50.0), ("silica / flint", 25.0), ("dolomite", 25.0))),
            ("Loam", (("soda feldspar", 40.0), ("kaolin", 20.0), ("talc", 40.0))),
        )
    ]
    return [str(white.current.pk), *(str(each.pk) for each in others if each)]


def lay_out(client: Client, kind: str, corners: list[str], **sizes: str) -> BlendPlan:
    typed = {f"corner{at}": key for at, key in enumerate(corners)} | {"name": f"A {kind}"} | sizes
    answer = client.post(f"/glazes/blends/new/{kind}/", typed)
    assert answer.status_code == 302, words(answer.content.decode())
    return BlendPlan.objects.latest("pk")


@pytest.mark.parametrize(
    ("kind", "count", "sizes", "tiles"),
    [
        ("line", 2, {"tiles": "11"}, 11),
        ("triaxial", 3, {"rows": "6"}, 21),
        ("quadraxial", 4, {"rows": "5", "columns": "5"}, 25),
        ("four", 4, {"steps": "4"}, 35),
    ],
)
def test_each_kind_makes_its_tiles_with_codes(
    client: Client, corners: list[str], kind: str, count: int, sizes: dict[str, str], tiles: int
) -> None:
    """Of a triaxial of n rows: n (n + 1) / 2; of a grid: rows by columns; every mix of four in quarters: C(7, 3) = 35."""
    plan = lay_out(client, kind, corners[:count], **sizes)
    assert plan.tiles.count() == tiles
    assert plan.tiles.filter(code=f"{plan.stem}-A1").exists()
    page = client.get(f"/glazes/blends/{plan.stem}/").content.decode()
    assert f"{plan.stem}-A1" in page
    labels = client.get(f"/glazes/blends/{plan.stem}/labels.pdf")
    assert labels.content.startswith(b"%PDF")


def test_the_grid_leaves_the_fluxes_and_names_what_cannot_be(client: Client, white: GlazeRecipe) -> None:
    flux = writing.begin_recipe("Flux part", (("potash feldspar", 60.0), ("whiting", 40.0)), (), "Begun", BY)
    assert flux.current is not None
    plan = lay_out(
        client, "grid", [str(flux.current.pk)], aluminas="0.1 0.4 0.5", silicas="2.5 3 4", clay="kaolin", flint="flint"
    )
    page = words(client.get(f"/glazes/blends/{plan.stem}/").content.decode())
    assert "the rest of it already brings more alumina" in page
    assert plan.tiles.count() == 6
    assert plan.figures["flint"] == "silica / flint"


def test_no_line_is_below_what_the_scale_can_weigh(client: Client, corners: list[str]) -> None:
    plan = lay_out(client, "line", corners[:2], tiles="11")
    page = client.get(f"/glazes/blends/{plan.stem}/", {"scale_g": "0.1 g", "base_g": ""}).content.decode()
    table = page.split('aria-label="Weigh-out of the tiles"')[1].split("</table>")[0]
    rows = re.findall(r"<tr><th scope=\"row\">B1-A\d+</th>(.*?)</tr>", table)
    weights = [float(cell) for row in rows for cell in re.findall(r'<td class="number">([\d.]+)</td>', row)]
    assert len(rows) == 11
    assert min(weights) >= 0.5 - 1e-9  # five steps of the scale
    told = words(client.get(f"/glazes/blends/{plan.stem}/", {"scale_g": "0.1 g", "base_g": "10 g"}).content.decode())
    assert "some lines would be too light for a scale that reads to 0.1 g" in told
    assert "or mix the corners as slip" in told


def test_slips_are_measured_in_the_tiles_shares(client: Client, corners: list[str]) -> None:
    plan = lay_out(client, "line", [corners[1], corners[2]], tiles="3")
    asked = {"tile_ml": "60 ml", "step_ml": "1 ml", "gravities": "1.45", "density": "2.6"}
    page = words(client.get(f"/glazes/blends/{plan.stem}/", asked).content.decode())
    assert "B1-A2 30 30" in page  # both have 8 on top: half and half
    assert "Have ready, ml 90 90" in page
    told = words(client.get(f"/glazes/blends/{plan.stem}/", asked | {"tile_ml": "8 ml"}).content.decode())
    assert "cannot show it within a tenth" in told


def test_the_same_corner_twice_is_refused(client: Client, corners: list[str]) -> None:
    typed = {"corner0": corners[0], "corner1": corners[0], "name": "Twice", "tiles": "5"}
    answer = client.post("/glazes/blends/new/line/", typed)
    assert "two of them are the same" in words(answer.content.decode())
    assert (BlendPlan.objects.count(), TestTile.objects.count()) == (0, 0)


def test_a_blend_is_not_moved_by_a_later_version_of_its_corner(
    client: Client, corners: list[str], white: GlazeRecipe
) -> None:
    plan = lay_out(client, "line", corners[:2], tiles="3")
    before = client.get(f"/glazes/blends/{plan.stem}/").content.decode().split("Weigh-out of the tiles")[1]
    writing.write_version(white, (("whiting", 100.0),), (), "another", BY)
    after = client.get(f"/glazes/blends/{plan.stem}/").content.decode().split("Weigh-out of the tiles")[1]
    assert before.split("</table>")[0] == after.split("</table>")[0]


def test_a_tile_is_recorded_with_its_photograph_without_the_cameras_notes(client: Client, white: GlazeRecipe) -> None:
    tile = {
        "version_id": str(white.current_id), "body": "Grey stoneware", "cone": "6", "place": "top shelf", "coats": "2",
        "surface": "satin", "colour_words": "chalk white", "photo": picture(),
    }  # fmt: skip
    client.post("/glazes/tiles/new/", tile)
    kept = TestTile.objects.get()
    assert (kept.code, kept.coats, kept.cone) == ("T1", 2, "6")
    photo = client.get("/glazes/tiles/T1/photograph/")
    assert photo["Content-Type"] == "image/jpeg"
    assert b"Invented camera" not in photo.content
    client.post("/glazes/tiles/T1/", {"colour_words": "blue", "cone": "", "version_id": str(white.current_id)})
    kept.refresh_from_db()
    assert (kept.colour_words, kept.cone, kept.photo_id is not None) == ("blue", "", True)


def test_a_file_that_is_no_picture_is_refused_and_what_was_typed_stays(client: Client, white: GlazeRecipe) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    sent = SimpleUploadedFile("notes.txt", b"not a picture")
    answer = client.post("/glazes/tiles/new/", {"colour_words": "chalk white", "photo": sent})
    assert answer.status_code == 422
    assert "it is text, whatever its name says" in words(answer.content.decode())
    assert 'value="chalk white"' in answer.content.decode()
    assert TestTile.objects.count() == 0


def test_tiles_lie_side_by_side_in_the_order_asked_for(client: Client) -> None:
    for name, colour in (("chalk", (220, 215, 200)), ("peat", (60, 40, 30))):
        client.post("/glazes/tiles/new/", {"colour_words": name, "photo": picture(colour)})
    page = client.get("/glazes/tiles/side-by-side/?t=T2&t=T1&t=nothing").content.decode()
    assert page.index("/glazes/tiles/T2/photograph/") < page.index("/glazes/tiles/T1/photograph/")
    assert "Peat" in words(page)


def test_a_tile_of_a_blend_says_what_is_on_it_and_becomes_a_recipe(client: Client, corners: list[str]) -> None:
    plan = lay_out(client, "line", corners[:2], tiles="3")
    page = client.get(f"/glazes/tiles/{plan.stem}-A2/").content.decode()
    assert "+ 4 red iron oxide (on top)" in words(page)
    form = re.search(r'<form method="post" action="/glazes/recipes/new/".*?</form>', page, re.DOTALL)
    assert form is not None
    client.post(
        "/glazes/recipes/new/",
        dict(re.findall(r'name="([mpt]\d+|name|why)" value="([^"]*)"', form[0])) | {"do": "keep"},
    )
    recipe = GlazeRecipe.objects.get(name="A line B1-A2")
    assert recipe.current is not None
    assert dict(recipe.current.base)["potash feldspar"] == pytest.approx(45.0)
    assert recipe.current.additions == [["red iron oxide", 4.0]]


def test_tiles_are_found_by_the_oxides_in_what_is_on_them(client: Client, corners: list[str]) -> None:
    """White holds no magnesia, Slate has its dolomite: only the tiles with some of the second hold it."""
    plan = lay_out(client, "line", [corners[0], corners[2]], tiles="3")
    page = words(client.get("/glazes/", {"oxide": "MgO"}).content.decode())
    assert f"{plan.stem}-A2" in page
    assert f"{plan.stem}-A3" in page
    assert f"{plan.stem}-A1" not in page
