"""Whether a weight is so far from the others of its kind that it is worth asking once."""

from __future__ import annotations

from wareboard.book.boards.asking import Asked
from wareboard.book.boards.codes import read_code
from wareboard.book.boards.models import STANDS, Board, Entry
from wareboard.book.measures.measuring import ball_of_plan
from wareboard.errors import WareboardError

MOST_LOOKED_AT = 200


def asked_about(asked: Asked, planned_g: float | None = None) -> str:
    """The question to put before the weight is kept, or nothing where it is usual.

    Args:
        planned_g: the ball weight of the form's plan, for boards where nothing was weighed yet.
    """
    from wareboard.book.reckoning.odd_entry import look_at

    board = Board.objects.filter(code=read_code(asked.board)).first()
    if board is None or asked.grams is None or asked.grams <= 0.0:
        return ""
    before = ball_of_plan(planned_g, board.stage)
    try:
        look = look_at("weight", asked.grams, weights_like(board), "g", before)
    except WareboardError:
        return ""
    return look.words if look.odd else ""


def weights_like(board: Board) -> list[float]:
    """The latest weights of the board's form at its stage, on any board of the commission, g."""
    alike = Board.objects.filter(commission=board.commission_id, form=board.form).values("pk")
    found = Entry.objects.filter(
        kind="weigh", board__in=alike, stage_from=board.stage, standing=STANDS, undone_by=None, grams__gt=0.0
    )
    return [grams for grams in found.order_by("-pk").values_list("grams", flat=True)[:MOST_LOOKED_AT] if grams]
