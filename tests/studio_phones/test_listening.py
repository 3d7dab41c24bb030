"""The studio as it is run with phones: a process of its own, spoken to over TLS with the workshop's authority trusted."""

from __future__ import annotations

import http.client
import re
import socket
import ssl
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.studio.test_serve import plain_environment
from wareboard.book.backup import back_up
from wareboard.studio.phones.addresses import own_addresses
from wareboard.studio.serve import EVERY_ADDRESS, free_port

CODE = """
import sys
from pathlib import Path
from wareboard.studio.serve import serve
serve(Path(sys.argv[1]), int(sys.argv[2]), False, phones=True, phone_port=int(sys.argv[3]))
"""
ADDRESS = (*own_addresses(), "127.0.0.1")[0]  # a machine in no network speaks to itself, as a phone would


@pytest.fixture(scope="module")
def open_studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str, int, int, str]]:
    """Folder, own address, port on this machine, port for phones, and what was said."""
    folder = tmp_path_factory.mktemp("workshop")
    here, port = free_port(), free_port(18501, EVERY_ADDRESS)
    process = subprocess.Popen(
        [sys.executable, "-c", CODE, str(folder), str(here), str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env=plain_environment(WAREBOARD_PHONE_ADDRESS=ADDRESS),
    )
    assert process.stdout is not None
    said = ""
    for line in process.stdout:
        said += line
        if "Only in your own network" in line:
            break
    try:
        yield folder, ADDRESS, here, port, said
    finally:
        process.terminate()
        process.wait(20)


def asked(folder: Path, address: str, port: int, path: str, **headers: str) -> http.client.HTTPResponse:
    """The answer to a request whose certificate was checked against the workshop's authority, names and all."""
    trusted = ssl.create_default_context(cafile=str(folder / "phones" / "authority.pem"))
    connection = http.client.HTTPSConnection(address, port, context=trusted, timeout=10)
    connection.request("GET", path, headers=headers)
    return connection.getresponse()


def test_a_phone_that_trusts_the_authority_reaches_it_and_is_sent_to_sign_in(
    open_studio: tuple[Path, str, int, int, str],
) -> None:
    folder, address, _, port, said = open_studio
    assert f"https://{address}:{port}/" in said
    answer = asked(folder, address, port, "/bench/")
    assert answer.status == 302
    assert answer.headers["Location"].startswith("/sign-in/?on=")
    answer = asked(folder, address, port, "/trust/")
    page = answer.read().decode()
    assert answer.status == 200
    assert re.search(r"([0-9A-F]{2}:){31}[0-9A-F]{2}", said)[0] in page  # type: ignore[index]
    assert "Secure" in asked(folder, address, port, "/sign-in/").headers["Set-Cookie"]


def test_what_phones_fetch_is_the_authority_and_no_key(open_studio: tuple[Path, str, int, int, str]) -> None:
    folder, address, _, port, _ = open_studio
    answer = asked(folder, address, port, "/trust/wareboard-workshop.crt")
    body = answer.read()
    assert answer.headers["Content-Type"] == "application/x-x509-ca-cert"
    assert ssl.DER_cert_to_PEM_cert(body).split() == (folder / "phones" / "authority.pem").read_text().split()
    for path in ("/static/../phones/authority.key", "/static/%2e%2e/phones/authority.key", "/phones/authority.key"):
        assert b"PRIVATE" not in asked(folder, address, port, path).read()


def test_a_phone_that_does_not_trust_it_warns(open_studio: tuple[Path, str, int, int, str]) -> None:
    _, address, _, port, _ = open_studio
    with pytest.raises(ssl.SSLCertVerificationError):
        http.client.HTTPSConnection(address, port, context=ssl.create_default_context(), timeout=10).request("GET", "/")


@pytest.mark.skipif(not own_addresses(), reason="this machine is in no network of its own")
def test_the_studio_of_this_machine_is_not_reached_from_the_network(
    open_studio: tuple[Path, str, int, int, str],
) -> None:
    _, address, here, _, _ = open_studio
    with pytest.raises(OSError, match=r"refused|timed out"):
        socket.create_connection((address, here), timeout=2)


def test_callers_that_say_nothing_keep_nobody_waiting(open_studio: tuple[Path, str, int, int, str]) -> None:
    folder, address, _, port, _ = open_studio
    silent = [socket.create_connection((address, port), timeout=5) for _ in range(3)]
    try:
        assert asked(folder, address, port, "/trust/").status == 200
    finally:
        for each in silent:
            each.close()


def spoken_plainly(connection: http.client.HTTPConnection) -> http.client.HTTPResponse:
    connection.request("GET", "/sign-in/")
    return connection.getresponse()


def test_plain_http_and_a_strange_name_get_nowhere(open_studio: tuple[Path, str, int, int, str]) -> None:
    folder, address, _, port, _ = open_studio
    assert asked(folder, address, port, "/sign-in/", Host="evil.example").status == 400
    connection = http.client.HTTPConnection(address, port, timeout=10)
    with pytest.raises((http.client.HTTPException, OSError)):
        spoken_plainly(connection)
    assert asked(folder, address, port, "/trust/").status == 200


def test_a_backup_holds_no_key_and_no_way_in(open_studio: tuple[Path, str, int, int, str], tmp_path: Path) -> None:
    import sqlite3
    from contextlib import closing

    folder = open_studio[0]
    with closing(sqlite3.connect(folder / "records.sqlite3")) as opened:
        opened.execute(
            "INSERT INTO people_person (id, name, called, role, password) VALUES (1, 'A', 'a', 'potter', 'x')"
        )
        opened.execute(
            "INSERT INTO people_phone (person_id, token, kind, joined, seen) VALUES (1, 't', 'p', '2026-01-01', '2026')"
        )
        opened.commit()
    with zipfile.ZipFile(back_up(folder, tmp_path / "copy.zip")) as box:
        assert not [name for name in box.namelist() if "key" in name or "phones" in name]
        box.extract("records.sqlite3", tmp_path)
    with closing(sqlite3.connect(tmp_path / "records.sqlite3")) as opened:
        assert opened.execute("SELECT count(*) FROM people_phone").fetchone() == (0,)
        assert opened.execute("SELECT count(*) FROM people_person").fetchone() == (1,)
