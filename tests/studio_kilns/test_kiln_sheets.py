"""The kiln's sheets for pencil: blank, filled with what is known, on either paper, the same bytes each time."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pikepdf
import pytest
from django.test import Client

from tests.sheets.reading_pdf import squeezed, text_of
from tests.studio_kilns.conftest import many_firings
from wareboard.book.firings.models import Firing, Kiln
from wareboard.kiln.schedule import glaze_schedule
from wareboard.sheets.firing_record import LOG_LINES, LogPage, RecordSheet, log_data, log_pdf, record_data, record_pdf
from wareboard.sheets.typesetting import Paper

DAY = date(2026, 11, 25)


def pages(data: bytes) -> int:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert pdf.Root.MarkInfo.Marked
        assert str(pdf.Root.Lang) == "en-GB"
        return len(pdf.pages)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_blank_record_is_one_page_and_a_log_page_is_one_page(paper: Paper) -> None:
    assert pages(record_pdf(RecordSheet("Invented kiln", DAY), paper)) == 1
    assert pages(log_pdf(LogPage("Invented kiln", DAY), paper)) == 1


def test_a_full_log_page_is_one_page_still() -> None:
    line = ["12", "05.09.26", "glaze 6", "26-01", "", "", "1207 °C", "62", "43°", "70°", "85°"]
    line += ["2 cups, crack at the handle, top sh", "Open up bottom: set its shelves wider apart and put less mass"]
    assert pages(log_pdf(LogPage("Invented kiln", DAY, lines=[line] * 10))) == 1


def test_a_log_pages_lines_are_as_long_as_its_head_and_the_last_ones_are_kept() -> None:
    data = log_data(LogPage("Invented kiln", DAY, ("bottom", "top"), [[str(at)] for at in range(30)]))
    assert {len(line) for line in data["lines"]} == {len(data["head"])}
    assert len(data["lines"]) == LOG_LINES
    assert data["lines"][-1][0] == "29"


def test_a_record_says_what_is_known_and_leaves_the_rest() -> None:
    sheet = RecordSheet(
        "Invented kiln", DAY, ("low", "high"), ("5", "6", "7"), "9", "glaze", schedule=glaze_schedule("6")
    )
    data = record_data(sheet)
    assert data["levels"] == ["high", "low"]  # as they stand, the top one first
    assert data["pack"] == ["guide 5", "target 6", "guard 7"]
    assert len(data["segments"]) == len(glaze_schedule("6").segments)
    assert record_pdf(sheet) == record_pdf(sheet)


def test_the_sheets_of_a_kiln_that_was_never_fired_are_blank(client: Client, db: None) -> None:
    for name in ("record", "log"):
        assert pages(client.get(f"/kilns/old-round-kiln/{name}.pdf").content) == 1
    assert client.get("/kilns/old-round-kiln/record.pdf?firing=1").status_code == 404
    assert client.get("/kilns/old-round-kiln/record.pdf?firing=x").status_code == 404


def test_the_sheets_of_a_fired_kiln_say_what_its_records_say(client: Client, kiln: Kiln, tmp_path: Path) -> None:
    many_firings(kiln, 2)
    Firing.objects.filter(number=2).update(commission_code="26-01")
    words = read(client.get("/kilns/old-round-kiln/log.pdf").content, tmp_path)
    for told in ("glaze 6", "26-01", "85°", "61", "bottom"):
        assert squeezed(told) in words, told
    words = read(client.get("/kilns/old-round-kiln/record.pdf?firing=2").content, tmp_path)
    for told in ("26-01", "guide 5", "guard 7", "heat work for cone 6"):
        assert squeezed(told) in words, told


def read(data: bytes, room: Path) -> str:
    """The words of a PDF without spaces, as the tests of the other sheets read them."""
    file = room / "sheet.pdf"
    file.write_bytes(data)
    return squeezed(text_of(file))
