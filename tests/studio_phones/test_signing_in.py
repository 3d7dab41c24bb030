"""Coming in and going out: passwords, invitations, wrong tries, lost phones, lapsed sign-ins, and who signs what."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.conf import LazySettings
from django.test import Client

from tests.studio_bench.conftest import put_up
from tests.studio_phones.conftest import PASSWORD, from_network, joined
from wareboard.book.boards.models import Entry
from wareboard.book.models import Commission
from wareboard.book.people import entering
from wareboard.book.people.models import Joining, Person, Phone
from wareboard.errors import OutOfRange
from wareboard.studio.phones.door import ASK_HERE, NETWORK_COOKIE
from wareboard.studio.today import now

pytestmark = pytest.mark.django_db


def sign_in(client: Client, password: str = PASSWORD, name: str = "ada", **more: str) -> int:
    return client.post("/sign-in/", {"name": name, "password": password, **more}).status_code


def test_a_password_is_kept_as_an_argon2_hash_and_a_token_as_a_digest(people: dict[str, Person]) -> None:
    kept = Person.objects.get(name="Ada").password
    assert kept.startswith("argon2$argon2id$")
    assert PASSWORD not in kept
    _, token = entering.sign_in("ADA", PASSWORD, "", "phone", now())
    assert Phone.objects.get().token != token


def test_name_and_password_let_in_and_lead_on_to_a_page_of_ours_only(people: dict[str, Person]) -> None:
    answer = from_network().post("/sign-in/", {"name": "Ada", "password": PASSWORD, "on": "/bench/today/"})
    assert answer["Location"] == "/bench/today/"
    for elsewhere in (
        "https://example.org/",
        "//example.org/",
        "/\\example.org",
        "javascript:alert(1)",
        "\t//example.org",
    ):
        answer = from_network().post("/sign-in/", {"name": "Ada", "password": PASSWORD, "on": elsewhere})
        assert answer["Location"] == "/bench/"


def test_the_cookie_is_out_of_reach_of_scripts_and_of_plain_http(people: dict[str, Person]) -> None:
    client = from_network()
    sign_in(client)
    cookie = client.cookies[NETWORK_COOKIE]
    assert cookie["httponly"]
    assert cookie["secure"]
    assert cookie["samesite"] == "Lax"
    client.get("/bench/")
    assert client.cookies["csrftoken"]["secure"]
    assert client.cookies["csrftoken"]["httponly"]


def test_wrong_tries_shut_the_door_for_a_while_even_to_the_right_password(people: dict[str, Person]) -> None:
    client = from_network()
    assert [sign_in(client, "wrong-one") for _ in range(entering.TRIES_A_NAME)] == [422] * entering.TRIES_A_NAME
    answer = client.post("/sign-in/", {"name": "Ada", "password": PASSWORD})
    assert answer.status_code == 422
    assert "quarter of an hour" in answer.content.decode()
    later = now() + entering.LOCKED_FOR + timedelta(seconds=1)
    assert entering.sign_in("Ada", PASSWORD, "", "phone", later)[0].name == "Ada"


def test_one_address_cannot_try_name_after_name(people: dict[str, Person]) -> None:
    client = from_network()
    for number in range(entering.TRIES_AN_ADDRESS):
        assert sign_in(client, "wrong-one", f"name {number}") == 422
    assert "quarter" in client.post("/sign-in/", {"name": "Ada", "password": PASSWORD}).content.decode()


@pytest.mark.parametrize("weak", ["", "12345", "111111", "123456", "987654", "x" * 201])
def test_the_first_passwords_that_anybody_tries_are_refused(people: dict[str, Person], weak: str) -> None:
    with pytest.raises(OutOfRange):
        entering.set_password(people["helper"], weak)


def test_a_link_lets_one_phone_in_once_and_not_for_long(people: dict[str, Person]) -> None:
    code = entering.invite(people["helper"], now())
    looked_at = from_network().get(f"/join/{code}/")
    assert "Join as Ben" in looked_at.content.decode()
    first = from_network()
    assert first.post(f"/join/{code}/").status_code == 302
    assert first.get("/bench/").status_code == 200
    assert from_network().post(f"/join/{code}/").status_code == 422
    old = entering.invite(people["helper"], now() - entering.JOIN_WITHIN - timedelta(seconds=1))
    assert from_network().post(f"/join/{old}/").status_code == 422
    assert from_network().get("/join/never-given/").status_code == 422
    assert code not in Joining.objects.values_list("code", flat=True)


def test_who_is_added_is_a_helper_unless_more_is_chosen(people: dict[str, Person]) -> None:
    page = Client().get("/phones/").content.decode()
    assert '<option value="helper" selected>' in page
    Client().post("/phones/add/", {"name": "Dora"})
    assert Person.objects.get(name="Dora").role == "helper"
    wrong = Client().post("/phones/add/", {"name": "Dora", "role": "reader"})  # the name is taken
    assert wrong.status_code == 422
    assert '<option value="reader" selected>' in wrong.content.decode()


def test_what_is_changed_about_people_is_written_down_with_who_when_and_what_was_before(
    people: dict[str, Person],
) -> None:
    at_the_machine = Client()
    at_the_machine.post("/phones/add/", {"name": "Dora", "password": PASSWORD})
    dora = Person.objects.get(name="Dora")
    potter = joined(people["potter"])
    potter.post(f"/phones/people/{dora.pk}/", {"do": "role", "role": "reader"})
    potter.post(f"/phones/people/{dora.pk}/", {"do": "role", "role": "reader"})  # the same again changes nothing
    potter.post(f"/phones/people/{dora.pk}/", {"do": "password", "password": PASSWORD + "9"})
    potter.post(f"/phones/people/{dora.pk}/", {"do": "leave"})
    assert list(dora.changes.order_by("pk").values_list("what", "before", "who")) == [
        ("added, helper", "", "at the machine"),
        ("has a password", "", "at the machine"),
        ("is reader", "helper", "Ada"),
        ("has a new password", "had one", "Ada"),
        ("works here no more", "reader", "Ada"),
    ]
    page = at_the_machine.get("/phones/").content.decode()
    assert "(before: helper)" in page
    assert PASSWORD not in page


def test_a_person_whose_password_will_not_do_is_not_half_added(people: dict[str, Person]) -> None:
    assert Client().post("/phones/add/", {"name": "Eve", "password": "111111"}).status_code == 422
    assert not Person.objects.filter(name="Eve").exists()
    Client().post("/phones/add/", {"name": "Eve", "password": PASSWORD})
    assert Person.objects.get(name="Eve").changes.count() == 2


def test_a_lost_phone_is_signed_out_from_the_studio(people: dict[str, Person]) -> None:
    phone = joined(people["helper"])
    assert phone.get("/bench/").status_code == 200
    Client().post(f"/phones/{Phone.objects.get().pk}/sign-out/")
    assert phone.get("/bench/").status_code == 302


def test_whoever_leaves_is_out_on_every_phone_and_may_come_back(people: dict[str, Person]) -> None:
    phone = joined(people["helper"])
    Client().post(f"/phones/people/{people['helper'].pk}/", {"do": "leave"})
    assert phone.get("/bench/").status_code == 302
    entering.add_person("ben", "reader")
    assert Person.objects.get(called="ben").left is None


def test_a_sign_in_lapses_after_sixty_days_unseen(people: dict[str, Person]) -> None:
    phone = joined(people["helper"])
    Phone.objects.update(seen=now() - entering.STAYS_IN - timedelta(seconds=1))
    assert phone.get("/bench/").status_code == 302
    assert phone.post("/bench/entries/", "{}", content_type="application/json").status_code == 401


def test_who_wrote_comes_from_the_sign_in_and_from_nothing_else(people: dict[str, Person], demo: Commission) -> None:
    put_up(demo, 20, "thrown")
    phone = joined(people["helper"])
    phone.cookies["who"] = "Ada"
    phone.post(
        "/bench/act/",
        {
            "key": "a" * 32,
            "kind": "lose",
            "board": "H1",
            "reason": "cracked",
            "pieces": "1",
            "stage_seen": "thrown",
            "who": "Ada",
        },
    )
    assert Entry.objects.latest("pk").who == "Ben"
    rows = [
        {
            "key": "b" * 32,
            "kind": "lose",
            "board": "H1",
            "reason": "thin",
            "pieces": "1",
            "stage_seen": "thrown",
            "who": who,
        }
        for who in ("Ada", "Nobody")
    ]
    rows[1]["key"] = "c" * 32
    phone.post("/bench/entries/", json.dumps({"entries": rows}), content_type="application/json")
    assert list(Entry.objects.order_by("pk").values_list("who", flat=True))[-2:] == ["Ada, sent by Ben", "Ben"]


def test_a_note_on_a_commission_is_signed_by_the_one_signed_in(people: dict[str, Person], cups: Commission) -> None:
    phone = joined(people["potter"])
    phone.cookies["who"] = "Somebody"
    text = cups.paper.current.text.replace("count = 24", "count = 25")  # type: ignore[union-attr]
    answer = phone.post(
        f"/commissions/{cups.code}/text/", {"text": text, "do": "accept", "seen": cups.paper.current_id, "who": "Eve"}
    )  # type: ignore[attr-defined]
    assert answer.status_code == 302
    cups.paper.refresh_from_db()
    assert cups.paper.current is not None
    assert cups.paper.current.who == "Ada"


def test_from_the_network_a_form_without_its_token_is_refused(people: dict[str, Person]) -> None:
    token = entering.join(entering.invite(people["potter"], now()), "phone", now())[1]
    phone = from_network(token, checks=True)
    assert phone.post("/phones/add/", {"name": "Eve", "role": "potter"}).status_code == 403
    answer = from_network(checks=True).post("/sign-in/", {"name": "Ada", "password": PASSWORD})
    assert answer.status_code == 403


def test_a_name_that_is_not_this_machines_is_refused(people: dict[str, Person]) -> None:
    assert from_network().get("/sign-in/", HTTP_HOST="evil.example").status_code == 400
    assert Client().get("/", HTTP_HOST="evil.example").status_code == 400


def test_at_the_machine_no_sign_in_is_asked_until_a_potter_with_a_password_wants_it(
    people: dict[str, Person], settings: LazySettings
) -> None:
    here = Client()
    assert here.get("/").status_code == 200
    here.post("/phones/ask-here/", {"ask": "yes"})
    assert here.get("/")["Location"].startswith("/sign-in/")
    assert sign_in(here) == 302
    assert here.get("/").status_code == 200
    assert (settings.WAREBOARD.folder / ASK_HERE).is_file()
    here.post("/phones/ask-here/", {"ask": "no"})
    assert Client().get("/").status_code == 200


def test_the_last_password_cannot_lock_everybody_out(db: None, settings: LazySettings) -> None:
    Client().post("/phones/ask-here/", {"ask": "yes"})
    assert not (settings.WAREBOARD.folder / ASK_HERE).exists()


@pytest.mark.parametrize("header", ["HTTP_X_FORWARDED_FOR", "HTTP_FORWARDED"])
def test_what_something_before_the_studio_hands_on_is_from_the_network(db: None, header: str) -> None:
    assert Client().get("/", **{header: "for=203.0.113.7"}).status_code == 302
