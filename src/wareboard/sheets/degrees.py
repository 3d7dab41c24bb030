"""Temperatures on the sheets in the degrees that the brief asks for, those within sentences too."""

from __future__ import annotations

import re

RATE = re.compile(r"(\d+(?:\.\d+)?) °C/h")
# A difference has no 32 in it: "the last 100 °C", "100 °C under the peak", "a step of some 149 K".
DIFFERENCE = re.compile(
    r"(\d+(?:\.\d+)?) °C(?= under| below the| above the| apart)|(?<=last )(\d+(?:\.\d+)?) °C|(\d+) K\b"
)
LEVEL = re.compile(r"(\d+(?:\.\d+)?) °C(?!/)")
ROUGH_F = 5


def temperature(celsius: float, degrees: str) -> str:
    """A temperature to the degree: what a controller is set to is not rounded to fives."""
    return f"{celsius * 9 / 5 + 32:.0f} °F" if degrees == "F" else f"{celsius:.0f} °C"


def rate(c_per_h: float, degrees: str) -> str:
    """A rate of heating or cooling, to the degree in an hour."""
    return f"{c_per_h * 9 / 5:.0f} °F/h" if degrees == "F" else f"{c_per_h:.0f} °C/h"


def rough_temperature(celsius: float, degrees: str) -> str:
    """A temperature in words rather than on a controller: to 5 °F, so that 93 °C is the 200 °F it was published as."""
    fahrenheit = round((celsius * 9 / 5 + 32) / ROUGH_F) * ROUGH_F
    return f"{fahrenheit} °F" if degrees == "F" else f"{celsius:.0f} °C"


def in_degrees(words: str, degrees: str) -> str:
    """The words with every temperature, difference and rate in them in the degrees asked for."""
    if degrees != "F":
        return words
    words = RATE.sub(lambda found: rate(float(found[1]), "F"), words)
    words = DIFFERENCE.sub(lambda found: f"{float(found[1] or found[2] or found[3]) * 9 / 5:.0f} °F", words)
    return LEVEL.sub(lambda found: rough_temperature(float(found[1]), "F"), words)
