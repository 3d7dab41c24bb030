"""The sheets of a commission: written once for a plan, opened one by one, taken all at once."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from django.test import Client

from wareboard.book.models import Commission

HERE = "/commissions/26-01/sheets/"
pytest.importorskip("wareboard.sheets.dossier")


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """A quick writer in place of the real one, which is tested with the sheets; every folder it was asked for."""
    asked: list[Path] = []

    def write(plan: object, folder: Path, **_: object) -> tuple[Path, ...]:
        asked.append(folder)
        (folder / "gauges").mkdir(parents=True, exist_ok=True)
        for name, body in (
            ("01-job-summary.pdf", b"%PDF-1.7 "),
            ("gauges/cup.pdf", b"%PDF-1.7 cup"),
            ("cut.svg", b"<svg/>"),
        ):
            (folder / name).write_bytes(body)
        return ()

    monkeypatch.setattr("wareboard.sheets.dossier.write", write)
    return asked


def test_sheets_are_listed_and_written_once_for_a_plan(client: Client, cups: Commission, written: list[Path]) -> None:
    page = client.get(HERE).content.decode()
    assert f'href="{HERE}01-job-summary.pdf"' in page
    assert f'href="{HERE}gauges/cup.pdf"' in page
    client.get(HERE)
    client.get(f"{HERE}01-job-summary.pdf")
    assert len(written) == 1
    assert cups.paper.current is not None
    cups.paper.current.text += "\n# another\n"
    cups.paper.current.save()
    client.get(HERE)
    assert len(written) == 2


def test_a_sheet_opens_in_the_browser_and_a_drawing_may_load_nothing(
    client: Client, cups: Commission, written: list[Path]
) -> None:
    sheet = client.get(f"{HERE}gauges/cup.pdf")
    assert sheet["Content-Type"] == "application/pdf"
    assert "attachment" not in sheet.get("Content-Disposition", "")
    assert b"".join(sheet) == b"%PDF-1.7 cup"  # type: ignore[arg-type]
    assert "default-src 'none'" in client.get(f"{HERE}cut.svg")["Content-Security-Policy"]


@pytest.mark.parametrize("name", ["none.pdf", "../../secret.key", "..%2f..%2fsecret.key", ".26-01.made-from", "gauges"])
def test_only_the_sheets_are_given_out(
    client: Client, cups: Commission, written: list[Path], workshop_folder: Path, name: str
) -> None:
    (workshop_folder / "secret.key").write_text("x")
    assert client.get(f"{HERE}{name}").status_code == 404


def test_all_sheets_come_in_one_zip(client: Client, cups: Commission, written: list[Path]) -> None:
    done = client.get(f"{HERE}all.zip")
    with zipfile.ZipFile(io.BytesIO(done.content)) as box:
        assert sorted(box.namelist()) == ["26-01/01-job-summary.pdf", "26-01/cut.svg", "26-01/gauges/cup.pdf"]


def test_the_real_sheets_are_written_and_are_pdf(client: Client, cups: Commission, workshop_folder: Path) -> None:
    """Opened with pikepdf."""
    import pikepdf

    assert client.get(HERE).status_code == 200
    sheets = list((workshop_folder / "dossiers" / "26-01").rglob("*.pdf"))
    assert sheets
    with pikepdf.open(sheets[0]) as opened:
        assert len(opened.pages) >= 1


def test_what_the_workshop_prints_on_is_what_its_sheets_are_laid_out_for(
    client: Client, cups: Commission, workshop_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """US letter is 8 1/2 by 11 in, 612 by 792 points (ANSI/ASME Y14.1, size A); A4 is 595 by 842 (ISO 216)."""
    import pikepdf

    asked: list[object] = []
    monkeypatch.setattr(
        "wareboard.sheets.dossier.write",
        lambda plan, folder, **more: (asked.append(more["paper"]), folder.mkdir(parents=True, exist_ok=True)),
    )
    for paper, points in (("", (595, 842)), ('paper = "letter"\n', (612, 792))):
        (workshop_folder / "workshop.toml").write_text(paper, encoding="utf-8")
        client.get(HERE)
        with pikepdf.open(io.BytesIO(client.get("/bench/today/today.pdf").content)) as sheet:
            box = [float(each) for each in sheet.pages[0].mediabox]
        assert (round(box[2]), round(box[3])) == points
        with pikepdf.open(io.BytesIO(client.get("/bench/today/today.pdf?paper=a4").content)) as sheet:
            assert round(float(sheet.pages[0].mediabox[3])) == 842
    assert asked == ["a4", "letter"]
