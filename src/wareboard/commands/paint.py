"""`wareboard paint`: an artwork and tiles made into zones, order of coats, amounts and the painter's cards.

`wareboard tile-colour`: the colour of a tile from a photograph with a reference card or a grey patch in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wareboard.commands.dots import numbers_in
from wareboard.commands.written import refuse_any_standing, replace_option, written
from wareboard.working import per_cent

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from wareboard.paint.amounts import Amounts
    from wareboard.paint.card_svg import Sheet
    from wareboard.paint.coats import Coat
    from wareboard.paint.correction import Correction
    from wareboard.paint.layers import Zones
    from wareboard.paint.laying import Laying
    from wareboard.paint.left_bare import LeftBare
    from wareboard.paint.order import Order, Rule
    from wareboard.paint.tiles import Tile
    from wareboard.working import Estimate

FILE = click.Path(dir_okay=False, path_type=Path)
DAY = click.DateTime(["%Y-%m-%d"])
FOLDER = click.Path(file_okay=False, path_type=Path)
CAUTION = "Glazes are not for the mouth: no brush pointed with the lips, no eating; wash hands."


@click.command("paint")
@click.argument("artwork", type=FILE)
@click.argument("tiles", type=FILE, required=False)
@click.option("--form", help="Of a brief: the form that is painted, where it has several.")
@click.option("--today", type=DAY, help="Of a brief: plan as if it were this day.")
@click.option("--coats", type=int, default=5, show_default=True, help="How many coats at most, one glaze to a coat.")
@click.option("--brush", default="3 mm", show_default=True, help="Nothing is painted thinner than this.")
@click.option("--shape", default="cylinder", show_default=True, help="Shape of the piece.")
@click.option("--tall", help="Height of the piece when fired.")
@click.option("--rim", help="Diameter at the rim when fired.")
@click.option("--foot", help="Diameter at the foot when fired; the shape's usual one if left out.")
@click.option("--belly", help="Greatest diameter when fired, where the shape has a belly.")
@click.option("--inside", is_flag=True, help="Paint the inside, from its middle to the rim, as on a plate.")
@click.option("--flat", help="Instead of a piece: width of the artwork when fired, drawn flat.")
@click.option("--shrinkage", help="Total shrinkage; the usual one if left out. It sets the size at bisque.")
@click.option(
    "--off-foot", default="0 mm", show_default=True, help="Wall left free at the foot, fired (or the middle)."
)
@click.option("--off-rim", default="0 mm", show_default=True, help="Wall left free at the rim, fired.")
@click.option("--repeats", type=int, help="How often the artwork goes round; as stretches it least if left out.")
@click.option("--pieces", type=int, default=1, show_default=True, help="How many pieces are painted.")
@click.option("--body", default="", help="Body of the piece, as the tiles name it.")
@click.option("--cone", default="", help="Cone of the glaze firing.")
@click.option("--rules", type=FILE, help="The workshop's own rules: a .toml with a [[rule]] for each.")
@click.option("--facing", default="0 %", show_default=True, help="Which part of the way round the preview shows.")
@click.option("--out", type=FOLDER, help="Folder for the painter's cards and the preview, SVG.")
@replace_option
@click.option("--working", is_flag=True, help="Print the working of every number.")
@click.pass_context
def paint_command(context: click.Context, /, artwork: Path, tiles: Path | None, **given: Any) -> None:
    """Make zones, coats and their order of the picture ARTWORK with the fired tiles in the file TILES (.toml or .csv).

    ARTWORK may also be a brief (.toml) that names its artwork and tiles; then TILES and the piece's sizes are left out.
    """
    if tiles is None:
        _paint_by_brief(context, artwork, given)
        return
    from wareboard.paint.amounts import amounts
    from wareboard.paint.layers import zones
    from wareboard.paint.order import order_of_coats, reaches, usual_rules
    from wareboard.pictures import picture_from_file
    from wareboard.plan.painted import artwork_on
    from wareboard.quantities import length_mm

    usable = tiles_from(tiles, given["body"], given["cone"])
    picture, notes = artwork_on(picture_from_file(artwork), usable)
    bisque_share, said = _bisque(given["shrinkage"])
    laid, scale_mm = _laid(given, picture.shape, bisque_share)
    brush_mm = length_mm(given["brush"])
    found = zones(picture, usable, given["coats"], brush_mm, scale_mm, joined=laid is not None and laid.joined)
    areas = found.areas_mm2 if laid is None else laid.areas_mm2(found.labels)
    rules = (*usual_rules(found.tiles), *_rules(given["rules"], usable))
    reach = None
    if laid is not None:
        reach = reaches(found.coats, found.tiles, found.labels, laid.row_mm, laid.off_foot_mm, laid.off_rim_mm)
    order = order_of_coats(found.coats, found.tiles, rules, reach)
    worked = amounts(areas, found.tiles, found.coats, given["pieces"])
    for note in (*notes, *(laid.notes if laid else ()), *found.notes):
        click.echo(f"note: {note}")
    click.echo(f"sizes are at bisque, {bisque_share:.3f} times fired ({said})")
    _say_zones(found, areas)
    _say_order(order, worked)
    _say_job(worked, given["pieces"])
    if given["out"] is not None:
        _write(given, artwork.stem, found, laid, order, worked)
    if given["working"]:
        for step in (*found.steps, *worked.steps):
            click.echo(step)


def _paint_by_brief(context: click.Context, brief: Path, given: dict[str, Any]) -> None:
    """The painting that a brief names, said and written as that of a picture given by hand."""
    from wareboard.commands.by_brief import OF_PAINTING, planned, refuse_others, the_form
    from wareboard.plan.artwork import painting_on

    refuse_others(context, brief, OF_PAINTING, "TILES")
    plan = planned(brief, given["today"])
    form = the_form(plan, "brushwork", given["form"])
    rules = _rules(given["rules"], ())
    made = painting_on(plan, form, brief.resolve().parent, rules)
    for note in made.notes:
        click.echo(f"note: {note}")
    click.echo(f"{form.name}: sizes are at bisque, {made.bisque_share:.3f} times fired (as planned)")
    _say_zones(made.found, made.worked.areas_mm2)
    _say_order(made.order, made.worked)
    _say_job(made.worked, made.pieces)
    if given["out"] is not None:
        _write({**given, "pieces": made.pieces, "inside": made.inside}, form.name, made.found, made.laid, made.order,
               made.worked, made.bare)  # fmt: skip
    if given["working"]:
        for step in (*made.found.steps, *made.worked.steps):
            click.echo(step)


def tiles_from(file: Path, body: str = "", cone: str = "") -> tuple[Tile, ...]:
    """The tiles that go together on one piece, with cones as the chart spells them."""
    from wareboard.errors import placed
    from wareboard.kiln.chart import cone_name
    from wareboard.named_file import bytes_of
    from wareboard.paint.tiles import for_one_piece
    from wareboard.plan.artwork import tiles_in

    data = bytes_of(file)
    with placed(file.name):
        found = tiles_in(data, file.name)
    return for_one_piece(found, body=body, cone=cone_name(cone) if cone else "")


def _rules(file: Path | None, tiles: Sequence[Tile]) -> tuple[Rule, ...]:
    from wareboard.errors import placed
    from wareboard.named_file import bytes_of
    from wareboard.paint.rule_file import read_rules
    from wareboard.paint.rule_lines import unknown_glazes
    from wareboard.plan.artwork import list_in

    if file is None:
        return ()
    data = bytes_of(file)
    with placed(file.name):
        found = read_rules(list_in(data, file.name))
    for note in unknown_glazes(found, tiles) if tiles else ():
        click.echo(f"note: {note}")
    return found


def _bisque(shrinkage: str | None) -> tuple[float, str]:
    """Bisque length over fired length, and on whose word."""
    from wareboard.clay.shrinkage import stage_loss
    from wareboard.quantities import share
    from wareboard.reference import default, source_words

    usual = default("clay.shrinkage")
    total = usual.value if shrinkage is None else share(shrinkage)
    loss = stage_loss(total)
    said = f"default, {source_words(usual.source)}" if shrinkage is None else "given"
    return (1.0 - loss.bisque) / (1.0 - loss.fired), f"shrinkage {per_cent(total, 1)}: {said}"


def _laid(given: Mapping[str, Any], shape: tuple[int, ...], bisque_share: float) -> tuple[Laying | None, float]:
    """How the artwork lies on the wall, None where it is flat; and mm to a pixel for the width of the brush."""
    from wareboard.errors import Unreadable
    from wareboard.form.profile import standard
    from wareboard.given import positive
    from wareboard.paint.laying import lay
    from wareboard.quantities import length_mm

    if given["flat"] is not None:
        return None, positive(length_mm(given["flat"]), "width of the artwork", "mm") * bisque_share / shape[1]
    if given["tall"] is None or given["rim"] is None:
        raise Unreadable("the piece", "its size is not given", "Give --tall and --rim when fired, or --flat")
    sizes = {name: length_mm(given[name]) if given[name] else None for name in ("foot", "belly")}
    fired = standard(
        given["shape"],
        length_mm(given["tall"]),
        length_mm(given["rim"]),
        foot_mm=sizes["foot"],
        belly_mm=sizes["belly"],
    )
    piece = fired.scaled(bisque_share, bisque_share)
    wall = piece.inner_mm if given["inside"] else piece.outer_mm[piece.standing :]
    free = {name: length_mm(given[name]) * bisque_share for name in ("off_foot", "off_rim")}
    laid = lay(wall, shape, off_foot_mm=free["off_foot"], off_rim_mm=free["off_rim"], repeats=given["repeats"])
    return laid, laid.scale_mm


def _range(each: Estimate, digits: int) -> str:
    return f"{each.value:.{digits}f} ({each.low:.{digits}f} to {each.high:.{digits}f})"


def _say_zones(found: Zones, areas: NDArray[np.float64]) -> None:
    click.echo(f"{len(found.tiles)} zones, {len(found.coats)} coats; colour left over {found.mean_apart:.1f} CIEDE2000")
    for place, tile in enumerate(found.tiles):
        laid = " then ".join(f"{layer.glaze} x {layer.times}" for layer in tile.layers) or "left bare"
        click.echo(
            f"  zone {place + 1}: {tile.name}, {laid}; {areas[place] / 100:.1f} cm2; {found.apart[place]:.1f} CIEDE2000 off"
        )
    for each in found.out_of_reach:
        click.echo(
            f"  out of reach: {each.colour}, {each.area_mm2 / 100:.1f} cm2: {each.words.removeprefix('out of reach: ')}"
        )


def _say_order(order: Order, worked: Amounts) -> None:
    if not order.coats and worked.coats:
        click.echo("no order keeps every rule:")
    else:
        click.echo("order of coats:")
    by_coat: dict[Coat, Any] = {each.coat: each for each in worked.coats}
    for place, (coat, why) in enumerate(zip(order.coats, order.why, strict=True), start=1):
        each = by_coat[coat]
        click.echo(
            f"  {place}. {coat.glaze}, brushed {coat.times} times, {each.area_mm2 / 100:.1f} cm2, "
            f"{_range(each.slip_ml, 1)} ml, {_range(each.minutes, 0)} min a piece: {why}"
        )
    for broken in order.broken:
        click.echo(f"  rule in the way: {broken.rule}: {broken.how}. {broken.mend}.")


def _say_job(worked: Amounts, pieces: int) -> None:
    click.echo(f"for {pieces} {'piece' if pieces == 1 else 'pieces'}, loss, jar and reserve included:")
    for each in worked.job:
        click.echo(f"  {each.glaze}: {_range(each.slip_ml, 0)} ml of slip, {_range(each.dry_g, 0)} g dry")
    click.echo(
        f"painting: {_range(worked.minutes_piece, 0)} min a piece, {worked.minutes_job.value / 60:.1f} h in all. "
        "Usual figures: weigh the jar before and after the first five pieces."
    )
    click.echo(CAUTION)


def _write(
    given: Mapping[str, Any],
    name: str,
    found: Zones,
    laid: Laying | None,
    order: Order,
    worked: Amounts,
    bare: Sequence[LeftBare] = (),
) -> None:
    from wareboard.paint.card_svg import Map, cards
    from wareboard.paint.left_bare import life_size
    from wareboard.paint.preview_svg import preview_svg
    from wareboard.quantities import share

    out: Path = given["out"]
    out.mkdir(parents=True, exist_ok=True)
    drawn = (
        Map(found.scale_mm, found.scale_mm, "life-size at bisque")
        if laid is None
        else life_size(laid, found.labels.shape, bare)
    )
    # Cards are of use even where rules clash: then in the order of the layers alone, and the clash has been said.
    sheets: Sequence[Sheet] = cards(found, order.coats or found.coats, worked, name, drawn, given["pieces"])
    seen = laid is not None and not given["inside"]
    refuse_any_standing([*(out / f"{sheet.name}.svg" for sheet in sheets), *([out / "preview.svg"] if seen else [])])
    for sheet in sheets:
        written(out / f"{sheet.name}.svg", sheet.svg)
    if laid is not None and not given["inside"]:
        written(
            out / "preview.svg", preview_svg(found, laid, name, facing_share=share(given["facing"]), left_bare=bare)
        )


@click.command("tile-colour")
@click.argument("photograph", type=FILE)
@click.option(
    "--at", "boxes", multiple=True, required=True, help='A box on a tile: "left top right bottom", in pixels.'
)
@click.option("--card", help='Corners of the 24 patches in pixels, round from the brown one: "x,y x,y x,y x,y".')
@click.option("--edition", default="after 2014", show_default=True, help='Of the card: "after 2014" or "before 2014".')
@click.option("--grey", help='Instead of a card: a box on a grey patch, "left top right bottom".')
@click.option("--grey-lightness", type=float, default=50.0, show_default=True, help="L* of the grey patch.")
def tile_colour_command(photograph: Path, boxes: tuple[str, ...], **given: Any) -> None:
    """Print the colours of tiles in the picture PHOTOGRAPH, corrected by a card or a grey patch in the same light."""
    import numpy as np

    from wareboard.paint.card import patch_light
    from wareboard.paint.colour import hex_of
    from wareboard.pictures import picture_from_file

    opened = picture_from_file(photograph)
    picture = opened.rgb.astype(np.float64) / 255.0
    correction = _correction(picture, given)
    for note in (*opened.notes, *correction.notes):
        click.echo(f"note: {note}")
    for step in correction.steps:
        click.echo(f"{step.name}: {step.value:.2f} CIEDE2000 ({step.how})")
    if correction.worst_patch:
        click.echo(f"worst patch: {correction.worst_patch}")
    for text in boxes:
        light, _ = patch_light(picture, numbers_in(text, 4))
        lab = correction.lab(light)
        click.echo(f"{text}: {hex_of(lab)}, lab {lab[0]:.1f} {lab[1]:.1f} {lab[2]:.1f}")


def _correction(picture: NDArray[np.float64], given: Mapping[str, Any]) -> Correction:
    from wareboard.errors import Unreadable
    from wareboard.paint.card import card, patch_light, read_patches
    from wareboard.paint.correction import by_card, by_grey

    if (given["card"] is None) == (given["grey"] is None):
        raise Unreadable("the reference", "a card or a grey patch is needed, one of them", "Give --card or --grey")
    if given["grey"] is not None:
        light, _ = patch_light(picture, numbers_in(given["grey"], 4))
        return by_grey(light, (given["grey_lightness"], 0.0, 0.0))
    corners = numbers_in(given["card"], 8)
    pairs = [(corners[k], corners[k + 1]) for k in range(0, 8, 2)]
    return by_card(read_patches(picture, pairs), card(given["edition"]))
