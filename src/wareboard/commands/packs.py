"""`wareboard packs`: witness packs read, how uneven the kiln is, and one change for the next firing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wareboard.commands.firing import FILE, GLASSES, position_words, say_lines
from wareboard.working import signed

if TYPE_CHECKING:
    from wareboard.kiln.witness import ConePack

LEVEL_WORDS = (
    '--level "bottom 90 45 8": the level, then how guide, target and guard lean, - for a cone that was not there'
)


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
    click.echo(f"  all levels together {signed(seen.off_c)} °C, {signed(seen.off_cones, 1)} of a cone, from the target")
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
    from wareboard.named_file import text_of

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
