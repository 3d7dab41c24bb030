"""When to join cup and handle: while both are soft enough and lie within a few points of water of each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.clay.damp_piece import Piece, Spell
from wareboard.clay.drying_belief import Belief, figures_of, usual_belief
from wareboard.clay.drying_course import Curves, curves
from wareboard.clay.drying_figures import window
from wareboard.clay.ready import spread
from wareboard.errors import OutOfRange
from wareboard.given import not_negative, share
from wareboard.working import Estimate, Step, per_cent

Floats = NDArray[np.float64]
POINTS = 256
MOMENTS = 241
SELDOM = 0.5  # below this chance of a window at all, holding back is said first


@dataclass(frozen=True, slots=True)
class Joining:
    """When cup and handle can be joined, in hours from the cup's start.

    Attributes:
        from_h, until_h: the window, None when the best figures give none.
        chance: share of the spread in which there is a window at all.
        hold_back_h: how much later than the cup to pull the handles so that both come to the middle of soft leather-hard
            together; below 0 where the handles are the slower.
        look_at_h: when to look first, the early end of the range of ``from_h`` or of the cup's own softness.
        steps: the working. words: what to do.
    """

    from_h: Estimate | None
    until_h: Estimate | None
    chance: float
    hold_back_h: Estimate
    look_at_h: float
    steps: tuple[Step, ...]
    words: str


@dataclass(frozen=True, slots=True)
class _Windows:
    """First and last hour of the window at each point, infinite where there is none."""

    first_h: Floats
    last_h: Floats


def joining(
    cup: Piece,
    handle: Piece,
    cup_spells: Sequence[Spell],
    handle_spells: Sequence[Spell] | None = None,
    handle_after_h: float = 0.0,
    apart: float | None = None,
    belief: Belief | None = None,
) -> Joining:
    """The window in which cup and handle are both soft or just leather-hard and within ``apart`` of each other.

    The handle meets the cup's first part (its wall). The clay and the room are one, so that both share the doubted figures;
    wandering air, which moves both alike, is left out.

    Args:
        cup, handle: as `straight_piece` and `handle_piece` give them.
        cup_spells, handle_spells: what each is left in; the handles' are the cup's when left out.
        handle_after_h: how long after the cup the handles are pulled, h.
        apart: most that their waters may differ, fraction of the dry weight; 0.03 when left out, and 0.02 is better.
        belief: of the cup; the usual one when left out.
    Raises:
        OutOfRange: if ``apart`` is no fraction above 0 or the delay is negative.
    Source: windows and the rule of 2 to 3 points, common practice; courses as in `drying`.
    """
    apart = window("join apart at most")[1] if apart is None else share(apart, "most apart", "the dry weight")
    if apart <= 0.0:
        raise OutOfRange("most apart is 0", why="no two pieces hold the very same water", mend="Give 0.02 or 0.03")
    not_negative(handle_after_h, "delay of the handles", "h")
    handle_spells = cup_spells if handle_spells is None else handle_spells
    belief = belief or usual_belief(cup, cup_spells[0])
    points = np.concatenate([belief.best[None, :], belief.points(POINTS)])
    figures = figures_of(points)
    first, second = curves(cup, cup_spells, figures), curves(handle, handle_spells, figures)
    found = _windows(first, second, handle_after_h, apart)
    middle = sum(window("soft leather-hard")) / 2.0
    cup_h, handle_h = first.even_until(middle)[:, 0], second.even_until(middle)[:, 0]
    hold_back = spread((cup_h - handle_h)[:1], (cup_h - handle_h)[1:], belief.source)
    there = np.isfinite(found.first_h)
    chance = float(np.mean(there[1:]))
    from_h = until_h = None
    if there[0]:
        from_h, until_h = (
            spread(each[:1], each[1:][there[1:]] if there[1:].any() else each[:1], belief.source)
            for each in (found.first_h, found.last_h)
        )
    soft_h = first.even_until(window("soft leather-hard")[1])[:, 0]
    look_at_h = from_h.low if from_h else float(np.quantile(soft_h[1:], 0.05))
    given = {"cup_h": float(cup_h[0]), "handle_h": float(handle_h[0])}
    steps = _steps(from_h, until_h, hold_back, given, apart, middle)
    return Joining(from_h, until_h, chance, hold_back, look_at_h, steps, _words(from_h, until_h, chance, hold_back))


def _windows(cup: Curves, handle: Curves, handle_after_h: float, apart: float) -> _Windows:
    """Window at each point, on a fine lattice of moments from the softest that will do to the driest."""
    wettest, driest = window("soft leather-hard")[1], window("leather-hard")[0]
    opens = np.maximum(cup.even_until(wettest)[:, :1], handle_after_h + handle.even_until(wettest)[:, :1])
    shuts = np.minimum(cup.even_until(driest)[:, :1], handle_after_h + handle.even_until(driest)[:, :1])
    first = np.full(len(opens), math.inf)
    last = np.full(len(opens), -math.inf)
    for moment in np.linspace(0.0, 1.0, MOMENTS):
        hours = opens + moment * np.maximum(0.0, shuts - opens)
        gap = np.abs(cup.water(hours)[:, 0] - handle.water(hours - handle_after_h)[:, 0])
        fits = (gap <= apart) & (shuts >= opens)[:, 0]
        first = np.where(fits, np.minimum(first, hours[:, 0]), first)
        last = np.where(fits, np.maximum(last, hours[:, 0]), last)
    return _Windows(first, last)


def _steps(
    from_h: Estimate | None,
    until_h: Estimate | None,
    hold_back: Estimate,
    given: dict[str, float],
    apart: float,
    middle: float,
) -> tuple[Step, ...]:
    steps = [
        Step("pull the handles after the cup by", "cup_h - handle_h", given, hold_back.value, hold_back.source, "h",
             hold_back.low, hold_back.high,
             f"so that both hold {per_cent(middle)} of water together", "hold_back")
    ]  # fmt: skip
    how = "first and last moment at which both are soft or leather-hard and so near each other, on a lattice of moments"
    for name, each, key in (("join from", from_h, "join_from"), ("join until", until_h, "join_until")):
        if each is not None:
            steps.append(
                Step(name, "", {"apart": apart}, each.value, each.source, "h", each.low, each.high, how, key)
            )  # fmt: skip
    return tuple(steps)


def _words(from_h: Estimate | None, until_h: Estimate | None, chance: float, hold_back: Estimate) -> str:
    cover = (
        "Cup and handle that differ crack at the join: not which is wetter counts, but that they differ. Score and slip "
        "both, and wrap the joined piece overnight."
    )
    later = (
        f"Pull the handles {hold_back.value:.0f} h after the cups" if hold_back.value >= 1.0 else "Pull both together"
    )
    if from_h is None or until_h is None or chance < SELDOM:
        return f"As they stand, cup and handle hardly meet. {later}, or keep both under one wrap until equal. {cover}"
    return (
        f"Look at them from {from_h.low:.0f} h on; join between {from_h.value:.0f} and {until_h.value:.0f} h, "
        f"and by {until_h.low:.0f} h to be sure. {cover}"
    )
