"""`wareboard reorder`: what it refuses before it touches a record."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from wareboard.commands.reorder import reorder_command
from wareboard.errors import Unreadable


def test_a_folder_without_records_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match="no records are kept there"):
        CliRunner().invoke(reorder_command, ["26-01", "--folder", str(tmp_path)], catch_exceptions=False)
    assert list(tmp_path.iterdir()) == []
