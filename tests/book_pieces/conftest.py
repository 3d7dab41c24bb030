"""Invented cups on a board that came out of an invented glaze firing."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from tests.book_boards.conftest import NINE, key, on_board
from tests.book_boards.conftest import tea as tea
from wareboard.book.boards.models import Board
from wareboard.book.firings import recording
from wareboard.book.firings.loading import load_board
from wareboard.book.firings.models import Firing
from wareboard.book.firings.signing import Signed, begin
from wareboard.book.glazes.models import GlazeBatch, GlazeRecipe, RecipeVersion
from wareboard.book.models import Commission
from wareboard.book.pieces import entering
from wareboard.book.pieces.models import ClayLot, Piece

BY = Signed("Invented", NINE)


def lot(code: str = "L-1") -> ClayLot:
    return entering.new_lot({"clay": "Invented stoneware", "supplier": "Invented", "code": code, "kg": 250.0}, BY)


def bucket(number: int = 1, name: str = "White") -> GlazeBatch:
    recipe = GlazeRecipe.objects.create(name=name)
    version = RecipeVersion.objects.create(recipe=recipe, number=1, base=[["whiting", 100.0]], written=NINE)
    recipe.current = version
    recipe.save()
    fields: dict[str, Any] = {"number": number, "version": version, "day": date(2026, 11, 20)}
    return begin(GlazeBatch(**fields, wanted_gravity=1.45, dry_density=2.6), "Mixed", BY)


def glaze_firing(day: date = date(2026, 11, 24)) -> Firing:
    kiln = recording.kiln_named("Invented kiln", BY)
    return recording.new_firing(kiln, {"kind": "glaze", "cone": "6", "day": day}, BY)


def fired_board(commission: Commission, pieces: int = 12, shelf: str = "2") -> tuple[Board, Firing]:
    board = on_board(commission, pieces, "fired")
    firing = glaze_firing()
    load_board(firing, board, BY, shelf=shelf)
    return board, firing


def entered(commission: Commission, **fields: Any) -> Piece:
    return entering.enter_piece(commission, key(), {"form": "Cup", **fields}, BY)[0]


@pytest.fixture
def board(tea: Commission) -> Board:
    return fired_board(tea)[0]
