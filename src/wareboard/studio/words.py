"""How the studio says things: numbers with their units rounded as the trade would, days, money, states, sources."""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import Decimal

from wareboard import quantities, reference
from wareboard.plan.own import OwnFigure
from wareboard.quantities import show_day
from wareboard.working import MINUS, Step, as_people_write, with_powers

STATE_WORDS = {
    "on time": "On time",
    "tight": "Tight",
    "late": "Too late",
    "no plan": "No calendar",
    "trouble": "Cannot be planned yet",
    "unknown": "Not worked out",
}
STATE_ICONS = {"on time": "on-time", "tight": "tight", "late": "late", "no plan": "late", "trouble": "late"}
GIVEN_SOURCES = {"given": "given in the brief"}
NARROW = "\N{NO-BREAK SPACE}"


def day(value: date | datetime | None) -> str:
    """A day as "12 Feb 2027"."""
    return show_day(value) if value is not None else "none"


def money(amount: Decimal | float, currency: str) -> str:
    """An amount as "GBP 1,234.50"; whole from a hundred up."""
    value = Decimal(amount)
    return f"{currency}{NARROW}{value:,.0f}" if abs(value) >= 100 else f"{currency}{NARROW}{value:,.2f}"


def money_between(low: Decimal | float, high: Decimal | float, currency: str) -> str:
    """A range of money; nothing where both ends are the same amount."""
    ends = money(low, currency), money(high, currency)
    return "" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def number(value: float) -> str:
    """A plain number to three figures, whole from a hundred up, without trailing noughts."""
    if value == int(value) and abs(value) < 1e15:
        return f"{value:,.0f}".replace("-", MINUS)
    size = abs(value)
    words = f"{value:,.0f}" if size >= 100 else f"{value:.1f}" if size >= 20 else f"{value:.3g}"
    if "e" in words:
        words = f"{value:.2g}" if size >= 1e-9 else "0"
    return words.replace("-", MINUS)


def exact(value: float) -> str:
    """A number as it goes into a formula: up to five figures."""
    if value == int(value) and abs(value) < 1e15:
        return f"{value:.0f}".replace("-", MINUS)
    return f"{value:.5g}".replace("-", MINUS)


THIN_MM = 12.7  # half an inch


def with_unit(value: float, unit: str, lengths: str = "mm") -> str:
    """A value in its unit, rounded as the trade would."""
    plain = {
        "g": lambda: quantities.show_mass(value),
        "°C": lambda: f"{value:.0f} °C".replace("-", MINUS),
        "": lambda: number(value),
        "h": lambda: f"{number(round(value, 1))} h",
        "min": lambda: f"{number(round(value, 1))} min",
        "days": lambda: in_days(value),
        "%": lambda: f"{number(value)} %",
    }
    if unit == "mm":
        if lengths == "in":
            shown = quantities.show_length(value, lengths)
            # A sixteenth is half of a groove or a gap: what is thin is told in mm besides.
            return f"{shown} ({value:.1f} mm)" if 0 < abs(value) < THIN_MM else shown
        return quantities.show_length(value, lengths) if value >= 20 else f"{value:.1f} mm"
    if unit == "ml" and value >= 50:
        return quantities.show_volume(value)
    if unit == "g" and value < 10:
        return f"{number(value)} g"
    if unit in plain:
        return plain[unit]()
    if re.fullmatch("[A-Z]{3}", unit):
        return money(value, unit)
    if re.fullmatch("[A-Z]{3}/h", unit):
        return f"{money(value, unit[:3])}/h"
    return f"{number(value)} {with_powers(unit)}"


def capital(text: str) -> str:
    """Words with a capital at their head, the rest left alone."""
    return f"{text[:1].upper()}{text[1:]}"


def sentence(text: str) -> str:
    """Words with a capital at their head and one full stop at their end."""
    text = text.strip()
    return f"{text[:1].upper()}{text[1:].rstrip('.')}." if text else ""


def figure_in_unit(value: float, unit: str, key: str = "") -> str:
    """A learned figure: shares as per cent, factors as plain numbers, all else in its unit."""
    is_share = not unit and key.partition(".")[0] in ("yield", "shrinkage", "clay", "overage")
    return quantities.show_share(value) if is_share else with_unit(value, unit) if unit else f"{value:.3g}"


def as_a_figure(own: OwnFigure) -> str:
    """A learned figure beside the usual one: "yours: 12.1 % (11.8 to 12.4 %) from 14 pieces; usual 12 % (9.5 to 15.5 %)"."""
    value, low, high, usual, usual_low, usual_high = (
        figure_in_unit(each, own.unit, own.key)
        for each in (own.value, own.low, own.high, own.usual, own.usual_low, own.usual_high)
    )
    whose = "yours" if own.is_yours else "mostly the usual figure yet"
    return f"{whose}: {value} ({low} to {high}) from {own.records}; usual: {usual} ({usual_low} to {usual_high})"


def in_days(value: float) -> str:
    """Days in words."""
    return "1 day" if value == 1 else f"{number(value)} days"


def value_of_step(step: Step, lengths: str = "mm") -> str:
    """A step's value in its unit."""
    return with_unit(step.value, step.unit, lengths)


def spread(step: Step, lengths: str = "mm") -> str:
    """The range of a step that is an estimate, "260 to 330 g"; nothing where both ends round to the same."""
    if step.low is None or step.high is None:
        return ""
    low, high = with_unit(step.low, step.unit, lengths), with_unit(step.high, step.unit, lengths)
    if low == high:
        return ""
    same = f" {step.unit}"
    if step.unit and low.endswith(same) and high.endswith(same):
        low = low.removesuffix(same)
    return f"{low} to {high}"


def formula_in_words(formula: str) -> str:
    """A formula with the signs people write."""
    return as_people_write(formula).replace("_", NARROW)


def put_in(step: Step) -> str:
    """A step's formula with its numbers put in."""
    return formula_in_words(
        re.sub(
            r"[A-Za-z_]\w*",
            lambda found: exact(step.inputs[found[0]]) if found[0] in step.inputs else found[0],
            step.formula,
        )
    )


def source_in_words(source: str) -> str:
    """A source key, or several, in words."""
    default, _, rest = source.partition("default: ")
    if rest and not default:
        return f"usual figure: {source_in_words(rest)}"
    parts = re.split(r"\s*[;,+]\s*|\s+and\s+", source)
    if len(parts) > 1 and all(_known(part) for part in parts):
        return "; ".join(reference.source_words(part) for part in parts)
    return reference.source_words(source)


def _known(key: str) -> bool:
    return key in reference.sources() or key in reference.WORDS_FOR_SOURCES
