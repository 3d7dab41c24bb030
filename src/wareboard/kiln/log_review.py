"""What a kiln did in a firing: ramps and holds as they were, and how they met the schedule."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from wareboard.kiln.log import FiringLog
from wareboard.kiln.segment import Schedule, Segment

Array = NDArray[np.float64]
# A corner of the curve must stand out from a straight line by this, and by five times the noise.
LEAST_BEND_C, NOISES = 3.0, 5.0
HOLD_C_PER_H = 12.0
NEAR_C, HOLD_BAND_C = 6.0, 3.0
FINEST_H, POINTS = 1.0 / 60.0, 2000


@dataclass(frozen=True, slots=True)
class SeenSegment:
    """One straight stretch of the curve: ``kind`` is ramp, hold or fall; rate in °C/h, falls negative."""

    kind: str
    start_h: float
    end_h: float
    from_c: float
    to_c: float

    @property
    def rate_c_per_h(self) -> float:
        """Mean rate from its beginning to its end, °C/h; below 0 while cooling."""
        return (self.to_c - self.from_c) / (self.end_h - self.start_h)


@dataclass(frozen=True, slots=True)
class Met:
    """How one programmed segment was met: the kiln's own rate and hold, how far it overshot, when it was reached.

    ``reached_h`` is None where the log never comes within 6 °C of the target; the rest is then None too. An overshoot is
    measured where the kiln was to stop rising or falling, and is None where it was to go straight on.
    """

    planned: Segment
    rate_c_per_h: float | None
    hold_min: float | None
    overshoot_c: float | None
    reached_h: float | None
    late_min: float | None


@dataclass(frozen=True, slots=True)
class LogReview:
    """A firing reviewed: straight stretches, peak, hours over the last 100 °C of rise, and each segment of the schedule."""

    segments: tuple[SeenSegment, ...]
    peak_c: float
    peak_at_h: float
    last_100_h: float
    met: tuple[Met, ...]


def review(log: FiringLog, schedule: Schedule | None = None, channel: str | int = 0) -> LogReview:
    """What the kiln did, and how that met the schedule if one is given.

    Args:
        log: a firing's log; its spikes are best left out first (`kiln.log.without_spikes`).
        schedule: what was programmed.
        channel: which thermocouple.
    Raises:
        NotInTable: if the log has no such channel.
    """
    hours, temps = log.times_s / 3600.0, log.channel(channel)
    top = int(np.argmax(temps))
    start = int(np.argmax(temps >= temps[top] - 100.0))
    met = _met(hours, temps, schedule) if schedule is not None else ()
    return LogReview(
        stretches(hours, temps), float(temps[top]), float(hours[top]), float(hours[top] - hours[start]), met
    )


def stretches(hours: Array, temps: Array) -> tuple[SeenSegment, ...]:
    """Ramps, holds and falls of a curve, found by splitting it where it stands furthest from a straight line.

    Source: Douglas and Peucker, Cartographica 10 (1973) 112, with the distance taken upright.
    """
    hours, temps = _thinned(hours, temps)
    least_c = max(LEAST_BEND_C, NOISES * _noise_c(temps))
    corners, todo = {0, len(hours) - 1}, [(0, len(hours) - 1)]
    while todo:
        low, high = todo.pop()
        if high - low < 2:
            continue
        straight = np.interp(hours[low : high + 1], hours[[low, high]], temps[[low, high]])
        off = np.abs(temps[low : high + 1] - straight)
        at = low + int(np.argmax(off))
        if off[at - low] > least_c:
            corners.add(at)
            todo += [(low, at), (at, high)]
    ends = _settled(hours, temps, _pruned(hours, temps, sorted(corners), 2.0 * least_c))
    found = [_stretch(hours, temps, low, high) for low, high in pairwise(ends)]
    joined = found[:1]
    for each in found[1:]:
        if each.kind == "hold" == joined[-1].kind:
            before = joined.pop()
            joined.append(SeenSegment("hold", before.start_h, each.end_h, before.from_c, each.to_c))
        else:
            joined.append(each)
    return tuple(joined)


def _pruned(hours: Array, temps: Array, ends: list[int], most_c: float) -> list[int]:
    """The corners without those that the curve can do without: splitting in order leaves a few beside the true ones."""

    def off_without(place: int) -> float:
        low, high = ends[place - 1], ends[place + 1]
        straight = np.interp(hours[low : high + 1], hours[[low, high]], temps[[low, high]])
        return float(np.abs(temps[low : high + 1] - straight).max())

    while len(ends) > 2:
        least = min(range(1, len(ends) - 1), key=off_without)
        if off_without(least) > most_c:
            break
        del ends[least]
    return ends


def _settled(hours: Array, temps: Array, ends: list[int]) -> list[int]:
    """The corners each moved to where the two stretches beside it fit best; splitting sets them a little too far out."""
    for place in range(1, len(ends) - 1):
        low, high = ends[place - 1], ends[place + 1]
        tried = np.unique(np.linspace(low + 1, high - 1, 200).astype(int))
        span, seen = hours[low : high + 1], temps[low : high + 1]
        missed = [
            float(np.sum((np.interp(span, hours[[low, at, high]], temps[[low, at, high]]) - seen) ** 2)) for at in tried
        ]
        ends[place] = int(tried[int(np.argmin(missed))])
    return ends


def _thinned(hours: Array, temps: Array) -> tuple[Array, Array]:
    """Points a minute or more apart, at most some 2000, each the mean of its neighbours; the ends are kept."""
    apart_h = max(FINEST_H, float(hours[-1] - hours[0]) / POINTS)
    group = int(apart_h * (len(hours) - 1) / max(float(hours[-1] - hours[0]), 1e-9))
    if group > 1:
        whole = len(hours) // group * group
        first, last = (hours[0], temps[0]), (hours[-1], temps[-1])
        hours = np.concatenate([[first[0]], hours[:whole].reshape(-1, group).mean(axis=1), [last[0]]])
        temps = np.concatenate([[first[1]], temps[:whole].reshape(-1, group).mean(axis=1), [last[1]]])
    kept = np.concatenate([[True], np.diff(hours) > 0.0])
    return hours[kept], temps[kept]


def _noise_c(temps: Array) -> float:
    """Standard deviation of single readings, from the bends between neighbours, which a smooth curve hardly has."""
    return float(np.median(np.abs(np.diff(temps, 2)))) / (0.6745 * np.sqrt(6.0)) if len(temps) > 4 else 0.0


def _stretch(hours: Array, temps: Array, low: int, high: int) -> SeenSegment:
    rate = (temps[high] - temps[low]) / (hours[high] - hours[low])
    kind = "hold" if abs(rate) < HOLD_C_PER_H else "ramp" if rate > 0.0 else "fall"
    return SeenSegment(kind, float(hours[low]), float(hours[high]), float(temps[low]), float(temps[high]))


def _met(hours: Array, temps: Array, schedule: Schedule) -> tuple[Met, ...]:
    """Each programmed segment looked for in turn, from where the one before it ended."""
    out, at, before_c, planned_h = [], 0, float(temps[0]), 0.0
    after = [*schedule.segments[1:], None]
    for segment, follows in zip(schedule.segments, after, strict=True):
        rising = segment.target_c > before_c
        planned_h += abs(segment.target_c - before_c) / segment.rate_c_per_h
        there = temps[at:] >= segment.target_c - NEAR_C if rising else temps[at:] <= segment.target_c + NEAR_C
        if not there.any():
            out.append(Met(segment, None, None, None, None, None))
            continue
        got = at + int(np.argmax(there))
        rate = (float(temps[got]) - float(temps[at])) / max(float(hours[got] - hours[at]), 1e-9)
        held = _held_until(temps, got, segment.target_c)
        turns = follows is None or (follows.target_c > segment.target_c) != rising
        until = held if turns else int(np.searchsorted(hours, hours[got] + segment.hold_min / 60.0, side="right")) - 1
        beyond = (temps[got : until + 1] - segment.target_c) * (1.0 if rising else -1.0)
        goes_on = segment.hold_min == 0.0 and not turns
        reached = float(hours[got])
        out.append(
            Met(
                segment,
                rate,
                _held_min(hours[got : held + 1], temps[got : held + 1] - segment.target_c),
                None if goes_on else max(float(beyond.max()), 0.0),
                reached,
                60.0 * (reached - planned_h),
            )
        )
        planned_h += segment.hold_min / 60.0
        at, before_c = held if segment.hold_min > 0.0 else got, segment.target_c
    return tuple(out)


def _held_min(hours: Array, off_c: Array) -> float:
    """Minutes between the first and the last sample close to the target; overshoot between them counts."""
    close = np.flatnonzero(np.abs(off_c) <= HOLD_BAND_C)
    return 60.0 * float(hours[close[-1]] - hours[close[0]]) if len(close) else 0.0


def _held_until(temps: Array, got: int, target_c: float) -> int:
    """The last sample of the first unbroken stretch that is near the target, overshoot included."""
    away = np.abs(temps[got:] - target_c) > 4.0 * NEAR_C
    last_near = got + (int(np.argmax(away)) if away.any() else len(away)) - 1
    near = np.flatnonzero(np.abs(temps[got : last_near + 1] - target_c) <= NEAR_C + 1e-9)
    return got + int(near[-1]) if len(near) else got
