"""Every figure that the rooms for clay and form ship names a source that is known."""

from __future__ import annotations

import pytest

from wareboard.reference import WORDS_FOR_SOURCES, rows, sources

TABLES = (
    "clay/blocks",
    "clay/chart_weights",
    "clay/drying_times",
    "clay/stage_losses",
    "clay/usual_ranges",
    "form/shapes",
)


@pytest.mark.parametrize("table", TABLES)
def test_every_row_has_a_source_that_is_known(table: str) -> None:
    found = rows(table)
    assert found
    for row in found:
        assert None not in row, "a row has more cells than the table has columns"
        assert row["source"] in WORDS_FOR_SOURCES or row["source"] in sources(), row


def test_the_small_tables_hold_what_was_typed() -> None:
    """Row counts and column sums, so that a slipped key shows: common practice, and the accounts named in each row."""
    sums = {
        "clay/stage_losses": ("typical_percent", 4, 12.0),
        "clay/drying_times": ("value", 9, 74.2),
        "clay/usual_ranges": ("value", 5, 3.345),
        "clay/blocks": ("block_g", 3, 33_840.0),
        "form/shapes": ("wall_mm", 9, 40.0),
    }
    for table, (column, count, total) in sums.items():
        found = rows(table)
        assert len(found) == count, table
        assert sum(float(row[column]) for row in found) == pytest.approx(total), table
