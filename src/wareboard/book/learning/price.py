"""What jobs truly cost over what they were reckoned at. Plans do not use it: its parts (minutes, losses, energy) they do."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from wareboard.book.learning.figures import Figure, Marks, Seen
from wareboard.book.learning.measured_figures import measured_figure
from wareboard.book.reckoning.learned import prior

PRICE_KEY = "price.cost_ratio"


def cost_record(code: str, reckoned: float, true: float, currency: str, day: date) -> Seen | None:
    """One finished job as a record; None where either cost is nothing."""
    if reckoned <= 0.0 or true <= 0.0:
        return None
    words = f"{currency} {true:,.0f}, where {reckoned:,.0f} were reckoned, {code}"
    return Seen(f"cost/{code}", true / reckoned, words, day, ("commission", code))


def price_figure(records: Iterable[Seen], marks: Marks) -> Figure:
    """True cost over reckoned cost, after the jobs that are done."""
    note = "Shown to set prices by; a plan leans on its parts instead, or each would count twice."
    name = "true cost of a job over its reckoned cost"
    return measured_figure(
        PRICE_KEY, "price", name, prior(PRICE_KEY), "scatter.cost_ratio", list(records), "job", marks, False, note
    )
