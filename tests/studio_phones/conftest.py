"""People of an invented workshop, and phones that come from the network."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import LazySettings
from django.test import Client

from tests.studio.conftest import CUPS, cups, demo_text, workshop_folder
from tests.studio_bench.conftest import demo
from wareboard.book.people import entering
from wareboard.book.people.models import Person
from wareboard.studio.phones.door import NETWORK_COOKIE
from wareboard.studio.phones.network import FROM_NETWORK
from wareboard.studio.today import now

__all__ = ["CUPS", "cups", "demo", "demo_text", "workshop_folder"]
HOST = "192.168.1.20"
PASSWORD = "blue-slip-7"


@pytest.fixture(autouse=True)
def known_host(settings: LazySettings) -> None:
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, HOST]


@pytest.fixture
def people(db: None) -> dict[str, Person]:
    """A potter, a helper and a reader; the potter alone has a password."""
    found = {
        role: entering.add_person(name, role)
        for name, role in (("Ada", "potter"), ("Ben", "helper"), ("Cleo", "reader"))
    }
    entering.set_password(found["potter"], PASSWORD)
    return found


def from_network(token: str = "", checks: bool = False) -> Client:
    """A phone in the network; with a token, one on which somebody is signed in."""
    extra = {FROM_NETWORK: True, "wsgi.url_scheme": "https", "SERVER_NAME": HOST, "REMOTE_ADDR": "192.168.1.77"}
    client = Client(enforce_csrf_checks=checks, HTTP_HOST=f"{HOST}:8501", **extra)
    if token:
        client.cookies[NETWORK_COOKIE] = token
    return client


def joined(person: Person) -> Client:
    """A phone of this person."""
    return from_network(entering.join(entering.invite(person, now()), "phone", now())[1])


def key_files(folder: Path) -> list[Path]:
    return sorted((folder / "phones").glob("*.key"))
