"""How a commission went: planned beside recorded, on the page and on paper."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client

from tests.sheets.reading_pdf import squeezed, text_of
from tests.studio_bench.conftest import put_up
from wareboard.book.boards.models import Board
from wareboard.book.models import Commission
from wareboard.studio import plans
from wareboard.studio.after.reorders import plan_then
from wareboard.studio.after.went import went

pytestmark = pytest.mark.django_db


def table(board: Commission, name: str) -> dict[str, tuple[str, ...]]:
    plan, _ = plan_then(board, plans.basis())
    found = next(each for each in went(board, plan).tables if each.name == name)
    return {what: rest for what, *rest in found.rows}  # type: ignore[misc]


def test_what_nobody_wrote_down_is_said_to_be_not_recorded(demo: Commission, studio: Client) -> None:
    plan, _ = plan_then(demo, plans.basis())
    found = went(demo, plan)
    assert not found.done
    assert "no boards of Handled cup" in found.missing
    assert "no grades" in found.missing
    assert table(demo, "Dates")["packed"][1] == "not recorded"
    assert "Not recorded:" in studio.get(f"/pieces/{demo.code}/how-it-went/").content.decode()


def test_pieces_losses_and_the_day_of_delivery_are_set_beside_the_plan(cups_done: Board) -> None:
    """15 were begun; a second and a failure left the board; the cup delivered went on 25 November 2026."""
    pieces = table(cups_done.commission, "Handled cup: pieces and losses")
    assert pieces["started"][1] == "15"
    assert pieces["lost, fired"][1] == "2"
    assert pieces["lost, bisque"][1] == "not recorded"
    dates = table(cups_done.commission, "Dates")
    assert dates["delivered, against the day agreed"][1] == "25 Nov 2026"
    assert dates["delivered, against the day agreed"][2].endswith("days early")


def test_price_less_true_cost_is_what_is_left_over(demo: Commission) -> None:
    """Arithmetic of the table itself: price - cost = left over, in both columns."""
    put_up(demo, 80, "thrown")
    rows = table(demo, "Price, cost and hours")

    def amount(words: str) -> float:
        return float(words.split()[1].replace(",", "").replace("\N{MINUS SIGN}", "-"))

    for at in (0, 1):
        left = amount(rows["price"][at]) - amount(rows["cost of making"][at])
        assert amount(rows["left over"][at]) == pytest.approx(left, abs=0.011)


def test_it_prints(studio: Client, cups_done: Board, tmp_path: Path) -> None:
    for paper in ("", "?paper=letter"):
        answer = studio.get(f"/pieces/{cups_done.commission.code}/how-it-went.pdf{paper}")
        assert answer["Content-Type"] == "application/pdf"
        (tmp_path / "sheet.pdf").write_bytes(answer.content)
        told = text_of(tmp_path / "sheet.pdf")
        assert squeezed("How it went") in told
        assert squeezed("not recorded") in told
        assert "pinholes" in told
