"""Marks and paintings worked out for the pages, kept in memory: tracing takes a second or two."""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

from wareboard.book.prototypes import pictures, tiles
from wareboard.book.prototypes.models import ClientPicture
from wareboard.errors import WareboardError

if TYPE_CHECKING:
    from wareboard.plan.marked import Marked
    from wareboard.plan.painted import Painted
    from wareboard.plan.result import FormPlan, Plan
    from wareboard.studio.prototypes.picture_forms import MarkForm, PaintForm

KEPT = 12
Made = TypeVar("Made")
_kept: OrderedDict[str, Any] = OrderedDict()
_one_at_a_time = threading.Lock()


def form_named(plan: Plan, name: str) -> FormPlan:
    """The form of that name.

    Raises:
        WareboardError: if the brief has none such any more.
    """
    found = next((form for form in plan.forms if form.name == name), None)
    if found is None:
        raise WareboardError(f"form {name!r}", "the brief has none of that name any more", "Choose another form")
    return found


def mark_of(plan: Plan, held: ClientPicture, boxes: MarkForm) -> Marked:
    """The mark on its form; the boxes must be in order."""
    from wareboard.plan.marked import drawing_from, marked

    asked, form = boxes.asked(), form_named(plan, boxes.cleaned_data["form"])

    def work() -> Marked:
        return marked(drawing_from(pictures.bytes_of(held), held.file.name, asked), form, asked)

    return _once(("mark", held.file.digest, asked, form.profile.outer_mm.tobytes(), form.loss_width), work)


def painting_of(plan: Plan, held: ClientPicture, boxes: PaintForm) -> Painted:
    """The painting on its form with the tiles that are kept; the boxes must be in order."""
    from wareboard.paint.tiles import for_one_piece
    from wareboard.pictures import picture_from_bytes
    from wareboard.plan.painted import painted

    asked, form = boxes.asked(), form_named(plan, boxes.cleaned_data["form"])
    known = tiles.tiles_now()
    if not known:
        raise WareboardError("no tile is kept", "a painting is matched to tiles that were fired", "Add tiles first")
    usable = for_one_piece(known, body=boxes.cleaned_data["body"], cone=boxes.cleaned_data["cone"])

    def work() -> Painted:
        return painted(picture_from_bytes(pictures.bytes_of(held)), usable, form, asked)

    pieces = form.pieces_into("glaze")
    key = ("paint", held.file.digest, asked, form.profile.outer_mm.tobytes(), form.loss_width, pieces, usable)
    return _once(key, work)


def _once(made_from: tuple[Any, ...], work: Callable[[], Made]) -> Made:
    key = hashlib.sha256(repr(made_from).encode()).hexdigest()
    with _one_at_a_time:
        if key not in _kept:
            _kept[key] = work()
            while len(_kept) > KEPT:
                _kept.popitem(last=False)
        _kept.move_to_end(key)
        found: Made = _kept[key]
        return found


def forget() -> None:
    """Let go of everything kept in memory."""
    _kept.clear()
