"""The client's mark on a form of a plan: its size at leather-hard, where it goes, its templates on paper."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wareboard.errors import Unreadable
from wareboard.plan.result import FormPlan

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from wareboard.mark.drawing import Drawing
    from wareboard.mark.gaps import Standing
    from wareboard.mark.page import Page
    from wareboard.mark.placing import Placing
    from wareboard.mark.scale import MarkSize, Shrinkage
    from wareboard.mark.template import Template
    from wareboard.pictures import Picture
    from wareboard.working import Step

# Weights of red, green and blue in brightness: ITU-R BT.709.
BRIGHTNESS = (0.2126, 0.7152, 0.0722)


@dataclass(frozen=True, slots=True)
class MarkAsked:
    """What is asked of a mark, fired sizes in mm; None where the usual holds. ``height_mm`` where the width is not given."""

    width_mm: float | None = None
    height_mm: float | None = None
    at_mm: float | None = None
    count: int = 1
    groove_mm: float | None = None
    kind: str = "lines"
    cut: str = "incised"
    lay: str = "plain"
    mirrored: bool = False
    copies: int = 1
    fill: bool = False
    paper: str = "a4"
    light_on_dark: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Marked:
    """A mark worked out for one form, everything at leather-hard.

    ``fine`` tells where it is too fine for a tool, ``from_deg`` where its angles are counted from on the solid.
    """

    form: str
    drawing: Drawing
    size: MarkSize
    made: Template
    places: Placing
    pages: tuple[Page, ...]
    groove: Step
    depth: Step
    fine: str
    from_deg: float = 0.0

    @property
    def steps(self) -> tuple[Step, ...]:
        """All the working."""
        return (*self.size.steps, self.groove, self.depth, *self.places.steps, *self.made.distortion.steps)


def drawing_from(data: bytes, name: str, asked: MarkAsked) -> Drawing:
    """The lines in a file's bytes: read where it is SVG, traced where it is a picture, by what it holds.

    Raises:
        Unreadable: if it is neither.
        OutOfRange: if it is too large, or holds no lines that stand out.
    """
    from wareboard.mark.svg_lines import read_svg
    from wareboard.pictures import picture_from_bytes

    if not data:
        raise Unreadable(name or "the drawing", "it is empty", "Choose the drawing or a photograph of it")
    if is_svg(data):
        return read_svg(data, asked.kind, asked.cut, name=name)
    return traced_from(picture_from_bytes(data), asked)


def is_svg(start: bytes) -> bool:
    """Whether a file that begins so holds a drawing in SVG, and no picture."""
    return start[:512].lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<") or start[:2] in (b"\xff\xfe", b"\xfe\xff")


def traced_from(picture: Picture, asked: MarkAsked) -> Drawing:
    """The lines of a picture, with what was noted on opening it."""
    from wareboard.mark.tracing import trace

    traced = trace(grey(picture.rgb), 1.0, asked.kind, asked.cut, light_on_dark=asked.light_on_dark).drawing
    return replace(traced, notes=(*picture.notes, *traced.notes))


def grey(rgb: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Brightness, 0 to 1, of no more dots than tracing uses: a large picture is averaged before it is unpacked further."""
    import numpy as np

    from wareboard.mark.tracing import MOST_PIXELS_ACROSS

    times = -(-max(rgb.shape) // MOST_PIXELS_ACROSS)
    rows, columns = (side // times for side in rgb.shape[:2])
    blocks = rgb[: rows * times, : columns * times].reshape(rows, times, columns, times, 3)
    return np.asarray(blocks.mean(axis=(1, 3), dtype=np.float32) @ np.array(BRIGHTNESS) / 255.0)


def marked(drawing: Drawing, form: FormPlan, asked: MarkAsked) -> Marked:
    """The mark on that form.

    Raises:
        OutOfRange: if it does not go there, is larger than the paper, or a size cannot be.
    """
    from wareboard.mark.drawing import fineness
    from wareboard.mark.page import pages
    from wareboard.mark.placing import Keep, placed
    from wareboard.mark.scale import figure, greatest_depth, least_groove, leather_hard_size
    from wareboard.mark.template import template

    across, up = shrinkages(form)
    wanted = drawing.sized(asked.width_mm, asked.height_mm)
    size = leather_hard_size(max(wanted.width_mm, 1e-6), max(wanted.height_mm, 1e-6), across, up)
    laid = wanted.scaled(size.width_factor, size.height_factor)
    piece = form.profile.scaled(up.to_come, across.to_come)
    middle = (asked.at_mm or form.profile.height_mm / 2) * up.to_come
    top = (form.profile.height_mm - form.profile.lip_mm) * up.to_come
    groove = least_groove(across, asked.groove_mm)
    land = figure("least land between grooves").value * across.to_come
    made = template(laid, piece, middle, top, asked.lay, asked.mirrored)
    handle = form.strap.width_mm * across.to_come if form.strap else 0.0
    high, wide = max(laid.height_mm, 1e-6), max(laid.width_mm, 1e-6)
    keep, from_deg = Keep(handle_mm=handle, others=standing_on(form, "leather-hard")), origin_deg(form)
    places = placed(piece, wide, high, middle, asked.count, None, keep)
    sheets = pages([made], asked.copies, asked.paper, f"Mark on {form.name}, {asked.cut}", asked.fill)
    depth = greatest_depth(piece.wall_at_mm(middle))
    fine = fineness(laid, groove.value, land).words
    return Marked(form.name, laid, size, made, places, sheets, groove, depth, fine, from_deg)


def origin_deg(form: FormPlan) -> float:
    """Where angles round a form are counted from: its handle's middle, else its spout's or lip's, on its solid.

    Degrees anticlockwise from x seen from above; the spout and the lip of a solid point along -x.
    """
    from wareboard.form.joins import turned_deg

    if form.strap:
        return turned_deg(form.handle_turn_deg) % 360.0
    return 180.0 if form.poured.spout or form.poured.lip else 0.0


def standing_on(form: FormPlan, stage: str) -> tuple[Standing, ...]:
    """The thrown spout and the pulled lip of a form as marks and paintings keep clear of them, at a stage.

    The spout is in the way from under its foot up to its tip; the lip from where it is pulled up to the rim.
    """
    from wareboard.form.lip import half_turn_rad
    from wareboard.mark.gaps import Standing
    from wareboard.plan.solids import poured_at, profile_at

    lip, spout = poured_at(form, stage)
    profile = profile_at(form, stage)
    # A handle is the spout's or the lip's angle behind them, seen from above.
    turn = form.handle_turn_deg if form.strap else 0.0
    found = []
    if spout is not None:
        across = spout.base_mm / 2 / profile.radius_at_mm(spout.join_mm)
        low = spout.join_mm - spout.base_mm * spout.stretch / 2
        high = spout.join_mm + spout.length_mm * math.sin(math.radians(spout.rake_deg)) + spout.tip_mm / 2
        found.append(Standing("spout", turn, math.degrees(math.asin(min(1.0, across))), low, high))
    if lip is not None:
        half = math.degrees(half_turn_rad(profile, lip))
        found.append(Standing("lip", turn, half, profile.height_mm - lip.down_mm, profile.height_mm))
    return tuple(found)


def shrinkages(form: FormPlan) -> tuple[Shrinkage, Shrinkage]:
    """Shrinkage round the form and up it, through every stage, as the plan has it."""
    from wareboard.mark.scale import Shrinkage

    across, up = (
        Shrinkage(loss.fired, loss.leather_hard, {"dry": loss.dry, "bisque": loss.bisque})
        for loss in (form.loss_width, form.loss_height)
    )
    return across, up
