"""Heat work of any firing, read as a cone: time and temperature together, as a cone feels them.

Each cone of the chart is fitted with its own activation energy and frequency (least squares on the printed end points), so a
ramp, a hold or a logged firing can be set against it. What the fit misses at a printed rate is carried as a correction in °C
over the logarithm of the rate, so that a ramp at a printed rate meets the printed end point exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from wareboard.errors import OutOfRange
from wareboard.kiln import chart
from wareboard.kiln.arrhenius import (
    GAS_KJ_PER_MOL_K,
    ZERO_C_K,
    Array,
    fit,
    ln_ramp_integral,
    ramp_end_k,
    scale_k,
)
from wareboard.kiln.figures import firing_figure

STEEP_K = 2.0  # between two samples; gentler stretches are pooled by temperature, steeper ones integrated one by one
BIN_K = 0.05
REACH_K = 400.0  # below the peak by more than this, heat work is under a millionth of the whole
HOTTEST_C = 1600.0
PEAK_BAND_C = 3.0
BEND_STARTS = (
    0.48  # share of the heat work at which a cone first moves: exp(-19.4 K / 26.4 K), kiln-s24 with cone 6's scale
)
UPRIGHT_DEG, DOWN_DEG = 8.0, 90.0
Z_90 = 1.645


@dataclass(frozen=True, slots=True, eq=False)
class Ladder:
    """All cones of one form, softest first, with the fitted constants and what the fit misses at the printed rates."""

    form: str
    cones: tuple[str, ...]
    energy_kj: Array
    ln_a: Array
    ln_rates: tuple[Array, ...]
    misses_k: tuple[Array, ...]

    def place(self, cone: str | float) -> int:
        """Where the cone stands on this ladder; refused by name if it is not on it."""
        return self.cones.index(chart.chart_rows(cone, self.form)[0].cone)

    def miss_k(self, at: int, ln_rate: float) -> float:
        """Printed less fitted end point, K: straight over ln(rate) between printed rates, steady beyond them."""
        return float(np.interp(ln_rate, self.ln_rates[at], self.misses_k[at]))

    def end_k(self, at: int, rate_k_per_h: float) -> float:
        """End point, K, at a steady rate: exact at printed rates, by the heat-work model elsewhere."""
        fitted = float(ramp_end_k(rate_k_per_h, self.energy_kj[at], self.ln_a[at]))
        return fitted + self.miss_k(at, float(np.log(rate_k_per_h)))


@cache
def ladder(form: str = chart.FORMS[0]) -> Ladder:
    """The fitted ladder of cones of one form in the present chart.

    A form that the chart prints at fewer than three rates takes its energies from the self-supporting cone of that number
    (the same material in another shape), and keeps its own end points.

    Raises:
        NotInTable: if the chart has no cones of that form.
    """
    names = chart.cones(form)
    printed = [chart.chart_rows(name, form) for name in names]
    rates = sorted({row.rate_c_per_h for each in printed for row in each})
    grid = np.full((len(names), len(rates)), np.nan)
    for line, each in enumerate(printed):
        for row in each:
            grid[line, rates.index(row.rate_c_per_h)] = row.temp_c + ZERO_C_K
    rate_grid = np.broadcast_to(np.asarray(rates), grid.shape)
    energy, ln_a = (
        _fitted(rate_grid, grid) if len(rates) >= 3 else fit(rate_grid, grid, _borrowed_energies(names, form))
    )
    missed = grid - ramp_end_k(rate_grid, energy[:, None], ln_a[:, None], 1300.0)
    known = [np.isfinite(line) for line in grid]
    return Ladder(
        form,
        names,
        energy,
        ln_a,
        tuple(np.log(np.asarray(rates))[each] for each in known),
        tuple(line[each] for line, each in zip(missed, known, strict=True)),
    )


def _fitted(rate_grid: Array, grid: Array) -> tuple[Array, Array]:
    """Energies and ln A, with the softest cones, printed at two rates only, given the middle energy of the next five.

    Two rates leave the slope of one cone to rounding and chance: by its own two rows cone 022 would end above 021 in a slow
    firing.
    """
    full = np.isfinite(grid).all(axis=1)
    energy, _ = fit(rate_grid[full], grid[full])
    held = np.full(len(grid), float(np.median(energy[:5])))
    held[full] = energy
    return fit(rate_grid, grid, held)


def _borrowed_energies(names: tuple[str, ...], form: str) -> Array:
    whole = ladder(chart.FORMS[3] if form.endswith("iron-free") else chart.FORMS[0])
    return np.asarray([whole.energy_kj[whole.cones.index(name)] if name in whole.cones else np.nan for name in names])


@dataclass(frozen=True, slots=True, eq=False)
class Dwell:
    """A firing with its order forgotten, which heat work does not feel: hours spent at each temperature, K."""

    temps_k: Array
    hours: Array
    steep_from_k: Array
    steep_to_k: Array
    steep_hours: Array
    peak_k: float

    def work_h(self, energy_kj: Array) -> Array:
        """∫ exp(-E/RT + E/RT_peak) dt in h for each energy: heat work freed of its frequency and of the peak's power."""
        energy = np.asarray(energy_kj, dtype=np.float64)[:, None]
        at_peak = energy / (GAS_KJ_PER_MOL_K * self.peak_k)
        pooled = np.exp(at_peak - energy / (GAS_KJ_PER_MOL_K * self.temps_k)) @ self.hours
        if not len(self.steep_hours):
            return np.asarray(pooled)
        # Exact on a straight stretch: the integral to its top less the integral to its foot, over its slope.
        top = np.exp(ln_ramp_integral(self.steep_to_k, energy) + at_peak)
        foot = np.exp(ln_ramp_integral(self.steep_from_k, energy) + at_peak)
        slope = (self.steep_to_k - self.steep_from_k) / self.steep_hours
        return np.asarray(pooled + np.sum((top - foot) / slope, axis=1))


def dwell(times_s: ArrayLike, temps_c: ArrayLike) -> Dwell:
    """A logged or planned firing as hours at each temperature, straight between the samples.

    Args:
        times_s: (n,) seconds, never falling; left alone.
        temps_c: (n,) °C; left alone.
    Raises:
        OutOfRange: if a number is missing, time runs back, or a temperature is none that a kiln has.
    """
    times, temps = _checked(times_s, temps_c)
    peak_c = float(temps.max())
    hours, step = np.diff(times) / 3600.0, np.diff(temps)
    felt = (hours > 0.0) & (np.maximum(temps[:-1], temps[1:]) > peak_c - REACH_K)
    steep = felt & (np.abs(step) > STEEP_K)
    gentle = felt & ~steep
    middle, half = (temps[:-1] + 0.5 * step)[gentle], (step[gentle]) / np.sqrt(12.0)
    # Two Gauss points on each gentle stretch, pooled by temperature: the mean within a bin keeps the pooling exact to
    # second order, some 1e-7 of the whole.
    points, weights = np.concatenate([middle - half, middle + half]), np.tile(0.5 * hours[gentle], 2)
    pooled, pooled_hours = np.empty(0, dtype=np.float64), np.empty(0, dtype=np.float64)
    if len(points):
        slot = ((points - (peak_c - REACH_K - STEEP_K)) / BIN_K).astype(np.intp)
        time_in: Array = np.bincount(slot, weights).astype(np.float64)
        mean = np.bincount(slot, weights * (points - peak_c))
        kept = time_in > 0.0
        pooled, pooled_hours = mean[kept] / time_in[kept] + peak_c, time_in[kept]
    return Dwell(
        pooled + ZERO_C_K,
        pooled_hours,
        temps[:-1][steep] + ZERO_C_K,
        temps[1:][steep] + ZERO_C_K,
        hours[steep],
        peak_c + ZERO_C_K,
    )


def _checked(times_s: ArrayLike, temps_c: ArrayLike) -> tuple[Array, Array]:
    times, temps = np.asarray(times_s, dtype=np.float64), np.asarray(temps_c, dtype=np.float64)
    if times.ndim != 1 or times.shape != temps.shape or len(times) < 2:
        raise OutOfRange(
            f"a firing of {times.shape} times and {temps.shape} temperatures",
            why="it needs one temperature for each time, and at least two of them",
            mend="Give two plain lists of the same length; of several thermocouples give one at a time",
        )
    if not (np.isfinite(times).all() and np.isfinite(temps).all()):
        at = int(np.argmin(np.isfinite(times) & np.isfinite(temps)))
        raise OutOfRange(
            f"sample {at + 1} of the firing is {temps[at]:g} °C at {times[at]:g} s",
            why="heat work cannot be summed over a missing number",
            mend="Leave such samples out",
        )
    if (np.diff(times) < 0.0).any():
        at = int(np.argmax(np.diff(times) < 0.0))
        raise OutOfRange(
            f"time runs back after sample {at + 1} of the firing, from {times[at]:g} s to {times[at + 1]:g} s",
            why="heat work is summed forward in time",
            mend="Sort the samples, or cut the log where the clock was reset",
        )
    if temps.min() < -100.0 or temps.max() > HOTTEST_C:
        odd = float(temps.min() if temps.min() < -100.0 else temps.max())
        raise OutOfRange(
            f"a temperature of {odd:g} °C in the firing",
            why=f"cones and kilns lie between room temperature and {HOTTEST_C:g} °C",
            mend="Check the unit (°F read as °C?) and the thermocouple",
        )
    return times, temps


def ln_work(history: Dwell, steps: Ladder) -> Array:
    """(cones,) ln of heat work for each cone of a ladder, 0 where the firing brings the cone just down.

    The firing is also the same as a ramp to its peak at one steady rate, and the correction to the printed end points is
    taken at that rate.
    """
    peak = np.full(len(steps.cones), history.peak_k)
    felt_h = np.maximum(history.work_h(steps.energy_kj), 1e-300)
    ln_felt = np.log(felt_h) - steps.energy_kj / (GAS_KJ_PER_MOL_K * history.peak_k)
    ln_to_peak = ln_ramp_integral(peak, steps.energy_kj)
    ln_rate = ln_to_peak - ln_felt
    misses = np.asarray([steps.miss_k(at, float(rate)) for at, rate in enumerate(ln_rate)])
    return np.asarray(ln_felt + steps.ln_a + ln_ramp_integral(peak - misses, steps.energy_kj) - ln_to_peak)


def ln_work_of(cone: str | float, times_s: ArrayLike, temps_c: ArrayLike, form: str = chart.FORMS[0]) -> float:
    """ln of the heat work that one cone has felt: 0 when it is just down, negative before that."""
    whole = ladder(form)
    at = whole.place(cone)
    one = Ladder(
        form,
        (whole.cones[at],),
        whole.energy_kj[at : at + 1],
        whole.ln_a[at : at + 1],
        whole.ln_rates[at : at + 1],
        whole.misses_k[at : at + 1],
    )
    return float(ln_work(dwell(times_s, temps_c), one)[0])


def bend_deg(ln_work_felt: float) -> float:
    """How far a cone leans from upright, degrees: 8 as it was set, 90 when its tip is level with its base.

    A cone past its end lies at 90 and tells nothing more. The lean grows straight with heat work from the first movement:
    this meets a spread of 35 °F from first movement to end, and the last third of the arc in the last quarter of the rise.
    Source: kiln-s24; the straight law between is ours.
    """
    share = (np.exp(min(ln_work_felt, 0.0)) - BEND_STARTS) / (1.0 - BEND_STARTS)
    return float(UPRIGHT_DEG + (DOWN_DEG - UPRIGHT_DEG) * min(max(share, 0.0), 1.0))


@dataclass(frozen=True, slots=True)
class HeatWork:
    """What a firing comes to in cones, 90 % range included.

    ``cone`` is the nearest whole cone and ``position`` the place between cones, counted as `chart.cone_order` counts: 6.3
    is three tenths of the way from 6 to 7, 0 is cone 01, -3 is cone 04. ``low`` and ``high`` are positions that hold nine
    in ten, for the model and for the thermocouple. ``off_scale`` is "below" or "above" where the chart ends first.
    """

    cone: str
    position: float
    low: float
    high: float
    peak_c: float
    form: str
    edition: str
    off_scale: str
    cones: tuple[str, ...]
    ln_works: tuple[float, ...]

    @property
    def words(self) -> str:
        """The heat work in the potter's words, such as "cone 6 and 0.3 of the way to 7"."""
        if self.off_scale:
            return f"{self.off_scale} cone {self.cone}"
        whole = [name for name in self.cones if "." not in name]
        foot, share = _floor(whole, self.position)
        if share >= 0.95 and foot + 1 < len(whole):
            return f"cone {whole[foot + 1]}"
        if share < 0.05 or foot + 1 >= len(whole):
            return f"cone {whole[foot]}"
        return f"cone {whole[foot]} and {share:.1f} of the way to {whole[foot + 1]}"

    def ln_work(self, cone: str | float) -> float:
        """ln of the heat work that this cone has felt; 0 is just down."""
        return self.ln_works[self.cones.index(chart.chart_rows(cone, self.form)[0].cone)]

    def bend(self, cone: str | float) -> float:
        """How far that cone leans after this firing, degrees from upright, 8 to 90."""
        return bend_deg(self.ln_work(cone))


def _floor(whole: list[str], position: float) -> tuple[int, float]:
    """The cone at or under a position, and the share of the way to the next."""
    orders = np.asarray([chart.cone_order(name) for name in whole])
    at = int(np.clip(np.searchsorted(orders, position + 1e-9, side="right") - 1, 0, len(whole) - 1))
    reach = orders[at + 1] - orders[at] if at + 1 < len(whole) else 1.0
    return at, float((position - orders[at]) / reach)


def position_of(ln_works: Array, whole: list[str]) -> tuple[float, str]:
    """Position among whole cones at which ln of heat work is 0, and "below" or "above" where the chart ends first."""
    down = np.flatnonzero(ln_works >= 0.0)
    if not len(down):
        return chart.cone_order(whole[0]), "below"
    at = int(down[-1])
    foot = chart.cone_order(whole[at])
    if at + 1 == len(whole):
        return foot, "above" if ln_works[at] > 0.05 else ""
    share = ln_works[at] / (ln_works[at] - ln_works[at + 1])
    return foot + float(share) * (chart.cone_order(whole[at + 1]) - foot), ""


def _to_end_of_hold(times: Array, temps: Array) -> tuple[Array, Array]:
    last = int(np.flatnonzero(temps >= temps.max() - PEAK_BAND_C)[-1]) + 1
    return times[: max(last, 2)], temps[: max(last, 2)]


def equivalent(
    times_s: ArrayLike,
    temps_c: ArrayLike,
    form: str = chart.FORMS[0],
    thermocouple_c: float | None = None,
    to_end_of_hold: bool = False,
) -> HeatWork:
    """The cone that a firing comes to: every ramp, hold and fall that was recorded, by heat work.

    A cone that is looked at after the firing has felt the fall from the peak too, some third of a cone in a kiln that falls
    by 200 °C/h; the chart counts to the end point and a schedule to the end of its hold.

    Args:
        times_s: (n,) seconds, never falling; left alone.
        temps_c: (n,) °C, where the cone stands; left alone.
        form: form of the cones, as the chart names it.
        thermocouple_c: half width of the 90 % range of the reading, °C; by default that of a new thermocouple.
        to_end_of_hold: count only to the last sample within 3 °C of the peak, as the chart and the schedules count.
    Raises:
        OutOfRange: as `dwell`.
        NotInTable: if the form is not in the chart.
    Source: heat work by Arrhenius, fitted to the cone chart; thermocouple from reference/kiln/firing.csv.
    """
    if thermocouple_c is not None and not 0.0 <= thermocouple_c <= 100.0:
        raise OutOfRange(
            f"thermocouple_c is {thermocouple_c:g}",
            why="it is the half width of what the thermocouple may be off by, from 0 to 100 °C",
            mend="Give it in °C",
        )
    if to_end_of_hold:
        times_s, temps_c = _to_end_of_hold(*_checked(times_s, temps_c))
    steps, history = ladder(form), dwell(times_s, temps_c)
    felt = ln_work(history, steps)
    sensor = firing_figure("thermocouple_new").high if thermocouple_c is None else thermocouple_c
    model = firing_figure("model_between_rates").value * Z_90
    apart_c = float(np.hypot(sensor, model))
    chosen = [at for at, name in enumerate(steps.cones) if "." not in name]
    whole = [steps.cones[at] for at in chosen]
    width = apart_c / scale_k(np.full(len(chosen), history.peak_k), steps.energy_kj[chosen])
    middle, off = position_of(felt[chosen], whole)
    low, high = position_of(felt[chosen] - width, whole)[0], position_of(felt[chosen] + width, whole)[0]
    orders = np.asarray([chart.cone_order(name) for name in whole])
    nearest = whole[int(np.argmin(np.abs(orders - middle)))]
    peak_c = history.peak_k - ZERO_C_K
    listed = tuple(float(each) for each in felt)
    return HeatWork(nearest, middle, low, high, peak_c, form, chart.PRESENT, off, steps.cones, listed)
