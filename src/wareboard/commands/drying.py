"""Drying at the command line: when a piece is leather-hard, joinable and dry, and whether ware is dry enough for bisque."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from wareboard.clay.air import Air
    from wareboard.clay.damp_piece import Piece, Spell
    from wareboard.clay.drying_belief import Belief
    from wareboard.clay.weighed import Weighing
    from wareboard.working import Estimate, Step

HOURS_SHOWN_AS_HOURS = 48.0
WATER_APART = 0.015  # a given water of the clay is taken as right within this share, nine times in ten


@click.command("drying")
@click.option("--width", help='Outside width as thrown, such as "90 mm" (a plate: over all).')
@click.option("--height", help="Outside height as thrown (a plate: of its rim).")
@click.option("--wall", default="5 mm", show_default=True, help="Thickness of the wet wall.")
@click.option("--base", default="6 mm", show_default=True, help="Thickness of the wet base.")
@click.option("--weight", help="Wet weight at the start; alone, or beside the sizes to set them right.")
@click.option("--water", help='Water of the clay as thrown, share of its wet weight ("21 %").')
@click.option("--room", default="20 C", show_default=True, help="Temperature of the room.")
@click.option("--humidity", default="55 %", show_default=True, help="Relative humidity of the room.")
@click.option("--cover", default="open", show_default=True, help="open, light film or tight wrap.")
@click.option("--draught", default="still", show_default=True, help="still, or a fan on the shelf.")
@click.option("--standing", default="board", show_default=True, help="On a board, on a rack, or upturned.")
@click.option("--spell", "spells", multiple=True, help='One after another: "8 h open", "24 h tight", "open upturned".')
@click.option("--handle", help='A handle for it, wet: length, width and thickness ("160 x 22 x 8 mm").')
@click.option("--handle-after", default="0 h", show_default=True, help="How long after the cup the handle is pulled.")
@click.option("--weighed", multiple=True, help='A weighing of this piece, from the start: "12 h = 318 g".')
@click.option("--scale", default="1 g", show_default=True, help="Greatest error of one weight.")
@click.option("--working", is_flag=True, help="Print the working of every number.")
def drying_command(**given: object) -> None:
    """Print when a piece is leather-hard, when a handle can go on, and when it is bone dry, with ranges."""
    _print_drying(given)


def _print_drying(given: dict[str, object]) -> None:
    from wareboard.clay.ready import drying

    water = _water(given["water"])
    piece, spells = _piece(given, water.value), _spells(given)
    belief, taught = _belief(given, piece, spells, water)
    found = drying(piece, spells, belief)
    steps: list[Step] = list(found.steps)
    click.echo(f"leather-hard from {_hours(found.leather_hard_from_h)}, at about {found.leather_hard_g.value:.0f} g")
    click.echo(f"leather-hard until {_hours(found.leather_hard_until_h)}")
    click.echo(f"bone dry after {_hours(found.bone_dry_h)}, at about {found.bone_dry_g.value:.0f} g")
    if len(found.parts) > 1:
        for part in found.parts:
            click.echo(
                f"  {part.name}: leather-hard from {_hours(part.leather_hard_from_h)}, dry after {_hours(part.bone_dry_h)}"
            )
    if given["handle"]:
        steps += _print_joining(given, piece, spells, belief, water.value)
    click.echo(taught + found.words)
    if given["working"]:
        for step in steps:
            click.echo(step)


def _hours(found: Estimate) -> str:
    unit, size = ("h", 1.0) if found.value < HOURS_SHOWN_AS_HOURS else ("days", 24.0)
    digits = 0 if unit == "h" else 1
    value, low, high = (f"{each / size:.{digits}f}" for each in (found.value, found.low, found.high))
    return f"{value} {unit} ({low} to {high})"


def _water(written: object) -> Estimate:
    """Water at the start on the dry weight, from its share of the wet weight."""
    from wareboard.clay.body import water_dry_basis
    from wareboard.clay.drying_figures import figure
    from wareboard.quantities import share
    from wareboard.working import Estimate

    if written is None:
        return figure("water as thrown")
    wet = share(str(written))
    value, low, high = (water_dry_basis(max(0.0, each)) for each in (wet, wet - WATER_APART, wet + WATER_APART))
    return Estimate(value, low, high, "given")


def _piece(given: dict[str, object], water: float) -> Piece:
    from dataclasses import replace

    from wareboard.clay.damp_piece import straight_piece, weighed_piece
    from wareboard.errors import Unreadable
    from wareboard.quantities import length_mm, mass_g

    wall_mm = length_mm(str(given["wall"]))
    if given["width"] and given["height"]:
        width_mm, height_mm, base_mm = (length_mm(str(given[name])) for name in ("width", "height", "base"))
        return straight_piece(width_mm, height_mm, wall_mm, base_mm, water)
    if given["weight"] and not (given["width"] or given["height"]):
        # The wet weight is known and the water is not, so the dry weight is only as sure as that: see `_belief`.
        return replace(weighed_piece(mass_g(str(given["weight"])) / (1.0 + water), wall_mm, water), sized=True)
    raise Unreadable(
        "the piece", "its size is not given", "Give --width and --height as thrown, or --weight and --wall"
    )


def _spells(given: dict[str, object]) -> tuple[Spell, ...]:
    from wareboard.clay.air import Air
    from wareboard.quantities import share, temperature_c

    air = Air(temperature_c(str(given["room"])), share(str(given["humidity"])))
    usual = {name: str(given[name]) for name in ("cover", "draught", "standing")}
    written = given["spells"]
    texts = [str(each) for each in written] if isinstance(written, tuple) else []
    return tuple(_spell(text, air, usual) for text in texts or [""])


def _spell(text: str, air: Air, usual: dict[str, str]) -> Spell:
    """One spell from its words, in any order; what is not said is as the options have it."""
    from wareboard.clay.damp_piece import DRAUGHTS, STANDINGS, Spell
    from wareboard.clay.drying import COVERS
    from wareboard.quantities import duration_s

    said, left = dict(usual), []
    for word in text.lower().replace(",", " ").split():
        for name, known in (("cover", COVERS), ("draught", DRAUGHTS), ("standing", STANDINGS)):
            if word in known:
                said[name] = word
                break
        else:
            left.append(word)
    hours = {"hours": duration_s(" ".join(left), bare="h") / 3600.0} if left else {}
    return Spell(air, cover=said["cover"], draught=said["draught"], standing=said["standing"], **hours)


def _belief(given: dict[str, object], piece: Piece, spells: tuple[Spell, ...], water: Estimate) -> tuple[Belief, str]:
    """What is believed before or, where there are weights, after them; and what the weights said."""
    from wareboard.clay.drying_belief import usual_belief
    from wareboard.clay.weighed import Weighing, learned
    from wareboard.quantities import mass_g

    usual = usual_belief(piece, spells[0], start=water)
    written = given["weighed"]
    weighings = [_weighing(str(each)) for each in written] if isinstance(written, tuple) else []
    if given["weight"]:
        weighings.append(Weighing(0.0, mass_g(str(given["weight"]))))
    if not weighings:
        return usual, ""
    taught = learned(piece, spells, weighings, usual, mass_g(str(given["scale"])))
    return taught.belief, f"{taught.words} " if len(weighings) > 1 else ""


def _weighing(text: str) -> Weighing:
    from wareboard.clay.weighed import Weighing
    from wareboard.errors import Unreadable
    from wareboard.quantities import duration_s, mass_g

    when, equals, weight = text.partition("=")
    if not equals:
        raise Unreadable(repr(text), "a weighing is a time and a weight", 'Write it as "12 h = 318 g"')
    return Weighing(duration_s(when.strip(), bare="h") / 3600.0, mass_g(weight.strip()))


def _print_joining(
    given: dict[str, object], piece: Piece, spells: tuple[Spell, ...], belief: Belief, water: float
) -> list[Step]:
    from wareboard.clay.damp_piece import handle_piece
    from wareboard.clay.joining import joining
    from wareboard.errors import Unreadable
    from wareboard.quantities import duration_s, length_mm

    sizes = [part.strip() for part in str(given["handle"]).lower().replace("×", "x").split("x")]
    if len(sizes) != 3:
        raise Unreadable(
            repr(given["handle"]), "a handle has a length, a width and a thickness", 'Write it as "160 x 22 x 8 mm"'
        )
    length, across, thickness = (length_mm(size) for size in sizes)
    strap = handle_piece(length, across, thickness, water)
    found = joining(
        piece, strap, spells, handle_after_h=duration_s(str(given["handle_after"]), bare="h") / 3600.0, belief=belief
    )
    if found.from_h and found.until_h:
        click.echo(f"join the handle from {_hours(found.from_h)}")
        click.echo(f"join the handle until {_hours(found.until_h)}")
    click.echo(found.words)
    return list(found.steps)


@click.command("dry-enough")
@click.argument("weights", nargs=-1, required=True)
@click.option("--every", default="24 h", show_default=True, help="Time between the weighings.")
@click.option("--dry", help="Known dry weight of the same piece; one weight is then enough.")
@click.option("--dry-apart", default="1 %", show_default=True, help="How far the known dry weight may be off.")
@click.option("--scale", default="1 g", show_default=True, help="Greatest error of one weight.")
def dry_enough_command(weights: tuple[str, ...], every: str, dry: str | None, dry_apart: str, scale: str) -> None:
    """Say whether ware is dry enough for bisque from WEIGHTS: two or three at even times, earliest first."""
    from wareboard.clay.dry_enough import by_dry_weight, by_three_weighings, by_two_weighings
    from wareboard.errors import Unreadable
    from wareboard.quantities import duration_s, mass_g, share
    from wareboard.working import Estimate

    given_g, hours, scale_g = [mass_g(each) for each in weights], duration_s(every, bare="h") / 3600.0, mass_g(scale)
    if dry is not None and len(given_g) == 1:
        dry_g, apart = mass_g(dry), share(dry_apart)
        known = Estimate(dry_g, dry_g * (1.0 - apart), dry_g * (1.0 + apart), "given")
        found = by_dry_weight(given_g[0], known, scale_g)
    elif dry is None and len(given_g) in (2, 3):
        found = by_two_weighings(given_g[-2], given_g[-1], hours, scale_g)
    else:
        raise Unreadable(
            f"{len(given_g)} weights", "that does not tell", "Give two or three weights, or one weight and --dry"
        )
    click.echo(found.words)
    steps = list(found.steps)
    if len(given_g) == 3 and given_g[0] - given_g[1] > given_g[1] - given_g[2] > 0:
        tail = by_three_weighings(given_g[0], given_g[1], given_g[2], hours)
        click.echo(f"It runs to about {tail.end_g:.0f} g and is dry enough in about {tail.days_to_go:.1f} days.")
        steps += tail.steps
    for step in steps:
        click.echo(step)
