"""`wareboard mark`: a drawing made into life-size templates for the curved leather-hard wall."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wareboard.commands.written import TO_WRITE, refuse_any_standing, replace_option, written
from wareboard.working import per_cent

if TYPE_CHECKING:
    from wareboard.form.profile import Profile
    from wareboard.mark.drawing import Drawing
    from wareboard.mark.page import Page
    from wareboard.mark.placing import Placing
    from wareboard.mark.scale import Shrinkage
    from wareboard.mark.template import Template
    from wareboard.working import Step

FILE = click.Path(dir_okay=False, path_type=Path)
PERMISSION = "Ask whoever owns a mark that is not your own before you carve it."


@click.command("mark")
@click.argument("drawing", type=FILE)
@click.option("--form", help="Of a brief: the form that is carved, where it has several.")
@click.option("--today", type=click.DateTime(["%Y-%m-%d"]), help="Of a brief: plan as if it were this day.")
@click.option("--width", help="Width of the mark when fired.")
@click.option("--height", help="Height of the mark when fired, if its width is not given.")
@click.option("--shape", default="cylinder", show_default=True, help="Shape of the piece.")
@click.option("--tall", help="Height of the piece when fired.")
@click.option("--rim", help="Diameter at the rim when fired.")
@click.option("--foot", help="Diameter at the foot when fired; the shape's usual one if left out.")
@click.option("--belly", help="Greatest diameter when fired, where the shape has a belly.")
@click.option("--wall", help="Thickness of the wall when fired; the shape's usual one if left out.")
@click.option("--at", help="Height of the mark's middle above the foot when fired; half way up if left out.")
@click.option("--shrinkage", help="Total shrinkage round the piece; the usual one if left out.")
@click.option("--shrinkage-up", help="Total shrinkage in height; as round the piece if left out.")
@click.option("--so-far", help="Shrinkage already gone at leather-hard; the usual one if left out.")
@click.option("--count", type=int, help="How many marks round each piece.")
@click.option("--pitch", help="Wanted distance between marks when fired, instead of --count.")
@click.option("--handle", help="Width of the handle's root when fired, to keep clear of.")
@click.option("--groove", help="Narrowest groove when fired; the usual one if left out.")
@click.option("--trace", type=click.Choice(["lines", "outlines"]), default="lines", show_default=True)
@click.option("--cut", type=click.Choice(["incised", "raised"]), default="incised", show_default=True)
@click.option("--lay", type=click.Choice(["plain", "level"]), default="plain", show_default=True)
@click.option("--top", help="Height when fired at which the paper's top edge lies; under the lip if left out.")
@click.option("--mirror", is_flag=True, help="Turn the templates left for right, to be laid face down.")
@click.option("--light-on-dark", is_flag=True, help="The picture shows light lines on a dark ground.")
@click.option("--copies", type=int, default=1, show_default=True, help="How many templates.")
@click.option("--fill", is_flag=True, help="Fill the page with spare copies.")
@click.option("--paper", default="a4", show_default=True, help="a4, letter or a3.")
@click.option("--out", type=TO_WRITE, help="Write the page into this SVG file (more pages beside it).")
@click.option("--give", type=TO_WRITE, help="Write a picture of how far the paper must give into this SVG file.")
@replace_option
@click.option("--working", is_flag=True, help="Print the working of every number.")
@click.pass_context
def mark_command(context: click.Context, /, drawing: Path, **given: Any) -> None:
    """Make life-size templates of the mark in the file DRAWING for a leather-hard piece, and say where it goes.

    DRAWING may also be a brief (.toml) that names its drawing; then the piece is the brief's form.
    """
    if drawing.suffix.lower() == ".toml":
        _mark_by_brief(context, drawing, given)
        return
    for name in ("tall", "rim"):
        if given[name] is None:
            raise click.UsageError(f"Missing option '--{name}'.", context)
    from wareboard.mark.drawing import fineness
    from wareboard.mark.page import pages
    from wareboard.mark.scale import figure, greatest_depth, least_groove, leather_hard_size
    from wareboard.mark.template import template

    across, up, source = _shrinkages(given)
    asked = _drawing(drawing, given).sized(_length(given["width"], "width"), _length(given["height"], "height"))
    size = leather_hard_size(max(asked.width_mm, 1e-6), max(asked.height_mm, 1e-6), across, up)
    laid = asked.scaled(size.width_factor, size.height_factor)
    fired, piece = _piece(given, across, up)
    middle = (_length(given["at"], "at") or fired.height_mm / 2) * up.to_come
    top = (_length(given["top"], "top") or fired.height_mm - fired.lip_mm) * up.to_come
    groove = least_groove(across, _length(given["groove"], "groove"))
    land = figure("least land between grooves").value * across.to_come
    made = template(laid, piece, middle, top, given["lay"], given["mirror"])
    places = _places(piece, laid, middle, given, across)
    sheets = pages([made], given["copies"], given["paper"], f"{drawing.stem}, {given['cut']}", given["fill"])
    depth = greatest_depth(piece.wall_at_mm(middle))
    _say(laid, made, places, [groove.value, depth.value], fineness(laid, groove.value, land).words, source)
    if given["working"]:
        _print_working([*size.steps, groove, depth, *places.steps, *made.distortion.steps])
    _written(given, sheets, made)


def _mark_by_brief(context: click.Context, brief: Path, given: Mapping[str, Any]) -> None:
    """The mark that a brief names, said and written as that of a drawing given by hand; what was typed goes first."""
    from wareboard.commands.by_brief import BESIDE_MARK, OF_MARK, planned, refuse_others, said, the_form
    from wareboard.plan.artwork import mark_on

    refuse_others(context, brief, {*OF_MARK, *BESIDE_MARK}, "")
    plan = planned(brief, given["today"])
    form = the_form(plan, "carving", given["form"])
    typed = said(context)
    changed = {
        key: _length(given[name], name) if key.endswith("_mm") else given[name]
        for name, key in OF_MARK.items()
        if name in typed
    }
    if "width_mm" in changed and "height_mm" not in changed:
        changed["height_mm"] = None  # a width that is typed goes before the height in the brief
    made = mark_on(plan, form, brief.resolve().parent, **changed)
    loss = form.loss_width
    total = f"shrinkage {per_cent(loss.fired, 1)} in all, {per_cent(loss.leather_hard, 1)} gone (as planned)"
    _say(
        made.drawing, made.made, made.places, [made.groove.value, made.depth.value], made.fine, f"{form.name}: {total}"
    )
    if given["working"]:
        _print_working(made.steps)
    _written(given, made.pages, made.made)


def _length(words: str | None, name: str) -> float | None:
    """A length above 0 from its words; None where it was left out."""
    from wareboard.given import positive
    from wareboard.quantities import length_mm

    return None if words is None else positive(length_mm(words), name, "mm")


def _shrinkages(given: Mapping[str, Any]) -> tuple[Shrinkage, Shrinkage, str]:
    """Shrinkage round and up through every stage, and whose word it is."""
    from wareboard.clay.shrinkage import stage_loss
    from wareboard.mark.scale import Shrinkage
    from wareboard.quantities import share
    from wareboard.reference import default, source_words

    usual = default("clay.shrinkage")
    round_it = usual.value if given["shrinkage"] is None else share(given["shrinkage"])
    upwards = round_it if given["shrinkage_up"] is None else share(given["shrinkage_up"])
    so_far = None if given["so_far"] is None else share(given["so_far"])
    found = []
    for total in (round_it, upwards):
        loss = stage_loss(total, leather_hard=so_far)
        found.append(Shrinkage(total, loss.leather_hard, {"dry": loss.dry, "bisque": loss.bisque}))
    said = f"default, {source_words(usual.source)}" if given["shrinkage"] is None else "given"
    gone = "usual at leather-hard" if so_far is None else "given"
    left = per_cent(found[0].leather_hard, 1)
    return found[0], found[1], f"shrinkage {per_cent(round_it, 1)} in all ({said}), {left} gone ({gone})"


def _piece(given: Mapping[str, Any], across: Shrinkage, up: Shrinkage) -> tuple[Profile, Profile]:
    """The piece fired, and at leather-hard."""
    from wareboard.form.profile import standard

    sizes = {name: _length(given[name], name) for name in ("tall", "rim", "foot", "belly", "wall")}
    fired = standard(
        given["shape"],
        sizes["tall"] or 0.0,
        sizes["rim"] or 0.0,
        foot_mm=sizes["foot"],
        belly_mm=sizes["belly"],
        wall_mm=sizes["wall"],
    )
    return fired, fired.scaled(up.to_come, across.to_come)


def _places(piece: Profile, laid: Drawing, middle: float, given: Mapping[str, Any], across: Shrinkage) -> Placing:
    from wareboard.mark.placing import Keep, placed

    handle, pitch = ((_length(given[name], name) or 0.0) * across.to_come for name in ("handle", "pitch"))
    wide, high = max(laid.width_mm, 1e-6), max(laid.height_mm, 1e-6)
    return placed(piece, wide, high, middle, given["count"], pitch or None, Keep(handle_mm=handle))


def _say(laid: Drawing, made: Template, places: Placing, cuts: Sequence[float], fine: str, source: str) -> None:
    click.echo(f"mark at leather-hard: {laid.width_mm:.2f} mm wide, {laid.height_mm:.2f} mm high; {source}")
    for note in laid.notes:
        click.echo(f"note: {note}")
    click.echo(
        f"cut {laid.cut}, at least {cuts[0]:.1f} mm wide and at most {cuts[1]:.1f} mm deep; {laid.length_mm:.0f} mm of line"
    )
    click.echo(fine)
    click.echo(made.distortion.words)
    click.echo(f"{places.words}:")
    for place in places.places:
        click.echo(f"  {place.words}")
    click.echo(
        f"template: {made.width_mm:.1f} by {made.height_mm:.1f} mm; its thick edge lies {made.top_words}, by tape"
    )
    click.echo(PERMISSION)


def _print_working(steps: Sequence[Step]) -> None:
    for step in steps:
        click.echo(step)


def _written(given: Mapping[str, Any], sheets: Sequence[Page], made: Template) -> None:
    from wareboard.mark.distortion import picture_svg

    out: Path | None = given["out"]
    if out is not None:
        others = (out.with_name(f"{out.stem}-{number}{out.suffix}") for number in range(2, len(sheets) + 1))
        places = [out, *others]
        refuse_any_standing(places)
        for place, page in zip(places, sheets, strict=True):
            written(place, page.svg())
    if given["give"] is not None:
        written(given["give"], picture_svg(made.patch))


def _drawing(place: Path, given: Mapping[str, Any]) -> Drawing:
    from wareboard.errors import placed
    from wareboard.named_file import bytes_of
    from wareboard.plan.marked import MarkAsked, drawing_from

    asked = MarkAsked(kind=given["trace"], cut=given["cut"], light_on_dark=given["light_on_dark"])
    data = bytes_of(place)
    with placed(place.name):
        return drawing_from(data, place.name, asked)
