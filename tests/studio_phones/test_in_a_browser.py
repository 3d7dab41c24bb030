"""The pages about people and phones, and the ways in: for everyone (axe), under a thumb, and deaf to hostile names."""

from __future__ import annotations

import pytest
from django.test import Client
from playwright.sync_api import Page

from tests.studio.test_browser import DESK, faults
from tests.studio.test_browser import visit as visit
from tests.studio_bench.test_browser import browser as browser
from tests.studio_phones.conftest import from_network, joined
from wareboard.book.people import entering
from wareboard.book.people.models import Person
from wareboard.studio.middleware import POLICY
from wareboard.studio.today import now

NARROW = (390, 844)
HOSTILE = "<img src=x onerror=window.hurt=1>"  # 33 letters, within a name's forty
ADDRESSES = ("/phones/", "/sign-in/", "/trust/", "/join/never-given/")
SMALL = """els => els.filter(el => { const b = (el.closest('label') || el).getBoundingClientRect();
    return b.width && b.height && b.height < 43.5 }).map(el => el.outerHTML.slice(0, 120))"""


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", [NARROW, DESK], ids=["phone", "desk"])
def test_axe_finds_nothing_wrong_with_none_and_with_several_people(visit, size: tuple[int, int]) -> None:  # type: ignore[no-untyped-def]
    page: Page = visit("/phones/", size=size)
    found = faults(page)
    for name, role in (("Ada", "potter"), ("Ben", "helper"), (HOSTILE, "reader")):
        entering.add_person(name, role)
    joined(Person.objects.get(name="Ben"))
    code = entering.invite(Person.objects.get(name="Ada"), now())
    for address in (*ADDRESSES, f"/join/{code}/"):
        page.goto(address)
        for folded in page.locator("main details > summary").all():
            folded.click()
        found += faults(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], address
        assert page.eval_on_selector_all("main button, main .button, main input:not([type=hidden])", SMALL) == [], (
            address
        )
        assert page.evaluate("window.hurt") is None, address
    assert found == []


def test_hostile_names_are_shown_as_words_under_the_strict_policy(people: dict[str, Person]) -> None:
    answer = Client().post("/phones/add/", {"name": HOSTILE, "role": "helper"}, follow=True)
    assert HOSTILE not in answer.content.decode()
    assert "&lt;img src=x" in answer.content.decode()
    person = Person.objects.get(name=HOSTILE)
    phone = joined(person)
    pages = [phone.get("/bench/"), Client().get("/phones/"), from_network().get(f"/sign-in/?on=/<script>{HOSTILE}")]
    pages.append(from_network().post("/sign-in/", {"name": HOSTILE, "password": HOSTILE, "on": f"//{HOSTILE}"}))
    pages.append(Client().post("/phones/add/", {"name": HOSTILE * 3}))  # too long a name, shown again as typed
    for answer in pages:
        assert answer["Content-Security-Policy"] == POLICY
        page = answer.content.decode()
        assert "<img src=x" not in page
        assert "<script>" not in page
        assert page.count("<script") == page.count("<script src=")


@pytest.mark.parametrize("role", ["", "owner", "POTTER", "<b>", "potter\0"])
def test_a_role_that_is_none_of_the_three_makes_nobody_a_potter(people: dict[str, Person], role: str) -> None:
    Client().post("/phones/add/", {"name": "Eve", "role": role})
    assert not Person.objects.filter(name="Eve", role="potter").exists()
    ben = people["helper"]
    Client().post(f"/phones/people/{ben.pk}/", {"do": "role", "role": role})
    ben.refresh_from_db()
    assert ben.role == "helper"
