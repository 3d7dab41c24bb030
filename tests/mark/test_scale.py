"""Size at leather-hard: against the worked value of the trade and against the trace forward through the stages."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import OutOfRange
from wareboard.mark.scale import Shrinkage, figure, greatest_depth, least_groove, leather_hard_size
from wareboard.reference import rows
from wareboard.working import worked_out

USUAL = Shrinkage(0.12, 0.03, {"dry": 0.06, "bisque": 0.065})


def test_twenty_millimetres_fired_is_drawn_at_22_05() -> None:
    """By arithmetic: 20 x 0.97 / 0.88 = 22.045 at 12 % in all and 3 % gone; enlarged for wet clay it would be 22.73."""
    size = leather_hard_size(20.0, 20.0, USUAL)
    assert size.width_mm == pytest.approx(22.05, abs=0.005)
    assert size.steps[0].value == pytest.approx(22.73, abs=0.005)


def test_height_and_width_shrink_apart() -> None:
    """By arithmetic: 30 x 0.965 / 0.87 = 33.276."""
    size = leather_hard_size(20.0, 30.0, USUAL, Shrinkage(0.13, 0.035))
    assert size.width_mm == pytest.approx(22.045, abs=5e-4)
    assert size.height_mm == pytest.approx(33.276, abs=5e-4)


shares = st.tuples(*[st.floats(0.0, 0.3)] * 4).map(sorted)


@given(st.floats(1.0, 500.0), shares)
def test_traced_through_every_stage_the_mark_fires_to_what_was_asked(fired: float, gone: list[float]) -> None:
    """Each stage's share alone, one after another, without the formula that gave the size: within 0.1 mm, and far nearer."""
    leather_hard, dry, bisque, total = gone
    length = leather_hard_size(fired, fired, Shrinkage(total, leather_hard, {"dry": dry, "bisque": bisque})).width_mm
    for before, after in ((leather_hard, dry), (dry, bisque), (bisque, total)):
        length -= length * (after - before) / (1 - before)
    assert length == pytest.approx(fired, abs=1e-9 * fired)


def test_every_step_can_be_worked_again_and_the_last_is_the_asked_size() -> None:
    """Law: what was asked for, 20 and 31 mm, stands at the end of the trace."""
    size = leather_hard_size(20.0, 31.0, USUAL)
    steps = [*size.steps, greatest_depth(4.5), least_groove(USUAL)]
    assert [step.key for step in size.steps[:5]] == ["", "leather-hard", "dry", "bisque", "fired"]
    assert size.steps[4].value == pytest.approx(20.0)
    assert size.steps[-1].value == pytest.approx(31.0)
    for step in steps:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)


def test_depth_is_a_third_of_the_wall_and_grooves_stay_open() -> None:
    """Common practice: depth at most a third of the wall; 1 mm fired is 1.10 mm at leather-hard by arithmetic."""
    assert greatest_depth(4.5).value == pytest.approx(1.5, abs=0.02)
    assert greatest_depth(4.0, 0.25).value == pytest.approx(1.0)
    assert least_groove(USUAL).value == pytest.approx(1.102, abs=5e-4)
    assert least_groove(USUAL, 0.8).value == pytest.approx(0.882, abs=5e-4)


def test_the_table_of_grooves_is_whole() -> None:
    table = rows("mark/grooves")
    assert len(table) == 3
    assert sum(float(row["value"]) for row in table) == pytest.approx(2.33)  # ours
    assert figure("least groove width").low == 0.8


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: Shrinkage(12.0, 0.03), "Write 12 % as 0.12"),
        (lambda: Shrinkage(0.02, 0.03), "does not grow back"),
        (lambda: Shrinkage(0.12, 0.03, {"dry": 0.02}), "does not grow back"),
        (lambda: Shrinkage(0.12, 0.03, {"damp": 0.02}), "dry or bisque"),
        (lambda: leather_hard_size(0.0, 20.0, USUAL), "width"),
        (lambda: leather_hard_size(20.0, float("nan"), USUAL), "height"),
        (lambda: greatest_depth(-1.0), "wall"),
        (lambda: greatest_depth(4.0, 1.5), "fraction"),
        (lambda: least_groove(USUAL, 0.0), "groove"),
    ],
)
def test_what_cannot_be_is_refused_by_name(call, match: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=match):
        call()
