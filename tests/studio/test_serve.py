"""Running the studio as it is run: a process of its own, on this machine only, with the records made ready first."""

from __future__ import annotations

import os
import re
import socket
import sqlite3
import stat
import subprocess
import sys
import time
import urllib.error
import urllib.request
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from tests.studio.conftest import CUPS
from wareboard.book.backup import back_up
from wareboard.studio.serve import HOST, free_port, keep_secret

DJANGOS_OWN = {"auth", "contenttypes", "sessions"}
CODE = """
import sys
from pathlib import Path
from wareboard.studio.serve import serve
serve(Path(sys.argv[1]), int(sys.argv[2]), False)
"""


def plain_environment(**more: str) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("WAREBOARD_", "DJANGO_"))}
    return kept | more


@contextmanager
def running(folder: Path, **more: str) -> Iterator[str]:
    """A studio of its own process; the address it says it is at."""
    port = str(free_port())
    process = subprocess.Popen(
        [sys.executable, "-c", CODE, str(folder), port],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=plain_environment(**more),
    )
    assert process.stdout is not None
    try:
        lines: list[str] = []
        for said in process.stdout:
            lines.append(said)
            found = re.search(r"http://\S+", said)
            if found:
                break
        else:
            raise AssertionError(f"the studio said no address, but: {''.join(lines[-20:])}")
        wait_for(found[0])
        yield found[0]
    finally:
        process.terminate()
        process.wait(20)


def wait_for(address: str) -> None:
    for _ in range(100):
        try:
            urllib.request.urlopen(address, timeout=5).close()
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.1)
        else:
            return
    raise AssertionError(f"nothing answers at {address}")


def page(address: str) -> tuple[str, dict[str, str]]:
    with urllib.request.urlopen(address, timeout=10) as answer:
        return answer.read().decode(), {name.lower(): value for name, value in answer.headers.items()}


def migrations_in(folder: Path) -> list[str]:
    with closing(sqlite3.connect(folder / "records.sqlite3")) as opened:
        return [row[0] for row in opened.execute("SELECT name FROM django_migrations WHERE app = 'book' ORDER BY id")]


def test_a_bare_folder_becomes_a_studio_and_a_second_start_keeps_what_is_there(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "workshop"
    with running(folder) as address:
        body, headers = page(address)
        assert "Nothing on the boards yet" in body
        assert "default-src 'self'" in headers["content-security-policy"]
        style, headers = page(address + "static/studio/studio.css")
        assert "--kaolin" in style
        assert headers["content-type"].startswith("text/css")
        assert "htmx" in page(address + "static/django_htmx/htmx-2.min.js")[0]
    secret = folder / "secret.key"
    if os.name != "nt":
        assert stat.S_IMODE(secret.stat().st_mode) == 0o600
    kept = secret.read_text()
    assert len(kept) >= 50
    assert migrations_in(folder)[0] == "0001_first"
    with closing(sqlite3.connect(folder / "records.sqlite3")) as opened:
        assert opened.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    with running(folder):
        assert secret.read_text() == kept
    assert not (folder / "backups").exists()  # nothing was to be changed, so nothing was copied


def test_records_of_an_older_form_are_backed_up_before_they_are_changed(tmp_path: Path) -> None:
    with running(tmp_path):
        pass
    with closing(sqlite3.connect(tmp_path / "records.sqlite3")) as opened:  # as if made before there were any of these
        opened.execute("PRAGMA foreign_keys = OFF")
        known = opened.execute("SELECT DISTINCT app FROM django_migrations").fetchall()
        for app in {app for (app,) in known} - DJANGOS_OWN:
            tables = opened.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name LIKE ?", (f"{app}_%",)
            )
            for (table,) in tables.fetchall():
                opened.execute(f'DROP TABLE "{table}"')
            opened.execute("DELETE FROM django_migrations WHERE app = ?", (app,))
        opened.execute("CREATE TABLE book_older (text TEXT)")
        opened.commit()
    with running(tmp_path) as address:
        assert "Commissions" in page(address)[0]
    (copy,) = (tmp_path / "backups").iterdir()
    assert copy.name.endswith("-before-change.zip")
    with zipfile.ZipFile(copy) as box:
        box.extract("records.sqlite3", tmp_path / "out")
    with closing(sqlite3.connect(tmp_path / "out" / "records.sqlite3")) as opened:
        assert opened.execute("SELECT count(*) FROM sqlite_master WHERE name = 'book_older'").fetchone() == (1,)
    assert migrations_in(tmp_path)


def test_briefs_that_lie_in_the_folder_are_taken_in_once(tmp_path: Path) -> None:
    (tmp_path / "briefs").mkdir()
    (tmp_path / "briefs" / "cups.toml").write_text(CUPS, encoding="utf-8")
    (tmp_path / "briefs" / "broken.toml").write_text("due =", encoding="utf-8")
    for _ in range(2):
        with running(tmp_path) as address:
            body, _ = page(address)
            assert body.count("Cups for a tea room</a>") == 1
    assert "broken.toml was not taken in" in (tmp_path / "studio.log").read_text(encoding="utf-8")


def test_only_this_machine_is_listened_to() -> None:
    assert HOST == "127.0.0.1"


def test_a_port_that_is_taken_is_refused_by_its_number_and_a_free_one_is_found(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind((HOST, 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert free_port() != port
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "wareboard",
                "studio",
                "--folder",
                str(tmp_path),
                "--port",
                str(port),
                "--no-browser",
            ],
            capture_output=True,
            text=True,
            env=plain_environment(),
            timeout=60,
            check=False,
        )
    assert done.returncode == 1
    assert f"port {port}" in done.stderr
    assert "Traceback" not in done.stderr


def test_an_odd_setting_stops_the_start_with_its_name(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "wareboard", "studio", "--folder", str(tmp_path), "--no-browser"],
        capture_output=True,
        text=True,
        env=plain_environment(WAREBOARD_PLANS_KEPT="many"),
        timeout=60,
        check=False,
    )
    assert done.returncode == 1
    assert "WAREBOARD_PLANS_KEPT" in done.stderr
    assert "Traceback" not in done.stderr


def test_the_secret_is_made_once(tmp_path: Path) -> None:
    file = tmp_path / "secret.key"
    keep_secret(file)
    first = file.read_text()
    keep_secret(file)
    assert file.read_text() == first


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_that_cannot_be_written_to_is_refused_in_words(tmp_path: Path) -> None:
    from wareboard.errors import Unreadable
    from wareboard.studio.serve import make_ready

    tmp_path.chmod(0o500)
    with pytest.raises(Unreadable, match="cannot be used"):
        make_ready(tmp_path / "workshop")


def _wareboard(*words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "wareboard", *map(str, words)], capture_output=True, text=True, check=False, timeout=120
    )


def _zip_with(folder: Path, place: Path, *statements: str) -> Path:
    """A backup of the folder whose records were changed by the statements."""
    back_up(folder, place)
    with zipfile.ZipFile(place) as box:
        box.extract("records.sqlite3", place.parent / "changed")
    changed = place.parent / "changed" / "records.sqlite3"
    with closing(sqlite3.connect(changed)) as opened:
        for statement in statements:
            opened.execute(statement)
        opened.commit()
    with zipfile.ZipFile(place, "w") as box:
        box.write(changed, "records.sqlite3")
    return place


def test_an_older_backup_is_brought_up_to_date_and_a_newer_one_is_refused(tmp_path: Path) -> None:
    here = tmp_path / "here"
    make = "import sys, pathlib; from wareboard.studio.serve import make_ready; make_ready(pathlib.Path(sys.argv[1]))"
    subprocess.run([sys.executable, "-c", make, str(here)], check=True, timeout=120)
    gone = "prototypes_clientpicture"
    older = _zip_with(
        here, tmp_path / "older.zip", f"DROP TABLE {gone}", "DELETE FROM django_migrations WHERE app = 'prototypes'",
        *(f"DROP TABLE {name}" for name in _tables(here) if name.startswith("prototypes_") and name != gone),
    )  # fmt: skip
    put_back = _wareboard("restore", older, "--folder", here)
    assert put_back.returncode == 0, put_back.stderr
    assert gone in _tables(here)
    newer = _zip_with(
        here, tmp_path / "newer.zip",
        "INSERT INTO django_migrations (app, name, applied) VALUES ('book', '0999_from_the_future', '2030-01-01')",
    )  # fmt: skip
    refused = _wareboard("restore", newer, "--folder", here)
    assert refused.returncode == 1
    assert "a newer Wareboard has written in it" in refused.stderr
    assert gone in _tables(here)
    fresh = _wareboard("restore", newer, "--folder", tmp_path / "fresh")
    assert fresh.returncode == 1
    assert not (tmp_path / "fresh" / "records.sqlite3").exists()
    into_nothing = _wareboard("restore", older, "--folder", tmp_path / "other")
    assert "nothing stood there before" in into_nothing.stdout


def _tables(folder: Path) -> list[str]:
    with closing(sqlite3.connect(folder / "records.sqlite3")) as opened:
        return [row[0] for row in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]


def test_no_file_that_a_page_would_take_is_turned_away_by_the_server_before_it() -> None:
    """A page refuses in words; the server itself, with a bare line."""
    from wareboard import pictures
    from wareboard.book.boards import photographs
    from wareboard.book.firings import recording
    from wareboard.studio import serve

    taken = (pictures.MOST_BYTES, photographs.LARGEST_BYTES, recording.LARGEST_LOG)
    assert max(taken) + 4_000_000 < serve.LARGEST_UPLOAD  # room for the other boxes of the form
