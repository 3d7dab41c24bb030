"""From a wanted unity formula to a recipe: exact where the shelf allows it, else the closest, and cheapest among those."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.given import not_negative
from wareboard.glaze.formula import analysis_wt, flux_moles, unity
from wareboard.glaze.hazard import hazards
from wareboard.glaze.material import Material, material
from wareboard.glaze.oxide import oxide
from wareboard.glaze.recipe import Recipe
from wareboard.glaze.target_model import (
    EXACT_MOL,
    HAIR,
    Answer,
    Limits,
    Model,
    model,
    pulling,
    settled,
    solve,
    total_off,
    used,
    within_reach,
)
from wareboard.working import Step

# Beyond these a weight is no wish but a limit, and the solver's figures run out of places.
LEAST_WEIGHT, MOST_WEIGHT = 0.01, 100.0
Status = Literal["exact", "closest", "none"]


@dataclass(frozen=True, slots=True)
class Off:
    """One oxide that is not as wanted, in moles of the unity formula."""

    oxide: str
    wanted: float
    found: float

    def __str__(self) -> str:
        way = "over" if self.found > self.wanted else "short"
        return f"{self.oxide}: {self.found:.3f} for {self.wanted:.3f}, {abs(self.found - self.wanted):.3f} {way}"


@dataclass(frozen=True, slots=True)
class Found:
    """A recipe for a wanted formula, or why there is none.

    ``status``: "exact" when every oxide is within 0.0005 mol, "closest" when none is nearer, "none" when the limits leave
    nothing. ``error``: sum of the differences from the wanted unity formula, moles (weighed, where weights were given).
    ``cost``: of a kilogram of dry mix, ``fired_cost`` of a kilogram of fired glaze, in the money of the prices; None without
    prices. ``proved``: whether the solver proved that nothing does better. ``binding``: oxides that stand in the way.
    ``reasons`` says so in words. ``alternatives``: next best sets of materials, best first.
    """

    status: Status
    recipe: Recipe | None
    error: float
    cost: float | None
    fired_cost: float | None
    proved: bool
    unity: Mapping[str, float]
    off: tuple[Off, ...]
    binding: tuple[str, ...]
    reasons: tuple[str, ...]
    alternatives: tuple[Found, ...]
    steps: tuple[Step, ...]


def cheapest(
    target_unity: Mapping[str, float],
    materials: Mapping[str, Material] | Sequence[Material],
    prices: Mapping[str, float] | None = None,
    *,
    prefer: Literal["cost", "fewest"] = "cost",
    max_materials: int | None = None,
    min_clay_share: float = 0.0,
    max_soluble_share: float | None = None,
    without: Iterable[str] = (),
    weights: Mapping[str, float] | None = None,
    traces_mol: float = 0.0,
    alternatives: int = 0,
    name: str = "wanted glaze",
) -> Found:
    """The cheapest recipe (or that of fewest materials) for a unity formula, from the materials given.

    Exact if it can be; else the closest, by the sum of differences in moles of the unity formula; then, among those, the
    cheapest by the raw weight that one mole of flux takes, or first the fewest materials. Lead, cadmium, antimony and
    uranium are never used.

    Args:
        target_unity: moles of each oxide; brought to a flux sum of 1 if it has another.
        materials: the shelf to choose from.
        prices: money per kg of each; without them the fewest materials are taken, then the least raw weight.
        max_materials: most materials in the recipe. min_clay_share: least share of clay in the raw mix.
        max_soluble_share: most of it that may be soluble in water.
        without: names of materials, oxides, or hazards (such as "barium") to leave out.
        weights: by oxide, how much a mole of difference counts, 0.01 to 100; 1 where not given.
        traces_mol: moles of an oxide not wanted that are let through uncounted.
        alternatives: how many other sets of materials to rank after the best.
    Raises:
        OutOfRange: for a target without flux, with lead or the like, for a missing price, or limits that cannot be.
    Source: linear and mixed-integer programming, HiGHS (J. Hall, Q. Huangfu) through scipy.
    """
    wanted = _to_unity(target_unity)
    limits = _limits(max_materials, min_clay_share, max_soluble_share)
    not_negative(traces_mol, "traces")
    _look_at_weights(weights or {})
    entries = materials.values() if isinstance(materials, Mapping) else materials
    usable = [entry for entry in entries if not _left_out(entry, set(without))]
    paid = _prices(usable, prices)
    bringing = [entry for entry in usable if set(entry.oxides_wt) & set(wanted)]
    if not bringing:
        return _nothing(("No material is left to choose from that brings what is wanted.",))
    asked = model(bringing, wanted, paid, limits, weights or {}, traces_mol)
    fewest = prefer == "fewest" or prices is None
    return _ranked(asked, name, prices is not None, fewest, alternatives)


def _to_unity(target: Mapping[str, float]) -> Mapping[str, float]:
    for formula, count in target.items():
        oxide(formula)
        not_negative(count, formula, "mol")
    barred = [row.key for row in hazards().values() if row.weight == "block" and any(target.get(o) for o in row.oxides)]
    if barred:
        raise OutOfRange(
            f"a glaze with {', '.join(barred)}", "it has no place on tableware", "Take a formula without it"
        )
    fluxes = flux_moles(target)
    if not fluxes > 0:
        raise OutOfRange("the wanted formula", "it holds no flux, so it is no unity formula", "Give its R2O and RO")
    return {formula: count / fluxes for formula, count in target.items() if count > 0}


def _limits(max_materials: int | None, min_clay_share: float, max_soluble_share: float | None) -> Limits:
    if max_materials is not None and max_materials < 1:
        raise OutOfRange(f"at most {max_materials} materials", "a recipe needs one at least", "Give 1 or more")
    for value, words in ((min_clay_share, "least share of clay"), (max_soluble_share, "most soluble share")):
        if value is not None and not 0.0 <= value <= 1.0:
            raise OutOfRange(
                f"{words} is {value:g}", "it must be a fraction of the raw mix, 0 to 1", "Write 12 % as 0.12"
            )
    return Limits(max_materials, min_clay_share, max_soluble_share)


def _look_at_weights(weights: Mapping[str, float]) -> None:
    for formula, weight in weights.items():
        oxide(formula)
        if not LEAST_WEIGHT <= weight <= MOST_WEIGHT:
            raise OutOfRange(
                f"{formula} counts {weight:g} times",
                f"an oxide may count {LEAST_WEIGHT:g} to {MOST_WEIGHT:g} times",
                "Let traces of it through, if it is not to count at all",
            )


def _left_out(entry: Material, without: set[str]) -> bool:
    barred = {key for key, row in hazards().items() if row.weight == "block"} | without
    held = {key for key, row in hazards().items() if set(row.oxides) & set(entry.oxides_wt)} | set(entry.hazards)
    return bool(barred & held) or entry.name in without or bool(without & set(entry.oxides_wt)) or not entry.oxides_wt


def _prices(usable: Sequence[Material], prices: Mapping[str, float] | None) -> Mapping[str, float]:
    if prices is None:
        return {entry.name: 1.0 for entry in usable}
    missing = [entry.name for entry in usable if entry.name not in prices]
    if missing:
        raise OutOfRange(
            f"no price for {', '.join(missing[:5])}{' and others' if len(missing) > 5 else ''}",
            "the cheapest recipe needs one for every material",
            "Give their prices, or leave them out of the materials",
        )
    for entry in usable:
        not_negative(prices[entry.name], f"price of {entry.name}", "per kg")
    return prices


def _ranked(asked: Model, name: str, priced: bool, fewest: bool, alternatives: int) -> Found:
    best, answer = _best(asked, name, priced, fewest)
    others: list[Found] = []
    while answer is not None and len(others) < alternatives:
        asked = replace(asked, shut_out=(*asked.shut_out, used(answer)))
        other, answer = _best(asked, name, priced, fewest)
        if answer is not None:
            others.append(other)
    return replace(best, alternatives=tuple(others))


def _best(asked: Model, name: str, priced: bool, fewest: bool) -> tuple[Found, Answer | None]:
    answer = _least(asked, fewest, most_off=EXACT_MOL)
    if answer is not None:
        answer = settled(asked, answer, EXACT_MOL)
        return _told(asked, answer, name, priced, "exact"), answer
    near = _nearest(asked)
    if near is None:
        return _nothing(_why_nothing(asked)), None
    off = total_off(asked, near) * (1 + HAIR) + HAIR
    answer = _least(asked, fewest, most_off=off / _lightest(asked), total_within=off) or near
    answer = replace(answer, proved=answer.proved and near.proved)
    return _told(asked, answer, name, priced, "closest"), answer


def _lightest(asked: Model) -> float:
    """The least weight of an oxide: what is off by so much altogether is off by no more than that over it in any one."""
    return max(float(asked.weight.min()), HAIR)


def _nearest(asked: Model) -> Answer | None:
    room = (float(asked.wanted.sum()) + 1.0) * max(1.0, float(asked.weight.max()))
    reach = within_reach(asked) / _lightest(asked)
    return solve(asked, "off", most_off=reach) or solve(asked, "off", most_off=room)


def _least(asked: Model, fewest: bool, *, most_off: float, total_within: float | None = None) -> Answer | None:
    """The cheapest answer within a distance; with ``fewest``, the cheapest of those of fewest materials."""
    if not fewest:
        return solve(asked, "cost", most_off=most_off, total_within=total_within)
    few = solve(asked, "count", most_off=most_off, total_within=total_within)
    if few is None:
        return None
    fewest_count = float(asked.counts[list(used(few))].sum())
    cheap = solve(
        replace(asked, most_count=fewest_count * (1 + HAIR)), "cost", most_off=most_off, total_within=total_within
    )
    return replace(cheap, proved=cheap.proved and few.proved) if cheap else few


def _told(asked: Model, answer: Answer, name: str, priced: bool, status: Status) -> Found:
    share = answer.units / answer.units.sum()
    kept = {k: share[k] for k in used(answer)}
    order = sorted(kept, key=lambda k: -kept[k])
    recipe = Recipe(name, {asked.materials[k].name: float(kept[k]) for k in order}).to_100()
    shelf = {entry.name: entry for entry in asked.materials}
    fired = analysis_wt(recipe, shelf)
    formula = unity(fired)  # worked out afresh, not taken from the solver
    off = _off(asked, formula)
    error = math.fsum(weight * gap for weight, gap in _gaps(asked, formula))
    cost = float(sum(kept[k] * asked.price[k] for k in kept) / sum(kept.values())) * 10.0  # a unit is 100 g
    held = sum(recipe.base[asked.materials[k].name] * sum(asked.materials[k].oxides_wt.values()) for k in kept) / 1e4
    exact = status == "exact"
    return Found(
        status,
        recipe,
        error,
        cost if priced else None,
        cost / held if priced else None,
        answer.proved,
        MappingProxyType(dict(formula)),
        () if exact else off,
        () if exact else _binding(asked, off),
        () if exact else _why_off(asked, off),
        (),
        _steps(asked, recipe, formula, error, cost if priced else None),
    )


def _gaps(asked: Model, formula: Mapping[str, float]) -> list[tuple[float, float]]:
    gaps = []
    for k, name in enumerate(asked.formulas):
        over = formula.get(name, 0.0) - asked.wanted[k]
        gaps.append((float(asked.weight[k]), float(max(0.0, over - asked.free[k]) if over > 0 else -over)))
    return gaps


def _off(asked: Model, formula: Mapping[str, float]) -> tuple[Off, ...]:
    return tuple(
        Off(name, float(asked.wanted[k]), formula.get(name, 0.0))
        for (k, name), (_, gap) in zip(enumerate(asked.formulas), _gaps(asked, formula), strict=True)
        if gap > EXACT_MOL
    )


def _binding(asked: Model, off: tuple[Off, ...]) -> tuple[str, ...]:
    """Oxides off the mark, and those that the linear program says pull against them."""
    named = {gap.oxide for gap in off} | set(pulling(asked))
    return tuple(name for name in asked.formulas if name in named)


def _why_off(asked: Model, off: tuple[Off, ...]) -> tuple[str, ...]:
    reasons = []
    for gap in off:
        held = asked.brings[asked.formulas.index(gap.oxide)]
        bare = gap.found < gap.wanted and not held.any()
        reasons.append(f"{gap}{'; no material on the shelf holds any' if bare else ''}")
    return (*reasons, *_limits_in_the_way(asked))


def _limits_in_the_way(asked: Model) -> tuple[str, ...]:
    """Limits that, let go, would let the formula be met exactly; the count first, since a program without it is quick."""
    uncounted = replace(asked, limits=replace(asked.limits, max_materials=None), shut_out=(), most_count=None)
    count = f"at most {asked.limits.max_materials} materials"
    if asked.limits.max_materials is not None and solve(uncounted, "cost", most_off=EXACT_MOL):
        return (f"without the limit of {count} it could be met exactly",)
    also = f" and of {count}" if asked.limits.max_materials is not None else ""
    return tuple(
        f"without the limit of {words}{also} it could be met exactly"
        for words, limits in uncounted.limits.each_let_go().items()
        if solve(replace(uncounted, limits=limits), "cost", most_off=EXACT_MOL)
    )


def _why_nothing(asked: Model) -> tuple[str, ...]:
    if not (asked.is_flux @ asked.brings).any():
        return ("No material on the shelf holds a flux.",)
    room = float(asked.wanted.sum()) + 1.0
    loosened = asked.limits.each_let_go()
    ways = [words for words, limits in loosened.items() if solve(replace(asked, limits=limits), "off", most_off=room)]
    if ways:
        return tuple(f"The limit of {words} leaves no recipe." for words in ways)
    return ("Its limits together leave no recipe.",)


def _nothing(reasons: tuple[str, ...]) -> Found:
    return Found("none", None, math.inf, None, None, True, MappingProxyType({}), (), (), reasons, (), ())


def _steps(
    asked: Model, recipe: Recipe, formula: Mapping[str, float], error: float, cost: float | None
) -> tuple[Step, ...]:
    inputs: dict[str, float] = {}
    terms = []
    for k, name in enumerate(asked.formulas):
        got, want, free = formula.get(name, 0.0), float(asked.wanted[k]), float(asked.free[k])
        if not got and not want:
            continue  # neither wanted nor there: it would only lengthen the line
        inputs |= {f"{name}_found": got, f"{name}_wanted": want}
        gap = f"max({name}_found - {name}_wanted - {free!r}, {name}_wanted - {name}_found, 0)"
        terms.append(f"{float(asked.weight[k])!r} * {gap}")
    steps = [Step("distance from the wanted formula", " + ".join(terms), inputs, error, "seger-unity", "mol")]
    if cost is not None:
        per_kg = {entry.name: float(price) * 10.0 for entry, price in zip(asked.materials, asked.price, strict=True)}
        paid: dict[str, float] = {}
        for k, (name, amount) in enumerate(recipe.base.items(), start=1):
            paid |= {f"share_{k}": amount / 100.0, f"price_{k}": per_kg[name]}
        sums = " + ".join(f"share_{k} * price_{k}" for k in range(1, len(recipe.base) + 1))
        steps.append(Step("cost of a kilogram of dry mix", sums, paid, cost, "given", "per kg"))
    return tuple(steps)


def substitute(
    recipe: Recipe,
    out: str,
    materials: Mapping[str, Material],
    prices: Mapping[str, float] | None = None,
    *,
    max_materials: int | None = None,
    without: Iterable[str] = (),
    alternatives: int = 0,
) -> Found:
    """The recipe without one material of its base, for the same unity formula; additions stay as they are.

    Keeps to the recipe's other materials where they will do, and brings in as few new ones as it can; ``alternatives``
    ranks so many other ways after it.

    Raises:
        OutOfRange: if ``out`` is not in the base.
        NotInTable, Problems: for materials that are not on the shelf.
    Source: as `cheapest`.
    """
    gone = material(out, materials).name
    base = {material(name, materials).name: amount for name, amount in recipe.base.items()}
    if gone not in base:
        raise OutOfRange(
            f"{out} in {recipe.name}",
            "it is not in the base" + (", but among the additions" if out in recipe.additions else ""),
            f"Name one of {', '.join(base)}",
        )
    wanted = unity(analysis_wt(Recipe(recipe.name, base), materials))
    left_out = {gone, *without}
    usable = [
        entry for entry in materials.values() if not _left_out(entry, left_out) and set(entry.oxides_wt) & set(wanted)
    ]
    if not usable:
        return _nothing(("No material is left to choose from that brings what is wanted.",))
    limits = _limits(max_materials, 0.0, None)
    asked = model(usable, wanted, _prices(usable, prices), limits, {}, 0.0)
    asked = replace(asked, counts=np.array([0.001 if entry.name in base else 1.0 for entry in usable]))
    found = _ranked(asked, f"{recipe.name} without {gone}", prices is not None, True, alternatives)
    others = tuple(_topped(other, recipe) for other in found.alternatives)
    return replace(_topped(found, recipe), alternatives=others)


def _topped(found: Found, recipe: Recipe) -> Found:
    """The answer with the additions that stay as they are."""
    if found.recipe is None:
        return found
    return replace(found, recipe=Recipe(found.recipe.name, found.recipe.base, recipe.additions))
