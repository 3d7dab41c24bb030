"""`wareboard reorder`: what it refuses before it touches a record."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from wareboard.commands.reorder import reorder_command
from wareboard.errors import Unreadable


def test_a_folder_without_records_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match="no records are kept there"):
        CliRunner().invoke(reorder_command, ["26-01", "--folder", str(tmp_path)], catch_exceptions=False)
    assert list(tmp_path.iterdir()) == []


DELIVERED = """
import sys
from datetime import date
from pathlib import Path
from wareboard.commands.demo import demo_command
from wareboard.studio.first_commission import keep_if_empty
folder = Path(sys.argv[1])
text = (Path(demo_command.callback.__code__.co_filename).parent / "demo.toml").read_text(encoding="utf-8")
keep_if_empty(folder, text, "Invented")
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.book.pieces.entering import enter_piece
from wareboard.studio.today import now
fields = {"form": "Handled cup", "grade": "first", "delivered": now().date()}
enter_piece(Commission.objects.get(), "k", fields, Signed("", now()))
"""


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    env = {key: value for key, value in os.environ.items() if key != "DJANGO_SETTINGS_MODULE"}
    return subprocess.run([sys.executable, *words, str(folder)], capture_output=True, text=True, env=env, check=False)


def test_a_delivered_commission_is_listed_and_with_a_day_ordered_again(tmp_path: Path) -> None:
    folder = tmp_path / "workshop"
    made = run(folder, "-c", DELIVERED)
    assert made.returncode == 0, made.stderr
    code = f"{date.today():%y}-01"  # noqa: DTZ011 - the command goes by the machine's own day
    listed = run(folder, "-m", "wareboard", "reorder", code, "--folder")
    assert listed.returncode == 0, listed.stderr
    assert "clay lot: not known -> cannot be compared" in listed.stdout
    assert "Kept as" not in listed.stdout
    again = run(folder, "-m", "wareboard", "reorder", code, "--due", "2099-09-01", "--folder")
    assert again.returncode == 0, again.stderr
    assert f"Kept as {code[:3]}02" in again.stdout
    refused = run(folder, "-m", "wareboard", "reorder", f"{code[:3]}02", "--folder")
    assert refused.returncode == 1
    assert "nothing of it is packed or delivered" in refused.stderr
