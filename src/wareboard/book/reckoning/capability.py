"""Whether the hand holds what was agreed: the agreed span over the scatter, with ranges, because few pieces say little."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wareboard.book.reckoning.given import chance, finite, numbers, positive
from wareboard.book.reckoning.learned import NINE_IN_TEN
from wareboard.errors import OutOfRange
from wareboard.working import Estimate, Step

SOURCE = "nist-handbook"


@dataclass(frozen=True, slots=True)
class Capability:
    """How the scatter sits in what was agreed.

    ``span`` (Cp) is the agreed span over six scatters; ``nearer`` (Cpk) the distance to the nearer end over three;
    ``on_target`` (Cpm) the span counted from the target; ``outside`` the share of pieces expected outside, if normal.
    """

    span: Estimate
    nearer: Estimate
    on_target: Estimate
    outside: float
    words: str
    steps: tuple[Step, ...]


def capability(values: Sequence[float], agreed: tuple[float, float], target: float | None = None) -> Capability:
    """The capability of the pieces measured, with nine-in-ten ranges.

    Args:
        values: (n,) measures of pieces, 3 or more, in the unit of ``agreed``.
        agreed: lowest and highest that the client accepts.
        target: the size aimed at; the middle of what was agreed when left out.
    Raises:
        OutOfRange: if there are too few, all are alike, or the ends are not in order.
    Source: see `capability_from`.
    """
    array = numbers(values, "measures", 3)
    return capability_from(float(array.mean()), float(array.std(ddof=1)), array.size, agreed, target)


def capability_from(
    mean: float,
    scatter: float,
    count: int,
    agreed: tuple[float, float],
    target: float | None = None,
    share: float = NINE_IN_TEN,
) -> Capability:
    """The capability of ``count`` pieces with that mean and standard deviation; ranges hold with chance ``share``.

    Raises:
        OutOfRange: if the scatter is not above 0, the count below 3, or the ends are not in order.
    Source: nist-handbook 6.1.6; intervals: capability-intervals (Cp by chi-square, Cpk by the normal approximation with
        variance 1 / (9 n) + Cpk^2 / (2 (n - 1))), boyles-1991 (Cpm). Normal pieces throughout.
    """
    low, high = finite(agreed[0], "least agreed"), finite(agreed[1], "most agreed")
    if not low < high or count < 3:
        raise OutOfRange(
            f"agreed {low:g} to {high:g}, {count} pieces",
            "the ends must be in order, the pieces 3 or more",
            "Mend them",
        )
    finite(mean, "mean"), positive(scatter, "scatter"), chance(share, "share of the range")
    aim = 0.5 * (low + high) if target is None else finite(target, "target")
    span = (high - low) / (6.0 * scatter)
    nearer = min(high - mean, mean - low) / (3.0 * scatter)
    on_target = (high - low) / (6.0 * math.hypot(scatter, mean - aim))
    ends = (
        _by_chi_square(span, count - 1.0, share),
        _by_normal(nearer, count, share),
        _by_chi_square(on_target, _freedom_on_target(count, (mean - aim) / scatter), share),
    )
    sources = (f"{SOURCE}+capability-intervals", f"{SOURCE}+capability-intervals", f"{SOURCE}+boyles-1991")
    found = [Estimate(v, *e, s) for v, e, s in zip((span, nearer, on_target), ends, sources, strict=True)]
    outside = _tail((high - mean) / scatter) + _tail((mean - low) / scatter)
    steps = _steps(low, high, mean, scatter, aim, found, outside)
    return Capability(found[0], found[1], found[2], outside, _words(found[1], outside, count), steps)


def _words(nearer: Estimate, outside: float, count: int) -> str:
    about = "fewer than 1" if 1000.0 * outside < 0.95 else f"about {1000.0 * outside:.0f}"
    held = (
        "the hand holds what was agreed"
        if nearer.low >= 1.0
        else "the hand does not hold what was agreed: re-centre, or agree more room"
        if nearer.high < 1.0
        else f"{count} pieces cannot tell yet whether the hand holds what was agreed"
    )
    return f"{about} in 1,000 outside if nothing changes; {held}."


def _tail(score: float) -> float:
    return 0.5 * math.erfc(score / math.sqrt(2.0))


def _freedom_on_target(count: int, off: float) -> float:
    return count * (1.0 + off**2) ** 2 / (1.0 + 2.0 * off**2)


def _by_chi_square(value: float, freedom: float, share: float) -> tuple[float, float]:
    from scipy.special import chdtri

    tail = 0.5 * (1.0 - share)
    # chdtri takes the chance of the upper tail.
    low, high = (value * math.sqrt(float(chdtri(freedom, upper)) / freedom) for upper in (1.0 - tail, tail))
    # The median of chi-square lies below its mean: with very few pieces the upper end could fall short of the value.
    return min(low, value), max(high, value)


def _by_normal(value: float, count: int, share: float) -> tuple[float, float]:
    from scipy.special import ndtri

    half = float(ndtri(0.5 + 0.5 * share)) * math.sqrt(1.0 / (9.0 * count) + value**2 / (2.0 * (count - 1.0)))
    return value - half, value + half


def _steps(
    low: float, high: float, mean: float, scatter: float, aim: float, found: list[Estimate], outside: float
) -> tuple[Step, ...]:
    ends = {"low": low, "high": high, "scatter": scatter}
    rows = (
        ("agreed span over the scatter", "(high - low) / (6 * scatter)", ends),
        ("distance to the nearer end", "min(high - mean, mean - low) / (3 * scatter)", {**ends, "mean": mean}),
        (
            "agreed span counted from the target",
            "(high - low) / (6 * sqrt(scatter ** 2 + (mean - target) ** 2))",
            {**ends, "mean": mean, "target": aim},
        ),
    )
    steps = [
        Step(name, formula, given, each.value, each.source, "", each.low, each.high)
        for (name, formula, given), each in zip(rows, found, strict=True)
    ]
    how = "both tails of the normal distribution"
    return (*steps, Step("share outside what was agreed", "", {**ends, "mean": mean}, outside, SOURCE, how=how))
