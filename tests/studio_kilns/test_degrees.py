"""The kiln pages in °F: levels have 32 in them and differences have not, and every step still works out."""

from __future__ import annotations

import re
from datetime import date

import pint
import pytest
from django.test import Client

from tests.studio.test_pages import words_of
from tests.studio_kilns.conftest import BY, many_firings
from wareboard.book import keeping
from wareboard.book.firings import reckoning, recording
from wareboard.book.firings.models import Kiln
from wareboard.studio.kilns import degrees
from wareboard.working import worked_out

UNITS: pint.UnitRegistry = pint.UnitRegistry()  # type: ignore[type-arg]


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 20.0, 573.0, 1222.0])
def test_levels_spans_and_rates_are_those_of_pint(celsius: float) -> None:
    """Source: pint's own degC, degF and their differences."""
    level = UNITS.Quantity(celsius, "degC").to("degF").magnitude
    span = UNITS.Quantity(celsius, "delta_degC").to("delta_degF").magnitude
    assert degrees.level(celsius, "F") == f"{level:.0f} °F".replace("-", "\N{MINUS SIGN}")
    assert degrees.span(celsius, "F") == f"{span:.0f} °F".replace("-", "\N{MINUS SIGN}")
    assert degrees.rate(celsius, "F") == f"{span:.0f} °F/h".replace("-", "\N{MINUS SIGN}")


@pytest.mark.parametrize(
    ("words", "turned"),
    [
        ("Raise the end of the firing by 10 °C, by the hold", "Raise the end of the firing by 18 °F, by the hold"),
        ("all levels together are 10 °C under cone 6", "all levels together are 18 °F under cone 6"),
        ("mean of the levels: rising by 0.5 °C a firing", "mean of the levels: rising by 0.9 °F a firing"),
        ("hours over the last 100 °C", "hours over the last 180 °F"),
        ("ramp 60 °C/h to 1222 °C", "ramp 108 °F/h to 2232 °F"),
        ("peak 1222 °C at 8.0 h", "peak 2232 °F at 8.0 h"),
        ("+10 °C (5 to 15 °C)", "+18 °F (9 to 27 °F)"),
        ("between 1200 to 1222 °C", "between 2192 to 2232 °F"),
        ("the reading is 1300 °C and stays there", "the reading is 2372 °F and stays there"),
        ("no temperatures here", "no temperatures here"),
    ],
)
def test_words_of_the_kiln_room_are_turned_by_what_they_mean(words: str, turned: str) -> None:
    assert degrees.in_degrees(words, "F") == turned
    assert degrees.in_degrees(words, "C") == words


def test_every_step_still_works_out_in_fahrenheit(kiln: Kiln) -> None:
    many_firings(kiln, 2)
    review = reckoning.firings_of(kiln)[-1].review
    assert review is not None
    shown = [step for step in review.steps if step.formula and step.unit == "°C"]
    assert len(shown) >= 2
    for step in shown:
        for difference in (True, False):
            turned = degrees.step_in(step, "F", difference)
            assert worked_out(turned.formula, turned.inputs) == pytest.approx(turned.value)


def test_a_chosen_degree_holds_on_every_kiln_page_and_goes_back(client: Client, kiln: Kiln) -> None:
    made = many_firings(kiln, 3)[-1]
    back = f"/kilns/{kiln.slug}/firings/{made.number}/"
    pages = [back, f"/kilns/{kiln.slug}/", "/kilns/", f"/kilns/{kiln.slug}/offsets/"]
    assert all("°C" in client.get(page).content.decode() for page in pages)
    assert client.post("/kilns/degrees/", {"degrees": "F", "back": back})["Location"] == back
    for page in pages:
        body = client.get(page).content.decode()
        # The working behind a figure may name °C as its source does; what is shown may not.
        shown = words_of(re.sub(r'<div class="working">.*?</div>', " ", body, flags=re.DOTALL).encode())
        without_switch = shown.replace("Show °C", "").replace("Unit of the readings As its headings say °C °F", "")
        assert "°F" in shown, page
        assert "°C" not in without_switch.replace("temperature °C", ""), page
    client.post("/kilns/degrees/", {"degrees": "C", "back": "https://elsewhere.example/"})
    assert "°F" not in words_of(client.get("/kilns/").content).replace("Show °F", "")


def test_a_firing_is_shown_in_its_commissions_degrees_until_the_person_chooses(client: Client, kiln: Kiln) -> None:
    text = 'title = "a"\ndue = 2027-02-12\nshow_temperatures = "F"\n[[forms]]\nname = "Cup"\ncount = 24\nheight = "95 mm"\n'
    job = keeping.new_commission(text, "a", why="Begun", who="", when=BY.when)
    day = date(2026, 11, 20)
    for code, unit in ((job.code, "°F"), ("", "°C")):
        fields = {"kind": "glaze", "cone": "6", "day": day, "commission_code": code}
        made = recording.new_firing(kiln, fields, BY)
        assert f"Temperatures in {unit}" in words_of(client.get(f"/kilns/{kiln.slug}/firings/{made.number}/").content)
