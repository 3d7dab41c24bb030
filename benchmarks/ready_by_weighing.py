"""How well do three weighings of one pot say when it will be dry?

Simulated cups, seed fixed, figures drawn from the usual spread. The box cups dry by the rule that the estimate uses. The
marched cups do not: water diffuses through the thickness of wall and base, cell by cell, in even air or in a room whose air
wanders, and only their weights are shown to the estimate. Each weight is off by a rectangular error.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wareboard.clay.air import Air
from wareboard.clay.damp_piece import Piece, Spell, straight_piece
from wareboard.clay.drying_belief import Belief, figures_of, usual_belief
from wareboard.clay.drying_course import DRY_WITHIN, best_and_spread, curves, reckoned
from wareboard.clay.ready import drying, spread
from wareboard.clay.weighed import Weighing, learned
from wareboard.working import Estimate

QUESTION = "Do three weighings of a cup foretell the hour when it is bone dry, within 10 % in nine cases of ten?"
REFERENCE = (
    "the hour at which the simulated cup itself is within 0.5 % (of its dry weight) of its end water; "
    "and the same forecast from sizes and air alone"
)

CASES = 200
SEED = 20
CUP = straight_piece(90.0, 105.0, 5.0, 6.0, water=0.265)
ROOM = (Spell(Air(20.0, 0.50)),)
WEIGHED_AT_H = (12.0, 30.0, 60.0)
CELLS = 12
LONGEST_H = 400.0
ROOM_WANDERS, ROOM_REMEMBERS_H = 0.12, 12.0

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Cups:
    """What happened to many cups: the hour each was dry, and its weights at the hours of weighing, shape (cases, 3)."""

    dry_h: Floats
    weights_g: Floats


def draws(belief: Belief, rng: np.random.Generator, cases: int) -> Floats:
    """Figures of that many cups, drawn from a belief."""
    normals = rng.standard_normal((cases, len(belief.best)))
    # Square root by eigenvalues: what wandering has done before the start is known exactly, to be nothing.
    values, vectors = np.linalg.eigh(belief.covariance)
    return belief.best + normals @ (vectors * np.sqrt(np.maximum(values, 0.0))).T


def box_cups(points: Floats) -> Cups:
    """Cups that dry by the rule that the estimate itself uses, in even air."""
    course = curves(CUP, ROOM, replace(figures_of(points), to_come=np.zeros(len(points))))
    return Cups(course.bone_dry(), np.stack([course.weight_g(hour) for hour in WEIGHED_AT_H], axis=-1))


def _wandering(rng: np.random.Generator, cases: int, hours: int, share: float) -> Floats:
    """Rate of the room's air by the hour, around 1, shape (hours, cases)."""
    keep = np.exp(-1.0 / ROOM_REMEMBERS_H)
    room = np.empty((hours, cases))
    room[0] = rng.standard_normal(cases)
    for hour in range(1, hours):
        room[hour] = keep * room[hour - 1] + np.sqrt(1.0 - keep**2) * rng.standard_normal(cases)
    return np.maximum(0.2, 1.0 + share * room)


def _marched_part(points: Floats, place: int, room: Floats) -> Floats:
    """Mean water of one part by the hour, marched cell by cell through its thickness, shape (hours + 1, cases)."""
    part, figures = CUP.parts[place], figures_of(points)
    share = np.array([1.0 / part.thickness_mm * reckoned(CUP, ROOM[0]).reaches_mm[place]])
    faces = np.concatenate([share, 1.0 - share])[:, None]
    cell_m = part.thickness_mm / 1000.0 / CELLS
    # Loss through both faces in metres of water share a second, so that the whole part loses its rate while wet.
    whole = reckoned(CUP, ROOM[0]).rates_per_h[place] / 3600.0 * part.thickness_mm / 1000.0
    wet_loss = faces * whole * figures.rate_factor / figures.dry_factor
    step_s = 0.4 * cell_m**2 / figures.diffusivity_m2_per_s.max()
    steps = int(np.ceil(3600.0 / step_s))
    step_s = 3600.0 / steps
    water = np.tile(figures.start, (CELLS, 1))
    means = [water.mean(axis=0)]
    conductance = figures.diffusivity_m2_per_s / cell_m
    for hour in range(room.shape[0]):
        for _ in range(steps):
            surface = np.stack([water[0], water[-1]])
            excess = np.clip((surface - figures.end) / (figures.critical - figures.end), 0.0, 1.0)
            out = wet_loss * room[hour] * excess
            inner = conductance * (water[:-1] - water[1:])
            change = np.zeros_like(water)
            change[:-1] -= inner
            change[1:] += inner
            change[0] -= out[0]
            change[-1] -= out[1]
            water = water + change * (step_s / cell_m)
        means.append(water.mean(axis=0))
        if np.all(means[-1] < figures.end + 0.5 * DRY_WITHIN):
            break
    while len(means) <= room.shape[0]:
        means.append(means[-1])
    return np.stack(means)


def marched_cups(points: Floats, rng: np.random.Generator, wanders: float) -> Cups:
    """Cups in which water diffuses through the thickness, in a room whose air wanders by that share."""
    figures = figures_of(points)
    room = _wandering(rng, len(points), int(LONGEST_H), wanders)
    hours = np.arange(LONGEST_H + 1.0)
    dry_h, weights = np.zeros(len(points)), np.zeros((len(points), len(WEIGHED_AT_H)))
    for place, part in enumerate(CUP.parts):
        water = _marched_part(points, place, room)
        dry_g = part.dry_g * figures.dry_factor
        for case in range(len(points)):
            weights[case] += dry_g[case] * (1.0 + np.interp(WEIGHED_AT_H, hours, water[:, case]))
            under = water[:, case] <= figures.end[case] + DRY_WITHIN
            first = int(np.argmax(under)) if under.any() else len(hours) - 1
            before, after = water[first - 1, case], water[first, case]
            part_h = first - 1 + (before - figures.end[case] - DRY_WITHIN) / max(1e-12, before - after)
            dry_h[case] = max(dry_h[case], part_h)
    return Cups(dry_h, weights)


def _row(name: str, cups: Cups, belief: Belief, off_g: float, rng: np.random.Generator) -> dict[str, str]:
    blind = drying(CUP, ROOM, belief).bone_dry_h
    apart, held = [], []
    for dry_h, weights in zip(cups.dry_h, cups.weights_g, strict=True):
        seen = weights + rng.uniform(-off_g, off_g, len(weights))
        after = learned(CUP, ROOM, [Weighing(h, g) for h, g in zip(WEIGHED_AT_H, seen, strict=True)], belief, off_g)
        best, points = best_and_spread(CUP, ROOM, after.belief)
        told: Estimate = spread(best.bone_dry(), points.bone_dry(), "own records")
        apart.append(abs(told.value / dry_h - 1.0))
        held.append(told.low <= dry_h <= told.high)
    unweighed = np.abs(blind.value / cups.dry_h - 1.0)
    ninth, blind_ninth = np.quantile(apart, 0.9), np.quantile(unweighed, 0.9)
    return {
        "case": f"{name}, weights ± {off_g:g} g, {len(apart)} cups",
        "measure": "error of the dry hour that nine cases in ten stay under",
        "ours": f"{ninth:.1%}",
        "reference": f"{blind_ninth:.1%} unweighed",
        "ratio": f"{ninth / blind_ninth:.3f}",
        "within 10 %": f"{np.mean(np.array(apart) <= 0.10):.1%}",
        "90 % range holds": f"{np.mean(held):.1%}",
        "unweighed range holds": f"{np.mean((blind.low <= cups.dry_h) & (cups.dry_h <= blind.high)):.1%}",
    }


def known_clay(piece: Piece, wanders: float) -> Belief:
    """The belief of a workshop that has dried this clay before: its waters and the dry weight of the cup are known."""
    told = usual_belief(
        piece,
        ROOM[0],
        start=Estimate(0.265, 0.255, 0.275, "invented"),
        end=Estimate(0.0122, 0.009, 0.0165, "invented"),
        wanders=wanders,
    )
    narrowed = told.covariance.copy()
    narrowed[5, 5] = 0.003**2
    return replace(told, covariance=narrowed)


def run(cases: int = CASES) -> list[dict[str, str]]:
    """Rows for box pots and marched pots, by two scales, without and with the clay known."""
    rng = np.random.default_rng(SEED)
    rows = []
    for wanders in (0.0, ROOM_WANDERS):
        for clay in ("usual figures", "clay known"):
            known = clay == "clay known"
            belief = known_clay(CUP, wanders) if known else usual_belief(CUP, ROOM[0], wanders=wanders)
            points = draws(belief, rng, cases)
            many = {"marched, wandering room" if wanders else "marched, even room": marched_cups(points, rng, wanders)}
            if not wanders:
                many["box, even room"] = box_cups(points)
            for kind, cups in many.items():
                rows += [_row(f"{kind}, {clay}", cups, belief, off_g, rng) for off_g in (0.2, 1.0)]
    return rows


if __name__ == "__main__":
    print(QUESTION, REFERENCE, sep="\n")
    for line in run():
        print(line)
