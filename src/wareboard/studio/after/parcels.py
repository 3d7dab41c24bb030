"""The pieces of a commission that are to go, or that went on a day, as parcels in boxes; and what is still short."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from wareboard.book.models import Commission
from wareboard.book.pieces.models import FIRST, Piece
from wareboard.book.reckoning.box_sizes import MixedPacking, Sized, Taken, pack_sizes
from wareboard.book.reckoning.boxes import Parcel, pack, wrapped
from wareboard.errors import OutOfRange
from wareboard.given import not_negative

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan

# Usual figures, from memory: a double-walled box, what one person lifts often, bubble wrap in three turns.
USUAL = {
    "width": "400 mm",
    "depth": "300 mm",
    "height": "300 mm",
    "most": "15 kg",
    "own": "500 g",
    "wrap": "30 mm",
    "wrap_g": "60 g",
    "price": "",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """The sizes of box, and the wrapping of each piece, mm and g."""

    sizes: tuple[Sized, ...]
    wrap_mm: float
    wrap_g: float


@dataclass(frozen=True, slots=True)
class InBox:
    """One box for the list: its number, its size in words, what is in it by form, the pieces, layers, weight."""

    number: int
    size: str
    forms: tuple[tuple[str, int], ...]
    pieces: tuple[Piece, ...]
    layers: int
    mass_g: float


@dataclass(frozen=True, slots=True)
class Standing:
    """One form: ordered, delivered in all, to go now, and how many are short after that."""

    form: str
    ordered: int
    delivered: int
    now: int

    @property
    def short(self) -> int:
        return max(0, self.ordered - self.delivered - self.now)


def to_go(commission: Commission, day: date | None) -> list[Piece]:
    """The pieces that went on ``day``; without one, the firsts that have not gone yet."""
    rows = Piece.objects.filter(commission=commission, put_away=None, kind="ware").select_related("commission")
    return list(rows.filter(delivered=day) if day else rows.filter(grade=FIRST, delivered=None))


def standing(commission: Commission, plan: Plan | None, going: Sequence[Piece], day: date | None) -> list[Standing]:
    """Every form of the plan, and any other that goes: what was ordered, went, goes now, is short."""
    ordered = {each.name: each.form.count for each in plan.forms} if plan else {}
    gone = Piece.objects.filter(commission=commission, put_away=None, delivered__isnull=False, kind="ware")
    before = Counter(
        gone.exclude(delivered=day).values_list("form", flat=True) if day else gone.values_list("form", flat=True)
    )
    now = Counter(each.form for each in going)
    names = dict.fromkeys([*ordered, *now])
    return [Standing(name, ordered.get(name, 0), before[name], now[name]) for name in names]


def parcels(pieces: Sequence[Piece], plan: Plan | None, asked: Asked) -> list[Parcel]:
    """Each piece in its wrapping: as measured, else as planned; with its handle, and its lid on, where it has them.

    Raises:
        OutOfRange: for a piece of which neither a size nor a plan is known.
    """
    planned = {each.name: each for each in plan.forms} if plan else {}
    return [_parcel(each, planned.get(each.form), plan, asked) for each in pieces]


def _parcel(piece: Piece, form: FormPlan | None, plan: Plan | None, asked: Asked) -> Parcel:
    from wareboard.plan.firings import high_mm

    wide, tall, heavy = piece.width_mm, piece.height_mm, piece.weight_g
    if form is not None and plan is not None:
        wide = wide or form.vessel.widest_mm
        tall = (tall or form.vessel.height_mm) + high_mm(form) - form.profile.height_mm
        heavy = heavy or _heavier_g(form, plan)
    handle = form.strap.inside_gap_mm + form.strap.thickness_mm if form and form.strap else 0.0
    if form is not None:
        from wareboard.plan.firings import across_mm

        handle += across_mm(form) - form.profile.widest_mm
    if wide is None or tall is None or heavy is None:
        raise OutOfRange(f"{piece}, {piece.form}", "no size or weight of it is known", "Measure it on its page")
    return wrapped(f"{piece}, {piece.form}", wide, tall, heavy, asked.wrap_mm, asked.wrap_g, handle)


def _heavier_g(form: FormPlan, plan: Plan) -> float:
    """What a piece may weigh with its handle, glaze and lid: the heavier end, so that the list does not come out light."""
    from wareboard.plan.approved import weight_g

    lid_g = form.lidded.lid.fired_g if form.lidded else 0.0
    return (weight_g(form, plan) + lid_g) * form.vessel.fired_weight.high / form.vessel.fired_g


def packed(wrapped_pieces: Sequence[Parcel], sizes: Sequence[Sized]) -> MixedPacking:
    """The packing: of one size in the fewest boxes that were found, of several for the least price."""
    if len(sizes) > 1:
        return pack_sizes(wrapped_pieces, sizes)
    only = sizes[0]
    not_negative(only.price, "price of a box")
    alone, each = pack(wrapped_pieces, only.box), only.price or 1.0
    boxes = tuple(Taken(0, filled) for filled in alone.boxes)
    return MixedPacking(boxes, len(boxes) * each, alone.at_least * each, alone.by, only.price > 0)


def boxes_of(pieces: Sequence[Piece], plan: Plan | None, asked: Asked) -> tuple[MixedPacking, list[InBox]]:
    """The packing, and each box with its pieces.

    Raises:
        OutOfRange: for a piece that goes into no box, by its name.
    """
    packing = packed(parcels(pieces, plan, asked), asked.sizes)
    rows = []
    for number, taken in enumerate(packing.boxes, start=1):
        box, size = taken.filled, asked.sizes[taken.size].name
        own = sorted((pieces[each.index] for each in box.placed), key=lambda each: each.number)
        forms = Counter(each.form for each in own)
        rows.append(InBox(number, size, tuple(forms.items()), tuple(own), box.layers, box.mass_g))
    return packing, rows
