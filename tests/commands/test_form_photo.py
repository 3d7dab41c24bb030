"""The photo command as a person calls it; how near it comes is checked where pictures are read."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from tests.form.photographs import photograph
from tests.form.photographs_with_sheet import true_corners
from tests.form.test_photo_sheet import with_sheet
from tests.form.test_silhouette import drawn, side
from wareboard.commands.form_photo import photo_command
from wareboard.errors import OutOfRange, Unreadable, WareboardError
from wareboard.form.curve import smooth_through
from wareboard.plan.reading import read_brief


@pytest.fixture
def cone(tmp_path: Path) -> str:
    place = tmp_path / "invented cone.png"
    Image.fromarray(drawn(side("cone"), handle=1)).save(place)
    return str(place)


def run(*words: str) -> Result:
    return CliRunner().invoke(photo_command, list(words), catch_exceptions=False)


def test_it_prints_the_profile_and_writes_lines_that_a_brief_takes(cone: str, tmp_path: Path) -> None:
    """Source: the cone that was drawn, 50 mm wide at its foot and 100 mm at its rim, 100 mm high."""
    files = [str(tmp_path / name) for name in ("form.toml", "radii.csv", "line.svg")]
    said = run(cone, "--height", "10 cm", "--out", files[0], "--csv", files[1], "--svg", files[2]).output
    assert "100.0 mm high" in said
    assert "handle on the right" in said
    form = tomllib.loads(Path(files[0]).read_text())["forms"][0]
    pairs = np.array(form["profile"])
    assert form["name"] == "invented cone"
    assert np.abs(pairs[:, 1] - (50 + 0.5 * pairs[:, 0])).max() < 2.0
    table = np.genfromtxt(files[1], delimiter=",", names=True)
    assert table["radius_mm"][-1] == pytest.approx(50.0, abs=0.8)
    assert Path(files[2]).read_text().count("<path") == 2


def test_the_lines_it_writes_pass_as_a_brief(cone: str, tmp_path: Path) -> None:
    place = tmp_path / "form.toml"
    run(cone, "--height", "100 mm", "--out", str(place))
    brief = read_brief('due = 2027-02-12\n[clay]\nshrinkage = "12 %"\n' + place.read_text(), today=date(2026, 11, 25))
    assert brief.forms[0].profile[-1][0] == pytest.approx(100.0)


def test_a_corner_stays_sharp_in_the_smooth_line_of_the_lines_it_writes(tmp_path: Path) -> None:
    """Closed form: a cylinder 60 mm wide that turns at half its height into a cone up to 110 mm, 100 mm high: the width
    is 60 + 50 (2h/100 - 1) above the corner. The brief's line is drawn smooth, and keeps as near to it as was asked beside
    what the photograph itself leaves open."""
    rows, axis = 600, np.arange(601) / 6.0
    half = np.where(axis < 50, 30.0, 30.0 + 25.0 * (2 * axis / 100 - 1)) * 6.0
    across = np.abs(np.arange(900) + 0.5 - 450)
    dots = np.full((rows + 200, 900, 3), 228, dtype=np.uint8)
    dots[100 : rows + 100][across < half[::-1][:rows, None]] = (70, 80, 90)
    place, lines = tmp_path / "invented corner.png", tmp_path / "form.toml"
    Image.fromarray(dots).save(place)
    run(str(place), "--height", "100 mm", "--out", str(lines))
    pairs = np.array(tomllib.loads(lines.read_text())["forms"][0]["profile"])
    assert len(pairs) <= 60
    smooth = smooth_through(pairs / [1.0, 2.0], 400)
    true = np.where(smooth[:, 0] < 50, 30.0, 30.0 + 25.0 * (2 * smooth[:, 0] / 100 - 1))
    inside = (smooth[:, 0] > 4) & (smooth[:, 0] < 96)
    assert np.abs(smooth[inside, 1] - true[inside]).max() < 0.8


def test_what_is_no_photograph_is_refused_in_clear_words(tmp_path: Path) -> None:
    text = tmp_path / "cup.jpg"
    text.write_text("a text named .jpg")
    with pytest.raises(Unreadable, match="text"):
        run(str(text), "--height", "95 mm")
    phone = tmp_path / "cup.heic"
    phone.write_bytes(b"\0\0\0\x18ftypheic" + b"\0" * 40)
    with pytest.raises(WareboardError, match="HEIC"):
        run(str(phone), "--height", "95 mm")
    with pytest.raises(OutOfRange, match="no size"):
        run(_saved(tmp_path))


def _saved(folder: Path) -> str:
    place = folder / "plain.png"
    Image.fromarray(drawn(side("cone"))).save(place)
    return str(place)


def test_a_sheet_of_paper_beside_the_piece_takes_the_place_of_a_size(tmp_path: Path) -> None:
    """Source: the scene whose rays were walked; how near it comes is checked where sheets are found."""
    scene = with_sheet(3010)
    place = tmp_path / "invented jug.png"
    Image.fromarray(photograph(scene)).save(place)
    said = run(str(place), "--sheet", "a4").output
    tall = float(said.split(" mm high")[0].split()[-1])
    assert tall == pytest.approx(scene.profile.height_mm, rel=0.015)


def test_the_corners_of_a_sheet_may_be_told_and_need_its_kind(tmp_path: Path) -> None:
    """Source: the corners by the camera that drew the scene, as a hand reads them off, to whole dots."""
    scene = with_sheet(3010)
    place = tmp_path / "jug.png"
    Image.fromarray(photograph(scene)).save(place)
    written = " ".join(f"{x:.0f},{y:.0f}" for x, y in true_corners(scene))
    said = run(str(place), "--sheet", "a4", "--sheet-corners", written).output
    assert float(said.split(" mm high")[0]) == pytest.approx(scene.profile.height_mm, rel=0.015)
    with pytest.raises(Unreadable, match="which sheet it is"):
        run(str(place), "--sheet-corners", written)
    with pytest.raises(Unreadable, match="8 numbers"):
        run(str(place), "--sheet", "a4", "--sheet-corners", "1,2 3,4")
