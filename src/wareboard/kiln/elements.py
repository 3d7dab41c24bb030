"""Element wear, told from firings: how far the resistance has risen, what power is left, and when the kiln falls behind.

Elements age by a rise of resistance, and power goes as V²/R. A kiln that follows its program hides that: it makes up with
longer spells of full power, so hours and kWh tell of wear only once the kiln is late. Ohms tell from the first firing on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange
from wareboard.kiln.figures import firing_figure
from wareboard.kiln.heat_work import Z_90
from wareboard.kiln.segment import Schedule, heating_points
from wareboard.kiln.thermal import KilnModel, simulate
from wareboard.kiln.wear_line import LEAST_FIRINGS, Forecast, Line, crossing, line_through
from wareboard.kiln.witness import Trend, trend
from wareboard.working import Estimate, Step, per_cent

Array = NDArray[np.float64]
CAUTION = "Have an electrician isolate the kiln before anyone measures ohms or changes elements"
BEHIND_SHARE = 1.05  # hours or kWh above those of a kiln that keeps pace by more than this are a sign of wear
STEP_S = 180.0
NEAR_PEAK_C = 3.0  # the hottest sample of a noisy hold may be its last, so the rise is counted to within this of it
MEASURES = (
    ("resistance_ohm", "resistance", "ohm"),
    ("last_100_h", "hours over the last 100 °C", "h"),
    ("kwh", "energy of a firing", "kWh"),
)


@dataclass(frozen=True, slots=True)
class ElementFiring:
    """One firing as it tells of the elements; what was not measured is None.

    ``number`` counts firings since the elements were new; ``last_100_h`` as `hours_near_the_top` gives it; ``kwh`` by the
    meter over the whole firing; ``resistance_ohm`` measured cold, whole kiln or one element, always the same.
    """

    number: int
    last_100_h: float | None = None
    kwh: float | None = None
    resistance_ohm: float | None = None

    def __post_init__(self) -> None:
        for name, number in (("number", self.number), *((key, getattr(self, key)) for key, _, _ in MEASURES)):
            if number is not None and not (math.isfinite(number) and number > 0.0):
                raise OutOfRange(
                    f"{name} of firing {self.number} is {number:g}",
                    why="it must be a number above zero",
                    mend="Count firings from 1 since the elements were new; leave out what was not measured",
                )


def hours_near_the_top(times_s: ArrayLike, temps_c: ArrayLike) -> float:
    """Hours of rise from 100 °C under the hottest sample to within 3 °C of it, whatever hold follows.

    Straight between samples. `log_review.review` counts to the hottest sample itself, which in a hold is anywhere in it, so
    that a longer hold would look like wear.

    Args:
        times_s: (n,) seconds, rising; temps_c: (n,) °C of one thermocouple, spikes left out. Both are left alone.
    Raises:
        OutOfRange: if the firing does not rise by 100 °C.
    """
    times, temps = np.asarray(times_s, dtype=np.float64), np.asarray(temps_c, dtype=np.float64)
    if times.shape != temps.shape or not len(times) or not temps.max() - temps[0] >= 100.0:
        raise OutOfRange(
            "hours over the last 100 °C",
            why="the log does not rise by as much",
            mend="Give one thermocouple of a firing",
        )
    marks = []
    for mark_c in (temps.max() - 100.0, temps.max() - NEAR_PEAK_C):
        at = max(int(np.argmax(temps >= mark_c)), 1)
        marks.append(float(np.interp(mark_c, temps[at - 1 : at + 1], times[at - 1 : at + 1])))
    return (marks[1] - marks[0]) / 3600.0


def power_left(rise: float) -> float:
    """Share of its new power that an element gives after its resistance rose by ``rise`` (fraction, from 0 up).

    Raises:
        OutOfRange: if the rise is not a finite number from 0 up.
    Source: P = V²/R. A rise of 10 % leaves 90.9 %.
    """
    if not (math.isfinite(rise) and rise >= 0.0):
        raise OutOfRange(f"rise is {rise:g}", why="elements age by a rise from 0 up", mend="Write 10 % as 0.10")
    return 1.0 / (1.0 + rise)


@dataclass(frozen=True, slots=True)
class WearLimits:
    """Rises of resistance, as fractions: where the kiln falls behind its last ramp, and where it stalls under the peak."""

    needed_kw: float
    falls_behind: Estimate
    stalls: Estimate
    steps: tuple[Step, ...]


def wear_limits(kiln: KilnModel, schedule: Schedule, loss_spread: float | None = None) -> WearLimits:
    """How far the elements of this kiln, with this load, may wear before this schedule asks too much of them.

    Args:
        kiln: kiln and load; its own ``wear`` is left out of account. Best fitted to a log first (`kiln.calibrate`).
        schedule: what is to be fired.
        loss_spread: standard deviation of the kiln's losses, fraction; by default what walls of one make differ by, which is
            wide: a kiln fitted to its own log is known to 0.01 to 0.03 (`kiln.calibrate` gives the 90 % range of it).
    Raises:
        OutOfRange: for a spread outside 0 to 0.3.
    Source: energy balance of `kiln.thermal`; walls differ by 7.4 % (one standard deviation), kiln-p31.
    """
    spread = firing_figure("wall_loss_spread").high if loss_spread is None else loss_spread
    if not 0.0 <= spread <= 0.3:
        raise OutOfRange(f"loss_spread is {spread:g}", why="losses are known to 0 to 0.3", mend="Write 3 % as 0.03")
    ample = replace(kiln, wear=0.0, voltage=1.0, power_kw=500.0)
    fired = simulate(ample, schedule, cool_to_c=None, step_s=STEP_S)
    there = int(np.argmax(fired.chamber_c >= schedule.peak_c - 1.0))
    near = fired.chamber_c[: there + 1] >= schedule.peak_c - 25.0
    needed, lost = float(fired.power_kw[: there + 1][near].max()), kiln.loss_kw(schedule.peak_c)
    new_kw, doubt = replace(kiln, wear=0.0).full_kw, Z_90 * spread * lost
    demand = Step(
        "power to keep the rate up to the peak",
        "",
        {"peak_c": schedule.peak_c, "wall_and_leak_kw": lost},
        needed,
        "kiln-p31" if loss_spread is None else "own records",
        "kW",
        needed - doubt,
        needed + doubt,
        how="the heat of ware, shelves and wall followed through the schedule; the range is that of wall materials",
        key="needed_kw",
    )
    behind = _limit("rise of resistance at which the kiln falls behind", "needed_kw", new_kw, needed, doubt)
    stall = _limit("rise of resistance at which the kiln stalls under its peak", "lost_kw", new_kw, lost, doubt)
    marks = [Estimate(s.value, s.low or 0.0, s.high or 0.0, s.source) for s in (behind, stall)]
    return WearLimits(needed, marks[0], marks[1], (demand, behind, stall))


def _limit(name: str, what: str, new_kw: float, kw: float, doubt: float) -> Step:
    inputs = {"new_kw": new_kw, what: kw}
    low, high = new_kw / (kw + doubt) - 1.0, new_kw / (kw - doubt) - 1.0
    return Step(name, f"new_kw / {what} - 1", inputs, new_kw / kw - 1.0, "derived", "", low, high)


@dataclass(frozen=True, slots=True)
class ElementWear:
    """What the firings tell of the elements: which figure told, its trend, rise and power left, and the forecasts.

    Whatever could not be told is None, and ``words`` says why. ``caution`` belongs beside any of it that is shown.
    """

    measure: str
    firings: int
    trend: Trend | None
    rise: Estimate | None
    power_left: Estimate | None
    limits: WearLimits
    falls_behind: Forecast | None
    stalls: Forecast | None
    words: tuple[str, ...]
    steps: tuple[Step, ...]
    caution: str = CAUTION


def element_wear(
    firings: Sequence[ElementFiring],
    kiln: KilnModel,
    schedule: Schedule,
    new_ohm: float | None = None,
    firings_a_week: float | None = None,
    today: date | None = None,
    loss_spread: float | None = None,
) -> ElementWear:
    """Wear of the elements from firings, with the firing at which the kiln can no longer keep this schedule to its cone.

    Resistance is believed first, then hours over the last 100 °C, then kWh; the last two through the kiln model, and only
    for firings in which the kiln was late.

    Args:
        firings: in any order; at least four with one and the same figure.
        kiln, schedule: the kiln with its load, and what is to be fired.
        new_ohm: resistance when new; by default the earliest measured, which makes the rise a least one.
        firings_a_week, today: given both, the forecast has days too.
        loss_spread: as `wear_limits`.
    Raises:
        OutOfRange: for a resistance or firings a week that are not above zero.
    Source: P = V²/R; life of 100 to 200 firings, kiln-elements-plume; line and ranges, Student's t.
    """
    for name, number in (("new_ohm", new_ohm), ("firings_a_week", firings_a_week)):
        if number is not None and not (math.isfinite(number) and number > 0.0):
            raise OutOfRange(
                f"{name} is {number:g}", why="it must be a number above zero", mend="Leave it out, or measure"
            )
    limits = wear_limits(kiln, schedule, loss_spread)
    ordered = sorted(firings, key=lambda each: each.number)
    told = {key: [each for each in ordered if getattr(each, key) is not None] for key, _, _ in MEASURES}
    chosen = next((mark for mark in MEASURES if len(told[mark[0]]) >= LEAST_FIRINGS), None)
    if chosen is None:
        return _too_few(max(len(each) for each in told.values()), limits)
    key, what, unit = chosen
    numbers = [float(each.number) for each in told[key]]
    values = [float(getattr(each, key)) for each in told[key]]
    drift = _drift(numbers, values, what, unit)
    if key == "resistance_ohm":
        base = new_ohm or values[0]
        rises, kept, lead = [value / base - 1.0 for value in values], numbers, []
        if new_ohm is None:
            lead = [
                f"The {base:g} ohm of firing {numbers[0]:.0f} are taken as new; what was lost before is not counted"
            ]
    else:
        kept, rises = _rises_of_late_firings(key, numbers, values, kiln, schedule, limits)
        lead = ["Through the kiln model: only as good as its fit to a log"]
    if len(kept) < LEAST_FIRINGS:
        keeps = f"The kiln keeps pace, so {what} tell no more than a rise under {per_cent(limits.falls_behind.value)}"
        return ElementWear(
            what,
            len(numbers),
            drift,
            None,
            None,
            limits,
            None,
            None,
            (drift.words, keeps, "Ohms would tell"),
            limits.steps,
        )
    line = line_through(kept, rises)
    week = (firings_a_week, today, numbers[-1])
    behind, stalls = (_forecast(line, limit, *week) for limit in (limits.falls_behind, limits.stalls))
    rise, left, steps = _now(line, kept[-1], what)
    words = (drift.words, *lead, *_said(limits, behind, stalls, left, kept[-1]))
    steps = (*limits.steps, *steps, *_forecast_step(line, limits.falls_behind, behind))
    return ElementWear(what, len(numbers), drift, rise, left, limits, behind, stalls, words, steps)


def _too_few(count: int, limits: WearLimits) -> ElementWear:
    life = firing_figure("element_life")
    words = (
        f"Not enough firings: {count} with one and the same figure, and a forecast needs {LEAST_FIRINGS}",
        f"Until then count on {life.value:g} firings for a set ({life.low:g} to {life.high:g})",
    )
    return ElementWear("", count, None, None, None, limits, None, None, words, limits.steps)


def _drift(numbers: list[float], values: list[float], what: str, unit: str) -> Trend:
    """The trend a firing, which `witness.trend` gives where every firing was recorded, and the line where some were not."""
    told = trend(values, what, unit)
    if np.all(np.diff(numbers) == 1.0):
        return told
    line = line_through(numbers, values)
    half = float(line.half(line.middle, one_more=False)) * math.sqrt(line.count / line.spread_sq)
    way = "rising" if line.slope > 0.0 else "falling"
    span = f"over firings {numbers[0]:.0f} to {numbers[-1]:.0f}"
    seen = abs(line.slope) > half
    words = f"{what}: {way} by {abs(line.slope):.2g} {unit} a firing {span}" if seen else f"{what}: no drift {span}"
    return Trend(line.slope, line.slope - half, line.slope + half, line.count, words)


def _rises_of_late_firings(
    key: str, numbers: list[float], values: list[float], kiln: KilnModel, schedule: Schedule, limits: WearLimits
) -> tuple[list[float], list[float]]:
    """Firings in which the kiln was late, and the rise of resistance at which the model is as late."""
    pace, stall = max(limits.falls_behind.value, 0.0), limits.stalls.value
    if stall <= pace:
        return [], []
    wears = np.linspace(pace, pace + 0.9 * (stall - pace), 7)
    modelled = np.asarray([_modelled(key, replace(kiln, wear=float(wear)), schedule) for wear in wears])
    reached = np.isfinite(modelled)
    wears, curve = wears[reached], np.maximum.accumulate(modelled[reached])
    if not len(curve):
        return [], []
    hours, temps = heating_points(schedule)
    programmed_h = hours_near_the_top(3600.0 * hours, temps) if key == "last_100_h" else 0.0
    most = BEHIND_SHARE * max(float(curve[0]), programmed_h)
    late = [(n, v) for n, v in zip(numbers, values, strict=True) if v > most]
    rises = [float(np.interp(value, curve, wears)) for _, value in late]
    return [number for number, _ in late], rises


def _modelled(key: str, kiln: KilnModel, schedule: Schedule) -> float:
    fired = simulate(kiln, schedule, cool_to_c=None, step_s=STEP_S)
    if not fired.reached:
        return math.inf
    if key == "kwh":
        return fired.put_in_kwh
    return hours_near_the_top(fired.times_s, fired.chamber_c)


def _forecast(line: Line, limit: Estimate, a_week: float | None, today: date | None, last: float) -> Forecast | None:
    found = crossing(line, limit) if limit.value > 0.0 else None  # under zero it could not keep pace when new
    if found is None:
        return None
    number, low, high = found
    if number > last:  # what still lies ahead was not met by the last firing, or the potter would have seen it
        low = max(low, last)
    if a_week is None or today is None:
        return Forecast(number, low, high)

    def day(firing: float | None) -> date | None:
        return (
            None
            if firing is None or number <= last
            else today + timedelta(days=math.floor(7.0 * max(firing - last, 0.0) / a_week))
        )

    return Forecast(number, low, high, day(number), day(low), day(high))


def _now(line: Line, last: float, what: str) -> tuple[Estimate, Estimate, tuple[Step, ...]]:
    """Rise and power left at the last firing, by the line."""
    middle, half = float(line.at(last)), float(line.half(last, one_more=False))
    inputs = {"height": line.height, "slope": line.slope, "last_firing": last, "middle_firing": line.middle}
    formula = "height + slope * (last_firing - middle_firing)"
    rise = Step(
        f"rise of resistance by now, from {what}",
        formula,
        inputs,
        middle,
        "own records",
        "",
        middle - half,
        middle + half,
    )
    left = 1.0 / (1.0 + middle)
    low, high = 1.0 / (1.0 + middle + half), 1.0 / (1.0 + middle - half)
    share = Step(
        "share of new power left",
        "1 / (1 + rise)",
        {"rise": middle},
        left,
        "definition",
        "",
        low,
        high,
        key="power_left",
    )
    own = "own records"
    return Estimate(middle, middle - half, middle + half, own), Estimate(left, low, high, own), (rise, share)


def _forecast_step(line: Line, limit: Estimate, behind: Forecast | None) -> tuple[Step, ...]:
    if behind is None:
        return ()
    inputs = {"limit": limit.value, "height": line.height, "slope": line.slope, "middle_firing": line.middle}
    formula = "middle_firing + (limit - height) / slope"
    name = "firing at which the kiln falls behind"
    return (Step(name, formula, inputs, behind.firing, "own records", "", behind.low, behind.high, key="falls_behind"),)


def _said(
    limits: WearLimits, behind: Forecast | None, stalls: Forecast | None, left: Estimate, last: float
) -> tuple[str, ...]:
    lines = [f"{per_cent(left.value)} of new power is left ({per_cent(left.low)} to {per_cent(left.high)})"]
    if limits.falls_behind.value <= 0.0:
        lines.append(
            "By the model this kiln could not keep this schedule to its cone even when new: look at power, wall and load, "
            "or fit the model to a log"
        )
    elif behind is None:
        lines.append("No wear that would end anything within a thousand firings can be seen")
    elif behind.firing <= last:
        lines.append(f"The kiln has been too weak to keep this schedule to its cone since {behind.words}")
    else:
        lines.append(f"The kiln can no longer keep this schedule to its cone from {behind.words}")
    if stalls is not None:
        lines.append(f"It stalls under its peak from {stalls.words}")
    return tuple(lines)
