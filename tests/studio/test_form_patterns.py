"""A form's patterns in the studio: the PDF measured from the file, a print's error kept, corrected and taken back."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client

from tests.sheets.reading_pdf import pages_of
from wareboard.book.models import Commission
from wareboard.book.printing.models import PrintMeasured
from wareboard.studio.phones.access import may

PATTERNS = "/commissions/26-01/forms/cup/patterns/"


def level_check(content: bytes, place: Path) -> list[float]:
    """Lengths of the level lines of 90 to 110 mm at the foot of each page."""
    place.write_bytes(content)
    return [e.length for page in pages_of(place) for e in page.level_lines() if 90 < e.length < 110 and e.y1 < 60]


def test_the_page_offers_the_sheet_and_each_pattern(client: Client, cups: Commission) -> None:
    page = client.get(PATTERNS).content.decode()
    assert "No print has been measured yet" in page
    assert f"{PATTERNS}outer-rib-wet.svg" in page
    drawing = client.get(f"{PATTERNS}outer-rib-wet.svg")
    assert drawing["Content-Type"] == "image/svg+xml"
    assert client.get(f"{PATTERNS}no-such.svg").status_code == 404
    assert PATTERNS in client.get("/commissions/26-01/forms/").content.decode()


def test_a_measured_print_corrects_the_next_and_can_be_taken_back(
    client: Client, cups: Commission, tmp_path: Path
) -> None:
    """Drawn 100 mm, came out 98 mm: the next is drawn 100 / 0.98 mm, which that printer makes 100 mm (proportion)."""
    plain = level_check(client.get(f"{PATTERNS}print.pdf").content, tmp_path / "plain.pdf")
    assert plain
    assert plain == pytest.approx([100.0] * len(plain), abs=0.1)
    kept = client.post(PATTERNS, {"printer": "Office", "across": "9.8 cm", "up": ""}, follow=True)
    assert "is corrected" in kept.content.decode()
    corrected = level_check(client.get(f"{PATTERNS}print.pdf?printer=Office").content, tmp_path / "corrected.pdf")
    assert [each * 0.98 for each in corrected] == pytest.approx([100.0] * len(corrected), abs=0.1)
    assert (
        f"{PATTERNS}gauge.pdf?paper=a4&amp;printer=Office" in client.get(f"{PATTERNS}?printer=Office").content.decode()
    )
    strips = client.get(f"{PATTERNS}gauge.pdf?printer=Office")
    assert strips["Content-Type"] == "application/pdf"
    (tmp_path / "gauge.pdf").write_bytes(strips.content)
    lines = [e.length for page in pages_of(tmp_path / "gauge.pdf") for e in page.level_lines()]
    assert min(abs(each * 0.98 - 100.0) for each in lines) < 0.1
    record = PrintMeasured.objects.get()
    client.post(f"/prints/{record.pk}/take-back/", {"back": PATTERNS})
    again = level_check(client.get(f"{PATTERNS}print.pdf?printer=Office").content, tmp_path / "again.pdf")
    assert again == pytest.approx([100.0] * len(again), abs=0.1)
    away = client.post(f"/prints/{record.pk}/put-back/", {"back": "//elsewhere.invalid/"})
    assert away["Location"] == "/"


@pytest.mark.parametrize("across", ["90 mm", "wide", "", "1e9 mm", "nan"])
def test_an_unbelievable_measurement_keeps_what_was_typed(client: Client, cups: Commission, across: str) -> None:
    answer = client.post(PATTERNS, {"printer": "Attic <b>", "across": across, "up": "99 mm"})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Attic &lt;b&gt;" in page
    assert 'value="99 mm"' in page
    assert not PrintMeasured.objects.exists()


def test_only_the_potter_writes_a_measurement_down() -> None:
    assert may("reader", "form-patterns", "GET")
    assert not may("reader", "form-patterns", "POST")
    assert not may("reader", "print-measured", "POST")
    assert not may("helper", "form-patterns", "GET")
