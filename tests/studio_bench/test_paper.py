"""Paper for the bench: tags whose code can be read back, the tally, and its marks entered in one go."""

from __future__ import annotations

import io

import pikepdf
import pytest
from django.test import Client

from tests.sheets.reading_pdf import text_of
from tests.studio_bench.conftest import do, put_up
from wareboard.book.boards.models import Board, Entry
from wareboard.book.models import Commission
from wareboard.sheets.bench_paper import scanned_code


def pdf(answer):  # type: ignore[no-untyped-def]
    assert answer.headers["Content-Type"] == "application/pdf"
    return answer.content


def test_a_tag_says_what_the_board_is_and_six_go_on_a_page(studio: Client, demo: Commission) -> None:
    for _ in range(7):
        put_up(demo, 12, "thrown")
    data = pdf(studio.get("/bench/paper/tags.pdf"))
    assert len(pikepdf.open(io.BytesIO(data)).pages) == 2
    one = pdf(studio.get("/bench/paper/tags.pdf?board=h3"))
    assert len(pikepdf.open(io.BytesIO(one)).pages) == 1
    assert studio.get("/bench/paper/tags.pdf?board=Z9").status_code == 404


def test_the_tags_code_holds_the_boards_page() -> None:
    """As many modules as ISO/IEC 18004 gives the smallest version that holds the words, plus eight of border.

    Version 3 with error correction Q holds 32 bytes and has 29 modules (table 7 of the standard, from memory).
    """
    drawn = scanned_code("http://127.0.0.1:8471/bench/H12/")
    assert 'viewBox="0 0 37 37"' in drawn


def test_the_tally_has_a_line_for_each_board_that_stands(studio: Client, demo: Commission, tmp_path) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "thrown")
    put_up(demo, 12, "packed", form="Side plate")
    file = tmp_path / "tally.pdf"
    file.write_bytes(pdf(studio.get("/bench/paper/tally.pdf")))
    words = text_of(file)
    assert "H1" in words
    assert "slumped" in words
    assert "S1" not in words  # packed: nothing is left to mark


def test_with_no_boards_the_tally_is_there_to_put_some_up(studio: Client, demo: Commission) -> None:
    assert pdf(studio.get("/bench/paper/tally.pdf"))[:4] == b"%PDF"
    assert studio.get("/bench/paper/tags.pdf").status_code == 404
    assert "No boards stand" in studio.get("/bench/paper/marks/").content.decode()


def test_all_marks_are_kept_in_one_go_and_sent_twice_count_once(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    put_up(demo, 30, "drying")
    marks = {
        "key": "marks-key-1",
        "H1-lost": "2",
        "H1-why": "slumped",
        "H1-move": "yes",
        "H1-grams": "405",
        "H2-turn": "yes",
        "H2-unwrap": "yes",
        "H2-count": "29",
    }
    page = studio.post("/bench/paper/marks/", marks, follow=True).content.decode()
    assert "6 entries kept." in page
    studio.post("/bench/paper/marks/", marks)
    assert list(Board.objects.order_by("pk").values_list("stage", "pieces", "state")) == [
        ("trimmed", 22, ""),
        ("drying", 29, ""),
    ]
    kinds = list(Entry.objects.order_by("pk").values_list("kind", flat=True))
    assert kinds == ["begin", "begin", "weigh", "lose", "move", "count", "turn", "unwrap"]


def test_an_odd_mark_is_asked_about_and_the_others_are_kept(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "ball")
    marks = {"key": "marks-key-2", "H1-grams": "40.5", "H1-lost": "1", "H1-why": "thin"}
    page = studio.post("/bench/paper/marks/", marks)
    assert page.status_code == 422
    assert "Keep it" in page.content.decode()
    assert Board.objects.get().pieces == 23
    studio.post("/bench/paper/marks/", marks | {"H1-confirmed": "yes"})
    assert Entry.objects.get(kind="weigh").grams == 40.5
    assert Board.objects.get().pieces == 23


def test_a_part_of_a_board_moved_on_goes_on_a_board_of_its_own(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    studio.post("/bench/paper/marks/", {"key": "marks-key-3", "H1-move": "yes", "H1-part": "20"})
    assert list(Board.objects.order_by("pk").values_list("stage", "pieces")) == [("thrown", 4), ("trimmed", 20)]


@pytest.mark.parametrize("lost", ["many", "-1", "99"])
def test_a_wrong_mark_is_told_beside_its_board(studio: Client, demo: Commission, lost: str) -> None:
    put_up(demo, 24, "thrown")
    page = studio.post("/bench/paper/marks/", {"key": "marks-key-4", "H1-lost": lost, "H1-why": "thin"})
    assert page.status_code == 422
    assert 'class="wrong"' in page.content.decode()
    assert Board.objects.get().pieces == 24
    do("turn", "H1")  # and the bench goes on
