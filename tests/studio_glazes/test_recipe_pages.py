"""Recipes in the studio: worked out, weighed, kept in versions, found again; bad input told in words with a way on."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from tests.book_glazes.conftest import BY, DAY
from tests.studio_glazes.words import words
from wareboard.book.glazes import writing
from wareboard.book.glazes.models import FitTest, GlazeBatch, GlazeRecipe, RecipeVersion, WeighedPiece
from wareboard.glaze.formula import analysis_wt, unity
from wareboard.glaze.material import shelf
from wareboard.glaze.recipe import Recipe
from wareboard.studio.glazes import reckoned as reckoned_module
from wareboard.studio.glazes.reckoned import reckoned
from wareboard.working import worked_out

pytestmark = pytest.mark.django_db
ROWS = {
    "m0": "potash feldspar", "p0": "40", "m1": "flint", "p1": "30", "m2": "Whiting", "p2": "20", "m3": "kaolin", "p3": "10",
}  # fmt: skip
NEW = "/glazes/recipes/new/"


def test_with_nothing_kept_the_page_says_how_to_begin(client: Client) -> None:
    page = words(client.get("/glazes/").content.decode())
    assert "No glaze is written down yet" in page
    assert "Write a recipe" in page


def test_a_recipe_is_kept_by_the_names_of_the_shelf_and_its_page_shows_the_unity_formula(client: Client) -> None:
    answer = client.post(NEW, ROWS | {"name": "Moor white", "cone": "cone 6", "do": "keep", "who": "Ida"}, follow=True)
    recipe = GlazeRecipe.objects.get()
    assert recipe.cone == "6"
    assert recipe.current is not None
    assert [name for name, _ in recipe.current.base] == ["potash feldspar", "silica / flint", "whiting", "kaolin"]
    assert recipe.current.who == "Ida"
    page = words(answer.content.decode())
    formula = unity(analysis_wt(Recipe("", {"potash feldspar": 40, "silica / flint": 30, "whiting": 20, "kaolin": 10})))
    for oxide, moles in formula.items():
        assert re.search(rf"{oxide} \w[\w ]* {moles:.3f}", page), oxide
    assert "no flagged oxide; not tested" in page.casefold()
    assert "viscosity" not in page.casefold()
    assert not re.search(r"\bsafe\b", page.casefold())


def test_the_page_gives_expansion_by_each_set_with_its_own_range_and_no_figure_across_sets(
    client: Client, white: GlazeRecipe
) -> None:
    page = words(client.get(f"/glazes/recipes/{white.pk}/").content.decode())
    assert "Set appen; nine glazes in ten lie within" in page
    assert "Each is comparable with itself alone" in page


def test_live_figures_come_alone_and_write_nothing(client: Client, white: GlazeRecipe) -> None:
    sent = {**ROWS, "why": "", "do": "keep"}  # a browser's script sends the button along that was pressed last
    page = client.post(f"/glazes/recipes/{white.pk}/change/", sent, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in page
    assert "Silica : alumina" in page
    assert RecipeVersion.objects.count() == 1


def test_a_change_is_a_new_version_shown_with_what_differs_and_can_be_undone(
    client: Client, white: GlazeRecipe
) -> None:
    rows = ROWS | {"p1": "25", "m4": "red iron oxide", "p4": "8", "t4": "yes", "do": "keep", "why": "redder"}
    page = words(client.post(f"/glazes/recipes/{white.pk}/change/", rows, follow=True).content.decode())
    assert "Kept as version 2" in page
    assert "silica / flint: was 30 , now 25" in page
    assert "red iron oxide (on top): was not there , now 8" in page
    client.post(f"/glazes/move/recipe/{white.pk}/undo/", {"back": "/glazes/"})
    white.refresh_from_db()
    assert white.current is not None
    assert white.current.number == 1
    client.post(f"/glazes/recipes/{white.pk}/versions/2/")
    white.refresh_from_db()
    assert white.current.number == 2
    assert RecipeVersion.objects.count() == 2


def test_parts_that_do_not_sum_to_100_are_brought_there_and_it_is_said(client: Client) -> None:
    page = words(client.post(NEW, ROWS | {"p0": "35"}).content.decode())
    assert "The base adds up to 95 parts; it is brought to 100" in page


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ({"m0": "kaolyn"}, "Did you mean 'kaolin'"),
        ({"p0": "-4"}, "there cannot be less than none of it"),
        ({"p0": "forty"}, "it is not a number"),
        ({"p0": ""}, "its parts are missing"),
        ({"p0": "nan"}, "it is not a finite number"),
        ({"m0": ""}, "Parts without a material"),
    ],
)
def test_a_row_that_cannot_be_is_told_beside_it_and_nothing_is_kept(
    client: Client, rows: dict[str, str], told: str
) -> None:
    answer = client.post(NEW, ROWS | rows | {"name": "Wrong", "do": "keep"})
    assert answer.status_code == 422
    page = words(answer.content.decode())
    assert told in page
    assert GlazeRecipe.objects.count() == 0
    assert 'value="Whiting"' in answer.content.decode()  # what was typed is still there


def test_an_unknown_material_is_a_way_to_put_it_on_the_shelf(client: Client) -> None:
    page = client.post(NEW, ROWS | {"m0": "Moorland stone"}, headers={"HX-Request": "true"}).content.decode()
    assert "/glazes/shelf/new/?name=Moorland%20stone" in page


def test_colourants_alone_have_no_unity_formula_and_are_shown_as_mol_percent(client: Client) -> None:
    page = words(client.post(NEW, {"m0": "red iron oxide", "p0": "90", "m1": "tin oxide", "p1": "10"}).content.decode())
    assert "there is no flux to bring to one" in page
    assert "the glaze holds no alumina" in page


def test_a_recipe_all_on_top_says_what_to_untick(client: Client) -> None:
    page = words(client.post(NEW, {"m0": "red iron oxide", "p0": "8", "t0": "yes"}).content.decode())
    assert "everything is on top and the base holds nothing" in page


def test_weigh_out_for_a_weight_brings_additions_on_top(client: Client, white: GlazeRecipe) -> None:
    """3000 g of base and 8 % on top are 240 g, 3240 in all (common practice: additions over 100 of base)."""
    writing.write_version(white, white.current.base, (("red iron oxide", 8.0),), "red", BY)  # type: ignore[union-attr]
    page = words(client.get(f"/glazes/recipes/{white.pk}/", {"amount": "3240 g"}).content.decode())
    assert "red iron oxide (on top) 240 g" in page
    assert "Dry, in all 3240 g" in page


def test_weigh_out_for_a_bucket_follows_brongniart(client: Client, white: GlazeRecipe) -> None:
    """A litre at 1.50 holds 833 g of a powder of density 2.5 (worked example on clayart, as in the glaze room's tests)."""
    asked = {"amount": "1 l", "gravity": "1.5", "density": "2.5", "scale": "1 g", "fine": "0.1 g"}
    page = words(client.get(f"/glazes/recipes/{white.pk}/", asked).content.decode())
    assert re.search(r"Dry, in all 83[34](\.\d)? g", page)
    assert re.search(r"Gives 66[67](\.\d+)? ml", page)


def test_a_coarse_scale_and_a_small_need_name_the_batch_that_would_do(client: Client, white: GlazeRecipe) -> None:
    asked = {"amount": "30 g", "scale": "10 g", "fine": "10 g"}
    page = words(client.get(f"/glazes/recipes/{white.pk}/", asked, headers={"HX-Request": "true"}).content.decode())
    assert "kaolin comes to 3 g: a scale that reads to 10 g cannot weigh it within a tenth" in page
    assert "Mix at least 500 g dry in all, or weigh it on a scale that reads to 0.5 g" in page


def test_what_is_kept_is_found_by_colour_surface_cone_and_oxide(client: Client, white: GlazeRecipe) -> None:
    about = {"name": "Moor white", "cone": "6", "surface": "Satin", "colour_words": "chalk white"}
    client.post(f"/glazes/recipes/{white.pk}/about/", about)
    for asked in ({"words": "white chalk"}, {"surface": "satin"}, {"cone": "cone 6"}, {"oxide": "CaO"}):
        assert "1 recipe." in words(client.get("/glazes/", asked).content.decode()), asked
    for asked in ({"words": "tenmoku"}, {"surface": "matt"}, {"cone": "9"}, {"oxide": "Fe2O3"}):
        assert "0 recipes. Nothing answers" in words(client.get("/glazes/", asked).content.decode()), asked


def test_a_fit_test_is_kept_with_the_version_and_shown_on_the_page(client: Client, white: GlazeRecipe) -> None:
    test = {"day": "2026-11-20", "test": "crazing", "outcome": "crazed", "body": "Grey stoneware", "cycles": "3"}
    page = words(client.post(f"/glazes/recipes/{white.pk}/fit/", test, follow=True).content.decode())
    assert FitTest.objects.get().version == white.current
    assert "Crazed" in page
    assert client.post(f"/glazes/recipes/{white.pk}/fit/", test | {"body": ""}).status_code == 422


def test_putting_away_takes_it_off_the_list_and_it_comes_back(client: Client, white: GlazeRecipe) -> None:
    client.post(f"/glazes/move/recipe/{white.pk}/put-away/", {"back": "/glazes/"})
    assert "No glaze is written down yet" in words(client.get("/glazes/").content.decode())
    assert "Moor white" in words(client.get("/glazes/put-away/").content.decode())
    client.post(f"/glazes/move/recipe/{white.pk}/bring-back/", {"back": "/glazes/put-away/"})
    assert "Moor white" in words(client.get("/glazes/").content.decode())


def test_nobody_is_led_to_another_host(client: Client, white: GlazeRecipe) -> None:
    answer = client.post(f"/glazes/move/recipe/{white.pk}/undo/", {"back": "https://elsewhere.invalid/"})
    assert answer["Location"] == "/glazes/"


def test_every_line_of_working_on_a_recipes_page_meets_its_own_value() -> None:
    known = reckoned(
        Recipe("white", {"potash feldspar": 40, "silica / flint": 30, "whiting": 20, "kaolin": 10}), shelf()
    )
    steps = [known.ratio, known.alkali, *known.fluxes, *(each.step for each in known.expansions)]
    formulas = [step for step in steps if step is not None and step.formula]
    assert len(formulas) >= 5
    for step in formulas:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, rel=1e-9), step.name


def test_the_first_set_shown_is_the_one_checked_best() -> None:
    known = reckoned(Recipe("white", {"potash feldspar": 40, "whiting": 20}), shelf())
    assert known.expansions[0].name == reckoned_module.FIRST_SET == "appen"


def test_a_recipe_changed_in_another_window_is_told_and_nothing_is_lost(client: Client, white: GlazeRecipe) -> None:
    seen = str(white.current_id)
    writing.write_version(white, (("whiting", 100.0),), (), "in another window", BY)
    rows = ROWS | {"p1": "25", "do": "keep", "seen": seen}
    answer = client.post(f"/glazes/recipes/{white.pk}/change/", rows)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "version 2 was written in another window (in another window)" in words(page)
    assert 'value="25"' in page
    now = re.search(r'name="seen" value="(\d+)"', page)
    assert now is not None
    client.post(f"/glazes/recipes/{white.pk}/change/", rows | {"seen": now[1]})
    assert RecipeVersion.objects.count() == 3


def test_what_a_job_needs_comes_with_its_range_and_goes_on_to_the_weigh_out(client: Client, white: GlazeRecipe) -> None:
    """24 x 276 cm2 x 0.053 g/cm2 = 351 g on the ware; with losses, dead slip and reserve as usual, by hand about 1160 g."""
    dry_in_ml = 0.45 * 2.6 / 1.6
    by_hand = ((24 * 276 * 0.053) / dry_in_ml / 0.9 + 700) * 1.25 * dry_in_ml
    asked = {"pieces": "24", "area": "276", "coats": "1", "way": "pour"}
    page = client.get(f"/glazes/recipes/{white.pk}/", asked, headers={"HX-Request": "true"}).content.decode()
    assert f"amount={by_hand:.0f}%20g" in page
    assert "Dry glaze to mix" in words(page)
    assert re.search(r"\d+ to \d+", words(page))
    wrong = client.get(f"/glazes/recipes/{white.pk}/", asked | {"area": "0"}, headers={"HX-Request": "true"})
    assert "it must be above 0" in words(wrong.content.decode())


def test_a_recipe_and_a_tile_print_with_codes(client: Client, white: GlazeRecipe) -> None:
    client.post("/glazes/tiles/new/", {"day": "2026-11-25", "version_id": str(white.current_id), "cone": "6"})
    for address in (f"/glazes/recipes/{white.pk}/card.pdf?version=1", "/glazes/tiles/T1/label.pdf?paper=letter"):
        answer = client.get(address)
        assert answer.status_code == 200, address
        assert answer.content.startswith(b"%PDF"), address
    assert client.get(f"/glazes/recipes/{white.pk}/card.pdf?version=9").status_code == 404
    assert client.get("/glazes/tiles/T9/label.pdf").status_code == 404


def test_a_job_is_told_by_the_glazes_own_weighed_pieces_and_the_dwell(client: Client, bucket: GlazeBatch) -> None:
    """Four pieces of exactly 0.025 g/cm2 by the root of the dwell: 24 x 276 cm2 in 4 s take 24 x 276 x 0.05 = 331 g."""
    for dwell in (1.0, 2.0, 4.0, 8.0):
        gained = 0.025 * dwell**0.5 * 200.0
        WeighedPiece.objects.create(
            batch=bucket,
            day=DAY,
            dwell_s=dwell,
            before_g=300.0,
            after_g=300.0 + gained,
            area_mm2=20_000.0,
            gravity=1.45,
        )
    asked = {"pieces": "24", "area": "276", "coats": "1", "way": "pour", "dwell": "4 s"}
    page = words(client.get(f"/glazes/recipes/{bucket.version.recipe_id}/", asked).content.decode())
    assert "By your own weighed pieces of this glaze" in page
    assert re.search(r"Dry glaze on all the ware 33[012]", page)
    brushed = words(
        client.get(f"/glazes/recipes/{bucket.version.recipe_id}/", asked | {"way": "brush"}).content.decode()
    )
    assert "By usual pick-up" in brushed
