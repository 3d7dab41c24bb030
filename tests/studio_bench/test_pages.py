"""The bench pages with JavaScript off: forms, redirects, words on what became of each entry."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from tests.studio_bench.conftest import do, put_up
from wareboard.book.boards.models import Board, Entry, KeptSheet, LongTimer
from wareboard.book.models import Commission
from wareboard.studio.bench.reading import asked_from, read_weight
from wareboard.studio.bench.today_page import moment_here
from wareboard.studio.today import now


def send(studio: Client, **more: str):  # type: ignore[no-untyped-def]
    more = {"key": "page-key-000001", "back": "/bench/H1/"} | more
    return studio.post("/bench/act/", more, follow=True)


def text(answer) -> str:  # type: ignore[no-untyped-def]
    return " ".join(answer.content.decode().split())


def test_a_bench_with_nothing_says_how_to_begin(studio: Client) -> None:
    assert "Four numbers" in text(studio.get("/bench/"))
    assert "there is none in hand" in text(studio.get("/bench/begin/"))
    assert studio.get("/bench/H1/").status_code == 404
    assert studio.get("/bench/no-code/").status_code == 404


def test_boards_are_put_up_mid_job_in_one_go(studio: Client, demo: Commission) -> None:
    sent = {
        "key": "begin-key-01",
        "form": ["Handled cup", "Side plate", "Milk jug"],
        "stage": ["drying", "fired", "thrown"],
        "pieces": ["24", "12", ""],
        "code": ["", "k 7", ""],
    }
    answer = studio.post(f"/bench/begin/{demo.code}/", sent, follow=True)
    assert "H1 (24), K7 (12)" in text(answer)
    studio.post(f"/bench/begin/{demo.code}/", sent)  # the same page sent twice
    assert list(Board.objects.order_by("pk").values_list("code", "stage", "pieces")) == [
        ("H1", "drying", 24),
        ("K7", "fired", 12),
    ]
    assert Entry.objects.filter(who="Ada").count() == 2


def test_one_wrong_row_keeps_none_and_what_was_typed_stays(studio: Client, demo: Commission) -> None:
    sent = {
        "key": "begin-key-02",
        "form": ["Handled cup"] * 2,
        "stage": ["thrown"] * 2,
        "pieces": ["24", "-3"],
        "code": ["", ""],
    }
    answer = studio.post(f"/bench/begin/{demo.code}/", sent)
    assert answer.status_code == 422
    assert 'href="#pieces-2"' in text(answer)
    assert 'value="-3"' in text(answer)
    assert not Board.objects.exists()


def test_rows_of_a_spreadsheet_are_taken_in_whatever_their_order(studio: Client, demo: Commission) -> None:
    address = f"/bench/begin/{demo.code}/"
    pasted = "Pieces;Stage;Form;Code\n24;drying;handled;H7\n12;;plate;\n;;;\n"
    shown = studio.post(address, {"pasted": pasted, "take": "yes"})
    assert 'value="handled"' in text(shown)
    assert not Board.objects.exists()
    studio.post(address, {"key": "begin-key-03", "pasted": pasted})
    assert list(Board.objects.order_by("pk").values_list("code", "form", "stage", "pieces")) == [
        ("H7", "Handled cup", "drying", 24),
        ("S1", "Side plate", "drying", 12),
    ]


def test_every_wrong_cell_is_told_beside_its_row_and_all_that_was_typed_stays(studio: Client, demo: Commission) -> None:
    put_up(demo, 5, "thrown")
    sent = {
        "key": "begin-key-04",
        "code": ["", "H1", "!!", ""],
        "form": ["teapot", "cup", "", "plate"],
        "pieces": ["24", "3", "7", "many"],
        "stage": ["drying", "leathery", "thrown", "fired"],
    }
    answer = studio.post(f"/bench/begin/{demo.code}/", sent)
    words = text(answer)
    assert answer.status_code == 422
    assert "is no form here; write one of Handled cup, Milk jug, Side plate" in words
    assert "is no stage here" in words
    assert "is no count" in words
    assert all(f'value="{typed}"' in words for typed in ("teapot", "H1", "!!", "many", "leathery"))
    assert words.count('class="wrong-row"') == 4
    assert Board.objects.count() == 1


def test_since_when_and_where_are_taken_in_with_the_board_and_undone_with_it(studio: Client, demo: Commission) -> None:
    address = f"/bench/begin/{demo.code}/"
    pasted = (
        "Board\tForm\tPieces\tStage\tSince when\tShelf\n"
        "H7\tcup\t24\tdrying\t2 days\t3\n\t\t12\t\t\tby the stove\n\tplate\t9\tthrown\t5 h\n"
    )
    studio.post(address, {"key": "begin-key-07", "pasted": pasted})
    found = list(Board.objects.order_by("pk"))
    assert [(board.code, board.shelf) for board in found] == [("H7", "Shelf 3"), ("H8", "by the stove"), ("S1", "")]
    assert [round((now() - board.since).total_seconds() / 3600) for board in found] == [48, 48, 5]
    assert found[0].state_since == found[0].since  # under cover since then
    assert "2 entries" not in text(studio.get("/bench/paper/"))
    sheet = KeptSheet.objects.get()
    assert sheet.entries == 5
    studio.post(f"/bench/paper/sheets/{sheet.pk}/undo/")
    assert not Board.objects.filter(pieces__gt=0).exists()
    assert not Board.objects.exclude(shelf="").exists()


def test_a_wrong_day_or_shelf_is_told_beside_its_cell_and_none_is_kept(studio: Client, demo: Commission) -> None:
    sent = {
        "key": "begin-key-08",
        "code": ["", ""],
        "form": ["cup", "cup"],
        "pieces": ["24", "12"],
        "stage": ["drying", "drying"],
        "since": ["3/4", "soon"],
        "place": ["99", "<script>alert(1)</script>"],
    }
    answer = studio.post(f"/bench/begin/{demo.code}/", sent)
    assert answer.status_code == 422
    assert 'href="#since-1"' in text(answer)
    assert 'href="#place-1"' in text(answer)
    assert 'value="3/4"' in text(answer)
    assert "<script>alert" not in answer.content.decode()
    assert not Board.objects.exists()


def test_a_whole_sheet_is_undone_and_its_codes_are_free_again(studio: Client, demo: Commission) -> None:
    sent = {"code": ["H7", "S3"], "form": ["cup", "plate"], "pieces": ["24", "12"], "stage": ["drying", "fired"]}
    studio.post(f"/bench/begin/{demo.code}/", sent | {"key": "begin-key-05"})
    sheet = KeptSheet.objects.get()
    assert (sheet.entries, sheet.who) == (2, "Ada")
    assert "Undo all of it" in text(studio.get("/bench/paper/"))
    assert "2 entries undone" in text(studio.post(f"/bench/paper/sheets/{sheet.pk}/undo/", follow=True))
    assert not Board.objects.filter(pieces__gt=0).exists()
    sent["pieces"] = ["20", "12"]
    studio.post(f"/bench/begin/{demo.code}/", sent | {"key": "begin-key-06"})
    assert list(Board.objects.order_by("pk").values_list("code", "pieces")) == [("H7", 20), ("S3", 12)]
    do("lose", "H7", pieces=1, reason="cracked")
    page = text(studio.post(f"/bench/paper/sheets/{KeptSheet.objects.latest('pk').pk}/undo/", follow=True))
    assert "1 entry undone" in page
    assert "pieces it would take back are no longer there" in page
    assert Board.objects.get(code="H7").pieces == 19


def test_todays_ticks_are_entered_in_one_go_and_undone_in_one_go(studio: Client, demo: Commission) -> None:
    board = put_up(demo, 24, "thrown")
    plates = put_up(demo, 12, "drying", form="Side plate")
    long_ago = moment_here() - timedelta(hours=30)
    Board.objects.update(since=long_ago, state_since=long_ago)
    page = text(studio.get("/bench/today/ticks/"))
    assert 'name="do-H1-move-trimmed"' in page
    ticked = {"key": "ticks-key-1", "do-H1-move-trimmed": "yes", "do-S1-turn": "yes"}
    assert "2 kept." in text(studio.post("/bench/today/ticks/", ticked, follow=True))
    studio.post("/bench/today/ticks/", ticked)
    board.refresh_from_db()
    plates.refresh_from_db()
    assert board.stage == "trimmed"
    assert plates.turned is not None
    studio.post(f"/bench/paper/sheets/{KeptSheet.objects.get().pk}/undo/")
    board.refresh_from_db()
    assert board.stage == "thrown"


@pytest.mark.parametrize(
    ("scheme", "codes"), [("incised", ["H1", "S1"]), ("oxide", ["N1", "N2"]), ("stamp", ["A1", "A2"])]
)
def test_codes_are_made_as_the_workshop_chose(studio: Client, demo: Commission, scheme: str, codes: list[str]) -> None:
    studio.post("/bench/paper/choose/", {"codes": scheme})
    found = [put_up(demo, 5, "thrown").code, put_up(demo, 5, "thrown", form="Side plate").code]
    if scheme == "stamp":
        assert len({code[0] for code in found}) == 1
        codes = [found[0], found[0][0] + "2"]
    assert found == codes
    if scheme == "oxide":
        assert studio.get("/bench/2/").status_code == 200  # as it stands on the ware
    assert "That is no way" in text(studio.post("/bench/paper/choose/", {"codes": "barcode"}, follow=True))


def test_a_board_lies_on_a_shelf_that_its_label_leads_to(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    page = text(studio.post("/bench/shelf/3/", {"codes": "h1 z9", "key": "shelf-key"}, follow=True))
    assert "H1: put on Shelf 3." in page
    assert "there is no board of that code" in page
    assert Board.objects.get().shelf == "Shelf 3"
    do("shelve", "H1", place="Shelf 4")
    studio.post(
        "/bench/act/", {"kind": "undo", "undoes": Entry.objects.latest("pk").key, "board": "H1", "key": "undo-1234"}
    )
    assert Board.objects.get().shelf == "Shelf 3"
    assert studio.get("/bench/shelf/13/").status_code == 404
    studio.post("/bench/paper/choose/", {"shelves": "14"})
    assert studio.get("/bench/shelf/13/").status_code == 200


def test_a_board_is_moved_and_a_piece_lost_and_both_undone(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    page = text(send(studio, kind="lose", board="H1", pieces="1", reason="cracked", place="rim"))
    assert "H1: 1 lost: cracked, rim." in page
    assert ">23</span>" in page
    page = text(send(studio, key="page-key-000002", kind="move", board="H1", to="trimmed", stage_seen="thrown"))
    assert "Handled" in page  # the button for the next stage
    for kind in ("move", "lose"):
        key = Entry.objects.get(kind=kind).key
        page = text(send(studio, key=f"undo-{kind}-key", kind="undo", board="H1", undoes=key))
    assert ">24</span>" in page
    assert "Undone: 1 lost: cracked, rim." in page
    assert Entry.objects.count() == 5


def test_a_shortfall_is_told_on_the_board_and_on_the_commission_with_a_text_for_the_client(
    studio: Client, demo: Commission
) -> None:
    put_up(demo, 90, "painted")
    assert "Tell the client" not in text(studio.get("/bench/H1/"))
    do("lose", "H1", pieces=25, reason="ran")
    for address in ("/bench/H1/", f"/commissions/{demo.code}/"):
        page = text(studio.get(address))
        assert "Tell the client: Pieces are short" in page, address
        assert "72 ordered, about 6" in page
    board = text(studio.get("/bench/H1/"))
    assert "come good (" in board
    assert "to make up." in board
    assert "Will there still be enough?" in text(studio.get(f"/commissions/{demo.code}/"))


def test_the_history_says_who_when_and_what_was_before(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    do("lose", "H1", pieces=2, reason="cracked")
    do("move", "H1", to="drying")
    do("shelve", "H1", place="Shelf 3")
    do("split", "H1", pieces=5)
    do("merge", "H1", other="H2")
    do("count", "H1", pieces=21)
    page = text(studio.get("/bench/H1/history/"))
    told = [
        "22 to 21 pieces.",
        "17 to 22 pieces.",
        "22 to 17 pieces.",
        "No shelf to Shelf 3.",
        "Thrown to drying; open to wrapped.",
        "24 to 22 pieces.",
        "0 to 24 pieces.",
    ]
    assert [page.index(f'<span class="from-to">{each}') for each in told] == sorted(
        page.index(f'<span class="from-to">{each}') for each in told
    )
    assert page.count("Ben, ") >= 6
    other = text(studio.get("/bench/H2/history/"))
    assert other.index("5 to 0 pieces.") < other.index("0 to 5 pieces.")


def test_a_note_is_kept_and_undone(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    page = text(send(studio, kind="note", board="H1", note="  rims   thinner today "))
    assert "H1: noted: rims thinner today." in page
    assert "an empty note" in text(send(studio, kind="note", board="H1", note=" ", key="page-key-000002"))


def test_a_double_tap_is_told_and_counts_once(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    send(studio, kind="lose", board="H1", pieces="1", reason="thin")
    assert "counted once" in text(send(studio, kind="lose", board="H1", pieces="1", reason="thin"))
    assert Board.objects.get().pieces == 23


def test_the_second_to_move_is_told_and_settles_it_on_the_board(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    do("move", "H1", to="trimmed")
    page = text(send(studio, kind="move", board="H1", to="handled", stage_seen="thrown"))
    assert "Kept, but not done yet" in page
    assert "moved by Ben" in page
    assert "1 entry waits" in text(studio.get("/bench/"))
    assert "moved by Ben" in text(studio.get("/bench/waiting/"))
    waiting = Entry.objects.get(standing="waits")
    page = text(studio.post(f"/bench/waiting/{waiting.pk}/", {"do": "it", "back": "/bench/H1/"}, follow=True))
    assert Board.objects.get().stage == "handled"
    assert "Nothing waits" in text(studio.get("/bench/waiting/"))


def test_an_odd_weight_is_asked_once_and_kept_if_confirmed(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "ball")
    for grams in (405, 410, 400, 402, 408):
        do("weigh", "H1", grams=float(grams))
    page = send(studio, kind="weigh", board="H1", grams="4050 g")
    assert "Is that right?" in text(page)
    assert Entry.objects.filter(kind="weigh").count() == 5
    send(studio, kind="weigh", board="H1", grams="4050 g", confirmed="yes")
    assert Entry.objects.filter(kind="weigh").latest("pk").grams == 4050.0
    assert "Is that right?" not in text(send(studio, key="page-key-000009", kind="weigh", board="H1", grams="403 g"))


def test_the_first_weight_is_held_against_the_plans_ball(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "ball")
    assert "Is that right?" in text(send(studio, kind="weigh", board="H1", grams="40.5"))


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("345", 345.0),
        ("345 g", 345.0),
        ("  345.2 g\r", 345.2),
        ("ST,GS,+  345.2g", 345.2),
        ("0.345kg", 345.0),
        ("-12.0 g", -12.0),
    ],
)
def test_a_weight_is_read_as_people_write_it_and_scales_type_it(typed: str, grams: float) -> None:
    assert read_weight(typed) == pytest.approx(grams)


def test_pounds_and_ounces_are_read_too() -> None:
    """1 lb 2 oz is 510.29 g: NIST Handbook 44, 1 oz = 28.349523125 g."""
    assert read_weight("1 lb 2 oz") == pytest.approx(18 * 28.349523125)


@pytest.mark.parametrize("grams", ["-345", "heavy", "0", "4,050 g"])
def test_a_weight_that_cannot_be_is_refused_in_words(studio: Client, demo: Commission, grams: str) -> None:
    put_up(demo, 24, "ball")
    page = text(send(studio, kind="weigh", board="H1", grams=grams))
    assert 'role="alert"' in page
    assert not Entry.objects.filter(kind="weigh").exists()


def test_the_phones_clock_does_not_count_only_the_time_between() -> None:
    """A phone an hour fast, an entry made ten minutes before it was sent."""
    moment = now()
    phone_ms = moment.timestamp() * 1000 + 3_600_000
    asked = asked_from(
        {"kind": "turn", "board": "C1", "made": phone_ms - 600_000, "sent": phone_ms}, "k" * 10, "", moment
    )
    assert (moment - asked.happened).total_seconds() == pytest.approx(600)
    wrong = asked_from({"kind": "turn", "board": "C1", "made": phone_ms, "sent": 0}, "k" * 10, "", moment)
    assert wrong.happened == moment


def test_a_list_of_entries_is_answered_one_by_one(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    rows = [
        {"key": "list-key-1", "kind": "lose", "board": "H1", "pieces": "2", "reason": "thin", "who": "Cy"},
        {"key": "list-key-1", "kind": "lose", "board": "H1", "pieces": "2", "reason": "thin"},
        {"key": "list-key-2", "kind": "move", "board": "H1", "to": "handled", "stage_seen": "trimmed"},
        {"key": "list-key-3", "kind": "turn", "board": "H99"},
        {"key": "list-key-4", "kind": "lose", "board": "H1", "pieces": "-2", "reason": "thin"},
    ]
    answer = studio.post("/bench/entries/", json.dumps({"entries": rows}), content_type="application/json")
    assert [each["state"] for each in answer.json()["results"]] == ["kept", "already", "waits", "refused", "refused"]
    assert Entry.objects.get(key="list-key-1").who == "Cy"
    assert Board.objects.get().pieces == 22
    assert studio.post("/bench/entries/", "{", content_type="application/json").status_code == 400


def test_entries_from_elsewhere_need_the_token(demo: Commission) -> None:
    strange = Client(enforce_csrf_checks=True)
    assert strange.post("/bench/entries/", "{}", content_type="application/json").status_code == 403
    token = strange.get("/bench/token/").json()["token"]
    sent = strange.post(
        "/bench/entries/", '{"entries": []}', content_type="application/json", headers={"X-CSRFToken": token}
    )
    assert sent.json() == {"results": []}


def test_a_board_is_found_by_its_code_however_it_is_written(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    assert studio.get("/bench/?code=h+1").headers["Location"] == "/bench/H1/"
    assert "no board H2" in text(studio.get("/bench/?code=h2", follow=True))


def test_going_back_never_leads_to_another_host(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    answer = studio.post(
        "/bench/act/", {"key": "k" * 12, "kind": "turn", "board": "H1", "back": "https://elsewhere.example/"}
    )
    assert answer.headers["Location"] == "/bench/"


def test_a_name_given_once_signs_what_follows(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    studio.post("/bench/name/", {"who": "Dée", "back": "/bench/H1/"})
    send(studio, kind="turn", board="H1")
    assert Entry.objects.get(kind="turn").who == "Dée"


def test_a_timer_is_kept_by_its_end_and_set_once(studio: Client, db: None) -> None:
    sent = {"key": "timer-key-1", "words": "Soak", "long": "45 min"}
    studio.post("/bench/timers/", sent)
    studio.post("/bench/timers/", sent)
    timer = LongTimer.objects.get()
    assert (timer.ends - timer.begun).total_seconds() == 2700
    assert "Soak" in text(studio.get("/bench/timers/"))
    studio.post(f"/bench/timers/{timer.pk}/stop/")
    assert "ends" not in text(studio.get("/bench/timers/")).split('id="running"')[1].split("Set a timer")[0]
    assert studio.post("/bench/timers/", {"key": "timer-key-2", "long": "long"}).status_code == 422
    assert studio.post("/bench/timers/", {"key": "timer-key-2", "long": "99 days"}).status_code == 422


def test_the_worker_and_the_manifest_come_from_here_under_the_strict_policy(studio: Client, db: None) -> None:
    worker = studio.get(reverse("bench-worker"))
    assert worker.headers["Content-Type"].startswith("text/javascript")
    assert "default-src 'self'" in worker.headers["Content-Security-Policy"]
    manifest = studio.get(reverse("bench-manifest")).json()
    assert manifest["start_url"] == manifest["id"] == "/bench/"
    assert manifest["scope"] == "/"  # so that signing in stays in the same window


def test_no_bench_page_has_inline_script_or_style(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    for address in (
        "",
        "today/",
        "H1/",
        "H1/history/",
        "begin/",
        "timers/",
        "paper/",
        "paper/marks/",
        "waiting/",
        "away/",
    ):
        page = studio.get(f"/bench/{address}").content.decode()
        assert "<style" not in page, address
        assert " style=" not in page, address
        assert page.count("<script") == page.count("<script src="), address
