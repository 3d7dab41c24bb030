"""Measuring on pages without scripts: readings as scales type them, odd ones asked about, sheets, charts, the gauge."""

from __future__ import annotations

import json

import pytest
from django.test import Client
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.studio_bench.conftest import put_up
from wareboard.book.boards.models import KeptSheet
from wareboard.book.measures.models import GaugeReadings, Measurement
from wareboard.book.measures.what import KNOWN
from wareboard.book.models import Commission
from wareboard.errors import OutOfRange, Unreadable, WareboardError
from wareboard.studio.bench.measure_reading import read_value
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.phones.access import may

CUP = {"commission": "26-01", "form": "Handled cup", "stage": "thrown"}


def send(studio: Client, value: str, what: str = "height", **more: str) -> Client:
    sent = {"kind": "measure", "what": what, "value": value, "key": fresh_key(), "back": "/bench/measure/"} | CUP | more
    return studio.post("/bench/act/", sent, follow=True)  # type: ignore[return-value]


@pytest.mark.parametrize(
    ("what", "typed", "value"),
    [
        ("weight", "ST,GS,+ 345.0g", 345.0),
        ("weight", "  345,6 g", 345.6),
        ("weight", "US,NT,  0.345 kg", 345.0),
        ("weight", "345.0 g  S", 345.0),
        ("weight", "3,450 g", 3450.0),
        ("weight", "12 oz", 340.19),
        ("height", "84,20", 84.2),
        ("height", "+84.20 mm", 84.2),
        ("height", "84,200 mm", 84.2),
        ("height", "3 5/16 in", 84.14),
        ("slip density", "1450", 1.45),
        ("slip density", "1,45", 1.45),
        ("slip density", "1450 g/l", 1.45),
        ("room humidity", "55", 0.55),
        ("room humidity", "55 %", 0.55),
        ("room temperature", "-2,5", -2.5),
        ("room temperature", "68 F", 20.0),
    ],
)
def test_what_scales_calipers_and_people_write_is_read(what: str, typed: str, value: float) -> None:
    """An ounce is 28.349523125 g and an inch 25.4 mm (NIST SP 811); scales' lines are from memory of several manuals."""
    assert read_value(what, typed) == pytest.approx(value, abs=0.01)


@pytest.mark.parametrize(
    ("typed", "error"), [("-345 g", OutOfRange), ("ST,GS,- 2.0g", OutOfRange), ("heavy", Unreadable)]
)
def test_a_negative_weight_and_words_are_refused_by_name(typed: str, error: type) -> None:
    with pytest.raises(error):
        read_value("weight", typed)


def test_one_reading_after_another_and_the_next_piece_is_named(studio: Client, demo: Commission) -> None:
    page = send(studio, "107.4", piece="1")
    assert "Height of Handled cup 1, thrown: 107.4 mm" in page.content.decode()  # type: ignore[attr-defined]
    shown = studio.get("/bench/measure/26-01/?form=Handled+cup&what=height&stage=thrown").content.decode()
    assert 'name="piece" maxlength="20" autocomplete="off" value="2"' in shown
    assert Measurement.objects.get().who == "Ada"


def test_ten_times_the_usual_is_asked_once_and_kept_if_confirmed(studio: Client, demo: Commission) -> None:
    for grams in ("343", "345", "347", "344", "346"):
        send(studio, grams, what="weight")
    asked = send(studio, "3,450 g", what="weight")
    words = asked.content.decode()  # type: ignore[attr-defined]
    assert "is usual" in words
    assert "Yes, keep 3,450 g" in words
    assert Measurement.objects.count() == 5
    send(studio, "3,450 g", what="weight", confirmed="yes")
    assert Measurement.objects.order_by("-pk")[0].value == 3450.0


def test_the_browsers_list_sends_measurements_with_the_boards_entries(studio: Client, demo: Commission) -> None:
    put_up(demo, 24, "thrown")
    rows = [
        {
            "key": "offline-0001",
            "kind": "measure",
            "what": "height",
            "value": "107.4",
            "piece": "1",
            "made": 0,
            "sent": 0,
        }
        | CUP,
        {"key": "offline-0002", "kind": "move", "board": "H1", "to": "trimmed"},
        {"key": "offline-0003", "kind": "measure", "what": "weigh-in", "value": "401", "board": "H1", "piece": "1"},
        {"key": "offline-0001", "kind": "measure", "what": "height", "value": "107.4", "piece": "1"} | CUP,
        {"key": "offline-0004", "kind": "measure", "what": "height", "value": "-3"} | CUP,
    ]
    answer = studio.post("/bench/entries/", json.dumps({"entries": rows}), content_type="application/json").json()
    assert [each["state"] for each in answer["results"]] == ["kept", "kept", "kept", "already", "refused"]
    assert list(Measurement.objects.order_by("pk").values_list("value", "stage")) == [
        (107.4, "thrown"),
        (401.0, "trimmed"),
    ]


def test_a_measurement_is_taken_back_and_put_back(studio: Client, demo: Commission) -> None:
    send(studio, "107.4")
    held = Measurement.objects.get()
    back = {"kind": "unmeasure", "key": fresh_key(), "undoes": held.key, "back": "/bench/measure/"}
    studio.post("/bench/act/", back)
    held.refresh_from_db()
    assert not held.stands
    studio.post("/bench/act/", back | {"key": fresh_key(), "stands": "yes"})
    held.refresh_from_db()
    assert held.stands


def test_a_paper_form_is_entered_in_one_go_with_what_is_odd_asked_about_and_undone_in_one_go(
    studio: Client, demo: Commission
) -> None:
    address = "/bench/measure/26-01/grid/?form=Handled+cup&stage=thrown"
    sent = (
        {"key": fresh_key()}
        | {f"height-{n}": str(107 + 0.2 * n) for n in range(1, 6)}
        | {"mouth-1": "96", "height-6": "1078"}
    )
    page = studio.post(address, sent)
    assert page.status_code == 422
    assert 'value="1078"' in page.content.decode()
    assert Measurement.objects.count() == 6
    page = studio.post(address, sent | {"confirmed-6": "yes"}, follow=True)
    assert Measurement.objects.count() == 7
    sheet = KeptSheet.objects.get()
    assert sheet.entries == 7
    studio.post(f"/bench/paper/sheets/{sheet.pk}/undo/")
    assert not Measurement.objects.filter(stands=True).exists()


def test_the_chart_names_the_rule_and_the_measure_page_says_stop(studio: Client, demo: Commission) -> None:
    for piece, mm in enumerate((107.4, 107.9, 107.6, 108.1, 107.7, 108.0, 107.5, 107.8, 113.9), 1):
        send(studio, str(mm), piece=str(piece), confirmed="yes")
    address = "26-01/?form=Handled+cup&what=height&stage=thrown"
    assert "Stop and re-gauge: outside the limits" in studio.get(f"/bench/measure/{address}").content.decode()
    shown = studio.get(f"/bench/measure/{address.replace('/?', '/chart/?')}").content.decode()
    assert "<strong>Outside the limits.</strong> Stop and re-gauge at 9." in shown
    assert "<svg" in shown


def test_the_handbooks_flow_rates_give_the_handbooks_limits(studio: Client, demo: Commission) -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2, ten flow rates: middle 50.81, limits 55.8041 and 45.8159; typed in as heights."""
    for piece, value in enumerate((49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1), 1):
        send(studio, str(value), piece=str(piece), stage="trimmed", confirmed="yes")
    shown = studio.get("/bench/measure/26-01/chart/?form=Handled+cup&what=height&stage=trimmed").content.decode()
    for words in ("middle 50.81", "upper limit 55.8", "lower limit 45.82", "Carry on"):
        assert words in shown


def test_fired_ware_is_held_against_what_was_agreed(studio: Client, demo: Commission) -> None:
    for piece, mm in enumerate((94.4, 95.1, 95.6, 94.9, 95.2, 94.7), 1):
        send(studio, str(mm), piece=str(piece), stage="fired", confirmed="yes")
    shown = studio.get("/bench/measure/26-01/chart/?form=Handled+cup&what=height&stage=fired").content.decode()
    assert "Against what was agreed" in shown
    assert "in 1,000 outside" in shown


def test_boards_measured_alike_are_charted_by_their_means(studio: Client, demo: Commission) -> None:
    for number in range(1, 6):
        board = put_up(demo, 8, "thrown")
        for piece, mm in enumerate((107.4, 108.0, 107.1), 1):
            send(studio, str(mm + 0.1 * number * (-1) ** number), board=board.code, piece=str(piece))
    shown = studio.get(
        "/bench/measure/26-01/chart/?form=Handled+cup&what=height&stage=thrown&boards=yes"
    ).content.decode()
    assert "Height: means" in shown


def test_two_people_who_read_apart_are_told(studio: Client, demo: Commission) -> None:
    sent = {"what": "height", "person-0": "Ada", "person-1": "Ben", "span": "±2 mm"}
    for piece, mm in enumerate((95.0, 96.0, 94.0, 95.5, 94.6)):
        wobble = 0.05 * (-1) ** piece
        sent |= {f"r-0-{piece}-0": f"{mm}", f"r-0-{piece}-1": f"{mm + wobble}"}
        sent |= {f"r-1-{piece}-0": f"{mm + 1.0 + wobble}", f"r-1-{piece}-1": f"{mm + 1.0}"}
    page = studio.post("/bench/measure/gauge/", sent, follow=True)
    assert "Ben reads 1 mm more than Ada" in page.content.decode()
    record = GaugeReadings.objects.get()
    assert record.agreed_span == 4.0
    studio.post(f"/bench/measure/gauge/{record.pk}/")
    record.refresh_from_db()
    assert record.put_away is not None


def test_a_study_with_a_hole_keeps_what_was_typed_and_says_where(studio: Client, demo: Commission) -> None:
    page = studio.post("/bench/measure/gauge/", {"what": "height", "person-0": "Ada", "r-0-0-0": "95"})
    assert page.status_code == 422
    assert 'value="95"' in page.content.decode()
    assert not GaugeReadings.objects.exists()


def test_the_form_to_pencil_prints(studio: Client, demo: Commission) -> None:
    answer = studio.get("/bench/measure/26-01/grid.pdf?form=Handled+cup&stage=thrown")
    assert answer.content.startswith(b"%PDF")


def test_pages_have_an_empty_state_and_unknown_ones_are_not_there(studio: Client, demo: Commission) -> None:
    for page in ("", "26-01/", "26-01/chart/", "26-01/grid/", "gauge/"):
        assert studio.get(f"/bench/measure/{page}").status_code == 200, page
    for page in ("26-99/", "26-99/chart/", "gauge/7/"):
        assert studio.get(f"/bench/measure/{page}").status_code == 404, page


def weigh_in(studio: Client, board: str, grams: float, ago_h: float) -> None:
    """A weigh-in so many hours ago: the phone kept it that long."""
    row = {"key": fresh_key(), "kind": "measure", "what": "weigh-in", "value": str(grams), "board": board, "piece": "1"}
    row |= {"made": 0, "sent": ago_h * 3600e3}
    answer = studio.post("/bench/entries/", json.dumps({"entries": [row]}), content_type="application/json").json()
    assert answer["results"][0]["state"] == "kept", answer


def test_two_weights_put_the_drying_on_the_boards_page_and_on_today(studio: Client, demo: Commission) -> None:
    board = put_up(demo, 12, "thrown", ago_h=8.0)
    assert "Drying, by" not in studio.get(f"/bench/{board.code}/").content.decode()
    weigh_in(studio, board.code, 480.0, 7.5)
    weigh_in(studio, board.code, 468.0, 0.5)
    page = studio.get(f"/bench/{board.code}/").content.decode()
    assert "Drying, by 2 weights" in page
    assert "Ready to trim" in page
    assert f"{board.code}: look whether it can be trimmed|" in page
    assert "Bone dry" in page
    today = studio.get("/bench/today/").content.decode()
    assert "by its weights" in today


def unwrap(studio: Client, board: str, ago_h: float) -> None:
    row = {"key": fresh_key(), "kind": "unwrap", "board": board, "made": 0, "sent": ago_h * 3600e3}
    studio.post("/bench/entries/", json.dumps({"entries": [row]}), content_type="application/json")


def test_ware_whose_weights_agree_is_called_dry_enough_and_never_safe(studio: Client, demo: Commission) -> None:
    board = put_up(demo, 12, "drying", ago_h=260.0)
    unwrap(studio, board.code, 250.0)
    for ago_h, grams in ((240.0, 400.0), (30.0, 345.5), (1.0, 345.2)):
        weigh_in(studio, board.code, grams, ago_h)
    page = studio.get(f"/bench/{board.code}/").content.decode()
    assert "Dry enough" in page
    assert "steam" in page
    assert "dry enough by its last two weights" in studio.get("/bench/today/").content.decode().lower()


def test_weights_that_agree_under_a_cover_say_nothing(studio: Client, demo: Commission) -> None:
    """Wrapped ware loses nothing and is wet."""
    board = put_up(demo, 12, "drying", ago_h=260.0)
    for ago_h, grams in ((30.0, 400.5), (1.0, 400.2)):
        weigh_in(studio, board.code, grams, ago_h)
    unwrap(studio, board.code, 0.0)
    assert "Dry enough" not in studio.get(f"/bench/{board.code}/").content.decode()


@settings(deadline=None)
@given(
    typed=st.text(max_size=40) | st.from_regex(r"[A-Z,]{0,6}[+-]?[0-9.,]{1,9} ?[a-z%]{0,3}", fullmatch=True),
    what=st.sampled_from(sorted(KNOWN)),
)
def test_whatever_is_typed_is_a_number_or_refused_with_a_mend(typed: str, what: str) -> None:
    try:
        assert isinstance(read_value(what, typed), float)
    except WareboardError as problem:
        assert problem.mend


@pytest.mark.parametrize(
    "sent",
    [
        {"what": "colour"},
        {"what": "height", "value": ""},
        {"what": "height", "value": "nan"},
        {"what": "height", "value": "9" * 180},
        {"what": "height", "value": "107", "commission": "26-77"},
        {"what": "height", "value": "107", "form": "Vase"},
        {"what": "weigh-in", "value": "400"},
        {"what": "weigh-in", "value": "400", "board": "Z999"},
        {"what": "pick-up", "value": "310"},
        {"what": "pick-up", "value": "310", "before": "300", "bucket": "9" * 40},
        {"what": "pick-up", "value": "310", "before": "300", "bucket": "seven"},
        {"what": "pick-up", "value": "310", "before": "300", "area": "big"},
        {"what": "pick-up", "value": "310", "before": "300", "dwell": "2 h"},
    ],
)
def test_bad_entries_are_refused_in_words_and_the_rest_of_the_list_goes_on(
    studio: Client, demo: Commission, sent: dict[str, str]
) -> None:
    good = {"key": fresh_key(), "kind": "measure", "what": "height", "value": "107.4"} | CUP
    rows = [{"key": fresh_key(), "kind": "measure"} | CUP | sent, good]
    answer = studio.post("/bench/entries/", json.dumps({"entries": rows}), content_type="application/json").json()
    assert [each["state"] for each in answer["results"]] == ["refused", "kept"]
    assert len(answer["results"][0]["words"]) > 20


def test_strange_addresses_still_give_a_page(studio: Client, demo: Commission) -> None:
    for asked in (
        "form=Vase",
        "what=colour",
        "stage=sideways",
        "board=Z9",
        "rows=x",
        "rows=99999",
        "what=weigh-in",
        "what=pick-up",
    ):
        for page in ("", "chart/", "grid/"):
            assert studio.get(f"/bench/measure/26-01/{page}?{asked}").status_code == 200, (page, asked)


def test_a_helper_measures_and_a_reader_only_looks() -> None:
    pages = ("bench-measures", "bench-measure", "bench-chart", "bench-measure-grid", "bench-gauge", "bench-gauge-study")
    assert all(may("helper", page, "POST") for page in pages)
    assert all(may("reader", page, "GET") and not may("reader", page, "POST") for page in pages)
