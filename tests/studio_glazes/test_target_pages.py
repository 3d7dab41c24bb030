"""From a formula to a recipe: met exactly, or why not; limits; doing without a material; kept as a recipe."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.test import Client

from tests.studio_glazes.words import words
from wareboard.book.glazes.models import GlazeRecipe, Lot, ShelfMaterial
from wareboard.errors import NotInTable, Unreadable
from wareboard.studio.glazes.formula_words import formula_in
from wareboard.studio.glazes.target_pages import left_out

pytestmark = pytest.mark.django_db
HERE = "/glazes/from-a-formula/"
CONE_4 = "K2O 0.3, CaO 0.7, Al2O3 0.5, SiO2 4.0"  # Seger's cone 4, the standard porcelain glaze of the handbooks
ASKED = {"formula": CONE_4, "shelf": "all", "prefer": "fewest"}


def test_segers_cone_4_comes_out_as_the_handbooks_batch(client: Client, lots: dict[str, Lot]) -> None:
    """Cone 4 = 83.55 feldspar, 35 marble, 25.9 kaolin, 54 flint (Seger's cones, H. A. Seger 1886, printed in the Manual)."""
    page = words(client.get(HERE, ASKED | {"shelf": "own"}).content.decode()).split("Other ways")[0]
    assert "It can be met exactly" in page
    found = {
        name: float(parts)
        for parts, name in re.findall(r"(\d+\.\d\d) (potash feldspar|whiting|kaolin|silica / flint)", page)
    }
    whole = 83.55 + 35 + 25.9 + 54
    for name, parts in (("potash feldspar", 83.55), ("whiting", 35), ("kaolin", 25.9), ("silica / flint", 54)):
        assert found[name] == pytest.approx(100 * parts / whole, abs=0.5), name


def test_the_answer_is_kept_as_a_new_recipe_with_what_it_came_from(client: Client) -> None:
    page = client.get(HERE, ASKED).content.decode()
    form = re.search(r'<form method="post" action="/glazes/recipes/new/".*?</form>', page, re.DOTALL)
    assert form is not None
    typed = dict(re.findall(r'name="([mp]\d+|name|why)" value="([^"]*)"', form[0]))
    client.post("/glazes/recipes/new/", typed | {"do": "keep"})
    recipe = GlazeRecipe.objects.get()
    assert recipe.current is not None
    assert recipe.current.why == "From a formula"
    assert sum(parts for _, parts in recipe.current.base) == pytest.approx(100.0, abs=0.01)


def test_what_cannot_be_done_says_why_and_which_oxides_are_in_the_way(client: Client) -> None:
    page = words(client.get(HERE, ASKED | {"without": "potash feldspar, nepheline, K2O"}).content.decode())
    assert "It cannot be met exactly; this is the closest" in page
    assert "Cannot be done because" in page
    assert re.search(r"K2O: 0\.000 for 0\.300.*no material on the shelf holds any", page)


def test_other_ways_are_ranked(client: Client) -> None:
    assert "Other ways, best first" in words(client.get(HERE, ASKED).content.decode())


def test_an_empty_shelf_and_a_missing_wish_are_told_with_a_way_on(client: Client) -> None:
    assert "nothing stands on it" in words(client.get(HERE, ASKED | {"shelf": "own"}).content.decode())
    page = words(client.get(HERE, ASKED | {"formula": ""}).content.decode())
    assert "Choose a recipe, or write a formula out" in page


def test_cheapest_needs_prices_and_says_what_it_left_out_for_want_of_them(client: Client, lots: dict[str, Lot]) -> None:
    asked = ASKED | {"prefer": "cost"}
    page = words(client.get(HERE, asked).content.decode())
    assert "Left out for want of a price" in page
    assert "It can be met exactly" in page
    assert "Cost of a kilogram of dry mix" in page
    Lot.objects.update(price_per_kg=None)
    assert "no material has a price yet" in words(client.get(HERE, asked).content.decode())


def test_least_clay_is_kept_to(client: Client) -> None:
    page = words(client.get(HERE, ASKED | {"min_clay": "60"}).content.decode())
    assert "without the limit of" in page


def test_the_formula_of_a_recipe_is_met_by_the_recipe_itself(
    client: Client, white: GlazeRecipe, lots: dict[str, Lot]
) -> None:
    page = words(
        client.get(HERE, {"like": str(white.pk), "formula": "", "shelf": "own", "prefer": "fewest"}).content.decode()
    )
    assert "It can be met exactly" in page
    assert "40.00 potash feldspar" in page


def test_a_material_that_ran_out_is_done_without(client: Client, white: GlazeRecipe) -> None:
    """Whiting's lime from wollastonite, with its silica taken off the flint: the formula stays (arithmetic)."""
    page = words(client.get(HERE, {"swap": str(white.pk), "out": "whiting", "swap_shelf": "all"}).content.decode())
    assert "It can be met exactly" in page
    swapped = page.split("It can be met exactly")[1]
    assert " whiting" not in swapped.split("Oxide")[0].split("Distance")[0]


def test_a_formula_is_read_as_people_write_it() -> None:
    assert formula_in("k2o 0.3, CaO: 0.7\nSiO2=4") == {"K2O": 0.3, "CaO": 0.7, "SiO2": 4.0}
    with pytest.raises(Unreadable, match="oxides each with a number"):
        formula_in("K2O 0.3 CaO")
    with pytest.raises(NotInTable, match="XyO"):
        formula_in("XyO 0.3")
    with pytest.raises(Unreadable, match="twice"):
        formula_in("CaO 0.3 CaO 0.4")


def test_what_to_leave_out_is_known_by_oxide_hazard_or_material(db: None) -> None:
    assert left_out("Barium, zno, Flint") == ["barium", "ZnO", "silica / flint"]
    with pytest.raises(NotInTable, match="unobtainium"):
        left_out("unobtainium")


def test_lead_is_never_used_or_wanted(client: Client) -> None:
    page = words(client.get(HERE, ASKED | {"formula": "PbO 1 SiO2 2"}).content.decode())
    assert "it has no place on tableware" in page


def test_an_own_shelf_is_searched_alone(client: Client, lots: dict[str, Lot]) -> None:
    assert ShelfMaterial.objects.count() == 4
    page = words(client.get(HERE, ASKED | {"shelf": "own"}).content.decode())
    assert "It can be met exactly" in page


def test_weights_for_each_oxide_are_taken_and_refused_where_they_cannot_be(
    client: Client, lots: dict[str, Lot]
) -> None:
    """Feldspar brings as much alumina as potash, so 0.1 of the one and 0.3 of the other cannot both be met."""
    asked = ASKED | {"formula": "K2O 0.3, CaO 0.7, Al2O3 0.1, SiO2 3", "shelf": "own"}

    def alumina(weights: str) -> str:
        page = words(client.get(HERE, asked | {"weights": weights}).content.decode()).split("Other ways")[0]
        found = re.search(r"Al2O3 0\.100 (\d\.\d{3})", page)
        assert found is not None
        return found[1]

    assert alumina("K2O 50, SiO2 50") == "0.300"
    assert alumina("Al2O3 50") == "0.100"
    page = words(client.get(HERE, asked | {"weights": "Al2O3 0"}).content.decode())
    assert "may count 0.01 to 100 times" in page


def test_the_rank_is_by_fired_cost_in_the_workshops_money(
    client: Client, lots: dict[str, Lot], workshop_folder: Path
) -> None:
    (workshop_folder / "workshop.toml").write_text('[prices]\ncurrency = "SEK"\n', encoding="utf-8")
    page = words(client.get(HERE, ASKED | {"prefer": "cost"}).content.decode())
    assert "Ranked nearest first, then by what a kilogram of fired glaze costs, in SEK" in page
    assert "SEK" in words(client.get("/glazes/shelf/").content.decode())
    lot = next(iter(lots.values()))
    assert "SEK 2.50 a kilogram" in words(client.get(f"/glazes/lots/{lot.pk}/").content.decode())


def test_more_clay_than_all_of_it_is_refused_beside_its_box(client: Client) -> None:
    page = words(client.get(HERE, ASKED | {"min_clay": "150"}).content.decode())
    assert "it is more than all of the raw mix" in page
