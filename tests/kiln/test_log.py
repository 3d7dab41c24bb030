"""Logs of many loggers, invented, read into seconds and °C; bad ones refused with their line."""

from __future__ import annotations

import datetime
import io
import re
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wareboard.errors import NotInTable, Unreadable, WareboardError
from wareboard.kiln.cone import equivalent
from wareboard.kiln.log import FiringLog, parse, read, without_spikes
from wareboard.kiln.log_order import misplaced
from wareboard.kiln.thermocouple import millivolts

STEP_S = 60.0
TIMES = np.arange(0.0, 8.0 * 3600.0 + 1.0, STEP_S)
TEMPS = np.round(np.interp(TIMES, [0.0, 7.0 * 3600.0, 8.0 * 3600.0], [20.0, 1222.0, 1000.0]), 1)
START = datetime.datetime(2026, 3, 4, 20, 30)  # noqa: DTZ001 a logger's clock has no zone


def stamps(style: str) -> list[str]:
    return [(START + datetime.timedelta(seconds=float(second))).strftime(style) for second in TIMES]


def rows(times: list[str], temps: list[str], heading: str, by: str = ",") -> str:
    return "\n".join([heading, *(f"{a}{by}{b}" for a, b in zip(times, temps, strict=True))]) + "\n"


PLAIN = [f"{temp:.1f}" for temp in TEMPS]
SECONDS = [f"{second:.0f}" for second in TIMES]
WELL_MADE = {
    "seconds and commas": rows(SECONDS, PLAIN, "time (s),temperature (°C)"),
    "minutes": rows([f"{s / 60:.0f}" for s in TIMES], PLAIN, "Elapsed min,Kiln temp C"),
    "hours": rows([f"{s / 3600:.6f}" for s in TIMES], PLAIN, "hours,deg C"),
    "no heading": rows(SECONDS, PLAIN, "")[1:],
    "semicolon and decimal comma": rows(SECONDS, [p.replace(".", ",") for p in PLAIN], "s;Temp °C", ";"),
    "tab": rows(SECONDS, PLAIN, "time s\ttemp", "\t"),
    "spaces": rows(SECONDS, PLAIN, "time_s temp", "   "),
    "quoted decimal comma": rows(SECONDS, [f'"{p.replace(".", ",")}"' for p in PLAIN], '"time s","temp °C"'),
    "trailing delimiter": rows(SECONDS, [p + ";" for p in PLAIN], "time s;temp °C;", ";"),
    "year first": rows(stamps("%Y-%m-%d %H:%M:%S"), PLAIN, "timestamp,temp °C"),
    "year first with T and Z": rows(stamps("%Y-%m-%dT%H:%M:%SZ"), PLAIN, "timestamp,temp °C"),
    "day first with dots": rows(stamps("%d.%m.%Y %H:%M"), PLAIN, "Datum;temp °C", ";"),
    "day first with strokes": rows(stamps("%d/%m/%Y %H:%M:%S"), PLAIN, "date,temp °C"),
    "month first": rows(stamps("%m/%d/%Y %H:%M:%S"), PLAIN, "date,temp °C"),
    "short year, half days": rows(stamps("%m/%d/%y %I:%M:%S %p"), PLAIN, "date,temp °C"),
    "date and clock apart": rows(stamps("%d/%m/%Y,%H:%M:%S"), PLAIN, "date,time,temp °C"),
    "clock over midnight": rows(stamps("%H:%M:%S"), PLAIN, "time,temp °C"),
    "fahrenheit": rows(SECONDS, [f"{1.8 * t + 32:.2f}" for t in TEMPS], "time (s),temp (°F)"),
    "fahrenheit untold": rows(SECONDS, [f"{1.8 * t + 32:.2f}" for t in TEMPS], "time (s),temp"),
    "preamble": "Logger 7\nserial,0042\n\n" + rows(SECONDS, PLAIN, "time (s),temp °C"),
    "carriage returns": rows(SECONDS, PLAIN, "time (s),temp °C").replace("\n", "\r\n"),
    "blank lines": rows(SECONDS, PLAIN, "time (s),temp °C").replace("\n", "\n\n"),
    "other columns": rows(SECONDS, [f"{p},1250,65" for p in PLAIN], "time (s),temp °C,setpoint °C,power %"),
    "epoch": rows([f"{1.77e9 + s:.0f}" for s in TIMES], PLAIN, "stamp,temp °C"),
    "newest first": rows(SECONDS[::-1], PLAIN[::-1], "time (s),temp °C"),
}


@pytest.mark.parametrize("style", WELL_MADE)
def test_any_loggers_csv_is_read(style: str) -> None:
    log = parse(WELL_MADE[style])
    np.testing.assert_allclose(log.times_s, TIMES, atol=0.01)
    np.testing.assert_allclose(log.temps_c, TEMPS, atol=0.01)
    assert len(log.channels) == 1


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_bytes_of_any_usual_encoding_are_read(encoding: str) -> None:
    log = parse(WELL_MADE["seconds and commas"].encode(encoding))
    np.testing.assert_allclose(log.temps_c, TEMPS)
    assert any(found.kind == "encoding" for found in log.findings) == (encoding == "cp1252")


def test_a_path_and_an_open_file_give_the_same_log(tmp_path: Path) -> None:
    place = tmp_path / "firing.csv"
    place.write_text(WELL_MADE["tab"], encoding="utf-8")
    by_path, by_name = read(place), read(str(place))
    with place.open("rb") as file:
        by_bytes = read(file)
    by_text = read(io.StringIO(WELL_MADE["tab"]))
    for log in (by_name, by_bytes, by_text):
        np.testing.assert_array_equal(log.temps_c, by_path.temps_c)


def test_several_thermocouples_stand_side_by_side() -> None:
    log = parse(rows(SECONDS, [f"{t},{t + 8},{t - 12}" for t in TEMPS], "time s,top °C,middle °C,bottom °C"))
    assert log.temps_c.shape == (len(TIMES), 3)
    assert log.channels == ("top °C", "middle °C", "bottom °C")
    np.testing.assert_allclose(log.channel("middle °C") - log.channel(0), 8.0)
    assert equivalent(log.times_s, log.channel(1)).position > equivalent(log.times_s, log.channel(2)).position
    with pytest.raises(NotInTable, match="top °C, middle °C"):
        log.channel("lid")


@pytest.mark.parametrize("kind", ["K", "S"])
def test_millivolts_are_turned_with_the_cold_junction(kind: str) -> None:
    """Written with the reference functions (NIST ITS-90), whose printed values test_thermocouple meets."""
    force = millivolts(TEMPS, kind) - float(millivolts(25.0, kind))
    text = rows(SECONDS, [f"{f:.5f}" for f in force], "time s,temp mV")
    np.testing.assert_allclose(parse(text, unit=f"mV-{kind}", cold_junction_c=25.0).temps_c, TEMPS, atol=0.02)
    with pytest.raises(Unreadable, match="type of wire"):
        parse(text)


def broken(line: int, new: str | None) -> str:
    """The plain log with one line of the file (counted from 1) changed, or left out."""
    lines = WELL_MADE["seconds and commas"].splitlines()
    lines[line - 1 : line] = [] if new is None else [new]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ("", "empty"),
        (b"", "empty"),
        (" \n\n", "empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "line 3.*binary"),
        (broken(100, "5880"), "line 100.*1 of 2 fields"),
        (broken(482, "28800"), r"line 482 of the log \(the last line: the file was cut off\)"),
        (WELL_MADE["seconds and commas"].encode() + b"28860,999.0\xb0\n", "line 483.*another encoding"),
        (broken(50, "2880,NaN"), "line 50.*missing"),
        (broken(50, "2880,"), "line 50.*missing"),
        (broken(50, "2880,-273.0"), "line 50.*-273.*no kiln"),
        (broken(50, "2880,9999"), "line 50.*9999"),
        (broken(50, "2880,twelve"), "line 50.*'twelve' is no number"),
        ("only,words\nin,here\n", "no row in it holds"),
        (rows(SECONDS, PLAIN, "time s,setpoint °C"), "none of its columns is a temperature"),
        (rows([*stamps("%H:%M:%S")[:9], "later", *stamps("%H:%M:%S")[10:]], PLAIN, "time,temp"), "line 11.*'later'"),
        (rows([*stamps("%d/%m/%Y %H:%M")[:9], "44/44/2026 20:40"], PLAIN[:10], "date,temp"), "line 11.*'44/44/2026'"),
    ],
)
def test_a_bad_log_is_refused_with_its_line(data: str | bytes, said: str) -> None:
    with pytest.raises(Unreadable, match=said):
        parse(data)


def test_rows_out_of_order_are_refused() -> None:
    order = np.random.default_rng(7).permutation(len(TIMES))
    with pytest.raises(Unreadable, match=r"line \d+ .*out of order"):
        parse(rows([SECONDS[at] for at in order], [PLAIN[at] for at in order], "time s,temp °C"))


def reordered(order: list[int]) -> FiringLog:
    return parse(rows([SECONDS[at] for at in order], [PLAIN[at] for at in order], "time s,temp °C"))


ALL = list(range(len(TIMES)))


@pytest.mark.parametrize(
    ("order", "lines"),
    [
        ([*ALL[:100], 101, 100, *ALL[102:]], "line 10[23] "),  # two rows changed about
        ([*ALL[:50], *ALL[90:], *ALL[50:90]], "lines 443 to 482 "),  # forty rows pasted at the end
        ([*ALL[300:], *ALL[:300]], "lines 2 to 182 "),  # the second half first
        ([*ALL[:40], *ALL[41:200], 40, *ALL[200:]], "line 201 "),  # one row pasted further down
    ],
    ids=["two rows", "a block at the end", "halves", "one row"],
)
def test_misplaced_rows_are_sorted_and_their_lines_told(order: list[int], lines: str) -> None:
    log = reordered(order)
    np.testing.assert_allclose(log.times_s, TIMES)
    np.testing.assert_allclose(log.temps_c, TEMPS)
    told = [found for found in log.findings if found.kind == "order"]
    assert len(told) == 1
    assert "clock reset" not in kinds(log)
    assert re.match(lines, told[0].words)
    assert [log.lines[at] for at in (0, -1)] == [2 + order.index(0), 2 + order.index(len(TIMES) - 1)]


def test_rows_misplaced_in_a_hold_are_told_from_a_clock_that_was_set_back() -> None:
    flat = ["1000.0"] * len(TIMES)
    order = [*ALL[:100], 101, 100, *ALL[102:]]
    assert "order" in kinds(parse(rows([SECONDS[at] for at in order], flat, "time s,temp °C")))
    back = [f"{s - (90.0 if s >= 14400.0 else 0.0):.0f}" for s in TIMES]
    assert kinds(parse(rows(back, flat, "time s,temp °C")))["clock reset"] == 242


@pytest.mark.parametrize("back_s", [90.0, 3600.0, 3620.0, 14400.0, 1.7e9])
def test_a_clock_set_back_is_never_taken_for_misplaced_rows(back_s: float) -> None:
    written = [f"{s + 2e9 - (back_s if s >= 14400.0 else 0.0):.0f}" for s in TIMES]
    log = parse(rows(written, PLAIN, "time s,temp °C"))
    assert kinds(log)["clock reset"] == 242
    np.testing.assert_allclose(log.times_s, TIMES)


def test_misplaced_rows_of_a_clock_without_a_date_are_sorted_past_midnight() -> None:
    order = [*ALL[:300], 301, 300, *ALL[302:]]
    clock = stamps("%H:%M:%S")
    log = parse(rows([clock[at] for at in order], [PLAIN[at] for at in order], "time,temp °C"))
    np.testing.assert_allclose(log.times_s, TIMES)
    assert {"midnight", "order"} <= kinds(log).keys()


def test_the_fewest_rows_are_called_misplaced() -> None:
    assert misplaced(np.array([1.0, 2.0, 9.0, 3.0, 4.0, 4.0, 5.0])) == [2]
    assert misplaced(np.array([4.0, 5.0, 1.0, 2.0, 3.0])) == [0, 1]
    assert misplaced(np.array([1.0, 1.0, 2.0])) == []


def test_two_gigabytes_are_refused_by_their_size_and_not_read(tmp_path: Path) -> None:
    large = tmp_path / "large.csv"
    with large.open("wb") as file:
        file.truncate(2_000_000_000)  # a sparse file: it takes no room on the disk
    tracemalloc.start()
    with pytest.raises(Unreadable, match=r"2\.0 GB.*Export one firing"):
        read(large)
    held = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert held < 5_000_000


def test_a_stream_without_end_is_given_up_at_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wareboard.kiln.log.MOST_BYTES", 10_000)

    class Endless(io.RawIOBase):
        asked = 0

        def read(self, size: int = -1) -> bytes:
            assert 0 < size <= 10_001, "more was asked for than may be held"
            self.asked += size
            return b"1,20.0\n" * (size // 7 + 1)

    stream = Endless()
    with pytest.raises(Unreadable, match="long"):
        read(stream)  # type: ignore[arg-type]  # as much of a file as is needed
    assert stream.asked <= 10_001
    with pytest.raises(Unreadable, match="long"):
        parse("x" * 10_001)


def test_a_log_that_is_not_there_is_told_in_words(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match=r"cannot be read.*Check the name"):
        read(tmp_path / "gone.csv")


@pytest.mark.parametrize("new", ["2880", "2880,NaN", "2880,-273", "2880,9999"])
def test_bad_rows_can_be_left_out_and_are_told(new: str) -> None:
    log = parse(broken(50, new), leave_out=True)
    assert len(log.times_s) == len(TIMES) - 1
    assert [(found.kind, found.line) for found in log.findings if found.kind == "left out"] == [("left out", 50)]


def kinds(log: FiringLog) -> dict[str, int]:
    return {found.kind: found.line for found in log.findings}


def test_a_gap_is_told_and_taken_as_straight() -> None:
    lines = WELL_MADE["seconds and commas"].splitlines()
    log = parse("\n".join(lines[:200] + lines[260:]))
    assert kinds(log)["gap"] == 201
    full = parse(WELL_MADE["seconds and commas"])
    assert equivalent(log.times_s, log.temps_c).ln_work("6") == pytest.approx(
        equivalent(full.times_s, full.temps_c).ln_work("6"), abs=1e-3
    )


def test_a_spike_is_told_left_in_and_can_be_taken_out() -> None:
    log = parse(broken(300, "17880,1400.0"))
    assert kinds(log)["spike"] == 300
    clean = without_spikes(log)
    assert len(clean.times_s) == len(log.times_s) - 1
    assert equivalent(clean.times_s, clean.temps_c).cone == equivalent(TIMES, TEMPS).cone
    assert equivalent(log.times_s, log.temps_c).position > equivalent(TIMES, TEMPS).position + 1.0


def test_a_clean_log_has_no_spikes_gaps_or_resets() -> None:
    log = parse(WELL_MADE["seconds and commas"])
    assert log.findings == ()
    assert without_spikes(log) is log


def test_repeated_times_are_told_and_add_no_heat_work() -> None:
    lines = WELL_MADE["seconds and commas"].splitlines()
    log = parse("\n".join([*lines[:100], lines[99], *lines[100:]]))
    assert kinds(log)["repeated"] == 101
    assert equivalent(log.times_s, log.temps_c).ln_works == pytest.approx(equivalent(TIMES, TEMPS).ln_works, abs=1e-9)


def test_a_reset_clock_is_told_and_carried_on() -> None:
    restarted = [f"{s:.0f}" if s < 14400 else f"{s - 14400:.0f}" for s in TIMES]
    log = parse(rows(restarted, PLAIN, "time s,temp °C"))
    assert kinds(log)["clock reset"] == 242
    np.testing.assert_allclose(log.times_s, TIMES)


def test_an_hour_put_back_in_autumn_is_told() -> None:
    shifted = [
        (START + datetime.timedelta(seconds=float(s - (3600 if s >= 14400 else 0)))).strftime("%Y-%m-%d %H:%M:%S")
        for s in TIMES
    ]
    log = parse(rows(shifted, PLAIN, "time,temp °C"))
    assert "clock reset" in kinds(log)
    np.testing.assert_allclose(log.times_s, TIMES)


def test_what_had_to_be_assumed_is_told() -> None:
    assert "°F" in str(next(f for f in parse(WELL_MADE["fahrenheit untold"]).findings if f.kind == "unit"))
    assert "day first" in str(next(f for f in parse(WELL_MADE["day first with strokes"]).findings if f.kind == "date"))
    assert parse(WELL_MADE["year first"]).started == "2026-03-04 20:30:00"


def test_options_override_what_would_be_assumed() -> None:
    text = rows(SECONDS, PLAIN, "time s,temp")
    np.testing.assert_allclose(parse(text, unit="F").temps_c, (TEMPS - 32.0) / 1.8)
    np.testing.assert_allclose(parse(rows(SECONDS, PLAIN, ",temp °C"), time_unit="min").times_s, TIMES * 60.0)
    with pytest.raises(NotInTable, match="mV-K"):
        parse(text, unit="kelvin")


def test_stamps_read_at_once_and_one_by_one_are_the_same() -> None:
    """Two roads through the reader: digits in the same places throughout, and one short stamp that breaks the pattern."""
    style = "%d/%m/%Y %H:%M:%S"
    even = rows(stamps(style), PLAIN, "date,temp °C")
    uneven = even.replace(stamps(style)[3], stamps(style)[3].replace("04/03", "4/3"))
    assert len(uneven) < len(even)
    np.testing.assert_array_equal(parse(even).times_s, parse(uneven).times_s)


def test_parts_of_a_second_are_read() -> None:
    times = [f"2026-03-04 20:30:{second:06.3f}" for second in np.arange(0.0, 50.0, 0.125)]
    log = parse(rows(times, PLAIN[: len(times)], "time,temp °C"))
    np.testing.assert_allclose(np.diff(log.times_s), 0.125, atol=1e-5)


SCRAPS = st.sampled_from(
    [
        "",
        "12",
        "12.5",
        "1,5",
        "-",
        "NaN",
        "1e9",
        "20:30",
        "20:30:15",
        "2026-03-04",
        "04/03/2026",
        "99/99/99",
        "°C",
        ";",
        "x",
        "PM",
    ]
)


@settings(max_examples=300, deadline=None)
@given(
    st.one_of(
        st.binary(max_size=60),
        st.text(max_size=80),
        st.lists(st.lists(SCRAPS, max_size=4).map(",".join), max_size=8).map("\n".join),
        st.lists(st.lists(SCRAPS, min_size=2, max_size=3).map(";".join), max_size=8).map("\n".join),
    ),
    st.booleans(),
)
def test_any_file_at_all_is_read_or_refused_in_words(data: bytes | str, leave_out: bool) -> None:
    try:
        log = parse(data, leave_out=leave_out)
    except WareboardError as exc:
        assert exc.mend
    else:
        assert np.isfinite(log.times_s).all()
        assert (np.diff(log.times_s) >= 0.0).all()
        assert np.isfinite(log.temps_c).all()
        assert len(log.lines) == len(log.times_s)


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 481), SCRAPS, st.integers(0, 1), st.sampled_from(sorted(WELL_MADE)))
def test_one_damaged_field_is_read_or_refused_in_words(line: int, scrap: str, field: int, style: str) -> None:
    lines = WELL_MADE[style].splitlines()
    at = line % len(lines)
    parts = lines[at].split(",")
    parts[field % len(parts)] = scrap
    lines[at] = ",".join(parts)
    try:
        log = parse("\n".join(lines))
    except WareboardError as exc:
        assert exc.mend
    else:
        assert (np.diff(log.times_s) >= 0.0).all()
        assert np.isfinite(log.temps_c).all()


@pytest.mark.parametrize(
    ("heading", "seconds"), [("time_s", 1.0), ("elapsed_min", 60.0), ("t_h", 3600.0), ("Time (s)", 1.0)]
)
def test_a_unit_behind_a_low_line_is_read(heading: str, seconds: float) -> None:
    assert read(io.StringIO(f"{heading},temp_c\n0,20\n1,21\n2,22\n")).times_s[1] == seconds


@pytest.mark.parametrize("heading", ["temp_f", "temp_degF", "Temp (°F)", "tempF", "temp deg F"])
def test_fahrenheit_is_read_however_it_is_headed(heading: str) -> None:
    assert read(io.StringIO(f"time_s,{heading}\n0,68\n60,77\n120,86\n")).temps_c[1] == pytest.approx(25.0)
