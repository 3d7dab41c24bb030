"""Bisque and glaze schedules from published rates, whose last ramp and hold are solved to bring a cone just down.

The heat work of a schedule is counted to the end of the hold at its peak, as the cone chart counts it; a kiln that falls
slowly from the peak adds a little more. Rates by wall thickness are limits of the trade (steam and gas set them) and are not
derived from stress.
"""

from __future__ import annotations

import math
from dataclasses import replace

from wareboard.errors import OutOfRange
from wareboard.kiln.chart import FORMS
from wareboard.kiln.figures import Figure, firing_figure
from wareboard.kiln.heat_work import ln_work_of
from wareboard.kiln.hold import HoldTrade, hold_for_peak, peak_for_hold
from wareboard.kiln.schedule_check import HEAVY_MM, schedule_notices
from wareboard.kiln.schedule_plot import schedule_csv, schedule_svg
from wareboard.kiln.segment import Notice, Schedule, Segment, heating_points, plot_points
from wareboard.kiln.wall import wall_rate
from wareboard.working import Step

__all__ = [
    "HoldTrade",
    "Notice",
    "Schedule",
    "Segment",
    "bisque_schedule",
    "glaze_schedule",
    "heating_points",
    "hold_for_peak",
    "peak_for_hold",
    "plot_points",
    "schedule_csv",
    "schedule_notices",
    "schedule_svg",
    "wall_rate",
]
LAST_RAMP_C = 100.0
LOW_STAGE_C = 600.0


def bisque_schedule(
    cone: str | float = "04",
    thickest_mm: float = 6.0,
    candle_h: float | None = None,
    hold_min: float = 0.0,
    form: str = FORMS[0],
    start_c: float = 20.0,
) -> Schedule:
    """A bisque schedule: candle, slow to 600 °C by wall thickness, burn-out, and a last ramp solved for the cone.

    Args:
        cone, form: as `kiln.cone.end_point_c`.
        thickest_mm: thickest place in the load, 1 to 60 mm.
        candle_h: hold below boiling, 0 to 24 h; by default 0.5 h up to 5 mm of wall, rising to 3 h at 25 mm.
        hold_min: hold at the peak.
        start_c: kiln when it is switched on.
    Raises:
        OutOfRange, NotInTable: as the arguments say.
    Source: kiln-p16, kiln-p17, kiln-p18 for rates and candle; common practice for the wall limit and the last ramp.
    """
    limit, candle = wall_rate(thickest_mm), _candle_step(thickest_mm, candle_h)
    rate = _no_faster("rate to 600 °C", firing_figure("rate_bisque_low"), limit)
    first = _no_faster("rate to the candle", firing_figure("rate_candle"), limit)
    trade = peak_for_hold(cone, hold_min, firing_figure("rate_last").value, form, start_c)
    foot_c = float(round(trade.peak_c - LAST_RAMP_C))
    drying = Segment(
        first.value, firing_figure("candle_c").value, candle.value * 60.0, "candle: free water leaves below boiling"
    )
    stages = (
        *((drying,) if candle.value > 0.0 else ()),
        Segment(
            rate.value, min(LOW_STAGE_C, foot_c), 0.0, "steam, bound water and carbon leave; quartz inversion at 573 °C"
        ),
        Segment(firing_figure("rate_bisque_high").value, foot_c, 0.0, "carbon and sulphur burn out; vent open"),
    )
    draft = Schedule(f"bisque, cone {trade.cone}", _rising(stages, start_c), start_c, trade.cone, form, "bisque")
    return _finished(draft, trade, (limit, first, candle, rate), thickest_mm, ())


def glaze_schedule(
    cone: str | float = "6",
    hold_min: float = 15.0,
    slow_cool: bool = False,
    thickest_mm: float = 6.0,
    form: str = FORMS[0],
    start_c: float = 20.0,
) -> Schedule:
    """A glaze schedule for bisqued, dry ware, its last ramp and hold solved for the cone.

    Args:
        cone, form: as `kiln.cone.end_point_c`.
        hold_min: hold at the peak.
        slow_cool: hold the fall between 1050 and 800 °C back, for glazes that are to grow crystals.
        thickest_mm: thickest place in the load, 1 to 60 mm; from 10 mm the fall through 600 to 500 °C is held back too.
        start_c: kiln when it is switched on.
    Raises:
        OutOfRange, NotInTable: as the arguments say.
    Source: kiln-p17, kiln-p18 for rates, kiln-p9, kiln-p19 for cooling of heavy ware; common practice for the rest.
    """
    limit = wall_rate(thickest_mm)
    rate = _no_faster("rate to 600 °C", firing_figure("rate_glaze_low"), limit)
    trade = peak_for_hold(cone, hold_min, firing_figure("rate_last").value, form, start_c)
    foot_c = float(round(trade.peak_c - LAST_RAMP_C))
    stages = (
        Segment(rate.value, min(LOW_STAGE_C, foot_c), 0.0, "the glaze dries out; quartz inversion at 573 °C"),
        Segment(firing_figure("rate_glaze_high").value, foot_c, 0.0, "on to 100 °C under the peak"),
    )
    draft = Schedule(f"glaze, cone {trade.cone}", _rising(stages, start_c), start_c, trade.cone, form, "glaze")
    return _finished(draft, trade, (limit, rate), thickest_mm, _falls(trade.peak_c, slow_cool, thickest_mm))


def _rising(stages: tuple[Segment, ...], start_c: float) -> tuple[Segment, ...]:
    """The stages that still lie ahead of a kiln which starts warm, or below the foot of a low cone's last ramp."""
    if start_c >= stages[-1].target_c:
        raise OutOfRange(
            f"the kiln is at {start_c:g} °C when it is switched on",
            why=f"the last ramp starts at {stages[-1].target_c:g} °C and the cone is made on it",
            mend="Let the kiln cool first",
        )
    ahead: list[Segment] = []
    for stage in stages:
        if stage.target_c > max([start_c, *(each.target_c for each in ahead)]):
            ahead.append(stage)
    return tuple(ahead)


def _no_faster(name: str, figure: Figure, limit: Step) -> Step:
    """The published rate, or the wall's limit where that is slower, in whole degrees."""
    inputs = {"published": figure.value, "wall_limit": limit.value}
    value = float(math.floor(min(figure.value, limit.value) + 0.5))
    low, high = min(figure.low, value), max(min(figure.high, limit.high or value), value)
    return Step(name, "floor(min(published, wall_limit) + 0.5)", inputs, value, figure.source, "°C/h", low, high)


def _candle_step(thickest_mm: float, candle_h: float | None) -> Step:
    """Hours below boiling: as given, or by wall thickness."""
    if candle_h is not None:
        if not (math.isfinite(candle_h) and 0.0 <= candle_h <= 24.0):
            raise OutOfRange(
                f"candle is {candle_h:g} h",
                why="ware that is bone dry needs none, and wet ware is not helped by more than a day",
                mend="Give 0 to 24 h; dry the ware longer outside the kiln",
            )
        return Step("candle", "given_h", {"given_h": candle_h}, candle_h, "given", "h", key="candle_h")
    thin, thick = firing_figure("candle_thin"), firing_figure("candle_thick")
    inputs = {"thin_h": thin.value, "thick_h": thick.value, "thickest_mm": thickest_mm}
    hours = thin.value + (thick.value - thin.value) * min(max((thickest_mm - 5.0) / 20.0, 0.0), 1.0)
    value = math.floor(12.0 * hours + 0.5) / 12.0  # a program counts in steps of five minutes
    return Step(
        "candle",
        "floor(12 * (thin_h + (thick_h - thin_h) * min(max((thickest_mm - 5) / 20, 0), 1)) + 0.5) / 12",
        inputs,
        value,
        thin.source,
        "h",
        thin.low,
        thick.high,
        key="candle_h",
    )


def _falls(peak_c: float, slow_cool: bool, thickest_mm: float) -> tuple[Segment, ...]:
    """The programmed part of the fall, if there is any: for crystals in the glaze, and for heavy ware at the inversion."""
    drop, falls = firing_figure("drop_rate").value, []
    if slow_cool:
        top_c = min(firing_figure("slow_cool_from").value, peak_c - 50.0)
        foot_c = min(firing_figure("slow_cool_to").value, top_c - 50.0)
        falls.append(Segment(drop, top_c, 0.0, "fall to the crystal range"))
        falls.append(
            Segment(firing_figure("slow_cool_rate").value, foot_c, 0.0, "slow fall: crystals grow in the glaze")
        )
    if thickest_mm >= HEAVY_MM:
        falls.append(Segment(drop, LOW_STAGE_C, 0.0, "fall to above the quartz inversion"))
        falls.append(Segment(firing_figure("quartz_cool_thick").value, 500.0, 0.0, "heavy ware through 573 °C"))
    return tuple(falls)


def _finished(
    draft: Schedule, trade: HoldTrade, steps: tuple[Step, ...], thickest_mm: float, falls: tuple[Segment, ...]
) -> Schedule:
    """The draft with its last ramp and hold solved on its own segments, the falls after it, working and notices."""
    rate = firing_figure("rate_last").value

    def with_peak(peak_c: float) -> Schedule:
        last = Segment(rate, peak_c, trade.hold_min, f"heat work for cone {draft.cone}")
        return replace(draft, segments=(*draft.segments, last))

    peak_c = trade.peak_c
    for _ in range(20):
        hours, temps = heating_points(with_peak(peak_c))
        felt = ln_work_of(draft.cone, hours * 3600.0, temps, draft.form)
        peak_c -= 20.0 * felt
        if abs(felt) < 1e-6:
            break
    whole_c = float(math.floor(peak_c + 0.5))
    rounded = Step(
        "peak to program",
        "floor(peak_c + faster_before_c + 0.5)",
        {"peak_c": trade.peak_c, "faster_before_c": peak_c - trade.peak_c},
        whole_c,
        "derived",
        "°C",
        trade.low_c,
        trade.high_c,
        how="faster heating before the last 100 °C does a little less of the work",
        key="peak_to_program_c",
    )
    schedule = with_peak(whole_c)
    schedule = replace(schedule, segments=(*schedule.segments, *falls), steps=(*steps, *trade.steps, rounded))
    return replace(schedule, notices=schedule_notices(schedule, thickest_mm))
