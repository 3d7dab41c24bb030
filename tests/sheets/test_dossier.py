"""The dossier as a whole: the same bytes each time, whole or not at all, nothing of anybody's written over."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pikepdf
import pytest

from tests.sheets.conftest import FOUR_NUMBERS
from tests.sheets.reading_pdf import pages_of, squeezed, text_of
from wareboard.errors import Unreadable
from wareboard.plan.result import Plan
from wareboard.sheets.dossier import LIST, files_of, names_of_forms, write
from wareboard.sheets.typesetting import FONTS, LEAST_POINTS

FOLDERS = ("demo_folder", "smallest_folder", "awkward_folder")


def sums_of(folder: Path) -> dict[str, str]:
    return {
        file.relative_to(folder).as_posix(): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


def pdfs_of(request: pytest.FixtureRequest, folder: str) -> list[Path]:
    found = sorted(request.getfixturevalue(folder).glob("*.pdf"))
    assert found
    return found


def test_the_dossier_holds_every_sheet_and_file(demo: Plan, demo_folder: Path) -> None:
    there = set(sums_of(demo_folder))
    wanted = {"01-job-summary.pdf", "cutting-plan.pdf", "shelf-plans.pdf", "firing-cards.pdf", "glaze-cards.pdf"}
    wanted |= {
        "calendar.pdf",
        "calendar.ics",
        "quote.pdf",
        "approval.pdf",
        "care-card.pdf",
        "figures.json",
        "figures.csv",
        "brief.toml",
    }
    wanted |= {"bisque-schedule.csv", "glaze-schedule.csv", LIST}
    for name in ("handled-cup", "milk-jug", "side-plate"):
        wanted |= {f"throw-{name}.pdf", f"gauge-{name}.pdf", f"patterns-{name}.pdf", f"sections/{name}.svg"}
    for firing in (demo.bisque, demo.glaze_firing):
        for number, load in enumerate(firing.loads.loads, 1):
            wanted.add(f"shelves/{firing.kind}-load-{number}.svg")
            wanted |= {f"shelves/{firing.kind}-load-{number}-shelf-{at}.svg" for at in range(1, len(load) + 1)}
    assert there == wanted


def test_a_dossier_without_glazes_has_no_glaze_cards(smallest_folder: Path) -> None:
    assert not (smallest_folder / "glaze-cards.pdf").exists()
    assert (smallest_folder / "firing-cards.pdf").exists()


def test_the_same_plan_gives_the_same_bytes(demo: Plan, demo_folder: Path, tmp_path: Path) -> None:
    write(demo, tmp_path / "again")
    assert sums_of(tmp_path / "again") == sums_of(demo_folder)


PROGRAM = """
import os, sys
from datetime import date
from pathlib import Path
from wareboard.plan import compile
from wareboard.plan.reading import read_brief
from wareboard.sheets.dossier import write
plan = compile(read_brief(Path(sys.argv[1]).read_text(), today=date(2026, 11, 25)), seconds=0.1)
def killed(done, of, name):
    if done == int(sys.argv[3]):
        os._exit(9)
write(plan, Path(sys.argv[2]), killed)
"""


def in_another_process(brief: Path, folder: Path, killed_after: int) -> int:
    given = {**os.environ, "PYTHONHASHSEED": "7"}
    command = [sys.executable, "-c", PROGRAM, str(brief), str(folder), str(killed_after)]
    return subprocess.run(command, env=given, check=False, timeout=120).returncode


def test_another_process_gives_the_same_bytes_and_a_killed_one_changes_nothing(
    smallest_folder: Path, tmp_path: Path
) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_text(FOUR_NUMBERS, encoding="utf-8")
    folder = tmp_path / "dossier"
    assert in_another_process(brief, folder, killed_after=-1) == 0
    assert sums_of(folder) == sums_of(smallest_folder)
    brief.write_text(FOUR_NUMBERS.replace("95 mm", "105 mm"), encoding="utf-8")
    assert in_another_process(brief, folder, killed_after=5) == 9
    assert sums_of(folder) == sums_of(smallest_folder)


class PowerCut(BaseException):
    pass


def cut_after(files: int):  # type: ignore[no-untyped-def]
    def told(done: int, of: int, name: str) -> None:
        if done == files:
            raise PowerCut

    return told


def test_a_dossier_that_is_broken_off_is_not_there_at_all(smallest: Plan, tmp_path: Path) -> None:
    with pytest.raises(PowerCut):
        write(smallest, tmp_path / "dossier", cut_after(4))
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_is_told_and_leaves_nothing(
    smallest: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Path, content: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(Unreadable, match="No space left"):
        write(smallest, tmp_path / "dossier")
    assert list(tmp_path.iterdir()) == []


def test_an_old_dossier_stays_whole_until_the_new_one_is(smallest: Plan, awkward: Plan, tmp_path: Path) -> None:
    folder = tmp_path / "dossier"
    write(smallest, folder)
    before = sums_of(folder)
    with pytest.raises(PowerCut):
        write(awkward, folder, cut_after(6))
    assert sums_of(folder) == before
    write(smallest, folder, paper="letter")
    assert set(sums_of(folder)) == set(before)
    assert sums_of(folder)["quote.pdf"] != before["quote.pdf"]
    assert [each.name for each in tmp_path.iterdir()] == ["dossier"]


def test_a_swap_that_was_cut_in_the_middle_is_put_back(smallest: Plan, tmp_path: Path) -> None:
    folder = tmp_path / "dossier"
    write(smallest, folder)
    before = sums_of(folder)
    folder.rename(tmp_path / ".dossier.old")  # the state between the two renamings of a swap
    with pytest.raises(PowerCut):
        write(smallest, folder, cut_after(1))
    assert sums_of(folder) == before


def test_a_folder_of_other_things_is_refused_and_left_alone(smallest: Plan, tmp_path: Path) -> None:
    folder = tmp_path / "letters"
    folder.mkdir()
    (folder / "letter.txt").write_text("dear aunt", encoding="utf-8")
    with pytest.raises(Unreadable, match=r"letter\.txt"):
        write(smallest, folder)
    assert [each.name for each in folder.iterdir()] == ["letter.txt"]
    with pytest.raises(Unreadable, match="not a folder"):
        write(smallest, folder / "letter.txt")


def test_an_empty_folder_is_used_and_folders_above_are_made(smallest: Plan, tmp_path: Path) -> None:
    (tmp_path / "empty" / "sections").mkdir(parents=True)
    (tmp_path / "empty" / ".DS_Store").touch()
    assert all(file.is_file() for file in write(smallest, tmp_path / "empty"))
    assert all(file.is_file() for file in write(smallest, tmp_path / "deep" / "down" / "here"))


def test_a_link_to_a_dossier_stays_a_link(smallest: Plan, tmp_path: Path) -> None:
    write(smallest, tmp_path / "dossier")
    link = tmp_path / "latest"
    link.symlink_to(tmp_path / "dossier", target_is_directory=True)
    files = write(smallest, link, paper="letter")
    assert link.is_symlink()
    assert files[0] == link / "01-job-summary.pdf"
    assert {each.name for each in tmp_path.iterdir()} == {"dossier", "latest"}


def test_what_somebody_put_into_a_dossier_is_carried_over(smallest: Plan, tmp_path: Path) -> None:
    folder = tmp_path / "dossier"
    write(smallest, folder)
    (folder / "photographs").mkdir()
    (folder / "photographs" / "shelf-1.txt").write_text("a photograph", encoding="utf-8")
    (tmp_path / "elsewhere").mkdir()
    (folder / "more").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    write(smallest, folder, paper="letter")
    assert (folder / "photographs" / "shelf-1.txt").read_text(encoding="utf-8") == "a photograph"
    assert (folder / "more").is_symlink()
    assert (tmp_path / "elsewhere").is_dir()


def test_a_file_of_the_same_name_is_not_written_over(smallest: Plan, demo: Plan, tmp_path: Path) -> None:
    folder = tmp_path / "dossier"
    write(smallest, folder)
    (folder / "glaze-cards.pdf").write_bytes(b"mine")
    with pytest.raises(Unreadable, match="somebody put it there"):
        write(demo, folder)
    assert (folder / "glaze-cards.pdf").read_bytes() == b"mine"


def test_progress_is_told_file_by_file(smallest: Plan, tmp_path: Path) -> None:
    told: list[tuple[int, int, str]] = []
    files = write(smallest, tmp_path / "dossier", lambda *each: told.append(each))
    assert [each[0] for each in told] == list(range(1, len(files) + 1))
    assert {each[1] for each in told} == {len(files)}
    assert [each[2] for each in told] == [file.relative_to(tmp_path / "dossier").as_posix() for file in files]


def test_forms_whose_names_look_alike_get_files_of_their_own(awkward: Plan) -> None:
    names = names_of_forms(awkward)
    assert len(set(names.values())) == len(awkward.forms)
    files = [name for name, _ in files_of(awkward)]
    assert len(set(files)) == len(files)


@pytest.mark.parametrize("folder", FOLDERS)
def test_every_sheet_is_tagged_and_says_its_title_and_language(folder: str, request: pytest.FixtureRequest) -> None:
    for file in pdfs_of(request, folder):
        with pikepdf.open(file) as pdf:
            assert bool(pdf.Root.MarkInfo.Marked), file.name
            assert "/StructTreeRoot" in pdf.Root
            assert str(pdf.Root.Lang).lower() == "en-gb"
            assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)
            with pdf.open_metadata() as meta:
                assert meta["dc:title"]
                assert meta["pdfuaid:part"] == "1"


@pytest.mark.parametrize("folder", FOLDERS)
def test_no_letter_is_smaller_than_eight_and_a_half_points(folder: str, request: pytest.FixtureRequest) -> None:
    for file in pdfs_of(request, folder):
        for page in pages_of(file):
            for words in page.words:
                assert words.points >= LEAST_POINTS - 0.01, f"{file.name}: {words}"


@pytest.mark.parametrize("folder", FOLDERS)
def test_every_page_is_numbered_and_nothing_leaves_the_paper(folder: str, request: pytest.FixtureRequest) -> None:
    for file in pdfs_of(request, folder):
        pages = pages_of(file)
        for number, page in enumerate(pages, 1):
            assert f"page{number}of{len(pages)}" in squeezed(page.text), file.name
            wide, tall = page.size_mm
            assert all(0 < each.x < wide and 0 < each.y < tall for each in page.words), file.name
            assert all(
                min(each.x1, each.x2) >= -0.01 and max(each.x1, each.x2) <= wide + 0.01 for each in page.lines
            ), file.name


def test_sheets_are_as_large_as_the_paper(demo_folder: Path, awkward_folder: Path) -> None:
    for folder, paper in ((demo_folder, (210.0, 297.0)), (awkward_folder, (215.9, 279.4))):
        for file in folder.glob("*.pdf"):
            for page in pages_of(file):
                assert sorted(page.size_mm) == pytest.approx(sorted(paper), abs=0.05), file.name


def test_sheets_have_no_more_pages_than_they_need(
    demo: Plan, demo_folder: Path, smallest_folder: Path, tmp_path: Path
) -> None:
    most = {"throw": 2, "gauge": 2, "quote": 1, "care": 1, "cutting": 2, "01": 4, "firing": 4, "calendar": 8}
    letter = tmp_path / "letter"
    write(demo, letter, paper="letter")
    for folder in (demo_folder, smallest_folder, letter):
        for file in folder.glob("*.pdf"):
            limit = most.get(file.stem.split("-")[0])
            if limit is not None:
                assert len(pages_of(file)) <= limit, file.name
        if (folder / "glaze-cards.pdf").exists():
            assert len(pages_of(folder / "glaze-cards.pdf")) == len(demo.glazes)


@pytest.mark.parametrize("folder", ["demo_folder", "awkward_folder"])
def test_an_invented_commission_says_so_on_every_sheet(folder: str, request: pytest.FixtureRequest) -> None:
    for file in pdfs_of(request, folder):
        assert "invented" in text_of(file), file.name


def test_the_fonts_are_those_whose_sums_were_noted() -> None:
    noted = tomllib.loads((FONTS / "VENDORED.toml").read_text(encoding="utf-8"))["file"]
    assert {each["path"] for each in noted} == {file.name for file in FONTS.glob("*.ttf")}
    for each in noted:
        assert hashlib.sha256((FONTS / each["path"]).read_bytes()).hexdigest() == each["sha256"]
        assert "Open Font License" in (FONTS / each["licence_file"]).read_text(encoding="utf-8")
