"""Run charts: is the batch still what it was at the start, or has the hand, the gauge or the clay moved?

Values in any unit, the same throughout one chart. Limits come from the short-term scatter, not from the whole run, so that a
slow drift is not taken for scatter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wareboard.book.reckoning.chart_constants import MOST_IN_A_GROUP, chart_constants
from wareboard.book.reckoning.given import Floats, chance, finite, not_negative, numbers, positive
from wareboard.book.reckoning.run_rules import (
    OUTSIDE,
    STOP,
    Signal,
    drift_signals,
    first_stop,
    outside_the_lines,
    zone_signals,
)
from wareboard.errors import OutOfRange
from wareboard.working import Step

SOURCE = "nist-handbook"
FEWEST_VALUES = 3


@dataclass(frozen=True, slots=True)
class Line:
    """One panel of a chart: points (n,) with their middle and limits, and the signals on them."""

    title: str
    points: tuple[float, ...]
    centre: float
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    signals: tuple[Signal, ...]


@dataclass(frozen=True, slots=True)
class RunChart:
    """A run of measures with its limits.

    ``lines`` are the panels, the first the one that counts; ``scatter`` is of single values, short term (None on a chart
    of sums); ``agreed`` are the
    ends of the size agreed with the client (None where none was); ``verdict`` says in words what to do.
    """

    name: str
    unit: str
    labels: tuple[str, ...]
    lines: tuple[Line, ...]
    scatter: float | None
    agreed: tuple[float, float] | None
    verdict: str
    steps: tuple[Step, ...]

    @property
    def signals(self) -> tuple[Signal, ...]:
        """All signals of all panels."""
        return tuple(signal for line in self.lines for signal in line.signals)

    @property
    def stop_at(self) -> int | None:
        """The first point (from 0) at which to stop and re-gauge, or None."""
        first = first_stop(self.signals)
        return first.at if first else None


def individuals_chart(
    name: str,
    values: Sequence[float],
    unit: str = "",
    labels: Sequence[str] = (),
    limits_from: int | None = None,
    agreed: tuple[float, float] | None = None,
) -> RunChart:
    """Single measures with the moving range of neighbours: for one piece now and then off the board.

    Args:
        values: (n,) in the order they were made, 3 or more.
        labels: a name for each; their numbers when left out.
        limits_from: how many of the first values set the limits; all when left out.
        agreed: lowest and highest that the client accepts, in the unit.
    Raises:
        OutOfRange: if there are too few values, one is not finite, or all are alike.
    Source: nist-handbook 6.3.2.2: mean -/+ 3 mean moving range / d2, d2 of two; moving range up to D4 times its mean.
    """
    array = numbers(values, f"measures of {name}", FEWEST_VALUES)
    base = array[: _baseline(limits_from, array.size, FEWEST_VALUES)]
    pair = chart_constants(2)
    moving, base_range = np.abs(np.diff(array)), float(np.abs(np.diff(base)).mean())
    scatter = positive(base_range / pair.mean_range, f"scatter of {name}")
    centre = float(base.mean())
    high_range = pair.high_range * base_range
    words = "two neighbours differ more than they should"
    main = _line(name, array, centre, 3.0 * scatter, scatter, agreed)
    ranges = _limits_line(f"{name}: from one to the next", moving, base_range, 0.0, high_range, words, shift=1)
    given = {"mean": centre, "mean_range": base_range, "d2": pair.mean_range}
    steps = (
        _own(f"mean of {name}", centre, unit, "the measures that set the limits"),
        _own(f"mean moving range of {name}", base_range, unit, "differences between neighbours"),
        Step(
            f"scatter of {name}",
            "mean_range / d2",
            {"mean_range": base_range, "d2": pair.mean_range},
            scatter,
            SOURCE,
            unit,
            key="chart.scatter",
        ),
        Step("upper limit", "mean + 3 * mean_range / d2", given, centre + 3 * scatter, SOURCE, unit, key="chart.upper"),
        Step("lower limit", "mean - 3 * mean_range / d2", given, centre - 3 * scatter, SOURCE, unit, key="chart.lower"),
    )
    return _chart(name, unit, labels, (main, ranges), scatter, agreed, steps)


def mean_and_range_chart(
    name: str,
    groups: Sequence[Sequence[float]],
    unit: str = "",
    labels: Sequence[str] = (),
    limits_from: int | None = None,
    agreed: tuple[float, float] | None = None,
) -> RunChart:
    """Means and ranges of small groups of like size: three pieces off each board, say.

    Args:
        groups: (n, k) measures, n of 2 or more, k from 2 to 25.
        labels: a name for each group; their numbers when left out.
        limits_from: how many of the first groups set the limits; all when left out.
        agreed: lowest and highest that the client accepts of a single piece; any piece outside is a stop.
    Raises:
        OutOfRange: if groups differ in size, are too few or too large, or all measures are alike.
    Source: nist-handbook 6.3.2.1 (from memory): grand mean -/+ A2 mean range; ranges between D3 and D4 times their mean.
    """
    array = _same_sized(name, groups)
    constants = chart_constants(array.shape[1])
    means, ranges = array.mean(axis=1), np.ptp(array, axis=1)
    base = slice(0, _baseline(limits_from, len(means), 2))
    centre, mean_range = float(means[base].mean()), float(ranges[base].mean())
    scatter = positive(mean_range / constants.mean_range, f"scatter of {name}")
    half = constants.a2 * mean_range
    main = _line(f"{name}: means", means, centre, half, half / 3.0, None)
    if agreed is not None:
        lower, upper = _agreed(agreed)
        past = np.flatnonzero((array > upper).any(axis=1) | (array < lower).any(axis=1))
        stops = tuple(Signal(int(at), STOP, "agreed", "a piece outside what was agreed", "given") for at in past)
        main = Line(main.title, main.points, main.centre, main.lower, main.upper, (*main.signals, *stops))
    low, high = constants.low_range * mean_range, constants.high_range * mean_range
    second = _limits_line(f"{name}: ranges", ranges, mean_range, low, high, "one group scatters unlike the others")
    given = {"grand_mean": centre, "a2": constants.a2, "mean_range": mean_range}
    steps = (
        _own(f"mean of {name}", centre, unit, "the groups that set the limits"),
        _own(f"mean range of {name}", mean_range, unit, "largest less smallest of each group"),
        Step(
            f"scatter of {name}",
            "mean_range / d2",
            {"mean_range": mean_range, "d2": constants.mean_range},
            scatter,
            SOURCE,
            unit,
            key="chart.scatter",
        ),
        Step("upper limit of means", "grand_mean + a2 * mean_range", given, centre + half, SOURCE, unit),
        Step("lower limit of means", "grand_mean - a2 * mean_range", given, centre - half, SOURCE, unit),
    )
    return _chart(name, unit, labels, (main, second), scatter, agreed, steps)


def count_chart(name: str, counts: Sequence[int], labels: Sequence[str] = ()) -> RunChart:
    """Counts of faults over like boards or loads (pinholes on a board, cracks in a load).

    Raises:
        OutOfRange: if there are fewer than two counts, or one is negative.
    Source: nist-handbook 6.3.3.1: mean -/+ 3 sqrt(mean), not below 0; Poisson counts, rough where the mean is under 5 or so.
    """
    array = numbers([not_negative(float(count), f"count of {name}") for count in counts], f"counts of {name}", 2)
    mean = float(array.mean())
    half = 3.0 * math.sqrt(mean)
    line = _limits_line(name, array, mean, max(0.0, mean - half), mean + half, "more or fewer than chance gives")
    given = {"mean": mean}
    steps = (
        _own(f"mean of {name}", mean, "", "all counts"),
        Step("upper limit", "mean + 3 * sqrt(mean)", given, mean + half, SOURCE, key="chart.upper"),
        Step("lower limit", "max(0, mean - 3 * sqrt(mean))", given, max(0.0, mean - half), SOURCE, key="chart.lower"),
    )
    return _chart(name, "", labels, (line,), math.sqrt(mean), None, steps)


def smoothed_chart(
    name: str,
    values: Sequence[float],
    target: float,
    scatter: float,
    unit: str = "",
    labels: Sequence[str] = (),
    weight: float = 0.3,
    width: float = 3.0,
) -> RunChart:
    """Exponentially weighted means: a small lasting shift shows sooner than in single values.

    Args:
        values: (n,) in order, or means of groups.
        target: where the run should lie.
        scatter: of one value, short term, one standard deviation.
        weight: of the newest value, over 0 and under 1.
        width: of the limits, in deviations of the weighted mean.
    Raises:
        OutOfRange: if a number lies outside these.
    Source: nist-handbook 6.3.2.4: target -/+ width * scatter * sqrt(weight / (2 - weight)), the limits of a long run.
    """
    array = numbers(values, f"measures of {name}")
    finite(target, f"target of {name}")
    positive(scatter, f"scatter of {name}")
    weight = chance(weight, "weight of the newest")
    points, held = [], target
    for value in array:
        held = weight * float(value) + (1.0 - weight) * held
        points.append(held)
    half = positive(width, "width of the limits") * scatter * math.sqrt(weight / (2.0 - weight))
    words = "the weighted mean has moved off its target"
    line = _limits_line(f"{name}: weighted mean", np.array(points), target, target - half, target + half, words)
    given = {"target": target, "width": width, "scatter": scatter, "weight": weight}
    more = "width * scatter * sqrt(weight / (2 - weight))"
    steps = (
        Step("upper limit", f"target + {more}", given, target + half, SOURCE, unit, key="chart.upper"),
        Step("lower limit", f"target - {more}", given, target - half, SOURCE, unit, key="chart.lower"),
    )
    return _chart(name, unit, labels, (line,), scatter, None, steps)


def summed_chart(
    name: str,
    values: Sequence[float],
    target: float,
    allowance: float,
    decision: float,
    unit: str = "",
    labels: Sequence[str] = (),
) -> RunChart:
    """Sums of what lies above and below the target beyond an allowance: says since when the run has moved.

    Args:
        values: (n,) in order, or means of groups.
        target: where the run should lie.
        allowance: left out of every deviation, in the unit; half the shift that matters is usual (common practice).
        decision: the sum at which to stop, in the unit.
    Raises:
        OutOfRange: if a number is not finite, the allowance is negative or the decision not above 0.
    Source: nist-handbook 6.3.2.3: S_high = max(0, S_high + x - target - k), S_low likewise, stop above h.
    """
    array = numbers(values, f"measures of {name}")
    finite(target, f"target of {name}")
    not_negative(allowance, "allowance")
    positive(decision, "decision")
    high, low, up, down = [], [], 0.0, 0.0
    for value in array:
        up = max(0.0, up + float(value) - target - allowance)
        down = max(0.0, down + target - allowance - float(value))
        high.append(up)
        low.append(down)
    lines = (
        _limits_line(f"{name}: sum above target", np.array(high), 0.0, 0.0, decision, "has moved up"),
        _limits_line(f"{name}: sum below target", np.array(low), 0.0, 0.0, decision, "has moved down"),
    )
    given = {"before": high[-2] if len(high) > 1 else 0.0, "value": float(array[-1]), "target": target, "k": allowance}
    formula = "max(0, before + value - target - k)"
    down_given = {**given, "before": low[-2] if len(low) > 1 else 0.0}
    steps = (
        Step("last sum above target", formula, given, high[-1], SOURCE, unit),
        Step("last sum below target", "max(0, before + target - k - value)", down_given, low[-1], SOURCE, unit),
    )
    return _chart(name, unit, labels, lines, None, None, steps)


def _baseline(limits_from: int | None, count: int, least: int) -> int:
    used = count if limits_from is None else limits_from
    if not least <= used <= count:
        raise OutOfRange(
            f"limits from the first {used} of {count}", f"at least {least} must set the limits", "Measure more first"
        )
    return used


def _same_sized(name: str, groups: Sequence[Sequence[float]]) -> Floats:
    sizes = {len(group) for group in groups}
    if len(groups) < 2 or len(sizes) != 1:
        raise OutOfRange(
            f"{name}: {len(groups)} groups of {sorted(sizes)} measures",
            "two groups at least are needed, all of one size",
            "Leave the odd ones out, or chart single measures",
        )
    if not 2 <= sizes.copy().pop() <= MOST_IN_A_GROUP:
        raise OutOfRange(f"{name}: groups of {sizes}", f"a range needs 2 to {MOST_IN_A_GROUP}", "Chart single measures")
    return np.array([numbers(group, f"measures of {name}") for group in groups])


def _agreed(agreed: tuple[float, float]) -> tuple[float, float]:
    low, high = finite(agreed[0], "least agreed"), finite(agreed[1], "most agreed")
    if not low < high:
        raise OutOfRange(f"agreed from {low:g} to {high:g}", "the lower end must lie below the upper", "Swap them")
    return low, high


def _line(
    title: str, array: Floats, centre: float, half: float, scatter: float, agreed: tuple[float, float] | None
) -> Line:
    signals = (*zone_signals((array - centre) / scatter), *drift_signals(array))
    if agreed is not None:
        lower, upper = (np.full(array.size, end) for end in _agreed(agreed))
        stops = outside_the_lines(array, lower, upper, "outside what was agreed", "given")
        signals = (*signals, *(Signal(s.at, s.asks, "agreed", s.words, s.source) for s in stops))
    ends = (np.full(array.size, centre - half), np.full(array.size, centre + half))
    lows, highs = (tuple(map(float, end)) for end in ends)
    return Line(title, tuple(map(float, array)), centre, lows, highs, tuple(sorted(signals, key=lambda s: s.at)))


def _limits_line(title: str, array: Floats, centre: float, low: float, high: float, words: str, shift: int = 0) -> Line:
    """A panel on which only a point outside its limits speaks; ``shift`` counts the pieces before its first point."""
    lower, upper = np.full(array.size, low), np.full(array.size, high)
    signals = outside_the_lines(array, lower, upper, words, OUTSIDE.source)
    moved = tuple(Signal(s.at + shift, s.asks, s.rule, s.words, s.source) for s in signals)
    points = (float("nan"),) * shift + tuple(map(float, array))
    size = len(points)
    return Line(title, points, centre, (low,) * size, (high,) * size, moved)


def _own(name: str, value: float, unit: str, of: str) -> Step:
    return Step(name, "", {}, value, "own records", unit, how=f"mean of {of}")


def _chart(
    name: str,
    unit: str,
    labels: Sequence[str],
    lines: tuple[Line, ...],
    scatter: float | None,
    agreed: tuple[float, float] | None,
    steps: tuple[Step, ...],
) -> RunChart:
    count = len(lines[0].points)
    named = tuple(labels) or tuple(str(number) for number in range(1, count + 1))
    if len(named) != count:
        raise OutOfRange(f"{len(named)} labels for {count} points", "each point needs one", "Give as many, or none")
    signals = tuple(signal for line in lines for signal in line.signals)
    return RunChart(name, unit, named, lines, scatter, agreed, _verdict(signals, named), steps)


def _verdict(signals: tuple[Signal, ...], labels: tuple[str, ...]) -> str:
    stop = first_stop(signals)
    if stop is not None:
        return f"Stop and re-gauge at {labels[stop.at]}: {stop.words}."
    if signals:
        first = min(signals, key=lambda signal: signal.at)
        return f"Look at {labels[first.at]}: {first.words}."
    return "Carry on: nothing but scatter so far."
