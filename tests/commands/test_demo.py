"""The first command on a bare machine, as a process of its own: demo workshop, answers, dossier, records; twice."""

import sqlite3
import subprocess
import sys
from pathlib import Path


def demo(folder: Path) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "wareboard", "demo", "--folder", str(folder)], capture_output=True, text=True, check=True
    )
    return done.stdout


def test_the_demo_makes_a_workshop_and_a_second_call_keeps_what_was_changed(tmp_path: Path) -> None:
    folder = tmp_path / "my workshop"  # a space, as on most people's machines
    said = demo(folder)
    for question in ("What do I throw?", "How much clay?", "When?", "How many loads?", "What price?"):
        assert question in said
    assert (folder / "dossiers" / "tea-room" / "01-job-summary.pdf").is_file()
    brief = folder / "briefs" / "tea-room.toml"
    brief.write_text(brief.read_text(encoding="utf-8").replace("count = 72", "count = 60"), encoding="utf-8")
    again = demo(folder)
    assert "for 60:" in again
    assert "count = 60" in brief.read_text(encoding="utf-8")
    with sqlite3.connect(folder / "records.sqlite3") as records:
        assert records.execute("SELECT COUNT(*) FROM book_commission").fetchone() == (1,)


def test_a_mistake_ends_with_words_and_not_a_traceback(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "wareboard", "plan", str(tmp_path / "no.toml")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert "no such file" in done.stderr
    assert "Traceback" not in done.stderr


def said_in_words(*command: str) -> str:
    done = subprocess.run([sys.executable, "-m", "wareboard", *command], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    return done.stderr


def test_a_place_where_nothing_can_be_written_is_told_in_words(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    inside_a_file = str(tmp_path / "file" / "shop")
    assert inside_a_file in said_in_words("demo", "--folder", inside_a_file)
    nowhere = str(tmp_path / "none" / "cup.toml")
    four = ("--height", "95 mm", "--shrinkage", "12 %", "--count", "3", "--due", "2999-01-01")
    assert nowhere in said_in_words("new", nowhere, *four)
