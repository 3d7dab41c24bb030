"""Backup and restore of a workshop's records: one zip with the database and ``workshop.toml``. Needs no running studio.

Keys, certificates and the phones that are signed in are left out: phones join anew after a restore.

The database is copied through SQLite's own backup call, which is right even while pages write.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
import zipfile
from contextlib import closing
from datetime import datetime
from pathlib import Path

from wareboard.errors import Unreadable
from wareboard.named_file import refuse_standing

RECORDS, WORKSHOP, ABOUT = "records.sqlite3", "workshop.toml", "wareboard-backup.txt"
BACKUPS = "backups"
ABOUT_TEXT = (
    "A backup of a Wareboard workshop: records.sqlite3 (SQLite) and workshop.toml. Restore: wareboard restore.\n"
)
TABLES = {"book_paper", "book_version", "book_commission"}
LARGEST = 4_000_000_000


def back_up(folder: Path, file: Path, replace: bool = False) -> Path:
    """Copy the records and the workshop's file of ``folder`` into the zip ``file``, and hand back its place.

    A backup that is to be replaced stays until the new one is whole.

    Raises:
        Unreadable: if there are no records to copy, a file of that name stands there and is not to be replaced, or it is
            what would be copied.
    """
    records = folder / RECORDS
    if file.resolve() in {records.resolve(), (folder / WORKSHOP).resolve()}:
        raise Unreadable(
            str(file), "it is itself what a backup copies", "Give the backup another name, such as kept.zip"
        )
    refuse_standing(file, replace)
    if not records.is_file():
        raise Unreadable(
            str(records), "there are no records there", "Check the workshop folder, or open the studio once"
        )
    file.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=file.parent) as room:
        copy = Path(room) / RECORDS
        _copy(records, copy)
        _without_ways_in(copy)
        unfinished = Path(room) / "backup.zip"
        with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED) as box:
            box.writestr(ABOUT, ABOUT_TEXT)
            box.write(copy, RECORDS)
            if (folder / WORKSHOP).is_file():
                box.write(folder / WORKSHOP, WORKSHOP)
        # Only a whole zip ever bears the wanted name.
        unfinished.replace(file)
    return file


def restore(folder: Path, file: Path) -> Path | None:
    """Put the records of ``folder`` back from the zip ``file``; what stood there is backed up first, and its place returned.

    Raises:
        Unreadable: if the file is damaged or is no backup of a workshop; nothing is touched then.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder) as room:
        records, workshop = _unpacked(file, Path(room))
        kept = automatic(folder, "before-restore") if (folder / RECORDS).is_file() else None
        _copy(records, folder / RECORDS)
        if workshop is not None:
            workshop.replace(folder / WORKSHOP)
    return kept


def automatic(folder: Path, why: str, keep: int | None = None) -> Path:
    """A dated backup in the folder's own backups; with ``keep``, the oldest beyond that many go."""
    stamp = datetime.now().strftime("%Y-%m-%d-%H%M%S-%f")  # noqa: DTZ005 - a file name for the potter's eye
    place = back_up(folder, folder / BACKUPS / f"{stamp}-{why}.zip")
    if keep is not None:
        for old in sorted((folder / BACKUPS).glob("*.zip"))[:-keep]:
            old.unlink()
    return place


def _copy(source: Path, target: Path) -> None:
    with closing(sqlite3.connect(source, timeout=20)) as old, closing(sqlite3.connect(target, timeout=20)) as new:
        old.backup(new)


def _without_ways_in(records: Path) -> None:
    # A phone that was signed out must not be let in again by an old copy; names, roles and hashed passwords stay.
    with closing(sqlite3.connect(records, timeout=20)) as opened:
        there = {row[0] for row in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        for table in ("people_phone", "people_joining", "people_wrongtry"):
            if table in there:
                opened.execute(f'DELETE FROM "{table}"')
        opened.commit()


def _unpacked(file: Path, room: Path) -> tuple[Path, Path | None]:
    try:
        with zipfile.ZipFile(file) as box:
            names = set(box.namelist())
            if RECORDS not in names:
                raise _refused(file, "it holds no workshop records")
            if sum(entry.file_size for entry in box.infolist()) > LARGEST:
                raise _refused(file, "it unpacks to more than any workshop's records")
            for name in {RECORDS, WORKSHOP} & names:  # fixed names only: a path inside the zip is never followed
                with box.open(name) as packed, (room / name).open("wb") as out:
                    shutil.copyfileobj(packed, out)
    except FileNotFoundError:
        raise _refused(file, "there is no such file") from None
    except (zipfile.BadZipFile, EOFError, OSError, RuntimeError, NotImplementedError, ValueError) as problem:
        if isinstance(problem, Unreadable):
            raise
        raise _refused(file, f"it is damaged or no zip ({problem})") from None
    _check_records(file, room / RECORDS)
    workshop = room / WORKSHOP
    return room / RECORDS, workshop if workshop.is_file() else None


def _check_records(file: Path, records: Path) -> None:
    try:
        with closing(sqlite3.connect(records)) as opened:
            sound = opened.execute("PRAGMA integrity_check").fetchone()[0]
            tables = {row[0] for row in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            strays = opened.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.DatabaseError as problem:
        raise _refused(file, f"its records cannot be read ({problem})") from None
    if sound != "ok" or strays is not None:
        raise _refused(file, "its records are damaged")
    if not tables >= TABLES:
        raise _refused(file, "its records are not a workshop's")


def _refused(file: Path, why: str) -> Unreadable:
    return Unreadable(file.name, why, "Choose a zip that Wareboard's backup made; nothing was changed")
