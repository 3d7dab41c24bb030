"""How this machine is known in its own network: private addresses, and its name with .local."""

from __future__ import annotations

import contextlib
import ipaddress
import re
import socket

from wareboard.studio.settings_table import OWN_NETWORKS

# Nothing is sent there: choosing a way to it is enough to learn one's own address.
FAR = "192.0.2.1"


def own_addresses() -> tuple[str, ...]:
    """This machine's private IPv4 addresses, the one that other machines most likely reach it by first."""
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, contextlib.suppress(OSError):
        probe.connect((FAR, 9))
        found.append(probe.getsockname()[0])
    with contextlib.suppress(OSError):
        found += [str(row[4][0]) for row in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return tuple(dict.fromkeys(each for each in found if is_own(each)))


def is_own(address: str) -> bool:
    """Whether an address is one that home networks use, and no open one."""
    there = ipaddress.IPv4Address(address)
    return any(there in network for network in OWN_NETWORKS)


def own_name() -> str:
    """This machine's name with .local; empty where its name cannot be one."""
    name = socket.gethostname().partition(".")[0].lower()
    return f"{name}.local" if re.fullmatch(r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?", name) else ""
