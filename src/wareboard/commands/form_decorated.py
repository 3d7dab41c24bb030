"""`wareboard form decorated`: a form of a brief with its mark, its painting or both on it, to turn in another program."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wareboard.commands.written import TO_WRITE, replace_option, written
from wareboard.errors import OutOfRange, Unreadable

if TYPE_CHECKING:
    from wareboard.form.skin import Skin
    from wareboard.plan.mark_in_round import MarkOnSolid
    from wareboard.plan.painting_in_round import Spot
    from wareboard.plan.result import FormPlan

FILE = click.Path(dir_okay=False, path_type=Path)
MARKED = ("leather-hard", "dry", "bisque", "fired")
PREVIEW = (
    "A preview: a screen is not glaze, and fired colour varies from firing to firing. Go by the numbers of the zones."
)


@click.command("decorated")
@click.argument("brief", type=FILE)
@click.option("--form", "name", help="Name of the form in the brief, or the beginning of it; the first when left out.")
@click.option("--mark", type=FILE, help="Drawing of the mark, SVG or a picture.")
@click.option("--height", help="Height of the mark when fired.")
@click.option("--at", help="Height of the mark's middle above the foot when fired; half way up if left out.")
@click.option("--count", type=int, default=1, show_default=True, help="How many marks round the piece.")
@click.option(
    "--stage",
    type=click.Choice(MARKED),
    show_default="fired",
    help="Stage of a marked piece; a painting is shown at its own.",
)
@click.option("--painting", type=FILE, help="Picture that goes round the piece; needs --tiles.")
@click.option("--tiles", type=FILE, help="The fired tiles, .toml or .csv.")
@click.option("--look", type=click.Choice(["raw", "fired"]), default="fired", show_default=True, help="Of a painting.")
@click.option("--coats", type=int, default=5, show_default=True, help="How many coats at most, one glaze to a coat.")
@click.option("--brush", default="3 mm", show_default=True, help="Nothing is painted thinner than this.")
@click.option("--off-rim", default="0 mm", show_default=True, help="Wall left free at the rim, fired.")
@click.option("--off-foot", default="0 mm", show_default=True, help="Wall left free at the foot, fired.")
@click.option("--repeats", type=int, help="How often the artwork goes round; as stretches it least if left out.")
@click.option("--inside", is_flag=True, help="Paint the inside, from its middle to the rim, as on a plate.")
@click.option(
    "--turn", type=int, default=0, show_default=True, help="Of a drawing: degrees; 0 has the handle on the right."
)
@click.option(
    "--tip", type=click.IntRange(-85, 85), default=20, show_default=True, help="Of a drawing: degrees from above."
)
@click.option(
    "--out", type=TO_WRITE, required=True, help="File to write: .glb to turn, .svg for a drawing from one side."
)
@replace_option
def decorated_command(brief: Path, name: str | None, out: Path, **given: Any) -> None:
    """Write a form of BRIEF with its mark, its painting raw or fired, or both, on the wall of its solid."""
    from wareboard.commands.form import form_of, plan_of
    from wareboard.form.solid_files import glb
    from wareboard.plan.in_round import view_with_mark, view_with_painting
    from wareboard.plan.solids import solid_at

    if out.suffix.lower() not in (".glb", ".svg"):
        raise Unreadable(out.name, "it is written as .glb or .svg", "End the file's name in one of them")
    if given["mark"] is None and given["painting"] is None:
        raise OutOfRange("mark and painting", why="neither is given", mend="Give --mark, --painting or both")
    form = form_of(plan_of(brief), name)
    stage = _stage(given)
    mark = _mark(form, given, stage) if given["mark"] else None
    skin, spots = _painting(form, given) if given["painting"] else (None, ())
    with_it = ", ".join(["with its mark"] * (mark is not None) + [f"painted, {given['look']}"] * (skin is not None))
    words = f"{form.name} {with_it}, {stage}"
    if out.suffix.lower() == ".glb":
        content = glb(solid_at(form, stage), form.name, stage, mark.ribbon() if mark else None, skin)
    else:
        seen = (stage, given["turn"], given["tip"], f"{words}: preview", None)
        drawn = (
            view_with_mark(form, mark, *seen) if skin is None else view_with_painting(form, skin, spots, *seen, mark)
        )
        content = drawn.encode()
    written(out, content, say=False)
    click.echo(f"{words}: {out} written ({len(content) / 1000:.0f} kB)")
    click.echo(PREVIEW if skin else "A drawing of the form, not the piece itself.")


def _stage(given: dict[str, Any]) -> str:
    from wareboard.plan.painting_in_round import PAINTED_STAGES

    asked: str | None = given["stage"]
    if given["painting"] is None:
        return asked or "fired"
    own = PAINTED_STAGES[given["look"]]
    if asked not in (None, own):
        raise OutOfRange(
            f"stage {asked}", why=f"a painting that is {given['look']} is shown {own}", mend="Leave it out"
        )
    return own


def _mark(form: FormPlan, given: dict[str, Any], stage: str) -> MarkOnSolid:
    from wareboard.given import positive
    from wareboard.named_file import bytes_of
    from wareboard.plan.mark_in_round import mark_on_solid
    from wareboard.plan.marked import MarkAsked, drawing_from, marked
    from wareboard.quantities import length_mm

    if given["height"] is None:
        raise OutOfRange("size of the mark", why="it is not given", mend="Say how high it is when fired: --height")
    high = positive(length_mm(given["height"]), "height of the mark", "mm")
    at = None if given["at"] is None else positive(length_mm(given["at"]), "height of its middle", "mm")
    asked = MarkAsked(height_mm=high, at_mm=at, count=given["count"])
    drawing = drawing_from(bytes_of(given["mark"]), given["mark"].name, asked)
    return mark_on_solid(marked(drawing, form, asked), form, stage)


def _painting(form: FormPlan, given: dict[str, Any]) -> tuple[Skin, tuple[Spot, ...]]:
    from wareboard.commands.paint import tiles_from
    from wareboard.pictures import picture_from_file
    from wareboard.plan.painted import PaintAsked, painted
    from wareboard.plan.painting_in_round import painting_skin, spots
    from wareboard.quantities import length_mm

    if given["tiles"] is None:
        raise OutOfRange("tiles", why="a painting is matched to tiles that were fired", mend="Give their file: --tiles")
    asked = PaintAsked(
        coats=given["coats"],
        brush_mm=length_mm(given["brush"]),
        off_foot_mm=length_mm(given["off_foot"]),
        off_rim_mm=length_mm(given["off_rim"]),
        repeats=given["repeats"],
        inside=given["inside"],
    )
    found = painted(picture_from_file(given["painting"]), tiles_from(given["tiles"]), form, asked)
    for note in found.notes:
        click.echo(f"note: {note}")
    for place, tile in enumerate(found.found.tiles, start=1):
        click.echo(f"zone {place}: {tile.name}")
    look = given["look"]
    return painting_skin(found, form, look), spots(found, form, look)
