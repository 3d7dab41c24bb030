"""An invented workshop with finished cups, seconds and delivered ones among them; and a browser without scripts."""

from __future__ import annotations

from datetime import date
from io import BytesIO

import pytest

from tests.book_boards.conftest import key, on_board
from tests.book_pieces.conftest import BY, bucket, glaze_firing, lot
from tests.studio.conftest import demo_text as demo_text
from tests.studio.conftest import workshop_folder as workshop_folder
from tests.studio_bench.conftest import demo as demo
from tests.studio_bench.conftest import studio as studio
from wareboard.book.boards.models import Board
from wareboard.book.firings.loading import load_board
from wareboard.book.firings.signing import change
from wareboard.book.models import Commission
from wareboard.book.pieces import entering, grading
from wareboard.book.pieces.models import FAILED, FIRST, SECOND

FORM = "Handled cup"


def picture(colour: str = "tan") -> bytes:
    from PIL import Image

    out = BytesIO()
    Image.new("RGB", (320, 240), colour).save(out, "JPEG")
    return out.getvalue()


def finished(commission: Commission) -> Board:
    """A board of an invented glaze firing: eight firsts, measured, a second, a failure, five left to grade."""
    board, firing = on_board(commission, 15, "fired", form=FORM), glaze_firing()
    load_board(firing, board, BY, shelf="2")
    entering.made_of([lot()], board, BY)
    entering.wears([bucket()], board, BY)
    firsts = grading.grade(board, key(), FIRST, BY, count=8)
    for at, each in enumerate(firsts):
        change(each, {"height_mm": 93.0 + 0.4 * at, "width_mm": 84.0, "weight_g": 300.0 + 4 * at}, "Measured", BY)
    grading.grade(board, key(), SECOND, BY, "pinholes")
    grading.grade(board, key(), FAILED, BY, "handle crack", "handle")
    change(firsts[0], {"delivered": date(2026, 11, 25), "mark": "WB 1"}, "Delivered", BY)
    entering.add_photo(firsts[0], picture(), "cup.jpg", "The invented cup", BY)
    return board


@pytest.fixture
def cups_done(demo: Commission) -> Board:
    return finished(demo)
