"""Whether a new entry looks odd beside the records, and which slip would explain it: asked about, never refused.

``3,450 g where 345 g is usual``: one figure too many. Values above 0, in the base unit of the book (mm, g, ml, °C, min).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np

from wareboard.book.reckoning.given import finite, numbers, positive
from wareboard.book.reckoning.learned import HALF_WIDTH_OF_90_PER_CENT, Prior, learning_figure
from wareboard.working import Estimate, Step

SOURCE = "iglewicz-hoaglin"
# Median absolute deviation of a normal distribution over its standard deviation, turned round.
TO_DEVIATION = 1.4826022185056018
# A usual value is trusted less than this many records' worth of the default when there are few.
PRIOR_WORTH = 3.0
# Hand-made things never scatter less than this share: without it five like readings would make the sixth odd.
LEAST_SCATTER_SHARE = 0.01
GRAMS_PER_OUNCE, GRAMS_PER_POUND, MM_PER_INCH, ML_PER_FLUID_OUNCE = 28.349523125, 453.59237, 25.4, 29.5735295625

# Unit slips by the base unit: what was typed as if it were the base unit, and the factor that mends it.
UNIT_SLIPS: Mapping[str, tuple[tuple[str, float], ...]] = {
    "g": (("ounces entered as grams", GRAMS_PER_OUNCE), ("pounds entered as grams", GRAMS_PER_POUND)),
    "mm": (("inches entered as millimetres", MM_PER_INCH),),
    "ml": (("fluid ounces (US) entered as millilitres", ML_PER_FLUID_OUNCE),),
    "min": (("hours entered as minutes", 60.0), ("seconds entered as minutes", 1.0 / 60.0)),
}
DECIMAL_WORDS = {1: "a decimal place", 2: "two decimal places", 3: "three decimal places"}
# Tens that are as likely another unit: named beside the decimal place, for the mend is the same.
ALSO = {
    ("mm", 10.0): "centimetres for millimetres",
    ("mm", 1000.0): "metres for millimetres",
    ("g", 1000.0): "kilograms for grams",
    ("g", 0.001): "milligrams for grams",
    ("ml", 1000.0): "litres for millilitres",
    ("ml", 10.0): "centilitres for millilitres",
}


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip that would explain an odd entry: in words, and what the entry would then have been."""

    words: str
    meant: float
    score: float


@dataclass(frozen=True, slots=True)
class Look:
    """A new entry beside the records: whether to ask about it, how far off it is in scatters, and what may have happened."""

    value: float
    odd: bool
    score: float
    usual: Estimate
    slips: tuple[Slip, ...]
    words: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class _Usual:
    """Middle and scatter of the logarithm."""

    middle: float
    scatter: float
    count: int
    source: str

    def score(self, value: float) -> float:
        return (math.log(value) - self.middle) / self.scatter


def look_at(
    name: str,
    value: float,
    records: Sequence[float],
    unit: str = "",
    before: Prior | None = None,
    within: Prior | None = None,
) -> Look:
    """Whether to ask about a new value, with the likely slips, the likeliest first.

    Args:
        name: what was entered, in plain words.
        value: the new entry, above 0 (°C above -273.15).
        records: earlier entries of the same kind, in the same unit; none is allowed when ``before`` is given.
        unit: base unit: g, mm, ml, min or °C, or none; decides which slips of unit are thought of.
        before: what is held without records; it fades as records come in.
        within: usual scatter of one entry as a share of the value; the records' own when left out.
    Raises:
        OutOfRange: if a number is not finite, or not above 0.
    Source: iglewicz-hoaglin, score from median and median absolute deviation, odd above 3.5; on logarithms,
        because a slip is a factor. Few records: median and scatter are drawn to what is held before, which counts for three.
    """
    if not records and before is None:
        positive(value, name)
        usual = Estimate(value, value, value, "own records")
        return Look(value, False, 0.0, usual, (), f"{name}: nothing to compare with yet.", ())
    shift = 273.15 if unit == "°C" else 0.0
    held = _usual(name, records, before, within, shift)
    number = positive(value + shift, f"{name}{' above absolute zero' if shift else ''}")
    limit = learning_figure("odd.score")
    score = held.score(number)
    odd = abs(score) > limit
    slips = _slips(value, unit, held, shift, limit) if odd else ()
    half = HALF_WIDTH_OF_90_PER_CENT * held.scatter
    ends = [math.exp(held.middle + side) - shift for side in (0.0, -half, half)]
    usual = Estimate(ends[0], ends[1], ends[2], held.source)
    words = _words(name, value, unit, odd, usual, _drawn_from(held.count, before), slips)
    return Look(value, odd, score, usual, slips, words, _steps(number, held, score, limit))


def look_over(
    entries: Mapping[str, float],
    records: Mapping[str, Sequence[float]],
    units: Mapping[str, str],
    before: Mapping[str, Prior] | None = None,
    within: Mapping[str, Prior] | None = None,
) -> tuple[Look, ...]:
    """A look at each of several entries for one piece, and whether two of them stand in each other's place.

    Two entries of like unit are taken for swapped when neither is odd in the other's place and that explains them far
    better: their squared scores fall by more than the square of the limit for one.

    Args:
        entries: by name (height, width, weight …); each needs records or something held before.
        records, units, before, within: by the same names, as for `look_at`.
    Raises:
        OutOfRange: as for `look_at`.
    """

    def look(name: str, value: float) -> Look:
        held, share = (before or {}).get(name), (within or {}).get(name)
        return look_at(name, value, records.get(name, ()), units.get(name, ""), held, share)

    looks = {name: look(name, value) for name, value in entries.items()}
    limit = learning_figure("odd.score")
    for one, other in combinations(entries, 2):
        if units.get(one, "") != units.get(other, ""):
            continue
        turned = {one: look(one, entries[other]), other: look(other, entries[one])}
        gain = sum(looks[name].score ** 2 - each.score**2 for name, each in turned.items())
        if gain <= limit**2 or any(each.odd for each in turned.values()):
            continue
        for name, each in turned.items():
            # Two entries that mend each other explain more than any slip in one of them: this one comes first.
            slips = (Slip(f"{one} and {other} swapped", each.value, each.score), *looks[name].slips)
            by = _drawn_from(len(records.get(name, ())), (before or {}).get(name))
            said = _words(name, entries[name], units.get(name, ""), True, each.usual, by, slips)
            looks[name] = replace(looks[name], odd=True, slips=slips, words=said)
    return tuple(looks[name] for name in entries)


def _usual(name: str, records: Sequence[float], before: Prior | None, within: Prior | None, shift: float) -> _Usual:
    logs = np.log([positive(finite(value, f"record of {name}") + shift, f"record of {name}") for value in records])
    source = "own records" if len(logs) else ""
    scatter_before = max(LEAST_SCATTER_SHARE, within.value) if within else None
    middle, spread, count = 0.0, 0.0, len(logs)
    if count:
        numbers(list(logs), f"records of {name}")
        middle = float(np.median(logs))
        spread = TO_DEVIATION * float(np.median(np.abs(logs - middle)))
    if before is not None:
        first = math.log(positive(before.value + shift, before.label))
        low = positive(before.low + shift, f"low end of {before.label}")
        wide = math.log((before.high + shift) / low) / (2.0 * HALF_WIDTH_OF_90_PER_CENT)
        # The default's range is that of whole workshops; one entry of a workshop known by its records lies far closer.
        single = wide if scatter_before is None else scatter_before
        part = count / (count + PRIOR_WORTH)
        middle = part * middle + (1.0 - part) * first
        spread = math.hypot(
            math.sqrt(part) * spread, math.sqrt(1.0 - part) * max(single, wide if not count else single)
        )
        source = f"{before.source}+own records" if count else before.source
    elif scatter_before is not None:
        part = count / (count + PRIOR_WORTH)
        spread = math.sqrt(part * spread**2 + (1.0 - part) * scatter_before**2)
    elif count < 2 * PRIOR_WORTH:
        # A handful says little of its own scatter: a tenth of the value is held beside it.
        part = count / (count + PRIOR_WORTH)
        spread = math.sqrt(part * spread**2 + (1.0 - part) * 0.1**2)
    return _Usual(middle, max(spread, LEAST_SCATTER_SHARE), count, source)


def _slips(value: float, unit: str, held: _Usual, shift: float, limit: float) -> tuple[Slip, ...]:
    """The slips whose mended value would be usual, the likeliest first; those that mend alike share one line."""
    kept: list[Slip] = []
    for words, meant in _thought_of(value, unit):
        if meant + shift <= 0.0 or math.isclose(meant, value, rel_tol=1e-9):
            continue
        same = next((place for place, slip in enumerate(kept) if math.isclose(slip.meant, meant, rel_tol=1e-9)), None)
        if same is None:
            kept.append(Slip(words, meant, held.score(meant + shift)))
        elif words not in kept[same].words:
            kept[same] = replace(kept[same], words=f"{kept[same].words}, or {words}")
    usual = [slip for slip in kept if abs(slip.score) <= limit]
    return tuple(sorted(usual, key=lambda slip: abs(slip.score)))


def _thought_of(value: float, unit: str) -> Iterator[tuple[str, float]]:
    """Every slip that is thought of, with the value that was then meant."""
    for places, words in DECIMAL_WORDS.items():
        for factor in (10.0**places, 10.0**-places):
            yield words, value * factor
            if (unit, factor) in ALSO:
                yield ALSO[unit, factor], value * factor
    for words, factor in UNIT_SLIPS.get(unit, ()):
        yield words, value * factor
        if unit != "min":
            yield _turned(words), value / factor
    if unit == "°C":
        yield "degrees Fahrenheit entered as Celsius", (value - 32.0) / 1.8
        yield "a temperature turned to Celsius twice", value * 1.8 + 32.0
    if unit == "mm":
        yield "a radius entered for a width", 2.0 * value
    yield from _slips_of_the_key(value)


def _turned(words: str) -> str:
    first, second = words.split(" entered as ")
    return f"{second} entered as {first}"


def _slips_of_the_key(value: float) -> list[tuple[str, float]]:
    """Two figures in each other's place, and one figure struck twice."""
    text = f"{value:.10g}"
    if "e" in text:
        return []
    found = []
    for place, (one, other) in enumerate(pairwise(text)):
        if not (one.isdigit() and other.isdigit()):
            continue
        if one == other:
            found.append(("a figure struck twice", float(text[:place] + text[place + 1 :])))
        else:
            turned = text[:place] + other + one + text[place + 2 :]
            found.append((f"{one} and {other} in each other's place", float(turned)))
    return found


def _shown(value: float, unit: str) -> str:
    number = f"{value:,.0f}" if abs(value) >= 100.0 and value == round(value) else f"{value:,.4g}"
    number = f"{value:,.0f}" if "e" in number else number
    return f"{number} {unit}".rstrip()


def _drawn_from(count: int, before: Prior | None) -> str:
    """On whose word something is usual: one's own records, what was agreed or planned, or a default."""
    if count:
        return f"{count} record{'' if count == 1 else 's'}"
    return before.label if before is not None and before.source in ("given", "derived") else "the default"


def _words(name: str, value: float, unit: str, odd: bool, usual: Estimate, by: str, slips: tuple[Slip, ...]) -> str:
    span = f"{_shown(usual.low, unit)} to {_shown(usual.high, unit)} by {by}"
    if not odd:
        return f"{name}: {_shown(value, unit)} is usual ({span})."
    begun = f"{name}: {_shown(value, unit)} where {_shown(usual.value, unit)} is usual ({span})"
    if not slips:
        return f"{begun}. Keep it if it is right."
    return f"{begun}. Perhaps {slips[0].words}? {_shown(slips[0].meant, unit)} would be usual."


def _steps(number: float, held: _Usual, score: float, limit: float) -> tuple[Step, ...]:
    given = {"value": number, "middle": math.exp(held.middle), "scatter": held.scatter}
    source = held.source or "own records"
    return (
        Step(
            "scatter of the logarithm", "", {"records": float(held.count)}, held.scatter, source, how="median deviation"
        ),
        Step("scatters from the usual", "log(value / middle) / scatter", given, score, SOURCE, key="odd.score"),
        Step("asked about beyond", "", {}, limit, SOURCE, how="the usual limit for such scores", key="odd.limit"),
    )
