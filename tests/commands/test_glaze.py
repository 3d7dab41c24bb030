"""The commands for glazes: unity and slip."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from wareboard.commands.glaze import slip_command, unity_command
from wareboard.errors import NotInTable, OutOfRange, Problems, Unreadable

CONE_4 = ("potash feldspar=83.55", "whiting=35", "kaolin=25.9", "silica / flint=54")


def run(command: click.Command, *words: str) -> Result:
    return CliRunner().invoke(command, list(words))


def text_of(command: click.Command, *words: str) -> str:
    found = run(command, *words)
    assert found.exit_code == 0, found.exception
    assert not re.search(r"\bsafe\b", found.output.lower())
    assert "viscosity" not in found.output.lower()
    return found.output


def refusal(command: click.Command, *words: str) -> BaseException:
    found = run(command, *words)
    assert found.exit_code != 0
    assert found.exception is not None
    return found.exception


def unity_of(text: str) -> dict[str, float]:
    rows = re.findall(r"^([A-Z]\w+) +(\d\.\d{3}) +[\d.]+ +[\d.]+$", text, re.MULTILINE)
    return {oxide: float(moles) for oxide, moles in rows}


def parts(*words: str) -> list[str]:
    return [each for word in words for each in ("--part", word)]


def test_segers_cone_4_comes_out_as_printed() -> None:
    """0.3 K2O, 0.7 CaO, 0.5 Al2O3, 4.0 SiO2: Seger's cone 4 by its handbook batch (H. A. Seger, 1886)."""
    found = unity_of(text_of(unity_command, *parts(*CONE_4)))
    for oxide, moles in {"K2O": 0.3, "CaO": 0.7, "Al2O3": 0.5, "SiO2": 4.0}.items():
        assert found[oxide] == pytest.approx(moles, abs=0.005)


def test_parts_that_do_not_sum_to_100_are_brought_there_and_it_is_said() -> None:
    assert "The base adds up to 198.45 parts; it is brought to 100" in text_of(unity_command, *parts(*CONE_4))


def test_a_file_says_the_same_as_parts(tmp_path: Path) -> None:
    toml, csv, semicolons = tmp_path / "a.toml", tmp_path / "b.csv", tmp_path / "c.csv"
    toml.write_text(
        'name = "Invented"\n[base]\n"kaolin" = 20\nwhiting = 30\n"potash feldspar" = 50\n[additions]\n"tin oxide" = 5\n'
    )
    csv.write_text("material,parts,on top\nkaolin,20\nwhiting,30\npotash feldspar,50\ntin oxide,5,yes\n")
    semicolons.write_text("kaolin;20,0\nwhiting;30,0\npotash feldspar;50,0\ntin oxide;5,0;yes\n")
    asked = [*parts("kaolin=20", "whiting=30", "potash feldspar=50"), "--on-top", "tin oxide=5"]
    wanted = unity_of(text_of(unity_command, *asked))
    assert wanted
    for file in (toml, csv, semicolons):
        assert unity_of(text_of(unity_command, str(file))) == wanted, file.name


def test_own_analyses_come_before_the_shipped_ones(tmp_path: Path) -> None:
    own = tmp_path / "shelf.csv"
    own.write_text("material,SiO2,Al2O3,K2O,loi\nkaolin,48,36,2.5,13.5\n")
    asked = parts("kaolin=50", "whiting=50")
    assert "K2O" not in unity_of(text_of(unity_command, *asked))
    assert "K2O" in unity_of(text_of(unity_command, *asked, "--materials", str(own)))


def test_the_working_is_printed_when_asked_for() -> None:
    assert "SiO2 / Al2O3" in text_of(unity_command, *parts(*CONE_4), "--working")


def test_colourants_alone_have_no_unity_formula_but_mol_percent() -> None:
    text = text_of(unity_command, *parts("red iron oxide=90", "tin oxide=10"))
    assert "there is no flux to bring to one" in text
    assert re.search(r"^Fe2O3 +[\d.]+ +[\d.]+$", text, re.MULTILINE)


def test_nothing_flagged_is_said_so_and_no_more() -> None:
    assert "Cautions: no flagged oxide; not tested." in text_of(unity_command, *parts(*CONE_4))


@pytest.mark.parametrize(
    ("words", "error", "told"),
    [
        (parts("kaolyn=10"), NotInTable, "Did you mean 'kaolin'"),
        (parts("kaolin=-1", "whiting=5"), OutOfRange, "kaolin is -1 parts"),
        (parts("kaolin"), Unreadable, "not a material and its parts"),
        (parts("kaolin=ten"), Unreadable, "not a number"),
        (["--on-top", "red iron oxide=8"], OutOfRange, "its base holds nothing"),
        ([], OutOfRange, "give a file, or parts"),
        (["nowhere.csv"], Unreadable, "there is no such file"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_name(words: list[str], error: type[Exception], told: str) -> None:
    problem = refusal(unity_command, *words)
    assert isinstance(problem, error)
    assert told in str(problem)


def test_every_line_of_a_table_that_is_wrong_is_told_at_once(tmp_path: Path) -> None:
    file = tmp_path / "wrong.csv"
    file.write_text("material,parts\nkaolin,x\nwhiting,\n")
    problem = refusal(unity_command, str(file))
    assert isinstance(problem, Problems)
    assert "line 2" in str(problem)
    assert "line 3" in str(problem)


def test_thinning_meets_the_worked_example() -> None:
    """5 l from 1.60 to 1.45 take 1.67 l of water (conservation of mass and volume)."""
    assert "= 1666.67 ml" in text_of(slip_command, "160 g", "100 ml", "--bucket", "5 l", "--want", "1.45")


def test_brongniart_gives_the_dry_glaze_of_a_litre() -> None:
    """A litre at 1.50 holds 833 g of a powder of density 2.5 (worked example on clayart)."""
    assert "= 833.333 g" in text_of(slip_command, "150 g", "100 ml", "--dry-density", "2.5")


def test_thin_slip_is_thickened_until_it_weighs_what_is_wanted() -> None:
    """Put back into mass and volume: (V s + dry) / (V + dry / d) is the density wanted."""
    text = text_of(slip_command, "138 g", "100 ml", "--bucket", "3 l", "--want", "1.45", "--dry-density", "2.6")
    dry = float(re.search(r"dry batch to stir in = .* = ([\d.]+) g", text)[1])  # type: ignore[index]
    assert (3000 * 1.38 + dry) / (3000 + dry / 2.6) == pytest.approx(1.45, abs=1e-5)


def test_a_gravity_wanted_needs_to_know_how_much_there_is() -> None:
    assert "what to add hangs on how much there is" in str(refusal(slip_command, "145 g", "100 ml", "--want", "1.4"))
    assert "is 0.9" in str(refusal(slip_command, "90 g", "100 ml"))
