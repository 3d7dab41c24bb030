"""Rules for painting in lines of plain words. All is invented."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import Problems
from wareboard.paint.order import Before, KeptOff, NeverOver
from wareboard.paint.rule_lines import as_lines, rules_in_lines
from wareboard.quantities import length_mm

NAMES = st.sampled_from(["Honey", "Sky blue", "Black 2", "Reed green on white"])
WHY = st.sampled_from(["common practice", "it bleeds"])
RULES = st.one_of(
    st.builds(Before, NAMES, NAMES, WHY),
    st.builds(NeverOver, NAMES, NAMES, WHY),
    st.builds(KeptOff, NAMES, st.sampled_from(["rim", "foot"]), st.floats(0.5, 60).map(lambda mm: round(mm, 1)), WHY),
)

WRONG = "Honey\nHoney before Black\nSky kept few off the foot\nSky kept 3 mm off the belly\nbefore Black"


def test_each_kind_of_rule_is_read_from_its_line() -> None:
    assert rules_in_lines(
        "Honey before Black (it bleeds)\n\n honey NEVER over sky\nSky kept 1/4 in off the foot", length_mm
    ) == (
        Before("Honey", "Black", "it bleeds"),
        NeverOver("honey", "sky"),
        KeptOff("Sky", "foot", 6.35),  # NIST SP 811: 25.4 mm to the inch
    )
    assert rules_in_lines(" \n", length_mm) == ()


@given(st.lists(RULES, max_size=5).map(tuple))
def test_rules_written_out_are_read_again_as_they_were(rules: tuple[Before | NeverOver | KeptOff, ...]) -> None:
    assert rules_in_lines(as_lines(rules), length_mm) == rules


def test_every_wrong_line_is_told_with_its_number() -> None:
    with pytest.raises(Problems) as told:
        rules_in_lines(WRONG, length_mm)
    assert len(told.value.problems) == 4
    for number in (1, 3, 4, 5):
        assert f"line {number}" in str(told.value)
    assert "Write" in str(told.value)
