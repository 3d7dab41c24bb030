"""The pages of finished pieces, without scripts: entering, grading, undoing, tracing, matching."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from tests.book_pieces.conftest import bucket, lot
from tests.studio_after.conftest import FORM, picture
from tests.studio_bench.conftest import put_up
from wareboard.book.boards.models import Board
from wareboard.book.models import Commission
from wareboard.book.pieces.models import ClayLot, Piece, PiecePhoto

pytestmark = pytest.mark.django_db


def words(studio: Client, address: str, status: int = 200) -> str:
    answer = studio.get(address)
    assert answer.status_code == status, address
    return answer.content.decode()


def pages(board: Board) -> list[str]:
    code, piece = board.commission.code, Piece.objects.get(commission=board.commission, number=1)
    firing = piece.firing
    assert firing is not None
    return [
        "/pieces/",
        "/pieces/find/?wanted=nothing",
        "/pieces/clay/",
        f"/pieces/clay/{ClayLot.objects.get().pk}/",
        f"/bench/grade/{board.code}/",
        f"/bench/made-of/{board.code}/",
        f"/bench/grade-firing/{firing.pk}/",
        f"/pieces/trace/clay/{ClayLot.objects.get().pk}/",
        "/pieces/trace/batch/1/",
        f"/pieces/trace/firing/{firing.pk}/",
        f"/pieces/trace/board/{board.code}/",
        f"/pieces/{code}/",
        f"/pieces/{code}/new/",
        f"/pieces/{code}/match/?form={FORM}&wanted=6",
        f"/pieces/{code}/1/",
        f"/pieces/{code}/1/change/",
        f"/pieces/{code}/again/",
        f"/pieces/{code}/how-it-went/",
        f"/pieces/{code}/packing/",
        f"/pieces/{code}/portfolio/",
        "/pieces/claims/",
        f"/pieces/{code}/1/claim/",
        f"/pieces/{code}/invoices/",
    ]


def test_every_page_comes_and_names_its_piece(studio: Client, cups_done: Board) -> None:
    for address in pages(cups_done):
        assert "Wareboard" in words(studio, address)
    shown = words(studio, f"/pieces/{cups_done.commission.code}/1/")
    for told in ("lot L-1", "White, version 1, batch 1", cups_done.code, "Invented kiln, firing 1", "WB 1"):
        assert told in shown


def test_the_pages_are_there_before_anything_is_kept(studio: Client, demo: Commission) -> None:
    for address in ("/pieces/", "/pieces/clay/", f"/pieces/{demo.code}/", f"/pieces/{demo.code}/match/"):
        words(studio, address)


def test_a_failure_is_graded_and_undone(studio: Client, demo: Commission) -> None:
    board = put_up(demo, 6, "fired")
    address = f"/bench/grade/{board.code}/"
    sent = {"key": "invented-1", "grade": "failed", "fault": "crazed", "place": "inside", "pieces": "1"}
    assert studio.post(address, sent).status_code == 302
    assert studio.post(address, sent).status_code == 302  # a double tap
    piece = Piece.objects.get()
    assert (piece.grade, piece.fault, piece.place) == ("failed", "crazed", "inside")
    assert Board.objects.get(pk=board.pk).pieces == 5
    studio.post(f"{address}undo/")
    assert Board.objects.get(pk=board.pk).pieces == 6
    assert Piece.objects.get().put_away is not None


def test_all_left_are_firsts_in_one_tap_and_enough_goes_by_it(studio: Client, demo: Commission) -> None:
    board = put_up(demo, 6, "fired")
    studio.post(f"/bench/grade/{board.code}/", {"key": "invented-2", "grade": "first", "pieces": "6"})
    assert Piece.objects.filter(grade="first").count() == 6
    assert "Every piece on this board is graded" in words(studio, f"/bench/grade/{board.code}/")


def test_what_will_not_do_is_told_and_kept_nothing(studio: Client, demo: Commission) -> None:
    board = put_up(demo, 2, "fired")
    for sent in (
        {"grade": "failed"},
        {"grade": "second", "fault": "crazed"},
        {"grade": "first", "pieces": "9"},
        {"grade": "first", "pieces": "x"},
        {"grade": "best"},
    ):
        answer = studio.post(f"/bench/grade/{board.code}/", {"key": "invented-3", **sent})
        assert answer.status_code == 422
        assert 'class="troubles"' in answer.content.decode()
    assert not Piece.objects.exists()


def test_a_piece_is_entered_with_nothing_but_its_form(studio: Client, demo: Commission) -> None:
    address = f"/pieces/{demo.code}/new/"
    assert studio.post(address, {"key": "k" * 12, "form": "Jug", "kind": "prototype"}).status_code == 302
    shown = words(studio, f"/pieces/{demo.code}/1/")
    assert shown.count("not known") >= 5


def test_a_piece_is_entered_with_clay_and_glaze_and_sizes_in_inches(studio: Client, demo: Commission) -> None:
    clay, white = lot(), bucket()
    sent = {"key": "k" * 12, "form": "Jug", "kind": "sealed", "height_mm": "3 3/4 in", "lots": clay.pk}
    studio.post(f"/pieces/{demo.code}/new/", {**sent, "batches": white.pk})
    piece = Piece.objects.get()
    assert piece.height_mm == pytest.approx(95.25)
    assert piece.made_of.get().lot == clay
    assert piece.wears.get().batch == white


def test_what_was_typed_stays_when_it_cannot_be_read(studio: Client, demo: Commission) -> None:
    sent = {"key": "k" * 12, "form": "Jug", "kind": "ware", "weight_g": "-4 g", "mark": "seven"}
    answer = studio.post(f"/pieces/{demo.code}/new/", sent)
    assert answer.status_code == 422
    assert 'value="seven"' in answer.content.decode()
    sent |= {"weight_g": "300 g", "board": "C99"}
    assert "there is none of that code" in studio.post(f"/pieces/{demo.code}/new/", sent).content.decode()
    assert not Piece.objects.exists()


def test_a_failed_piece_of_a_board_is_graded_there_and_not_typed_in(studio: Client, cups_done: Board) -> None:
    sent = {"key": "k" * 12, "form": FORM, "kind": "ware", "grade": "failed", "board": cups_done.code}
    answer = studio.post(f"/pieces/{cups_done.commission.code}/new/", sent)
    assert answer.status_code == 422
    assert "leave the board" in answer.content.decode()


def test_changing_undoing_putting_away_and_fetching_back(studio: Client, demo: Commission) -> None:
    studio.post(f"/pieces/{demo.code}/new/", {"key": "k" * 12, "form": "Jug", "kind": "ware"})
    place = f"/pieces/{demo.code}/1/"
    studio.post(f"{place}change/", {"form": "Jug", "kind": "ware", "mark": "J1"})
    assert Piece.objects.get().mark == "J1"
    studio.post(f"{place}undo/")
    assert Piece.objects.get().mark == ""
    studio.post(f"{place}put-away/")
    assert Piece.objects.get().put_away is not None
    studio.post(f"{place}fetch-back/")
    assert Piece.objects.get().put_away is None


def test_the_place_a_picture_was_taken_at_is_dropped(studio: Client, cups_done: Board) -> None:
    """Pillow, outside this project, writes the place and finds none afterwards."""
    from io import BytesIO

    from PIL import Image

    exif, out = Image.Exif(), BytesIO()
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (47.0, 30.0, 0.0)
    Image.new("RGB", (64, 48), "tan").save(out, "JPEG", exif=exif)
    assert Image.open(BytesIO(out.getvalue())).getexif().get_ifd(0x8825)
    place = f"/pieces/{cups_done.commission.code}/2/photo/"
    studio.post(place, {"photo": SimpleUploadedFile("a.jpg", out.getvalue()), "words": "Side"})
    kept = PiecePhoto.objects.get(words="Side")
    assert not Image.open(BytesIO(bytes(kept.file.content))).getexif().get_ifd(0x8825)


def test_a_broken_picture_is_told(studio: Client, cups_done: Board) -> None:
    place = f"/pieces/{cups_done.commission.code}/2/photo/"
    answer = studio.post(place, {"photo": SimpleUploadedFile("a.jpg", picture()[:200])}, follow=True)
    assert "cut short" in answer.content.decode()


def test_a_recall_names_the_client_of_delivered_pieces(studio: Client, cups_done: Board) -> None:
    lot_pk = ClayLot.objects.get().pk
    shown = words(studio, f"/pieces/trace/clay/{lot_pk}/")
    assert "10 numbered pieces, 1 of them delivered" in shown
    answer = studio.get(f"/pieces/trace/clay/{lot_pk}/pieces.csv")
    lines = answer.content.decode("utf-8-sig").splitlines()
    assert len(lines) == 12  # head, board, ten pieces
    assert "attachment" in answer["Content-Disposition"]
    assert studio.get("/pieces/trace/clay/x/").status_code == 404
    assert studio.get("/pieces/trace/nothing/1/").status_code == 404


def test_pieces_are_marked_delivered_and_not(studio: Client, cups_done: Board) -> None:
    place = f"/pieces/{cups_done.commission.code}/delivered/"
    studio.post(place, {"piece": ["2", "3", "10"], "do": "delivered"})
    assert Piece.objects.exclude(delivered=None).count() == 3  # the failed one is not delivered
    studio.post(place, {"piece": ["2"], "do": "not"})
    assert Piece.objects.exclude(delivered=None).count() == 2


def test_the_set_and_what_is_short_are_shown_with_a_message(studio: Client, cups_done: Board) -> None:
    shown = words(studio, f"/pieces/{cups_done.commission.code}/match/?form={FORM}&wanted=5")
    assert "5 of 7" in shown
    assert "than the middle of the set" in shown
    assert "To throw again" in shown
    assert "Dear" in shown or "Hello" in shown
    assert studio.get(f"/pieces/{cups_done.commission.code}/match/?wanted=0").status_code == 422


def test_board_clay_and_glaze_are_ticked(studio: Client, demo: Commission) -> None:
    board, clay, white = put_up(demo, 6, "fired"), lot(), bucket()
    studio.post(f"/bench/made-of/{board.code}/", {"lot": clay.pk, "batch": white.pk})
    shown = words(studio, f"/bench/made-of/{board.code}/")
    assert shown.count(" checked") == 2


def test_clay_lots_are_kept_changed_and_put_away(studio: Client, demo: Commission) -> None:
    studio.post("/pieces/clay/", {"clay": "Invented", "kg": "250", "bought": "2026-11-01"})
    here = ClayLot.objects.get()
    studio.post(f"/pieces/clay/{here.pk}/", {"clay": "Invented", "code": "A7"})
    assert ClayLot.objects.get().code == "A7"
    studio.post(f"/pieces/clay/{here.pk}/undo/")
    assert ClayLot.objects.get().code == ""
    studio.post(f"/pieces/clay/{here.pk}/put-away/")
    assert ClayLot.objects.get().put_away is not None
    assert studio.post("/pieces/clay/", {"clay": "", "kg": "-3"}).status_code == 422


def test_a_piece_is_found_by_number_and_by_mark(studio: Client, cups_done: Board) -> None:
    place = f"/pieces/{cups_done.commission.code}/1/"
    for wanted in (f"{cups_done.commission.code}/1", "wb 1"):
        assert studio.get("/pieces/find/", {"wanted": wanted}).headers["Location"] == place


def test_a_piece_leads_to_the_lots_of_raw_material_in_its_glaze(studio: Client, cups_done: Board) -> None:
    from wareboard.book.glazes.models import BatchLine, Lot, ShelfMaterial

    whiting = ShelfMaterial.objects.create(name="Invented whiting", analysis_from="typed")
    sack = Lot.objects.create(material=whiting, code="W-9")
    BatchLine.objects.create(batch=cups_done.wears.get().batch, material="Invented whiting", grams=900.0, lot=sack)
    shown = words(studio, f"/pieces/{cups_done.commission.code}/1/")
    assert f"/pieces/trace/material/{sack.pk}/" in shown
    assert "Invented whiting, lot W-9" in shown
    assert "no flagged oxide; not tested" in shown
    assert f"/pieces/trace/material/{sack.pk}/" in words(studio, reverse("glaze-material", args=[whiting.pk]))


def test_a_grading_out_of_a_phones_list_counts_once_and_one_that_cannot_be_is_told(
    studio: Client, demo: Commission
) -> None:
    import json

    board = put_up(demo, 6, "fired")

    def send(key: str, **fields: str) -> list[str]:
        row = {"key": key, "kind": "grade", "board": board.code, **fields}
        answer = studio.post("/bench/entries/", json.dumps({"entries": [row]}), content_type="application/json")
        assert answer.status_code == 200, answer.content
        return [each["state"] for each in answer.json()["results"]]

    failed = {"grade": "failed", "fault": "crazed", "pieces": "2"}
    assert send("phone-1", **failed) == ["kept"]
    assert send("phone-1", **failed) == ["already"]
    assert Board.objects.get().pieces == 4
    assert send("phone-2", grade="first", pieces="5") == ["refused"]  # four are left
    assert send("phone-3", grade="second", pieces="1") == ["refused"]  # nothing is said to be wrong
    assert Piece.objects.count() == 2
