"""Entering pieces, clay lots, and what boards and pieces are made of and wear. What is not known is left empty."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.db import transaction

from wareboard.book.boards.models import Board
from wareboard.book.firings.loading import firings_of
from wareboard.book.firings.models import Firing
from wareboard.book.firings.recording import keep_photo
from wareboard.book.firings.signing import Signed, begin, fetch_back, put_away
from wareboard.book.glazes.models import GlazeBatch
from wareboard.book.models import Commission
from wareboard.book.pieces.models import ClayLot, MadeOf, Piece, PiecePhoto, Wears
from wareboard.given import not_negative, positive


def enter_piece(commission: Commission, key: str, fields: Mapping[str, Any], by: Signed) -> tuple[Piece, bool]:
    """A piece with the commission's next number, kept once by its key; and whether it was there already.

    Raises:
        OutOfRange: for a size or weight that is not above 0.
    """
    check_sizes(fields)
    with transaction.atomic():
        Commission.objects.select_for_update().get(pk=commission.pk)
        found = Piece.objects.filter(key=key).first()
        if found is not None:
            return found, True
        last = Piece.objects.filter(commission=commission).order_by("-number").values_list("number", flat=True).first()
        piece = Piece(commission=commission, number=(last or 0) + 1, key=key, **fields)
        return begin(piece, "Entered", by), False


def check_sizes(fields: Mapping[str, Any]) -> None:
    """Refuse sizes and weights that cannot be.

    Raises:
        OutOfRange: naming it.
    """
    for name, words in (("height_mm", "height"), ("width_mm", "width"), ("weight_g", "weight")):
        if fields.get(name) is not None:
            positive(fields[name], words)
    if fields.get("colour_l") is not None:
        not_negative(fields["colour_l"], "lightness L*")


def last_firing(board: Board) -> tuple[Firing | None, str]:
    """The last glaze firing that the board's pieces were in, and the shelf if it was said; none where not known."""
    glazed = [each for each in firings_of(board) if each.firing.kind == "glaze"]
    return (glazed[-1].firing, glazed[-1].shelf) if glazed else (None, "")


def new_lot(fields: Mapping[str, Any], by: Signed) -> ClayLot:
    """A clay lot.

    Raises:
        OutOfRange: for a weight that is not above 0.
    """
    if fields.get("kg") is not None:
        positive(fields["kg"], "weight of the lot")
    return begin(ClayLot(**fields), "Entered", by)


def made_of(lots: Iterable[ClayLot], on: Board | Piece, by: Signed) -> None:
    """The board or piece is made of exactly these lots; those named before and not now are put away, not deleted."""
    wanted = {lot.pk: lot for lot in lots}
    side = {"board": on} if isinstance(on, Board) else {"piece": on}
    with transaction.atomic():
        held = {row.lot_id: row for row in MadeOf.objects.filter(**side).select_related("lot")}
        for pk, lot in wanted.items():
            if pk not in held:
                begin(MadeOf(lot=lot, **side), f"Made of {lot}", by)
        _settle(held, wanted, by)


def wears(batches: Iterable[GlazeBatch], on: Board | Piece, by: Signed) -> None:
    """The board or piece wears glaze of exactly these batches; those named before and not now are put away."""
    wanted = {batch.pk: batch for batch in batches}
    side = {"board": on} if isinstance(on, Board) else {"piece": on}
    with transaction.atomic():
        held = {row.batch_id: row for row in Wears.objects.filter(**side).select_related("batch")}
        for pk, batch in wanted.items():
            if pk not in held:
                begin(Wears(batch=batch, **side), f"Wears {batch}", by)
        _settle(held, wanted, by)


def _settle(held: Mapping[int, MadeOf | Wears], wanted: Mapping[int, object], by: Signed) -> None:
    for pk, row in held.items():
        if pk in wanted and row.put_away is not None:
            fetch_back(row, f"{row} again", by)
        elif pk not in wanted and row.put_away is None:
            put_away(row, f"No longer: {row}", by)


def add_photo(piece: Piece, data: bytes, name: str, words: str, by: Signed) -> PiecePhoto:
    """A photograph of the piece, kept without place and time.

    Raises:
        Unreadable: if it is too large, cut short, or neither JPEG nor PNG.
    """
    file = keep_photo(data, name, by)
    return begin(PiecePhoto(piece=piece, file=file, words=words[:120]), f"Photograph of {piece}", by)
