"""The trade's figures for firing, from reference/kiln/firing.csv, each with its range, source and standing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from wareboard.errors import NotInTable
from wareboard.reference import rows


@dataclass(frozen=True, slots=True)
class Figure:
    """One row of reference/kiln/firing.csv: value and usual range in ``unit``, source and status as printed there."""

    key: str
    value: float
    low: float
    high: float
    unit: str
    source: str
    status: str
    label: str


@cache
def firing_figure(key: str) -> Figure:
    """A firing figure of the trade by its key.

    Raises:
        NotInTable: if the table has no such row.
    """
    for row in rows("kiln/firing"):
        if row["key"] == key:
            return Figure(
                key,
                float(row["value"]),
                float(row["low"]),
                float(row["high"]),
                row["unit"],
                row["source"],
                row["status"],
                row["label"],
            )
    raise NotInTable(f"firing figure {key!r}", why="reference/kiln/firing.csv has no such row", mend="Check its name")
