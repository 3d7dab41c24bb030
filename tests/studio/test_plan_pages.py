"""What the plan's pages work out themselves, and where they lead."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from tests.studio.conftest import CUPS, DAY
from wareboard.book import keeping
from wareboard.plan import compile
from wareboard.plan.reading import read_brief
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop
from wareboard.studio import small_steps
from wareboard.studio.answer import Steps
from wareboard.studio.own_figure import place_for
from wareboard.studio.ripple import ripple
from wareboard.studio.today import now
from wareboard.working import worked_out

BIG = """
due = 2027-02-12
forms = [{ name = "crock", shape = "cylinder", count = 2, rim = "300 mm", height = "400 mm", wall = "9 mm" }]
clay = { shrinkage = "12 %" }
"""


def planned(text: str) -> Plan:
    return compile(read_brief(text), Workshop(today=DAY), seconds=0.05)


@pytest.mark.parametrize("which", ["cups", "demo", "big"])
def test_every_small_working_works_out_to_its_value(which: str, demo_text: str) -> None:
    plan = planned({"cups": CUPS, "demo": demo_text, "big": BIG}[which])
    steps = [small_steps.heating(firing.schedule) for firing in (plan.bisque, plan.glaze_firing)]
    steps += [small_steps.together(form, plan.price.currency) for form in plan.price.forms]
    for form in plan.forms:
        steps.append(small_steps.trimmed(form.ball))
        if form.cut is not None:
            steps.append(small_steps.balls_a_block(form.cut))
    assert len(steps) > 3
    for step in steps:
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, rel=1e-9, abs=0.006), step


def test_a_figure_leads_back_to_the_figures_it_was_made_from(demo_text: str) -> None:
    steps = Steps.of(planned(demo_text))
    ball = steps.by_key["forms.handled-cup.ball-to-weigh"]
    ((name, behind),) = steps.behind(ball)
    assert name == "ball_g"
    assert behind.value == ball.inputs["ball_g"]
    assert behind.formula


def test_whole_numbers_are_not_taken_for_one_another() -> None:
    steps = Steps.of(planned(CUPS))
    for step in steps.by_key.values():
        for name, _ in steps.behind(step):
            assert step.inputs[name] != int(step.inputs[name])


@pytest.mark.parametrize("which", ["cups", "demo"])
def test_every_assumption_that_names_a_box_leads_to_a_box_that_is_there(
    client: Client, db: None, which: str, demo_text: str
) -> None:
    text = CUPS if which == "cups" else demo_text
    keeping.new_commission(text, "x", why="", who="", when=now())
    pages = {
        "edit": client.get("/commissions/26-01/edit/").content.decode(),
        "workshop": client.get("/workshop/").content.decode(),
        "text": client.get("/commissions/26-01/text/").content.decode(),
    }
    plan = planned(text)
    placed = 0
    for each in plan.assumed:
        place = place_for(each.key, plan)
        if place is not None:
            placed += 1
            assert f'id="{place.box}"' in pages[place.page], (each.key, place)
    assert placed > len(plan.assumed) / 2


def test_a_plan_does_not_ripple_into_itself() -> None:
    assert ripple(planned(CUPS), planned(CUPS)).nothing


def test_a_ripple_tells_forms_that_come_and_go() -> None:
    more = CUPS.replace("[clay]", '[[forms]]\nname = "Saucer"\ncount = 24\nrim = "140 mm"\n\n[clay]')
    came = ripple(planned(CUPS), planned(more))
    saucer = next(group for group in came.groups if group.name == "Saucer")
    assert all(row.before == "none" for row in saucer.rows)
    went = ripple(planned(more), planned(CUPS))
    assert all(row.after == "none" for row in next(group for group in went.groups if group.name == "Saucer").rows)


def test_a_ripple_says_when_a_date_can_no_longer_be_kept() -> None:
    said = ripple(planned(CUPS), planned(CUPS.replace("2027-02-12", "2026-12-01")))
    assert any("too late" in words for words in said.words)
    dates = next(group for group in said.groups if group.name == "Dates")
    assert any(row.difference.endswith("sooner") for row in dates.rows if row.name == "wanted by")


def test_a_change_in_words_alone_changes_nothing_in_the_plan() -> None:
    assert ripple(planned(CUPS), planned(CUPS.replace("Invented", "Somebody else"))).nothing


def test_the_strip_has_a_bar_for_every_stretch_of_the_calendar(demo_text: str) -> None:
    from wareboard.studio.calendar_strip import strip_svg

    calendar = planned(demo_text).calendar
    svg = strip_svg(calendar)
    assert svg.count("<title>") == len(calendar.entries)
    lefts = [float(x) for x in re.findall(r'<rect x="([\d.]+)"', svg)]
    assert min(lefts) >= 150
    assert max(lefts) <= 1000


def test_a_brief_in_fahrenheit_has_its_firings_in_fahrenheit(client: Client, db: None) -> None:
    """Cone 6 by the chart goes down at 1222 °C, by definition 1222 * 9 / 5 + 32 = 2231.6 °F."""
    text = CUPS.replace("due =", 'show_temperatures = "F"\ndue =', 1)
    begun = keeping.new_commission(text, "Cups in °F", why="Begun", who="", when=now())
    page = client.get(f"/commissions/{begun.code}/firings/").content.decode()
    assert "2232 °F" in page.replace("\N{NO-BREAK SPACE}", " ")
    assert "1222 °C" not in page
    assert "108 °F/h</td>" in page
    assert "°C/h</td>" not in page
    told = client.get(f"/commissions/{begun.code}/notices/").content.decode()
    assert "Open below 200 °F" in told


def test_lids_to_be_weighed_are_on_the_page_of_the_clay(client: Client, db: None) -> None:
    text = CUPS.replace(
        "[[forms]]", '[[forms]]\nname = "Jar"\ncount = 4\nshape = "jar"\nheight = "120 mm"\nlid = {}\n[[forms]]', 1
    )
    begun = keeping.new_commission(text, "Jars", why="Begun", who="", when=now())
    page = client.get(f"/commissions/{begun.code}/clay/").content.decode()
    assert re.search(r"Jar: \d+ g lid ball, \d of them", page)
