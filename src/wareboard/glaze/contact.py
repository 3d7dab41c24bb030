"""Ware for food: limits of lead and cadmium by place and article, what to send to a laboratory, when a result lapses.

The room looks limits up, compares figures and reminds. A laboratory tests, local law decides; limits change.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cache
from types import MappingProxyType
from typing import Literal

from wareboard.errors import NotInTable, OutOfRange
from wareboard.given import not_negative, positive
from wareboard.reference import rows

Metal = Literal["lead", "cadmium"]
Use = Literal["table", "cup", "jug", "cooking", "storage"]
METALS: tuple[Metal, ...] = ("lead", "cadmium")
USES: tuple[Use, ...] = ("table", "cup", "jug", "cooking", "storage")

US, EU, CALIFORNIA, ISO = "United States", "European Union", "California", "ISO 6486-2:1999"
# Flat when the inside is no deeper; the same figure in the US and the EU texts.
FLAT_DEPTH_MM = 25.0
LARGE_FROM_ML = 1100.0
STORAGE_OVER_ML = 3000.0
# EU: an article over by no more than this still passes where three or more average within the limit (Art. 2.5).
EU_OVER = 1.5
EU_ARTICLES = 3
MM2_PER_DM2 = 10000.0

NO_RIM_LIMIT = "No limit for the rim is in the texts read: the laboratory says which figure it is set beside."
WHO_JUDGES = "A laboratory tests and local law decides; limits change: read the current text."
HOME_TESTS = "A vinegar or lemon test shows gross attack only, and a home swab can miss amounts that matter."


@dataclass(frozen=True, slots=True)
class LeachLimit:
    """One limit as printed, mg/l or mg/dm2, and how results are read against it."""

    place: str
    metal: Metal
    article_class: str
    limit: float
    unit: str
    reading: str
    rule: str
    source: str
    trust: str


@dataclass(frozen=True, slots=True)
class LeachTest:
    """The test that a place goes by, and how many pieces to send; a blank method and 0 samples where none was read."""

    place: str
    method: str
    samples: int
    words: str
    source: str
    trust: str


@cache
def leach_limits() -> tuple[LeachLimit, ...]:
    """Every shipped limit. Source: ``glaze/leach_limits.csv``, each row's own."""
    return tuple(
        LeachLimit(
            row["place"],
            "lead" if row["metal"] == "lead" else "cadmium",
            row["article_class"],
            float(row["limit"]),
            row["unit"],
            row["reading"],
            row["rule"],
            row["source"],
            row["trust"],
        )
        for row in rows("glaze/leach_limits")
    )


@cache
def places() -> tuple[str, ...]:
    """The places and standards whose limits are shipped."""
    return tuple(dict.fromkeys(limit.place for limit in leach_limits()))


def laboratory_test(place: str) -> LeachTest:
    """The test that ``place`` goes by, and how many pieces from one firing to send.

    Raises:
        NotInTable: for a place that is not shipped.
    Source: ``glaze/leach_tests.csv``.
    """
    return _test_in("glaze/leach_tests", place)


def rim_test(place: str) -> LeachTest:
    """How the rim is tested apart from the inside, whose extract stays below it, and how many more pieces to send.

    Raises:
        NotInTable: for a place that is not shipped.
    Source: ``glaze/rim_tests.csv``. It holds no limits: none for the rim was found.
    """
    return _test_in("glaze/rim_tests", place)


def _test_in(table: str, place: str) -> LeachTest:
    _known(place)
    row = next(row for row in rows(table) if row["place"] == place)
    return LeachTest(place, row["method"], int(row["samples"]), row["words"], row["source"], row["trust"])


def _known(place: str) -> None:
    if place not in places():
        raise NotInTable(
            f"limits of {place!r}", "they are not shipped", f"Ask its authorities, or take one of {', '.join(places())}"
        )


def article_class(place: str, metal: Metal, depth_mm: float, capacity_ml: float, use: Use = "table") -> str:
    """The class of an article in a place's table, from its inside depth, its capacity to the brim and its use.

    Args:
        depth_mm: inside depth from the brim, mm. capacity_ml: to the brim, ml.
        use: "cup" for cups and mugs, "jug" for jugs and pitchers, "cooking", "storage", else "table".
    Raises:
        NotInTable: for a place that is not shipped. OutOfRange: for sizes below 0 or an unknown use.
    Source: 84/500/EEC Art. 2.4 and FDA CPG 545.400, 545.450 (25 mm; 1.1 l; 3 l); ISO's borders from memory.
    """
    _known(place)
    not_negative(depth_mm, "inside depth", "mm")
    not_negative(capacity_ml, "capacity", "ml")
    if use not in USES:
        raise OutOfRange(f"use {use!r}", f"it is one of {', '.join(USES)}", "Take the nearest")
    if place == EU:
        if use == "cooking" or (use == "storage" and capacity_ml > STORAGE_OVER_ML):
            return "cooking or large storage"
        return "flatware" if depth_mm <= FLAT_DEPTH_MM else "other fillable"
    if place == ISO and use == "cooking":
        return "cooking ware"
    if depth_mm <= FLAT_DEPTH_MM:
        return "flatware"
    if place == CALIFORNIA:
        return "other tableware"
    if use == "cup" and (place == ISO or metal == "lead"):
        return "cups and mugs"
    if use == "jug" and place == US and metal == "lead":
        return "pitchers"
    return "large hollowware" if capacity_ml >= LARGE_FROM_ML else "small hollowware"


def limits_for(place: str, depth_mm: float, capacity_ml: float, use: Use = "table") -> tuple[LeachLimit, ...]:
    """The limits that a place sets for an article: lead, and cadmium where it has one. Raises as `article_class` does."""
    found = []
    for metal in METALS:
        named = article_class(place, metal, depth_mm, capacity_ml, use)
        found += [
            limit
            for limit in leach_limits()
            if (limit.place, limit.metal, limit.article_class) == (place, metal, named)
        ]
    return tuple(found)


def release_mg_per_dm2(mg_per_l: float, filled_ml: float, surface_mm2: float) -> float:
    """Release by surface, mg/dm2, from the strength of the extract, the volume filled and the surface wetted.

    Raises:
        OutOfRange: if the strength is below 0, or the volume or the surface not above 0.
    Source: arithmetic; flat ware is judged so in the EU and by ISO.
    """
    not_negative(mg_per_l, "strength of the extract", "mg/l")
    positive(filled_ml, "volume filled", "ml")
    return mg_per_l * filled_ml / 1000.0 / (positive(surface_mm2, "surface wetted", "mm2") / MM2_PER_DM2)


@dataclass(frozen=True, slots=True)
class Compared:
    """Laboratory figures set beside a limit: not a certificate."""

    limit: LeachLimit
    results: tuple[float, ...]
    within: bool
    words: str


def compared(limit: LeachLimit, results: Sequence[float]) -> Compared:
    """Laboratory results of identical articles beside a limit, read as that limit is read.

    Args:
        results: one figure for each article, in the limit's unit.
    Raises:
        OutOfRange: for no results, fewer than the reading asks for, or figures below 0.
    Source: the limit's own; 84/500/EEC Art. 2.5 for the articles that may be over.
    """
    for figure in results:
        not_negative(figure, "result", limit.unit)
    asked = laboratory_test(limit.place).samples if limit.place != EU else 1
    if len(results) < asked:
        raise OutOfRange(
            f"{len(results)} results for {limit.place}",
            f"{asked} articles are read together",
            "Send as many to the laboratory",
        )
    within = _within(limit, results)
    average = sum(results) / len(results)
    words = (
        f"{limit.metal}: highest {max(results):g}, average {average:.3g} {limit.unit}; limit {limit.limit:g} {limit.unit} "
        f"({limit.place}, {limit.article_class}, {limit.reading}): {'within' if within else 'over'} it. {WHO_JUDGES}"
    )
    return Compared(limit, tuple(results), within, words)


def _within(limit: LeachLimit, results: Sequence[float]) -> bool:
    average = sum(results) / len(results)
    if limit.reading.startswith("average"):
        return average <= limit.limit
    if limit.place == EU and len(results) >= EU_ARTICLES and average <= limit.limit:
        return max(results) <= EU_OVER * limit.limit
    return max(results) <= limit.limit


@dataclass(frozen=True, slots=True)
class Combination:
    """What a test holds for: one body and lot, one glaze (or layers of them) and lot, one cone."""

    body: str
    body_lot: str
    glaze: str
    glaze_lot: str
    cone: str


@dataclass(frozen=True, slots=True)
class Recorded:
    """A recorded result: what was tested, what for, when, by whom, and what came out, in the laboratory's words."""

    combination: Combination
    test: str
    day: str
    laboratory: str
    report: str
    outcome: str


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether a recorded result still speaks for what is being made, and if not, what has changed."""

    stands: bool
    changed: Mapping[str, tuple[str, str]]
    words: str


WORDS_FOR_FIELDS: Mapping[str, str] = MappingProxyType(
    {"body": "body", "body_lot": "lot of the body", "glaze": "glaze", "glaze_lot": "lot of the glaze", "cone": "cone"}
)


def standing(tested: Recorded, now: Combination) -> Standing:
    """Whether a result still speaks for a combination: it lapses when body, glaze, cone or either lot changes.

    A blank on either side counts as a change: what is not known is not the same.

    Source: common practice.
    """
    changed = {}
    for entry in fields(Combination):
        then, today = getattr(tested.combination, entry.name), getattr(now, entry.name)
        if not then or not today or then != today:
            changed[entry.name] = (then, today)
    if not changed:
        words = (
            f"{tested.test}, {tested.day}, {tested.laboratory}, report {tested.report}: {tested.outcome}. "
            f"Same body, glaze, cone and lots. {WHO_JUDGES}"
        )
        return Standing(True, MappingProxyType({}), words)
    told = "; ".join(
        f"{WORDS_FOR_FIELDS[name]} was {then or 'not noted'}, now {today or 'not noted'}"
        for name, (then, today) in changed.items()
    )
    return Standing(
        False, MappingProxyType(changed), f"The result of {tested.day} no longer speaks for this: {told}. Test again."
    )


def newest_standing(results: Sequence[Recorded], now: Combination) -> Standing:
    """The standing of the last result that still speaks for ``now``; else of the one that is least changed."""
    if not results:
        return Standing(False, MappingProxyType({}), "Not tested.")
    found = [standing(tested, now) for tested in results]
    speaking = [one for one in found if one.stands]
    return speaking[-1] if speaking else min(reversed(found), key=lambda one: len(one.changed))
