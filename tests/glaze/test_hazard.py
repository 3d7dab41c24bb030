"""Flags on recipes.

The black glaze of J. Hesselberth 1999 (Clayart, subject 18879) had copper carbonate 4, manganese dioxide 4 and cobalt
carbonate 3 on potash feldspar 79, whiting 5.5 and natural calcium borate 10.7; it leached and etched. Every one of the
three must be flagged. Words of the table are as printed there.
"""

from __future__ import annotations

import pytest

from wareboard.glaze.hazard import NOTHING_FLAGGED, flags, hazards
from wareboard.glaze.recipe import Recipe
from wareboard.reference import source_words

LIMESTONE = {"potash feldspar": 40, "silica / flint": 30, "whiting": 20, "kaolin": 10}
BLACK = Recipe(
    "leached black",
    {"potash feldspar": 79, "whiting": 5.5, "colemanite": 10.7},
    {"copper carbonate (basic)": 4, "manganese dioxide": 4, "cobalt carbonate": 3},
)


def test_a_plain_recipe_gets_the_neutral_words_and_a_dust_flag() -> None:
    found = flags(Recipe("invented", LIMESTONE))
    assert found.verdict == NOTHING_FLAGGED == "no flagged oxide; not tested"
    assert [flag.hazard.key for flag in found.in_handling] == ["silica"]
    assert "respirator" in found.in_handling[0].action


def test_the_glaze_that_leached_is_flagged_for_all_three_colours() -> None:
    found = flags(BLACK)
    assert {"copper", "manganese", "cobalt"} <= {flag.hazard.key for flag in found.on_ware}
    assert "laboratory" in found.verdict
    assert not found.blocked
    by_key = {flag.hazard.key: flag for flag in found.flags}
    assert by_key["copper"].materials == ("copper carbonate (basic)",)
    assert by_key["manganese"].fired_wt > 2


@pytest.mark.parametrize(("name", "key"), [("white lead", "lead"), ("antimony oxide", "antimony")])
def test_lead_and_antimony_are_kept_out_of_tableware(name: str, key: str) -> None:
    found = flags(Recipe("invented", LIMESTONE, {name: 1}))
    assert found.blocked
    assert found.flags[0].hazard.key == key
    assert "keep it out of tableware" in found.verdict


def test_barium_asks_for_a_laboratory() -> None:
    found = flags(Recipe("invented", LIMESTONE, {"barium carbonate": 5}))
    assert found.flags[0].weight == "lab test"


def test_a_material_with_no_parts_brings_no_flag() -> None:
    assert flags(Recipe("invented", LIMESTONE, {"barium carbonate": 0})).on_ware == ()


def test_no_word_of_it_says_that_ware_is_safe() -> None:
    for name in ("barium carbonate", "chromium oxide", "white lead", "lithium carbonate", "fluorspar", "soda ash"):
        found = flags(Recipe("invented", LIMESTONE, {name: 5}))
        told = " ".join([found.verdict, *map(str, found.flags)])
        assert "safe" not in told.lower()
    for hazard in hazards().values():
        assert "safe" not in " ".join((hazard.words, hazard.action, hazard.food_contact, hazard.flag)).lower()
        assert source_words(hazard.source) != hazard.source or hazard.source in ("from-memory", "common-practice")
