"""Weighing out: base to 100, additions on top.

Additions on top of 100: 8 % on a 3000 g base is 240 g, 3240 g in all (arithmetic; common practice of the trade).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import OutOfRange
from wareboard.glaze.recipe import Recipe, scaled
from wareboard.working import worked_out

LIMESTONE = {"potash feldspar": 40, "silica / flint": 30, "whiting": 20, "kaolin": 10}


def test_an_addition_goes_on_top_of_the_base() -> None:
    batch = scaled(Recipe("invented", LIMESTONE, {"zircon": 8}), base_g=3000, scale_step_g=1)
    assert batch.lines[-1].grams == 240
    assert batch.lines[-1].is_addition
    assert batch.dry_g == 3240
    assert [line.running_total_g for line in batch.lines] == [1200, 2100, 2700, 3000, 3240]


def test_a_dry_total_holds_the_additions_too() -> None:
    assert scaled(Recipe("invented", LIMESTONE, {"zircon": 8}), dry_total_g=3240).dry_g == pytest.approx(3240)


def test_a_base_that_is_not_100_is_brought_to_100_and_says_so() -> None:
    batch = scaled(
        Recipe("invented", {name: amount / 2 for name, amount in LIMESTONE.items()}, {"zircon": 8}), base_g=1000
    )
    assert [line.grams for line in batch.lines] == [400, 300, 200, 100, 80]
    assert "added up to 50" in batch.notes[0]
    assert not any("added up" in note for note in scaled(Recipe("invented", LIMESTONE), base_g=1000).notes)


def test_rounding_to_the_scale_is_shown() -> None:
    batch = scaled(Recipe("invented", {"whiting": 1, "kaolin": 2}), dry_total_g=100, scale_step_g=1)
    assert [line.grams for line in batch.lines] == [33, 67]
    assert batch.lines[0].rounding_g == pytest.approx(-1 / 3)
    coarse = scaled(Recipe("invented", {"whiting": 33.4, "kaolin": 66.6}), dry_total_g=10, scale_step_g=0.5)
    assert any(note.startswith("Rounding to the scale changes whiting") for note in coarse.notes)


def test_a_line_below_the_scale_is_refused_with_a_way_on() -> None:
    recipe = Recipe("invented", LIMESTONE, {"cobalt carbonate": 0.2})
    with pytest.raises(OutOfRange, match="at least 251 g dry") as caught:
        scaled(recipe, base_g=100)
    assert "cobalt carbonate comes to 0.2 g" in str(caught.value)
    assert scaled(recipe, dry_total_g=251).lines[-1].grams == pytest.approx(0.5)
    assert scaled(recipe, base_g=100, scale_step_g=0.04).lines[-1].grams == pytest.approx(0.2)


@pytest.mark.parametrize(
    "given_g", [{}, {"dry_total_g": 5, "base_g": 5}, {"base_g": -1}, {"dry_total_g": float("nan")}]
)
def test_weights_that_cannot_be_are_refused(given_g: dict[str, float]) -> None:
    with pytest.raises(OutOfRange):
        scaled(Recipe("invented", LIMESTONE), **given_g)


@pytest.mark.parametrize("base", [{}, {"whiting": 0}, {"whiting": -1}, {"whiting": float("inf")}])
def test_recipes_that_cannot_be_are_refused(base: dict[str, float]) -> None:
    with pytest.raises(OutOfRange):
        Recipe("invented", base)


@given(
    parts=st.lists(st.floats(1, 100), min_size=1, max_size=7),
    base_g=st.floats(4000, 20000),
    step=st.sampled_from([0.01, 0.1, 0.5, 1.0]),
)
def test_every_line_is_within_half_a_step_and_the_working_works_out(
    parts: list[float], base_g: float, step: float
) -> None:
    batch = scaled(Recipe("invented", {str(k): part for k, part in enumerate(parts)}), base_g=base_g, scale_step_g=step)
    for line in batch.lines:
        assert line.scale_step_g in (step, min(step, 0.1))
        assert abs(line.rounding_g) <= line.scale_step_g / 2 * (1 + 1e-6)
        steps = line.grams / line.scale_step_g
        assert steps == pytest.approx(round(steps), abs=1e-5)
    assert batch.dry_g == pytest.approx(sum(line.grams for line in batch.lines))
    assert abs(batch.dry_g - base_g) <= len(parts) * step / 2 * (1 + 1e-6)
    for number in batch.steps:
        if number.formula:
            assert worked_out(number.formula, number.inputs) == pytest.approx(number.value, abs=1e-6)
