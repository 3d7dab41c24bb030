"""Rules of thumb that potters price by, to be set beside a price that was reckoned."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from wareboard import reference
from wareboard.errors import OutOfRange
from wareboard.plan.reckoning import FormWork

DIFFERENCE_TO_FLAG = 0.20
POUND_KG = 0.45359237
BY_WEIGHT_G = (1000 * POUND_KG, 2000 * POUND_KG)


@dataclass(frozen=True, slots=True)
class PriceRule:
    """A potter's own rule: so much a kilogram of clay weighed out, so much on top of each piece, so much a glaze load.

    What is not given takes no part; ``loads`` is how many glaze loads there are.
    """

    name: str
    per_kg: Decimal | None = None
    each: Decimal = Decimal(0)
    per_load: Decimal | None = None
    loads: float = 0.0
    source: str = "the workshop's own rule"


@dataclass(frozen=True, slots=True)
class RulePrice:
    """What a rule gives for all the pieces, against what is asked for them; no amount where it does not apply, and why."""

    name: str
    amount: Decimal | None
    differs_share: float | None
    source: str
    why_not: str = ""


def rule_prices(
    forms: Sequence[FormWork],
    own: Sequence[PriceRule],
    cost: Decimal,
    asked: Decimal,
    currency: str,
    money: Callable[[Decimal, str], Decimal],
) -> tuple[RulePrice, ...]:
    """Twice the cost, the published price by the pound of clay, and the potter's own rules."""
    table = {row["key"]: row for row in reference.rows("plan/price_rules")}
    twice = table["wholesale_over_cost"]
    found = [_against("twice the cost", money(cost * Decimal(twice["value"]), currency), asked, twice["source"])]
    found.append(_by_the_pound(forms, table["money_per_pound_of_clay"], asked, currency, money))
    found += [_by_own_rule(forms, rule, asked, currency, money) for rule in own]
    return tuple(found)


def _against(name: str, amount: Decimal, asked: Decimal, source: str) -> RulePrice:
    return RulePrice(name, amount, float(amount / asked - 1) if asked else None, source)


def _by_the_pound(
    forms: Sequence[FormWork],
    row: Mapping[str, str],
    asked: Decimal,
    currency: str,
    money: Callable[[Decimal, str], Decimal],
) -> RulePrice:
    name = "by the pound of clay"
    least, most = BY_WEIGHT_G
    for form in forms:
        if form.ball_g is None:
            return RulePrice(name, None, None, row["source"], f"the clay of {form.name} is not known")
        if not least <= form.ball_g <= most:
            why = f"it is published for balls of {least:.0f} to {most:.0f} g; {form.name} takes {form.ball_g:.0f} g"
            return RulePrice(name, None, None, row["source"], why)
    pounds = sum(form.wanted * (form.ball_g or 0.0) for form in forms) / 1000 / POUND_KG
    return _against(name, money(Decimal(repr(pounds)) * Decimal(row["value"]), currency), asked, row["source"])


def _by_own_rule(
    forms: Sequence[FormWork],
    rule: PriceRule,
    asked: Decimal,
    currency: str,
    money: Callable[[Decimal, str], Decimal],
) -> RulePrice:
    amount = Decimal(0)
    if rule.per_kg is not None:
        if any(form.ball_g is None for form in forms):
            return RulePrice(rule.name, None, None, rule.source, "the clay of some form is not known")
        grams = sum(form.wanted * (form.ball_g or 0.0) for form in forms)
        amount += rule.per_kg * Decimal(repr(grams / 1000))
    if rule.per_load is not None:
        if not rule.loads >= 0:
            raise OutOfRange(f"{rule.loads:g} loads", "it must be 0 or more", "Count the glaze loads")
        amount += rule.per_load * Decimal(repr(float(rule.loads)))
    amount += rule.each * sum(form.wanted for form in forms)
    return _against(rule.name, money(amount, currency), asked, rule.source)
