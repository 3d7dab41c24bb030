"""The command line as a potter meets it: right words, wrong words, and nothing half done."""

import json
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from wareboard.commands import wareboard
from wareboard.errors import WareboardError

LEAST = 'due = 2027-03-12\n[clay]\nshrinkage = "12 %"\n[[forms]]\nname = "cup"\ncount = 6\nheight = "95 mm"\n'


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    file = tmp_path / "brief.toml"
    file.write_text(LEAST, encoding="utf-8")
    return file


def run(*words: object) -> str:
    result = CliRunner().invoke(wareboard, [str(word) for word in words])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.output


def test_a_plan_answers_the_five_questions(brief: Path) -> None:
    said = run("plan", brief, "--today", "2026-11-30", "--seconds", "2")
    for question in ("What do I throw?", "How much clay?", "When?", "How many loads?", "What price?"):
        assert question in said
    assert "wet height 108 mm" in said  # 95 / 0.88, by definition of shrinkage


def test_the_working_is_printed_when_asked(brief: Path) -> None:
    said = run("plan", brief, "--today", "2026-11-30", "--seconds", "2", "--working")
    assert "forms.cup.height-wet: height, wet = fired_mm / (1 - shrinkage) = 107.955 mm" in said


def test_the_dossier_is_written_with_every_figure(brief: Path, tmp_path: Path) -> None:
    out = tmp_path / "dossier"
    said = run("plan", brief, "--today", "2026-11-30", "--seconds", "2", "--out", out)
    assert "files written" in said
    figures = json.loads((out / "figures.json").read_text(encoding="utf-8"))
    assert figures
    assert (out / "01-job-summary.pdf").read_bytes().startswith(b"%PDF")


def test_check_says_that_a_good_brief_reads_well(brief: Path) -> None:
    assert "6 pieces due 2027-03-12" in run("check", brief, "--today", "2026-11-30")


@pytest.mark.parametrize(
    ("text", "word"),
    [("", "due"), ("\x00", "TOML"), ("due = 2020-01-01\n", "past"), (LEAST.replace('"12 %"', '"300 %"'), "25 %")],
)
def test_wrong_briefs_are_refused_with_their_mend(tmp_path: Path, text: str, word: str) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(WareboardError, match=word):
        run("check", file, "--today", "2026-11-30")


def test_a_file_that_is_not_there_or_not_text_is_named(tmp_path: Path) -> None:
    with pytest.raises(WareboardError, match="no such file"):
        run("plan", tmp_path / "nothing.toml")
    binary = tmp_path / "photo.toml"
    binary.write_bytes(bytes(range(256)))
    with pytest.raises(WareboardError, match="UTF-8"):
        run("check", binary)


def test_a_new_brief_keeps_what_was_typed_and_never_overwrites(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    due = date(date.today().year + 1, 6, 1).isoformat()  # noqa: DTZ011
    words = ("new", file, "--height", "3 3/4 in", "--shrinkage", "12 %", "--count", "24", "--due", due, "--name", "mug")
    assert "written" in run(*words)
    assert '"3 3/4 in"' in file.read_text(encoding="utf-8")
    with pytest.raises(WareboardError, match="already"):
        run(*words)


@pytest.mark.parametrize("bad", [("--count", "ten"), ("--height", "tall"), ("--shrinkage", "300 %"), ("--due", "soon")])
def test_a_new_brief_of_wrong_numbers_writes_nothing(tmp_path: Path, bad: tuple[str, str]) -> None:
    words = {"--height": "95 mm", "--shrinkage": "12 %", "--count": "24", "--due": "2099-06-01"} | dict([bad])
    with pytest.raises(WareboardError):
        run("new", tmp_path / "x.toml", *(part for pair in words.items() for part in pair))
    assert not (tmp_path / "x.toml").exists()


def test_look_ups_print_their_working() -> None:
    assert "107.955 mm" in run("wet-size", "95 mm", "--shrinkage", "12 %")
    # Self-supporting cone 6 at 60 °C/h: 1222 °C (mailing list 2006, printed; see reference/kiln/cones_2016.csv).
    assert "1222" in run("cone", "6", "--rate", "60")
    assert "infrared" in run("cone", "6")
    # 24 wanted, yield 0.9, 95 %: 30 by the binomial (NIST-style table in the tests of overage).
    assert "30" in run("start-count", "24", "--good", "90 %", "--chance", "95 %", "--correlation", "0")
    assert "wall.plate" in run("defaults", "wall")


@pytest.mark.parametrize(
    "words", [("cone", "99"), ("cone", "6", "--rate", "9999"), ("wet-size", "🏺", "--shrinkage", "12 %")]
)
def test_look_ups_refuse_what_no_kiln_could_mean(words: tuple[str, ...]) -> None:
    with pytest.raises(WareboardError):
        run(*words)


def test_help_names_every_command() -> None:
    said = run("--help")
    for name in ("plan", "studio", "demo", "backup", "restore"):
        assert name in said
