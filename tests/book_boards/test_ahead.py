"""The rough look ahead, beside sums by hand and the calendar that the solver lays out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache

import pytest

from tests.studio.conftest import DAY
from wareboard.book.boards.ahead import Lot, next_leg, ready_at, way_left_h, when_packed
from wareboard.book.boards.counting import standing_of
from wareboard.book.boards.course import Course, course_of
from wareboard.book.boards.legs import legs_of, pace
from wareboard.plan import compile
from wareboard.plan.reading import read_brief
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


@cache
def demo() -> Plan:
    """The plan of the invented demo commission: cups, jugs and plates."""
    from wareboard.commands.demo import demo_text

    shop = Workshop(today=DAY)
    return compile(read_brief(demo_text(DAY), shop), shop, seconds=0.15)


@cache
def course() -> Course:
    return course_of(demo())


def lot(stage: str, pieces: int = 1, form: str = "Handled cup", ago_h: float = 0.0, **more: object) -> Lot:
    return Lot("C1", form, stage, pieces, NOW - timedelta(hours=ago_h), **more)  # type: ignore[arg-type]


def test_with_nothing_begun_it_asks_for_as_many_as_the_plan_starts() -> None:
    """Two ways of working to one number: the plan's overage, and the fewest more with no piece on any board."""
    assert {each.form: each.enough.more for each in standing_of(course(), [], NOW)} == {
        form.name: form.start for form in demo().forms
    }


def test_its_last_day_lies_near_the_calendars() -> None:
    """Against the constraint solver's calendar of the same job: within a fifth of the days that it takes."""
    plan = demo()
    assert plan.calendar.finish is not None
    assert plan.calendar.first_day is not None
    last = max(each.packed.value.date() for each in standing_of(course(), [], NOW) if each.packed)
    taken = (plan.calendar.finish - plan.calendar.first_day).days
    assert abs((last - plan.calendar.finish).days) <= taken / 5


def test_one_board_alone_takes_the_sum_of_its_legs() -> None:
    plan = demo()
    form = plan.forms[0]
    legs = legs_of(form, plan)
    ahead = [leg for leg in legs if leg.stage in ("fired", "ground", "packed")]
    hours = 18.0 + sum(leg.minutes * 10 / 60 / pace(plan) for leg in ahead) + ahead[0].run_h
    board = lot("painted", 10)
    assert 18.0 + way_left_h(board, legs, pace(plan)) == pytest.approx(hours)
    packed = when_packed(course(), [board], NOW)["Handled cup"]
    whole_days = -(-ahead[0].run_h // 24) * 24
    assert (packed.value - NOW).total_seconds() / 3600 == pytest.approx(hours - ahead[0].run_h + whole_days)


def test_loads_take_the_kiln_one_after_the_other() -> None:
    plan = demo()
    room = plan.glaze_firing.loads.pieces_in_a_load("Handled cup")
    four = when_packed(course(), [lot("painted", 4 * room)], NOW)["Handled cup"].value
    assert four - NOW >= timedelta(days=4)  # each holds the kiln for more than a day
    assert four > when_packed(course(), [lot("painted", room)], NOW)["Handled cup"].value


def test_drying_gives_the_range_and_what_has_dried_counts() -> None:
    plan = demo()
    legs = legs_of(plan.forms[0], plan)
    fresh, half = lot("drying"), lot("drying", ago_h=100)
    assert ready_at(fresh, legs, "low") < ready_at(fresh, legs) < ready_at(fresh, legs, "high")
    assert ready_at(fresh, legs) - ready_at(half, legs) == timedelta(hours=100)
    packed = when_packed(course(), [fresh], NOW)["Handled cup"]
    assert packed.low < packed.value < packed.high


def test_what_is_in_the_kiln_is_ready_when_it_can_be_opened() -> None:
    plan = demo()
    legs = legs_of(plan.forms[0], plan)
    leg = next_leg(legs, "bone dry")
    assert leg is not None
    inside = lot("bone dry", ago_h=300, state="in the kiln", state_since=NOW - timedelta(hours=5))
    assert ready_at(inside, legs) == NOW + timedelta(hours=leg.run_h - 5)
    assert (
        when_packed(course(), [inside], NOW)["Handled cup"].value
        < when_packed(course(), [lot("bone dry")], NOW)["Handled cup"].value
    )


def test_packed_ware_waits_for_nothing() -> None:
    plan = demo()
    legs = legs_of(plan.forms[0], plan)
    assert next_leg(legs, "packed") is None
    assert when_packed(course(), [lot("packed", 72)], NOW)["Handled cup"].value == NOW
