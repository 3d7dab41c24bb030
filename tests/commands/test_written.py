"""A file that a command writes never takes the place of one that stands there, unless that was asked for."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from wareboard.commands import COMMANDS, wareboard
from wareboard.commands.written import FileToWrite
from wareboard.errors import Unreadable
from wareboard.named_file import write_whole

READINGS = "95.1\n94.8\n95.4\n95.0\n94.9\n95.2\n"


def commands() -> Iterator[tuple[str, click.Command]]:
    """Every command, those of groups too."""
    with click.Context(wareboard) as ctx:
        for name in COMMANDS:
            found = wareboard.get_command(ctx, name)
            assert found is not None
            yield name, found
            if isinstance(found, click.Group):
                yield from ((f"{name} {each}", inner) for each, inner in found.commands.items())


def test_every_command_that_writes_a_named_file_can_be_told_to_replace_it() -> None:
    writes = {name for name, each in commands() if any(isinstance(part.type, FileToWrite) for part in each.params)}
    replaces = {name for name, each in commands() if any(part.name == "replace" for part in each.params)}
    assert {"backup", "new", "schedule", "run-chart", "form solid", "form photo", "mark"} <= writes <= replaces
    assert replaces - writes == {"load", "paint"}  # these write several files into a named folder


def test_no_command_takes_a_file_to_write_by_any_other_way() -> None:
    for name, each in commands():
        for part in each.params:
            said = (getattr(part, "help", "") or "").lower()
            if (
                isinstance(part.type, click.Path)
                and part.type.dir_okay is False
                and ("write" in said or "draw the" in said)
            ):
                assert isinstance(part.type, FileToWrite), f"{name} {part.name}"


def test_a_file_of_that_name_is_kept_and_the_mend_told_before_any_work(tmp_path: Path) -> None:
    readings, chart = tmp_path / "rims.txt", tmp_path / "chart.svg"
    readings.write_text(READINGS, encoding="utf-8")
    chart.write_text("mine", encoding="utf-8")
    call = ["run-chart", str(readings), "--svg", str(chart)]
    refused = CliRunner().invoke(wareboard, call)
    assert isinstance(refused.exception, Unreadable)
    assert "chart.svg: there is a file of that name already" in str(refused.exception)
    assert "Give another name, or add --replace" in str(refused.exception)
    assert refused.output == ""
    assert chart.read_text(encoding="utf-8") == "mine"
    for order in ([*call, "--replace"], ["run-chart", "--replace", *call[1:]]):
        assert CliRunner().invoke(wareboard, order).exit_code == 0
        assert chart.read_text(encoding="utf-8").startswith("<svg")


def test_what_stood_there_stays_where_the_new_one_cannot_be_written_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "lines.toml"
    file.write_text("old", encoding="utf-8")

    def full(self: Path, data: bytes) -> int:
        with self.open("wb") as half:
            half.write(data[:3])
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(Path, "write_bytes", full)
        with pytest.raises(Unreadable, match=r"lines\.toml.*No space left.*room on the disk"):
            write_whole(file, "new and longer", replace=True)
    assert [each.name for each in tmp_path.iterdir()] == ["lines.toml"]
    assert file.read_text(encoding="utf-8") == "old"


@pytest.mark.skipif(os.name == "nt", reason="rights and links of this kind are not there")
def test_rights_and_links_stay_as_they_were(tmp_path: Path) -> None:
    file, link = tmp_path / "real.csv", tmp_path / "link.csv"
    file.write_bytes(b"old")
    file.chmod(0o640)
    link.symlink_to(file)
    write_whole(link, "new\r\n", replace=True)
    assert link.is_symlink()
    assert file.read_bytes() == b"new\r\n"
    assert stat.S_IMODE(file.stat().st_mode) == 0o640


def test_none_of_several_files_is_written_where_one_stands_there(tmp_path: Path) -> None:
    out = tmp_path / "maps"
    out.mkdir()
    (out / "glaze-load-2.pdf").write_text("mine", encoding="utf-8")
    call = ["load", "--piece", "cup, 30, 90 mm, 90 mm", "--shelf", "rectangle 300 x 300 mm", "--height", "200 mm"]
    done = CliRunner().invoke(wareboard, [*call, "--seconds", "0.2", "--out", str(out)])
    assert isinstance(done.exception, Unreadable), done.output
    assert "glaze-load-2.pdf" in str(done.exception)
    assert [each.name for each in out.iterdir()] == ["glaze-load-2.pdf"]
