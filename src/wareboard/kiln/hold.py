"""A hold at the top of a firing traded for height, at equal heat work."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wareboard.errors import OutOfRange
from wareboard.kiln.chart import FORMS, cone_name
from wareboard.kiln.cone import end_point_c, reading
from wareboard.kiln.figures import firing_figure
from wareboard.kiln.heat_work import ln_work_of
from wareboard.working import Step


@dataclass(frozen=True, slots=True)
class HoldTrade:
    """A hold at the top traded for height: ``peak_c`` with ``hold_min`` does the work of ``peak_without_hold_c`` without.

    ``low_c`` and ``high_c`` hold nine in ten for the peak: the model and common practice differ by up to 15 °C over half
    an hour.
    """

    cone: str
    rate_c_per_h: float
    hold_min: float
    peak_c: float
    low_c: float
    high_c: float
    peak_without_hold_c: float
    steps: tuple[Step, ...]

    @property
    def lower_by_c(self) -> float:
        """How much lower the peak may be for the hold, °C (kelvins of difference)."""
        return self.peak_without_hold_c - self.peak_c


def peak_for_hold(
    cone: str | float, hold_min: float, rate_c_per_h: float = 60.0, form: str = FORMS[0], start_c: float = 20.0
) -> HoldTrade:
    """The peak, °C, which with a hold brings the cone just down after a steady ramp.

    Args:
        cone, form: as `kiln.cone.end_point_c`.
        hold_min: hold at the peak, 0 to 600 min.
        rate_c_per_h: rate of the last ramp, 5 to 600 °C/h.
    Raises:
        OutOfRange: for a hold or rate outside these.
    Source: heat work by Arrhenius; hold equivalence agrees with common practice within 15 °C for 30 min.
    """
    if not (math.isfinite(hold_min) and 0.0 <= hold_min <= 600.0):
        raise OutOfRange(
            f"hold is {hold_min:g} min",
            why="the heat-work model is trusted for holds up to ten hours",
            mend="Give a hold from 0 to 600 min",
        )
    end = reading(cone, rate_c_per_h, form)
    peak_c = end.temp_c
    for _ in range(20):
        ramp_s = (peak_c - start_c) / rate_c_per_h * 3600.0
        felt = ln_work_of(cone, [0.0, ramp_s, ramp_s + hold_min * 60.0], [start_c, peak_c, peak_c], form)
        peak_c -= 20.0 * felt  # heat work grows e-fold in some 20 °C; the step need only shrink
        if abs(felt) < 1e-7:
            break
    lower_c = end.temp_c - peak_c
    apart_c = min(firing_figure("hold_practice").high, 0.75 * lower_c)
    low_c, high_c = (
        peak_c - math.hypot(apart_c, end.temp_c - end.low_c),
        peak_c + math.hypot(apart_c, end.high_c - end.temp_c),
    )
    steps = (
        *end.steps,
        Step(
            f"a hold of {hold_min:g} min is worth",
            "",
            {"hold_min": hold_min, "rate_c_per_h": rate_c_per_h},
            lower_c,
            "derived",
            "°C",
            lower_c - apart_c,
            lower_c + apart_c,
            how="equal heat work by Arrhenius; common practice gives such a hold less, hence the range",
            key="hold_worth_c",
        ),
        Step(
            "peak with this hold",
            "end_point_c - hold_worth_c",
            {"end_point_c": end.temp_c, "hold_worth_c": lower_c},
            peak_c,
            "derived",
            "°C",
            low_c,
            high_c,
            key="peak_c",
        ),
    )
    return HoldTrade(end.cone, rate_c_per_h, hold_min, peak_c, low_c, high_c, end.temp_c, steps)


def hold_for_peak(
    cone: str | float, peak_c: float, rate_c_per_h: float = 60.0, form: str = FORMS[0], start_c: float = 20.0
) -> HoldTrade:
    """The hold which at a given peak brings the cone just down: `peak_for_hold` the other way about.

    Raises:
        OutOfRange: if the peak alone brings the cone down, or no hold of ten hours would.
    """
    end_c = end_point_c(cone, rate_c_per_h, form)
    if peak_c > end_c + 0.5:
        raise OutOfRange(
            f"peak of {peak_c:g} °C for cone {cone_name(cone)}",
            why=f"at {rate_c_per_h:g} °C/h the cone is down at {end_c:.0f} °C without any hold",
            mend="Lower the peak, or choose a harder cone",
        )
    low_min, high_min = 0.0, 600.0
    if peak_for_hold(cone, high_min, rate_c_per_h, form, start_c).peak_c > peak_c:
        raise OutOfRange(
            f"peak of {peak_c:g} °C for cone {cone_name(cone)}",
            why="ten hours at that heat would not bring the cone down",
            mend="Raise the peak, or choose a softer cone",
        )
    for _ in range(40):
        middle = 0.5 * (low_min + high_min)
        enough = peak_for_hold(cone, middle, rate_c_per_h, form, start_c).peak_c <= peak_c
        low_min, high_min = (low_min, middle) if enough else (middle, high_min)
    return peak_for_hold(cone, high_min, rate_c_per_h, form, start_c)
