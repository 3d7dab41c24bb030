"""The client's artwork painted on a form of a plan: zones, coats and their order, amounts for a piece and for the job."""

from __future__ import annotations

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


@dataclass(frozen=True, slots=True, eq=False)
class Painted:
    """A painting worked out for one form, at bisque; ``bisque_share`` is bisque length over fired length."""

    form: str
    found: Zones
    laid: Laying
    order: Order
    worked: Amounts
    pieces: int
    bisque_share: float
    inside: bool
    notes: tuple[str, ...]

    @property
    def drawn(self) -> Map:
        """How the map of zones is drawn life-size."""
        from wareboard.paint.card_svg import Map

        words = "life-size at bisque, up the wall and at its mean girth"
        return Map(self.laid.mean_across_mm, self.laid.row_mm, words)


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
    worked = amounts(laid.areas_mm2(found.labels), found.tiles, found.coats, pieces)
    said = (*notes, *laid.notes, *found.notes, *unknown_glazes(rules, tiles))
    return Painted(form.name, found, laid, order, worked, pieces, up, asked.inside, said)


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
