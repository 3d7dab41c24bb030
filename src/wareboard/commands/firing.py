"""`wareboard schedule`, `log` and `packs`: a firing planned for a cone, a logger's file reviewed, witness cones read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from wareboard.kiln.log import FiringLog
    from wareboard.kiln.log_review import Met, SeenSegment
    from wareboard.kiln.segment import Schedule
    from wareboard.kiln.thermal import KilnModel
    from wareboard.kiln.witness import ConePack

FILE = click.Path(dir_okay=False, path_type=Path)
KINDS = click.Choice(["bisque", "glaze"])
LONGEST_LOG = 200_000_000
USUAL_CONES = {"bisque": "04", "glaze": "6"}
GLASSES = "Run the vent, and look into a hot kiln only through infrared-rated glasses (welding type), never sunglasses."
ELECTRICIAN = "Let an electrician, with the kiln isolated, look at elements, relays and wiring."
LEVEL_WORDS = (
    '--level "bottom 90 45 8": the level, then how guide, target and guard lean, - for a cone that was not there'
)

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
@click.option("--csv", "csv_file", type=FILE, help="Write the segments into this file.")
@click.option("--svg", "svg_file", type=FILE, help="Draw the curve into this file.")
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
    if kiln is not None and price is not None:
        say_lines("What a fuller load changes", fuller_lines(kiln, made, price, currency))
    say_lines("Look at", notices)
    click.echo(f"\n{GLASSES}{f' {ELECTRICIAN}' if kiln else ''}")
    for place, text in ((csv_file, schedule_csv), (svg_file, schedule_svg)):
        if place:
            written(place, text(made))


def fuller_lines(kiln: KilnModel, made: Schedule, price: float, currency: str) -> Iterator[str]:
    """The firing with half, all and twice the ware: hours, kWh, money, when it may be opened."""
    from decimal import Decimal

    from wareboard.given import not_negative
    from wareboard.kiln.energy import cooling_hours
    from wareboard.kiln.energy_balance import balance_energy
    from wareboard.plan.fuller import as_reckoned, fuller_loads

    per_kwh = Decimal(str(not_negative(price, "price of a kWh")))
    loads = fuller_loads(kiln, made, cooling_hours(made).to_c, per_kwh)
    energy = balance_energy(kiln, made, made.kind or "glaze")
    for each in as_reckoned(loads, energy.kwh, per_kwh) if energy else loads:
        told = f"{each.words}, {each.ware_kg:g} kg of ware: "
        if not each.reached:
            yield f"{told}the kiln cannot finish this program"
            continue
        cost = f"{currency} {each.cost:.2f}".strip()
        yield f"{told}{each.hours:.1f} h, {each.kwh:.0f} kWh, {cost}, open after {each.open_h:.0f} h"


def written(place: Path, text: str) -> None:
    """Write a file and say so, refusing by name where it cannot be."""
    from wareboard.errors import Unreadable

    try:
        place.write_text(text, encoding="utf-8", newline="")
    except OSError as problem:
        why = f"it cannot be written ({problem.strerror})"
        raise Unreadable(str(place), why, "Check the folder and its rights") from None
    click.echo(f"{place} written.")


def log_bytes(file: Path) -> bytes:
    """The bytes of a logger's file, refusing by name what is none."""
    from wareboard.errors import Unreadable

    try:
        if file.stat().st_size > LONGEST_LOG:
            raise Unreadable(str(file), "it is larger than any log of a firing", "Choose the logger's CSV file")
        return file.read_bytes()
    except OSError as problem:
        raise Unreadable(
            str(file), f"it cannot be read ({problem.strerror})", "Check the name and the folder"
        ) from None


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
    from wareboard.kiln.log import parse, without_spikes
    from wareboard.kiln.log_review import review
    from wareboard.quantities import cone_name, temperature_c

    log = parse(log_bytes(file), unit=unit, cold_junction_c=temperature_c(terminals), leave_out=leave_out)
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
    return f"cone {cone}" + (f" {part:+.1f}" if abs(part) >= 0.05 else "")


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


@click.command("packs")
@click.option("--file", type=FILE, help="A .toml file: target, rate, form, by_eye, and a [[level]] for each pack.")
@click.option("--level", "levels", multiple=True, help='Level and leans of guide, target, guard: "bottom 90 45 8".')
@click.option("--target", help="The cone wanted; 6 if left out.")
@click.option("--rate", help="Rate of the last 100 °C, °C an hour; 60 if left out.")
@click.option("--form", help="Form of the cones; self-supporting if left out.")
@click.option("--by-eye", is_flag=True, help="Leans are places on a clock face (12 upright, 6 hanging), not degrees.")
def packs_command(
    file: Path | None, levels: tuple[str, ...], target: str | None, rate: str | None, form: str | None, by_eye: bool
) -> None:
    """Read witness packs, from the bottom level up, and print each level, how uneven the kiln is, and ONE next change."""
    from wareboard.kiln.witness import review_packs
    from wareboard.plan.fields import plain_number
    from wareboard.quantities import cone_name

    kept = packs_file(file) if file else {}
    cone = cone_name(target or kept.get("target", "6"))
    form = form or str(kept.get("form", "self-supporting"))
    eye = by_eye or kept.get("by_eye", False) is True
    packs = packs_in(kept, cone, form, eye, [level_row(words) for words in levels])
    seen = review_packs(packs, cone, plain_number(rate or kept.get("rate", 60)))
    click.secho(f"Packs for cone {seen.target}, {form}", bold=True)
    for level in seen.levels:
        click.echo(
            f"  {level.words} ({position_words(level.low)} to {position_words(level.high)}), told by {level.told_by}"
        )
    click.echo(
        f"  hottest less coldest {seen.uneven_cones:.1f} of a cone, {seen.uneven_c:.0f} °C "
        f"({seen.uneven_c_low:.0f} to {seen.uneven_c_high:.0f})"
    )
    click.echo(f"  all levels together {seen.off_c:+.0f} °C, {seen.off_cones:+.1f} of a cone, from the target")
    say_lines("Working", seen.steps)
    if "log" in kept:
        click.echo("\nIts log is read by `wareboard offsets`, which sets the packs beside the thermocouple.")
    say_lines("One change for the next firing", [f"{seen.advice.change}: {seen.advice.why}."])
    click.echo(f"\n{GLASSES}")


def packs_in(
    kept: Mapping[str, Any],
    target: str,
    form: str,
    by_eye: bool | None = None,
    more: Sequence[tuple[str, Sequence[Any]]] = (),
) -> list[ConePack]:
    """The packs of a file's levels, and of those written out."""
    eye = kept.get("by_eye", False) is True if by_eye is None else by_eye
    return [pack_of(name, leans, target, form, eye) for name, leans in (*level_rows(kept), *more)]


def packs_file(file: Path) -> dict[str, Any]:
    """What a file of packs holds; refused with every key that it should not have."""
    import tomllib

    from wareboard.errors import Unreadable
    from wareboard.plan.reading import text_of

    try:
        kept = tomllib.loads(text_of(file))
    except tomllib.TOMLDecodeError as problem:
        raise Unreadable(file.name, f"it is not TOML: {problem}", "Mend that line") from None
    strange = sorted(set(kept) - {"target", "rate", "form", "by_eye", "level", "log"})
    if strange:
        why = f"it has {', '.join(strange)}, which no file of packs has"
        raise Unreadable(
            file.name, why, "Keep target, rate, form, by_eye, log and [[level]] with name, guide, target, guard"
        )
    return kept


def level_rows(kept: Mapping[str, Any]) -> Iterator[tuple[str, Sequence[Any]]]:
    """Each [[level]] of a file as its name and the leans of guide, target and guard."""
    from wareboard.errors import Unreadable

    tables = kept.get("level", [])
    for table in tables if isinstance(tables, list) else [tables]:
        strange = set(table) - {"name", "guide", "target", "guard"} if isinstance(table, dict) else {"level"}
        if strange or not isinstance(table.get("name"), str):
            raise Unreadable(
                f"level {table!r}",
                why="a level has a name, and leans under guide, target and guard",
                mend='Write [[level]], then name = "bottom", guide = 90, target = 45, guard = 8',
            )
        yield table["name"], [table.get(cone, "-") for cone in ("guide", "target", "guard")]


def level_row(words: str) -> tuple[str, Sequence[str]]:
    """A level from the command line: its name, which may be several words, and three leans."""
    from wareboard.errors import Unreadable

    parts = words.split()
    if len(parts) < 4:
        raise Unreadable(f"level {words!r}", "it is not a name and three leans", f"Write it like {LEVEL_WORDS}")
    return " ".join(parts[:-3]), parts[-3:]


def pack_of(name: str, leans: Sequence[Any], target: str, form: str, by_eye: bool) -> ConePack:
    """The pack of a level: guide one cone softer than the target, guard one harder."""
    from wareboard.kiln.chart import next_cone
    from wareboard.kiln.witness import ConePack
    from wareboard.plan.fields import plain_number

    cones = [(step, lean) for step, lean in zip((-1, 0, 1), leans, strict=True) if lean != "-"]
    read = {next_cone(target, step, form): plain_number(lean) for step, lean in cones}
    return ConePack.by_clock_face(name, read, form) if by_eye else ConePack(name, read, form)
