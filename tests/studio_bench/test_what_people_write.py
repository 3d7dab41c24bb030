"""Words of people are words on every page: no mark-up, no script, whatever is written into whichever field or file name."""

from __future__ import annotations

import io
import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image
from playwright.sync_api import Page, expect

from tests.book_boards.test_photographs import taken
from tests.studio.test_browser import PHONE
from tests.studio.test_browser import visit as visit
from tests.studio_bench.conftest import do, put_up
from tests.studio_bench.test_browser import ADDRESSES
from tests.studio_bench.test_browser import browser as browser
from wareboard.book.boards.models import Board, Entry, Photo
from wareboard.book.models import Commission
from wareboard.studio.middleware import POLICY

SCRIPT = "<img src=x onerror=window.hurt=1><script>window.hurt=1</script>"
SHORT = "<b onclick=hurt()>x</b>"  # for fields of thirty letters


def written_everywhere(studio: Client, demo: Commission) -> None:
    """Something hostile in each field of the bench that takes words."""
    put_up(demo, 24, "thrown")
    act = {"board": "H1", "back": "/bench/H1/"}
    studio.post("/bench/act/", act | {"kind": "note", "note": SCRIPT, "key": "hostile-note-1"})
    studio.post("/bench/act/", act | {"kind": "lose", "own_reason": SHORT, "reason": "other", "key": "hostile-lose-1"})
    studio.post("/bench/act/", act | {"kind": "lose", "reason": "thin", "place": SHORT, "key": "hostile-lose-2"})
    studio.post("/bench/act/", act | {"kind": "shelve", "place": SHORT, "key": "hostile-shelf-1"})
    studio.post("/bench/timers/", {"words": SCRIPT, "long": "45 min", "key": "hostile-timer-1"})
    studio.post("/bench/today/give/", {"job": SCRIPT, "person": SCRIPT})
    photo = SimpleUploadedFile(f"{SHORT}.jpg", taken(), content_type="text/html")
    studio.post("/bench/photos/", act | {"key": "hostile-photo-1", "words": SCRIPT, "photo": photo})
    studio.post("/bench/name/", {"name": SCRIPT, "back": "/bench/"})
    do("move", "H1", to="drying", stage_seen="trimmed", note=SCRIPT)
    grid = {"form": [SCRIPT], "pieces": ["3"], "stage": [SCRIPT], "since": [SCRIPT], "place": [SHORT], "code": [SCRIPT]}
    refused = studio.post(f"/bench/begin/{demo.code}/", grid | {"key": "hostile-grid-1"})
    assert refused.status_code == 422
    assert "<img src=x" not in refused.content.decode()


def test_hostile_words_are_shown_as_words_on_every_page_of_the_bench(studio: Client, demo: Commission) -> None:
    written_everywhere(studio, demo)
    assert Entry.objects.filter(note__contains="<img").exists()  # kept as written, not cut
    seen = ""
    for address in (*ADDRESSES, f"begin/{demo.code}/"):
        answer = studio.get(f"/bench/{address}")
        page = answer.content.decode()
        assert answer.status_code == 200 or "gauge" in address, address  # a study that was not begun
        assert answer["Content-Security-Policy"] == POLICY, address
        for hostile in ("<img src=x", "<script>window", "<b onclick"):
            assert hostile not in page, address
        seen += page
    assert "&lt;img src=x" in seen
    assert "&lt;b onclick" in seen


def test_what_is_sent_as_a_list_is_told_as_data_and_never_as_a_page(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    row = {"key": "hostile-list-1", "kind": "note", "board": "H1", "note": SCRIPT}
    body = json.dumps({"entries": [row, {"key": "hostile-list-2", "kind": SCRIPT, "board": SCRIPT}]})
    answer = studio.post("/bench/entries/", body, content_type="application/json")
    assert answer["Content-Type"] == "application/json"
    assert answer["X-Content-Type-Options"] == "nosniff"
    for broken in (b"", b"{", b"[]", b'{"entries": 3}', b'{"entries": [3, null]}', b"\xff\xfe", b'{"entries": [[]]}'):
        assert studio.post("/bench/entries/", broken, content_type="application/json").status_code < 500


@pytest.mark.parametrize(
    "name", ["a drawing", "a page", "a zip", "a film", "nothing", "half a picture", "too many dots"]
)
def test_what_is_no_photograph_is_refused_with_a_word_whatever_its_name_says(
    studio: Client, demo: Commission, name: str
) -> None:
    put_up(demo, 24, "thrown")
    wide = io.BytesIO()
    Image.new("1", (12_000, 12_000)).save(wide, "PNG")
    data = {
        "a drawing": b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
        "a page": b"<html><script>1</script></html>",
        "a zip": b"PK\x03\x04" + bytes(200),
        "a film": b"\0\0\0\x18ftypmp42" + bytes(200),
        "nothing": b"",
        "half a picture": taken()[:3000],
        "too many dots": wide.getvalue(),
    }[name]
    form = {"key": "no-photo-0001", "board": "H1", "back": "/bench/H1/", "photo": SimpleUploadedFile("cup.jpg", data)}
    page = studio.post("/bench/photos/", form, follow=True)
    assert page.status_code < 500
    assert not Photo.objects.exists()
    assert "photograph kept" not in page.content.decode()


def test_a_photograph_is_handed_out_as_a_picture_and_as_nothing_else(studio: Client, demo: Commission) -> None:
    """A picture with a page behind it: what is kept is drawn anew, so nothing of that is left in it."""
    put_up(demo, 24, "thrown")
    both = taken() + b"<html><script>window.hurt=1</script></html>"
    photo = SimpleUploadedFile("cup.html", both, content_type="text/html")
    studio.post("/bench/photos/", {"key": "both-photo-001", "board": "H1", "back": "/bench/H1/", "photo": photo})
    answer = studio.get(f"/bench/photos/{Photo.objects.get().pk}/whole.jpg")
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"] == POLICY
    assert b"<script" not in answer.content


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_nothing_of_it_runs_in_a_browser_with_and_without_a_network(visit, studio: Client, demo: Commission) -> None:  # type: ignore[no-untyped-def]
    written_everywhere(studio, demo)
    page: Page = visit("/bench/H1/", size=PHONE)
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.context.set_offline(True)
    page.get_by_label("Note").fill(SCRIPT)
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator("#unsent")).to_contain_text("1 entry is kept")
    assert page.locator("#unsent img, .said img").count() == 0
    assert page.evaluate("window.hurt") is None
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_be_hidden(timeout=10_000)
    for address in ("", "H1/", "H1/history/", "H1/photographs/", "today/", "timers/", "waiting/"):
        page.goto(f"/bench/{address}")
        assert page.evaluate("window.hurt") is None, address
    assert asked == []
    assert Board.objects.get().entries.filter(kind="note").count() == 2
