"""What a plan warns of: foreign money, a date that cannot be kept, which firing a note is about."""

from __future__ import annotations

from datetime import date

import pytest

from wareboard.plan import compile
from wareboard.plan.answers import answers
from wareboard.plan.noticing import told_once
from wareboard.plan.reading import read_brief
from wareboard.plan.result import Notice
from wareboard.plan.workshop import Workshop

TODAY = date(2026, 11, 25)
BRIEF = """
due = {due}
[clay]
shrinkage = "12 %"
[[forms]]
count = 12
height = "95 mm"
[prices]
{prices}
"""
OWN_PRICES = """
currency = "JPY"
wage_per_hour = 2500
clay_per_kg = 250
glaze_per_kg = 1200
energy_per_kwh = 32
packing_per_piece = 150
"""


def notices(due: str = "2027-03-01", prices: str = "") -> list[Notice]:
    brief = read_brief(BRIEF.format(due=due, prices=prices), today=TODAY)
    return list(compile(brief, Workshop(today=TODAY), seconds=0.05).notices)


def about_money(prices: str) -> list[Notice]:
    return [notice for notice in notices(prices=prices) if notice.about == "price"]


@pytest.mark.parametrize(("prices", "weight"), [('currency = "JPY"', "mind"), ('currency = "GBP"', "note")])
def test_usual_prices_in_another_currency_are_told(prices: str, weight: str) -> None:
    """A yen is about a 160th of a euro, a pound about 1.2 of one; from memory, 2024."""
    (told,) = about_money(prices)
    assert told.weight == weight
    assert "pay for an hour of work" in told.why


def test_own_prices_and_euros_need_no_such_warning() -> None:
    assert about_money("") == about_money('currency = "EUR"') == []
    kiln = '[[kilns]]\nname = "k"\nwear_per_firing = 900\n'
    assert about_money(OWN_PRICES + kiln) == []


def test_a_late_date_is_told_once_with_the_day_on_which_the_work_ends() -> None:
    late = next(notice for notice in notices(due="2026-11-27") if notice.about == "calendar")
    assert late.what.startswith("Too late by")
    assert "27 Nov 2026 was asked" in late.why
    assert "too late" not in late.why


def test_a_note_on_a_firing_says_which_firing() -> None:
    told = [notice.what for notice in notices() if notice.about.endswith("firing")]
    assert len(told) == len(set(told))
    assert {what.split(":")[0] for what in told} == {"Bisque firing", "Glaze firing"}


def about_sizes(form: str) -> list[Notice]:
    """Notices of sizes that a form is not drawn by."""
    words = f'due = 2027-03-01\n[clay]\nshrinkage = "12 %"\n[[forms]]\ncount = 12\n{form}\n'
    plan = compile(read_brief(words, today=TODAY), Workshop(today=TODAY), seconds=0.05)
    return [notice for notice in plan.notices if "set aside" in notice.what]


def test_sizes_beside_a_profile_that_says_otherwise_are_not_set_aside_in_silence() -> None:
    profile = "profile = [[0, 60], [50, 80], [100, 90]]"
    found = about_sizes(f'{profile}\nheight = "95 mm"\nrim = "90 mm"\nbelly = "120 mm"')
    assert [notice.what.split(" of ")[0].split(": ")[1] for notice in found] == ["the height", "the belly"]
    assert about_sizes(profile) == []
    assert about_sizes(f'{profile}\nheight = "100 mm"\nfoot = "60 mm"') == []


def test_a_belly_on_a_shape_that_has_none_is_not_set_aside_in_silence() -> None:
    assert len(about_sizes('height = "95 mm"\nshape = "cylinder"\nbelly = "99 mm"')) == 1
    assert about_sizes('height = "95 mm"\nshape = "belly"\nbelly = "99 mm"') == []


def test_a_handle_on_a_form_with_a_profile_alone_goes_by_the_height_of_its_profile() -> None:
    """By arithmetic: the same outside given as sizes has the same strap."""
    words = 'due = 2027-03-01\n[clay]\nshrinkage = "12 %"\n[[forms]]\ncount = 12\n{}\n[forms.handle]\n'
    straps = [
        compile(read_brief(words.format(form), today=TODAY), Workshop(today=TODAY), seconds=0.05).forms[0].strap
        for form in (
            "profile = [[0, 60], [100, 90]]",
            'height = "100 mm"\nrim = "90 mm"\nfoot = "60 mm"\nshape = "taper"',
        )
    ]
    assert straps[0] is not None
    assert straps[1] is not None
    assert straps[0].length_mm == pytest.approx(straps[1].length_mm)


def about_shape(name: str, more: str = "") -> list[Notice]:
    text = BRIEF.format(due="2027-03-01", prices="").replace("count = 12", f'name = "{name}"\ncount = 12\n{more}')
    plan = compile(read_brief(text, today=TODAY), Workshop(today=TODAY), seconds=0.05)
    return [notice for notice in plan.notices if "is drawn as" in notice.what]


@pytest.mark.parametrize("name", ["Teapot", "Small tea pot"])
def test_a_form_that_is_a_teapot_by_name_alone_is_told_with_the_line_to_write(name: str) -> None:
    (told,) = about_shape(name)
    assert told.what == f"{name} is drawn as a jar"
    assert told.weight == "mind"
    assert 'Write shape = "teapot" under its name, and [forms.spout] below it' in told.mend
    (spouted,) = about_shape(name, "spout = { }")
    assert "[forms.spout]" not in spouted.mend


def test_whoever_wrote_a_shape_or_a_profile_or_means_another_pot_is_told_nothing() -> None:
    assert about_shape("Teapot", 'shape = "teapot"') == about_shape("Teapot", 'shape = "jar"') == []
    assert about_shape("Honey pot") == about_shape("Tea cup") == []
    assert about_shape("Teapot", "profile = [[0, 60], [40, 110], [95, 70]]") == []


def test_what_is_said_of_several_things_is_said_once_and_nothing_else_is_lost() -> None:
    alike = [Notice(f"{name}: bought ready", "no recipe", "Read its sheet") for name in ("Green", "Blue", "Green")]
    apart = Notice("Blue: bought ready", "no recipe", "Read its sheet", "care")
    assert [each.what for each in told_once([*alike, apart])] == ["Green, Blue: bought ready", "Blue: bought ready"]
    found = notices()
    assert {each.mend for each in told_once(found)} == {each.mend for each in found}


def test_what_holds_for_every_firing_is_a_caution() -> None:
    of_every = [each for each in notices() if each.what.endswith(("firing: opening", "fumes, heat and glare"))]
    assert len(of_every) == 4
    assert {each.weight for each in of_every} == {"care"}


def test_one_bag_is_a_bag() -> None:
    """Twelve mugs take one usual bag of 12.5 kg."""
    plan = compile(
        read_brief(BRIEF.format(due="2027-03-01", prices=""), today=TODAY), Workshop(today=TODAY), seconds=0.05
    )
    assert plan.clay.bags.bags == 1
    assert "1 bag of 12.5 kg" in "\n".join(line for answer in answers(plan) for line in answer.lines)
