"""A firing as it is programmed: ramps and holds in turn. Rates in °C/h, temperatures in °C, holds in minutes."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.arrhenius import Array
from wareboard.kiln.chart import FORMS
from wareboard.working import Step

HOTTEST_C = 1400.0
FASTEST_C_PER_H = 2000.0


@dataclass(frozen=True, slots=True)
class Notice:
    """Something to look at before firing: what it is, why it matters, the mend; no bar to going on."""

    what: str
    why: str
    mend: str

    def __str__(self) -> str:
        return f"{self.what}: {self.why}. {self.mend}."


@dataclass(frozen=True, slots=True)
class Segment:
    """One ramp to ``target_c`` at ``rate_c_per_h`` (up or down, as the target lies), then a hold of ``hold_min``."""

    rate_c_per_h: float
    target_c: float
    hold_min: float = 0.0
    why: str = ""

    def __post_init__(self) -> None:
        for name, number, least, most in (
            ("rate", self.rate_c_per_h, 1.0, FASTEST_C_PER_H),
            ("target", self.target_c, 0.0, HOTTEST_C),
            ("hold", self.hold_min, 0.0, 6000.0),
        ):
            if not (math.isfinite(number) and least <= number <= most):
                raise OutOfRange(
                    f"{name} of a segment is {number:g}",
                    why=f"it must be a number from {least:g} to {most:g}",
                    mend="Give rates in °C per hour without a sign, targets in °C, holds in minutes",
                )


@dataclass(frozen=True, slots=True)
class Schedule:
    """A firing as programmed, with its working and what to look at; every time is worked out from the segments.

    ``cone`` and ``form`` say what it was solved for (empty if it was written by hand); ``kind`` is bisque or glaze.
    """

    name: str
    segments: tuple[Segment, ...]
    start_c: float = 20.0
    cone: str = ""
    form: str = FORMS[0]
    kind: str = ""
    steps: tuple[Step, ...] = field(default=(), compare=False)
    notices: tuple[Notice, ...] = field(default=(), compare=False)

    def __post_init__(self) -> None:
        if not self.segments:
            raise OutOfRange(f"schedule {self.name!r}", why="it has no segment", mend="Give at least one ramp")
        if not (math.isfinite(self.start_c) and -30.0 <= self.start_c < HOTTEST_C):
            raise OutOfRange(
                f"start of schedule {self.name!r} is {self.start_c:g} °C",
                why="a firing starts between -30 °C and the hottest that a kiln reaches",
                mend="Give the temperature of the kiln when it is switched on",
            )

        if self.peak_c <= self.start_c:
            raise OutOfRange(
                f"schedule {self.name!r} goes nowhere: its hottest target is {self.peak_c:g} °C",
                why=f"it starts at {self.start_c:g} °C",
                mend="Give at least one target above the start",
            )

    @property
    def peak_c(self) -> float:
        """Hottest target, °C."""
        return max(segment.target_c for segment in self.segments)

    @property
    def end_c(self) -> float:
        """Where the program ends and free cooling takes over, °C."""
        return self.segments[-1].target_c

    @property
    def duration_h(self) -> float:
        """From switching on to the end of the last segment that is programmed, h; free cooling comes after it."""
        return float(plot_points(self)[0][-1])

    @property
    def heating_h(self) -> float:
        """From switching on to the end of the hold at the peak, h."""
        return float(heating_points(self)[0][-1])

    @property
    def heating(self) -> Schedule:
        """The schedule as far as the end of the hold at its peak."""
        last = max(at for at, segment in enumerate(self.segments) if segment.target_c == self.peak_c)
        return self if last + 1 == len(self.segments) else replace(self, segments=self.segments[: last + 1])

    @property
    def candle_h(self) -> float:
        """Hold below 120 °C while free water leaves, h."""
        return sum(segment.hold_min for segment in self.segments if segment.target_c <= 120.0) / 60.0


def plot_points(schedule: Schedule) -> tuple[Array, Array]:
    """Corners of the firing curve: (n,) hours from switching on and (n,) °C."""
    hours, temps = [0.0], [schedule.start_c]
    for segment in schedule.segments:
        hours.append(hours[-1] + abs(segment.target_c - temps[-1]) / segment.rate_c_per_h)
        temps.append(segment.target_c)
        if segment.hold_min > 0.0:
            hours.append(hours[-1] + segment.hold_min / 60.0)
            temps.append(segment.target_c)
    return np.asarray(hours), np.asarray(temps)


def heating_points(schedule: Schedule) -> tuple[Array, Array]:
    """The corners up to the end of the last hold at the peak: the part that a cone chart counts."""
    hours, temps = plot_points(schedule)
    last = int(np.flatnonzero(temps == temps.max())[-1]) + 1
    return hours[:last], temps[:last]
