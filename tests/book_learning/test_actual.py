"""Plan against actual: every figure beside a count taken by hand from the records made in the test."""

from __future__ import annotations

import pytest

from tests.book_learning.conftest import BY, CUPS, THE_DAY, begin, commission, lose, move, whole_way
from wareboard.book.firings.models import Firing, Kiln
from wareboard.book.learning.acting import Sat, write_time
from wareboard.book.learning.actual import finished_on, plan_against_actual
from wareboard.book.models import Commission
from wareboard.plan import compile
from wareboard.plan.reading import read_brief
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop

STATED = CUPS.replace('name = "Stoneware B"', 'name = "Stoneware B"\nshrinkage = "12 %"')


@pytest.fixture
def done(db: None) -> Commission:
    return commission(STATED)


@pytest.fixture(scope="module")
def plan() -> Plan:
    workshop = Workshop(today=THE_DAY)
    return compile(read_brief(STATED, workshop), workshop, seconds=0.1)


def test_pieces_and_losses_are_counted_from_the_boards_of_this_commission_alone(done: Commission, plan: Plan) -> None:
    whole_way(done, 20, {"drying": 2, "fired": 1})
    whole_way(done, 12, {"thrown": 1}, at_h=2.0)
    whole_way(commission(STATED, "Another"), 40, {"drying": 20})
    found = plan_against_actual(done, plan)
    cups = found.forms[0]
    pieces = {each.name: (each.planned, each.actual) for each in cups.pieces}
    assert pieces["started"] == (float(plan.forms[0].start), 32.0)
    assert pieces["packed"] == (24.0, 28.0)
    losses = {each.name: each.actual for each in cups.losses}
    assert losses == {"thrown": 1.0, "handled": 0.0, "dried": 2.0, "bisque": 0.0, "glazed": 0.0, "fired": 1.0}
    assert cups.losses[2].difference == pytest.approx(2.0 - cups.losses[2].planned)
    assert found.forms[1].pieces[1].actual is None
    assert "no boards of Plate" in found.missing
    assert not found.done


def test_minutes_clay_and_firings_are_set_beside_the_plan(done: Commission, plan: Plan) -> None:
    begin(done, 30)
    write_time(Sat("minutes.throw.cup", 30, 90.0, THE_DAY, "Ada", done.code), BY)
    write_time(Sat("minutes.throw.cup", 30, 600.0, THE_DAY, "Ada", "99-99"), BY)
    kiln = Kiln.objects.create(name="Kiln", slug="one")
    for number, kwh in ((1, 60.0), (2, 70.0), (3, None)):
        Firing.objects.create(
            kiln=kiln, number=number, kind="bisque", cone="04", day=THE_DAY, commission_code=done.code, kwh=kwh
        )
    found = plan_against_actual(done, plan)
    minutes = {each.name: each for each in found.forms[0].minutes}
    assert minutes["throw"].actual == pytest.approx(3.0)
    assert minutes["trim"].actual is None
    assert found.clay[0].actual == pytest.approx(30 * plan.forms[0].ball_g)
    fired = {each.name: each for each in found.firings}
    assert fired["bisque firings"].actual == 3.0
    assert fired["bisque energy"].actual == pytest.approx(195.0)  # 130 kWh at two of three meters
    assert fired["glaze firings"].actual is None


def test_with_nothing_recorded_the_cost_stands_as_planned_and_all_is_named_as_missing(
    done: Commission, plan: Plan
) -> None:
    found = plan_against_actual(done, plan)
    assert found.true_cost == pytest.approx(found.reckoned_cost)
    assert found.reckoned_cost == pytest.approx(float(plan.price.cost.amount), abs=0.05)
    assert len(found.missing) == 2 + 1 + 4


def test_twice_the_minutes_at_the_wheel_cost_their_wages_and_overhead_more(done: Commission, plan: Plan) -> None:
    """By hand: the extra minutes over all planned pieces, at the wage, with the overhead's share on top."""
    usual = plan.forms[0].minutes["throw"].value
    write_time(Sat("minutes.throw.cup", 10, 20.0 * usual, THE_DAY, "", done.code), BY)
    found = plan_against_actual(done, plan)
    work = next(line for line in found.cost if line.name == "work on the pieces")
    behind = sum(
        form.going_into(stage) * form.minutes[task].value
        for form in plan.forms
        for stage, tasks in (
            ("thrown", ("weigh", "throw", "trim")),
            ("handled", ("handle",)),
            ("glazed", ("sand", "liner")),
            ("fired", ("grind",)),
        )
        for task in tasks
        if task in form.minutes
    ) + sum(form.form.count * form.minutes["pack"].value for form in plan.forms)
    extra = plan.forms[0].start * usual / behind
    assert work.difference == pytest.approx(work.planned * extra, rel=1e-6)
    assert found.true_cost > found.reckoned_cost


def test_a_job_is_finished_when_its_last_board_is_packed(done: Commission) -> None:
    assert finished_on(done) is None
    board = begin(done, 4, "ground")
    lose(board, 1, 1.0)
    assert finished_on(done) is None
    move(board, "packed", 5.0)
    assert finished_on(done) is not None
