"""Temperatures in the degrees asked for, those within sentences too. A difference has no 32 in it."""

from __future__ import annotations

import re
from dataclasses import replace

from wareboard.plan.result import Notice, Plan
from wareboard.working import MINUS, signed

C, F = "C", "F"
ROUGH_F = 5
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
KELVIN = re.compile(r"(\d+) K\b")
LEVEL = re.compile(r"(?<![\d.])" + FIGURE + r" °C(?!/)")
SMALLEST_LEVEL_C = 200.0  # in a sentence after "is" or "than" a figure this high is a temperature


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
    return f"{signed(_span(celsius, degrees))} °{degrees}"


def rate(c_per_h: float, degrees: str = C) -> str:
    """A rate: "60 °C/h"."""
    return f"{_span(c_per_h, degrees):.0f} °{degrees}/h".replace("-", MINUS)


def _span(celsius: float, degrees: str) -> float:
    return celsius * 9.0 / 5.0 if degrees == F else celsius


def temperature(celsius: float, degrees: str) -> str:
    """A temperature to the degree: what a controller is set to is not rounded to fives."""
    return level(celsius, degrees)


def rough_temperature(celsius: float, degrees: str) -> str:
    """A temperature in words rather than on a controller: to 5 °F, so that 93 °C is the 200 °F it was published as."""
    if degrees != F:
        return level(celsius, degrees)
    return f"{round(number(celsius, F) / ROUGH_F) * ROUGH_F} °F"


def in_degrees(words: str, degrees: str = C, rough: bool = False) -> str:
    """Words from the kiln room with every temperature, difference and rate in them in the degrees asked for.

    ``rough``: temperatures to 5 °F, for words that nobody sets a controller by.
    """
    if degrees != F:
        return words
    said = rough_temperature if rough else level

    def before(found: re.Match[str]) -> str:
        value = float(found[2])
        sure = found["lead"].strip() in ("by", "last", "over the last", "within", "off by", "another")
        return found["lead"] + (span(value, F) if sure or value < SMALLEST_LEVEL_C else said(value, F))

    def ends(found: re.Match[str]) -> str:
        low, high = float(found[1]), float(found[2])
        turn = said if high >= SMALLEST_LEVEL_C else span
        return f"{turn(low, F).split(' ')[0]} to {turn(high, F)}"

    words = RANGE.sub(ends, words)
    words = RATE.sub(lambda found: rate(float(found[1]), F), words)
    words = SIGNED.sub(lambda found: f"{found[1]}{_like(found[2], float(found[2]) * 1.8)} °F", words)
    words = KELVIN.sub(lambda found: f"{float(found[1]) * 1.8:.0f} °F", words)
    words = SPAN_AFTER.sub(lambda found: f"{_like(found[1], float(found[1]) * 1.8)} °F", words)
    words = SPAN_BEFORE.sub(before, words)
    return LEVEL.sub(lambda found: said(float(found[1]), F), words)


def _like(written: str, value: float) -> str:
    """A figure with as many places as it was written with."""
    return f"{value:.{len(written.partition('.')[2])}f}"


def notices_shown(plan: Plan) -> tuple[Notice, ...]:
    """A plan's notices, those of its firings in the degrees that its brief asks for."""
    degrees = plan.brief.show_temperatures
    if degrees != F:
        return plan.notices
    return tuple(
        replace(
            each,
            what=in_degrees(each.what, F, rough=True),
            why=in_degrees(each.why, F, rough=True),
            mend=in_degrees(each.mend, F, rough=True),
        )
        if each.about.endswith(" firing")
        else each
        for each in plan.notices
    )
