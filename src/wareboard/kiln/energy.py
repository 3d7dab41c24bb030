"""Energy of a firing by the duty method, and a first estimate of the hours that a kiln takes to cool.

The duty method is a rule of thumb of eight to nine hours and a usual load: it grows with the hours as if all of the heat
did, and knows neither load nor wall. `kiln.energy_balance` is better for any kiln whose size is known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wareboard.errors import NotInTable, OutOfRange
from wareboard.kiln.figures import firing_figure
from wareboard.kiln.segment import Schedule
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.kiln.held_cooling import HeldCooling

KINDS = ("bisque", "glaze", "candle", "quarter")
KILNS = {"top-loader": "cooling_top_loader", "front-loader": "cooling_front_loader"}
PUBLISHED_PEAK_C, PUBLISHED_END_C, ROOM_C = 1222.0, 54.0, 20.0


@dataclass(frozen=True, slots=True)
class Energy:
    """Energy of one firing, kWh, 90 % range and working; the price of it is the plan's business.

    ``by`` says in words how it was found; ``check`` is the figure of another road, which nothing is reckoned from; ``held``
    is the part that holds the cooling back, where a cooling is programmed.
    """

    kwh: float
    low: float
    high: float
    hours: float
    steps: tuple[Step, ...]
    by: str = ""
    check: Step | None = None
    held: HeldCooling | None = None


def firing_energy(
    power_kw: float, firing: Schedule | float, duty: Estimate | float | None = None, kind: str = ""
) -> Energy:
    """Energy of a firing, kWh: full power x hours of heating x the share of them that the elements are on.

    Args:
        power_kw: power of the kiln at full on, kW (volts x amps / 1000 from its plate), 0.1 to 500.
        firing: a schedule (hours to the end of the hold at its peak, the candle reckoned by itself), or hours.
        duty: share of full power; by default that of the kind of firing.
        kind: bisque, glaze, candle or quarter (the quarter method); by default the schedule's own, else glaze.
    Raises:
        OutOfRange: for power, hours or duty outside these.
        NotInTable: for another kind.
    Source: duty 50 % bisque, 65 % glaze, 15 % candle, kiln-energy-lakeside; 62.5 % quarter method, kiln-energy-bailey.
    """
    _within("power_kw", power_kw, 0.1, 500.0, "Read volts and amps off the kiln's plate and multiply")
    kind = kind or (firing.kind if isinstance(firing, Schedule) else "") or "glaze"
    whole_h = firing.heating_h if isinstance(firing, Schedule) else float(firing)
    _within("hours", whole_h, 0.0, 500.0, "Give hours of heating, without cooling")
    candle_h = min(firing.candle_h, whole_h) if isinstance(firing, Schedule) else 0.0
    share, source = _duty(duty, kind)
    candle = firing_figure("duty_candle")
    kwh = power_kw * ((whole_h - candle_h) * share.value + candle_h * candle.value)
    low, high = (
        power_kw * ((whole_h - candle_h) * edge + candle_h * hold)
        for edge, hold in ((share.low, candle.low), (share.high, candle.high))
    )
    inputs = {"power_kw": float(power_kw), "hours": whole_h, "duty": share.value}
    formula = "power_kw * hours * duty"
    if candle_h > 0.0:
        inputs |= {"candle_h": candle_h, "candle_duty": candle.value}
        formula = "power_kw * ((hours - candle_h) * duty + candle_h * candle_duty)"
    step = Step(f"energy of the {kind} firing", formula, inputs, kwh, source, "kWh", low, high, key="firing_kwh")
    return Energy(kwh, low, high, whole_h, (step,))


def _duty(duty: Estimate | float | None, kind: str) -> tuple[Estimate, str]:
    if isinstance(duty, Estimate):
        _within("duty", duty.value, 0.0, 1.0, "Give the share as a fraction, such as 0.65")
        return duty, duty.source
    if duty is not None:
        _within("duty", duty, 0.0, 1.0, "Give the share as a fraction, such as 0.65")
        return Estimate(duty, duty, duty, "given"), "given"
    if kind not in KINDS:
        raise NotInTable(f"kind of firing {kind!r}", why=f"duties are known for {', '.join(KINDS)}", mend="Name one")
    figure = firing_figure(f"duty_{kind}")
    return Estimate(figure.value, figure.low, figure.high, figure.source), figure.source


def _within(name: str, number: float, least: float, most: float, mend: str) -> None:
    if not (math.isfinite(number) and least <= number <= most):
        raise OutOfRange(f"{name} is {number:g}", why=f"it must be a number from {least:g} to {most:g}", mend=mend)


@dataclass(frozen=True, slots=True)
class Cooling:
    """Hours from the peak until the kiln is at ``to_c``, with 90 % range and working."""

    hours: float
    low: float
    high: float
    to_c: float
    steps: tuple[Step, ...]

    @property
    def estimate(self) -> Estimate:
        """The hours of cooling with their range."""
        return Estimate(self.hours, self.low, self.high, self.steps[-1].source)


def cooling_hours(
    peak_c: float | Schedule,
    to_c: float | None = None,
    kiln: str = "top-loader",
    room_c: float = ROOM_C,
    plates: bool = False,
) -> Cooling:
    """Hours that a shut kiln takes from its peak to the temperature at which it may be opened: a first estimate.

    Newton's law with one time constant, inferred from the published hours from cone 6 to 54 °C. A kiln with a thick wall
    falls faster than that at first and slower at last; the range is meant to cover it.

    Args:
        peak_c: where free cooling starts, above ``to_c``, up to 1400 °C; of a schedule, the end of its last segment, which
            lies below the peak where a fall is programmed (its hours are in ``schedule.duration_h``).
        to_c: where it ends; by default 93 °C, or 50 °C with plates. At least 5 °C above the room.
        kiln: top-loader or front-loader (thick brick).
        room_c: temperature of the room, -10 to 50 °C.
        plates: whether plates stand in the load.
    Raises:
        OutOfRange: for temperatures outside these.
        NotInTable: for another kind of kiln.
    Source: kiln-cooling-ground-up (12 h and more to 54 °C); common practice for front-loaders and for opening.
    """
    if kiln not in KILNS:
        raise NotInTable(f"kiln {kiln!r}", why=f"cooling is known for {', '.join(KILNS)}", mend="Name one of them")
    if isinstance(peak_c, Schedule):
        peak_c = peak_c.end_c
    end_c = firing_figure("open_plates_c" if plates else "open_c").value if to_c is None else to_c
    _within("room_c", room_c, -10.0, 50.0, "Give the temperature of the kiln room in °C")
    _within(
        "to_c", end_c, room_c + 5.0, 1400.0, "Give a temperature at least 5 °C above the room: a kiln creeps at last"
    )
    _within("peak_c", peak_c, end_c, 1400.0, "Give the peak of the firing in °C")
    figure = firing_figure(KILNS[kiln])
    folds = math.log((PUBLISHED_PEAK_C - ROOM_C) / (PUBLISHED_END_C - ROOM_C))
    tau, tau_low, tau_high = (hours / folds for hours in (figure.value, figure.low, figure.high))
    constant = Step(
        "time constant of the kiln",
        "published_h / log((from_c - room_c) / (to_c - room_c))",
        {"published_h": figure.value, "from_c": PUBLISHED_PEAK_C, "to_c": PUBLISHED_END_C, "room_c": ROOM_C},
        tau,
        figure.source,
        "h",
        tau_low,
        tau_high,
    )
    wanted = math.log((peak_c - room_c) / (end_c - room_c))
    inputs = {"time_constant_h": tau, "peak_c": float(peak_c), "to_c": end_c, "room_c": room_c}
    step = Step(
        f"cooling to {end_c:g} °C",
        "time_constant_h * log((peak_c - room_c) / (to_c - room_c))",
        inputs,
        tau * wanted,
        figure.source,
        "h",
        tau_low * wanted,
        tau_high * wanted,
        key="cooling_h",
    )
    return Cooling(tau * wanted, tau_low * wanted, tau_high * wanted, end_c, (constant, step))
