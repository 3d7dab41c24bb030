"""Labels with a code to scan, for boards, buckets, shelves and kilns, on plain paper to cut up: our own three sizes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from wareboard.quantities import show_day
from wareboard.sheets.bench_paper import scanned_code
from wareboard.sheets.typesetting import PAGE_MM, TYPST_PAPER, Paper, typeset

Size = Literal["small", "middle", "large"]
MARGIN_MM = 10.0
FOOT_MM = 8.0


@dataclass(frozen=True, slots=True)
class LabelSize:
    """A label: how wide and high, and how wide its code to scan, mm; a module of the code is never under 0.4 mm."""

    name: Size
    words: str
    wide_mm: float
    high_mm: float
    code_mm: float
    letters_pt: float


SIZES: Mapping[Size, LabelSize] = {
    "small": LabelSize("small", "47 × 25 mm, for tools and jars", 47.0, 25.0, 21.0, 15.0),
    "middle": LabelSize("middle", "63 × 38 mm, for boards and buckets", 63.0, 38.0, 31.0, 22.0),
    "large": LabelSize("large", "95 × 66 mm, for shelves and kilns", 95.0, 66.0, 50.0, 34.0),
}


@dataclass(frozen=True, slots=True)
class Label:
    """One label: what it is in a word or two, what stands below, and the address in its code."""

    big: str
    below: str
    scanned: str


def columns_and_rows(size: LabelSize, paper: Paper) -> tuple[int, int]:
    """How many labels go beside and below each other on a page."""
    wide, high = PAGE_MM[paper]
    return int((wide - 2 * MARGIN_MM) // size.wide_mm), int((high - 2 * MARGIN_MM - FOOT_MM) // size.high_mm)


def label_sheet(labels: Sequence[Label], size: Size, day: date, paper: Paper = "a4") -> bytes:
    """The PDF of a sheet of labels, as many pages as they need."""
    chosen = SIZES[size]
    columns, rows = columns_and_rows(chosen, paper)
    data = {
        "title": "Labels",
        "commission": "Bench",
        "foot": f"Labels, {chosen.words} · {show_day(day)}",
        "invented": False,
        "due": "",
        "paper": TYPST_PAPER[paper],
        "columns": columns,
        "rows": rows,
        "wide": chosen.wide_mm,
        "high": chosen.high_mm,
        "code": chosen.code_mm,
        "letters": chosen.letters_pt,
        "labels": [
            {"big": each.big, "below": each.below, "qr": scanned_code(each.scanned), "scanned": each.scanned}
            for each in labels
        ],
    }
    return typeset("bench_labels", data, day)
