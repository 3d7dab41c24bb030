"""The command that loads a kiln."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.commands.test_firing import refusal, text_of
from wareboard.commands.load import load_command, shelf_of
from wareboard.errors import OutOfRange, Problems, Unreadable

KILN = ("--shelf", "round 450 mm", "--height", "600 mm", "--seconds", "0")


def test_every_piece_stands_once_and_the_least_is_no_more_than_the_plan() -> None:
    shown = text_of(
        load_command, "--piece", "cup, 60, 85 mm, 95 mm, 32 mm", "--piece", "plate, 24, 180 mm, 25 mm", *KILN
    )
    found = re.match(r"84 pieces in (\d+) loads?(?:; no plan can do with fewer than (\d+))?", shown)
    assert found is not None, shown
    placed = shown.split("Alone in the kiln")[0]
    for form, count in (("cup", 60), ("plate", 24)):
        assert sum(int(each) for each in re.findall(rf"(\d+) × {form}", placed)) == count
    assert int(found[2] or found[1]) <= int(found[1])
    assert "edges cut" in shown


def test_no_more_bowls_stand_on_a_shelf_than_the_best_known_packing_allows() -> None:
    """Seven equal circles fill a circle three times as wide (Graham 1968); 140 mm and a gap leave no room for eight."""
    shown = text_of(load_command, "--piece", "bowl, 20, 140 mm, 60 mm", *KILN)
    most = max(int(each) for each in re.findall(r"shelf \d+: (\d+) × bowl", shown))
    assert 1 <= most <= 7


@pytest.mark.parametrize(
    ("words", "area_mm2"),
    [
        ("round 450 mm", 159_043.1),
        ("Rectangle 400 x 300 mm", 120_000.0),
        ('rectangle 16" by 12"', 123_870.7),
        ("octagon 500 mm", 207_106.8),
    ],
)
def test_shelves_in_words_have_their_areas(words: str, area_mm2: float) -> None:
    """Areas by closed forms: pi d²/4, a b, and 2 (sqrt 2 - 1) d² for an octagon across its flats."""
    assert shelf_of(words).floor().area_mm2() == pytest.approx(area_mm2, rel=1e-5)


@pytest.mark.parametrize("words", ["450 mm", "square 3", "round 4 x 5 mm", "rectangle 400 mm", "round wide"])
def test_a_shelf_that_is_none_is_refused(words: str) -> None:
    with pytest.raises(Unreadable, match=r"round 450 mm|length|number"):
        shelf_of(words)


def test_a_table_names_all_its_faults_at_once_and_maps_are_written(tmp_path: Path) -> None:
    place = tmp_path / "pieces.csv"
    place.write_text(
        "form,count,width,height,nests\ncup,some,85 mm,95 mm,\nbowl,3,wide,60 mm,maybe\n", encoding="utf-8"
    )
    told = refusal(load_command, str(place), *KILN)
    assert isinstance(told, Problems)
    assert "line 2" in str(told)
    assert "line 3" in str(told)
    place.write_text("form,count,width,height\ncup,12,85 mm,95 mm\n", encoding="utf-8")
    text_of(load_command, str(place), *KILN, "--out", str(tmp_path / "maps"))
    assert (tmp_path / "maps" / "glaze-load-1.pdf").read_bytes().startswith(b"%PDF")
    place.write_text("form,volts\n", encoding="utf-8")
    assert "form, volts" in str(refusal(load_command, str(place), *KILN))


def test_no_pieces_and_a_shelf_smaller_than_the_piece_are_told() -> None:
    assert "nothing to load" in str(refusal(load_command, *KILN))
    told = refusal(load_command, "--piece", "platter, 1, 600 mm, 40 mm", *KILN)
    assert isinstance(told, OutOfRange)
    assert "platter is 600 mm wide" in str(told)
    assert isinstance(refusal(load_command, "--piece", "cup, 3", *KILN), Unreadable)
