"""The mark command as a person calls it; the numbers are checked where they are worked out."""

from __future__ import annotations

import io
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from tests.mark.pictures import known_lines, photographed, strokes
from wareboard.commands.mark import mark_command
from wareboard.errors import OutOfRange, Unreadable

CUP = ["--tall", "95 mm", "--rim", "90 mm", "--shrinkage", "12 %", "--so-far", "3 %"]
SQUARE = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10"><rect width="10" height="10"/></svg>'


@pytest.fixture
def square(tmp_path: Path) -> str:
    place = tmp_path / "square.svg"
    place.write_text(SQUARE, encoding="utf-8")
    return str(place)


def run(*words: str) -> Result:
    return CliRunner().invoke(mark_command, list(words), catch_exceptions=False)


def test_twenty_millimetres_fired_are_carved_at_22_05(square: str) -> None:
    """By arithmetic: 20 x 0.97 / 0.88 = 22.045."""
    said = run(square, "--width", "20 mm", *CUP).output
    assert "22.05 mm wide, 22.05 mm high" in said
    assert "nothing is stretched" in said
    assert " = " not in said


def test_height_and_width_shrink_apart_and_the_working_says_so(square: str) -> None:
    """By arithmetic: up at 13 %, 20 x 0.97 / 0.87 = 22.30."""
    said = run(square, "--width", "20 mm", *CUP, "--shrinkage-up", "13 %", "--working").output
    assert "22.30 mm high" in said
    assert "height of the mark, fired = before_mm * (1 - then) / (1 - gone) = 20 mm" in said


def test_marks_go_round_clear_of_the_handle(square: str) -> None:
    said = run(square, "--width", "20 mm", *CUP, "--count", "4", "--handle", "22 mm").output
    assert "mark 1: 45.0°" in said
    assert "mark 4: 315.0°" in said


def test_the_page_and_the_picture_of_the_paper_are_written_at_life_size(square: str, tmp_path: Path) -> None:
    page, give = tmp_path / "page.svg", tmp_path / "give.svg"
    run(square, "--width", "20 mm", *CUP, "--shape", "belly", "--copies", "3", "--out", str(page), "--give", str(give))
    root = ET.parse(page).getroot()
    assert root.get("width") == "210mm"
    marks = [each for each in root.iter("{http://www.w3.org/2000/svg}path") if each.get("class") == "mark"]
    assert len(marks) == 3
    places = [pair.split(",") for pair in (marks[0].get("d") or "").strip("MZ").split()]
    sides = np.ptp(np.array(places, dtype=float), axis=0)
    assert sides == pytest.approx([22.05, 22.05], rel=0.02)  # the wall is double-curved: the paper gives a little
    assert ET.parse(give).getroot().get("width", "").endswith("mm")


@pytest.mark.parametrize("kind", ["png", "jpeg", "webp"])
def test_a_photographed_drawing_is_traced_and_comes_out_at_its_size(kind: str, tmp_path: Path) -> None:
    """Truth: the length of the drawn lines, 32 mm wide in all, by 0.97 / 0.88."""
    picture = photographed(strokes(known_lines(), 1.0)).clip(0, 1)
    place = tmp_path / "drawn.txt"
    Image.fromarray(np.rint(picture * 255).astype(np.uint8)).convert("RGB").save(place, kind)
    said = run(str(place), "--width", "32 mm", *CUP).output
    drawn = sum(np.hypot(*np.diff(line, axis=0).T).sum() for line in known_lines())
    wanted = drawn * 0.97 / 0.88
    length = float(said.split("mm deep; ")[1].split(" mm")[0])
    assert length == pytest.approx(wanted, rel=0.03)


def test_ink_on_a_see_through_ground_is_laid_on_white_and_that_is_told(tmp_path: Path) -> None:
    ink = np.rint(strokes(known_lines(), 1.0) * 255).astype(np.uint8)
    nought = np.zeros_like(ink)
    place = tmp_path / "drawn.png"
    Image.fromarray(np.dstack([nought, nought, nought, ink])).save(place)
    assert "laid on white" in run(str(place), "--width", "32 mm", *CUP).output


def plain_png() -> bytes:
    held = io.BytesIO()
    Image.new("RGB", (60, 60), (200, 190, 180)).save(held, "PNG")
    return held.getvalue()


@pytest.mark.parametrize(
    ("held", "words", "error", "match"),
    [
        (b"", [], Unreadable, "empty"),
        (b"some words", [], Unreadable, "it is text"),
        (plain_png(), [], OutOfRange, "no lines"),
        (plain_png()[:60], [], Unreadable, "broken"),
        (SQUARE.replace("<rect", "<script/><rect").encode(), [], Unreadable, "script"),
        (b"<svg></svg>", [], Unreadable, "no lines"),
        (SQUARE.encode(), ["--width", "20 miles"], Unreadable, "unit"),
        (SQUARE.encode(), ["--width", "120 mm"], OutOfRange, "smaller"),
        (SQUARE.encode(), ["--width", "20 mm", "--at", "8 mm"], OutOfRange, "move it"),
        (SQUARE.encode(), ["--width", "20 mm", "--out", "/nowhere/at/all.svg"], Unreadable, "written"),
    ],
)
def test_bad_files_and_sizes_are_refused_in_clear_words(
    held: bytes, words: list[str], error: type[Exception], match: str, tmp_path: Path
) -> None:
    place = tmp_path / "mark.jpg"
    place.write_bytes(held)
    with pytest.raises(error, match=match):
        run(str(place), *(words or ["--width", "20 mm"]), *CUP)


def test_a_size_must_be_given(square: str) -> None:
    with pytest.raises(OutOfRange, match="width nor height"):
        run(square, *CUP)
