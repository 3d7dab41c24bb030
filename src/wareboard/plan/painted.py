"""The client's artwork painted on a form of a plan: zones, coats and their order, amounts for a piece and for the job."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.plan.result import FormPlan

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wareboard.paint.amounts import Amounts
    from wareboard.paint.card_svg import Map
    from wareboard.paint.layers import Zones
    from wareboard.paint.laying import Laying
    from wareboard.paint.left_bare import LeftBare
    from wareboard.paint.order import Order, Rule
    from wareboard.paint.tiles import Tile
    from wareboard.pictures import Picture

GLAZING = "glaze"


@dataclass(frozen=True, slots=True)
class PaintAsked:
    """What is asked of a painting; fired sizes in mm, None where the usual holds."""

    coats: int = 5
    brush_mm: float = 3.0
    off_foot_mm: float = 0.0
    off_rim_mm: float = 0.0
    repeats: int | None = None
    inside: bool = False
    over_lip: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Painted:
    """A painting worked out for one form, at bisque.

    ``bisque_share`` is bisque length over fired length; ``bare`` what it leaves bare besides the bands at foot and rim, and
    ``from_deg`` where the artwork's left edge lies on the solid, degrees anticlockwise from x seen from above.
    """

    form: str
    found: Zones
    laid: Laying
    order: Order
    worked: Amounts
    pieces: int
    bisque_share: float
    inside: bool
    notes: tuple[str, ...]
    bare: tuple[LeftBare, ...] = ()
    from_deg: float = 0.0

    @property
    def drawn(self) -> Map:
        """How the map of zones is drawn life-size."""
        from wareboard.paint.left_bare import life_size

        return life_size(self.laid, self.found.labels.shape, self.bare)


def artwork_on(picture: Picture, tiles: Sequence[Tile]) -> tuple[NDArray[np.uint8], tuple[str, ...]]:
    """The artwork's colours; where it can be seen through, the colour of the bare tile shows, if there is one."""
    from wareboard.paint.colour import srgb_from_lab

    bare = next((tile for tile in tiles if not tile.layers), None)
    if picture.alpha is None or bare is None:
        return picture.rgb, picture.notes
    ground = np.round(srgb_from_lab(bare.fired.lab) * 255.0)
    through = 1.0 - picture.alpha[:, :, None].astype(np.float32) / 255.0
    # It was laid on white: the white is taken off again and the body put under it.
    rgb = picture.rgb + through * (ground - 255.0).astype(np.float32)
    kept = tuple(note for note in picture.notes if "laid on white" not in note)
    note = f"Its see-through parts are left as {bare.name}."
    return np.clip(np.round(rgb), 0, 255).astype(np.uint8), (*kept, note)


def painted(
    picture: Picture, tiles: Sequence[Tile], form: FormPlan, asked: PaintAsked, rules: Sequence[Rule] = ()
) -> Painted:
    """The painting on that form, with tiles that go together on one piece; ``rules`` are the workshop's own.

    Raises:
        OutOfRange: if there is no tile, the brush is too wide, or the bands leave nothing.
    """
    from wareboard.paint.amounts import amounts
    from wareboard.paint.layers import zones
    from wareboard.paint.laying import lay
    from wareboard.paint.left_bare import in_words, painted_areas_mm2
    from wareboard.paint.order import order_of_coats, reaches, usual_rules
    from wareboard.paint.rule_lines import unknown_glazes

    rgb, notes = artwork_on(picture, tiles)
    up, across = ((1.0 - loss.bisque) / (1.0 - loss.fired) for loss in (form.loss_height, form.loss_width))
    piece = form.profile.scaled(up, across)
    wall = piece.inner_mm if asked.inside else piece.outer_mm[piece.standing :]
    laid = lay(
        wall, rgb.shape, off_foot_mm=asked.off_foot_mm * up, off_rim_mm=asked.off_rim_mm * up, repeats=asked.repeats
    )
    if asked.inside:
        _refuse_a_point(laid, rgb.shape, asked.brush_mm, up)
    found = zones(rgb, tiles, asked.coats, asked.brush_mm, laid.scale_mm, joined=laid.joined)
    reach = reaches(found.coats, found.tiles, found.labels, laid.row_mm, laid.off_foot_mm, laid.off_rim_mm)
    order = order_of_coats(found.coats, found.tiles, (*usual_rules(found.tiles), *rules), reach)
    pieces = form.pieces_into(GLAZING)
    bare = left_bare_on(form, asked)
    worked = amounts(painted_areas_mm2(laid, found.labels, bare), found.tiles, found.coats, pieces)
    told = in_words(laid, found.labels.shape, bare)
    said = (*notes, *laid.notes, *found.notes, *told, *unknown_glazes(rules, tiles))
    return Painted(form.name, found, laid, order, worked, pieces, up, asked.inside, said, bare, left_edge_deg(form))


def left_edge_deg(form: FormPlan) -> float:
    """Where the artwork's left edge lies on the form's solid: the handle's middle, else opposite the front.

    Degrees anticlockwise from x seen from above.
    """
    from wareboard.form.joins import turned_deg

    return turned_deg(form.handle_turn_deg) % 360.0 if form.strap else 0.0


def left_bare_on(form: FormPlan, asked: PaintAsked) -> tuple[LeftBare, ...]:
    """Where handle and spout are joined, and the lip that is not to be painted, at bisque; inside a piece the lip alone."""
    from wareboard.form.lip import half_turn_rad
    from wareboard.paint.left_bare import LeftBare
    from wareboard.plan.solids import joins_at, poured_at, profile_at

    lip, spout = poured_at(form, "bisque")
    profile = profile_at(form, "bisque")
    # The front is opposite the left edge where there is no handle; inside, the artwork runs the other way round.
    front = form.handle_turn_deg / 360.0 if form.strap else 0.5
    found = []
    if form.strap and not asked.inside:
        wide, thick = form.strap.width_mm, form.strap.thickness_mm
        across = (1.0 - form.loss_width.bisque) / (1.0 - form.loss_width.fired)
        for join in joins_at(form, "bisque"):
            name = f"handle's {join.root} root"
            slim = form.strap.taper if join.root == "lower" else 1.0
            # It comes level out of a wall that leans, so that its end is longer up the wall than it is thick.
            up = slim * thick * across / math.cos(math.radians(join.lean_deg))
            found.append(LeftBare(name, 0.0, join.height_mm, slim * wide * across / 2, up / 2))
    if spout is not None and not asked.inside:
        half = spout.base_mm / 2
        found.append(LeftBare("spout's foot", front, spout.join_mm, half, half * spout.stretch))
    if lip is not None and not asked.over_lip:
        share = half_turn_rad(profile, lip) / (2 * np.pi)
        where = -front % 1.0 if asked.inside else front
        found.append(LeftBare("pulled lip", where, profile.height_mm - lip.down_mm, half_share=share))
    return tuple(found)


def _refuse_a_point(laid: Laying, shape: tuple[int, ...], brush_mm: float, up: float) -> None:
    """Inside, the whole width of the artwork meets in a point in the middle: some of it must be left free for the brush."""
    short = min(shape[:2])
    if short * laid.scale_mm >= brush_mm:
        return
    # From here on the narrower way of the artwork is as wide as the brush; a row's middle lies half a row further out.
    radius = brush_mm * shape[1] / short * laid.repeats / (2 * np.pi) + laid.row_mm
    raise OutOfRange(
        "the artwork runs to the middle of the inside",
        f"there its whole width meets in a point, narrower than the brush of {brush_mm:g} mm",
        f"Leave about {np.ceil(radius / up):.0f} mm free there (the wall left free at the foot)",
    )
