"""Two phones over TLS in Debian's Chromium: cut off at random points, a sign-in that lapses, each entry once and in order.

The certificate is not checked here (``test_listening`` checks it with OpenSSL); Chromium is told to take it.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect, sync_playwright

from tests.studio.test_serve import plain_environment
from tests.studio_bench.test_offline import LIST
from tests.studio_phones.test_listening import ADDRESS, CODE
from wareboard.studio.serve import EVERY_ADDRESS, free_port

pytestmark = pytest.mark.browser
expect.set_options(timeout=20_000)  # a loaded machine is no fault
ENTRIES = int(os.environ.get("BENCH_PHONE_ENTRIES", "24"))
SET_UP = """
import sys
from pathlib import Path
from wareboard.studio.serve import make_ready
make_ready(Path(sys.argv[1]))
from datetime import date
from wareboard.book import keeping
from wareboard.book.boards import acting
from wareboard.book.boards.asking import Asked
from wareboard.book.people import entering
from wareboard.commands.demo import demo_text
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.today import now
job = keeping.new_commission(demo_text(date(2026, 11, 25)), "Demo", why="Begun", who="", when=now())
acting.begin(Asked(fresh_key(), "begin", "Ada", now(), pieces=900, to="thrown"), job, "Handled cup", "", now())
for name, role in (("Ada", "potter"), ("Ben", "helper")):
    person = entering.add_person(name, role)
    entering.set_password(person, "blue-slip-7")
    print(entering.invite(person, now()))
"""


@pytest.fixture
def workshop(tmp_path: Path) -> Iterator[tuple[Path, str, list[str]]]:
    """A studio of its own process with a board in it: folder, address for phones, one invitation for each of two people."""
    environment = plain_environment(WAREBOARD_PHONE_ADDRESS=ADDRESS)
    done = subprocess.run(
        [sys.executable, "-c", SET_UP, str(tmp_path)], capture_output=True, text=True, env=environment, check=True
    )
    here, port = free_port(), free_port(18601, EVERY_ADDRESS)
    process = subprocess.Popen(
        [sys.executable, "-c", CODE, str(tmp_path), str(here), str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env=environment,
    )
    assert process.stdout is not None
    for line in process.stdout:
        if "Only in your own network" in line:
            break
    try:
        yield tmp_path, f"https://{ADDRESS}:{port}", done.stdout.split()
    finally:
        process.terminate()
        process.wait(20)


def kept(folder: Path) -> list[tuple[str, str]]:
    with closing(sqlite3.connect(folder / "records.sqlite3")) as opened:
        return opened.execute("SELECT reason, who FROM boards_entry WHERE kind = 'lose' ORDER BY id").fetchall()


def lose(page: Page, reason: str) -> None:
    page.evaluate(
        """reason => { const form = document.querySelector('form.lose');
        form.querySelector('[name=own_reason]').value = reason;
        form.requestSubmit(form.querySelector('button[name=reason]')) }""",
        reason,
    )
    page.wait_for_timeout(20)


def all_sent(page: Page) -> None:
    for _ in range(60):
        page.evaluate("window.dispatchEvent(new Event('online'))")
        page.wait_for_timeout(150)
        if page.evaluate(LIST) == []:
            return
    raise AssertionError(json.dumps(page.evaluate(LIST)))


def test_two_phones_cut_off_at_random_and_one_lapsed_send_each_entry_once_and_in_order(
    workshop: tuple[Path, str, list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, address, codes = workshop
    chance, made = random.Random(20261125), {"Ada": [], "Ben": []}  # type: ignore[var-annotated]
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", "--disable-gpu", "--ignore-certificate-errors"],
        )
        phones: dict[str, Page] = {}
        for name, code in zip(made, codes, strict=True):
            context = chromium.new_context(
                ignore_https_errors=True, base_url=address, viewport={"width": 390, "height": 780}
            )
            page = phones[name] = context.new_page()
            page.set_default_timeout(30_000)
            page.goto(f"/join/{code}/")
            page.get_by_role("button", name="Join", exact=True).click()
            page.goto("/bench/H1/")
            page.wait_for_function("navigator.serviceWorker.ready.then(() => true)")
            page.reload()
            page.wait_for_function("navigator.serviceWorker.controller !== null")
            page.reload()
            expect(page.locator("#who")).to_have_value(name)
        away = dict.fromkeys(made, False)
        for number in range(ENTRIES):
            for name, page in phones.items():
                if chance.random() < 0.35:
                    away[name] = not away[name]
                    page.context.set_offline(away[name])
                made[name].append(f"{name} {number:03d}")
                lose(page, made[name][-1])
        ben = phones["Ben"]
        ben.context.set_offline(False)
        all_sent(ben)
        with closing(
            sqlite3.connect(folder / "records.sqlite3", timeout=20)
        ) as opened:  # as if lost, signed out in the studio
            opened.execute(
                "DELETE FROM people_phone WHERE person_id = (SELECT id FROM people_person WHERE name = 'Ben')"
            )
            opened.commit()
        before = len(kept(folder))
        for number in range(3):
            made["Ben"].append(f"Ben late {number}")
            lose(ben, made["Ben"][-1])
        expect(ben.get_by_role("link", name="Sign in to send")).to_be_visible()
        assert len(ben.evaluate(LIST)) == 3
        assert len([row for row in kept(folder) if row[1] == "Ben"]) <= before
        ben.get_by_role("link", name="Sign in to send").click()
        ben.get_by_label("Name").fill("Ben")
        ben.get_by_label("Password or PIN").fill("blue-slip-7")
        ben.get_by_role("button", name="Sign in").click()
        ben.wait_for_url("**/bench/H1/")
        for page in phones.values():
            page.context.set_offline(False)
            all_sent(page)
        chromium.close()
    for name, reasons in made.items():
        assert [reason for reason, who in kept(folder) if who == name] == reasons
    assert len(kept(folder)) == sum(map(len, made.values()))
