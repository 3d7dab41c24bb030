"""Listening on the workshop's own network over TLS, beside the studio on this machine; only where it was asked for."""

from __future__ import annotations

import logging
import ssl
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wareboard.errors import Unreadable
from wareboard.studio.phones import certificate
from wareboard.studio.phones.addresses import own_addresses, own_name

FIRST_PHONE_PORT = 8501
LOOK_AGAIN_S = 60
FROM_NETWORK = "wareboard.network"


@dataclass(frozen=True, slots=True)
class Open:
    """How the studio stands open to phones."""

    names: tuple[str, ...]
    port: int
    fingerprint: str

    @property
    def address(self) -> str:
        """The address for phones: the first of the names."""
        return f"https://{self.names[0]}:{self.port}/"

    @property
    def addresses(self) -> tuple[str, ...]:
        """The same by every name that the certificate holds."""
        return tuple(f"https://{name}:{self.port}/" for name in self.names)


_open: Open | None = None


def how_open() -> Open | None:
    """How the studio stands open to phones; None where it does not."""
    return _open


def said_to_be_open(stands: Open | None) -> None:
    """Say how it stands open, for pages to show; and let requests be addressed by those names."""
    from django.conf import settings

    global _open
    old, _open = _open, stands
    for name in old.names if old else ():
        if name in settings.ALLOWED_HOSTS:
            settings.ALLOWED_HOSTS.remove(name)
    for name in stands.names if stands else ():
        if name not in settings.ALLOWED_HOSTS:
            settings.ALLOWED_HOSTS.append(name)


def from_network(application: Callable[..., Iterable[bytes]]) -> Callable[..., Iterable[bytes]]:
    """The studio, with every request marked as one that came from the network."""

    def answer(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
        environ[FROM_NETWORK] = True
        return application(environ, start)

    return answer


class Door:
    """The listener for phones, with its certificate kept fresh while it stands."""

    def __init__(self, folder: Path, application: Callable[..., Iterable[bytes]], port: int | None) -> None:
        from wareboard.studio.serve import EVERY_ADDRESS, free_port, listening

        self.folder = folder
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2
        self.names: tuple[str, ...] = ()
        self.port = port if port is not None else free_port(FIRST_PHONE_PORT, EVERY_ADDRESS)
        self.stopped = threading.Event()
        if not self.refresh():
            raise Unreadable(
                "this machine's network",
                "it has no address in a network of its own",
                "Join the workshop's network and open the studio again, or name the address in WAREBOARD_PHONE_ADDRESS",
            )
        self.server: Any = listening(EVERY_ADDRESS, self.port, from_network(application), tls=adapter(self.context))

    def refresh(self) -> bool:
        """Take in what the machine is called now, and a fresh certificate where one is due; whether it is in a network."""
        from django.conf import settings

        named = settings.WAREBOARD.phone_address
        found = tuple(dict.fromkeys((*((named,) if named else ()), *own_addresses())))
        if not found:
            return False  # away from the network for the moment
        names = tuple(dict.fromkeys((*found, *((own_name(),) if own_name() else ()))))
        shown, key, fresh = certificate.leaf(self.folder, names, own_name() or found[0], certificate.present())
        if fresh or names != self.names:
            self.context.load_cert_chain(shown, key)  # connections from now on are shown this one
            self.names = names
            above = certificate.authority(self.folder, "", certificate.present())
            said_to_be_open(Open(names, self.port, certificate.fingerprint(above)))
        return True

    def open(self) -> None:
        """Begin to listen, and look every minute whether the certificate still fits."""
        threading.Thread(target=self.server.serve, name="phones", daemon=True).start()
        threading.Thread(target=self._look_again, name="phones-certificate", daemon=True).start()

    def _look_again(self) -> None:
        while not self.stopped.wait(LOOK_AGAIN_S):
            try:
                self.refresh()
            except Exception:  # the next minute may be better; a thread that ends would end all renewing
                logging.getLogger("wareboard.studio").exception("The certificate for phones could not be looked at")

    def close(self) -> None:
        """Listen no more."""
        self.stopped.set()
        said_to_be_open(None)
        self.server.stop()


def adapter(context: ssl.SSLContext) -> Any:
    """What the server wraps connections in.

    The handshake is left to the thread that reads: made at the door, one silent caller would keep all others waiting.
    """
    from cheroot.ssl.builtin import BuiltinSSLAdapter

    class InItsOwnTime(BuiltinSSLAdapter):
        def __init__(self) -> None:
            self.context = context

        def wrap(self, sock: Any) -> tuple[Any, dict[str, str]]:
            wrapped = context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
            return wrapped, {"wsgi.url_scheme": "https", "HTTPS": "on"}

    return InItsOwnTime()
