"""A poured liner dumped out again, and slips stirred together."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import OutOfRange
from wareboard.glaze.poured import poured, top_up_ml, topped_up
from wareboard.glaze.slip import dry_content_g, water_to_thin_ml
from wareboard.working import worked_out


def test_what_comes_back_is_not_used() -> None:
    """Arithmetic: ten bowls, 3000 ml poured, 2580 ml caught again, keep 42 ml each; 86 % came back."""
    found = poured(3000.0, 2580.0, 10)
    assert (found.kept_ml, found.each_ml, found.back_share) == (420.0, 42.0, pytest.approx(0.86))
    for step in found.steps:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)


def test_topping_up_with_water_meets_the_rule_for_thinning() -> None:
    """Water is slip of specific gravity 1: 5 l at 1.60 and 1.667 l of water come to 1.45 (conservation of mass)."""
    water = water_to_thin_ml(5000.0, 1.60, 1.45)
    assert topped_up(5000.0, 1.60, water, 1.0).specific_gravity == pytest.approx(1.45)


@given(st.floats(10, 1e5), st.floats(1.05, 1.9), st.floats(0, 1e5), st.floats(1.05, 1.9))
def test_the_dry_glaze_of_both_is_in_what_they_make(volume: float, one: float, added: float, other: float) -> None:
    """Conservation of mass, through Brongniart's formula, which topping up does not use."""
    made = topped_up(volume, one, added, other)
    both = dry_content_g(volume, one, 2.6) + dry_content_g(added, other, 2.6)
    assert dry_content_g(made.volume_ml, made.specific_gravity, 2.6) == pytest.approx(both)
    for step in made.steps:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)


def test_a_bucket_that_will_do_needs_no_topping_up() -> None:
    assert top_up_ml(800.0, 1500.0, 300.0).value == 0.0
    assert top_up_ml(1600.0, 1500.0, 300.0).value == 400.0


def test_volumes_that_cannot_be_are_refused() -> None:
    with pytest.raises(OutOfRange, match="ware keeps some"):
        poured(100.0, 120.0, 3)
    with pytest.raises(OutOfRange, match="pieces"):
        poured(100.0, 20.0, 0)
    with pytest.raises(OutOfRange, match="no lighter than water"):
        topped_up(100.0, 0.9, 10.0, 1.4)
    with pytest.raises(OutOfRange, match="slip stirred in"):
        topped_up(100.0, 1.4, float("nan"), 1.4)
