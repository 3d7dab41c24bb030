"""Bodies, fit tests with their glaze lot, and a glaze set beside a measured body."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.book_glazes.conftest import BASE, BY, RED
from tests.studio_glazes.words import words
from wareboard.book.glazes import writing
from wareboard.book.glazes.models import FitTest, GlazeBatch, GlazeRecipe, MeasuredBody

pytestmark = pytest.mark.django_db
HERE = "/glazes/bodies/"
BODY = {"name": "Invented grey", "per_k": "95", "from_c": "20", "to_c": "500 °C", "measured": "invented laboratory"}


def test_with_no_body_both_pages_say_how_to_begin(client: Client, white: GlazeRecipe) -> None:
    assert "No body is measured yet" in words(client.get(HERE).content.decode())
    assert "Write down a body's measured expansion" in words(
        client.get(f"/glazes/recipes/{white.pk}/").content.decode().replace("&#x27;", "'")
    )


def test_a_glaze_is_set_beside_each_measured_body(client: Client, white: GlazeRecipe) -> None:
    """Worked example C2: the glaze is 61.57 by Appen's set, 33.4 below a body of 95 (arithmetic)."""
    assert client.post(HERE, BODY).status_code == 302
    page = words(client.get(f"/glazes/recipes/{white.pk}/").content.decode())
    assert "95 × 10⁻⁷" in page
    assert "33.4" in page
    assert "in compression" in page
    assert "invented laboratory" in words(client.get(HERE).content.decode())


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"per_k": "0.65"}, "fired bodies lie between"),
        ({"to_c": "10"}, "ends no warmer"),
        ({"measured": ""}, "must not be empty"),
    ],
)
def test_a_body_that_cannot_be_is_told_with_what_was_typed_kept(
    client: Client, typed: dict[str, str], told: str
) -> None:
    answer = client.post(HERE, BODY | typed)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert told in words(page)
    assert 'value="Invented grey"' in page
    assert not MeasuredBody.objects.exists()


def test_a_body_is_changed_and_undone(client: Client) -> None:
    client.post(HERE, BODY)
    held = MeasuredBody.objects.get()
    client.post(f"{HERE}{held.pk}/", BODY | {"per_k": "60"})
    assert MeasuredBody.objects.get().per_k == pytest.approx(60e-7)
    client.post(f"/glazes/move/body/{held.pk}/undo/")
    assert MeasuredBody.objects.get().per_k == pytest.approx(95e-7)


def test_a_fit_test_names_the_bucket_that_was_tested(client: Client, bucket: GlazeBatch) -> None:
    recipe = bucket.version.recipe
    asked = {"day": "2026-11-25", "test": "crazing", "outcome": "crazed", "body": "Invented grey"}
    client.post(f"/glazes/recipes/{recipe.pk}/fit/", asked | {"batch_id": str(bucket.pk)})
    assert FitTest.objects.get().batch == bucket
    page = words(client.get(f"/glazes/recipes/{recipe.pk}/").content.decode())
    assert "Glaze lot" in page
    assert "batch 1" in page.split("Glaze lot")[1]


def test_flux_shares_and_their_ratio_are_shown(client: Client, white: GlazeRecipe) -> None:
    """Worked example A2: K2O 0.2645, CaO 0.7355."""
    page = words(client.get(f"/glazes/recipes/{white.pk}/").content.decode())
    assert "0.26 : 0.74" in page
    assert "K2O of the fluxes 26." in page
    assert "CaO of the fluxes 73." in page


def test_a_glaze_is_set_among_those_tested_on_a_body(client: Client, white: GlazeRecipe) -> None:
    """Soda feldspar and whiting alone expand more than the limestone glaze, by any set: it lies below one that crazed."""
    hot = writing.begin_recipe("Hot", (("soda feldspar", 90.0), ("whiting", 10.0)), (), "Begun", BY)
    asked = {"day": "2026-11-25", "test": "crazing", "outcome": "none", "body": "Invented grey"}
    client.post(f"/glazes/recipes/{white.pk}/fit/", asked)
    page = words(client.get(f"/glazes/recipes/{hot.pk}/").content.decode())
    assert "Beside glazes tested on Invented grey" in page
    assert "Moor white, version 1: nothing seen" in page
    client.post(f"/glazes/recipes/{white.pk}/fit/", asked | {"outcome": "crazed"})
    page = words(client.get(f"/glazes/recipes/{hot.pk}/").content.decode())
    assert "It expands more than Moor white, version 1, which crazed on this body: look for crazing" in page


def test_a_coloured_glaze_is_set_beside_a_body_by_its_base(client: Client) -> None:
    """Appen's set has no factor for 8 % of iron oxide; the base is the limestone glaze of 61.57, 33.4 below a body of 95."""
    red = writing.begin_recipe("Red", BASE, RED, "Begun", BY)
    client.post(HERE, BODY)
    page = words(client.get(f"/glazes/recipes/{red.pk}/").content.decode())
    assert "By its base alone: what is on top has no factor" in page
    assert "33.4 × 10⁻⁷ per K" in page
