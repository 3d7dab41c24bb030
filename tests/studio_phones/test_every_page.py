"""Every address of the studio, and what each person gets there. A page that is added shows up here by itself."""

from __future__ import annotations

import io
import shutil
import subprocess
import zipfile
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from tests.studio_bench.conftest import put_up
from tests.studio_phones.conftest import from_network, joined
from wareboard.book.boards.models import Board
from wareboard.book.models import Commission
from wareboard.book.people.models import Person
from wareboard.studio.phones.access import may, may_have_sheet, may_see_client, may_see_price

pytestmark = pytest.mark.django_db
OPEN = {"trust", "trust-certificate", "sign-in", "join", "bench-worker", "bench-manifest"}
FOR_ALL = {"sign-out", "choose-look", "own-password"}
CLIENTS_NAMED = {"edit", "edit-text", "export", "history", "one-version", "trace-csv", "match"}
CLIENTS_NAMED |= {"order-again", "made-as", "approval", "delivery-note", "invoices", "invoice", "invoice-paper"}
POTTER_ONLY = {"phones", "add-person", "invite", "change-person", "sign-out-phone", "ask-here", "download-backup"}
EXAMPLES: dict[str, Any] = {"pk": 1, "key": 1, "number": 1}


def addresses(resolver: URLResolver | None = None, before: str = "/") -> Iterator[tuple[str, str]]:
    """Each page's name, and an address that leads to it."""
    for each in (resolver or get_resolver()).url_patterns:
        if isinstance(each, URLResolver):
            yield from addresses(each, before + str(each.pattern))
        else:
            assert isinstance(each, URLPattern)
            assert each.name, each
            route = before + str(each.pattern)
            for name, converter in each.pattern.converters.items():
                kind = type(converter).__name__.removesuffix("Converter").lower()
                value = "1" if kind == "int" else "undo" if name == "move" else "H1"
                for written in (f"<{kind}:{name}>", f"<str:{name}>", f"<path:{name}>", f"<{name}>"):
                    route = route.replace(written, value)
            assert "<" not in route, route
            yield each.name, route


ALL = sorted(set(addresses()))


def test_the_walk_finds_the_whole_studio() -> None:
    assert len(ALL) > 100
    assert len({name for name, _ in ALL}) > 100


def refused(answer: Any) -> bool:
    """Sent to sign in, or told that it is not theirs."""
    where = answer.headers.get("Location", "")
    return where.startswith("/sign-in/") or answer.status_code in (401, 403)


def test_without_signing_in_the_network_gets_the_ways_in_and_nothing_else(db: None) -> None:
    for name, address in ALL:
        for method in ("get", "post"):
            answer = getattr(from_network(), method)(address)
            if name in OPEN:
                assert not answer.headers.get("Location", "").startswith("/sign-in/?"), address
            else:
                assert refused(answer), (method, address, answer.status_code)
    assert refused(from_network().get("/no-such-page/"))


@pytest.mark.parametrize("role", ["helper", "reader", "potter"])
def test_each_role_gets_its_pages_and_no_other(role: str, people: dict[str, Person]) -> None:
    """The expected answer is written out here anew, not taken from the studio's own rule."""
    client = joined(people[role])
    client.raise_request_exception = False
    for name, address in ALL:
        if name in FOR_ALL | OPEN:
            continue
        bench = address.startswith("/bench/")
        for method in ("get", "post"):
            allowed = {
                "potter": True,
                "helper": bench,
                "reader": method == "get" and name not in POTTER_ONLY | CLIENTS_NAMED,
            }[role]
            if allowed:
                assert may(role, name, method.upper())
                continue  # whether the page itself works is for that page's own tests
            answer = getattr(client, method)(address)
            home = name == "commissions" and answer.headers.get("Location") == "/bench/"
            assert refused(answer) or home, (role, method, address, answer.status_code)


def test_what_is_allowed_is_opened(people: dict[str, Person], demo: Commission) -> None:
    put_up(demo, 12, "thrown")
    helper, reader, potter = (joined(people[role]) for role in ("helper", "reader", "potter"))
    for address in ("/bench/", "/bench/today/", "/bench/H1/", "/bench/H1/history/", "/bench/timers/", "/bench/paper/"):
        for client in (helper, reader, potter):
            assert client.get(address).status_code == 200, address
    for address in ("/", "/kilns/", "/glazes/", f"/commissions/{demo.code}/"):
        assert reader.get(address).status_code == 200
        assert potter.get(address).status_code == 200
        assert refused(helper.get(address)) or address == "/"
    assert reader.post("/bench/act/", {"kind": "lose", "board": "H1", "reason": "cracked"}).status_code == 403
    assert Board.objects.get().pieces == 12


def test_a_page_not_known_to_the_rule_is_the_potters_alone() -> None:
    assert may("potter", "a-new-page", "GET")
    assert not may("helper", "a-new-page", "GET")
    assert not may("", "a-new-page", "GET")
    assert not may("reader", "a-new-page", "POST")


def test_the_helper_sees_neither_client_nor_price_on_any_bench_page(people: dict[str, Person], demo_text: str) -> None:
    from wareboard.book import keeping
    from wareboard.studio.today import now

    text = demo_text.replace('client = "', 'client = "Zebulon Quartermain of ', 1)
    assert text != demo_text
    commission = keeping.new_commission(text, "Demo", why="Begun", who="", when=now())
    put_up(commission, 3, "thrown")
    helper, owner = joined(people["helper"]), Client()
    pages = [address for name, address in ALL if address.startswith("/bench/") and name != "bench-worker"]
    assert "Zebulon" in owner.get("/bench/today/?all").content.decode()
    for address in (*pages, "/bench/today/?all"):
        answer = helper.get(address)
        body = b"".join(answer.streaming_content) if answer.streaming else answer.content
        assert b"Zebulon" not in body, address
        assert "€" not in body.decode("utf-8", "replace") or "pdf" in answer["Content-Type"], address


def test_a_helper_grades_a_board_and_takes_it_back(people: dict[str, Person], demo: Commission) -> None:
    board = put_up(demo, 4, "fired")
    helper, reader = joined(people["helper"]), joined(people["reader"])
    sent = {"key": "invented-grade", "grade": "failed", "fault": "crazed", "pieces": "1"}
    assert reader.post(f"/bench/grade/{board.code}/", sent).status_code == 403
    assert helper.post(f"/bench/grade/{board.code}/", sent).status_code == 302
    assert Board.objects.get().pieces == 3
    assert helper.get(f"/bench/grade/{board.code}/").status_code == 200
    assert helper.get(f"/bench/made-of/{board.code}/").status_code == 200
    assert helper.post(f"/bench/grade/{board.code}/undo/").status_code == 302
    assert Board.objects.get().pieces == 4


def test_a_reader_sees_the_work_and_not_whose_it_is(people: dict[str, Person], demo_text: str) -> None:
    from wareboard.book import keeping
    from wareboard.studio.today import now

    text = demo_text.replace('client = "', 'client = "Zebulon Quartermain of ', 1)
    commission = keeping.new_commission(text, "Demo", why="Begun", who="", when=now())
    board = put_up(commission, 3, "fired")
    reader, owner = joined(people["reader"]), Client()
    code, seen = commission.code, 0
    own = ["/", f"/commissions/{code}/", f"/glance/{code}/", f"/pieces/{code}/", f"/pieces/trace/board/{board.code}/"]
    for address in own:
        seen += "Zebulon" in owner.get(address).content.decode()
        answer = reader.get(address)
        assert answer.status_code == 200, address
        assert "Zebulon" not in answer.content.decode(), address
    assert seen >= 4  # else this test would look at pages that name nobody
    for address in ("/bench/today/?all", "/bench/", f"/bench/{board.code}/", "/pieces/"):
        assert "Zebulon" not in reader.get(address).content.decode(), address
    for address in (
        f"/commissions/{code}/edit/",
        f"/commissions/{code}/brief.toml",
        f"/pieces/trace/board/{board.code}/pieces.csv",
    ):
        assert refused(reader.get(address)), address


def _body(answer: Any) -> bytes:
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


def _words_of(name: str, content: bytes) -> str:
    if not name.endswith(".pdf"):
        return content.decode("utf-8")
    done = subprocess.run(["pdftotext", "-", "-"], input=content, capture_output=True, check=True)
    return done.stdout.decode("utf-8")


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="reads the sheets with pdftotext")
def test_no_sheet_that_a_reader_opens_lists_or_takes_in_the_zip_names_the_client(
    people: dict[str, Person], demo_text: str
) -> None:
    from wareboard.book import keeping
    from wareboard.studio.today import now

    text = demo_text.replace('client = "', 'client = "Zebulon Quartermain of ', 1)
    code = keeping.new_commission(text, "Demo", why="Begun", who="", when=now()).code
    reader, potter, helper = joined(people["reader"]), joined(people["potter"]), joined(people["helper"])
    at = f"/commissions/{code}/sheets/"

    def packed(client: Client) -> dict[str, bytes]:
        with zipfile.ZipFile(io.BytesIO(_body(client.get(f"{at}all.zip")))) as box:
            return {name.removeprefix(f"{code}/"): box.read(name) for name in box.namelist()}

    whole, theirs = packed(potter), packed(reader)
    naming = {name for name, content in whole.items() if "Zebulon" in _words_of(name, content)}
    assert {"quote.pdf", "01-job-summary.pdf", "brief.toml"} <= naming
    kept_back = naming | {"approval.pdf"}
    assert set(theirs) == set(whole) - kept_back
    listed, all_listed = (client.get(at).content.decode() for client in (reader, potter))
    for name in kept_back:
        assert reader.get(at + name).status_code == 404, name
        assert potter.get(at + name).status_code == 200, name
        assert f"{at}{name}" in all_listed
        assert f"{at}{name}" not in listed, name
    assert reader.get(f"{at}cutting-plan.pdf").status_code == 200
    for name in ("all.zip", "quote.pdf", "cutting-plan.pdf", ""):
        assert refused(helper.get(at + name)), name


def test_who_may_see_prices_and_clients_is_settled_for_every_role() -> None:
    """The table is written out anew: the potter sees both, a reader prices alone, a helper and a stranger neither."""
    wanted = {"potter": (True, True), "reader": (True, False), "helper": (False, False), "": (False, False)}
    for role, (price, client) in wanted.items():
        assert (may_see_price(role), may_see_client(role)) == (price, client), role
        assert may_have_sheet(role, "quote.pdf") == client
        assert may_have_sheet(role, "figures.json") == price
        assert may_have_sheet(role, "cutting-plan.pdf")
