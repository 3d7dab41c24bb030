"""What every sheet shares: its head, numbers as people read them, and lines of working."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from typing import Any

from wareboard import quantities, reference
from wareboard.plan.result import Plan
from wareboard.sheets.typesetting import PAGE_MM, TYPST_PAPER, Paper
from wareboard.working import MINUS, Step, as_people_write

NARROW = "\N{NO-BREAK SPACE}"
UNTITLED = "Commission without a name"
SMALL_MM = 20.0  # below this a whole millimetre is too coarse: floors, walls, straps
LONGEST_SOURCE = 60
LONGEST_FOOT = 80
SIGNS = {"mm3": "mm³", "cm2": "cm²", "mm2": "mm²", "g/cm2": "g/cm²", "cm2/g": "cm²/g"}
SHORT_WORDS = {
    "common-practice": "common practice",
    "from-memory": "from memory",
    "definition": "by definition",
    "derived": "from the figures shown",
}
FIGURES_AFTER_THE_POINT = {
    "mm": 1,
    "g": 0,
    "ml": 0,
    "kg": 1,
    "h": 1,
    "min": 1,
    "°C": 0,
    "kWh": 0,
    "mm3": 0,
    "pieces": 0,
    "g/ml": 3,
}


def head(plan: Plan, title: str, paper: Paper) -> dict[str, Any]:
    """What the corner tag and the foot of a sheet say."""
    brief = plan.brief
    return {
        "title": title,
        "commission": brief.title or UNTITLED,
        "foot": shortened(f"{title} · {brief.title or UNTITLED}", LONGEST_FOOT),
        "client": brief.client,
        "invented": brief.invented,
        "due": day(brief.due),
        "paper": TYPST_PAPER[paper],
        "page_mm": PAGE_MM[paper],
        "unit": plan.length_unit,
    }


def shortened(words: str, longest: int) -> str:
    """The words, or as many of them as fit, and dots."""
    return words if len(words) <= longest else words[: longest - 1].rstrip(" ,;") + "…"


def sentence(words: str) -> str:
    """The words with a capital at their beginning."""
    return words[:1].upper() + words[1:]


def counted(number_of: int, what: str) -> str:
    """ "1 bag", "2 bags"."""
    return f"{number_of} {what}" if number_of == 1 else f"{number_of} {what}s"


def day(value: date | None) -> str:
    """A day as "12 Feb 2027"."""
    return quantities.show_day(value) if value is not None else "not set"


def length(mm: float, unit: str) -> str:
    """A length as the sheets show it: to the millimetre (a tenth where it is small), or 1/16 in."""
    if unit == "mm" and mm < SMALL_MM:
        return f"{mm:.1f}".removesuffix(".0") + f"{NARROW}mm"
    return quantities.show_length(mm, unit).replace(" mm", f"{NARROW}mm").replace(" in", f"{NARROW}in")


def volume(ml: float, unit: str) -> str:
    """A volume as the sheets show it: in fluid ounces (US) with ml beside them where lengths are in inches."""
    plain = quantities.show_volume(ml)
    return f"{quantities.show_volume(ml, 'fl oz')} ({plain})" if unit == "in" else plain


def other_length(mm: float, unit: str) -> str:
    """The same length in the other unit: inches beside mm, mm beside inches."""
    return length(mm, "in" if unit == "mm" else "mm")


def tolerance(mm: float, unit: str) -> str:
    """A tolerance either way, never rounded away."""
    if unit == "in":
        return "±" + length(max(mm, quantities.INCH_MM / 16), "in")
    return f"±{mm:.1f}".removesuffix(".0") + f"{NARROW}mm"


def between(low: float, high: float, shown: str, unit: str = "") -> str:
    """A range: "88 to 89 mm", the unit once where both ends have the same.

    Args:
        low, high: in base units.
        shown: "length", "g", "ml", or the unit to write behind plain numbers.
        unit: in which a length is shown.
    """
    show: dict[str, Callable[[float], str]] = {
        "length": lambda mm: length(mm, unit),
        "g": quantities.show_mass,
        "ml": quantities.show_volume,
    }
    ends = [show[shown](end) if shown in show else f"{number(end)} {shown}" for end in (low, high)]
    first, last = (re.split(rf"[ {NARROW}](?=[^ {NARROW}]*$)", end) for end in ends)
    same = len(first) == len(last) == 2 and first[1] == last[1]
    return f"{first[0] if same else ends[0]} to {ends[1]}"


def number(value: float) -> str:
    """A plain number to three or four figures."""
    if abs(value - round(value)) < 1e-9 and abs(value) < 1e12:
        return f"{value:,.0f}".replace("-", MINUS)
    size = abs(value)
    if size >= 100:
        return f"{value:,.0f}".replace("-", MINUS)
    words = f"{value:.1f}" if size >= 20 else f"{value:.3g}"
    return words.replace("-", MINUS)


def exact(value: float) -> str:
    """A number as it is put into a formula: up to four figures after the first that counts."""
    whole = abs(value) >= 1e5 or abs(value - round(value)) < 1e-9
    words = f"{value:.0f}" if whole and abs(value) < 1e12 else f"{value:.5g}"
    return words.replace("-", MINUS)


# --- working ----------------------------------------------------------------------------------------------------------

UNIT_AT_THE_END = re.compile(r"_(mm2|mm3|mm|cm2|g|ml|c|s|h|d|kw|kwh|per_ml|g_per_ml)\b")


def formula_in_words(formula: str) -> str:
    """A formula with the signs and names that people write."""
    return as_people_write(UNIT_AT_THE_END.sub("", formula)).replace("_", " ")


def put_in(step: Step) -> str:
    """A step's formula with its numbers in place of the names."""
    filled = re.sub(
        r"[A-Za-z_]\w*", lambda each: exact(step.inputs[each[0]]) if each[0] in step.inputs else each[0], step.formula
    )
    return as_people_write(filled)


def source_in_words(source: str, longest: int = LONGEST_SOURCE) -> str:
    """Whose word a figure stands on, short enough for the foot of a sheet."""
    before, mark, rest = source.partition("default: ")
    if mark:
        return f"{before}default, {source_in_words(rest, longest)}"
    parts = [part for part in re.split(r"\s*\+\s*", source) if part]
    known = reference.sources()
    words = []
    for part in parts:
        entry = known.get(part)
        words.append(f"{entry.author or entry.title} {entry.year}".strip() if entry else SHORT_WORDS.get(part, part))
    said = "; ".join(words)
    # Whole names and "and others" rather than a name cut in two.
    while len(said) > longest and len(words) > 1:
        words.pop()
        said = "; ".join(words) + " and others"
    return shortened(said, longest)


def worked(step: Step, longest_source: int = LONGEST_SOURCE) -> dict[str, str]:
    """A line of working as the foot of a sheet shows it."""
    unit = SIGNS.get(step.unit, step.unit)
    value = f"{_rounded(step.value, step.unit)} {unit}".strip()
    if step.low is not None and step.high is not None and not step.low == step.high == step.value:
        value += f" ({_rounded(step.low, step.unit)} to {_rounded(step.high, step.unit)})"
    reached = f"{formula_in_words(step.formula)} = {put_in(step)}" if step.formula else step.how
    return {
        "name": step.name,
        "reached": reached,
        "value": value,
        "source": source_in_words(step.source, longest_source),
    }


def _rounded(value: float, unit: str) -> str:
    """A result in working: finer than the sheet's own figure, so that the two can be seen to agree."""
    places = FIGURES_AFTER_THE_POINT.get(unit)
    if places is None or (places == 0 and abs(value) < 20 and unit in ("g", "ml")):
        return f"{value:.4g}".replace("-", MINUS) if abs(value) < 1e4 else f"{value:,.0f}"
    return f"{value:,.{places}f}".replace("-", MINUS)


def workings(
    steps: Iterable[Step], wanted: Sequence[str], longest_source: int = LONGEST_SOURCE
) -> list[dict[str, str]]:
    """The lines of working with these names (or whose names begin so, where a name ends in "…"), in the order asked for."""
    lines: list[dict[str, str]] = []
    for step in _found(list(steps), wanted):
        line = worked(step, longest_source)
        if line not in lines:  # a room may show a step of another's that the plan shows as well
            lines.append(line)
    return lines


def _found(steps: Sequence[Step], wanted: Sequence[str]) -> Iterator[Step]:
    seen: set[int] = set()
    for name in wanted:
        stem = name.removesuffix("…")
        for at, step in enumerate(steps):
            matches = step.name.startswith(stem) if name.endswith("…") else step.name == name
            if matches and at not in seen:
                seen.add(at)
                yield step


def default_in_words(value: float, low: float, high: float, unit: str, currency: str = "") -> tuple[str, str]:
    """A default's value and its usual range, shares as per cent, amounts of money with their currency; the unit once."""

    if value == low == high == 1 and not unit:
        return "chosen", ""  # not a figure but a choice, such as the shape that a form is drawn in
    share = not unit and max(abs(low), abs(high), abs(value)) <= 1

    def shown(figure: float) -> str:
        if share:
            return quantities.show_share(figure)
        return " ".join(part for part in (currency, number(figure), SIGNS.get(unit, unit)) if part)

    return shown(
        value
    ), "" if low == high else f"{number(100 * low if share else low)} to {shown(high).removeprefix(currency).strip()}"
