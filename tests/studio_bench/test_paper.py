"""Paper for the bench: tags whose code can be read back, the tally, and its marks entered in one go."""

from __future__ import annotations

import io
import subprocess
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from django.test import Client
from PIL import Image

from tests.sheets.reading_pdf import text_of
from tests.studio_bench.conftest import do, put_up
from tests.studio_bench.reading_qr import read_qr
from wareboard.book.boards.models import Board, Entry, KeptSheet
from wareboard.book.models import Commission
from wareboard.sheets.bench_labels import SIZES, Size, columns_and_rows
from wareboard.sheets.bench_paper import scanned_code
from wareboard.sheets.typesetting import PAGE_MM, Paper


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


def modules_of(picture: Image.Image) -> list[list[bool]]:
    """The modules of the only code in a picture: its dark box, parted by the width of a finder pattern's top edge."""
    dark = np.asarray(picture.convert("L")) < 128
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    code = dark[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    run = int(np.argmin(code[2])) / 7  # seven dark modules stand in the corner
    side = round(code.shape[1] / run)
    assert abs(code.shape[0] - code.shape[1]) <= 2, "it is not square"
    middles = [int((n + 0.5) * min(code.shape) / side) for n in range(side)]
    return [[bool(code[r, c]) for c in middles] for r in middles]


def test_a_printed_label_is_read_back_by_a_reader_of_our_own_from_the_standard(
    studio: Client, demo: Commission, tmp_path: Path
) -> None:
    """The PDF drawn at 300 dots an inch, its code cut out and read with every check word checked (see reading_qr)."""
    put_up(demo, 12, "thrown")
    studio.post("/bench/paper/choose/", {"address": "https://workshop.local:8471"})
    for size, code_mm in (("small", 21.0), ("middle", 31.0), ("large", 50.0)):
        data = pdf(studio.get(f"/bench/paper/things.pdf?what=boards&size={size}"))
        (tmp_path / "labels.pdf").write_bytes(data)
        subprocess.run(["pdftoppm", "-r", "300", "-png", "labels.pdf", "page"], cwd=tmp_path, check=True)
        page = Image.open(next(tmp_path.glob("page*.png")))
        corner = round(11.6 / 25.4 * 300)  # margin and inset of the first label
        height = {"small": 25.0, "middle": 38.0, "large": 66.0}[size]
        top = round((10.0 + height / 2 - code_mm / 2) / 25.4 * 300)
        side = round(code_mm / 25.4 * 300)
        code = page.crop((corner, top, corner + side, top + side))
        assert read_qr(modules_of(code)) == "https://workshop.local:8471/bench/H1/"


def test_labels_are_for_boards_buckets_shelves_and_kilns_on_both_papers(
    studio: Client, demo: Commission, tmp_path: Path
) -> None:
    put_up(demo, 12, "thrown")
    file = tmp_path / "labels.pdf"
    for paper in ("a4", "letter"):
        file.write_bytes(pdf(studio.get(f"/bench/paper/things.pdf?paper={paper}&size=large")))
        words = text_of(file)
        assert "H1" in words
        assert "Shelf12" in words.replace(" ", "")
        assert "kiln" in words
    assert studio.get("/bench/paper/things.pdf?what=buckets").status_code == 404
    assert studio.get("/bench/paper/things.pdf?size=huge").status_code == 404


@pytest.mark.parametrize("size", list(SIZES))
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_module_of_a_label_is_under_four_tenths_of_a_millimetre_and_all_fit(size: Size, paper: Paper) -> None:
    """A code of an address as long as 60 letters, with its quiet zone; labels lie within the page."""
    drawn = scanned_code("https://a-rather-long-name.workshop.local:8471/bench/shelf/12/")
    side = int(drawn.split('viewBox="0 0 ')[1].split(" ")[0])
    assert SIZES[size].code_mm / side >= 0.4
    columns, rows = columns_and_rows(SIZES[size], paper)
    wide, high = PAGE_MM[paper]
    assert columns * SIZES[size].wide_mm <= wide - 20
    assert rows * SIZES[size].high_mm <= high - 28


def test_labels_that_only_this_machine_could_open_are_warned_of(studio: Client, demo: Commission) -> None:
    said = "which only this machine can open"
    assert said in studio.get("/bench/paper/", headers={"host": "localhost"}).content.decode()
    studio.post("/bench/paper/choose/", {"address": "https://workshop.local:8471/"})
    assert said not in studio.get("/bench/paper/", headers={"host": "localhost"}).content.decode()
    page = studio.post("/bench/paper/choose/", {"address": "javascript:alert(1)"}, follow=True).content.decode()
    assert "is no address" in page


def test_the_form_for_boards_is_one_page_in_the_order_of_the_grid(
    studio: Client, demo: Commission, tmp_path: Path
) -> None:
    file = tmp_path / "form.pdf"
    file.write_bytes(pdf(studio.get("/bench/paper/begin.pdf")))
    assert len(pikepdf.open(file).pages) == 1
    words = text_of(file).replace(" ", "")
    assert words.index("codeontheware") < words.index("form", words.index("codeontheware")) < words.index("pieces")


def test_a_tallys_marks_are_undone_in_one_go(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    marks = {"key": "marks-key-7", "H1-lost": "2", "H1-why": "slumped", "H1-move": "yes", "H1-grams": "405"}
    studio.post("/bench/paper/marks/", marks)
    sheet = KeptSheet.objects.get()
    assert sheet.entries == 3
    studio.post(f"/bench/paper/sheets/{sheet.pk}/undo/")
    assert Board.objects.values_list("stage", "pieces").get() == ("thrown", 24)
    assert Entry.objects.filter(kind="undo").count() == 3


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
        "H2-shelf": "3",
        "H2-note": "rims a little dry",
    }
    page = studio.post("/bench/paper/marks/", marks, follow=True).content.decode()
    assert "8 entries kept." in page
    studio.post("/bench/paper/marks/", marks)
    assert list(Board.objects.order_by("pk").values_list("stage", "pieces", "state")) == [
        ("trimmed", 22, ""),
        ("drying", 29, ""),
    ]
    kinds = list(Entry.objects.order_by("pk").values_list("kind", flat=True))
    assert kinds == ["begin", "begin", "weigh", "lose", "move", "count", "turn", "shelve", "note", "unwrap"]
    assert Board.objects.get(code="H2").shelf == "Shelf 3"


def test_a_shelf_that_there_is_not_is_told_beside_its_board_and_what_was_typed_stays(
    studio: Client, demo: Commission
) -> None:
    put_up(demo, 24, "thrown")
    page = studio.post(
        "/bench/paper/marks/", {"key": "marks-key-8", "H1-shelf": "99", "H1-lost": "1", "H1-why": "thin"}
    )
    assert page.status_code == 422
    assert "there are shelves 1 to 12" in page.content.decode()
    assert 'value="99"' in page.content.decode()
    assert Board.objects.values_list("pieces", "shelf").get() == (23, "")


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
