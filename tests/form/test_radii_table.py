"""Tables of radii, against the figures written in them and an inch of 25.4 mm (NIST SP 811, table B.8)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import Problems, Unreadable
from wareboard.form.radii_table import read_radii
from wareboard.form.traced import radii_csv

CUP = np.array([[0.0, 30.0], [45.5, 41.5], [90.0, 40.0]])
SAME = {
    "commas": "height_mm,radius_mm\n0,30\n45.5,41.5\n90,40\n",
    "semicolons and decimal commas": "height_mm;radius_mm\n0;30\n45,5;41,5\n90;40\n",
    "tabs": "Height (mm)\tRadius (mm)\n0\t30\n45,5\t41,5\n90\t40",
    "diameters": "height_mm,diameter_mm\n0,60\n45.5,83\n90,80\n",
    "columns the other way round and one more": "remark,diameter mm,height mm\nfoot,60,0\n,83,45.5\nrim,80,90\n",
    "a byte order mark, empty lines and remarks": (
        "\ufeffheight_mm,radius_mm\r\n\r\n# foot\r\n0,30\r\n,,\r\n45.5,41.5\r\n\r\n90,40\r\n"
    ),
    "centimetres": "height cm,width cm\n0,6\n4.55,8.3\n9,8\n",
    "from the rim down": "height_mm,radius_mm\n90,40\n45.5,41.5\n0,30\n",
    "not from nought": "height,radius\n10,30\n55.5,41.5\n100,40\n",
    "units in the rows too": "height_mm,radius_mm\n0 mm,30 mm\n45.5 mm,41.5 mm\n90 mm,40mm\n",
    "quoted": '"height_mm","radius_mm"\n"0","30"\n"45.5","41.5"\n"90","40"\n',
}


@pytest.mark.parametrize("text", SAME.values(), ids=SAME.keys())
def test_one_cup_is_read_alike_however_its_table_is_written(text: str) -> None:
    assert read_radii(text).points_mm == pytest.approx(CUP)


def test_inches_are_twenty_five_point_four_millimetres() -> None:
    found = read_radii("height_in,diameter_in\n0,2\n3.5,3\n").points_mm
    assert found == pytest.approx(np.array([[0.0, 25.4], [88.9, 38.1]]))


def test_a_table_of_our_own_comes_back() -> None:
    assert read_radii(radii_csv(CUP[:, 0], CUP[:, 1], np.ones(3))).points_mm == pytest.approx(CUP)


@given(st.lists(st.tuples(st.floats(0.1, 20), st.floats(1, 300)), min_size=2, max_size=40))
def test_what_is_written_is_what_is_read(rows: list[tuple[float, float]]) -> None:
    heights = np.concatenate([[0.0], np.cumsum([step for step, _ in rows])[:-1]])
    text = "height_mm;diameter_mm\n" + "".join(
        f"{h:.4f};{2 * r:.4f}\n".replace(".", ",") for h, (_, r) in zip(heights, rows, strict=True)
    )
    wanted = np.column_stack([heights, [r for _, r in rows]])
    assert read_radii(text).points_mm == pytest.approx(wanted, abs=1e-3)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "nothing in it"),
        ("0,30\n90,40\n", "names no height"),
        ("height_mm,colour\n0,30\n90,40\n", "names no radius or diameter"),
        ("height_mm,radius_mm\n0,30\n", "fewer than two rows"),
        ("height_mm,radius_mm\n5,30\n5,40\n", "all its heights are the same"),
        ("height_mm,radius_mm\n" + "0,1\n" * 6000, "more than 5000 rows"),
    ],
)
def test_what_is_no_table_is_refused(text: str, words: str) -> None:
    with pytest.raises(Unreadable) as refused:
        read_radii(text, "cup.csv")
    assert words in str(refused.value)
    assert "cup.csv" in str(refused.value)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("0,30\n45,\n90,40", ("row 3", "it is empty", "take the row out")),
        ("0,30\n45,wide\n90,40", ("row 3", "'wide'", "such as 38.5")),
        ("0,30\n45,-3\n90,40", ("row 3", "not above 0", "from the axis outward")),
        ("0,30\n45,0\n90,40", ("row 3", "not above 0")),
        ("0,30\n45,nan\n90,40", ("row 3", "not a number")),
        ("0,30\n45,1e999\n90,40", ("row 3", "not a number")),
        ("0,30\n45,1e99\n90,40", ("row 3", "larger than 1200 mm")),
        ("0,30\n\n60,40\n45,41\n90,40", ("row 5", "in row 4, is 60 mm", "from the foot to the rim")),
        ("0,0,30,0\n45,5,41,5\n90,0,40,0", ("row 3", "semicolons")),
    ],
)
def test_each_row_that_cannot_be_is_named_with_its_mend(rows: str, words: tuple[str, ...]) -> None:
    with pytest.raises(Problems) as refused:
        read_radii("height_mm,radius_mm\n" + rows)
    for each in words:
        assert each in str(refused.value)
