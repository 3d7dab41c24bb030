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
from wareboard.plan.slug import slug

if TYPE_CHECKING:
    from wareboard.plan.marked import Marked
    from wareboard.plan.painted import Painted
    from wareboard.plan.result import FormPlan, Plan
    from wareboard.studio.prototypes.picture_forms import MarkForm, PaintForm

KEPT, PICTURES_KEPT, SHOWN_KEPT = 24, 60, 8
Made = TypeVar("Made")


class Kept:
    """Results kept by what they were made from, the latest used so many; one is made at a time."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._held: OrderedDict[str, Any] = OrderedDict()
        self._one_at_a_time = threading.Lock()

    def once(self, made_from: tuple[Any, ...], work: Callable[[], Made]) -> Made:
        """What was made from the same before, or what ``work`` makes now."""
        key = hashlib.sha256(repr(made_from).encode()).hexdigest()
        with self._one_at_a_time:
            if key not in self._held:
                self._held[key] = work()
                while len(self._held) > self._most:
                    self._held.popitem(last=False)
            self._held.move_to_end(key)
            found: Made = self._held[key]
            return found

    def forget(self) -> None:
        """Let go of all of it."""
        self._held.clear()


# What was worked out; drawings of it; what is laid on solids and their files, which are large.
results, drawn, on_solids = Kept(KEPT), Kept(PICTURES_KEPT), Kept(SHOWN_KEPT)


def form_named(plan: Plan, name: str) -> FormPlan:
    """The form of that name.

    Raises:
        WareboardError: if the brief has none such any more.
    """
    found = next((form for form in plan.forms if slug(form.name) == slug(name)), None)
    if found is None:
        raise WareboardError(f"form {name!r}", "the brief has none of that name any more", "Keep it for another form")
    return found


def mark_of(plan: Plan, held: ClientPicture, boxes: MarkForm) -> Marked:
    """The mark on its form; the boxes must be in order."""
    from wareboard.plan.marked import drawing_from, marked

    asked, form = boxes.asked(), form_named(plan, held.form)
    file = pictures.file_of(held)

    def work() -> Marked:
        return marked(drawing_from(pictures.bytes_of(held), file.name, asked), form, asked)

    return results.once(("mark", file.digest, asked, *_print_of(form)), work)


def _print_of(form: FormPlan) -> tuple[object, ...]:
    """What of a form its mark and its painting go by."""
    return form.name, form.profile.outer_mm.tobytes(), form.loss_width, form.loss_height, form.strap, form.poured


def painting_of(plan: Plan, held: ClientPicture, boxes: PaintForm) -> Painted:
    """The painting on its form with the tiles that are kept; the boxes must be in order."""
    from wareboard.paint.tiles import for_one_piece
    from wareboard.pictures import picture_from_bytes
    from wareboard.plan.painted import painted

    asked, form = boxes.asked(), form_named(plan, held.form)
    known = tiles.tiles_now()
    if not known:
        raise WareboardError("no tile is kept", "a painting is matched to tiles that were fired", "Add tiles first")
    usable = for_one_piece(known, body=boxes.cleaned_data["body"], cone=boxes.cleaned_data["cone"])
    rules = boxes.cleaned_data["rules"] or ()

    def work() -> Painted:
        return painted(picture_from_bytes(pictures.bytes_of(held)), usable, form, asked, rules)

    pieces = form.pieces_into("glaze")
    digest = pictures.file_of(held).digest
    key = ("paint", digest, asked, *_print_of(form), pieces, usable, rules)
    return results.once(key, work)


def forget() -> None:
    """Let go of everything kept in memory."""
    results.forget()
    drawn.forget()
    on_solids.forget()
