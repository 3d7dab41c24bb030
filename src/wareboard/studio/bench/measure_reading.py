"""From what a person writes, or a scale or caliper types, to a measurement."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from wareboard.book.measures.measuring import Reading
from wareboard.book.measures.what import DENSITY, HUMIDITY, PICK_UP, TEMPERATURE, WEIGH_IN, WEIGHT, what
from wareboard.errors import OutOfRange, Unreadable, WareboardError
from wareboard.quantities import duration_s, length_mm, mass_g, share, temperature_c
from wareboard.studio.bench.reading import moment_of

# What instruments type about the figure: stable or not, gross or net, a sign, the figure, a unit, a mark behind it.
TYPED = re.compile(r"^[A-Za-z,;:\s]*([+\-−]?)\s*(\d+(?:[.,]\d+)*)\s*([a-zA-Z%°\"/]*)[\s\W]*[A-Za-z]{0,3}\s*$")
THREE_BEHIND_A_COMMA = re.compile(r"\d{1,3},\d{3}")
IN_GRAMS = (WEIGHT, WEIGH_IN, PICK_UP)


def reading_from(sent: Mapping[str, Any], key: str, who: str, now: datetime) -> Reading:
    """What was sent, as a reading.

    Raises:
        Unreadable, OutOfRange, NotInTable: for words where a number should be, by name.
    """
    name = _words(sent, "what")
    what(name)
    pick_up = name == PICK_UP
    bucket = _words(sent, "bucket")
    if bucket and not bucket.isdecimal():
        raise Unreadable(f"bucket {bucket[:20]!r}", "it is no number", "Write the number on the bucket")
    return Reading(
        key=key,
        what=name,
        value=read_value(name, _words(sent, "value")),
        who=who,
        happened=moment_of(sent, now),
        commission=_words(sent, "commission"),
        form=_words(sent, "form"),
        stage=_words(sent, "stage"),
        board=_words(sent, "board"),
        piece=_words(sent, "piece"),
        before_g=read_value(WEIGHT, _words(sent, "before")) if pick_up else None,
        dwell_s=duration_s(_words(sent, "dwell")) if pick_up and _words(sent, "dwell") else None,
        gravity=read_value(DENSITY, _words(sent, "gravity")) if pick_up and _words(sent, "gravity") else None,
        area_mm2=_area_mm2(_words(sent, "area")) if pick_up and _words(sent, "area") else None,
        bucket=int(bucket) if bucket else None,
        place=_words(sent, "place"),
        note=_words(sent, "note"),
        sheet=_words(sent, "sheet"),
    )


def read_value(name: str, written: str) -> float:
    """The value in the base unit.

    ``ST,GS,+ 345.0g`` is what a scale types once it stands still; a comma may stand for the point.

    Raises:
        Unreadable: if it is no number. OutOfRange: for a negative weight or size, with its mend.
    """
    text = written.strip()
    typed = TYPED.match(text)
    if typed and typed[1] in ("-", "−") and name != TEMPERATURE:
        raise OutOfRange(
            f"{what(name).words.lower()}: -{typed[2]} {typed[3]}".rstrip(),
            "it cannot be negative",
            "Zero the scale or the gauge, and measure again",
        )
    if THREE_BEHIND_A_COMMA.fullmatch(typed[2] if typed else ""):
        # Nobody weighs pots to a milligram or writes thousands of millimetres: the odd look asks if this is wrong.
        figure = typed[2].replace(",", "" if name in IN_GRAMS else ".") if typed else ""
        text = f"{figure} {typed[3]}" if typed else text
    try:
        return _read(name, text)
    except WareboardError:
        if typed is None or not text:
            raise
    return _read(name, f"{typed[1]}{typed[2]} {typed[3]}".strip())


def _read(name: str, text: str) -> float:
    if name == DENSITY:
        return _density(text)
    if name == HUMIDITY:
        return share(text, bare="%")
    if name == TEMPERATURE:
        return temperature_c(text)
    return mass_g(text) if name in IN_GRAMS else length_mm(text)


def _density(text: str) -> float:
    found = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(g/ml|kg/l|g/cm3|g/l)?", text.strip().lower())
    if found is None:
        raise Unreadable(f"slip density {text[:20]!r}", "it is no density", "Write it like 1.45, or 1450 g/l")
    value = float(found[1].replace(",", "."))
    # A litre weighed on the kitchen scale gives 1450: nothing liquid is a thousand times water.
    return value / 1000.0 if found[2] == "g/l" or value >= 500.0 else value


def _area_mm2(text: str) -> float:
    found = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(?:cm2|cm²|sq cm)?", text.strip().lower())
    if found is None:
        raise Unreadable(f"glazed area {text[:20]!r}", "it is no area in cm²", "Write it like 240")
    return 100.0 * float(found[1].replace(",", "."))


def _words(sent: Mapping[str, Any], name: str) -> str:
    value = sent.get(name, "")
    return str(value).strip()[:200] if isinstance(value, str | int | float) else ""
