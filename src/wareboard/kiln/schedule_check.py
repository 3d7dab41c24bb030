"""What to look at in a schedule before it is fired: steam, burn-out, the inversions, long holds, fumes and heat."""

from __future__ import annotations

from collections.abc import Iterator

from wareboard.kiln.figures import firing_figure
from wareboard.kiln.segment import Notice, Schedule
from wareboard.kiln.wall import wall_rate

HEAVY_MM = 10.0  # from here on a wall is cooled as heavy ware
LONG_HOLD_MIN = 60.0


def rate_through(schedule: Schedule, low_c: float, high_c: float, falling: bool) -> float:
    """Fastest programmed rate, °C/h, while between two temperatures on the way up or down; 0 if it never passes there."""
    before, fastest = schedule.start_c, 0.0
    for segment in schedule.segments:
        down = segment.target_c < before
        foot, top = min(before, segment.target_c), max(before, segment.target_c)
        if down == falling and foot < high_c and top > low_c and foot != top:
            fastest = max(fastest, segment.rate_c_per_h)
        before = segment.target_c
    return fastest


def schedule_notices(schedule: Schedule, thickest_mm: float = 6.0, cristobalite: bool = False) -> tuple[Notice, ...]:
    """What to look at in this schedule for a load of this thickness; nothing here bars the firing.

    Args:
        schedule: any schedule, ours or written by hand.
        thickest_mm: thickest place in the load.
        cristobalite: whether the body is known to hold cristobalite.
    Source: reference/kiln/firing.csv; the wall limits are common practice.
    """
    checks = (_steam, _burn_out, _quartz_rising, _quartz_falling, _long_hold)
    found = [notice for check in checks for notice in check(schedule, thickest_mm)]
    found.extend(_cristobalite(schedule, cristobalite))
    found.append(_opening())
    found.append(_fumes(schedule))
    return tuple(found)


def _steam(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    if schedule.kind == "glaze":
        return
    limit, rate = wall_rate(thickest_mm).value, rate_through(schedule, 100.0, 550.0, falling=False)
    if rate > 1.05 * limit:
        yield Notice(
            f"{rate:g} °C/h up to 550 °C with a wall of {thickest_mm:g} mm",
            f"the trade takes some {limit:.0f} °C/h for that wall; steam and bound water burst faster ware",
            f"Slow the ramp to {limit:.0f} °C/h, or dry and candle longer",
        )
    if schedule.candle_h == 0.0 and thickest_mm > 5.0:
        yield Notice(
            "no candle below 100 °C",
            f"a wall of {thickest_mm:g} mm holds free water that leaves as steam",
            "Hold at 80 to 95 °C, or be sure that the ware is bone dry",
        )


def _burn_out(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    if schedule.kind == "glaze":
        return
    low, high = firing_figure("burn_out_low").value, firing_figure("seal_c").value
    rate = rate_through(schedule, 600.0, high, falling=False)
    if rate > firing_figure("rate_bisque_high").value or (thickest_mm >= HEAVY_MM and rate > 0.0):
        yield Notice(
            f"burn-out from {low:g} to {high:g} °C at up to {rate:g} °C/h",
            "carbon and sulphur need time and air before the surface seals; what stays behind cores black, bloats, or "
            "pinholes the glaze",
            "Keep the vent open, leave air between pieces, and for thick or dark clay hold an hour at 850 to 900 °C",
        )


def _quartz_rising(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    rate, limit = rate_through(schedule, 550.0, 600.0, falling=False), wall_rate(thickest_mm).value
    if schedule.kind == "glaze" and rate > 1.5 * limit:
        yield Notice(
            f"{rate:g} °C/h through the quartz inversion with a wall of {thickest_mm:g} mm",
            "free quartz grows suddenly at 573 °C, and a thick wall is not at one temperature",
            f"Slow the ramp between 550 and 600 °C to {limit:.0f} °C/h",
        )


def _quartz_falling(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    rate = rate_through(schedule, 500.0, 600.0, falling=True)
    heavy = thickest_mm >= HEAVY_MM
    limit = firing_figure("quartz_cool_thick" if heavy else "quartz_cool_thin").high
    if rate > limit:
        yield Notice(
            f"cooling at {rate:g} °C/h through the quartz inversion",
            f"free quartz shrinks suddenly at 573 °C; {'heavy' if heavy else 'thin'} ware is taken through 600 to 500 °C "
            f"at no more than {limit:g} °C/h",
            "Slow the fall there, or leave the kiln shut to fall by itself",
        )
    elif rate == 0.0 and heavy:
        yield Notice(
            f"no held fall through 600 to 500 °C with a wall of {thickest_mm:g} mm",
            "heavy ware dunts at the quartz inversion if a light kiln falls faster than 50 to 60 °C/h",
            "Program the fall there, and leave the kiln shut",
        )


def _cristobalite(schedule: Schedule, cristobalite: bool) -> Iterator[Notice]:
    figure, rate = firing_figure("cristobalite_c"), rate_through(schedule, 200.0, 270.0, falling=True)
    limit = firing_figure("cristobalite_cool")
    if cristobalite or rate > limit.high:
        yield Notice(
            f"cristobalite inversion near {figure.value:g} °C on the way down",
            "cristobalite shrinks by about 1 % there; bodies that hold it crack if draughts or opened lids hurry them",
            f"Keep the kiln shut from {figure.high:g} to {figure.low:g} °C, or hold the fall to {limit.value:g} °C/h",
        )


def _long_hold(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    hold = max(segment.hold_min for segment in schedule.segments if segment.target_c == schedule.peak_c)
    if hold > LONG_HOLD_MIN:
        yield Notice(
            f"hold of {hold:g} min at the peak",
            "the longer the hold, the less surely the heat-work model and common practice agree on the peak",
            "Stand witness cones on every level and trim the hold by what they show",
        )


def _opening() -> Notice:
    whole, plates = firing_figure("open_c"), firing_figure("open_plates_c")
    return Notice(
        "opening",
        "ware dunts in a draught, plates first, and hot shelves burn",
        f"Open below {whole.value:g} °C, with plates below {plates.value:g} °C",
    )


def _fumes(schedule: Schedule) -> Notice:
    gases = "carbon monoxide and sulphur gases" if schedule.kind == "bisque" else "metal fumes and gases"
    return Notice(
        "fumes, heat and glare",
        f"a firing gives off {gases}, and a hot spyhole dazzles in the infrared",
        "Run the vent, look through welding-type glasses, keep the clearance its maker asks, be there at the end",
    )
