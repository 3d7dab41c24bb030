"""The main road from a brief to a plan: every line of working is what was run, and the four numbers are enough.

Sizes against the definition of shrinkage (wet = fired / (1 - s)), counts against scipy's beta-binomial, energy and cones
against the published figures named in the rooms' own tests.
"""

from datetime import date, timedelta
from importlib.resources import files

import pytest

from wareboard.errors import Problems
from wareboard.plan import compile
from wareboard.plan.answers import answers
from wareboard.plan.brief import Brief
from wareboard.plan.noticing import standing
from wareboard.plan.reading import read_brief
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop
from wareboard.working import worked_out

TODAY = date(2026, 11, 25)
DEMO = files("wareboard.commands").joinpath("demo.toml").read_text(encoding="utf-8")
LEAST = {"due": "2027-03-12", "clay": {"shrinkage": "12 %"}, "forms": [{"name": "cup", "count": 24, "height": "95 mm"}]}


@pytest.fixture(scope="module")
def demo() -> Plan:
    return compile(read_brief(DEMO, today=TODAY), Workshop(today=TODAY), seconds=5)


@pytest.fixture(scope="module")
def least() -> Plan:
    return compile(Brief.model_validate(LEAST), Workshop(today=TODAY), seconds=5)


@pytest.mark.parametrize("which", ["demo", "least"])
def test_every_line_of_working_is_what_was_run(which: str, request: pytest.FixtureRequest) -> None:
    plan: Plan = request.getfixturevalue(which)
    steps = list(plan.all_steps())
    assert len(steps) > 40
    for step in steps:
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, rel=1e-6, abs=1e-9), str(step)
        else:
            assert step.how, str(step)
        assert step.source, str(step)
        if step.low is not None and step.high is not None:
            assert step.low <= step.value + 1e-9, str(step)
            assert step.value <= step.high + 1e-9, str(step)


@pytest.mark.parametrize("which", ["demo", "least"])
def test_every_line_of_working_has_a_name_of_its_own(which: str, request: pytest.FixtureRequest) -> None:
    keys = [step.key for step in request.getfixturevalue(which).all_steps()]
    assert len(keys) == len(set(keys))


def test_wet_sizes_divide_by_what_is_left(least: Plan) -> None:
    form = least.forms[0]
    assert form.lengths["height"].wet_mm == pytest.approx(95 / 0.88)
    assert form.wet_profile.height_mm == pytest.approx(95 / 0.88)


def test_the_plan_says_what_it_took_for_granted(least: Plan, demo: Plan) -> None:
    taken = {assumed.key for assumed in least.assumed}
    assert {"wall.cup", "yield.cup.fired", "kiln.shelf_mm", "prices.wage_per_hour", "people.hours_per_day"} <= taken
    assert "clay.bag_g" in taken
    assert "clay.bag_g" not in {assumed.key for assumed in demo.assumed}


def test_the_count_is_the_least_that_scipys_beta_binomial_allows(demo: Plan) -> None:
    from scipy.stats import betabinom

    for form in demo.forms:
        share = form.overage.good_share.value
        both = 1 / 0.05 - 1
        for start, enough in ((form.start, True), (form.start - 1, False)):
            chance = betabinom(start, share * both, (1 - share) * both).sf(form.form.count - 1)
            assert bool(chance >= 0.9) is enough


def test_all_that_is_started_is_loaded(demo: Plan) -> None:
    for firing, stage in ((demo.bisque, "bisque"), (demo.glaze_firing, "fired")):
        for form in demo.forms:
            held = sum(layout.counts.get(form.name, 0) for load in firing.loads.loads for layout in load)
            assert held == form.pieces_into(stage)
        assert firing.loads.bound_firings <= firing.firings


def test_the_calendar_keeps_the_date_and_waits_for_drying(demo: Plan) -> None:
    assert standing(demo) in ("on time", "tight")
    assert demo.calendar.finish is not None
    assert demo.calendar.finish <= demo.brief.due
    first = {entry.key: entry.start for entry in reversed(demo.calendar.entries)}
    assert first["handled-cup-1.thrown"] < first["handled-cup-1.dried"] < first["bisque-load-1"] < first["glaze-load-1"]


def test_a_date_that_cannot_be_kept_is_an_answer_with_ways_out() -> None:
    soon = LEAST | {"due": TODAY + timedelta(days=5)}
    plan = compile(Brief.model_validate(soon), Workshop(today=TODAY), seconds=5)
    assert standing(plan) == "late"
    assert plan.calendar.late_days > 0
    assert plan.calendar.mends
    assert plan.notices[0].weight == "stop"
    assert "Too late by" in plan.notices[0].what


def test_without_a_first_day_it_is_laid_out_backwards() -> None:
    plan = compile(Brief.model_validate(LEAST), Workshop(), seconds=5)
    assert plan.calendar.finish is not None
    assert plan.calendar.finish <= plan.brief.due
    assert plan.calendar.latest_start is not None


def test_the_five_questions_are_answered(demo: Plan) -> None:
    said = {answer.key: answer for answer in answers(demo)}
    assert {"throw", "clay", "when", "loads", "price"} <= said.keys()
    for answer in said.values():
        assert answer.lines


def test_it_never_says_safe(demo: Plan) -> None:
    words = " ".join(f"{notice.what} {notice.why} {notice.mend}" for notice in demo.notices).lower()
    assert "safe" not in words


def test_a_prototype_sharpens_the_form_and_not_the_clay(demo: Plan) -> None:
    cup, jug = demo.forms[0], demo.forms[1]
    assert cup.loss_height.fired != jug.loss_height.fired
    assert jug.loss_height.fired == demo.clay.shrinkage_height.value


def test_everything_that_cannot_be_worked_out_is_told_at_once() -> None:
    wrong = LEAST | {
        "forms": [
            {"name": "cup", "count": 24, "height": "20 mm", "rim": "80 mm", "shape": "belly", "floor": "19 mm"},
            {"name": "bowl", "count": 4, "height": "60 mm", "rim": "40 mm", "wall": "30 mm"},
        ]
    }
    with pytest.raises(Problems) as caught:
        compile(Brief.model_validate(wrong), Workshop(today=TODAY))
    assert {problem.where for problem in caught.value.problems} == {"cup", "bowl"}


def test_the_same_brief_gives_the_same_plan(least: Plan) -> None:
    again = compile(Brief.model_validate(LEAST), Workshop(today=TODAY), seconds=5)
    assert list(map(str, again.all_steps())) == list(map(str, least.all_steps()))
    assert again.calendar.entries == least.calendar.entries


@pytest.mark.parametrize("shape", ["cylinder", "taper", "belly", "bowl", "plate", "jug", "jar"])
@pytest.mark.parametrize("given", ["height", "rim"])
def test_any_shape_is_planned_from_one_size(shape: str, given: str) -> None:
    size = "20 mm" if shape == "plate" and given == "height" else "95 mm"
    brief = Brief.model_validate(LEAST | {"forms": [{"count": 6, "shape": shape, given: size}]})
    plan = compile(brief, Workshop(today=TODAY), seconds=1)
    assert plan.forms[0].vessel.capacity_ml > 0
    assert plan.forms[0].ball_g > 0


def test_a_part_too_small_to_weigh_is_told_and_stops_nothing() -> None:
    glaze = {"name": "Speck", "on": "painting", "covers": "1 %", "recipe": {"kaolin": 50, "whiting": 50, "silica": 50}}
    brief = Brief.model_validate(LEAST | {"glazes": [glaze | {"additions": {"cobalt carbonate": 0.05}}]})
    plan = compile(brief, Workshop(today=TODAY), seconds=1)
    assert plan.glazes[0].batch is None
    assert any(notice.about == "Speck" and notice.weight == "mind" for notice in plan.notices)


def test_an_unknown_material_is_told_with_its_near_names() -> None:
    brief = Brief.model_validate(LEAST | {"glazes": [{"name": "Odd", "recipe": {"kaolim": 50, "whiting": 50}}]})
    with pytest.raises(Problems, match="kaolin"):
        compile(brief, Workshop(today=TODAY), seconds=1)


def test_two_kilns_alike_share_the_loads_and_are_done_no_later() -> None:
    many = LEAST | {"forms": [{"name": "cup", "count": 150, "height": "95 mm"}]}
    one = compile(Brief.model_validate(many), Workshop(today=TODAY), seconds=1)
    kilns = [{"name": "Left"}, {"name": "Right"}]
    two = compile(Brief.model_validate(many | {"kilns": kilns}), Workshop(today=TODAY), seconds=1)
    assert {entry.place for entry in two.calendar.entries if entry.stage == "glaze"} == {"Left", "Right"}
    assert one.calendar.finish is not None
    assert two.calendar.finish is not None
    assert two.calendar.finish <= one.calendar.finish
