"""What a commission costs to make, what to ask for it, and whether the deposit covers what is laid out before it is paid.

A piece that breaks at the last stage has taken the clay, the fire and the hours of all stages before: minutes and materials
of a stage are divided by the share that comes good from that stage to the end. Quantities are estimates with ranges; wage,
tariff and prices are decisions and have none. Money is `Decimal`, rounded once a line, so that what is printed adds up.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import ROUND_HALF_UP, Decimal

from wareboard.errors import OutOfRange
from wareboard.plan.price_rules import DIFFERENCE_TO_FLAG, PriceRule, RulePrice, rule_prices
from wareboard.plan.price_steps import price_steps
from wareboard.plan.reckoning import FiringCost, FormWork, Material, Rates, Reckoned, StageWork, estimates_of, reckon
from wareboard.working import Estimate, Step, signed

__all__ = [
    "CostLine",
    "FiringCost",
    "FormPrice",
    "FormWork",
    "Material",
    "Price",
    "PriceRule",
    "Rates",
    "RulePrice",
    "StageWork",
    "earned_per_hour",
    "minutes_per_finished_piece",
    "money",
    "price",
]

# ISO 4217: currencies whose smallest coin is not a hundredth.
DECIMALS = {"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "VND": 0, "KWD": 3, "BHD": 3, "OMR": 3, "JOD": 3, "TND": 3}


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the cost: what for, how much, and the range that holds it nine times in ten."""

    name: str
    amount: Decimal
    low: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class FormPrice:
    """One form: minutes behind one finished piece, what a piece costs, what is asked for it, and for all of them."""

    name: str
    wanted: int
    minutes_each: Estimate
    cost_each: Decimal
    cost_each_low: Decimal
    cost_each_high: Decimal
    price_each: Decimal
    total: Decimal


@dataclass(frozen=True, slots=True)
class Price:
    """Cost, quote and deposit, with the rules of thumb beside them and what to look at twice.

    ``quote`` is the sum of the forms' totals and the development fee. ``exposure`` is what is laid out before delivery and
    cannot be had back: development, materials and firings.
    """

    currency: str
    forms: tuple[FormPrice, ...]
    lines: tuple[CostLine, ...]
    cost: CostLine
    development: Decimal
    quote: Decimal
    deposit: Decimal
    exposure: Decimal
    hours: Estimate
    earned_per_hour: Decimal
    taken_per_hour: Decimal
    rules: tuple[RulePrice, ...]
    agreed_price: Decimal | None
    flags: tuple[str, ...]
    steps: tuple[Step, ...] = field(default=())

    @property
    def deposit_covers(self) -> bool:
        return self.deposit >= self.exposure

    @property
    def deposit_to_ask(self) -> Decimal:
        """The deposit, raised to what is laid out where it would not cover that."""
        return max(self.deposit, self.exposure)


def money(amount: float | Decimal, currency: str = "") -> Decimal:
    """An amount rounded as money: to the currency's smallest coin, halves up.

    Source: ISO 4217 minor units (from memory); a hundredth where the currency is not listed here.
    """
    places = DECIMALS.get(currency, 2)
    exact = amount if isinstance(amount, Decimal) else Decimal(repr(float(amount)))
    if not exact.is_finite():
        raise OutOfRange(f"an amount of {amount}", "money must be a number", "Check the prices and minutes")
    return exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


def minutes_per_finished_piece(minutes: Sequence[float], good_shares: Sequence[float]) -> float:
    """Hands-on minutes behind one good piece: each stage's minutes over the share that comes good from it to the end.

    Args:
        minutes: a piece, at each stage in turn, 0 or more.
        good_shares: what comes through each stage, over 0 up to 1.
    Raises:
        OutOfRange: if the two differ in length or a number lies outside.
    """
    if len(minutes) != len(good_shares) or not minutes:
        raise OutOfRange(
            f"{len(minutes)} times and {len(good_shares)} shares", "each stage needs both", "Give one of each a stage"
        )
    if not all(math.isfinite(time) and time >= 0 for time in minutes):
        raise OutOfRange("minutes of a stage", "they must be 0 or more", "Mend the stage's minutes")
    if not all(0.0 < share <= 1.0 for share in good_shares):
        raise OutOfRange("share good of a stage", "it must be over 0 and not over 1", "Write 95 % as 0.95")
    total, ahead = 0.0, 1.0
    for time, share in zip(reversed(minutes), reversed(good_shares), strict=True):
        ahead *= share
        total += time / ahead
    return total


def earned_per_hour(takings: Decimal, hours: float, costs: Decimal = Decimal(0)) -> Decimal:
    """What an hour brings: takings less ``costs``, over all hours that went into the job.

    Raises:
        OutOfRange: if no time was spent.
    """
    if not (math.isfinite(hours) and hours > 0):
        raise OutOfRange(f"{hours:g} hours", "they must be over 0", "Count every hour, firings and packing too")
    return (takings - costs) / Decimal(repr(float(hours)))


def price(
    forms: Sequence[FormWork],
    firings: Sequence[FiringCost],
    rates: Rates,
    rules: Sequence[PriceRule] = (),
    agreed_price: Decimal | None = None,
) -> Price:
    """What the commission costs, what to ask, and what the deposit must cover.

    Args:
        forms: what is made, with minutes and shares good by stage, and materials by the stage at which they are spent.
        firings: energy, wear and hours of one firing of each kind, and how many.
        rates: wage, tariff, packing, overhead, margin, deposit, development.
        rules: further rules of thumb to set beside the price; twice the cost is always there.
        agreed_price: what was agreed for everything, if it was.
    Raises:
        OutOfRange: naming the form, firing or rate that will not do.
    Source: minutes over yields and firing share by pieces in a load are the arithmetic of the trade; the rules beside the
        price are those of ``reference/plan/price_rules.csv``; flagging differences over 20 % is common practice.
    """
    likely = {key: estimate.value for key, estimate in estimates_of(forms, firings, rates).items()}
    middle = reckon(forms, firings, rates, likely)
    spread = _Spread(forms, firings, rates, middle, likely)
    currency = rates.currency
    lines = tuple(_line(name, spread, currency) for name in middle.lines)
    cost = CostLine(
        "cost of making",
        sum((line.amount for line in lines), Decimal(0)),
        money(middle.cost - spread.below("cost"), currency),
        money(middle.cost + spread.above("cost"), currency),
    )
    form_prices = tuple(_form_price(number, form, spread, rates) for number, form in enumerate(forms))
    development = money(middle.development, currency)
    pieces_asked = sum((one.total for one in form_prices), Decimal(0))
    quote = pieces_asked + development
    exposure = development + sum((line.amount for line in lines if line.name in middle.laid_out), Decimal(0))
    takings = quote if agreed_price is None else money(agreed_price, currency)
    others = rule_prices(forms, rules, cost.amount, pieces_asked, currency, money)
    hours = Estimate(
        middle.hours, middle.hours - spread.below("hours"), middle.hours + spread.above("hours"), "derived"
    )
    draft = Price(
        currency=currency,
        forms=form_prices,
        lines=lines,
        cost=cost,
        development=development,
        quote=quote,
        deposit=money(Decimal(repr(rates.deposit_share)) * takings, currency),
        exposure=exposure,
        hours=hours,
        earned_per_hour=money(earned_per_hour(takings, middle.hours, money(middle.besides_labour, currency)), currency),
        taken_per_hour=money(earned_per_hour(takings, middle.hours), currency),
        rules=others,
        agreed_price=None if agreed_price is None else takings,
        flags=(),
    )
    return _finished(draft, forms, firings, rates, middle)


class _Spread:
    """How far each result may lie from the middle: every estimate moved to its ends in turn, the changes taken together.

    The estimates are independent, so the changes add as the root of the sum of squares.
    """

    def __init__(
        self,
        forms: Sequence[FormWork],
        firings: Sequence[FiringCost],
        rates: Rates,
        middle: Reckoned,
        likely: Mapping[str, float],
    ) -> None:
        self.middle = middle
        self._up: dict[str, float] = {}
        self._down: dict[str, float] = {}
        centre = middle.results()
        for key, estimate in estimates_of(forms, firings, rates).items():
            ends = {end for end in (estimate.low, estimate.high) if end != estimate.value}
            moves = [reckon(forms, firings, rates, {**likely, key: end}).results() for end in sorted(ends)]
            for name, value in centre.items():
                changes = [move[name] - value for move in moves]
                self._up[name] = self._up.get(name, 0.0) + max(0.0, *changes, 0.0) ** 2
                self._down[name] = self._down.get(name, 0.0) + min(0.0, *changes, 0.0) ** 2

    def above(self, name: str) -> float:
        return math.sqrt(self._up[name])

    def below(self, name: str) -> float:
        return math.sqrt(self._down[name])


def _line(name: str, spread: _Spread, currency: str) -> CostLine:
    amount = spread.middle.lines[name]
    return CostLine(
        name,
        money(amount, currency),
        money(amount - spread.below(f"line {name}"), currency),
        money(amount + spread.above(f"line {name}"), currency),
    )


def _form_price(number: int, form: FormWork, spread: _Spread, rates: Rates) -> FormPrice:
    cost = spread.middle.cost_each[number]
    minutes = spread.middle.minutes_each[number]
    asked = money(cost * (1.0 + rates.margin_share), rates.currency)
    return FormPrice(
        form.name,
        form.wanted,
        Estimate(
            minutes,
            minutes - spread.below(f"minutes {number}"),
            minutes + spread.above(f"minutes {number}"),
            "derived",
        ),
        money(cost, rates.currency),
        money(cost - spread.below(f"each {number}"), rates.currency),
        money(cost + spread.above(f"each {number}"), rates.currency),
        asked,
        asked * form.wanted,
    )


def _finished(
    draft: Price, forms: Sequence[FormWork], firings: Sequence[FiringCost], rates: Rates, middle: Reckoned
) -> Price:
    steps = price_steps(draft, forms, firings, rates, middle)
    return replace(draft, flags=tuple(_flags(draft, rates)), steps=steps)


def _flags(draft: Price, rates: Rates) -> list[str]:
    found = []
    currency = draft.currency
    for rule in draft.rules:
        if rule.amount is None:
            continue
        if abs(rule.differs_share or 0.0) > DIFFERENCE_TO_FLAG:
            found.append(
                f"{rule.name} gives {rule.amount} {currency} for the pieces, "
                f"{signed(100.0 * (rule.differs_share or 0.0))} % against the price asked: "
                "find out which of the two leaves something out"
            )
    if not draft.deposit_covers:
        found.append(
            f"a deposit of {draft.deposit} {currency} does not cover the {draft.exposure} {currency} laid out before"
            f" delivery: ask for {draft.deposit_to_ask} {currency}"
        )
    if draft.agreed_price is not None and draft.agreed_price < draft.cost.amount + draft.development:
        found.append(f"the agreed {draft.agreed_price} {currency} is less than the work costs")
    if draft.earned_per_hour < rates.wage_per_hour:
        found.append(f"an hour earns {draft.earned_per_hour} {currency}, less than the wage of {rates.wage_per_hour}")
    return found
