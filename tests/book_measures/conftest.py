"""Invented commissions, and a short way to measure."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from tests.book_learning.conftest import LONG_AGO, begin, commission, tea, workshop_folder
from wareboard.book.measures.measuring import Kept, Reading, measure
from wareboard.book.models import Commission
from wareboard.studio.bench.reading import fresh_key

__all__ = ["begin", "commission", "tea", "workshop_folder"]


def measured(of: Commission | None, what: str, value: float, at_h: float = 0.0, **more: Any) -> Kept:
    when = LONG_AGO + timedelta(hours=at_h)
    given = {"form": "Cup", "stage": "thrown", "commission": of.code if of else ""} | more
    return measure(Reading(given.pop("key", fresh_key()), what, value, "Ada", when, **given), when)
