"""The arithmetic of a cost: what goes in, and one pass over it with plain floats."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from wareboard.errors import OutOfRange
from wareboard.working import Estimate

WORK, LOADING, BESIDES = "work on the pieces", "loading and unloading", "mixing, letters and meetings"
PACKING, OVERHEAD = "packing", "overhead"


@dataclass(frozen=True, slots=True)
class StageWork:
    """One stage of a form: hands-on minutes a piece, and the share that comes through it good."""

    stage: str
    minutes: Estimate
    good_share: Estimate


@dataclass(frozen=True, slots=True)
class Material:
    """Clay or glaze spent on every piece that goes into ``stage``."""

    name: str
    stage: str
    each_g: Estimate
    price_per_kg: Decimal


@dataclass(frozen=True, slots=True)
class FormWork:
    """One form: how many are wanted, how many are started (None: as many as the losses take), stages, materials.

    ``per_load`` says how many of this form alone fill one load of a firing, by the firing's name: a piece's share of a load
    is one over that. ``ball_g`` is the clay weighed out for one piece, for the rule by weight.
    """

    name: str
    wanted: int
    stages: tuple[StageWork, ...]
    materials: tuple[Material, ...] = ()
    started: int | None = None
    per_load: Mapping[str, float] = field(default_factory=dict)
    ball_g: float | None = None


@dataclass(frozen=True, slots=True)
class FiringCost:
    """Firings of one kind: the stage they are, how many, and energy, wear and hands-on minutes of one."""

    name: str
    stage: str
    firings: int
    kwh: Estimate
    wear: Decimal
    minutes: Estimate


@dataclass(frozen=True, slots=True)
class Rates:
    """What things are paid for with, in one currency; shares are fractions.

    ``overhead_share`` is added to the cost before it; ``margin_share`` to the cost with it. ``hours_besides`` are those that
    go with no piece: mixing glaze, letters, meetings after the quote. Development is prototypes, tests and talks.
    """

    currency: str
    wage_per_hour: Decimal
    energy_per_kwh: Decimal
    packing_each: Decimal
    overhead_share: float
    margin_share: float
    deposit_share: float
    development_hours: Estimate
    hours_besides: Estimate
    development_materials: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Reckoned:
    """One pass of the arithmetic, money in the rates' currency, unrounded.

    ``lines`` add up to ``cost`` (development not among them); ``laid_out`` names those that are paid for before delivery.
    ``made`` is how many pieces of each form come good, ``minutes_each`` and ``materials_each`` what is behind one of these;
    ``cost_each`` is for one that is wanted, so that pieces over are borne by the commission.
    """

    lines: Mapping[str, float]
    laid_out: frozenset[str]
    cost: float
    cost_each: tuple[float, ...]
    made: tuple[float, ...]
    minutes_each: tuple[float, ...]
    materials_each: tuple[float, ...]
    development: float
    hours: float
    besides_labour: float

    def results(self) -> dict[str, float]:
        """Every number whose range is wanted, by name."""
        found = {"cost": self.cost, "hours": self.hours}
        found.update({f"line {name}": amount for name, amount in self.lines.items()})
        found.update({f"each {number}": amount for number, amount in enumerate(self.cost_each)})
        found.update({f"minutes {number}": amount for number, amount in enumerate(self.minutes_each)})
        return found


def estimates_of(forms: Sequence[FormWork], firings: Sequence[FiringCost], rates: Rates) -> dict[str, Estimate]:
    """Every estimate that goes into the cost, by name.

    Raises:
        OutOfRange: naming the first that will not do.
    """
    _check(forms, firings, rates)
    found: dict[str, Estimate] = {}
    for number, form in enumerate(forms):
        for place, stage in enumerate(form.stages):
            found[f"minutes {number} {place}"] = stage.minutes
            found[f"good {number} {place}"] = stage.good_share
        for place, material in enumerate(form.materials):
            found[f"material {number} {place}"] = material.each_g
    for number, firing in enumerate(firings):
        found[f"kwh {number}"] = firing.kwh
        found[f"firing minutes {number}"] = firing.minutes
    found["development"], found["besides"] = rates.development_hours, rates.hours_besides
    return found


def reckon(
    forms: Sequence[FormWork], firings: Sequence[FiringCost], rates: Rates, values: Mapping[str, float]
) -> Reckoned:
    """The cost for one set of values, named as `estimates_of` names them."""
    wage, packing = float(rates.wage_per_hour), float(rates.packing_each)
    ahead = [_ahead(number, form, values) for number, form in enumerate(forms)]
    made = [_made(form, shares[0]) for form, shares in zip(forms, ahead, strict=True)]
    minutes = [
        sum(values[f"minutes {number} {place}"] / share for place, share in enumerate(shares))
        for number, shares in enumerate(ahead)
    ]
    materials = [_materials(number, form, ahead[number], values) for number, form in enumerate(forms)]
    paid, tended = _firings_by_form(forms, firings, rates, values, ahead, made)
    minutes_made = [time * pieces for time, pieces in zip(minutes, made, strict=True)]
    bought = _bought(materials, made)
    fired = {f"{firing.name} firings": sum(paid[kind]) for kind, firing in enumerate(firings)}
    work = {
        WORK: sum(minutes_made) / 60 * wage,
        LOADING: sum(map(sum, tended)) / 60 * wage,
        BESIDES: values["besides"] * wage,
    }
    lines = work | bought | fired | {PACKING: packing * sum(form.wanted for form in forms)}
    lines[OVERHEAD] = rates.overhead_share * sum(lines.values())
    cost = sum(lines.values())
    # What goes with no piece is borne by the forms as their hands-on minutes.
    own = [time + sum(kind[number] for kind in tended) for number, time in enumerate(minutes_made)]
    whole = sum(own)
    each = []
    for number, form in enumerate(forms):
        besides = values["besides"] * 60 * (own[number] / whole if whole else 1 / len(forms))
        stuff = sum(materials[number].values()) * made[number] + sum(kind[number] for kind in paid)
        mine = (own[number] + besides) / 60 * wage + stuff + packing * form.wanted
        each.append(mine * (1 + rates.overhead_share) / form.wanted)
    return Reckoned(
        lines=lines,
        laid_out=frozenset(bought) | frozenset(fired),
        cost=cost,
        cost_each=tuple(each),
        made=tuple(made),
        minutes_each=tuple(minutes),
        materials_each=tuple(sum(by_name.values()) for by_name in materials),
        development=values["development"] * wage + float(rates.development_materials),
        hours=whole / 60 + values["besides"] + values["development"],
        besides_labour=cost - sum(work.values()) + float(rates.development_materials),
    )


def _ahead(number: int, form: FormWork, values: Mapping[str, float]) -> list[float]:
    """For each stage the share that comes good from it to the end."""
    shares = [values[f"good {number} {place}"] for place in range(len(form.stages))]
    return [math.prod(shares[place:]) for place in range(len(shares))]


def _made(form: FormWork, whole_chain: float) -> float:
    # Pieces begun over the average loss have to be made whether or not the client takes them.
    return float(form.wanted) if form.started is None else max(float(form.wanted), form.started * whole_chain)


def _materials(number: int, form: FormWork, ahead: Sequence[float], values: Mapping[str, float]) -> dict[str, float]:
    """Money of each material behind one finished piece."""
    places = {stage.stage: place for place, stage in enumerate(form.stages)}
    found: dict[str, float] = {}
    for place, material in enumerate(form.materials):
        amount = values[f"material {number} {place}"] / 1000 * float(material.price_per_kg)
        found[material.name] = found.get(material.name, 0.0) + amount / ahead[places[material.stage]]
    return found


def _bought(materials: Sequence[Mapping[str, float]], made: Sequence[float]) -> dict[str, float]:
    """Money for each material over all forms."""
    found: dict[str, float] = {}
    for by_name, pieces in zip(materials, made, strict=True):
        for name, amount in by_name.items():
            found[name] = found.get(name, 0.0) + amount * pieces
    return found


def _firings_by_form(
    forms: Sequence[FormWork],
    firings: Sequence[FiringCost],
    rates: Rates,
    values: Mapping[str, float],
    ahead: Sequence[Sequence[float]],
    made: Sequence[float],
) -> tuple[list[list[float]], list[list[float]]]:
    """For each kind of firing the money and the minutes that each form bears: by the room its pieces take in a load."""
    paid, tended = [], []
    for kind, firing in enumerate(firings):
        room = []
        for number, form in enumerate(forms):
            place = next((place for place, stage in enumerate(form.stages) if stage.stage == firing.stage), None)
            going_in = 0.0 if place is None else made[number] / ahead[number][place]
            room.append(going_in / form.per_load.get(firing.name, 1.0))
        parts = [part / sum(room) if sum(room) else 1 / len(forms) for part in room]
        money = firing.firings * (values[f"kwh {kind}"] * float(rates.energy_per_kwh) + float(firing.wear))
        paid.append([part * money for part in parts])
        tended.append([part * firing.firings * values[f"firing minutes {kind}"] for part in parts])
    return paid, tended


def _check(forms: Sequence[FormWork], firings: Sequence[FiringCost], rates: Rates) -> None:
    if not forms:
        raise OutOfRange("no forms", "there is nothing to price", "Give one form at least")
    for kind, names in (("forms", [form.name for form in forms]), ("firings", [firing.name for firing in firings])):
        if len(set(names)) < len(names):
            raise OutOfRange(f"two {kind} have one name", "each needs its own line", "Rename one of them")
    taken = {WORK, LOADING, BESIDES, PACKING, OVERHEAD, *(f"{firing.name} firings" for firing in firings)}
    for form in forms:
        _check_form(form, firings, len(forms) > 1)
        for material in form.materials:
            if material.name in taken:
                raise OutOfRange(f"material {material.name!r}", "another line of the cost is called so", "Rename it")
    for firing in firings:
        _check_firing(firing)
    _check_rates(rates)


def _check_firing(firing: FiringCost) -> None:
    _check_range(f"energy of {firing.name}", firing.kwh)
    _check_range(f"minutes of {firing.name}", firing.minutes)
    _check_money(f"wear of {firing.name}", firing.wear)
    if firing.firings < 0:
        raise OutOfRange(f"{firing.firings} {firing.name} firings", "it must be 0 or more", "Count the firings")


def _check_rates(rates: Rates) -> None:
    _check_money("wage", rates.wage_per_hour)
    _check_money("price of energy", rates.energy_per_kwh)
    _check_money("packing", rates.packing_each)
    _check_money("development materials", rates.development_materials)
    for words, share in (("overhead", rates.overhead_share), ("margin", rates.margin_share)):
        if not (math.isfinite(share) and 0.0 <= share <= 20.0):
            raise OutOfRange(f"{words} is {share:g}", "it must be a share of 0 or more", "Write 25 % as 0.25")
    if not 0.0 <= rates.deposit_share <= 1.0:
        raise OutOfRange(f"deposit is {rates.deposit_share:g}", "it is a share of the price", "Write 50 % as 0.5")
    _check_range("development hours", rates.development_hours)
    _check_range("hours besides", rates.hours_besides)


def _check_form(form: FormWork, firings: Sequence[FiringCost], several: bool) -> None:
    if form.wanted < 1 or (form.started is not None and form.started < 1):
        raise OutOfRange(
            f"{form.name}: {form.wanted} wanted, {form.started} started", "they must be 1 or more", "Count pieces"
        )
    names = [stage.stage for stage in form.stages]
    if not names or len(set(names)) < len(names):
        raise OutOfRange(f"stages of {form.name}", "there must be one at least, each named once", "Mend the list")
    for stage in form.stages:
        _check_range(f"minutes of {form.name}, {stage.stage}", stage.minutes)
        _check_range(f"share good of {form.name}, {stage.stage}", stage.good_share, share=True)
    for material in form.materials:
        if material.stage not in names:
            raise OutOfRange(
                f"{material.name} of {form.name}", f"it has no stage {material.stage!r}", "Name one of its stages"
            )
        _check_range(f"{material.name} of {form.name}", material.each_g)
        _check_money(f"price of {material.name}", material.price_per_kg)
    for firing in firings:
        room = form.per_load.get(firing.name)
        if firing.stage in names and (several and room is None):
            raise OutOfRange(f"{form.name} in {firing.name}", "how many fill a load is not said", "Give its `per_load`")
        if room is not None and not (math.isfinite(room) and room > 0):
            raise OutOfRange(f"{room:g} {form.name} in a load", "it must be over 0", "Count what fills one load")


def _check_range(words: str, estimate: Estimate, share: bool = False) -> None:
    numbers = (estimate.low, estimate.value, estimate.high)
    if not all(math.isfinite(number) and number >= 0 for number in numbers):
        raise OutOfRange(f"{words} is {estimate.value:g}", "it and its range must be 0 or more", "Mend the number")
    if not estimate.low <= estimate.value <= estimate.high:
        raise OutOfRange(f"{words} is {estimate.value:g}", "it lies outside its own range", "Mend the range")
    if share and not (estimate.low > 0 and estimate.high <= 1):
        raise OutOfRange(f"{words} is {estimate.value:g}", "it must be over 0 and not over 1", "Write 95 % as 0.95")


def _check_money(words: str, amount: Decimal) -> None:
    if not (amount.is_finite() and amount >= 0):
        raise OutOfRange(f"{words} is {amount}", "it must be 0 or more", "Mend the amount")
