"""Tiles: the nearest, what is out of reach, spread over several photographs, and files of them. All tiles are invented."""

from __future__ import annotations

import numpy as np
import pytest

from tests.paint.invented_tiles import BODY, TILES, tile
from wareboard.errors import OutOfRange, Problems, Unreadable
from wareboard.paint.colour import ciede2000, lab_from_srgb
from wareboard.paint.tile_file import read_tiles
from wareboard.paint.tiles import Layer, Tile, colour, for_one_piece, nearest


def test_the_nearest_tile_is_the_one_that_looks_nearest() -> None:
    """By going through them one by one."""
    for lab in ([40, 30, 20], [30, 5, -30], [85, 0, 5]):
        apart = [float(ciede2000(lab, each.fired.lab)) for each in TILES]
        found = nearest(lab, TILES)
        assert found.tile is TILES[apart.index(min(apart))]
        assert found.apart == min(apart)


def test_a_colour_that_no_tile_reaches_is_said_with_how_far_and_which_way() -> None:
    found = nearest([60, 70, 40], TILES)
    assert found.out_of_reach
    assert found.words.startswith("out of reach: ")
    assert "greener or less red" in found.words
    assert not nearest([39, 33, 25], TILES).out_of_reach
    assert not nearest([22, 1, 1], TILES).out_of_reach


def test_a_wide_spread_of_the_tile_itself_reaches_further() -> None:
    wild = Tile("wild", "wild", colour([[50, 10, 10], [58, 16, 4], [42, 2, 18], [52, 18, 22]]))
    assert wild.fired.spread > 8
    assert not nearest([56, 12, 10], [wild]).out_of_reach


def test_nine_in_ten_further_photographs_fall_within_the_spread() -> None:
    """By drawing them: noise equal on all sides in Lab about a grey, where CIEDE2000 is nearly so too."""
    rng = np.random.default_rng(1)
    for count in (3, 8):
        inside = []
        for _ in range(600):
            drawn = np.array([50.0, 0.0, 0.0]) + rng.normal(0, 1.2, (count + 1, 3))
            found = colour(drawn[:count])
            inside.append(float(ciede2000(found.lab, drawn[count])) <= found.spread)
        assert 0.86 <= np.mean(inside) <= 0.95


def test_a_tile_says_its_layers_from_the_body_up() -> None:
    assert TILES[-1].layers == (Layer("iron red", 3), Layer("celadon", 2))
    assert TILES[1].layers == (Layer("honey", 3),)
    assert BODY.layers == ()


def test_tiles_of_two_cones_do_not_go_on_one_piece() -> None:
    mixed = [tile("a", (50, 0, 0), cone="6"), tile("b", (60, 0, 0), cone="04"), BODY]
    with pytest.raises(OutOfRange, match="2 cones: 04, 6"):
        for_one_piece(mixed)
    assert [each.name for each in for_one_piece(mixed, cone="6")] == ["a", "bare body"]
    with pytest.raises(OutOfRange, match="no tile is of cone 10"):
        for_one_piece(mixed[:2], cone="10")
    bodies = [tile("a", (50, 0, 0), body="porcelain"), tile("b", (60, 0, 0), body="buff")]
    with pytest.raises(OutOfRange, match="2 bodies"):
        for_one_piece(bodies)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"coats": -1}, "whole"),
        ({"glaze": ""}, "has no glaze"),
        ({"over": "liner"}, "at least one coat"),
        ({"over": "honey", "over_coats": 2}, "over itself"),
    ],
)
def test_tiles_that_cannot_be_are_refused(wrong: dict[str, object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        Tile(**{"name": "one", "glaze": "honey", "fired": colour([50, 0, 0]), **wrong})  # type: ignore[arg-type]


def test_no_tiles_and_names_used_twice_are_refused() -> None:
    with pytest.raises(OutOfRange, match="no tiles"):
        nearest([50, 0, 0], [])
    with pytest.raises(OutOfRange, match="two tiles"):
        nearest([50, 0, 0], [TILES[1], TILES[1]])
    with pytest.raises(OutOfRange, match="lightness"):
        colour([140, 0, 0])


TOML = """
[[tile]]
name = "B3"
glaze = "deep blue"
fired = ["#2a3f7d", "#27397a", "#304486"]
raw = "#d8b0b4"
coats = 2
over = "liner"
over_coats = 1
body = "buff stoneware"
cone = 6
runs = true
[[tile]]
name = "body"
fired = [86, 2, 10]
coats = 0
"""
CSV = """name,glaze,fired,raw,coats,over,over coats,body,cone,runs,note
B3,deep blue,#2a3f7d; #27397a; #304486,#d8b0b4,2,liner,1,buff stoneware,6,yes,
body,,lab 86 2 10,,0,,,,,,
"""


def test_a_toml_and_a_csv_file_hold_the_same_tiles() -> None:
    first, second = read_tiles(TOML), read_tiles(CSV)
    assert first == second
    blue, body = first
    assert blue.runs
    assert blue.cone == "6"
    assert blue.fired.count == 3
    photographs = np.array([[0x2A, 0x3F, 0x7D], [0x27, 0x39, 0x7A], [0x30, 0x44, 0x86]]) / 255
    assert np.array(blue.fired.lab) == pytest.approx(lab_from_srgb(photographs).mean(axis=0))
    assert body.layers == ()
    assert body.raw is None


def test_semicolons_between_cells_are_read_too() -> None:
    assert read_tiles("# ours, of the autumn\nname;fired\nhoney;#c08030\n")[0].name == "honey"


def test_everything_wrong_is_told_at_once() -> None:
    with pytest.raises(Problems) as told:
        read_tiles("name,fired,coats\na,bluish,3\nb,#112233,many\n,#112233,3\nc,,3\n")
    said = str(told.value)
    assert len(told.value.problems) == 4
    assert "line 2" in said
    assert "no whole number" in said
    assert "missing" in said


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("[[tile]\n", "no TOML"),
        ("[other]\na = 1\n", r"no \[\[tile\]\]"),
        ("a,b\n1,2\n", "no column fired"),
    ],
)
def test_files_that_hold_no_tiles_are_refused(text: str, words: str) -> None:
    with pytest.raises(Unreadable, match=words):
        read_tiles(text)
