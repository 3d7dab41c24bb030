"""The shipped table of what is held before any record, and its sources."""

from __future__ import annotations

import pytest

from wareboard.book.reckoning.learned import learning_figure, prior
from wareboard.errors import NotInTable
from wareboard.reference import WORDS_FOR_SOURCES, rows, sources


def test_the_table_holds_its_rows_and_sums() -> None:
    """Counts and sums of the table as it was typed in, so that a slipped key shows."""
    table = rows("book/learning")
    assert len(table) == 24
    assert sum(float(row["value"]) for row in table) == pytest.approx(395.144)
    assert sum(float(row["low"]) for row in table) == pytest.approx(197.5435)
    assert len({row["key"] for row in table}) == len(table)


def test_every_row_has_its_value_inside_its_range_and_a_source_that_is_known() -> None:
    for row in rows("book/learning"):
        assert float(row["low"]) <= float(row["value"]) <= float(row["high"]), row["key"]
        assert row["source"] in WORDS_FOR_SOURCES or row["source"] in sources(), row["key"]
        assert row["label"]


def test_the_scatter_of_height_is_the_one_the_plan_uses() -> None:
    """defaults.csv holds the same figure for the plan: the two must not drift apart."""
    here = {row["key"]: row["value"] for row in rows("book/learning")}
    assert float(here["scatter.height_share"]) == prior("scatter.height_share").value


def test_a_figure_that_is_not_there_is_refused_by_name() -> None:
    assert learning_figure("gauge.good_share") == 0.1
    with pytest.raises(NotInTable, match="no-such"):
        learning_figure("no-such")
