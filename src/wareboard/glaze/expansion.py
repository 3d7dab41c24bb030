"""Calculated thermal expansion of a glaze, by one named set of factors at a time.

Sets disagree with each other by more than glazes differ, so a result carries its set's name, and `difference` refuses
two results of different sets. A calculated figure ranks glazes; whether one fits a body is for a test on that body.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from wareboard.errors import NotInTable, OutOfRange
from wareboard.glaze.formula import mol_percent, moles
from wareboard.reference import rows
from wareboard.working import Estimate, Step

# Oxides that a set has no factor for may make up this much, in the set's own per cent, and are then left out of the sum.
MOST_LEFT_OUT_PERCENT = 2.0
UNIT_PER_K = 1e-7


@dataclass(frozen=True, slots=True)
class FactorSet:
    """One published set: a figure for each oxide, per mole fraction or per weight %, and how it was come by.

    ``in_moles``: factors go with mole fractions, else with weight %. ``divide_by`` is 3 for cubical factors.
    """

    name: str
    factors: Mapping[str, float]
    in_moles: bool
    divide_by: float
    temperature: str
    source: str
    trust: str


@dataclass(frozen=True, slots=True)
class Checked:
    """How far measured glazes lay from a set's figures, 1e-7/K: the range holds nine in ten."""

    glazes: int
    bias: float
    rmse: float
    low: float
    high: float
    source: str


@dataclass(frozen=True, slots=True)
class Expansion:
    """A calculated linear expansion, 1/K, with the name of the set that gave it.

    ``rmse_per_k`` and the range come from measured glazes, not from the set's authors. ``left_out`` maps oxides that the set
    has no factor for to their per cent (mol or weight, as the set goes).
    """

    value_per_k: float
    low_per_k: float
    high_per_k: float
    rmse_per_k: float
    factor_set: str
    temperature: str
    trust: str
    left_out: Mapping[str, float]
    steps: tuple[Step, ...]

    @property
    def estimate(self) -> Estimate:
        """The expansion with its range, per kelvin."""
        return Estimate(self.value_per_k, self.low_per_k, self.high_per_k, self.factor_set)


def _float_or_rule(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan  # a rule, worked out for each glaze: see RULES


@cache
def factor_sets() -> Mapping[str, FactorSet]:
    """The shipped sets by name. Source: ``glaze/expansion.csv``, each with its words on trust."""
    sets: dict[str, FactorSet] = {}
    names = dict.fromkeys(row["set"] for row in rows("glaze/expansion"))
    for name in names:
        own = [row for row in rows("glaze/expansion") if row["set"] == name]
        sets[name] = FactorSet(
            name,
            MappingProxyType({row["oxide"]: _float_or_rule(row["value"]) for row in own}),
            "mole" in own[0]["basis"],
            3.0 if "CUBICAL" in own[0]["unit"] else 1.0,
            own[0]["temperature"],
            own[0]["source"],
            own[0]["trust"],
        )
    return MappingProxyType(sets)


@cache
def checked() -> Mapping[str, Checked]:
    """How each set fared against measured glazes. Source: ``glaze/expansion_checked.csv``."""
    return MappingProxyType(
        {
            row["set"]: Checked(
                int(row["glazes"]),
                float(row["bias"]),
                float(row["rmse"]),
                float(row["low"]),
                float(row["high"]),
                row["source"],
            )
            for row in rows("glaze/expansion_checked")
        }
    )


def _held_between(low: float, value: float, high: float) -> float:
    return max(low, min(high, value))


def _appen_silica(mol: Mapping[str, float]) -> float:
    return 38.0 - max(0.0, mol["SiO2"] - 67.0)


def _appen_boric_oxide(mol: Mapping[str, float]) -> float:
    def some(*formulas: str) -> float:
        return math.fsum(mol.get(formula, 0.0) for formula in formulas)

    givers = some("Na2O", "K2O", "BaO") + 0.7 * some("CaO", "SrO", "PbO") + 0.3 * some("Li2O", "MgO", "ZnO")
    return -12.5 * _held_between(0.0, (givers - some("Al2O3")) / mol["B2O3"], 4.0)


def _appen_potash(mol: Mapping[str, float]) -> float:
    return 465.0 if mol.get("Na2O", 0.0) > 1.0 else 420.0


def _appen_lead(mol: Mapping[str, float]) -> float:
    alkalis = math.fsum(mol.get(formula, 0.0) for formula in ("Na2O", "K2O", "Li2O"))
    return _held_between(130.0, 115.0 + 5.0 * alkalis, 190.0)


def _appen_titania(mol: Mapping[str, float]) -> float:
    return _held_between(-15.0, 30.0 - 1.5 * (mol.get("SiO2", 0.0) - 50.0), 30.0)


# Factors of Appen that hang on the rest of the glass, in mol %; the words are in the table's ``rule`` column.
APPEN_RULES: Mapping[str, Callable[[Mapping[str, float]], float]] = MappingProxyType(
    {
        "SiO2": _appen_silica,
        "B2O3": _appen_boric_oxide,
        "K2O": _appen_potash,
        "PbO": _appen_lead,
        "TiO2": _appen_titania,
    }
)


def _factors_for(chosen: FactorSet, percent: Mapping[str, float]) -> Mapping[str, float]:
    rules = APPEN_RULES if chosen.name == "appen" else {}
    return {
        formula: rules[formula](percent) if formula in rules else chosen.factors[formula]
        for formula in percent
        if formula in chosen.factors
    }


def _chosen(factor_set: str) -> FactorSet:
    try:
        return factor_sets()[factor_set]
    except KeyError:
        raise NotInTable(
            f"factor set {factor_set!r}", "no set of that name is shipped", f"Write one of {', '.join(factor_sets())}"
        ) from None


def expansion(oxides_wt: Mapping[str, float], factor_set: str = "appen") -> Expansion:
    """The calculated linear expansion of a fired glaze, with the range that measured glazes give it.

    Args:
        oxides_wt: fired weight %.
        factor_set: a name in `factor_sets`.
    Raises:
        NotInTable: if there is no such set.
        OutOfRange: if oxides without a factor make up more than 2 per cent.
    Source: the set's own; range from F. P. Hall's measured glazes (``glaze/expansion_checked.csv``).
    """
    chosen = _chosen(factor_set)
    percent = dict(mol_percent(oxides_wt)) if chosen.in_moles else _to_100(oxides_wt)
    factors = _factors_for(chosen, percent)
    left_out = {formula: amount for formula, amount in percent.items() if formula not in factors}
    out_percent = math.fsum(left_out.values())
    if out_percent > MOST_LEFT_OUT_PERCENT:
        raise OutOfRange(
            f"expansion by {factor_set}",
            why=f"it has no factor for {', '.join(left_out)}, {out_percent:.1f} % of the glaze "
            f"by {'moles' if chosen.in_moles else 'weight'}",
            mend=f"Take another set, one of {', '.join(name for name in factor_sets() if name != factor_set)}",
        )
    # What has no factor is taken out of the whole, so that the rest adds up to one.
    weight = {formula: percent[formula] / (100.0 - out_percent) for formula in factors}
    per_unit = {
        formula: factors[formula] * (1.0 if chosen.in_moles else 100.0) / chosen.divide_by for formula in factors
    }
    units = math.fsum(per_unit[formula] * weight[formula] for formula in factors)
    return _result(chosen, units, per_unit, weight, left_out)


def _to_100(oxides_wt: Mapping[str, float]) -> dict[str, float]:
    moles(oxides_wt)  # looks at every oxide and amount
    whole = math.fsum(oxides_wt.values())
    return {formula: 100.0 * wt / whole for formula, wt in oxides_wt.items()}


def _result(
    chosen: FactorSet,
    units: float,
    per_unit: Mapping[str, float],
    weight: Mapping[str, float],
    left_out: Mapping[str, float],
) -> Expansion:
    met = checked()[chosen.name]
    # One set comes out low on nine glazes in ten and more; its range is stretched to hold its own figure.
    low, high = (units + min(met.low, 0.0)) * UNIT_PER_K, (units + met.high) * UNIT_PER_K
    terms = [formula for formula in per_unit if weight[formula] > 0]
    step = Step(
        f"calculated expansion, set {chosen.name}",
        f"({' + '.join(f'{formula} * factor_{formula}' for formula in terms)}) * unit",
        {formula: weight[formula] for formula in terms}
        | {f"factor_{formula}": per_unit[formula] for formula in terms}
        | {"unit": UNIT_PER_K},
        units * UNIT_PER_K,
        chosen.source,
        "per K",
        low,
        high,
        how=f"{chosen.temperature}; {chosen.trust}; range from {met.glazes} measured glazes, rms {met.rmse:g}e-7",
    )
    return Expansion(
        units * UNIT_PER_K,
        low,
        high,
        met.rmse * UNIT_PER_K,
        chosen.name,
        chosen.temperature,
        chosen.trust,
        MappingProxyType(dict(left_out)),
        (step,),
    )


def linear_per_k(oxides_wt: Mapping[str, float], factor_set: str = "appen") -> float:
    """Calculated linear expansion, 1/K; comparable only with figures of the same set. See `expansion`."""
    return expansion(oxides_wt, factor_set).value_per_k


def difference(one: Expansion, other: Expansion) -> float:
    """``one`` less ``other``, 1/K.

    Raises:
        OutOfRange: if they were calculated by different sets: one glaze comes out up to 26e-7/K apart between sets.
    """
    if one.factor_set != other.factor_set:
        raise OutOfRange(
            f"expansion by {one.factor_set} less expansion by {other.factor_set}",
            why="sets differ from each other by more than glazes do",
            mend="Calculate both with the same set",
        )
    return one.value_per_k - other.value_per_k
