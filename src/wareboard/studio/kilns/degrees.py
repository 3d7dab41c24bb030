"""°C or °F on the kiln pages: as the person chose, else as the firing's commission is written, else °C.

Records stay in °C; only what is shown is turned. A difference has no 32 in it, so levels and spans are told apart.
"""

from __future__ import annotations

import re
from dataclasses import replace

from django.http import HttpRequest

from wareboard.book.models import Commission
from wareboard.sheets.degrees import C, F, in_degrees, level, number, rate, signed_span, span
from wareboard.working import Step

__all__ = [
    "COOKIE",
    "C",
    "F",
    "chosen",
    "in_degrees",
    "level",
    "number",
    "of_commission",
    "rate",
    "signed_span",
    "span",
    "step_in",
]

COOKIE = "degrees"


def chosen(request: HttpRequest, commission_code: str = "") -> str:
    """C or F: what the person chose on the kiln pages, else what the commission is written in, else C."""
    asked = request.COOKIES.get(COOKIE, "")
    if asked in (C, F):
        return asked
    return of_commission(commission_code) if commission_code else C


def of_commission(code: str) -> str:
    """The degrees that a commission's brief asks for."""
    from wareboard.studio.history import current_of

    commission = Commission.objects.filter(code=code).select_related("paper__current").first()
    if commission is None:
        return C
    found = re.search(r'^\s*show_temperatures\s*=\s*["\']([CF])["\']', current_of(commission).text, re.MULTILINE)
    return found[1] if found else C


def step_in(step: Step, degrees: str = C, difference: bool = True) -> Step:
    """A step in °C as one in the degrees asked for, its formula going on to them, so that it still works out."""
    if degrees != F or step.unit != "°C":
        return step
    more = "" if difference else " + 32"

    def turned(value: float | None) -> float | None:
        return None if value is None else value * 1.8 + (0.0 if difference else 32.0)

    formula = f"({step.formula}) * 1.8{more}" if step.formula else ""
    made = turned(step.value)
    assert made is not None
    return replace(step, formula=formula, value=made, unit="°F", low=turned(step.low), high=turned(step.high))
