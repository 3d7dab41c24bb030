"""Every link of the glaze book leads somewhere, from its first page on."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from tests.studio_glazes.test_browser import full  # noqa: F401 - a fixture

pytestmark = pytest.mark.django_db
MOST = 400


def test_no_link_of_the_glaze_book_leads_nowhere(client: Client, full: tuple[str, ...]) -> None:  # noqa: F811
    waiting, seen = ["/glazes/", *full], set()
    while waiting:
        address = waiting.pop().split("#")[0]
        if address in seen or not address.startswith(("/glazes/", "/commissions/")):
            continue
        seen.add(address)
        answer = client.get(address)
        assert answer.status_code == 200, address
        if "html" in answer["Content-Type"] and address.startswith("/glazes/"):
            text = answer.content.decode()
            assert not re.search(r"\bsafe\b", text.casefold()), address
            found = [href.replace("&amp;", "&") for href in re.findall(r'href="([^"]+)"', text)]
            waiting += [href if not href.startswith("?") else address.split("?")[0] + href for href in found]
    assert 40 < len(seen) < MOST
