"""A client's claim against a piece, traced and settled; a portfolio that names nobody who did not allow it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.book_pieces.conftest import BY
from tests.studio_after.conftest import picture
from wareboard.book.boards.models import Board
from wareboard.book.firings import signing
from wareboard.book.pieces import claiming, tracing
from wareboard.book.pieces.models import Claim, Piece, PiecePhoto, Portfolio
from wareboard.errors import OutOfRange, Unreadable
from wareboard.studio.today import today

pytestmark = pytest.mark.django_db


def piece(number: int) -> Piece:
    return Piece.objects.get(number=number)


@pytest.fixture
def claimed(cups_done: Board) -> Claim:
    delivered = piece(1).delivered
    assert delivered is not None
    return claiming.claim(piece(1), delivered, "crazed", "A net of lines after a month", None, BY)


def test_a_claim_with_its_picture_is_kept_and_traced_to_lot_batch_and_firing(studio: Client, cups_done: Board) -> None:
    code = cups_done.commission.code
    signing.change(piece(1), {"delivered": today()}, "Delivered", BY)
    photo = SimpleUploadedFile("crazed.jpg", picture("white"), "image/jpeg")
    sent = {"what": "crazed", "words": "A net of lines", "day": today().isoformat(), "photo": photo}
    assert studio.post(f"/pieces/{code}/1/claim/", sent).status_code == 302
    here = Claim.objects.get()
    assert here.photo is not None
    shown = studio.get(f"/pieces/claims/{here.pk}/").content.decode()
    for told in (
        "lot L-1",
        "White, version 1, batch 1",
        "Invented kiln, firing 1",
        "<strong>1 claim</strong>",
        "10 numbered pieces",
    ):
        assert told in shown, told
    assert "crazed" in studio.get("/pieces/claims/").content.decode()
    assert "Write down a claim" in studio.get(f"/pieces/{code}/1/").content.decode()


def test_a_piece_that_never_went_and_a_day_before_it_went_are_refused(cups_done: Board) -> None:
    with pytest.raises(OutOfRange, match="never delivered"):
        claiming.claim(piece(2), date(2026, 11, 25), "crazed", "", None, BY)
    gone = piece(1).delivered
    assert gone is not None
    for day in (gone - timedelta(days=1), BY.when.date() + timedelta(days=1)):
        with pytest.raises(OutOfRange, match="went on"):
            claiming.claim(piece(1), day, "crazed", "", None, BY)
    with pytest.raises(Unreadable, match="without a reason"):
        claiming.claim(piece(1), gone, "  ", "", None, BY)
    assert not Claim.objects.exists()


def test_a_file_that_is_no_picture_keeps_no_claim_and_what_was_typed_stays(studio: Client, cups_done: Board) -> None:
    signing.change(piece(1), {"delivered": today()}, "Delivered", BY)
    sent = {"what": "chipped rim", "day": today().isoformat(), "photo": SimpleUploadedFile("x.jpg", b"not a picture")}
    answer = studio.post(f"/pieces/{cups_done.commission.code}/1/claim/", sent)
    assert answer.status_code == 422
    assert "chipped rim" in answer.content.decode()
    assert not Claim.objects.exists()


def test_a_replacement_is_another_piece_that_is_good_and_free(claimed: Claim) -> None:
    for number, why in ((1, "itself"), (10, "failed")):
        with pytest.raises(OutOfRange, match=why):
            claiming.settle(claimed, "replaced", "", piece(number), today(), BY)
    kept = claiming.settle(claimed, "replaced", "Sent at once", piece(2), today(), BY)
    assert (kept.replaced_by, kept.outcome) == (piece(2), "replaced")
    delivered = today()
    signing.change(piece(3), {"delivered": BY.when.date()}, "Delivered", BY)
    other = claiming.claim(piece(3), BY.when.date(), "chipped", "", None, BY)
    with pytest.raises(OutOfRange, match="replaces 26-01/1 already"):
        claiming.settle(other, "replaced", "", piece(2), delivered, BY)
    with pytest.raises(OutOfRange, match="a claim against it"):
        claiming.settle(other, "replaced", "", piece(1), delivered, BY)


def test_an_outcome_is_undone_and_one_that_cannot_be_is_refused(studio: Client, claimed: Claim) -> None:
    address = f"/pieces/claims/{claimed.pk}/"
    assert studio.post(address, {"outcome": "forgotten"}).status_code == 422
    assert studio.post(address, {"outcome": "declined", "outcome_words": ""}).status_code == 422
    assert studio.post(address, {"outcome": "replaced", "replacement": "999"}).status_code == 422
    assert studio.post(address, {"outcome": "paid back", "outcome_words": "In full"}).status_code == 302
    assert Claim.objects.get().outcome == "paid back"
    studio.post(f"{address}undo/")
    assert (Claim.objects.get().outcome, Claim.objects.get().settled) == ("open", None)
    studio.post(f"{address}put-away/")
    assert "Put away (1)" in studio.get("/pieces/claims/").content.decode()


def test_the_portfolio_names_the_client_only_when_that_was_allowed(studio: Client, cups_done: Board) -> None:
    address = f"/pieces/{cups_done.commission.code}/portfolio/"
    client = tracing.client_of(cups_done.commission)
    assert client

    def above() -> str:
        return studio.get(address).content.decode().partition("<details")[0]

    assert "No picture is chosen yet" in above()
    photo = PiecePhoto.objects.get()
    studio.post(address, {"title": "Invented cups", "words": "Thrown in autumn", "photo": str(photo.pk)})
    assert PiecePhoto.objects.get().shown
    assert "Invented cups" in above()
    assert client not in above()
    assert cups_done.commission.name not in above()
    studio.post(address, {"title": "Invented cups", "photo": str(photo.pk), "named": "yes"})
    assert client in above()
    studio.post(address, {"do": "undo"})
    assert client not in above()
    assert Portfolio.objects.get().words == "Thrown in autumn"
    studio.post(address, {"title": "Invented cups"})
    assert not PiecePhoto.objects.get().shown
