"""The chart of a file of readings as a person asks for it; the numbers are those of the handbook."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from wareboard.commands.run_chart import run_chart_command
from wareboard.errors import OutOfRange, Unreadable

FLOW = "# invented heading\n49.6\n47.6\n49.9\n51.3\n\n47,8\n51.2\n52.6\n52.4\n53.6\n52.1\n"


def run(place: Path, text: str, *words: str) -> Result:
    file = place / "readings.txt"
    file.write_text(text, encoding="utf-8")
    return CliRunner().invoke(run_chart_command, [str(file), *words], catch_exceptions=False)


def test_single_readings_give_the_handbooks_limits(tmp_path: Path) -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2: flow rates, middle 50.81, limits 45.8159 to 55.8041."""
    said = run(tmp_path, FLOW).output
    assert "10 points, middle 50.81, limits 45.82 to 55.8" in said
    assert "Carry on" in said


def test_what_was_agreed_is_held_against_the_run_and_the_working_printed(tmp_path: Path) -> None:
    said = run(tmp_path, FLOW, "--agreed", "48 to 56", "--working").output
    assert "in 1,000 outside" in said
    assert "outside what was agreed (stop and re-gauge)" in said
    assert "mean + 3 * mean_range / d2" in said


def test_lines_of_several_are_charted_by_their_means_and_drawn(tmp_path: Path) -> None:
    """Definition: the middle is the mean of the means, 10.5, and A2 of two is 1.88 (table of constants)."""
    drawing = tmp_path / "run.svg"
    said = run(tmp_path, "10 11\n10.2; 10.8\n10.4 10.6\n9.9 11.1\n", "--svg", str(drawing)).output
    mean_range = (1.0 + 0.6 + 0.2 + 1.2) / 4
    assert f"middle 10.5, limits {10.5 - 1.88 * mean_range:.4g} to {10.5 + 1.88 * mean_range:.4g}" in said
    assert ElementTree.parse(drawing).getroot().tag.endswith("svg")


@pytest.mark.parametrize(
    ("text", "words", "error"),
    [
        ("49.6\nheavy\n50\n", (), Unreadable),
        ("", (), OutOfRange),
        ("49.6\n50\n", (), OutOfRange),
        ("5\n5\n5\n", (), OutOfRange),
        ("1 2\n1 2 3\n", (), OutOfRange),
        ("1\nnan\n3\n", (), OutOfRange),
        (FLOW, ("--agreed", "wide"), Unreadable),
        (FLOW, ("--agreed", "56 to 48"), OutOfRange),
        (FLOW, ("--limits-from", "40"), OutOfRange),
    ],
)
def test_bad_files_are_refused_by_name(tmp_path: Path, text: str, words: tuple[str, ...], error: type) -> None:
    with pytest.raises(error):
        run(tmp_path, text, *words)
