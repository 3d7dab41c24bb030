"""Photographs from the phone: with and without scripts, without a network, far too large ones."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image
from playwright.sync_api import Page, expect

from tests.book_boards.test_photographs import taken
from tests.studio.test_browser import PHONE, faults
from tests.studio.test_browser import visit as visit
from tests.studio_bench.conftest import do, put_up
from tests.studio_bench.test_browser import browser as browser
from wareboard.book.boards.models import Entry, Photo
from wareboard.book.models import Commission


def sent(studio: Client, data: bytes, **more: str):  # type: ignore[no-untyped-def]
    form = {"key": "photo-key-0001", "board": "H1", "back": "/bench/H1/", "photo": SimpleUploadedFile("a.jpg", data)}
    return studio.post("/bench/photos/", form | more, follow=True)


def test_without_scripts_a_photograph_is_kept_shown_and_put_away(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    entry = do("lose", "H1", pieces=1, reason="cracked").entry
    page = sent(studio, taken(), entry=entry.key).content.decode()
    assert "H1: photograph kept" in page
    photo = Photo.objects.get()
    assert (photo.who, photo.entry_id) == ("Ada", entry.pk)
    assert f"/bench/photos/{photo.pk}/small.jpg" in page
    answer = studio.get(f"/bench/photos/{photo.pk}/whole.jpg")
    assert answer.headers["Content-Type"] == "image/jpeg"
    Image.open(io.BytesIO(answer.content)).verify()
    shown = studio.get(f"/bench/H1/photographs/?entry={entry.pk}").content.decode()
    assert "1 lost: cracked" in shown
    assert "Undo: fetch it back" in studio.post(f"/bench/photos/{photo.pk}/away/").content.decode()
    assert "small.jpg" not in studio.get("/bench/H1/").content.decode()
    studio.post(f"/bench/photos/{photo.pk}/away/", {"do": "again"})
    assert "small.jpg" in studio.get("/bench/H1/").content.decode()
    assert studio.get(f"/bench/photos/{photo.pk}/other.jpg").status_code == 404


def test_a_photograph_of_over_forty_megabytes_is_refused_with_a_word(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    page = sent(studio, b"\xff\xd8\xff" + bytes(41_000_000)).content.decode()
    assert "a photograph of 41 MB" in page
    assert "40 MB is the most" in page
    answer = studio.post(
        "/bench/photos/",
        {"key": "photo-key-0002", "board": "H1", "photo": SimpleUploadedFile("a", b"none")},
        headers={"accept": "application/json"},
    )
    assert answer.json()["state"] == "refused"
    assert not Photo.objects.exists()


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_on_a_phone_it_is_made_smaller_first_and_sent_later_once(visit, demo: Commission, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    put_up(demo, 24, "thrown")
    file = tmp_path / "photo.jpg"
    file.write_bytes(taken(4000, 3000))
    page: Page = visit("/bench/H1/", size=PHONE)
    page.wait_for_function("navigator.serviceWorker.ready.then(() => true)")
    page.context.set_offline(True)
    page.get_by_role("button", name="cracked").click()
    expect(page.locator("#unsent")).to_contain_text("1 entry is kept")
    page.locator("#photo").set_input_files(file)
    expect(page.locator("#unsent")).to_contain_text("H1: photograph")
    expect(page.locator("#unsent")).to_contain_text("2 entries are kept")
    lost = iter([True])

    def on_the_way(route) -> None:  # type: ignore[no-untyped-def]
        if next(lost, False):
            route.fetch()  # the studio has it
            route.abort()  # and the phone never hears so
        else:
            route.continue_()

    page.route("**/bench/photos/", on_the_way)
    page.context.set_offline(False)
    for _ in range(20):
        page.evaluate("window.dispatchEvent(new Event('online'))")
        page.wait_for_timeout(150)
        if page.locator("#unsent").is_hidden():
            break
    expect(page.locator("#unsent")).to_be_hidden()
    photo = Photo.objects.get()
    with Image.open(io.BytesIO(bytes(photo.content))) as kept:
        assert max(kept.size) == 1800
        assert not kept.getexif()
    assert Entry.objects.filter(kind="lose").count() == 1
    expect(page.locator(".photos img")).to_have_count(1)
    page.goto("/bench/H1/photographs/")
    assert faults(page) == []


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_a_picture_of_over_forty_megabytes_is_shrunk_in_the_phone_with_a_word(
    visit, demo: Commission, tmp_path: Path
) -> None:  # type: ignore[no-untyped-def]
    """A PNG of noise, which no packing makes smaller."""
    import numpy as np

    put_up(demo, 24, "thrown")
    file = tmp_path / "noise.png"
    noise = np.random.default_rng(7).integers(0, 256, (3800, 3700, 3), dtype=np.uint8)
    Image.fromarray(noise).save(file, compress_level=0)
    assert file.stat().st_size > 40_000_000
    page: Page = visit("/bench/H1/", size=PHONE)
    page.context.set_offline(True)
    page.locator("#photo").set_input_files(file)
    expect(page.locator("#unsent")).to_contain_text(" of 42.2 MB", timeout=20_000)
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_be_hidden(timeout=20_000)
    assert Photo.objects.get().size < 4_000_000
