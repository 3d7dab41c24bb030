"""Measurements in words, as messages, lists and undo say them."""

from __future__ import annotations

from wareboard.book.measures.models import Measurement
from wareboard.book.measures.what import PICK_UP, what


def said_of(measurement: Measurement) -> str:
    """What was measured: "height of Cup 3, thrown: 107.5 mm"."""
    known = what(measurement.what)
    of = f"{measurement.form} {measurement.piece}".strip()
    stage = f", {measurement.stage}" if measurement.stage and known.name != PICK_UP else ""
    return f"{known.words.lower()}{f' of {of}' if of else ''}{stage}: {known.show(measurement.value)}"
