"""Logs are kept as they came and read; packs, parts and loads are kept; the backup holds them all."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from django.db import connection

from tests.book_firings.conftest import BY, curve_csv, glaze_fields
from wareboard.book.firings import kiln_model, log_summary, reckoning, recording, signing
from wareboard.book.firings.models import Firing, Kiln, MovedLoad
from wareboard.book.firings.offsets import offsets
from wareboard.errors import Unreadable
from wareboard.kiln.schedule import glaze_schedule
from wareboard.plan.workshop import Kiln as WorkshopKiln


def cone_rows(bottom: float, top: float) -> list[dict[str, object]]:
    """Target cones on two levels; guide flat and guard upright."""
    pack = {"guide": "5", "target": "6", "guard": "7", "guide_deg": 90.0, "guard_deg": 8.0, "by_clock": True}
    return [
        {"level": "bottom", "place": 0, **pack, "target_deg": bottom},
        {"level": "top", "place": 1, **pack, "target_deg": top},
    ]


def test_a_log_is_kept_as_it_came_and_reviewed_beside_the_schedule(firing: Firing) -> None:
    """The curve is the schedule's own, so its cone is the one it was solved for, and every segment is met: a law."""
    data = curve_csv()
    log = recording.keep_log(firing, data, "firing.csv", {}, BY)
    assert recording.content_of(log.file) == data
    assert log.trouble == ""
    told = log.summary["channels"][0]
    assert told["held"]["cone"] == "6"
    assert abs(told["held"]["position"] - 6.0) < 0.1
    assert told["peak_c"] == pytest.approx(glaze_schedule("6").peak_c, abs=2.0)
    assert all(met["reached_h"] is not None and abs(met["late_min"]) < 10.0 for met in told["met"])
    assert len(told["curve"]) <= log_summary.CURVE_POINTS + 2


def test_a_thinned_curve_keeps_its_peak_and_its_dip() -> None:
    hours = np.linspace(0.0, 20.0, 50_000)
    temps = 1000.0 * np.sin(hours / 20.0 * np.pi)
    temps[33_333], temps[20_000] = 1200.0, 5.0
    thin = np.array(log_summary.thinned(hours, temps))
    assert thin[:, 1].max() == 1200.0
    assert thin[1:-1, 1].min() == 5.0
    assert (np.diff(thin[:, 0]) > 0.0).all()
    assert (thin[0, 0], thin[-1, 0]) == (0.0, 20.0)


BAD = {
    "empty": b"",
    "binary": b"\x00\x01\x02\xff" * 200,
    "mixed": b"minutes,temp C\n0,20\n1,25 \xc3\xa9\n2,\xe9 30\n",
    "truncated": curve_csv()[:-3] + b"\n9999",
    "unsorted": b"minutes,temp C\n0,20\n30,80\n10,40\n90,200\n",
    "cold": curve_csv().replace(b"\n60.00,", b"\n60.00,-273\n61.00,", 1),
    "nan": curve_csv().replace(b"\n60.00,", b"\n60.00,NaN\n61.00,", 1),
    "words": b"this is not a log at all\nreally not\n",
}


@pytest.mark.parametrize("kind", BAD)
def test_a_log_that_cannot_be_read_is_kept_with_its_trouble(firing: Firing, kind: str) -> None:
    log = recording.keep_log(firing, BAD[kind], f"{kind}.csv", {}, BY)
    assert recording.content_of(log.file) == BAD[kind]
    assert log.trouble or log.findings
    if log.trouble:
        assert log.summary is None
        assert log.trouble.count(".") >= 1


@pytest.mark.parametrize("kind", ["cold", "nan"])
def test_read_again_with_bad_rows_left_out_tells_every_line(firing: Firing, kind: str) -> None:
    log = recording.keep_log(firing, BAD[kind], "log.csv", {}, BY)
    assert log.trouble
    assert [each["line"] for each in log.findings if each["kind"] == "left out"] == [32]
    log = recording.read_again(log, {"leave_out": True}, BY)
    assert log.trouble == ""
    assert log.summary["channels"][0]["held"]["cone"] == "6"
    assert signing.undo(log, BY).trouble


def test_a_log_larger_than_any_is_refused_with_its_size(firing: Firing, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(recording, "LARGEST_LOG", 10)
    with pytest.raises(Unreadable, match="larger than 200"):
        recording.keep_log(firing, b"0,1\n" * 10, "big.csv", {}, BY)


def test_samples_come_back_as_they_were_and_follow_another_cone(firing: Firing) -> None:
    log = recording.keep_log(firing, curve_csv(), "firing.csv", {}, BY)
    signing.change(firing, {"cone": "7"}, "Another cone", BY)
    firing.refresh_from_db()
    recording.review_again(firing)
    before, log.summary = log.summary, None
    log.refresh_from_db()
    assert log.summary["channels"][0]["held"]["position"] == pytest.approx(
        before["channels"][0]["held"]["position"], abs=1e-3
    )
    assert log.summary["channels"][0]["lean_deg"] < before["channels"][0]["lean_deg"]


def test_packs_are_read_together_and_give_one_change(firing: Firing) -> None:
    recording.keep_cones(firing, cone_rows(bottom=20.0, top=90.0), BY)
    review = reckoning.fired(firing).review
    assert review is not None
    assert review.uneven_c > 5.0
    assert review.levels[0].level == "bottom"
    assert review.advice.change


def test_packs_that_contradict_are_an_answer_with_words(firing: Firing) -> None:
    rows = cone_rows(50.0, 60.0)
    rows[0] |= {"guide_deg": 8.0, "guard_deg": 90.0}
    recording.keep_cones(firing, rows, BY)
    assert "a softer cone goes down first" in reckoning.fired(firing).trouble


def test_offset_drift_and_wear_come_from_the_records(kiln: Kiln) -> None:
    """A thermocouple that reads 10 °C low on every firing is told as some +10 °C pulled towards no offset: a law."""
    for at in range(5):
        each = recording.new_firing(kiln, {**glaze_fields(date(2026, 11, 1 + at)), "kwh": 60.0 + at}, BY)
        recording.keep_log(each, curve_csv(late_c=-10.0), f"{at}.csv", {}, BY)
        recording.keep_cones(each, cone_rows(85.0, 85.0), BY)
    found = reckoning.firings_of(kiln, 10)
    offset = offsets(kiln.name, found)[0].levels["top"]
    assert offset.firings == 5
    assert offset.c.low < offset.c.value < offset.c.high
    assert reckoning.drift(found) is not None
    model = kiln_model.estimated(kiln_model.whole(WorkshopKiln(name=kiln.name, power_kw=8.0))).model
    wear = reckoning.wear(kiln, found, model, glaze_schedule("6"), date(2026, 11, 25))
    assert wear.firings == 5
    assert wear.words


def test_parts_are_counted_from_their_change(kiln: Kiln) -> None:
    for day in (1, 2, 3):
        recording.new_firing(kiln, glaze_fields(date(2026, 11, day)), BY)
    recording.keep_parts(kiln, {"part": "elements", "day": date(2026, 11, 2), "notes": ""}, BY)
    ages = {each.part: each for each in reckoning.part_ages(kiln)}
    assert (ages["elements"].firings, ages["elements"].since) == (1, date(2026, 11, 2))
    assert (ages["relays"].firings, ages["relays"].since) == (3, None)


def test_last_time_is_the_same_kind_in_the_same_kiln_with_a_log(kiln: Kiln) -> None:
    one, two, three = (recording.new_firing(kiln, glaze_fields(), BY) for _ in range(3))
    recording.keep_log(one, curve_csv(), "one.csv", {}, BY)
    recording.keep_log(two, b"", "two.csv", {}, BY)
    assert reckoning.before(three) == one


def test_a_load_moved_by_hand_is_kept_over_the_earlier_one_and_undone(db: None) -> None:
    recording.keep_moved("26-01", "glaze", 1, "a", [[1.0, 2.0]], BY)
    moved = recording.keep_moved("26-01", "glaze", 1, "a", [[3.0, 2.0]], BY)
    assert MovedLoad.objects.count() == 1
    assert signing.undo(moved, BY).places == [[1.0, 2.0]]


def test_a_kilns_wall_is_that_of_a_cylinder_or_a_box() -> None:
    """Closed forms: lid, floor and side of a cylinder; six faces of a box; both through the middle of the brick."""
    round_kiln = WorkshopKiln(name="a", shape="round", shelf_diameter=500.0, usable_height=600.0)
    across, high = 0.614, 0.664
    assert kiln_model.wall_area_m2(round_kiln) == pytest.approx(np.pi * across**2 / 2 + np.pi * across * high)
    box = WorkshopKiln(name="b", shape="rectangular", shelf_width=400.0, shelf_depth=500.0, usable_height=600.0)
    w, d = 0.514, 0.614
    assert kiln_model.wall_area_m2(box) == pytest.approx(2 * (w * d + w * high + d * high))


@pytest.mark.django_db(transaction=True)
def test_the_backup_holds_the_firings(tmp_path: Path) -> None:
    from wareboard.book import backup

    firing = recording.new_firing(recording.kiln_named("Kiln", BY), glaze_fields(), BY)
    recording.keep_log(firing, curve_csv(), "firing.csv", {}, BY)
    records = tmp_path / backup.RECORDS
    with closing(sqlite3.connect(connection.settings_dict["NAME"])) as old, closing(sqlite3.connect(records)) as new:
        old.backup(new)
    elsewhere = tmp_path / "elsewhere"
    backup.restore(elsewhere, backup.back_up(tmp_path, tmp_path / "backup.zip"))
    with closing(sqlite3.connect(elsewhere / backup.RECORDS)) as restored:
        assert restored.execute("SELECT name FROM firings_keptfile").fetchall() == [("firing.csv",)]
