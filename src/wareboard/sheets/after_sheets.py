"""Sheets that go with finished ware: tables with a head, words above and below, as many pages as they need."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from wareboard.sheets.data import LONGEST_FOOT, day, shortened
from wareboard.sheets.typesetting import TYPST_PAPER, Paper, typeset


@dataclass(frozen=True, slots=True)
class Table:
    """One table: a heading, its columns (to the right where the head begins with ">"), its rows, words below.

    ``wide`` is the column that takes the room left.
    """

    heading: str
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    below: str = ""
    wide: int = 0


@dataclass(frozen=True, slots=True)
class AfterSheet:
    """A sheet: its name, the commission, lines beside each other at the top, tables, sums, and words at the end.

    ``fields`` are boxes left empty for a pen; ``sums`` are pairs, the last of them in bold.
    """

    title: str
    commission: str
    day: date
    under: str = ""
    facts: Sequence[tuple[str, str]] = ()
    tables: Sequence[Table] = ()
    sums: Sequence[tuple[str, str]] = ()
    words: Sequence[str] = ()
    fields: Sequence[str] = ()
    invented: bool = field(default=False)


def after_sheet(sheet: AfterSheet, paper: Paper = "a4") -> bytes:
    """The PDF of a sheet."""
    data: dict[str, Any] = {
        "title": sheet.title,
        "commission": sheet.commission,
        "foot": shortened(f"{sheet.title} · {sheet.commission}", LONGEST_FOOT),
        "invented": sheet.invented,
        "due": day(sheet.day),
        "tag": day(sheet.day),
        "paper": TYPST_PAPER[paper],
        "under": sheet.under,
        "facts": [list(each) for each in sheet.facts],
        "tables": [_table(each) for each in sheet.tables],
        "sums": [list(each) for each in sheet.sums],
        "words": list(sheet.words),
        "fields": list(sheet.fields),
    }
    return typeset("after", data, sheet.day)


def _table(table: Table) -> dict[str, Any]:
    return {
        "heading": table.heading,
        "columns": [each.removeprefix(">") for each in table.columns],
        "right": [each.startswith(">") for each in table.columns],
        "rows": [list(each) for each in table.rows],
        "below": table.below,
        "wide": table.wide,
    }
