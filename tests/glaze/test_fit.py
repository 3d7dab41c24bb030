"""A glaze beside a body: which way it is pulled, and when that cannot be told."""

from __future__ import annotations

import pytest

from wareboard.errors import OutOfRange
from wareboard.glaze.expansion import expansion
from wareboard.glaze.fit import APART, Neighbour, beside_body, beside_tests
from wareboard.glaze.formula import analysis_wt
from wareboard.glaze.recipe import Recipe
from wareboard.working import worked_out

LIMESTONE = Recipe("4-3-2-1", {"potash feldspar": 40, "silica / flint": 30, "whiting": 20, "kaolin": 10})


def test_the_gap_is_body_less_glaze_with_the_sets_range() -> None:
    """Worked example C2: this glaze is 61.57 by Appen's factors, so a body of 70 lies 8.43 above it; definition."""
    found = beside_body(expansion(analysis_wt(LIMESTONE)), 70e-7, 20.0, 500.0)
    assert found.gap.value == pytest.approx(70 - 61.57, abs=0.1)
    assert worked_out(found.gap.formula, found.gap.inputs) == pytest.approx(found.gap.value)
    assert found.gap.low is not None
    assert found.gap.high is not None
    assert found.gap.low < found.gap.value < found.gap.high


def test_only_a_body_outside_the_whole_range_tells_which_way_it_is_pulled() -> None:
    """Common practice: a glaze that expands less than its body is left in compression, one that expands more crazes."""
    glaze = expansion(analysis_wt(LIMESTONE))
    pulls = {body: beside_body(glaze, body * 1e-7, 20.0, 500.0).pull for body in (40, 65, 95)}
    assert pulls == {40: "tension", 65: "not told", 95: "compression"}
    assert "crazing" in beside_body(glaze, 40e-7, 20.0, 500.0).words
    assert "A test on the body tells" in beside_body(glaze, 65e-7, 20.0, 500.0).words


def test_the_anecdote_of_three_bodies_comes_out_as_it_was_seen() -> None:
    """M. Bailey, Clayart archive: a glaze of a third of the body's expansion shivered, one of three times it crazed."""
    glaze = expansion(analysis_wt(LIMESTONE))
    assert beside_body(glaze, 3 * glaze.value_per_k, 20.0, 500.0).pull == "compression"
    assert beside_body(glaze, glaze.value_per_k / 3, 20.0, 500.0).pull == "tension"


def test_a_short_or_quartz_crossing_measurement_is_noted() -> None:
    """Quartz turns at 573 C, any handbook of ceramics."""
    glaze = expansion(analysis_wt(LIMESTONE))
    assert any("100 degrees only" in note for note in beside_body(glaze, 65e-7, 20.0, 120.0).notes)
    assert any("573" in note for note in beside_body(glaze, 65e-7, 20.0, 650.0).notes)


@pytest.mark.parametrize(("body", "warm"), [(6.5e-4, (20.0, 500.0)), (0.0, (20.0, 500.0)), (65e-7, (500.0, 20.0))])
def test_bodies_in_another_unit_and_temperatures_the_wrong_way_round_are_refused(
    body: float, warm: tuple[float, float]
) -> None:
    with pytest.raises(OutOfRange):
        beside_body(expansion(analysis_wt(LIMESTONE)), body, *warm)


ON_ONE_BODY = (
    Neighbour("Peat", 85.0, "crazed"),
    Neighbour("Moor", 60.0, "none"), Neighbour("Loam", 66.0, "none"), Neighbour("Slate", 35.0, "shivered")
)  # fmt: skip


@pytest.mark.parametrize(
    ("units", "told"),
    [
        (95.0, "expands more than Peat, which crazed"),
        (87.0, "Too near to Peat"),
        (63.0, "among glazes in which nothing was seen"),
        (76.0, "between what held and what failed"),
        (25.0, "expands less than Slate, which shivered"),
    ],
)
def test_tests_on_a_body_tell_more_than_its_expansion(units: float, told: str) -> None:
    """Common practice: what crazed bounds a body from above, what shivered from below."""
    assert told in beside_tests(units, ON_ONE_BODY)


def test_what_the_set_cannot_tell_apart_is_not_told_apart() -> None:
    """Hall's glazes, five units apart at least: the order is right for 96 in 100 (tests of the sets)."""
    assert APART == 5.0
    assert "Test it all the same" in beside_tests(60.0, [Neighbour("Moor", 60.0, "none")])
    assert "test it" in beside_tests(60.0, [])
    assert "safe" not in "".join(beside_tests(units, ON_ONE_BODY) for units in (25.0, 63.0, 95.0))
