"""A console that cannot show every letter: nothing stops, and no sign is lost."""

from __future__ import annotations

import codecs
import os
import subprocess
import sys

import pytest

from wareboard.commands import PLAINLY, plainly


@pytest.mark.parametrize(
    ("words", "code", "shown"),
    [
        ("\N{MINUS SIGN}15 °C to \N{MINUS SIGN}3", "cp1252", "-15 °C to -3"),
        ("2 ½ in × 3, ±1", "ascii", "2 1/2 in x 3, +/-1"),
        ("1 222 °C", "ascii", "1 222 deg C"),
        ("Чашка, tasse à café", "ascii", "?????, tasse a cafe"),
        ("Чашка", "utf-8", "Чашка"),
    ],
)
def test_a_letter_that_cannot_be_shown_is_written_plainly(words: str, code: str, shown: str) -> None:
    codecs.register_error(PLAINLY, plainly)
    assert words.encode(code, PLAINLY).decode(code) == shown


SAYS = """
from wareboard import commands
commands.wareboard = lambda **_: print("\\N{MINUS SIGN}15 °C")
commands.main()
"""


def test_the_command_line_writes_so() -> None:
    environment = os.environ | {"PYTHONIOENCODING": "cp1252"}
    done = subprocess.run([sys.executable, "-c", SAYS], env=environment, capture_output=True, check=True)
    assert done.stdout.decode("cp1252").strip() == "-15 °C"
