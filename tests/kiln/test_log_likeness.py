"""What is a kiln's log and what is another table; every file here is invented."""

from __future__ import annotations

import numpy as np
import pytest

from wareboard.errors import Unreadable
from wareboard.kiln.log import parse

PRICES = "size cm;price\n8;12,50\n10;14,00\n12;16,50\n15;21,00\n18;26,00\n"
OUTLINE = "".join(f"{10 * at},{round(60 + 45 * np.sin(at / 3))}\n" for at in range(15))
CLOSED = "0,0\n45,0\n52,80\n40,110\n38,110\n0,4\n" * 3
PUPILS = "pupil,weight_g\n1,412\n2,409\n3,415\n4,398\n5,421\n"
UNHEADED_WEIGHTS = "".join(f"{at},{412 + 9 * (-1) ** at}\n" for at in range(1, 25))
BIG_WEIGHTS = "".join(f"{at},{2400 + 130 * (-1) ** at}\n" for at in range(1, 25))
DRYING = "time_h,weight_g\n" + "".join(f"{at},{612 - 3 * at}\n" for at in range(20))
BY_DAY = "date,kiln temp\n" + "".join(f"2026-03-{day:02d} 12:00,{20 + 40 * day}\n" for day in range(1, 20))
STILL = "time s,temp °C\n" + "0,20\n" * 20
MONEY = "time,temp\n" + "".join(f"09:{at:02d},{90000 + at}\n" for at in range(20))
CLOCKED_WEIGHTS = "".join(f"09:{at:02d},{412 + 9 * (-1) ** at}\n" for at in range(24))
SIZES_AND_TURNS = "height_mm,radius_mm\n0,40\n20,45\n40,48\n60,50\n"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (PRICES, "none of its columns is a temperature: size cm, price"),
        (PRICES.partition("\n")[2], "headings do not name a time and a temperature"),
        (OUTLINE, "nothing in it reaches 300 °C"),
        ("x,y\n" + OUTLINE, "none of its columns is a temperature: x, y"),
        (CLOSED, "nothing in it reaches 300 °C"),
        (PUPILS, "none of its columns is a temperature: pupil, weight_g"),
        (UNHEADED_WEIGHTS, "neither begins nor ends below 100 °C"),
        (BIG_WEIGHTS, "neither begins nor ends below 100 °C"),
        (DRYING, "none of its columns is a temperature: time_h, weight_g"),
        (BY_DAY, "24 h lie between one line and the next"),
        (STILL, "the time stands still"),
        (MONEY, "temperatures that no kiln and no room has"),
        (CLOCKED_WEIGHTS, "jumps to and fro"),
        (SIZES_AND_TURNS, "none of its columns is a temperature: height_mm, radius_mm"),
        ("weight_g,temp °C\n" + "412,20\n409,21\n415,22\n", "first column is headed 'weight_g', which is no time"),
    ],
)
def test_another_table_is_refused_with_what_speaks_against_it_and_the_mend(text: str, why: str) -> None:
    for leave_out in (False, True):
        with pytest.raises(Unreadable, match=f"{why}.*Choose the logger's own file") as refused:
            parse(text, leave_out=leave_out)
        assert refused.value.mend


def test_a_refusal_names_the_lines_and_the_columns() -> None:
    with pytest.raises(Unreadable) as refused:
        parse("serial,7\n" + UNHEADED_WEIGHTS)
    assert refused.value.where == "lines 2 to 25, serial and 7"


def test_points_whose_first_figure_runs_back_are_no_log() -> None:
    with pytest.raises(Unreadable, match="runs forward and back"):
        parse("".join(f"{x},{x}\n" for x in [*range(0, 600, 50), 550, 540, 530, 0]))


MINUTES = np.arange(0.0, 500.0, 5.0)
RISE = np.round(np.interp(MINUTES, [0.0, 420.0, 495.0], [18.0, 1222.0, 1010.0]), 1)


def written(times: list[str], by: str = ",", heading: str = "") -> str:
    return heading + "".join(f"{a}{by}{b}\n" for a, b in zip(times, [f"{t:.1f}" for t in RISE], strict=True))


@pytest.mark.parametrize(
    "heading", ["", "Count;Temp\n", "x value;temp °C\n", "No.;Ofen\n", "Zeitpunkt;Ofen\n", "serial;42\n", "n;value\n"]
)
def test_a_firing_without_telling_headings_is_read_by_how_it_runs(heading: str) -> None:
    log = parse(written([f"{m:.0f}" for m in MINUTES], ";", heading).replace(".", ","), time_unit="min")
    np.testing.assert_allclose(log.temps_c, RISE)


def test_a_firing_without_headings_is_read_over_midnight_with_a_gap_and_in_degrees_fahrenheit() -> None:
    clock = [f"{(20 * 60 + int(m)) // 60 % 24:02d}:{int(m) % 60:02d}" for m in MINUTES]
    pairs = [(a, 1.8 * t + 32.0) for a, t in zip(clock, RISE, strict=True)]
    log = parse("".join(f"{a},{f:.2f}\n" for a, f in pairs[:40] + pairs[52:]))
    np.testing.assert_allclose(log.temps_c, np.delete(RISE, range(40, 52)), atol=0.01)
    assert log.times_s[-1] == MINUTES[-1] * 60.0
    assert {"midnight", "gap"} <= {found.kind for found in log.findings}


def test_a_log_of_the_cooling_alone_is_read_without_headings() -> None:
    cooling = np.linspace(1200.0, 40.0, 60)
    assert parse("".join(f"{at * 600},{t:.0f}\n" for at, t in enumerate(cooling))).temps_c[0] == 1200.0


def test_a_short_log_is_believed_by_its_headings() -> None:
    assert len(parse("time s,temp °C\n0,20\n60,21\n").times_s) == 2
    assert len(parse("hour,kiln\n0,20\n1,90\n2,190\n").times_s) == 3


def test_a_heading_that_places_a_thermocouple_by_its_height_is_still_a_temperature() -> None:
    assert parse("time s,temp at height 200 mm °C\n0,20\n60,21\n").channels == ("temp at height 200 mm °C",)


def test_one_broken_reading_among_good_ones_is_told_by_its_line_and_is_not_taken_for_another_table() -> None:
    text = written([f"{m:.0f}" for m in MINUTES], heading="time min,temp °C\n").replace("475,", "475,9", 1)
    with pytest.raises(Unreadable, match=r"line 97.*no kiln has"):
        parse(text)
