"""A recipe for a unity formula, at the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wareboard.glaze.material import Material
    from wareboard.glaze.target import Found

TITLES = {
    "exact": "It can be met exactly.",
    "closest": "It cannot be met exactly; this is the closest.",
    "none": "There is no such recipe.",
}


@click.command("glaze-recipe")
@click.argument("formula")
@click.option("--materials", type=click.Path(dir_okay=False), help="A table (CSV) of your own materials' analyses.")
@click.option("--own-only", is_flag=True, help="From those alone, not from the shipped table as well.")
@click.option("--price", "prices", multiple=True, help='A material and its price a kilogram, such as "kaolin=0.8".')
@click.option("--at-most", type=click.IntRange(min=1), help="At most so many materials.")
@click.option("--clay", default=None, help="At least so much clay, %.")
@click.option("--soluble", default=None, help="At most so much that is soluble in water, %.")
@click.option("--without", default="", help='Materials, oxides or hazards, such as "barium, zinc oxide".')
@click.option("--weigh", default="", help='Which oxides matter how much, such as "Al2O3 3".')
@click.option("--traces", default="0", help="Moles of an oxide not wanted that are let through.")
@click.option("--others", type=click.IntRange(0, 10), default=2, show_default=True, help="Other ways to rank after it.")
@click.option("--working", is_flag=True, help="Print the working.")
def glaze_recipe_command(
    formula: str,
    materials: str | None,
    own_only: bool,
    prices: tuple[str, ...],
    at_most: int | None,
    clay: str | None,
    soluble: str | None,
    without: str,
    weigh: str,
    traces: str,
    others: int,
    working: bool,
) -> None:
    """Print a recipe for a unity FORMULA such as "K2O 0.3, CaO 0.7, Al2O3 0.5, SiO2 4", from the shelf."""
    from wareboard.glaze.target import cheapest
    from wareboard.plan.fields import plain_number
    from wareboard.studio.glazes.boxes import from_nought, per_cent
    from wareboard.studio.glazes.formula_words import formula_in, left_out_of

    shelf = _shelf(materials, own_only)
    paid = _paid(prices, shelf)
    if paid:
        shelf = {name: entry for name, entry in shelf.items() if name in paid}
    found = cheapest(
        formula_in(formula), shelf, paid or None, max_materials=at_most,
        min_clay_share=per_cent(clay) if clay else 0.0, max_soluble_share=per_cent(soluble) if soluble else None,
        without=left_out_of(without, shelf), weights=formula_in(weigh) if weigh else None,
        traces_mol=from_nought(plain_number)(traces), alternatives=others,
    )  # fmt: skip
    _print(found, working)


def _shelf(materials: str | None, own_only: bool) -> Mapping[str, Material]:
    from pathlib import Path

    from wareboard.commands.glaze import own_materials
    from wareboard.errors import OutOfRange
    from wareboard.glaze.material import shelf

    own: dict[str, Any] = own_materials(Path(materials)) if materials else {}
    if own_only and not own:
        raise OutOfRange("your own materials alone", "none are given", "Give their table with --materials")
    return own if own_only else dict(shelf()) | own


def _paid(prices: tuple[str, ...], shelf: Mapping[str, Material]) -> dict[str, float]:
    from wareboard.commands.glaze import pairs_in
    from wareboard.glaze.material import material

    return {material(name, shelf).name: price for name, price in pairs_in(prices).items()}


def _print(found: Found, working: bool) -> None:
    click.echo(TITLES[found.status])
    for reason in found.reasons:
        click.echo(f"  {reason}")
    if found.binding:
        click.echo(f"Oxides in the way: {', '.join(found.binding)}.")
    if found.recipe is None:
        click.echo("Ways on: another material, a limit less, or traces let through.")
        return
    _parts(found)
    moles = ", ".join(f"{name} {count:.3f}" for name, count in found.unity.items() if count >= 0.0005)
    click.echo(f"Its unity formula: {moles}")
    click.echo("Proof: nothing does better." if found.proved else "Not proved in the time allowed.")
    if found.fired_cost is not None:
        click.echo("Ranked by what a kilogram of fired glaze costs: what is lost in the fire is paid for too.")
    for number, other in enumerate(found.alternatives, start=1):
        click.echo(f"Other way {number}, {other.error:.3f} mol off:")
        _parts(other)
    click.echo("Its cautions: wareboard unity. Care: dry glaze is dust, wear a fitted respirator.")
    if working:
        for step in found.steps:
            click.echo(step)


def _parts(found: Found) -> None:
    assert found.recipe is not None
    for name, amount in found.recipe.base.items():
        click.echo(f"  {amount:7.2f}  {name}")
    if found.fired_cost is not None:
        click.echo(
            f"  cost of a kilogram of dry mix {found.cost:.2f}, of what a kilogram fired takes {found.fired_cost:.2f}"
        )
