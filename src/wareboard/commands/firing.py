"""`wareboard schedule` and `log`: a firing planned for a cone, and a logger's file reviewed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wareboard.commands.written import TO_WRITE, replace_option, written
from wareboard.working import signed

if TYPE_CHECKING:
    from wareboard.kiln.energy import Energy
    from wareboard.kiln.log import FiringLog
    from wareboard.kiln.log_review import Met, SeenSegment
    from wareboard.kiln.segment import Schedule
    from wareboard.kiln.thermal import KilnModel

FILE = click.Path(dir_okay=False, path_type=Path)
KINDS = click.Choice(["bisque", "glaze"])
USUAL_CONES = {"bisque": "04", "glaze": "6"}
GLASSES = "Run the vent, and look into a hot kiln only through infrared-rated glasses (welding type), never sunglasses."
ELECTRICIAN = "Let an electrician, with the kiln isolated, look at elements, relays and wiring."

form_option = click.option("--form", default="self-supporting", show_default=True, help="Form of the cones.")
thickest_option = click.option("--thickest", default="6 mm", show_default=True, help="Thickest place in the load.")
hold_option = click.option("--hold", help="Hold at the peak; none for bisque, 15 min for glaze if left out.")


def schedule_for(kind: str, cone: str, thickest: str, hold: str | None, form: str, **more: Any) -> Schedule:
    """The schedule of a kind of firing for a cone, from words."""
    from wareboard.kiln.schedule import bisque_schedule, glaze_schedule
    from wareboard.quantities import cone_name, duration_s, length_mm

    wall_mm, name = length_mm(thickest), cone_name(cone)
    held_min = duration_s(hold, "min") / 60.0 if hold is not None else (0.0 if kind == "bisque" else 15.0)
    if kind == "bisque":
        return bisque_schedule(name, wall_mm, hold_min=held_min, form=form, **more)
    return glaze_schedule(name, held_min, thickest_mm=wall_mm, form=form, **more)


def kiln_from(
    power: float | None, brick: str, wall_area: float, ware: str, shelves: str, worn: str
) -> KilnModel | None:
    """The kiln that the options describe; None without its power."""
    from wareboard.kiln.thermal import BRICK_23, KilnModel, Layer
    from wareboard.quantities import length_mm, mass_g, share

    if power is None:
        return None
    wall = (Layer(BRICK_23, length_mm(brick)),)
    ware_kg, shelves_kg = mass_g(ware, "kg") / 1000.0, mass_g(shelves, "kg") / 1000.0
    return KilnModel(power, wall, wall_area, ware_kg, shelves_kg, wear=share(worn))


def refuse_kiln_without_power(power: float | None) -> None:
    """A kiln that is half described would be left out of account unseen."""
    from click.core import ParameterSource

    from wareboard.errors import Unreadable

    ask = click.get_current_context().get_parameter_source
    given = [
        name
        for name in ("brick", "wall_area", "ware", "shelves", "worn", "price")
        if ask(name) is ParameterSource.COMMANDLINE
    ]
    if power is None and given:
        named = " and ".join(f"--{name.replace('_', '-')}" for name in given)
        raise Unreadable(named, "a kiln is followed only where its power is known", "Give --power in kW too")


def say_lines(title: str, lines: Iterable[object]) -> None:
    """A heading and its lines, set in."""
    click.echo()
    click.secho(title, bold=True)
    for line in lines:
        click.echo(f"  {line}")


def segment_lines(schedule: Schedule) -> Iterator[str]:
    """Each segment as it is programmed."""
    for number, each in enumerate(schedule.segments, 1):
        hold = f", hold {each.hold_min:g} min" if each.hold_min else ""
        yield f"{number}. {each.rate_c_per_h:g} °C/h to {each.target_c:g} °C{hold}: {each.why}"


@click.command("schedule")
@click.argument("kind", type=KINDS)
@click.argument("cone", default="")
@thickest_option
@hold_option
@click.option("--candle", help="Bisque: hold below boiling; by the thickness if left out.")
@click.option("--slow-cool", is_flag=True, help="Glaze: hold the fall back so that crystals grow.")
@form_option
@click.option("--start", default="20 C", show_default=True, help="The kiln when it is switched on.")
@click.option("--wet", default="0 %", show_default=True, help="Water in the wettest board, share of its dry weight.")
@click.option("--power", type=float, help="Full power of the kiln, kW; given, it says what the kiln cannot do.")
@click.option("--brick", default="64 mm", show_default=True, help="With --power: thickness of the insulating brick.")
@click.option("--wall-area", type=float, default=2.2, show_default=True, help="With --power: walls, floor, lid, m².")
@click.option("--ware", default="30 kg", show_default=True, help="With --power: weight of the ware.")
@click.option("--shelves", default="25 kg", show_default=True, help="With --power: weight of shelves and posts.")
@click.option("--worn", default="0 %", show_default=True, help="With --power: rise of the elements' resistance.")
@click.option("--price", type=float, help="With --power: price of a kWh; says what half and twice the ware change.")
@click.option("--currency", default="", help="With --price: the money it is in, such as EUR.")
@click.option("--csv", "csv_file", type=TO_WRITE, help="Write the segments into this file.")
@click.option("--svg", "svg_file", type=TO_WRITE, help="Draw the curve into this file.")
@replace_option
def schedule_command(
    kind: str,
    cone: str,
    thickest: str,
    hold: str | None,
    candle: str | None,
    slow_cool: bool,
    form: str,
    start: str,
    wet: str,
    power: float | None,
    brick: str,
    wall_area: float,
    ware: str,
    shelves: str,
    worn: str,
    price: float | None,
    currency: str,
    csv_file: Path | None,
    svg_file: Path | None,
) -> None:
    """Print a firing of KIND (bisque or glaze) to CONE, segment by segment, with working and what to look at.

    Without a CONE it is 04 for bisque and 6 for glaze.
    """
    from wareboard.errors import Unreadable
    from wareboard.kiln.schedule import schedule_csv, schedule_notices, schedule_svg
    from wareboard.quantities import duration_s, length_mm, share, temperature_c

    refuse_kiln_without_power(power)
    odd = "--slow-cool" if kind == "bisque" and slow_cool else "--candle" if kind == "glaze" and candle else ""
    if odd:
        raise Unreadable(f"{odd} with {kind}", "it belongs to the other kind of firing", "Leave it out")
    more: dict[str, Any] = {"start_c": temperature_c(start)}
    more |= {"slow_cool": slow_cool} if kind == "glaze" else {}
    more |= {"candle_h": duration_s(candle, "h") / 3600.0} if candle else {}
    made = schedule_for(kind, cone or USUAL_CONES[kind], thickest, hold, form, **more)
    kiln = kiln_from(power, brick, wall_area, ware, shelves, worn)
    notices = schedule_notices(made, length_mm(thickest), wettest_share=share(wet), kiln=kiln)
    click.secho(
        f"{made.name}, {made.form}: peak {made.peak_c:g} °C, {made.heating_h:.1f} h to the end of the hold", bold=True
    )
    for line in segment_lines(made):
        click.echo(f"  {line}")
    say_lines("Working", made.steps)
    if kiln is not None:
        say_lines("Energy", energy_lines(kiln, made))
    if kiln is not None and price is not None:
        say_lines("What a fuller load changes", fuller_lines(kiln, made, price, currency))
    say_lines("Look at", notices)
    click.echo(f"\n{GLASSES}{f' {ELECTRICIAN}' if kiln else ''}")
    for place, text in ((csv_file, schedule_csv), (svg_file, schedule_svg)):
        if place:
            written(place, text(made))


def energy_lines(kiln: KilnModel, made: Schedule) -> Iterator[str]:
    """The energy by what takes the heat up, part by part, and the usual share of full power as a check."""
    from wareboard.kiln.energy import firing_energy
    from wareboard.plan.kiln_energy import held_words

    kind = made.kind or "glaze"
    duty, found = firing_energy(kiln.full_kw, made, kind=kind), _energy(kiln, made)
    if found is None:
        yield f"the kiln cannot finish this program; the usual share of full power would be {duty.kwh:.0f} kWh"
        return
    yield f"{found.kwh:.0f} kWh ({found.low:.0f} to {found.high:.0f}), by what takes the heat up"
    parts = (step for step in found.steps[:-1] if step.key != "heating_kwh")
    yield from (f"{step.name}: {step.value:.1f} kWh" for step in parts)
    if held_words(found):
        yield held_words(found)
    of_heating = "to the end of the peak " if held_words(found) else ""
    yield f"check: {of_heating}by the usual share of full power it would be {duty.kwh:.0f} kWh"


def _energy(kiln: KilnModel, made: Schedule) -> Energy | None:
    """What takes the heat up to the peak, and what holds the cooling back; None where the kiln cannot finish."""
    from wareboard.kiln.energy_balance import balance_energy
    from wareboard.kiln.held_cooling import held_cooling, with_held

    kind = made.kind or "glaze"
    found = balance_energy(kiln, made, kind)
    return with_held(found, held_cooling(kiln, made), kind) if found else None


def fuller_lines(kiln: KilnModel, made: Schedule, price: float, currency: str) -> Iterator[str]:
    """The firing with half, all and twice the ware: hours, kWh, money, when it may be opened."""
    from decimal import Decimal

    from wareboard.given import not_negative
    from wareboard.kiln.energy import cooling_hours
    from wareboard.plan.fuller import as_reckoned, fuller_loads

    per_kwh = Decimal(str(not_negative(price, "price of a kWh")))
    loads = fuller_loads(kiln, made, cooling_hours(made).to_c, per_kwh)
    energy = _energy(kiln, made)
    for each in as_reckoned(loads, energy.kwh, per_kwh) if energy else loads:
        told = f"{each.words}, {each.ware_kg:g} kg of ware: "
        if not each.reached:
            yield f"{told}the kiln cannot finish this program"
            continue
        cost = f"{currency} {each.cost:.2f}".strip()
        yield f"{told}{each.hours:.1f} h, {each.kwh:.0f} kWh, {cost}, open after {each.open_h:.0f} h"


@click.command("log")
@click.argument("file", type=FILE)
@click.option("--cone", help="The cone wanted; says how far it leans.")
@click.option("--kind", type=KINDS, help="Sets the plan for a bisque or glaze firing to --cone beside what was done.")
@thickest_option
@hold_option
@form_option
@click.option("--unit", type=click.Choice(["C", "F", "mV-K", "mV-S"]), help="Unit of the readings, if it is not told.")
@click.option("--terminals", default="25 C", show_default=True, help="With millivolts: temperature of the terminals.")
@click.option("--leave-out", is_flag=True, help="Leave out rows that cannot be read, and say which.")
def log_command(
    file: Path,
    cone: str | None,
    kind: str | None,
    thickest: str,
    hold: str | None,
    form: str,
    unit: str | None,
    terminals: str,
    leave_out: bool,
) -> None:
    """Read a logger's FILE (CSV) and print what is odd in it, the cone of each thermocouple, and what the kiln did."""
    from wareboard.kiln.log import read, without_spikes
    from wareboard.kiln.log_review import review
    from wareboard.quantities import cone_name, temperature_c

    log = read(file, unit=unit, cold_junction_c=temperature_c(terminals), leave_out=leave_out)
    planned = schedule_for(kind, cone or USUAL_CONES[kind], thickest, hold, form) if kind else None
    wanted = cone_name(cone) if cone else planned.cone if planned else None
    hours = float(log.times_s[-1]) / 3600.0
    click.secho(f"{file.name}: {len(log.times_s)} samples over {hours:.1f} h, from {log.started}", bold=True)
    say_lines("Odd in the file", finding_lines(log))
    clean = without_spikes(log)
    say_lines("Cones", cone_lines(clean, form, wanted))
    for channel in clean.channels:
        seen = review(clean, planned, channel)
        say_lines(f"What {channel} saw", stretch_lines(seen.segments))
        click.echo(
            f"  peak {seen.peak_c:.0f} °C after {seen.peak_at_h:.1f} h; {seen.last_100_h:.2f} h over the last 100 °C"
        )
        if planned:
            say_lines(f"{planned.name}, planned and done, by {channel}", met_lines(seen.met))
    click.echo(f"\n{GLASSES} {ELECTRICIAN}")


def finding_lines(log: FiringLog) -> Iterator[str]:
    """What is odd about a log, line by line of the file."""
    if not log.findings:
        yield "nothing"
    for each in log.findings:
        yield f"line {each.line}: {each.words}" if each.line else each.words


def cone_lines(log: FiringLog, form: str, wanted: str | None) -> Iterator[str]:
    """The cone of each thermocouple with its range, to the end of the hold and as cones would be found."""
    from wareboard.kiln.cone import equivalent

    for channel in log.channels:
        temps = log.channel(channel)
        held = equivalent(log.times_s, temps, form, to_end_of_hold=True)
        found = equivalent(log.times_s, temps, form)
        yield f"{channel}: {held.words} to the end of the hold ({position_words(held.low)} to {position_words(held.high)})"
        yield f"{channel}: {found.words} with the fall from the peak, as a cone in the kiln is found"
        if wanted:
            yield f"{channel}: cone {wanted} leans some {found.bend(wanted):.0f}° from upright (90° is its end point)"
    yield f"{form}, {held.edition} chart; ranges hold nine in ten, a new thermocouple taken"


def position_words(position: float) -> str:
    """A position between cones in the potter's words: "cone 6 +0.3"."""
    from wareboard.kiln.chart import cone_order, cones

    cone = min((each for each in cones() if "." not in each), key=lambda each: abs(cone_order(each) - position))
    part = position - cone_order(cone)
    return f"cone {cone}" + (f" {signed(part, 1)}" if abs(part) >= 0.05 else "")


def stretch_lines(stretches: Iterable[SeenSegment]) -> Iterator[str]:
    """Ramps, holds and falls as they were."""
    for each in stretches:
        span = f"{each.start_h:.1f} to {each.end_h:.1f} h"
        if each.kind == "hold":
            yield f"{span}: hold near {each.to_c:.0f} °C for {60.0 * (each.end_h - each.start_h):.0f} min"
        else:
            yield f"{span}: {each.kind} {each.from_c:.0f} to {each.to_c:.0f} °C at {abs(each.rate_c_per_h):.0f} °C/h"


def met_lines(met: Iterable[Met]) -> Iterator[str]:
    """Each programmed segment beside what was done of it."""
    for number, each in enumerate(met, 1):
        plan = f"{number}. {each.planned.rate_c_per_h:g} °C/h to {each.planned.target_c:g} °C"
        plan += f", hold {each.planned.hold_min:g} min" if each.planned.hold_min else ""
        if each.reached_h is None or each.rate_c_per_h is None or each.late_min is None:
            yield f"{plan}: not seen in the log"
            continue
        done = f"{abs(each.rate_c_per_h):.0f} °C/h"
        if each.planned.hold_min and each.hold_min is not None:
            done += f", held {each.hold_min:.0f} min"
        done += f", {abs(each.late_min):.0f} min {'late' if each.late_min >= 0.0 else 'early'}"
        done += (
            f", {each.overshoot_c:.0f} °C beyond" if each.overshoot_c is not None and each.overshoot_c >= 1.0 else ""
        )
        yield f"{plan}: {done}"
