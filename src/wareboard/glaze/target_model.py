"""The linear model behind a search for a recipe: materials, what they bring, what was asked, and the solver.

Unknowns: hundreds of grams of each raw material for one mole of flux; how far each oxide is over and short; and, where
materials are counted, whether each is used at all. One mole of flux makes every amount of oxide a figure of the unity
formula, so that the whole is linear.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from wareboard.glaze.material import Material
from wareboard.glaze.oxide import molar_mass_g, oxides
from wareboard.working import per_cent

GRAMS_A_UNIT = 100.0
# Half the last figure of a unity formula printed to three places.
EXACT_MOL = 0.0005
SECONDS_TO_SEARCH = 60.0
# Room for the solver's own rounding when a distance found once is held a second time.
HAIR = 1e-7
# An amount below this share of the mix is the solver's dust, not a material.
DUST_SHARE = 1e-5

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Limits:
    """What a recipe must keep to beside its formula. Shares are fractions of the raw mix."""

    max_materials: int | None = None
    min_clay_share: float = 0.0
    max_soluble_share: float | None = None

    def each_let_go(self) -> Mapping[str, Limits]:
        """The limits with one of them let go, by the words for that one."""
        loosened: dict[str, Limits] = {}
        if self.max_materials is not None:
            loosened[f"at most {self.max_materials} materials"] = replace(self, max_materials=None)
        if self.min_clay_share > 0:
            loosened[f"at least {per_cent(self.min_clay_share)} clay"] = replace(self, min_clay_share=0.0)
        if self.max_soluble_share is not None:
            loosened[f"at most {per_cent(self.max_soluble_share)} soluble materials"] = replace(
                self, max_soluble_share=None
            )
        return loosened


@dataclass(frozen=True, slots=True)
class Model:
    """``brings``: (k, m) moles of oxide by a unit of material; ``wanted``: (k,) moles; ``price``: (m,) per unit.

    ``free``: (k,) moles over that count for nothing (traces); ``counts``: (m,) what using a material adds to a
    count that ``most_count`` may bound. ``shut_out``: sets of materials (by place) not to be used together again.
    """

    materials: tuple[Material, ...]
    formulas: tuple[str, ...]
    brings: Array
    wanted: Array
    price: Array
    weight: Array
    free: Array
    counts: Array
    limits: Limits
    most_count: float | None = None
    shut_out: tuple[tuple[int, ...], ...] = field(default=())

    @property
    def is_flux(self) -> Array:
        """(oxides,) 1 for a flux, 0 for any other."""
        return np.array([oxides()[formula].is_flux for formula in self.formulas], dtype=float)


@dataclass(frozen=True, slots=True)
class Answer:
    """Units of each material, how far off, and whether the solver proved that nothing does better."""

    units: Array
    proved: bool


def model(
    materials: Sequence[Material],
    wanted: Mapping[str, float],
    prices: Mapping[str, float],
    limits: Limits,
    weights: Mapping[str, float],
    traces_mol: float,
) -> Model:
    """The model for a shelf and a wanted unity formula."""
    held = {formula for entry in materials for formula in entry.oxides_wt} | set(wanted)
    formulas = tuple(formula for formula in oxides() if formula in held)
    brings = np.array(
        [
            [entry.oxides_wt.get(formula, 0.0) / 100.0 * GRAMS_A_UNIT / molar_mass_g(formula) for entry in materials]
            for formula in formulas
        ]
    )
    target = np.array([wanted.get(formula, 0.0) for formula in formulas])
    return Model(
        tuple(materials),
        formulas,
        brings,
        target,
        np.array([prices[entry.name] * GRAMS_A_UNIT / 1000.0 for entry in materials]),
        np.array([weights.get(formula, 1.0) for formula in formulas]),
        np.where(target > 0, 0.0, traces_mol),
        np.ones(len(materials)),
        limits,
    )


def most_units(asked: Model, most_off: float) -> Array:
    """(m,) units of each material that no answer within ``most_off`` of every oxide can pass."""
    room = (asked.wanted + asked.free + most_off)[:, None]
    with np.errstate(divide="ignore"):
        ends = np.where(asked.brings > 0, room / asked.brings, np.inf).min(axis=0)
        flux = asked.is_flux @ asked.brings
        ends = np.minimum(ends, np.where(flux > 0, 1.0 / flux, np.inf))
    # What could only be there to use up the room left for printed figures is not a material of the recipe.
    dust = ends * asked.brings.max(axis=0) < 3.0 * EXACT_MOL
    return np.where(dust, 0.0, ends)


def solve(asked: Model, aim: str, *, most_off: float, total_within: float | None = None) -> Answer | None:
    """The best answer, or None if there is none.

    Args:
        aim: "cost", "count" or "off": what to make least.
        most_off: how far any one oxide may be off, moles.
        total_within: how far all of them may be off together, weighed moles.
    """
    from scipy.optimize import Bounds, milp

    m, k = len(asked.materials), len(asked.formulas)
    bounded = asked.limits.max_materials is not None or asked.most_count is not None
    counted = aim == "count" or bounded or bool(asked.shut_out)
    ends = most_units(asked, most_off)
    n_used = m if counted else 0
    cost = np.concatenate([np.zeros(m + 2 * k), np.zeros(n_used)])
    if aim == "cost":
        cost[:m] = asked.price
    elif aim == "off":
        cost[m : m + 2 * k] = np.tile(asked.weight, 2)
    else:
        cost[m + 2 * k :] = asked.counts
    high = np.concatenate([ends, np.full(2 * k, most_off), (ends > 0).astype(float)[:n_used]])
    found = milp(
        cost,
        integrality=np.concatenate([np.zeros(m + 2 * k), np.ones(n_used)]),
        bounds=Bounds(np.zeros(len(cost)), high),
        constraints=_constraints(asked, ends, counted, total_within),
        options={"mip_rel_gap": 0.0, "time_limit": SECONDS_TO_SEARCH},
    )
    if found.x is None:
        return None
    return Answer(np.asarray(found.x[:m]), proved=found.status == 0)


def _constraints(asked: Model, ends: Array, counted: bool, total_within: float | None) -> list[object]:
    from scipy.optimize import LinearConstraint

    m, k = len(asked.materials), len(asked.formulas)
    width = m + 2 * k + (m if counted else 0)

    def row(units: Array, marks: Array | None = None) -> Array:
        filled = np.zeros((np.atleast_2d(units).shape[0], width))
        filled[:, :m] = units
        if marks is not None:
            filled[:, m + 2 * k :] = marks
        return filled

    balance = row(asked.brings)
    balance[:, m : m + k], balance[:, m + k : m + 2 * k] = -np.eye(k), np.eye(k)
    rules = [
        # What is brought, less what is over, with what is short, is what was wanted; traces are let through.
        LinearConstraint(balance, asked.wanted, asked.wanted + asked.free),
        LinearConstraint(row(asked.is_flux @ asked.brings), 1.0, 1.0),
        *(LinearConstraint(row(share), 0.0, np.inf) for share in _share_rules(asked)),
    ]
    if total_within is not None:
        off = np.zeros((1, width))
        off[0, m : m + 2 * k] = np.tile(asked.weight, 2)
        rules.append(LinearConstraint(off, -np.inf, total_within))
    if counted:
        rules += _counting_rules(asked, ends, row)
    return rules


def _share_rules(asked: Model) -> list[Array]:
    """Rows over the materials that must not come out below 0."""
    rows = []
    if asked.limits.min_clay_share > 0:
        rows.append(np.array([entry.is_clay for entry in asked.materials], dtype=float) - asked.limits.min_clay_share)
    if asked.limits.max_soluble_share is not None:
        soluble = np.array([entry.solubility == "soluble" for entry in asked.materials], dtype=float)
        rows.append(asked.limits.max_soluble_share - soluble)
    return rows


def _counting_rules(asked: Model, ends: Array, row: Callable[..., Array]) -> list[object]:
    from scipy.optimize import LinearConstraint

    m = len(asked.materials)
    rules: list[object] = [LinearConstraint(row(np.eye(m), -np.diag(ends)), -np.inf, 0.0)]
    if asked.limits.max_materials is not None:
        rules.append(LinearConstraint(row(np.zeros(m), np.ones(m)), 0.0, asked.limits.max_materials))
    if asked.most_count is not None:
        rules.append(LinearConstraint(row(np.zeros(m), asked.counts), -np.inf, asked.most_count))
    for together in asked.shut_out:
        marks = np.zeros(m)
        marks[list(together)] = 1.0
        rules.append(LinearConstraint(row(np.zeros(m), marks), 0.0, len(together) - 1))
    return rules


def only(asked: Model, kept: Sequence[int]) -> Model:
    """The model with only the materials at those places, and no count of them."""
    places = list(kept)
    return replace(
        asked,
        materials=tuple(asked.materials[k] for k in places),
        brings=asked.brings[:, places],
        price=asked.price[places],
        counts=asked.counts[places],
        limits=replace(asked.limits, max_materials=None),
        most_count=None,
        shut_out=(),
    )


def total_off(asked: Model, answer: Answer) -> float:
    """Weighed moles that an answer is off by, traces let through."""
    over = asked.brings @ answer.units - asked.wanted
    return float(asked.weight @ np.where(over > 0, np.maximum(0.0, over - asked.free), -over))


def used(answer: Answer) -> tuple[int, ...]:
    """Places of the materials that an answer uses."""
    return tuple(int(k) for k in np.flatnonzero(answer.units > DUST_SHARE * answer.units.sum()))


def settled(asked: Model, answer: Answer, most_off: float) -> Answer:
    """The same materials in the amounts that come nearest to the formula, and cheapest among those."""
    places = used(answer)
    few = only(asked, places)
    near = solve(few, "off", most_off=most_off)
    if near is None:
        return answer
    hair = total_off(few, near) + HAIR
    best = solve(few, "cost", most_off=most_off, total_within=hair) or near
    units = np.zeros(len(asked.materials))
    units[list(places)] = best.units
    return Answer(units, answer.proved)


def within_reach(asked: Model) -> float:
    """A distance that some answer keeps to, for closing in on the best one; generous where none is found quickly."""
    room = float(asked.wanted.sum()) + 1.0
    loose = solve(only(asked, range(len(asked.materials))), "off", most_off=room)
    if loose is None or asked.limits.max_materials is None:
        return room
    brought = (asked.brings * loose.units).sum(axis=0)
    places = np.argsort(-brought)[: asked.limits.max_materials]
    near = solve(only(asked, [int(k) for k in places]), "off", most_off=room)
    return room if near is None else min(room, total_off(asked=only(asked, list(places)), answer=near) + HAIR)


def pulling(asked: Model) -> tuple[str, ...]:
    """Wanted oxides that pull against each other: moving the figure of one a little would bring the answer nearer.

    None where the shelf could meet the formula were it not for a count.

    Source: marginals of the least-distance linear program, as HiGHS reports them.
    """
    from scipy.optimize import linprog

    m, k = len(asked.materials), len(asked.formulas)
    shares = _share_rules(asked)
    found = linprog(
        np.concatenate([np.zeros(m), np.tile(asked.weight, 2), np.zeros(k)]),
        A_eq=np.vstack(
            [
                np.hstack([asked.brings, -np.eye(k), np.eye(k), -np.eye(k)]),
                np.concatenate([asked.is_flux @ asked.brings, np.zeros(3 * k)]),
            ]
        ),
        b_eq=np.append(asked.wanted, 1.0),
        A_ub=np.array([np.concatenate([-share, np.zeros(3 * k)]) for share in shares]) if shares else None,
        b_ub=np.zeros(len(shares)) if shares else None,
        bounds=[(0, None)] * (m + 2 * k) + [(0, free) for free in asked.free],
    )
    if not found.success or found.fun <= EXACT_MOL:
        return ()
    pulls = dict(zip(asked.formulas, found.eqlin.marginals, strict=False))
    return tuple(
        formula for k, formula in enumerate(asked.formulas) if asked.wanted[k] > 0 and abs(pulls[formula]) > 1e-7
    )
