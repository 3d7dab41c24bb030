"""When a run of measures says stop and re-gauge, and when it says look.

Stop: one point outside the limits, two of three in the outer third on one side, eight in a row on one side, or a piece
outside the size that was agreed. Look: four of five beyond the inner third on one side, six in a row rising or falling.
A point exactly on a line is inside it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.book.reckoning.given import Floats

STOP, LOOK = "stop and re-gauge", "look"
# Differences below this share of one scatter are rounding: a point on the line stays on it.
ON_THE_LINE = 1e-9


@dataclass(frozen=True, slots=True)
class Signal:
    """A rule that spoke: at which point (from 0), what it asks for, the rule's short name and words, and its source."""

    at: int
    asks: str
    rule: str
    words: str
    source: str


@dataclass(frozen=True, slots=True)
class Rule:
    """So many of the last so many points beyond a line on one side, in scatters from the centre."""

    name: str
    needed: int
    among: int
    beyond: float
    asks: str
    words: str
    source: str


OUTSIDE = Rule("outside", 1, 1, 3.0, STOP, "outside the limits", "western-electric")
ZONE_RULES = (
    OUTSIDE,
    Rule("two-of-three", 2, 3, 2.0, STOP, "two of three in the outer third on one side", "western-electric"),
    Rule("four-of-five", 4, 5, 1.0, LOOK, "four of five beyond the inner third on one side", "western-electric"),
    Rule("eight-in-a-row", 8, 8, 0.0, STOP, "eight in a row on one side of the middle", "western-electric"),
)
SIX_IN_A_ROW = 6


def zone_signals(scores: Floats, rules: tuple[Rule, ...] = ZONE_RULES) -> tuple[Signal, ...]:
    """Every rule that speaks, in the order of the points.

    Args:
        scores: (n,) distances from the centre in scatters; left alone.
    Source: western-electric zone rules.
    """
    found = []
    for rule in rules:
        for side in (1.0, -1.0):
            beyond = side * scores > rule.beyond + ON_THE_LINE
            counts = np.convolve(beyond, np.ones(rule.among))[: scores.size]
            # The point that completes the pattern must itself be beyond the line: the rule speaks at it, and once.
            for at in np.flatnonzero(beyond & (counts >= rule.needed - 0.5)):
                found.append(Signal(int(at), rule.asks, rule.name, rule.words, rule.source))  # noqa: PERF401
    return tuple(sorted(found, key=lambda signal: signal.at))


def drift_signals(values: Floats) -> tuple[Signal, ...]:
    """Where six points in a row rise, or fall, each past the one before: a gauge that slips, a height learned by hand.

    Source: six-in-a-row.
    """
    found = []
    for words, steps in (("rising", np.diff(values) > 0.0), ("falling", np.diff(values) < 0.0)):
        run = 0
        for place, goes_on in enumerate(steps, start=1):
            run = run + 1 if goes_on else 0
            if run >= SIX_IN_A_ROW - 1:
                found.append(Signal(place, LOOK, "six-in-a-row", f"six in a row {words}", "six-in-a-row"))
    return tuple(sorted(found, key=lambda signal: signal.at))


def outside_the_lines(values: Floats, lower: Floats, upper: Floats, words: str, source: str) -> tuple[Signal, ...]:
    """A stop at every value past its own line; the arrays (n,) are left alone."""
    slack = ON_THE_LINE * np.abs(upper - lower)
    past: NDArray[np.bool_] = (values > upper + slack) | (values < lower - slack)
    return tuple(Signal(int(at), STOP, "outside", words, source) for at in np.flatnonzero(past))


def first_stop(signals: tuple[Signal, ...], of: Callable[[Signal], bool] = lambda signal: True) -> Signal | None:
    """The earliest signal that asks to stop, or None."""
    stops = [signal for signal in signals if signal.asks == STOP and of(signal)]
    return min(stops, key=lambda signal: signal.at) if stops else None
