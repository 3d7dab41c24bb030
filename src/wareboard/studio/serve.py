"""Running the studio: on this machine only unless phones are asked for, the records made ready first."""

from __future__ import annotations

import errno
import gc
import logging
import os
import secrets
import signal
import socket
import sys
import threading
from collections.abc import Callable, Iterable
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wareboard.errors import OutOfRange, Unreadable
from wareboard.studio import beforehand
from wareboard.studio.private_file import write_private
from wareboard.studio.settings_table import RECORDS, SECRET

if TYPE_CHECKING:
    from wareboard.studio.phones.network import Door

HOST, EVERY_ADDRESS = "127.0.0.1", "0.0.0.0"  # the second only where phones are asked for
FIRST_PORT, PORTS_TRIED = 8471, 30
LOG = "studio.log"
THREADS = 6
PATIENCE_S = 15
LARGEST_UPLOAD = 210_000_000  # bytes: above the photographs and logs that pages take, which refuse in words


def serve(
    folder: Path,
    port: int | None = None,
    open_browser: bool = True,
    phones: bool = False,
    phone_port: int | None = None,
) -> None:
    """Serve the studio of a workshop folder until it is stopped with Ctrl-C.

    Args:
        folder: the workshop folder; made where it is not there.
        port: on 127.0.0.1; a free one near `FIRST_PORT` where None.
        open_browser: whether to open the first page.
        phones: whether to listen on the workshop's network as well, over TLS.
        phone_port: the port there; a free one where None.
    Raises:
        Unreadable, OutOfRange: if the folder cannot be used, the port is taken, or a setting is odd.
    """
    make_ready(folder)
    _take_in_briefs(folder)
    chosen = port if port is not None else free_port()
    server = listening(HOST, chosen, _application())
    address = f"http://{HOST}:{chosen}/"
    _say(f"The studio is open at {address} (this machine only). Ctrl-C closes it.")
    if open_browser:
        threading.Timer(0.3, _open, [address]).start()
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, _closing)  # ask for an orderly end, as Ctrl-C does
    door = _open_to_phones(folder, phone_port) if phones else None
    steady_memory()
    ahead = beforehand.after_the_first_page()
    try:
        server.serve()
    except KeyboardInterrupt:
        pass
    finally:
        server.stop()
        if door is not None:
            door.close()
        beforehand.ended(ahead)
        _say("The studio is closed; everything accepted is kept.")


def steady_memory() -> None:
    """Take what is loaded by now out of the search for dead objects, and search less often.

    A page over two thousand boards makes enough objects to set off searches of all there is, a tenth of a second each.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


def _open_to_phones(folder: Path, port: int | None) -> Door:
    import segno

    from wareboard.studio.phones.network import Door, how_open

    door = Door(folder.resolve(), _application(), port)
    door.open()
    stands = how_open()
    if stands is not None:
        _say("Phones in this network can reach it at " + " or ".join(stands.addresses))
        if sys.stdout.isatty():
            segno.make(stands.address, error="m").terminal(compact=True)
        _say("On the phone, first: that address with trust/ behind it. In the studio: the page Phones adds people.")
        _say(f"SHA-256 of the workshop's certificate: {stands.fingerprint}")
        _say("Only in your own network: not in a café, at a fair or on a guest network.")
    return door


def listening(host: str, port: int, application: object, tls: Any = None) -> Any:
    """A server that holds its port already and waits for ``serve()``.

    Raises:
        OutOfRange: if the port cannot be used.
    """
    from cheroot import wsgi

    server: Any = wsgi.Server(
        (host, port), application, numthreads=THREADS, server_name="Wareboard", timeout=PATIENCE_S, shutdown_timeout=2
    )
    server.max_request_body_size = LARGEST_UPLOAD
    server.ssl_adapter = tls
    server.max_request_header_size = 64_000
    server.error_log = _to_log
    try:
        server.prepare()
    except OSError as problem:
        server.stop()
        taken = problem.errno == errno.EADDRINUSE or "in use" in str(problem)
        why = problem.strerror or str(problem).splitlines()[0]
        if taken:
            why = "another program uses it, perhaps this studio, open already"
        raise OutOfRange(f"port {port}", f"it cannot be used ({why})", "Choose another, or leave --port out") from None
    return server


def _to_log(words: str = "", level: int = logging.INFO, traceback: bool = False) -> None:
    logging.getLogger("wareboard.studio").log(level, words, exc_info=traceback)


def _closing(*_: object) -> None:
    raise KeyboardInterrupt


def make_ready(folder: Path) -> None:
    """Make folder, key and log, set Django up on them, and bring the records to the present form."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        keep_secret(folder / SECRET)
        _log_to(folder / LOG)
    except OSError as problem:
        raise Unreadable(
            str(folder),
            f"it cannot be used ({problem.strerror})",
            "Make room on its disk" if problem.errno == errno.ENOSPC else "Choose a folder you may write in",
        ) from None
    os.environ["WAREBOARD_FOLDER"] = str(folder.resolve())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "wareboard.studio.settings")
    import django

    django.setup()
    bring_up_to_date(folder)


def keep_secret(file: Path) -> None:
    """Make the key that signs forms, once, readable by its owner only."""
    if file.exists():
        return
    write_private(file, secrets.token_urlsafe(50).encode("ascii"))


def bring_up_to_date(folder: Path) -> bool:
    """Run what migrations there are to run, after a backup where there is something to lose; whether there were any.

    Raises:
        Unreadable: if a newer version has written the records; nothing is touched then.
    """
    from django.core.management import call_command
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    from wareboard.book.backup import automatic

    executor = MigrationExecutor(connection)
    loader = executor.loader
    ours = {app for app, _ in loader.disk_migrations}
    later = sorted(each for each in loader.applied_migrations if each[0] in ours and each not in loader.disk_migrations)
    if later:
        raise Unreadable(
            str(folder),
            f"a newer Wareboard has written in it ({' '.join(later[0])})",
            "Open it with that version, or put an earlier backup back",
        )
    waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if not waiting:
        return False
    if connection.vendor == "sqlite" and (folder / RECORDS).is_file() and connection.introspection.table_names():
        from django.conf import settings

        automatic(folder, "before-change", keep=settings.WAREBOARD.backups_kept)
    call_command("migrate", interactive=False, verbosity=0)
    return True


def free_port(first: int = FIRST_PORT, host: str = HOST) -> int:
    """The first port from ``first`` on that nobody uses, else any that the machine gives."""
    for port in (*range(first, first + PORTS_TRIED), 0):
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            if os.name != "nt":  # on Windows this option would let two programs share the port
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host, port))
            except OSError:
                continue
            return int(probe.getsockname()[1])
    raise OutOfRange("every port", "none is free on this machine", "Close another program")


def _take_in_briefs(folder: Path) -> None:
    from wareboard.studio.briefs_folder import take_in

    for commission in take_in(folder):
        _say(f"Taken in from the workshop folder: {commission}")


def _application() -> Callable[..., Iterable[bytes]]:
    from wareboard.studio.wsgi import application

    return application


def _log_to(file: Path) -> None:
    # A file, never a pipe: a server that writes to a pipe which nobody reads stands still when it is full.
    handler = RotatingFileHandler(file, maxBytes=2_000_000, backupCount=2, encoding="utf-8", delay=True)
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    root = logging.getLogger()
    root.addHandler(handler)
    root.setLevel(logging.INFO)


def _open(address: str) -> None:
    import webbrowser

    webbrowser.open(address)


def _say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()
