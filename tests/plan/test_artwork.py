"""The pictures that a brief names: found beside it, refused by key and file, and on their sheets."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from wareboard.commands import demo_pictures, wareboard
from wareboard.commands.demo import demo_text
from wareboard.errors import Problems
from wareboard.plan.reading import read_brief

TODAY = date(2026, 11, 25)


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    """The invented brief with its pictures beside it."""
    demo_pictures.write(tmp_path / "pictures")
    file = tmp_path / "tea-room.toml"
    file.write_text(demo_text(TODAY), encoding="utf-8")
    return file


def refused(file: Path, old: str, new: str) -> str:
    text = file.read_text(encoding="utf-8")
    assert old in text
    with pytest.raises(Problems) as told:
        read_brief(text.replace(old, new), today=TODAY, folder=file.parent)
    return str(told.value)


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ("/etc/passwd", "does not start from the brief's folder"),
        ("C:/drawings/heron.svg", "does not start from the brief's folder"),
        ("~/heron.svg", "does not start from the brief's folder"),
        ("pictures/../../heron.svg", "leads out of the brief's folder"),
        ("", "is not the name of a file"),
        ("pictures/hern.svg", "there is no such file"),
        ("pictures", "it is no file"),
    ],
)
def test_a_file_that_is_elsewhere_or_nowhere_is_refused_by_its_key_and_line(
    brief: Path, written: str, why: str
) -> None:
    said = refused(brief, 'drawing = "pictures/heron.svg"', f'drawing = "{written}"')
    assert why in said
    assert "drawing" in said
    assert "line " in said


def test_a_link_out_of_the_folder_is_not_followed(brief: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    (elsewhere / "heron.svg").write_bytes(demo_pictures.heron_svg())
    (brief.parent / "away").symlink_to(elsewhere)
    assert "is a link" in refused(brief, "pictures/heron.svg", "away/heron.svg")


def test_a_brief_without_its_folder_is_read_without_looking_for_files(brief: Path) -> None:
    text = brief.read_text(encoding="utf-8").replace("pictures/heron.svg", "nowhere/heron.svg")
    carving = read_brief(text, today=TODAY).forms[0].carving
    assert carving is not None
    assert carving.drawing == "nowhere/heron.svg"


def test_the_dossier_holds_both_sheets_and_the_pictures_that_its_own_brief_names(brief: Path, tmp_path: Path) -> None:
    out = tmp_path / "dossier"
    asked = ["plan", str(brief), "--today", "2026-11-25", "--seconds", "0.1"]
    done = CliRunner().invoke(wareboard, [*asked, "--out", str(out)])
    assert done.exit_code == 0, done.output
    for name in ("mark-handled-cup.pdf", "painters-card-handled-cup.pdf"):
        assert (out / name).read_bytes().startswith(b"%PDF")
    assert (out / "pictures" / "heron.svg").read_bytes() == demo_pictures.heron_svg()
    again = CliRunner().invoke(wareboard, ["plan", str(out / "brief.toml"), *asked[2:]])
    assert again.exit_code == 0, again.output


def test_mark_and_paint_take_a_brief_instead_of_the_pictures(brief: Path, tmp_path: Path) -> None:
    run = CliRunner().invoke
    made = run(wareboard, ["mark", str(brief), "--today", "2026-11-25", "--out", str(tmp_path / "mark.svg")])
    assert made.exit_code == 0, made.output
    assert "Handled cup: shrinkage" in made.output
    assert (tmp_path / "mark.svg").is_file()
    # Fired 20 mm high by the brief; what is typed goes first.
    smaller = run(wareboard, ["mark", str(brief), "--today", "2026-11-25", "--height", "10 mm"])
    assert smaller.exit_code == 0, smaller.output
    assert smaller.output != made.output
    painted = run(wareboard, ["paint", str(brief), "--today", "2026-11-25", "--out", str(tmp_path / "cards")])
    assert painted.exit_code == 0, painted.output
    assert "Water blue" in painted.output
    assert list((tmp_path / "cards").glob("*.svg"))


def test_the_mark_and_the_form_of_a_brief_that_was_due_long_ago_are_drawn_again(brief: Path, tmp_path: Path) -> None:
    text = (
        brief.read_text(encoding="utf-8")
        .replace("due = 2027-", "due = 2024-")
        .replace("start = 2026-", "start = 2023-")
    )
    brief.write_text(text, encoding="utf-8")
    for asked, made in (
        (["mark", str(brief), "--out", str(tmp_path / "mark.svg")], "mark.svg"),
        (["form", "solid", str(brief), "--out", str(tmp_path / "cup.stl")], "cup.stl"),
    ):
        done = CliRunner().invoke(wareboard, asked)
        assert done.exit_code == 0, done.output
        assert (tmp_path / made).is_file()
    again = CliRunner().invoke(wareboard, ["plan", str(brief), "--today", "2026-11-25"])
    assert "2024-02-05 (due" in f"{again.output} {again.exception}"


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["mark", "{brief}", "--tall", "90 mm"], "--tall"),
        (["paint", "{brief}", "--coats", "3"], "that comes from the brief"),
        (["mark", "{brief}", "--form", "Milk jug"], "it has no [forms.carving]"),
        (["mark", "{folder}/pictures/heron.svg"], "Missing option '--tall'"),
        (["paint", "{folder}/pictures/reed-bed.png"], "Missing TILES"),
    ],
)
def test_what_the_brief_says_is_not_said_again_and_what_is_missing_is_named(
    brief: Path, asked: list[str], said: str
) -> None:
    done = CliRunner().invoke(wareboard, [each.format(brief=brief, folder=brief.parent) for each in asked])
    assert done.exit_code != 0
    assert said in f"{done.output} {done.exception}"
