"""`wareboard offsets`, `wear` and `fit-kiln`: what packs, meters and logs of past firings tell of the kiln itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wareboard.commands.firing import (
    ELECTRICIAN,
    FILE,
    GLASSES,
    KINDS,
    USUAL_CONES,
    form_option,
    hold_option,
    kiln_from,
    say_lines,
    schedule_for,
    thickest_option,
)
from wareboard.commands.packs import packs_file, packs_in
from wareboard.commands.table_file import rows_of
from wareboard.working import signed

if TYPE_CHECKING:
    from wareboard.kiln.elements import ElementFiring
    from wareboard.kiln.heat_work import HeatWork
    from wareboard.kiln.segment import Schedule
    from wareboard.kiln.thermal import KilnModel
    from wareboard.kiln.witness import PackReview

TOLD_TOGETHER = 0.95  # beyond this the two factors cannot be told apart
WEAR_COLUMNS = {"firing": "number", "hours": "last_100_h", "kwh": "kwh", "ohm": "resistance_ohm"}


def kiln_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that describe a kiln whose power is known, as `schedule` has them."""
    for option in reversed(
        (
            click.option("--power", type=float, required=True, help="Full power of the kiln when new, kW."),
            click.option("--brick", default="64 mm", show_default=True, help="Thickness of the insulating brick."),
            click.option("--wall-area", type=float, default=2.2, show_default=True, help="Walls, floor, lid, m²."),
            click.option("--ware", default="30 kg", show_default=True, help="Weight of the ware."),
            click.option("--shelves", default="25 kg", show_default=True, help="Weight of shelves and posts."),
        )
    ):
        command = option(command)
    return command


def program_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that say what was, or is to be, fired."""
    for option in reversed(
        (
            click.option("--kind", type=KINDS, default="glaze", show_default=True, help="Which firing was programmed."),
            click.option("--cone", help="Its cone; 04 for bisque and 6 for glaze if left out."),
            thickest_option,
            hold_option,
            form_option,
        )
    ):
        command = option(command)
    return command


def kiln_described(given: Mapping[str, Any]) -> KilnModel:
    """The kiln of `kiln_options`, its elements new."""
    kiln = kiln_from(given["power"], given["brick"], given["wall_area"], given["ware"], given["shelves"], "0 %")
    assert kiln is not None
    return kiln


def programmed(given: Mapping[str, Any]) -> Schedule:
    """The schedule of `program_options`."""
    cone = given["cone"] or USUAL_CONES[given["kind"]]
    return schedule_for(given["kind"], cone, given["thickest"], given["hold"], given["form"])


@click.command("offsets")
@click.argument("files", type=FILE, nargs=-1, required=True)
@click.option("--thermocouple", help="Which channel of the logs; the first if left out.")
@click.option("--kiln", default="the kiln", show_default=True, help="What to call the kiln.")
def offsets_command(files: tuple[Path, ...], thermocouple: str | None, kiln: str) -> None:
    """Learn what each level of the kiln gets more than its thermocouple says, from FILES of packs, oldest first.

    Each is a file as `wareboard packs --file` reads it, with log = "its-log.csv" beside it. All for one cone.
    """
    from wareboard.kiln.offset import offset_seen_c, offsets_by_level

    pairs = []
    for file in files:
        review, logged, rate = packs_and_log(file, thermocouple)
        pairs.append((review, logged, rate))
        told = [(level, offset_seen_c(level, logged, rate)) for level in review.levels]
        lines = [
            f"{level.level}: {level.words}"
            + (
                f", {signed(seen)} °C beside the log"
                if seen is not None
                else ", which only bounds it, so it does not count"
            )
            for level, seen in told
        ]
        say_lines(f"{file.name}: packs for cone {review.target}, log {logged.words}", lines)
    rates = {rate for _, _, rate in pairs}
    learned = offsets_by_level(kiln, [(review, logged) for review, logged, _ in pairs], max(rates))
    say_lines("Learned, with the range of nine in ten", (each.words for each in learned.values()))
    for each in learned.values():
        one = f"the next firing within ±{each.one_more_c:.0f} °C of that, nine times in ten"
        say_lines(f"Working, {each.level}", [*each.steps, one, *([each.drift.words] if each.drift else [])])
    click.echo(
        f"\nNo records count as a few of the usual kind: the stated prior weighs less with each firing. {GLASSES}"
    )


def packs_and_log(file: Path, thermocouple: str | None) -> tuple[PackReview, HeatWork, float]:
    """A firing's packs read, the heat work of its log by one thermocouple, and the rate of its last 100 °C."""
    from wareboard.errors import Unreadable
    from wareboard.kiln.cone import equivalent
    from wareboard.kiln.log import read, without_spikes
    from wareboard.kiln.witness import review_packs
    from wareboard.plan.fields import plain_number
    from wareboard.quantities import cone_name

    kept = packs_file(file)
    if not isinstance(kept.get("log"), str):
        raise Unreadable(file.name, "it names no log", 'Write log = "firing-12.csv", the logger\'s file beside it')
    cone, form = cone_name(kept.get("target", "6")), str(kept.get("form", "self-supporting"))
    rate = plain_number(kept.get("rate", 60))
    log = without_spikes(read(file.parent / kept["log"]))
    channel = thermocouple or log.channels[0]
    if channel not in log.channels:
        raise Unreadable(
            f"thermocouple {channel!r}",
            f"{kept['log']} has {', '.join(log.channels)}",
            "Give --thermocouple one of them",
        )
    logged = equivalent(log.times_s, log.channel(channel), form)
    return review_packs(packs_in(kept, cone, form), cone, rate), logged, rate


@click.command("wear")
@click.argument("file", type=FILE)
@kiln_options
@program_options
@click.option("--new-ohm", type=float, help="Resistance when new, ohm; the earliest of the file if left out.")
@click.option("--a-week", type=float, help="Firings a week; given, the forecast has days.")
@click.option("--today", help="The day to count from, as 2026-11-25; today if left out.")
def wear_command(file: Path, new_ohm: float | None, a_week: float | None, today: str | None, **given: Any) -> None:
    """Tell the wear of the elements from FILE, and at which firing this kiln falls behind its schedule.

    FILE is a CSV with the column firing (counted since the elements were new) and any of hours (over the last 100 °C), kwh
    and ohm (measured cold); an empty cell is what was not measured.
    """
    from wareboard.kiln.elements import element_wear

    made = programmed(given)
    kiln = kiln_described(given)
    seen = element_wear(firings_in(file), kiln, made, new_ohm, a_week, day_of(today) if a_week else None)
    click.secho(f"Elements by {seen.measure}, {seen.firings} firings; for {made.name}", bold=True)
    for words in seen.words:
        click.echo(f"  {words}")
    say_lines("Working", seen.steps)
    click.echo(f"\n{seen.caution}. {ELECTRICIAN}")


def day_of(words: str | None) -> date:
    """The day in words, or today."""
    from wareboard.errors import Unreadable

    if words is None:
        return datetime.now().astimezone().date()
    try:
        return date.fromisoformat(words)
    except ValueError:
        raise Unreadable(f"day {words!r}", "it is no day", "Write it as 2026-11-25") from None


def firings_in(file: Path) -> list[ElementFiring]:
    """The firings of a CSV, each line's fault told by its number.

    Raises:
        Unreadable: for a column that is not known, or a cell that is no number.
    """
    mend = "Begin it with firing and any of hours, kwh, ohm, commas between"
    return list(_firings(rows_of(file, WEAR_COLUMNS, ("firing",), mend), file.name))


def _firings(rows: Iterable[dict[str | None, Any]], name: str) -> Iterator[ElementFiring]:
    from wareboard.errors import Unreadable
    from wareboard.kiln.elements import ElementFiring

    for line, row in enumerate(rows, 2):
        if None in row:
            raise Unreadable(f"line {line}", "it has more cells than the first line", "Take out the comma", name)
        told: dict[str, float | None] = {}
        for column, key in WEAR_COLUMNS.items():
            cell = (row.get(column) or "").strip()
            try:
                told[key] = float(cell) if cell else None
            except ValueError:
                why = "it is not a number with a decimal point"
                raise Unreadable(f"{column} {cell!r} in line {line}", why, "Write 48.5, or nothing", name) from None
        number = told.pop("number")
        if number is None or number != int(number):
            raise Unreadable(f"line {line}", "its firing is no whole number", "Count from 1, elements new", name)
        yield ElementFiring(int(number), **told)


@click.command("fit-kiln")
@click.argument("file", type=FILE)
@kiln_options
@program_options
@click.option("--kwh", type=float, help="What the meter counted over the firing.")
def fit_kiln_command(file: Path, kwh: float | None, **given: Any) -> None:
    """Fit the kiln's model to a logger's FILE: how far its wall and its load differ from what was described."""
    from wareboard.kiln.calibrate import calibrate
    from wareboard.kiln.log import read, without_spikes

    made = programmed(given)
    log = without_spikes(read(file))
    found = calibrate(log.times_s, log.channel(0), kiln_described(given), made, kwh)
    click.secho(f"{file.name}, by {log.channels[0]}, beside {made.name}", bold=True)
    for name, factor in (("wall lets through", found.wall_factor), ("ware and shelves take up", found.load_factor)):
        click.echo(
            f"  {name} {factor.value:.2f} times what was described ({factor.low:.2f} to {factor.high:.2f}, nine in ten)"
        )
    click.echo(
        f"  still missed {found.rms_c:.0f} °C root mean square; the two hang together by {signed(found.together, 2)}"
    )
    if abs(found.together) > TOLD_TOGETHER:
        click.echo("  So near to 1 the log tells only the two together: let it run longer while the kiln cools.")
    click.echo(f"\n{GLASSES} {ELECTRICIAN}")
