"""The paint commands as a person calls them; the numbers are checked where they are worked out. All is invented."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from tests.paint.invented_artwork import petals
from tests.paint.photographs import TILE_BOXES, photograph
from wareboard.commands.paint import paint_command, tile_colour_command
from wareboard.errors import NotInTable, OutOfRange, Problems, Unreadable, WareboardError
from wareboard.paint.card import card
from wareboard.paint.colour import ciede2000

TILES = """
[[tile]]
name = "body"
fired = [86, 2, 10]
coats = 0
[[tile]]
name = "honey"
fired = [60, 15, 48]
raw = [82, 18, 8]
cone = "cone 6"
[[tile]]
name = "leaf"
fired = [50, -22, 22]
cone = 6
runs = true
[[tile]]
name = "blue"
fired = [34, 8, -40]
cone = "6"
[[tile]]
name = "black"
fired = [20, 0, 0]
"""
MUG = ["--tall", "95 mm", "--rim", "80 mm", "--shrinkage", "12 %"]


@pytest.fixture
def workshop(tmp_path: Path) -> Path:
    artwork, _ = petals(120, 300, 4, count=10)
    Image.fromarray(artwork).save(tmp_path / "petals.png")
    (tmp_path / "tiles.toml").write_text(TILES)
    return tmp_path


def run(folder: Path, *words: str, artwork: str = "petals.png", tiles: str = "tiles.toml") -> Result:
    given = [str(folder / artwork), str(folder / tiles), *words]
    return CliRunner().invoke(paint_command, given, catch_exceptions=False)


def test_a_picture_and_tiles_give_zones_order_amounts_and_cards(workshop: Path) -> None:
    out = workshop / "cards"
    said = run(workshop, *MUG, "--pieces", "24", "--out", str(out), "--off-rim", "4 mm").output
    assert "order of coats:" in said
    assert "brushed 3 times" in said
    assert "for 24 pieces" in said
    assert "wash hands" in said
    count = len(re.findall(r"^  \d\. ", said, re.MULTILINE))
    assert sorted(p.name for p in out.iterdir()) == sorted(
        ["zones.svg", "preview.svg", *(f"coat-{k}.svg" for k in range(1, count + 1))]
    )
    first = {p.name: p.read_bytes() for p in out.iterdir()}
    run(workshop, *MUG, "--pieces", "24", "--out", str(out), "--off-rim", "4 mm", "--replace")
    assert first == {p.name: p.read_bytes() for p in out.iterdir()}


def test_what_runs_and_comes_to_the_foot_is_said(workshop: Path) -> None:
    picture = np.zeros((80, 240, 3), dtype=np.uint8) + np.array([222, 214, 198], dtype=np.uint8)
    picture[40:] = (80, 130, 80)
    Image.fromarray(picture).save(workshop / "hill.png")
    said = run(workshop, *MUG, artwork="hill.png").output
    assert "rule in the way: leaf kept 6 mm off the foot" in said
    assert "rule in the way" not in run(workshop, *MUG, "--off-foot", "8 mm", artwork="hill.png").output


def test_rules_that_clash_are_named_and_the_workshops_rules_are_kept(workshop: Path) -> None:
    (workshop / "rules.toml").write_text('[[rule]]\nfirst = "black"\nthen = "honey"\nwhy = "it bleeds"\n')
    said = run(workshop, *MUG, "--rules", str(workshop / "rules.toml")).output
    assert said.index(". black") < said.index(". honey")
    assert "it bleeds" in said
    (workshop / "clash.toml").write_text(
        '[[rule]]\nfirst = "black"\nthen = "honey"\n[[rule]]\nnever = "honey"\nover = "black"\n'
        '[[rule]]\nkeep = "gold"\noff = "rim"\nmm = 3\n'
    )
    said = run(workshop, *MUG, "--rules", str(workshop / "clash.toml")).output
    assert "no order keeps every rule" in said
    assert 'no tile has the glaze "gold"' in said


def test_the_working_is_printed_when_asked_for_and_flat_artwork_will_do(workshop: Path) -> None:
    said = run(workshop, "--flat", "150 mm", "--working").output
    assert "area_mm2 / 100 * full_layer_g_per_cm2" in said
    assert "pixels * mm_to_a_pixel ** 2" in said


def test_see_through_parts_show_the_body_and_inks_are_turned_into_light(workshop: Path) -> None:
    rgba = np.zeros((80, 160, 4), dtype=np.uint8)
    rgba[20:60, 40:120] = (55, 76, 145, 255)
    Image.fromarray(rgba).save(workshop / "clear.png")
    said = run(workshop, "--flat", "150 mm", "--coats", "2", artwork="clear.png").output
    assert "see-through parts are left as body" in said
    assert re.search(r"zone 1: body, left bare; .* 0\.[0-3] CIEDE2000 off", said)
    artwork, _ = petals(120, 300, 4, count=10)
    Image.fromarray(artwork).convert("CMYK").save(workshop / "inks.jpg")
    assert "printing inks" in run(workshop, *MUG, artwork="inks.jpg").output


def test_one_tile_makes_one_zone(workshop: Path) -> None:
    (workshop / "one.csv").write_text("name,fired\nhoney,#c08030\n")
    assert "there is one zone" in run(workshop, *MUG, tiles="one.csv").output


@pytest.mark.parametrize(
    ("text", "words", "kind"),
    [
        ("", "empty", Unreadable),
        ("name,fired\n", "no tiles", OutOfRange),
        ("name,fired,cone\na,#c08030,47\nb,#808080,warm\n", "could not be used", Problems),
        ("name,fired,cone\na,#c08030,6\nb,#808080,04\n", "2 cones", OutOfRange),
        ("name,fired\na,brown\n", "could not be read", Problems),
    ],
)
def test_tiles_that_cannot_be_used_are_refused(
    workshop: Path, text: str, words: str, kind: type[WareboardError]
) -> None:
    (workshop / "bad.csv").write_text(text)
    with pytest.raises(kind, match=words):
        run(workshop, *MUG, tiles="bad.csv")


def test_other_bad_input_is_refused_in_clear_words(workshop: Path) -> None:
    Image.new("RGB", (1, 1)).save(workshop / "dot.png")
    with pytest.raises(OutOfRange, match="narrower than the brush"):
        run(workshop, "--flat", "1 mm", artwork="dot.png")
    (workshop / "letter.jpg").write_text("Dear potter")
    with pytest.raises(Unreadable, match="text"):
        run(workshop, *MUG, artwork="letter.jpg")
    with pytest.raises(Unreadable, match="no such file"):
        run(workshop, *MUG, tiles="nowhere.toml")
    with pytest.raises(Unreadable, match="size is not given"):
        run(workshop)
    with pytest.raises(NotInTable, match="99"):
        run(workshop, *MUG, "--cone", "99")
    (workshop / "all6.csv").write_text("name,fired,cone\na,#c08030,6\n")
    with pytest.raises(OutOfRange, match="no tile is of cone 04"):
        run(workshop, *MUG, "--cone", "04", tiles="all6.csv")


PATCHES = np.array(
    [[88, 1, 10], [62, 14, 48], [38, 34, 26], [52, -22, 16], [40, 2, -36], [48, -3, -8], [22, 1, 2], [66, 16, -16]], float
)  # fmt: skip


def test_tiles_in_a_photograph_come_out_as_they_are(tmp_path: Path) -> None:
    """Truth is drawn; 2 units in the mean is the figure asked for. A grey patch alone does less and says so."""
    taken = photograph(card(), PATCHES)
    place = tmp_path / "tiles.png"
    Image.fromarray(np.round(taken.srgb * 255).astype(np.uint8)).save(place)
    corners = " ".join(f"{x:g},{y:g}" for x, y in taken.corners_px)
    boxes = [part for box in TILE_BOXES for part in ("--at", " ".join(map(str, box)))]
    done = CliRunner().invoke(tile_colour_command, [str(place), *boxes, "--card", corners], catch_exceptions=False)
    found = np.array(
        [[float(n) for n in line.split(" lab ")[1].split()] for line in done.output.splitlines() if " lab " in line]
    )
    assert ciede2000(found, PATCHES).mean() < 2.0
    assert "colour left over, mean" in done.output
    grey = CliRunner().invoke(tile_colour_command, [str(place), *boxes, "--grey", "5 5 40 40"], catch_exceptions=False)
    assert "how far other colours are out is not known" in grey.output.lower()


def test_a_photograph_without_a_reference_is_refused(tmp_path: Path) -> None:
    Image.new("RGB", (60, 60), (120, 120, 120)).save(tmp_path / "grey.png")
    with pytest.raises(Unreadable, match="one of them"):
        CliRunner().invoke(tile_colour_command, [str(tmp_path / "grey.png"), "--at", "0 0 9 9"], catch_exceptions=False)
    with pytest.raises(Unreadable, match="8 numbers"):
        CliRunner().invoke(
            tile_colour_command,
            [str(tmp_path / "grey.png"), "--at", "0 0 9 9", "--card", "1,2"],
            catch_exceptions=False,
        )
