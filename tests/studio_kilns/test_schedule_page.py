"""The schedule page: solved for a cone, written by hand, refused in words; its card and its CSV say the same."""

from __future__ import annotations

import csv
import io
import re
from urllib.parse import urlencode

import pikepdf
import pytest
from django.test import Client

from wareboard.kiln.cone import end_point_c
from wareboard.kiln.schedule import bisque_schedule, glaze_schedule
from wareboard.plan.workshop import Firing as FiringHabits
from wareboard.sheets.firing_card import segment_rows
from wareboard.studio.kilns.schedule_form import ScheduleForm, asked_for, with_habits
from wareboard.studio.kilns.schedule_pages import heat_of
from wareboard.studio.kilns.schedule_text import lines_of, schedule_of

PLACE = "/kilns/schedule/"
SENT = {"kind": "glaze", "cone": "6", "form": "self-supporting"}


def by_hand(*rows: tuple[object, object, object]) -> dict[str, str]:
    asked = {**SENT, "do": "hand"}
    for at, row in enumerate(rows, 1):
        asked |= {f"{what}-{at}": str(value) for what, value in zip(("rate", "target", "stay"), row, strict=True)}
    return asked


def page(client: Client, asked: dict[str, str], status: int = 200) -> str:
    response = client.get(PLACE, asked)
    assert response.status_code == status
    return response.content.decode()


def test_without_a_word_it_solves_the_workshops_glaze_firing(client: Client, db: None) -> None:
    shown = page(client, {})
    peak = glaze_schedule("6", 15.0).peak_c
    for words in (f"{peak:.0f} °C", "Hold against peak", "Cone 6", "quartz 573", "Old round kiln", "a check alone"):
        assert words in shown, words


def test_hold_and_peak_are_both_shown_and_no_hold_ends_at_the_printed_end_point(client: Client, db: None) -> None:
    """Without a hold the peak is the chart's own end point for the last rate (cone chart, 60 °C/h)."""
    shown = page(client, {**SENT, "hold": "30 min"})
    assert f"{end_point_c('6', 60.0):.0f} °C" in shown
    assert "30\N{NO-BREAK SPACE}min <strong>(this one)</strong>" in shown


def test_a_plain_ramp_by_hand_to_the_printed_end_point_brings_that_cone_down(client: Client, db: None) -> None:
    """Cone chart, self-supporting cone 6 at 60 °C/h: the printed figure, ramped to and no further."""
    shown = page(client, by_hand((60, f"{end_point_c('6', 60.0):.0f}", 0)))
    assert re.search(r'big-words">Cone 6<', shown)
    assert 'name="do" value="hand"' in shown


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (by_hand((100, 20, 0)), "goes nowhere"),
        (by_hand(), "it has no segment"),
        (by_hand((100, "NaN", 0)), "not a number and °C, °F or K"),
        (by_hand(("NaN", 1000, 0)), "not a finite number"),
        (by_hand((100, -273, 0)), "target of a segment is -273"),
        (by_hand((0, 1200, 0), ("fast", 100, 0)), "segment 2"),
        (by_hand(*[(100, 500 + at, 0) for at in range(41)]), "no controller takes more than 40"),
        ({**SENT, "cone": "77"}, "cone 77"),
        ({**SENT, "hold": "forever"}, "forever"),
        ({**SENT, "thickest": "1 m"}, "1000"),
        ({**SENT, "form": "small", "cone": "13"}, "cone 13, small"),
        ({**SENT, "kind": "raku"}, "raku"),
        ({**SENT, "kind": "bisque", "candle": "90 h"}, "candle is 90 h"),
    ],
)
def test_odd_schedules_are_told_in_words_and_stay_in_their_boxes(
    client: Client, db: None, asked: dict[str, str], words: str
) -> None:
    shown = page(client, asked, 422)
    assert words in shown
    for name, value in asked.items():
        if name.startswith(("rate", "target")) and name[-2:] != "41":
            assert f'value="{value}"' in shown


def test_a_kiln_too_weak_for_the_schedule_is_told(client: Client, workshop_folder, db: None) -> None:  # type: ignore[no-untyped-def]
    text = (workshop_folder / "workshop.toml").read_text().replace("power_kw = 8.0", "power_kw = 3.0")
    (workshop_folder / "workshop.toml").write_text(text)
    shown = page(client, {**SENT, "kiln": "old-round-kiln"})
    assert "cannot finish this program" in shown
    assert "stalls at some" in shown


def test_the_csv_and_the_card_say_what_the_page_says(client: Client, db: None) -> None:
    query = urlencode({**SENT, "hold": "20 min", "kiln": "old-round-kiln"})
    rows = list(csv.DictReader(io.StringIO(client.get(f"{PLACE}segments.csv?{query}").content.decode())))
    made = glaze_schedule("6", 20.0)
    assert [float(row["target_c"]) for row in rows] == [each.target_c for each in made.segments]
    response = client.get(f"{PLACE}card.pdf?{query}")
    assert response.headers["Content-Type"] == "application/pdf"
    with pikepdf.open(io.BytesIO(response.content)) as pdf:
        assert pdf.Root.get("/MarkInfo") is not None
        assert len(pdf.pages) == 1
    assert client.get(f"{PLACE}card.pdf?{query}").content == response.content
    assert client.get(f"{PLACE}card.pdf?cone=99&kind=glaze").status_code == 404


def test_a_cards_last_segment_ends_where_the_schedule_does() -> None:
    made = glaze_schedule("6", 15.0, slow_cool=True)
    hours, minutes = re.fullmatch(r"(\d+) h (\d\d)", segment_rows(made)[-1][4]).groups()  # type: ignore[union-attr]
    assert int(hours) + int(minutes) / 60.0 == pytest.approx(made.duration_h, abs=1.0 / 60.0)


def test_lines_and_schedules_are_the_same_there_and_back() -> None:
    made = glaze_schedule("6", 15.0, slow_cool=True, thickest_mm=12.0)
    again = schedule_of(lines_of(made), made.name, made.cone, made.form, made.kind)
    assert again.segments == made.segments


def test_lines_in_fahrenheit_are_the_same_schedule() -> None:
    """By definition 0 °C is 32 °F and a degree of one is 1.8 of the other (NIST SP 811, appendix B.8)."""
    told = schedule_of("108 F/h; 1112 °F; 10 min\n60 °C/h; 1200", "by hand", "6", "self-supporting", "glaze")
    assert [each.target_c for each in told.segments] == pytest.approx([600.0, 1200.0])
    assert [each.hold_min for each in told.segments] == [10.0, 0.0]
    assert [each.rate_c_per_h for each in told.segments] == pytest.approx([60.0, 60.0])


def test_a_link_that_names_kind_and_cone_alone_opens_with_the_usual_figures(client: Client, db: None) -> None:
    shown = page(client, {"kind": "bisque", "cone": "04"})
    assert f"{bisque_schedule('04').peak_c:.0f} °C" in shown


def test_what_the_workshop_fires_fills_what_was_left_out() -> None:
    given = with_habits({"kind": "bisque"}, FiringHabits(bisque_cone="05", cone_form="large"), [])
    form = ScheduleForm(given, [])
    assert form.is_valid(), form.errors
    made = asked_for(form, [], given).schedule
    assert (made.cone, made.form, made.kind) == ("05", "large", "bisque")
    assert abs(heat_of(made).position - (-4.0)) < 0.15


def test_the_page_tells_cost_and_what_a_fuller_load_changes(client: Client, db: None) -> None:
    shown = page(client, {})
    for words in ("What that costs", "What a fuller load changes", "Twice as much", "Half of it"):
        assert words in shown, words
    without = page(client, {**SENT, "kiln": ""})
    assert "What a fuller load changes" not in without
