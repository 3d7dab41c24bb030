"""Backup and restore: what was kept comes back, and a damaged or foreign file changes nothing."""

from __future__ import annotations

import sqlite3
import zipfile
from contextlib import closing
from pathlib import Path

import pytest

from wareboard.book.backup import automatic, back_up, restore
from wareboard.errors import Unreadable

TABLES = ("book_paper", "book_version", "book_commission")


def records(folder: Path, *texts: str) -> Path:
    """A small records file with the tables that a workshop's has, in write-ahead mode, still open elsewhere or not."""
    folder.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(folder / "records.sqlite3")) as opened:
        opened.execute("PRAGMA journal_mode=WAL")
        for table in TABLES:
            opened.execute(f"CREATE TABLE IF NOT EXISTS {table} (text TEXT)")
        opened.executemany("INSERT INTO book_version VALUES (?)", [(text,) for text in texts])
        opened.commit()
    return folder


def texts(folder: Path) -> list[str]:
    with closing(sqlite3.connect(folder / "records.sqlite3")) as opened:
        return [row[0] for row in opened.execute("SELECT text FROM book_version ORDER BY rowid")]


def test_what_was_backed_up_comes_back_and_what_stood_there_is_kept(tmp_path: Path) -> None:
    here = records(tmp_path / "here", "cups")
    (here / "workshop.toml").write_text('name = "ours"\n')
    file = back_up(here, tmp_path / "copy.zip")
    there = records(tmp_path / "there", "plates")
    kept = restore(there, file)
    assert texts(there) == ["cups"]
    assert (there / "workshop.toml").read_text() == 'name = "ours"\n'
    assert kept is not None
    restore(there, kept)
    assert texts(there) == ["plates"]


def test_a_backup_holds_what_is_still_in_the_write_ahead_file(tmp_path: Path) -> None:
    here = records(tmp_path / "here", "cups")
    with closing(sqlite3.connect(here / "records.sqlite3")) as writer:
        writer.execute("INSERT INTO book_version VALUES ('plates')")
        writer.commit()
        assert (here / "records.sqlite3-wal").stat().st_size > 0
        file = back_up(here, tmp_path / "copy.zip")
    restore(tmp_path / "new", file)
    assert texts(tmp_path / "new") == ["cups", "plates"]


def test_restoring_while_a_page_has_the_records_open_is_seen_by_that_page(tmp_path: Path) -> None:
    here = records(tmp_path / "here", "cups")
    file = back_up(here, tmp_path / "copy.zip")
    with closing(sqlite3.connect(here / "records.sqlite3")) as page:
        page.execute("DELETE FROM book_version")
        page.commit()
        restore(here, file)
        assert page.execute("SELECT text FROM book_version").fetchall() == [("cups",)]


def zipped(file: Path, **entries: bytes) -> Path:
    with zipfile.ZipFile(file, "w") as box:
        for name, body in entries.items():
            box.writestr(name.replace("__", "."), body)
    return file


@pytest.mark.parametrize(
    ("body", "words"),
    [(b"", "damaged or no zip"), (b"PK\x03\x04 not really", "damaged or no zip"), (b"a brief", "damaged or no zip")],
)
def test_a_file_that_is_no_zip_is_refused_and_nothing_changes(tmp_path: Path, body: bytes, words: str) -> None:
    here = records(tmp_path / "here", "cups")
    file = tmp_path / "odd.zip"
    file.write_bytes(body)
    with pytest.raises(Unreadable, match=words):
        restore(here, file)
    assert texts(here) == ["cups"]
    assert not (here / "backups").exists()


def test_a_cut_off_backup_is_refused(tmp_path: Path) -> None:
    here = records(tmp_path / "here", "cups" * 2000)
    file = back_up(here, tmp_path / "copy.zip")
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(Unreadable, match="nothing was changed"):
        restore(here, file)


def test_a_backup_with_a_flipped_byte_is_refused(tmp_path: Path) -> None:
    here = records(tmp_path / "here", *(f"text {number}" for number in range(500)))
    file = back_up(here, tmp_path / "copy.zip")
    whole = bytearray(file.read_bytes())
    whole[len(whole) // 3] ^= 0xFF
    file.write_bytes(bytes(whole))
    with pytest.raises(Unreadable):
        restore(here, file)


def test_a_zip_without_records_or_with_foreign_records_is_refused(tmp_path: Path) -> None:
    here = records(tmp_path / "here", "cups")
    with pytest.raises(Unreadable, match="no workshop records"):
        restore(here, zipped(tmp_path / "a.zip", notes__txt=b"hello"))
    with pytest.raises(Unreadable, match="cannot be read"):
        restore(here, zipped(tmp_path / "b.zip", records__sqlite3=b"not a database at all" * 100))
    foreign = tmp_path / "foreign.sqlite3"
    with closing(sqlite3.connect(foreign)) as opened:
        opened.execute("CREATE TABLE birds (name TEXT)")
        opened.commit()
    with pytest.raises(Unreadable, match="not a workshop's"):
        restore(here, zipped(tmp_path / "c.zip", records__sqlite3=foreign.read_bytes()))
    assert texts(here) == ["cups"]


def test_names_in_the_zip_cannot_lead_out_of_the_folder(tmp_path: Path) -> None:
    here = records(tmp_path / "here", "cups")
    file = back_up(here, tmp_path / "copy.zip")
    with zipfile.ZipFile(file, "a") as box:
        box.writestr("../outside.txt", "x")
    restore(here, file)
    assert not (tmp_path / "outside.txt").exists()


def test_no_records_no_backup(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match="no records"):
        back_up(tmp_path, tmp_path / "copy.zip")


def test_automatic_backups_keep_to_their_number_and_drop_the_oldest(tmp_path: Path) -> None:
    here = records(tmp_path / "here", "cups")
    made = [automatic(here, "before-change", keep=3) for _ in range(5)]
    assert sorted((here / "backups").iterdir()) == sorted(made[-3:])


def test_a_backup_of_that_name_is_kept_unless_it_is_to_be_replaced(tmp_path: Path) -> None:
    folder, file = tmp_path / "shop", tmp_path / "kept.zip"
    records(folder, "cups")
    back_up(folder, file)
    first = file.read_bytes()
    with pytest.raises(
        Unreadable, match=r"kept\.zip: there is a file of that name already.*another name, or add --replace"
    ):
        back_up(folder, file)
    assert file.read_bytes() == first
    (folder / "workshop.toml").write_text("# changed since\n", encoding="utf-8")
    back_up(folder, file, replace=True)
    with zipfile.ZipFile(file) as box:
        assert box.read("workshop.toml") == b"# changed since\n"


def test_a_backup_never_takes_the_place_of_the_records_that_it_copies(tmp_path: Path) -> None:
    records(tmp_path, "cups")
    (tmp_path / "workshop.toml").write_text("# invented\n")
    for name in ("records.sqlite3", "workshop.toml"):
        before = (tmp_path / name).read_bytes()
        with pytest.raises(Unreadable, match="itself what a backup copies"):
            back_up(tmp_path, tmp_path / name, replace=True)
        assert (tmp_path / name).read_bytes() == before
