"""Quantities as people write them, to base units and back: "5 1/2 in", "1 lb 2 oz", "about 300 ml", "1945 F", "12 %".

The only place that knows units. Base units: mm, g, ml, °C, s, plain shares. Factors are exact or as NIST SP 811 (2008),
appendix B.8, prints them. Rooms never import this; the brief, the sheets, the studio and the commands do.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from types import MappingProxyType

from wareboard.errors import Unreadable, as_written

SOURCE = "nist-sp811"
INCH_MM, POUND_G, US_FLUID_OUNCE_ML, UK_FLUID_OUNCE_ML = 25.4, 453.59237, 29.5735295625, 28.4130625
ABSOLUTE_ZERO_C = -273.15
HOTTEST_C = 3000.0  # past the melting point of every refractory a kiln is built of


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity: its name, base unit, every spelling with its factor, and an example to offer as the mend."""

    name: str
    base: str
    units: Mapping[str, float]
    example: str


def _spellings(*groups: tuple[str, float]) -> Mapping[str, float]:
    return MappingProxyType({word: factor for words, factor in groups for word in words.split("|")})


LENGTH = Kind(
    "length",
    "mm",
    _spellings(
        ("mm|millimetre|millimetres|millimeter|millimeters", 1.0),
        ("cm|centimetre|centimetres|centimeter|centimeters", 10.0),
        ("m|metre|metres|meter|meters", 1000.0),
        ('in|ins|inch|inches|"', INCH_MM),
        ("ft|foot|feet|'", 12 * INCH_MM),
    ),
    '"110 mm", "5 1/2 in" or "3.5\\""',
)
INCHES = re.compile(r"""(?:["″”'′’]|(?:\d|\W|^)(?:in|ins|inch|inches|ft|foot|feet))\.?$""", re.IGNORECASE)
MASS = Kind(
    "weight",
    "g",
    _spellings(
        ("g|gr|gram|grams|gramme|grammes", 1.0),
        ("kg|kilo|kilos|kilogram|kilograms", 1000.0),
        ("mg", 0.001),
        ("t|tonne|tonnes", 1e6),
        ("oz|ounce|ounces", POUND_G / 16),
        ("lb|lbs|pound|pounds", POUND_G),
    ),
    '"345 g", "1.2 kg" or "1 lb 2 oz"',
)
VOLUME = Kind(
    "volume",
    "ml",
    _spellings(
        ("ml|millilitre|millilitres|milliliter|milliliters|cc|cm3", 1.0),
        ("cl", 10.0),
        ("dl", 100.0),
        ("l|litre|litres|liter|liters", 1000.0),
        ("fl oz|floz|us fl oz|fluid ounce|fluid ounces", US_FLUID_OUNCE_ML),
        ("imp fl oz|uk fl oz|imperial fl oz", UK_FLUID_OUNCE_ML),
        ("us pint|us pints|us pt", 16 * US_FLUID_OUNCE_ML),
        ("uk pint|uk pints|imp pint|imp pints|imperial pint|imperial pints", 20 * UK_FLUID_OUNCE_ML),
        ("us gal|us gallon|us gallons", 128 * US_FLUID_OUNCE_ML),
        ("uk gal|uk gallon|uk gallons|imp gal|imp gallon|imp gallons", 160 * UK_FLUID_OUNCE_ML),
    ),
    '"300 ml", "1.2 l" or "12 fl oz" (US; write "uk fl oz" for the imperial one)',
)
DURATION = Kind(
    "time",
    "s",
    _spellings(
        ("s|sec|secs|second|seconds", 1.0),
        ("min|mins|minute|minutes", 60.0),
        ("h|hr|hrs|hour|hours", 3600.0),
        ("d|day|days", 86400.0),
        ("week|weeks|wk|wks", 604800.0),
    ),
    '"30 min", "8 h" or "2 days"',
)
TEMPERATURE_UNITS = MappingProxyType(
    {word: unit for unit in "cfk" for word in (unit, f"°{unit}", f"deg {unit}", f"degrees {unit}")}
    | {"celsius": "c", "centigrade": "c", "fahrenheit": "f", "kelvin": "k", "°": "c"}
)

VULGAR = MappingProxyType(
    {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
)
ABOUT = re.compile(r"^(?:about|around|approximately|approx\.?|roughly|circa|ca\.?|c\.|~|≈)\s*")
NUMBER = r"(?P<whole>\d+)[ -]+(?P<up>\d+)\s*/\s*(?P<down>\d+)|(?P<up2>\d+)\s*/\s*(?P<down2>\d+)|(?P<plain>\d*[.,]?\d+)"
TERM = re.compile(rf"\s*(?:{NUMBER})\s*(?P<unit>[^\d\s,.+-][^\d,.+-]*?|)\s*(?=$|\d|[.,]\d|,\s|and\b)(?:,\s*|and\b)?")


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read: the value in the base unit, whether it was said to be about that, and whether a unit was written."""

    value: float
    about: bool
    unit: str


def read(text: str | float, kind: Kind, bare: str | None = None) -> Reading:
    """What ``text`` says, in the base unit of ``kind``.

    Args:
        text: words as people write them; a plain number is taken in ``bare``, or in the base unit.
        kind: `LENGTH`, `MASS`, `VOLUME` or `DURATION`.
        bare: the unit that a number without one is in (a form whose box says "in" passes "in").
    Raises:
        Unreadable: if it cannot be read, is negative, not finite, or larger than any workshop could mean.
    Source: NIST SP 811 (2008), appendix B.8.
    """
    words, about = _tidied(text, kind)
    total, unit, smallest = 0.0, "", math.inf
    place, terms = 0, 0
    while place < len(words):
        term = TERM.match(words, place)
        if term is None or term.end() == place:
            raise _unreadable(text, kind, "it is not a number and a unit")
        unit = re.sub(r"\s+", " ", term["unit"].strip().rstrip("."))
        factor = kind.units.get(unit or bare or kind.base)
        if factor is None:
            raise _unreadable(text, kind, f"{unit!r} is not a unit of {kind.name} known here")
        if factor >= smallest or (terms and not unit):
            raise _unreadable(text, kind, "its parts do not follow from large to small, each with its unit")
        total, smallest = total + _number(term, text, kind) * factor, factor
        place, terms = term.end(), terms + 1
    if not terms:
        raise _unreadable(text, kind, "nothing is written")
    if not math.isfinite(total):
        raise _unreadable(text, kind, "it is not a finite number")
    return Reading(total, about, unit)


def _tidied(text: str | float, kind: Kind) -> tuple[str, bool]:
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise _unreadable(text, kind, "it is neither words nor a number")
    if not isinstance(text, str):
        if not math.isfinite(text):
            raise _unreadable(text, kind, "it is not a finite number")
        text = f"{text:.12f}".rstrip("0").rstrip(".") if abs(text) < 1e12 else "9" * 40
    words = text.strip().lower().replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", " ")
    for sign, plain in (
        ("″", '"'),
        ("”", '"'),
        ("“", '"'),
        ("''", '"'),
        ("′", "'"),
        ("’", "'"),
        ("\N{MINUS SIGN}", "-"),
    ):
        words = words.replace(sign, plain)
    for sign, plain in VULGAR.items():
        words = words.replace(sign, f" {plain}")
    bare = re.sub(r"(?<=[a-z])\.", "", ABOUT.sub("", words.strip()))  # "fl. oz." is "fl oz"
    if bare.startswith("-"):
        raise _unreadable(text, kind, f"a {kind.name} cannot be negative")
    return bare.removeprefix("+").strip(), ABOUT.match(words.strip()) is not None


def _number(term: re.Match[str], text: str | float, kind: Kind) -> float:
    if term["plain"]:
        figure = term["plain"]
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", figure):
            raise _unreadable(
                text, kind, "the comma could mark thousands or decimals", f"Write {figure.replace(',', '')}"
            )
        return float(figure.replace(",", "."))
    whole, up, down = term["whole"] or "0", term["up"] or term["up2"], term["down"] or term["down2"]
    if int(down) == 0:
        raise _unreadable(text, kind, "it divides by nothing")
    return float(int(whole) + Fraction(int(up), int(down)))


def _unreadable(text: object, kind: Kind, why: str, mend: str = "") -> Unreadable:
    return Unreadable(f"{kind.name} {as_written(text)}", why, mend or f"Write it like {kind.example}")


def length_mm(text: str | float, bare: str = "mm") -> float:
    """The length that ``text`` says, mm; see `read`."""
    return read(text, LENGTH, bare).value


def in_inches(*texts: str | None) -> bool:
    """Whether lengths are thought of in inches: each of those that are written at all names inches or feet."""
    written = [text.strip() for text in texts if text and text.strip()]
    return bool(written) and all(INCHES.search(text) for text in written)


def mass_g(text: str | float, bare: str = "g") -> float:
    """The weight that ``text`` says, g; see `read`."""
    return read(text, MASS, bare).value


def volume_ml(text: str | float, bare: str = "ml") -> float:
    """The volume that ``text`` says, ml; see `read`. A plain "fl oz" is the US one."""
    return read(text, VOLUME, bare).value


def duration_s(text: str | float, bare: str = "s") -> float:
    """The time that ``text`` says, s; see `read`."""
    return read(text, DURATION, bare).value


TEMPERATURE = Kind("temperature", "c", MappingProxyType({"c": 1.0}), '"1222 C" or "1945 F"')
SHARE = Kind("share", "", MappingProxyType({"": 1.0, "%": 1.0, "percent": 1.0, "per cent": 1.0}), '"12 %" or 0.12')


def temperature_c(text: str | float, bare: str = "c") -> float:
    """The temperature that ``text`` says, °C.

    Raises:
        Unreadable: if it is no temperature, lies below absolute zero, or is a cone, which is heat work and no temperature.
    """
    if isinstance(text, str) and re.match(r"\s*(?:cone|Δ|\^)", text, re.IGNORECASE):
        raise _unreadable(text, TEMPERATURE, "a cone is heat work, time and temperature together, not a temperature")
    negative = isinstance(text, str) and text.strip().startswith(("-", "\N{MINUS SIGN}"))
    words, _ = _tidied(text.strip()[1:] if negative and isinstance(text, str) else text, TEMPERATURE)
    found = re.fullmatch(r"(\d*[.,]?\d+)\s*(.*?)\.?", words)
    unit = TEMPERATURE_UNITS.get(re.sub(r"\s+", " ", found[2]) or bare.lower()) if found else None
    if found is None or unit is None:
        raise _unreadable(text, TEMPERATURE, "it is not a number and °C, °F or K")
    value = float(found[1].replace(",", ".")) * (-1 if negative else 1)
    celsius = {"c": value, "f": (value - 32) * 5 / 9, "k": value + ABSOLUTE_ZERO_C}[unit]
    if not ABSOLUTE_ZERO_C <= celsius <= HOTTEST_C:
        raise _unreadable(text, TEMPERATURE, "nothing can be that cold or that hot")
    return celsius


def share(text: str | float, bare: str = "") -> float:
    """The share that ``text`` says, as a plain fraction: "12 %" and 0.12 are both 0.12.

    A bare number above 1 is refused, because 12 may mean 12 % or a slip; a form whose box says "%" passes ``bare="%"``.
    """
    reading = read(text, SHARE)
    if reading.unit or bare == "%":
        return round(reading.value / 100, 12)  # 3.12 % is 0.0312, not its neighbour
    if reading.value > 1:
        mend = f"Write {text} %, or {reading.value / 100:g}" if reading.value <= 100 else "Write a share such as 12 %"
        raise _unreadable(text, SHARE, "a share lies between 0 and 1", mend)
    return reading.value


def cone_name(text: str | float) -> str:
    """The cone that ``text`` names, as the trade writes it: "cone 6" is "6", "Cone 04" is "04".

    A number is a cone without a leading nought: 4 is cone 4, never cone 04.
    """
    kind = Kind("cone", "", MappingProxyType({}), '"cone 6" or "04"')
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise _unreadable(text, kind, "it is neither words nor a number")
    words = f"{text:g}" if not isinstance(text, str) else text
    found = re.fullmatch(r"\s*(?:cone|Δ|\^|c\.?)?\s*(0?\d{1,2}(?:[.,]5| ?1/2|½)?)\s*", words, re.IGNORECASE)
    if found is None:
        raise _unreadable(text, kind, "it does not read as a cone number")
    return re.sub(r" ?1/2|½", ".5", found[1]).replace(",", ".")


# ---- and back: rounded as the trade would ----


def _fraction_of_an_inch(inches: float, parts: int) -> str:
    steps = round(inches * parts)
    if steps < 0:
        return "-" + _fraction_of_an_inch(-inches, parts)
    whole, rest = divmod(steps, parts)
    if not rest:
        return str(whole)
    part = Fraction(rest, parts)
    return f"{whole} {part.numerator}/{part.denominator}" if whole else f"{part.numerator}/{part.denominator}"


def show_length(mm: float, unit: str = "mm") -> str:
    """A length to the nearest 1 mm, or 1/16 in."""
    if unit == "in":
        return f"{_fraction_of_an_inch(mm / INCH_MM, 16)} in"
    return f"{mm:.0f} mm"


def show_mass(g: float, unit: str = "g") -> str:
    """A weight to the nearest 5 g (1 g below 100 g), or 1/4 oz; kilograms from 10 kg up."""
    if unit in ("oz", "lb"):
        ounces = round(g / (POUND_G / 16) * 4) / 4
        pounds, rest = divmod(ounces, 16)
        small = f"{rest:g} oz"
        return f"{pounds:.0f} lb {small}" if pounds and rest else (f"{pounds:.0f} lb" if pounds else small)
    if g >= 10_000:
        return f"{g / 1000:.1f} kg"
    step = 5 if g >= 100 else 1
    return f"{round(g / step) * step:.0f} g"


def show_volume(ml: float, unit: str = "ml") -> str:
    """A volume to the nearest 5 ml, 1/4 fl oz (US), or 0.1 l from 2 l up."""
    if unit == "fl oz":
        return f"{round(ml / US_FLUID_OUNCE_ML * 4) / 4:g} fl oz"
    if ml >= 2000:
        return f"{ml / 1000:.1f} l"
    return f"{round(ml / 5) * 5:.0f} ml"


def show_temperature(c: float, unit: str = "C") -> str:
    """A temperature to the nearest 5 °C, or 5 °F."""
    if unit.upper() == "F":
        return f"{round((c * 9 / 5 + 32) / 5) * 5:.0f} °F"
    return f"{round(c / 5) * 5:.0f} °C"


def show_share(value: float) -> str:
    """A share as per cent, to the nearest 0.1 %, without a trailing nought."""
    return f"{round(value * 100, 1) + 0.0:.1f}".removesuffix(".0") + " %"  # + 0.0: never "-0 %"


def show_day(day: date) -> str:
    """A day as "12 Feb 2027"."""
    return f"{day.day} {day:%b %Y}"


def show_duration(s: float) -> str:
    """A time as "45 min", "8 h 30 min" or "3 days", rounded to 5 min, and to half days from two days up."""
    if s >= 2 * 86400:
        days = round(s / 43200) / 2
        return f"{days:g} days"
    minutes = round(s / 300) * 5 if s >= 600 else round(s / 60)
    hours, rest = divmod(minutes, 60)
    return f"{hours:.0f} h {rest:.0f} min" if hours and rest else (f"{hours:.0f} h" if hours else f"{rest:.0f} min")
