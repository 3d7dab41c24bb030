"""The commands for a firing: schedule, log and packs."""

from __future__ import annotations

import csv
import io
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from wareboard.commands.firing import log_command, schedule_command
from wareboard.commands.packs import packs_command
from wareboard.errors import NotInTable, OutOfRange, Unreadable
from wareboard.kiln.energy_balance import balance_energy
from wareboard.kiln.schedule import bisque_schedule, glaze_schedule, plot_points
from wareboard.kiln.thermal import BRICK_23, KilnModel, Layer


def run(command: click.Command, *words: str) -> Result:
    return CliRunner().invoke(command, list(words))


def text_of(command: click.Command, *words: str) -> str:
    found = run(command, *words)
    assert found.exit_code == 0, found.exception
    assert "safe" not in found.output.lower()
    return found.output


def refusal(command: click.Command, *words: str) -> BaseException:
    found = run(command, *words)
    assert found.exit_code != 0
    assert found.exception is not None
    return found.exception


def logged(folder: Path, cone: str = "6", named: str = "top temp C") -> Path:
    """A logger's file of a perfect kiln that fires a glaze schedule and falls on to 900 °C, a sample every minute."""
    import numpy as np

    hours, temps = plot_points(glaze_schedule(cone))
    hours, temps = np.append(hours, hours[-1] + 1.5), np.append(temps, 900.0)
    minutes = np.arange(0.0, hours[-1] * 60.0)
    lines = [f"{60 * minute:.0f},{np.interp(minute / 60.0, hours, temps):.1f}" for minute in minutes]
    place = folder / "firing.csv"
    place.write_text(f"time s,{named}\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return place


def test_a_bisque_is_printed_to_the_end_point_that_is_published() -> None:
    """Self-supporting cone 04 at 60 °C/h ends at 1063 °C (kiln-s3)."""
    shown = text_of(schedule_command, "bisque", "04")
    assert shown.startswith("bisque, cone 04, self-supporting: peak 1063 °C")
    assert "4. 60 °C/h to 1063 °C" in shown
    for part in ("Working", "Look at", "infrared-rated glasses", "vent"):
        assert part in shown
    assert text_of(schedule_command, "bisque") == shown


def test_words_are_read_in_any_unit() -> None:
    metric = text_of(
        schedule_command, "glaze", "cone 6", "--thickest", "12.7 mm", "--hold", "30 min", "--start", "20 C"
    )
    assert metric == text_of(
        schedule_command, "glaze", "6", "--thickest", "1/2 in", "--hold", "0.5 h", "--start", "68 F"
    )


def test_the_segments_and_the_curve_are_written_as_files(tmp_path: Path) -> None:
    segments, curve = tmp_path / "s.csv", tmp_path / "s.svg"
    shown = text_of(schedule_command, "glaze", "6", "--csv", str(segments), "--svg", str(curve))
    assert "s.csv written." in shown
    lines = list(csv.DictReader(io.StringIO(segments.read_text(encoding="utf-8"))))
    assert [float(line["target_c"]) for line in lines] == [each.target_c for each in glaze_schedule("6").segments]
    assert ET.fromstring(curve.read_text(encoding="utf-8")).get("role") == "img"
    assert isinstance(refusal(schedule_command, "glaze", "--csv", str(tmp_path / "none" / "s.csv")), Unreadable)


def test_a_kiln_that_is_too_weak_and_a_wet_board_are_told_with_the_electrician() -> None:
    shown = text_of(schedule_command, "glaze", "--power", "5", "--wet", "4 %")
    assert "this kiln stalls at some" in shown
    assert "the wettest board holds 4.0 % water" in shown
    assert "electrician" in shown
    assert "stalls" not in text_of(schedule_command, "glaze", "--power", "9")
    assert "outruns this kiln" in text_of(schedule_command, "glaze", "--power", "9", "--worn", "25 %")


def test_options_that_belong_elsewhere_are_refused_by_name() -> None:
    assert "--slow-cool with bisque" in str(refusal(schedule_command, "bisque", "--slow-cool"))
    assert "--candle with glaze" in str(refusal(schedule_command, "glaze", "--candle", "2 h"))
    assert "--ware and --worn" in str(refusal(schedule_command, "glaze", "--ware", "20 kg", "--worn", "5 %"))
    assert isinstance(refusal(schedule_command, "glaze", "6a"), Unreadable | NotInTable)
    assert isinstance(refusal(schedule_command, "glaze", "--thickest", "200 mm"), OutOfRange)
    assert run(schedule_command, "raku").exit_code == 2


def test_a_log_is_read_as_its_cone_with_a_range(tmp_path: Path) -> None:
    """There and back: a firing solved for cone 6 by the published chart, written as a file and read as cone 6."""
    shown = text_of(log_command, str(logged(tmp_path)))
    assert "top temp C: cone 6 to the end of the hold (cone 6 \N{MINUS SIGN}0." in shown
    assert "Odd in the file\n  nothing" in shown
    assert "hold near 1209 °C" in shown
    assert "planned" not in shown


def test_plan_and_done_stand_side_by_side(tmp_path: Path) -> None:
    place = logged(tmp_path)
    shown = text_of(log_command, str(place), "--cone", "6", "--kind", "glaze")
    assert "glaze, cone 6, planned and done, by top temp C" in shown
    assert "3. 60 °C/h to 1209 °C, hold 15 min: 6" in shown
    assert "cone 6 leans some 90°" in shown
    other = text_of(log_command, str(place), "--kind", "glaze", "--cone", "8")
    assert "not seen in the log" in other


def test_what_is_odd_in_a_log_is_told_with_its_line(tmp_path: Path) -> None:
    place = logged(tmp_path)
    lines = place.read_text(encoding="utf-8").splitlines()
    lines[100] = lines[100].split(",")[0] + ",9999"
    place.write_text("\n".join(lines), encoding="utf-8")
    assert "line 101" in str(refusal(log_command, str(place)))
    shown = text_of(log_command, str(place), "--leave-out")
    assert "line 101: 9999 °C, which no kiln has" in shown


def test_files_that_are_no_log_are_refused_in_words(tmp_path: Path) -> None:
    assert "cannot be read" in str(refusal(log_command, str(tmp_path / "none.csv")))
    empty = tmp_path / "empty.csv"
    empty.write_bytes(b"")
    assert isinstance(refusal(log_command, str(empty)), Unreadable)


PACKS = """target = "6"
rate = 60
[[level]]
name = "bottom"
guide = 90
target = 30
guard = 8
[[level]]
name = "top shelf"
guide = 90
target = 90
guard = 45
"""


def test_packs_from_a_file_and_from_options_read_alike_and_end_in_one_change(tmp_path: Path) -> None:
    """A bottom that is two thirds of a cone colder than the top is opened up first (half a cone is common practice)."""
    place = tmp_path / "packs.toml"
    place.write_text(PACKS, encoding="utf-8")
    shown = text_of(packs_command, "--file", str(place))
    given = text_of(packs_command, "--target", "6", "--level", "bottom 90 30 8", "--level", "top shelf 90 90 45")
    assert shown == given
    assert shown.count("One change for the next firing") == 1
    assert "Open up bottom" in shown
    assert "infrared-rated glasses" in shown


def test_a_pack_at_the_end_point_is_the_target() -> None:
    """A bend of 90 degrees is the end point (kiln-s24); guide down, guard standing."""
    shown = text_of(packs_command, "--level", "middle 90 86 8")
    assert "middle: cone 6 (" in shown or "middle: cone 6 \N{MINUS SIGN}0.1 (" in shown
    assert "Stand a pack on every level" in shown


def test_a_clock_face_and_a_missing_cone_may_be_given() -> None:
    shown = text_of(packs_command, "--by-eye", "--target", "04", "--level", "middle 6 5 -")
    assert "Packs for cone 04" in shown
    assert "told by 04 at 76°" in shown


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("target = ", "not TOML"),
        ('[[pack]]\nname = "top"', "it has pack"),
        ("[[level]]\nname = 3", "a level has a name"),
        ('[[level]]\nname = "top"\nguard = 8\nlean = 4', "a level has a name"),
        ("level = 4", "a level has a name"),
        ('[[level]]\nname = "top"\ntarget = "steep"', "not a number"),
        ('[[level]]\nname = "top"', "it holds no cone"),
        ("target = true", "neither words nor a number"),
    ],
)
def test_a_file_of_packs_that_is_odd_is_refused_in_words(tmp_path: Path, text: str, told: str) -> None:
    place = tmp_path / "packs.toml"
    place.write_text(text, encoding="utf-8")
    assert told in str(refusal(packs_command, "--file", str(place)))


def test_packs_need_a_level_with_three_leans() -> None:
    assert "there are none" in str(refusal(packs_command))
    assert "bottom 90 45 8" in str(refusal(packs_command, "--level", "bottom 90"))
    assert "ends at 14" in str(refusal(packs_command, "--target", "14", "--level", "top 90 45 8"))


def test_the_plan_beside_a_log_is_the_schedule_of_the_room(tmp_path: Path) -> None:
    shown = text_of(log_command, str(logged(tmp_path)), "--kind", "bisque")
    for each in bisque_schedule("04").segments:
        assert f"{each.rate_c_per_h:g} °C/h to {each.target_c:g} °C" in shown


def test_a_price_tells_what_a_fuller_load_costs_and_is_refused_without_a_kiln() -> None:
    told = text_of(
        schedule_command, "glaze", "6", "--power", "10", "--price", "0.30", "--currency", "EUR", "--wall-area", "2"
    )
    assert "What a fuller load changes" in told
    balance = balance_energy(
        KilnModel(10.0, (Layer(BRICK_23, 64.0),), 2.0, 30.0, 25.0), glaze_schedule("6", 15.0), "glaze"
    )
    assert balance is not None
    assert f"{balance.kwh:.0f} kWh ({balance.low:.0f} to {balance.high:.0f}), by what takes the heat up" in told
    assert "check: by the usual share of full power" in told
    assert re.search(r"twice as much, 60 kg of ware: .* kWh, EUR \d+\.\d\d, open after \d+ h", told)
    assert isinstance(refusal(schedule_command, "glaze", "6", "--price", "0.30"), Unreadable)
    assert isinstance(refusal(schedule_command, "glaze", "6", "--power", "10", "--price", "-1"), OutOfRange)
