"""`wareboard form drawing` and `form radii`, against the sizes that are drawn and written."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from wareboard.commands import wareboard
from wareboard.plan.reading import read_brief
from wareboard.plan.workshop import Workshop

DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">'
    '<path d="M100 150 H130 L140 60"/></svg>'
)
HEAD = 'due = 2027-02-12\n[clay]\nshrinkage = "12 %"\n'


def asked(*words: str) -> str:
    result = CliRunner().invoke(wareboard, ["form", *words])
    return f"{result.exit_code}\n{result.output}{result.exception or ''}"


def test_a_drawing_gives_the_lines_that_a_brief_takes(tmp_path: Path) -> None:
    drawn, out = tmp_path / "cup.svg", tmp_path / "cup.toml"
    drawn.write_text(DRAWING, encoding="utf-8")
    said = asked("drawing", str(drawn), "--height", "180 mm", "--out", str(out), "--csv", str(tmp_path / "cup.csv"))
    assert said.startswith("0\n180.0 mm high, 160.0 mm at its widest, 160.0 mm at the rim")
    form = read_brief(HEAD + out.read_text(encoding="utf-8"), Workshop()).forms[0]
    assert form.profile == ((0.0, 120.0), (180.0, 160.0))
    assert asked("radii", str(tmp_path / "cup.csv")).startswith("0\n180.0 mm high, 160.0 mm at its widest")


def test_a_table_gives_the_lines_that_a_brief_takes(tmp_path: Path) -> None:
    table = tmp_path / "cup.csv"
    table.write_text("\ufeffheight_in;diameter_in\n0;2,5\n3,5;3\n", encoding="utf-8")
    assert "profile = [[0.0, 63.5], [88.9, 76.2]]" in asked("radii", str(table))


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("cup.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "a script"),
        ("cup.csv", b"height_mm,radius_mm\n0,30\n90,wide\n", "row 3"),
        ("cup.csv", b"\xff\xfe\x00", "UTF-8"),
        ("cup.csv", None, "no such file"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_written(
    tmp_path: Path, name: str, content: bytes | None, words: str
) -> None:
    source, out = tmp_path / name, tmp_path / "out.toml"
    if content is not None:
        source.write_bytes(content)
    said = asked("drawing" if name.endswith("svg") else "radii", str(source), "--out", str(out))
    assert not said.startswith("0\n")
    assert words in said
    assert not out.exists()
