"""The commands that learn of the kiln itself: offsets, wear and fit-kiln."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from tests.commands.test_firing import logged, refusal, text_of
from wareboard.commands.kiln_records import fit_kiln_command, offsets_command, wear_command
from wareboard.errors import OutOfRange, Unreadable
from wareboard.kiln.calibrate import scaled
from wareboard.kiln.schedule import glaze_schedule
from wareboard.kiln.thermal import BRICK_23, KilnModel, Layer, simulate

PACK = """log = "{log}"
target = "6"
[[level]]
name = "top"
guide = 90
target = 80
guard = 20
[[level]]
name = "bottom"
guide = 90
target = 90
guard = 90
"""
SEEN = re.compile(r"top: .*, ([+−]\d+) °C beside the log")


def number(words: str) -> float:
    return float(words.replace("\N{MINUS SIGN}", "-"))


def packs(folder: Path, name: str, colder_c: float = 0.0) -> Path:
    """A firing of packs beside a log whose thermocouple reads so many °C low."""
    kept = logged(folder)
    head, *rows = kept.read_text(encoding="utf-8").splitlines()
    cells = [row.split(",") for row in rows]
    moved = [f"{second},{float(degrees) - colder_c:.1f}" for second, degrees in cells]
    (folder / f"{name}.csv").write_text("\n".join([head, *moved]) + "\n", encoding="utf-8")
    place = folder / f"{name}.toml"
    place.write_text(PACK.format(log=f"{name}.csv"), encoding="utf-8")
    return place


def test_a_thermocouple_that_reads_fifteen_degrees_low_adds_fifteen_to_the_offset(tmp_path: Path) -> None:
    """What was put in: the same packs, the same firing, and a log lowered by 15 °C throughout."""
    seen = [
        number(SEEN.findall(text_of(offsets_command, str(packs(tmp_path, name, low))))[0])
        for name, low in (("true", 0.0), ("low", 15.0))
    ]
    assert seen[1] - seen[0] == pytest.approx(15.0, abs=2.0)


def test_more_firings_pull_the_offset_from_its_prior_and_a_bound_does_not_count(tmp_path: Path) -> None:
    one, four = str(packs(tmp_path, "one", 30.0)), [str(packs(tmp_path, f"f{at}", 30.0)) for at in range(4)]
    learned = re.compile(r"the kiln, top: ([+−]\d+) °C \(([+−]\d+) to ([+−]\d+)\).*, from (\d) firing")
    told = [[number(each) for each in learned.findall(text_of(offsets_command, *files))[0]] for files in ([one], four)]
    assert told[0][0] < told[1][0]
    assert told[0][2] - told[0][1] > told[1][2] - told[1][1]
    assert [each[3] for each in told] == [1.0, 4.0]
    shown = text_of(offsets_command, one)
    assert "bottom: " in shown
    assert "only bounds it" in shown


def test_packs_without_a_log_or_with_another_thermocouple_are_refused(tmp_path: Path) -> None:
    place = packs(tmp_path, "one")
    assert "has top temp C" in str(refusal(offsets_command, str(place), "--thermocouple", "bottom"))
    place.write_text('target = "6"\n', encoding="utf-8")
    assert isinstance(told := refusal(offsets_command, str(place)), Unreadable)
    assert "names no log" in str(told)


def test_ohms_that_rise_evenly_reach_the_limit_where_the_line_does(tmp_path: Path) -> None:
    """What was put in: 16 ohm new and 0.2 % more at each firing; power goes as V²/R (Joule's and Ohm's laws)."""
    place = tmp_path / "wear.csv"
    last = 30
    rows = [f"{number},,,{16.0 * (1.0 + 0.002 * number):.4f}" for number in (1, 8, 15, 22, last)]
    place.write_text("firing,hours,kWh,ohm\n" + "\n".join(rows) + "\n", encoding="utf-8")
    shown = text_of(
        wear_command, str(place), "--power", "9.5", "--new-ohm", "16", "--a-week", "2", "--today", "2026-11-25"
    )
    limit = re.search(r"falls behind = new_kw / needed_kw - 1 = ([\d.]+)", shown)
    at = re.search(r"to its cone from about firing (\d+) \(\d+ to .*\), about (\d{4}-\d\d-\d\d)", shown)
    assert limit is not None, shown
    assert at is not None, shown
    firing = float(limit[1]) / 0.002
    assert float(at[1]) == pytest.approx(firing, abs=1.5)
    days = (date.fromisoformat(at[2]) - date(2026, 11, 25)).days
    assert days == pytest.approx((firing - last) * 3.5, abs=5.0)
    assert "electrician" in shown


def test_a_kiln_too_weak_from_the_start_is_said_to_be_instead_of_a_firing_before_the_first(tmp_path: Path) -> None:
    place = tmp_path / "wear.csv"
    place.write_text("firing,ohm\n1,16\n2,16.1\n3,16.2\n4,16.3\n", encoding="utf-8")
    shown = text_of(wear_command, str(place), "--power", "7")
    assert "could not keep this schedule to its cone even when new" in shown
    assert "firing -" not in shown.split("Working")[0]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "first line is empty"),
        ("firing,volts\n1,2\n", "firing, volts"),
        ("firing,ohm\n1,sixteen\n", "line 2"),
        ("firing,ohm\n1.5,16\n", "no whole number"),
        ("firing,ohm\n1,16,9\n", "more cells"),
    ],
)
def test_a_table_of_firings_that_cannot_be_read_names_its_line(tmp_path: Path, text: str, why: str) -> None:
    place = tmp_path / "wear.csv"
    place.write_text(text, encoding="utf-8")
    told = refusal(wear_command, str(place), "--power", "7")
    assert isinstance(told, Unreadable)
    assert why in str(told)


def test_a_kiln_with_known_factors_is_found_again_from_its_log(tmp_path: Path) -> None:
    """What was put in: a wall that conducts 1.2 times as well, a load that takes up 0.9 as much."""
    kiln = KilnModel(9.0, (Layer(BRICK_23, 64.0),), 2.2, 30.0, 25.0)
    run = simulate(scaled(kiln, 1.2, 0.9), glaze_schedule("6"), cool_to_c=100.0)
    every = np.arange(0.0, run.times_s[-1], 300.0)
    rows = [f"{at:.0f},{np.interp(at, run.times_s, run.chamber_c):.1f}" for at in every]
    place = tmp_path / "log.csv"
    place.write_text("time s,kiln C\n" + "\n".join(rows) + "\n", encoding="utf-8")
    shown = text_of(fit_kiln_command, str(place), "--power", "9", "--kwh", f"{run.put_in_kwh:.1f}")
    wall, load = (float(each) for each in re.findall(r"(?:through|up) ([\d.]+) times", shown))
    assert wall == pytest.approx(1.2, abs=0.05)
    assert load == pytest.approx(0.9, abs=0.05)


def test_a_log_that_ends_with_the_program_and_no_meter_is_refused(tmp_path: Path) -> None:
    schedule = glaze_schedule("6")
    rows = [f"{600 * at},{20 + at}" for at in range(int(schedule.duration_h * 6.0))]
    place = tmp_path / "log.csv"
    place.write_text("time s,kiln C\n" + "\n".join(rows) + "\n", encoding="utf-8")
    assert isinstance(refusal(fit_kiln_command, str(place), "--power", "9"), OutOfRange)
