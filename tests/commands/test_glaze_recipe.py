"""The command that finds a recipe for a formula."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.commands.test_glaze import refusal, text_of
from wareboard.commands.glaze_recipe import glaze_recipe_command
from wareboard.errors import NotInTable, OutOfRange, Unreadable

CONE_4 = "K2O 0.3, CaO 0.7, Al2O3 0.5, SiO2 4"
TABLE = """material,SiO2,Al2O3,K2O,CaO,LOI
my feldspar,64.76,18.32,16.92,,
my chalk,,,,56.03,43.97
my clay,46.55,39.5,,,13.95
my quartz,100,,,,
"""


def test_segers_cone_4_comes_out_as_the_handbooks_batch() -> None:
    """Worked example B3, cone 4: feldspar 42.08, whiting 17.65, kaolin 13.01, quartz 27.25."""
    text = text_of(
        glaze_recipe_command, CONE_4, "--price", "potash feldspar=1", "--price", "whiting=1", "--price", "kaolin=1",
        "--price", "silica / flint=1", "--others", "0",
    )  # fmt: skip
    found = {name: float(parts) for parts, name in re.findall(r"^ +(\d+\.\d\d)  (.+)$", text, re.MULTILINE)}
    assert found["potash feldspar"] == pytest.approx(42.08, abs=0.02)
    assert found["kaolin"] == pytest.approx(13.01, abs=0.02)
    assert "It can be met exactly" in text
    assert "nothing does better" in text


def test_a_table_of_ones_own_is_searched_alone(tmp_path: Path) -> None:
    file = tmp_path / "own.csv"
    file.write_text(TABLE, encoding="utf-8")
    text = text_of(
        glaze_recipe_command, CONE_4, "--materials", str(file), "--own-only", "--traces", "0.01", "--others", "0"
    )
    assert "my feldspar" in text
    assert "whiting" not in text


def test_what_cannot_be_done_says_why() -> None:
    text = text_of(glaze_recipe_command, CONE_4, "--at-most", "2")
    assert "without the limit of at most 2 materials" in text
    assert "Oxides in the way" in text


def test_wishes_that_cannot_be_are_refused() -> None:
    assert isinstance(refusal(glaze_recipe_command, "K2O 0.3 CaO"), Unreadable)
    assert isinstance(refusal(glaze_recipe_command, "XyO 0.3"), NotInTable)
    assert isinstance(refusal(glaze_recipe_command, "SiO2 2, Al2O3 1"), OutOfRange)
    assert isinstance(refusal(glaze_recipe_command, CONE_4, "--own-only"), OutOfRange)
    assert isinstance(refusal(glaze_recipe_command, CONE_4, "--weigh", "SiO2 0"), OutOfRange)
    assert isinstance(refusal(glaze_recipe_command, "PbO 1, SiO2 2"), OutOfRange)
