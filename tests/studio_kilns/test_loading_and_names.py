"""Boards tapped into a firing at the bench, traced back from it; a kiln's names; the records behind an offset."""

from __future__ import annotations

from pathlib import Path
from uuid import uuid4

import pytest
from django.test import Client

from tests.studio.test_pages import words_of
from tests.studio_kilns.conftest import BY, WORKSHOP, many_firings
from wareboard.book.boards import acting
from wareboard.book.boards.asking import Asked
from wareboard.book.boards.models import Board
from wareboard.book.firings import loading
from wareboard.book.firings.models import ConeReading, Firing, Kiln
from wareboard.book.models import Commission
from wareboard.studio.today import now


@pytest.fixture
def board(cups: Commission) -> Board:
    asked = Asked(key=uuid4().hex, kind="begin", who="", happened=now(), pieces=12, to="glazed")
    return acting.begin(asked, cups, "Cup", "", now()).entry.board


def tap(client: Client, board: Board, **more: str) -> str:
    sent = {"board": board.code, "key": uuid4().hex, "stage_seen": board.stage, **more}
    return words_of(client.post("/kilns/into-firing/", sent, follow=True).content)


def test_one_tap_begins_the_firing_and_ties_the_board_to_it(client: Client, board: Board) -> None:
    page = words_of(client.get(f"/bench/{board.code}/").content)
    assert "New glaze firing of Old round kiln" in page
    assert f"{board.code} is in firing 1 of Old round kiln." in tap(client, board, kiln="old-round-kiln")
    board.refresh_from_db()
    assert board.state == "in the kiln"
    made = Firing.objects.get()
    assert (made.kind, made.cone, made.commission_code) == ("glaze", "6", board.commission.code)
    assert made.schedule is not None
    assert [(each.board, each.pieces) for each in loading.boards_in(made)] == [(board, 12)]
    page = words_of(client.get(f"/bench/{board.code}/").content)
    assert "In firing 1" in page


def test_a_second_board_is_offered_the_firing_that_is_open_and_two_new_ones_are_one(
    client: Client, board: Board, cups: Commission
) -> None:
    tap(client, board, kiln="old-round-kiln")
    asked = Asked(key=uuid4().hex, kind="begin", who="", happened=now(), pieces=4, to="glazed")
    other = acting.begin(asked, cups, "Bowl", "", now()).entry.board
    page = words_of(client.get(f"/bench/{other.code}/").content)
    assert "Firing 1 of Old round kiln" in page
    tap(client, other, kiln="old-round-kiln")
    assert Firing.objects.count() == 1
    page = words_of(client.get("/kilns/old-round-kiln/firings/1/").content)
    assert "16 pieces on 2 boards" in page
    page = words_of(client.get(f"/kilns/trace/{board.code}/").content)
    assert other.code in page
    assert "Firing 1" in page


def test_a_board_ticked_offline_is_tied_on_the_firings_page_taken_out_and_put_back(
    client: Client, board: Board, firing: Firing
) -> None:
    acting.act(Asked(key=uuid4().hex, kind="load", who="", happened=now(), board=board.code), now())
    address = f"/kilns/old-round-kiln/firings/{firing.number}/"
    assert "in no firing yet" in words_of(client.get(address).content)
    client.post(f"{address}boards/", {"board": board.code})
    assert "12 pieces on 1 board" in words_of(client.get(address).content)
    row = firing.loaded.get()
    client.post(f"{address}boards/{row.pk}/out/")
    assert "No board is tied to this firing yet" in words_of(client.get(address).content)
    client.post(f"{address}undo/")
    assert "12 pieces on 1 board" in words_of(client.get(address).content)
    assert "No board was ticked" in words_of(client.post(f"{address}boards/", {}, follow=True).content)


def test_a_board_that_was_moved_meanwhile_waits_and_is_tied_to_nothing(client: Client, board: Board) -> None:
    acting.act(Asked(key=uuid4().hex, kind="move", who="Else", happened=now(), board=board.code, to="fired"), now())
    page = tap(client, board, kiln="old-round-kiln")
    assert "waits to be settled" in page
    assert not Firing.objects.exists()


def rename(folder: Path, name: str) -> None:
    (folder / "workshop.toml").write_text(WORKSHOP.replace("Old round kiln", name), encoding="utf-8")


def test_a_renamed_kiln_is_asked_about_joined_and_parted(client: Client, kiln: Kiln, workshop_folder: Path) -> None:
    many_firings(kiln, 3)
    rename(workshop_folder, "Round kiln")
    page = words_of(client.get("/kilns/round-kiln/").content)
    assert "Is this the kiln formerly called Old round kiln?" in page
    assert "It is the same kiln" in page
    found = client.post("/kilns/round-kiln/name/same/", {"formerly": kiln.slug}, follow=True)
    page = words_of(found.content)
    assert "Firing 3" in page
    assert "formerly called" not in page
    client.post(f"/kilns/{kiln.slug}/name/undo/")
    kiln.refresh_from_db()
    assert kiln.name == "Old round kiln"
    assert "formerly called" in words_of(client.get("/kilns/round-kiln/").content)


def test_a_kiln_that_was_fired_under_both_names_is_one_with_both(
    client: Client, kiln: Kiln, workshop_folder: Path
) -> None:
    many_firings(kiln, 2)
    rename(workshop_folder, "Round kiln")
    from wareboard.book.firings import recording

    many_firings(recording.kiln_named("Round kiln", BY), 1)
    client.post("/kilns/round-kiln/name/same/", {"formerly": kiln.slug})
    page = words_of(client.get("/kilns/round-kiln/").content)
    assert "Recorded as Old round kiln, then Round kiln" in page
    assert "Firings kept 3" in page
    assert client.get(f"/kilns/{kiln.slug}/firings/2/").status_code == 200
    assert client.get(f"/kilns/{kiln.slug}/firings/2/change/").status_code == 200
    assert words_of(client.get("/kilns/").content).count("Firings kept") == 1
    client.post("/kilns/round-kiln/name/part/")
    assert "Firings kept 1" in words_of(client.get("/kilns/round-kiln/").content)
    client.post("/kilns/round-kiln/name/undo/")
    assert "Firings kept 3" in words_of(client.get("/kilns/round-kiln/").content)


def test_a_kiln_said_to_be_another_is_asked_about_no_more(client: Client, kiln: Kiln, workshop_folder: Path) -> None:
    many_firings(kiln, 1)
    rename(workshop_folder, "Test kiln")
    client.post("/kilns/test-kiln/name/another/")
    assert "formerly called" not in words_of(client.get("/kilns/test-kiln/").content)
    assert client.post("/kilns/test-kiln/name/undo/").status_code in (302, 404)
    assert client.post("/kilns/test-kiln/name/raku/").status_code == 404


def test_records_behind_an_offset_are_left_out_put_back_and_counted(client: Client, kiln: Kiln) -> None:
    many_firings(kiln, 6)
    address = f"/kilns/{kiln.slug}/offsets/"
    page = words_of(client.get(address).content)
    assert "learned from 6 firings" in page
    row = ConeReading.objects.filter(firing__number=6, level="top").get()
    client.post(f"{address}{row.pk}/leave-out/")
    assert "no: left out by hand" in words_of(client.get(address).content)
    client.post(f"{address}{row.pk}/put-back/")
    assert "left out by hand" not in words_of(client.get(address).content)
    assert "last 2 firings" in words_of(client.post(f"{address}count/", {"counted": "2"}, follow=True).content)
    page = words_of(client.get(address).content)
    assert "learned from 2 firings" in page
    assert "further back than the 2 firings that count" in page
    for odd in ("0", "-1", "many", "", "1e9", "999"):
        assert "cannot count" in words_of(client.post(f"{address}count/", {"counted": odd}, follow=True).content)
    kiln.refresh_from_db()
    assert kiln.counted == 2


def test_a_kiln_without_records_says_what_offsets_need(client: Client, db: None) -> None:
    assert "Nothing can be learned yet" in words_of(client.get("/kilns/old-round-kiln/offsets/").content)
    assert client.post("/kilns/old-round-kiln/offsets/count/", {"counted": "5"}).status_code == 404
