"""°C or °F on the kiln pages: as the person chose, else as the firing's commission is written, else °C.

Records stay in °C; only what is shown is turned. A difference has no 32 in it, so levels and spans are told apart.
"""

from __future__ import annotations

import re
from dataclasses import replace

from django.http import HttpRequest

from wareboard.book.models import Commission
from wareboard.working import Step

COOKIE = "degrees"
C, F = "C", "F"
MINUS = "\N{MINUS SIGN}"
RATE = re.compile(r"(\d+(?:\.\d+)?) °C/h")
# "the last 100 °C", "by 12 °C", "12 °C hotter", "0.8 °C a firing", "+9 °C", "to within 3 °C": spans, not levels.
BEFORE = r"(?:by|last|over the last|within|another|of some|are|is|than|up to|off by|about) "
AFTER = (
    r"(?= (?:a firing|over|under|hotter|cooler|colder|below the|above the|apart|off|more|less|beyond|rms|on average))"
)
FIGURE = r"(\d+(?:\.\d+)?)"
SPAN_AFTER = re.compile(FIGURE + r" °C" + AFTER)
SPAN_BEFORE = re.compile(r"(?<![\d.])(?P<lead>" + BEFORE + r")" + FIGURE + r" °C(?!/)")
SIGNED = re.compile(r"([+\u2212-])" + FIGURE + r" °C(?!/)")
RANGE = re.compile(r"(?<![\d.])" + FIGURE + r" to " + FIGURE + r" °C(?!/)")
LEVEL = re.compile(r"(?<![\d.])" + FIGURE + r" °C(?!/)")
SMALLEST_LEVEL_C = 200.0  # in a sentence after "is" or "than" a figure this high is a temperature


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


def number(celsius: float, degrees: str = C) -> float:
    """A temperature as a bare figure."""
    return celsius * 9.0 / 5.0 + 32.0 if degrees == F else celsius


def level(celsius: float, degrees: str = C, places: int = 0) -> str:
    """A temperature: "1222 °C"."""
    return f"{number(celsius, degrees):.{places}f} °{degrees}".replace("-", MINUS)


def span(celsius: float, degrees: str = C, places: int = 0) -> str:
    """A difference of temperatures: "12 °C"."""
    return f"{_span(celsius, degrees):.{places}f} °{degrees}".replace("-", MINUS)


def signed_span(celsius: float, degrees: str = C) -> str:
    """A difference with its sign: "+12 °C"."""
    return f"{_span(celsius, degrees):+.0f} °{degrees}".replace("-", MINUS)


def rate(c_per_h: float, degrees: str = C) -> str:
    """A rate: "60 °C/h"."""
    return f"{_span(c_per_h, degrees):.0f} °{degrees}/h".replace("-", MINUS)


def _span(celsius: float, degrees: str) -> float:
    return celsius * 9.0 / 5.0 if degrees == F else celsius


def in_degrees(words: str, degrees: str = C) -> str:
    """Words from the kiln room with every temperature, difference and rate in them in the degrees asked for."""
    if degrees != F:
        return words

    def before(found: re.Match[str]) -> str:
        value = float(found[2])
        sure = found["lead"].strip() in ("by", "last", "over the last", "within", "off by", "another")
        return found["lead"] + (span(value, F) if sure or value < SMALLEST_LEVEL_C else level(value, F))

    def ends(found: re.Match[str]) -> str:
        low, high = float(found[1]), float(found[2])
        turn = level if high >= SMALLEST_LEVEL_C else span
        return f"{turn(low, F).split(' ')[0]} to {turn(high, F)}"

    words = RANGE.sub(ends, words)
    words = RATE.sub(lambda found: rate(float(found[1]), F), words)
    words = SIGNED.sub(lambda found: f"{found[1]}{_like(found[2], float(found[2]) * 1.8)} °F", words)
    words = SPAN_AFTER.sub(lambda found: f"{_like(found[1], float(found[1]) * 1.8)} °F", words)
    words = SPAN_BEFORE.sub(before, words)
    return LEVEL.sub(lambda found: level(float(found[1]), F), words)


def _like(written: str, value: float) -> str:
    """A figure with as many places as it was written with."""
    return f"{value:.{len(written.partition('.')[2])}f}"


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
