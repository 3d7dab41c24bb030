"""Glazes at the command line: what a recipe comes to, and what a bucket of slip wants."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from pathlib import Path

    from wareboard.glaze.recipe import Recipe
    from wareboard.studio.glazes.reckoned import Reckoned

PARTS_MEND = 'Write it like --part "kaolin=10"'


@click.command("unity")
@click.argument("file", required=False, type=click.Path(dir_okay=False))
@click.option("--part", "parts", multiple=True, help='A material and its parts of the base, such as "kaolin=10".')
@click.option("--on-top", "additions", multiple=True, help='What is on top of 100, such as "red iron oxide=8".')
@click.option("--materials", type=click.Path(dir_okay=False), help="A table (CSV) of your own materials' analyses.")
@click.option("--working", is_flag=True, help="Print every number's working.")
def unity_command(
    file: str | None, parts: tuple[str, ...], additions: tuple[str, ...], materials: str | None, working: bool
) -> None:
    """Print analysis, unity formula, expansion and cautions of a recipe, from FILE (TOML or CSV) or from --part.

    TOML: name, a table base, and if wanted a table additions. CSV: material, parts, and "yes" in a third column on top.
    """
    from pathlib import Path

    from wareboard.errors import OutOfRange
    from wareboard.glaze.material import material, shelf
    from wareboard.glaze.recipe import Recipe
    from wareboard.studio.glazes.reckoned import reckoned

    if (file is None) == (not parts and not additions):
        raise OutOfRange("the recipe", "give a file, or parts, one of the two", PARTS_MEND)
    recipe = _read(Path(file)) if file is not None else Recipe("recipe", pairs_in(parts), pairs_in(additions))
    known = dict(shelf()) | (own_materials(Path(materials)) if materials else {})
    named = {name: material(name, known).name for name in (*recipe.base, *recipe.additions)}
    recipe = Recipe(
        recipe.name,
        _renamed(recipe.base, named),
        _renamed(recipe.additions, named),
    )
    _print(reckoned(recipe, known), working)


def pairs_in(words: tuple[str, ...]) -> dict[str, float]:
    """Names and numbers from words such as "kaolin=10"; a name that stands twice is added up."""
    from wareboard.errors import Unreadable
    from wareboard.plan.fields import plain_number

    found: dict[str, float] = {}
    for word in words:
        name, equals, number = word.rpartition("=")
        if not equals or not name.strip():
            raise Unreadable(repr(word), "it is not a material and its parts", PARTS_MEND)
        found[name.strip()] = found.get(name.strip(), 0.0) + plain_number(number)
    return found


def _renamed(held: Any, named: dict[str, str]) -> dict[str, float]:
    found: dict[str, float] = {}
    for name, amount in held.items():
        found[named[name]] = found.get(named[name], 0.0) + amount
    return found


def own_materials(file: Path) -> dict[str, Any]:
    """The materials of a table (CSV) by name."""
    from wareboard.glaze.material_file import read_materials
    from wareboard.named_file import text_of

    return {entry.name: entry for entry in read_materials(text_of(file))}


def _read(file: Path) -> Recipe:
    if file.suffix.lower() == ".toml":
        return _from_toml(file)
    return _from_csv(file)


def _from_toml(file: Path) -> Recipe:
    import tomllib

    from wareboard.errors import Unreadable
    from wareboard.glaze.recipe import Recipe
    from wareboard.named_file import text_of
    from wareboard.plan.fields import plain_number

    try:
        held = tomllib.loads(text_of(file))
    except tomllib.TOMLDecodeError as problem:
        raise Unreadable(file.name, f"it is no TOML ({problem})", "Mend that line") from None
    odd = set(held) - {"name", "base", "additions"}
    if odd:
        raise Unreadable(f"{min(odd)!r} in {file.name}", "a recipe has name, base and additions", "Take it out")
    tables = [held.get("base", {}), held.get("additions", {})]
    if not all(isinstance(table, dict) for table in tables):
        raise Unreadable(file.name, "base and additions are tables of parts", 'Write [base], then "kaolin" = 10')
    base, additions = ({name: plain_number(parts) for name, parts in table.items()} for table in tables)
    return Recipe(str(held.get("name", file.stem)), base, additions)


def _from_csv(file: Path) -> Recipe:
    import csv

    from wareboard.errors import Problems, Unreadable, WareboardError
    from wareboard.glaze.recipe import Recipe
    from wareboard.named_file import text_of
    from wareboard.plan.fields import plain_number

    text = text_of(file)
    held: tuple[dict[str, float], dict[str, float]] = ({}, {})
    problems: list[WareboardError] = []
    semicolons = text.count(";") > text.count(",")
    for number, cells in enumerate(csv.reader(text.splitlines(), delimiter=";" if semicolons else ","), start=1):
        name = cells[0].strip() if cells else ""
        if not name or name.startswith("#") or (number == 1 and name.casefold() in ("material", "name")):
            continue
        try:
            if len(cells) < 2 or not cells[1].strip():
                raise Unreadable(name, "its parts are missing", "Write material,parts")
            on_top = len(cells) > 2 and cells[2].strip().casefold() in ("yes", "y", "x", "1", "on top")
            held[on_top][name] = held[on_top].get(name, 0.0) + plain_number(cells[1])
        except WareboardError as problem:
            problem.where = f"{file.name}, line {number}"
            problems.append(problem)
    if problems:
        raise Problems(problems, f"{file.name} could not be read")
    return Recipe(file.stem, *held)


def _print(known: Reckoned, working: bool) -> None:
    for note in known.notes:
        click.echo(note)
    click.echo(f"{'oxide':8}{'unity':>9}{'weight %':>11}{'mol %':>9}")
    for row in known.oxides:
        unity = "" if row.unity is None else f"{row.unity:.3f}"
        click.echo(f"{row.formula:8}{unity:>9}{row.wt:>11.2f}{row.mol:>9.2f}")
    for words in (known.no_unity, known.no_ratio, known.not_known):
        if words:
            click.echo(words)
    if known.ratio:
        click.echo(f"Silica to alumina: {known.ratio.value:.2f}")
    if known.flux_ratio:
        shares = ", ".join(f"{step.name.split()[0]} {step.value:.1f} %" for step in known.fluxes)
        click.echo(f"R2O to RO: {known.flux_ratio} ({shares} of the fluxes)")
    click.echo(f"Lost in the fire: {known.loss.value:.1f} % of the dry mix")
    for each in known.expansions:
        spread = f", nine in ten within {each.spread}" if each.spread else ""
        click.echo(f"Expansion, set {each.name}: {each.shown}{spread}. {each.note}")
    click.echo("Sets do not compare with each other; whether a glaze fits is for a test on the body.")
    click.echo(f"Cautions: {known.flagged.verdict}.")
    for flag in known.flagged.on_ware:
        click.echo(f"  {flag}")
    click.echo(f"Care: {known.care}")
    if working:
        for step in (known.ratio, known.alkali, *known.fluxes, known.loss, *(each.step for each in known.expansions)):
            if step is not None:
                click.echo(step)


@click.command("slip")
@click.argument("weight")
@click.argument("volume")
@click.option("--bucket", "stock", help='What is in the bucket, such as "5 l"; then what to add is told.')
@click.option("--want", help="Specific gravity wanted, such as 1.45.")
@click.option("--dry-density", default=None, help="Density of the dry powder, g/ml; the usual figure if left out.")
def slip_command(weight: str, volume: str, stock: str | None, want: str | None, dry_density: str | None) -> None:
    """Print the specific gravity of a slip from the net WEIGHT of a VOLUME of it, and what thins or thickens the bucket."""
    from wareboard.errors import OutOfRange
    from wareboard.glaze.slip import bucket_now, dry_to_thicken_g, specific_gravity, water_to_thin_ml
    from wareboard.plan.fields import plain_number
    from wareboard.quantities import mass_g, volume_ml
    from wareboard.reference import default
    from wareboard.working import Step

    if want is not None and stock is None:
        raise OutOfRange("a gravity wanted", "what to add hangs on how much there is", 'Say so, such as --bucket "5 l"')
    usual = default("glaze.dry_density_g_per_ml")
    density = plain_number(dry_density) if dry_density is not None else usual.value
    grams, millilitres = mass_g(weight), volume_ml(volume)
    now = specific_gravity(grams, millilitres)
    click.echo(Step("specific gravity", "weight / volume", {"weight": grams, "volume": millilitres}, now, "definition"))
    held = bucket_now(volume_ml(stock) if stock else 1000.0, now, density)
    for step in held.steps:
        click.echo(step if stock else f"In a litre: {step}")
    if dry_density is None:
        click.echo(f"Density of the powder {density:g} g/ml was taken as usual ({usual.low:g} to {usual.high:g}).")
    if want is not None and stock is not None:
        wanted, there = plain_number(want), volume_ml(stock)
        inputs = {"volume": there, "now": now, "wanted": wanted}
        if now > wanted:
            water = water_to_thin_ml(there, now, wanted)
            click.echo(
                Step("water to stir in", "volume * (now - wanted) / (wanted - 1)", inputs, water, "derived", "ml")
            )
        elif now < wanted:
            dry = dry_to_thicken_g(there, now, wanted, density)
            formula = "volume * (wanted - now) * dry_density / (dry_density - wanted)"
            click.echo(Step("dry batch to stir in", formula, inputs | {"dry_density": density}, dry, "derived", "g"))
            click.echo("Or let it settle, and pour clear water off.")
        else:
            click.echo("It is as wanted: leave it.")
    click.echo("It measures solids, not how the slip flows. Care: dry glaze is dust, wear a fitted respirator.")
