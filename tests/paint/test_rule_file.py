"""Rules for painting from a file, and the sources of the room's figures. All is invented but the sources."""

from __future__ import annotations

import pytest

from wareboard.errors import Problems, Unreadable
from wareboard.paint.order import Before, KeptOff, NeverOver
from wareboard.paint.rule_file import read_rules
from wareboard.reference import rows, sources


def test_each_kind_of_rule_is_read() -> None:
    found = read_rules(
        '[[rule]]\nfirst = "honey"\nthen = "black"\nwhy = "it bleeds"\n'
        '[[rule]]\nnever = "honey"\nover = "sky"\n[[rule]]\nkeep = "sky"\noff = "foot"\nmm = 6\n'
    )
    assert found == (
        Before("honey", "black", "it bleeds"),
        NeverOver("honey", "sky"),
        KeptOff("sky", "foot", 6.0),
    )
    assert read_rules("") == ()


def test_everything_wrong_is_told_at_once() -> None:
    with pytest.raises(Problems) as told:
        read_rules(
            '[[rule]]\nfirst = "a"\n[[rule]]\nkeep = "a"\noff = "belly"\nmm = 3\n'
            '[[rule]]\nkeep = "a"\noff = "rim"\nmm = "few"\n[[rule]]\n'
        )
    assert len(told.value.problems) == 4
    assert "rule 2" in str(told.value)


@pytest.mark.parametrize("text", ["rule = 3\n", "[[rule]\n", "rule = [1, 2]\n"])
def test_what_is_no_file_of_rules_is_refused(text: str) -> None:
    with pytest.raises(Unreadable):
        read_rules(text)


@pytest.mark.parametrize("table", ["paint/card_after_2014", "paint/card_before_2014"])
def test_every_row_has_a_source_that_is_known(table: str) -> None:
    for row in rows(table):
        assert None not in row
        assert row["source"] in sources()
