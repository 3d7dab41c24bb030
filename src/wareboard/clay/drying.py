"""Rough times to leather-hard and to bone dry, for a calendar until a board's own weights say better.

The rule. Leather-hard goes with the thickest wall in proportion (thin ware in still air dries as fast as its surface lets
water go). Bone dry follows a power of the thickness through the published figures: a mug and a wall of half an inch, or a
plate and that wall for flat ware. Cover and damp weather come in as factors from the published figures for them. Thickness
of the published pieces is a reading of theirs, not printed with them (common practice). All of it is rough: the air of the
room decides, and only weighing a pilot piece tells when ware is dry.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.reference import rows
from wareboard.working import Estimate, Step

COVERS = ("open", "light", "tight")
HUMIDITIES = ("dry", "usual", "damp")
THINNEST_MM, THICKEST_MM = 2.0, 25.0
HOURS_IN_A_DAY = 24.0
SOURCE = "rough, common-practice"


@dataclass(frozen=True, slots=True)
class RoughDrying:
    """Rough hours to leather-hard and days to bone dry, from wet, each with its range and the working."""

    leather_hard_h: Estimate
    bone_dry_days: Estimate
    steps: tuple[Step, ...]
    words: str = ""
    rough: bool = True


@dataclass(frozen=True, slots=True)
class _Published:
    """One published time: value and range in its printed unit, at a wet thickness."""

    value: float
    low: float
    high: float
    unit: str
    thickness_mm: float
    source: str

    def ends(self) -> tuple[float, float, float]:
        return (self.value, self.low, self.high)


@cache
def _published() -> Mapping[str, _Published]:
    return MappingProxyType(
        {
            row["what"]: _Published(
                float(row["value"]),
                float(row["low"]),
                float(row["high"]),
                row["unit"],
                float(row["wet_thickness_mm"] or "nan"),
                row["source"],
            )
            for row in rows("clay/drying_times")
        }
    )


def rough_drying(
    thickest_mm: float,
    cover: str = "light",
    humidity: str = "usual",
    flat: bool = False,
) -> RoughDrying:
    """Rough hours to leather-hard and days to bone dry, both counted from wet.

    Args:
        thickest_mm: thickest wall or floor, wet, mm; 2 to 25.
        cover: "open" on the shelf, "light" film over it, or "tight" wrap.
        humidity: the weather or room: "dry", "usual" or "damp".
        flat: plates and other flat ware, dried slowly under boards.
    Raises:
        OutOfRange: outside that thickness, or for a word that is not one of these.
    Source: ``clay/drying_times`` (published accounts of single workshops, and common practice); the rule is our own.
    """
    positive(thickest_mm, "thickest wall", "mm")
    if not THINNEST_MM <= thickest_mm <= THICKEST_MM:
        raise OutOfRange(
            f"thickest wall is {thickest_mm:g} mm",
            why=f"the figures cover {THINNEST_MM:g} to {THICKEST_MM:g} mm",
            mend="Hollow it out, or weigh a pilot piece through its drying",
        )
    for word, known, name in ((cover, COVERS, "cover"), (humidity, HUMIDITIES, "humidity")):
        if word not in known:
            raise OutOfRange(f"{name} {word!r}", why="no figure is kept for it", mend="Use one of: " + ", ".join(known))
    leather_hard, first = _leather_hard(thickest_mm, cover, humidity)
    bone_dry, second = _bone_dry(thickest_mm, cover, humidity, flat)
    words = (
        "Rough: from a few workshops' accounts. Dry is when two weighings a day apart agree, not when it looks dry; cool to "
        "the cheek is still wet."
    )
    return RoughDrying(leather_hard, bone_dry, (first, second), words)


def _weather(humidity: str) -> tuple[float, float, float]:
    """Factor and range for the humidity, by which the value, the low and the high end are multiplied."""
    if humidity == "usual":
        return (1.0, 1.0, 1.0)
    return _published()[f"{humidity} weather factor"].ends()


def _leather_hard(thickest_mm: float, cover: str, humidity: str) -> tuple[Estimate, Step]:
    row = _published()[f"leather-hard, {cover}"]
    hours = HOURS_IN_A_DAY if row.unit == "d" else 1.0
    formula = "published_h * thickest_mm / published_mm * weather"
    found = [
        published * hours * thickest_mm / row.thickness_mm * weather
        for published, weather in zip(row.ends(), _weather(humidity), strict=True)
    ]
    given = {
        "published_h": row.value * hours,
        "thickest_mm": thickest_mm,
        "published_mm": row.thickness_mm,
        "weather": _weather(humidity)[0],
    }
    step = Step(
        f"leather-hard after, {cover} cover (rough)",
        formula,
        given,
        found[0],
        row.source,
        unit="h",
        low=found[1],
        high=found[2],
        key="leather_hard",
    )
    return _estimate(found), step


def _estimate(found: list[float]) -> Estimate:
    value, low, high = found
    # The thick wall's published value is its own low end; rounding must not put the value outside its range.
    return Estimate(value, min(low, value), max(high, value), SOURCE)


def _cover_factor(cover: str) -> float:
    """How much longer or shorter than under a light cover, from the published pairs."""
    table = _published()
    if cover == "open":
        return table["bone dry, small bowl open"].value / table["bone dry, mug"].value
    if cover == "tight":
        return table["leather-hard, tight"].value / table["leather-hard, light"].value
    return 1.0


def _bone_dry(thickest_mm: float, cover: str, humidity: str, flat: bool) -> tuple[Estimate, Step]:
    thin = _published()["bone dry, plate" if flat else "bone dry, mug"]
    thick = _published()["bone dry, thick wall"]
    factor = _cover_factor(cover)
    found = []
    for first, second, weather in zip(thin.ends(), thick.ends(), _weather(humidity), strict=True):
        power = math.log(second / first) / math.log(thick.thickness_mm / thin.thickness_mm)
        # Below the thinner published piece its time stands: nothing published says that thinner ware is quicker.
        within = min(max(thickest_mm, thin.thickness_mm), thick.thickness_mm)
        beyond = max(thickest_mm, thick.thickness_mm) / thick.thickness_mm
        found.append(first * (within / thin.thickness_mm) ** power * beyond * factor * weather)
    formula = (
        "thin_d * (min(max(thickest_mm, thin_mm), thick_mm) / thin_mm) ** (log(thick_d / thin_d) / log(thick_mm / thin_mm))"
        " * max(thickest_mm, thick_mm) / thick_mm * cover * weather"
    )
    given = {
        "thin_d": thin.value,
        "thin_mm": thin.thickness_mm,
        "thick_d": thick.value,
        "thick_mm": thick.thickness_mm,
        "thickest_mm": thickest_mm,
        "cover": factor,
        "weather": _weather(humidity)[0],
    }
    step = Step(
        f"bone dry after, {cover} cover (rough)",
        formula,
        given,
        found[0],
        thin.source if thickest_mm < thick.thickness_mm else thick.source,
        unit="d",
        low=min(found[1], found[0]),
        high=found[2],
        key="bone_dry",
    )
    return _estimate(found), step
