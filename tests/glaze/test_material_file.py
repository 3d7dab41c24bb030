"""Reading a table of materials: all invented, except potash feldspar, which must come out as the shipped row does."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import Problems, Unreadable, WareboardError
from wareboard.glaze.material import shelf
from wareboard.glaze.material_file import LotRow, read_materials, read_shelf

GOOD = """# my shelf
material,SiO2,al2o3,K2O,CaO,loi,clay,solubility,hazards,note,source
potash feldspar,64.762,18.317,16.922,,0,,,silica,,own list

"clay, local",55.0,30.0,1.5,0.5,12.8,yes,,silica,"dug, washed",own analysis
white chalk,,,,55.8,,no,slight,,,
"""


def test_a_table_gives_its_materials() -> None:
    feldspar, clay, chalk = read_materials(GOOD)
    assert dict(feldspar.oxides_wt) == pytest.approx(dict(shelf()["potash feldspar"].oxides_wt))
    assert (feldspar.hazards, feldspar.source, feldspar.loi_share) == (("silica",), "own list", 0.0)
    assert clay.name == "clay, local"
    assert clay.is_clay
    assert clay.loi_share == pytest.approx(0.128)
    assert clay.note == "dug, washed"
    assert chalk.loi_share == pytest.approx(0.442)
    assert chalk.solubility == "slight"
    assert chalk.source == "given"


def test_semicolons_and_decimal_commas_are_read() -> None:
    (chalk,) = read_materials("name;CaO;loi\nchalk;55,8;44,1\n")
    assert chalk.oxides_wt["CaO"] == pytest.approx(55.8)


def test_a_gain_of_oxygen_is_a_loss_below_nought() -> None:
    (iron,) = read_materials("material,Fe2O3,loi\nblack iron,103.455,-3.455\n")
    assert iron.loi_share == pytest.approx(-0.03455)


def test_everything_wrong_is_told_at_once_with_its_line() -> None:
    wrong = (
        "material,SiO2,Al2O3,CaO,loi,clay,solubility,hazards\n"
        "one,sixty,,,,,,\n"
        "\n"
        "two,60,-1,,,,,\n"
        ",60,40,,,,,\n"
        "four,60,20,,50,,,\n"
        "five,100,,,,perhaps,,\n"
        "six,100,,,,,wet,\n"
        "seven,100,,,,,,dragons\n"
        "eight,100,,,,,,\n"
        "Eight,100,,,,,,\n"
        "nine,,,,,,,\n"
        "ten,70,70,,,,,\n"
        "eleven,nan,,,,,,\n"
        "twelve,50,50,,,,,,surplus\n"
    )
    with pytest.raises(Problems) as caught:
        read_materials(wrong)
    told = {problem.where: str(problem) for problem in caught.value.problems}
    expected = {2: "not a number", 4: "less than none", 5: "without a name", 6: "130.00 %", 7: "yes or no", 8: "slight",
                9: "dragons", 11: "earlier line", 12: "no oxide", 13: "140.00 %", 14: "finite", 15: "quotes"}  # fmt: skip
    assert set(told) == {f"line {number}" for number in expected}
    for number, words in expected.items():
        assert words in told[f"line {number}"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("# only a remark\n", "empty"),
        ("material,SiO3\nx,1\n", "sio3"),
        ("material,SiO2,SiO2\nx,1,2\n", "twice"),
        ("SiO2,Al2O3\n1,2\n", "must name"),
        ("material,note\nx,y\n", "must name"),
        ("material,SiO2\n" + "x" * 200_000 + ",100\n", "split into cells"),
    ],
)
def test_a_first_line_that_does_not_name_the_columns_is_refused(text: str, words: str) -> None:
    with pytest.raises(Unreadable, match=words):
        read_materials(text)


@given(st.text(max_size=200))
def test_no_text_makes_it_stumble(text: str) -> None:
    for table in (text, f"material,SiO2,loi\n{text}"):
        try:
            found = read_materials(table)
        except WareboardError:
            continue
        assert all(entry.name and entry.oxides_wt for entry in found)


def test_a_line_may_tell_of_the_lot_that_stands_there() -> None:
    """Kilograms to grams; all invented."""
    text = "material,SiO2,lot,supplier,price_per_kg,stock_kg\nflint,100,F-3,Invented Minerals,0.8,12.5\nsand,100,,,,\n"
    (_, flint), (_, sand) = read_shelf(text)
    assert flint == LotRow("F-3", "Invented Minerals", 0.8, 12500.0)
    assert sand is None
    with pytest.raises(Problems, match="code is missing"):
        read_shelf(text.replace("F-3", ""))
    with pytest.raises(Problems, match="less than none"):
        read_shelf(text.replace("0.8", "-0.8"))
