"""Look-ups at the command line: wet sizes, cones, how many to start, the usual figures. Each prints its working."""

from __future__ import annotations

import click


@click.command("wet-size")
@click.argument("fired")
@click.option("--shrinkage", required=True, help='Total linear shrinkage, such as "12 %".')
def wet_size_command(fired: str, shrinkage: str) -> None:
    """Print what to throw for a FIRED length ("95 mm", "3 3/4 in"), stage by stage, with the working."""
    from wareboard.clay.shrinkage import lengths_by_stage, stage_loss
    from wareboard.quantities import length_mm, share

    for step in lengths_by_stage(length_mm(fired), stage_loss(share(shrinkage)), what="length").steps:
        click.echo(step)


@click.command("cone")
@click.argument("cone")
@click.option("--rate", default="60", show_default=True, help="Rate of the last 100 °C, °C an hour.")
@click.option("--form", default="self-supporting", show_default=True, help="Form of the cone.")
def cone_command(cone: str, rate: str, form: str) -> None:
    """Print the temperature at which CONE is down at a heating rate, with form, rate and chart named."""
    from wareboard.kiln.cone import reading
    from wareboard.plan.fields import plain_number
    from wareboard.quantities import cone_name

    found = reading(cone_name(cone), plain_number(rate), form)
    for step in found.steps:
        click.echo(step)
    click.echo("Look into a hot kiln only through infrared-rated glasses (welding type), never sunglasses.")


@click.command("start-count")
@click.argument("wanted", type=int)
@click.option("--good", default="86 %", show_default=True, help="Share of pieces started that end as firsts.")
@click.option("--chance", default="90 %", show_default=True, help="Chance wanted of having enough.")
@click.option(
    "--correlation", default="0.05", show_default=True, help="How far losses come by the load (0: one by one)."
)
def start_count_command(wanted: int, good: str, chance: str, correlation: str) -> None:
    """Print how many to start so that WANTED come out good, with losses that come by the load."""
    from wareboard.plan.overage import StageYield, how_many_to_start
    from wareboard.quantities import share

    through = share(good)
    stages = (StageYield("all stages", through, through, through, "given"),)
    for step in how_many_to_start(wanted, stages, chance=share(chance), correlation=share(correlation)).steps:
        click.echo(step)


@click.command("defaults")
@click.argument("word", default="")
def defaults_command(word: str) -> None:
    """Print the usual figures used where none is given, with range and source; only those that hold WORD, if given."""
    from wareboard.reference import defaults, source_words

    for figure in defaults():
        if word in figure.key or word in figure.label:
            unit = f" {figure.unit}" if figure.unit else ""
            reach = f"{figure.value:g}{unit} ({figure.low:g} to {figure.high:g})"
            click.echo(f"{figure.key}: {reach}, {figure.label} [{source_words(figure.source)}]")
